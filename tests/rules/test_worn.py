"""Lenses as worn. What is printed in the sources stands beside each figure; the rest is worked out by hand here.

For a thin lens turned by t, with sin t' = sin t / n, the power along the axis of the turn grows by
k = (n cos t' - cos t) / (n - 1) and across it by k / cos^2 t (Coddington); to have the power wanted it is divided by them.
"""

from math import asin, cos, radians, sin, tan
from typing import Any

import pytest
from desk import LATER, SHOP, Case, Edits, L, R, edited, findings, mirrored, prove

from optics_core.as_worn import traced_power_to_order
from optics_core.power_vectors import power_matrix
from optics_core.tracing import traced_lens
from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.order import Order

TILT, WRAP, MATERIAL = "/as_worn/pantoscopic_deg", "/as_worn/face_form_deg", "/lens/material"
N = 1.586  # polycarbonate at the d line, handbook section 9
SPHERE_R, SPHERE_L = f"{R}/sphere", f"{L}/sphere"


def both(sphere: float) -> Edits:
    return {SPHERE_R: sphere, SPHERE_L: sphere}


def factors(angle_deg: float, n: float = N) -> tuple[float, float]:
    """Along the axis of the turn, and across it."""
    t = radians(angle_deg)
    k = (n * cos(asin(sin(t) / n)) - cos(t)) / (n - 1)
    return k, k / cos(t) ** 2


def answer(edits: Edits) -> CheckAnswer:
    return check(Order.model_validate(edited(edits)), SHOP, LATER)


def change(sphere: float, tilt: float) -> float:
    """By tracing the lens as thick as it is: the front of the common rule, 1.5 mm in the middle."""
    order = traced_power_to_order(
        sphere_d=sphere,
        cylinder_d=0.0,
        axis_deg=None,
        pantoscopic_deg=tilt,
        face_form_deg=0.0,
        eye="right",
        index=N,
        front_power_d=sphere / 2 + 6,
        centre_mm=1.5,
    )
    return max(abs(order.sphere_d - sphere), abs(order.sphere_d + order.cylinder_d - sphere))


CURVED: Edits = {"/lens/front_power_d": 8.0, "/lens/centre_thickness_mm": 2.2}


# Through such lenses the eyes see unlike in size: at 13 + 3 mm the power factor is 1 / (1 - 0.016 F), the shape factor
# 1 / (1 - (t / n) F1).
def percent(power: float, h_mm: float = 16.0) -> float:
    return 100 * (1 / (1 - 2.2e-3 / N * 8.0) / (1 - h_mm / 1000 * power) - 1)


CASES = (
    Case(
        code="as-worn-power-differs",
        severity="review",
        within=(
            both(-2.75) | {TILT: 10},  # 0.116, and 0.108 for a thin lens
            {},
            both(-2.75) | {WRAP: 10},
            both(0.0) | {TILT: 30, WRAP: 40},
        ),
        beyond=both(-3.0) | {TILT: 10},
        eye="right",
        pointer="/as_worn",
        value=change(-3.0, 10),
        limit=0.12,
        unit="D",
        key="worn.change_matters_d",
        moved=0.1,
    ),
    Case(
        # 100 tan 25 t F1 / n for each eye (handbook, section 5), a front of 8 D and 2.2 mm in the middle, over both eyes.
        code="wrap-prism-over-tolerance",
        severity="review",
        within=(CURVED | {WRAP: 15}, CURVED, CURVED | {TILT: 25}),
        beyond=CURVED | {WRAP: 25},
        pointer=WRAP,
        value=2 * 100 * tan(radians(25)) * 0.0022 / N * 8,
        limit=0.67,
        unit="Δ",
        key="tolerance.standard",
    ),
    Case(
        # 27 mm to the eye's centre of rotation: 27 sin 4 = 1.88 mm, 27 sin 5 = 2.35 mm (handbook, section 5).
        code="centres-drop-with-tilt",
        severity="note",
        within=({TILT: 4}, {WRAP: 10}),
        beyond={TILT: 5},
        pointer=TILT,
        value=27 * sin(radians(5)),
        limit=2.0,
        unit="mm",
        key="worn.drop_noted_mm",
        moved=1.5,
    ),
    Case(
        code="magnification-differs",
        severity="note",
        within=(
            CURVED | {SPHERE_R: 0.0, SPHERE_L: 2.0},  # 3.34
            CURVED | {SPHERE_R: -1.0, SPHERE_L: 2.0, "/wearer/useful_eyes": "left"},
            both(10.0),
        ),
        beyond=CURVED | {SPHERE_R: -1.0, SPHERE_L: 2.0},
        pointer="/prescription",
        value=percent(2.0) - percent(-1.0),
        limit=3.5,
        unit="%",
        key="worn.magnification_differs_percent",
        moved=3.0,
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_worn_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def test_without_tilt_and_wrap_nothing_is_said_of_lenses_as_worn() -> None:
    found = answer({})
    assert (found.as_worn, found.magnification) == (None, None)
    assert [taken.pointer for taken in found.assumptions if taken.pointer.startswith("/as_worn")] == []


@pytest.mark.parametrize(("given", "taken"), [(TILT, WRAP), (WRAP, TILT)])
def test_the_angle_that_is_left_out_beside_the_other_counts_as_none_and_is_said(given: str, taken: str) -> None:
    left_out = [one for one in answer({given: 8}).assumptions if one.pointer.startswith("/as_worn")]
    assert [(one.pointer, one.value) for one in left_out] == [(taken, 0.0)]
    both_given = answer({given: 8, taken: 0})
    assert [one for one in both_given.assumptions if one.pointer.startswith("/as_worn")] == []
    assert both_given.as_worn == answer({given: 8}).as_worn


@pytest.mark.parametrize(
    ("sphere", "sphere_printed", "cylinder_printed"),
    # Durham Technical Community College, lesson Lens Tilt; OptiBoard, thread on Martin's formula: both for 1.5.
    [(-15.0, -15.15, -0.47), (-10.0, -10.10, -0.31)],
)
def test_martins_figures_are_the_printed_ones(sphere: float, sphere_printed: float, cylinder_printed: float) -> None:
    worn = answer(both(sphere) | {TILT: 10, MATERIAL: "hard-resin-1.50"}).as_worn
    assert worn is not None
    assert worn.right is not None
    assert worn.index == 1.498
    found = worn.right.effect_by_martin
    assert found.sphere == pytest.approx(sphere_printed, abs=0.005)
    assert found.cylinder == pytest.approx(cylinder_printed, abs=0.005)
    assert found.axis == 180.0


def test_a_wrapped_lens_is_ordered_so_that_its_effect_is_the_one_wanted() -> None:
    # Handbook, section 5, derived with Martin's factor: -6.00 wrapped by 15 degrees is ordered -5.876 at 90 and -5.482 at 180.
    eye = answer(both(-6.0) | {WRAP: 15}).as_worn
    assert eye is not None
    assert eye.right is not None
    order, (along, across) = eye.right.to_order, factors(15)
    powers = sorted((order.sphere, order.sphere + order.cylinder))
    assert powers == pytest.approx([-6 / along, -6 / across], abs=1e-4)
    assert powers == pytest.approx([-5.876, -5.482], abs=0.005)
    assert (order.sphere, order.axis) == (powers[1], 180.0)
    assert order.notation == "-5.48 -0.39 x 180"
    # Of the lens as thick as it is the change is somewhat greater.
    assert 6 - 6 / across < eye.right.change < 1.1 * (6 - 6 / across)
    assert (eye.right.wanted.notation, eye.right.wanted.axis) == ("-6.00 DS", None)
    # As it is, the lens is too strong: -6.127 -0.440 x 090 (the same section, again by Martin).
    effect = eye.right.effect
    assert (effect.sphere, effect.cylinder) == pytest.approx((-6.127, -0.440), abs=0.005)
    assert effect.axis == 90.0


def test_the_prism_of_a_wrap_is_base_out_and_is_undone_by_as_much_base_in() -> None:
    # 100 tan(angle) (t/n) F1, t in metres: handbook, section 5.
    worn = answer({WRAP: 20, "/lens/front_power_d": 8.5, "/lens/centre_thickness_mm": 2}).as_worn
    assert worn is not None
    assert worn.right is not None
    prism = worn.right.wrap_prism
    assert prism is not None
    by_hand = 100 * tan(radians(20)) * prism.centre_mm / 1000 / worn.index * prism.front_power_d
    assert prism.induced == prism.compensating == pytest.approx(by_hand, abs=1e-4)
    assert prism.induced > 0
    if prism.body_from == "thickness":
        assert (prism.front_power_d, prism.centre_mm) == (8.5, 2.0)
        assert prism.induced == pytest.approx(0.39, abs=0.001)  # t5-wrap-prism
    assert answer({TILT: 20}).as_worn.right.wrap_prism is None  # type: ignore[union-attr]


@pytest.mark.parametrize(("tilt", "rule", "exact"), [(8, 4.0, 3.7577), (12, 6.0, 5.6136), (2, 1.0, 0.9423)])
def test_the_optical_centre_drops_a_millimetre_for_two_degrees_or_so(tilt: float, rule: float, exact: float) -> None:
    # Rule read on OptiBoard; exact: 27 sin(tilt).
    worn = answer({TILT: tilt}).as_worn
    assert worn is not None
    assert worn.right is not None
    drop = worn.right.centre_drop_mm
    assert drop is not None
    assert (drop.rule_mm, drop.exact_mm) == (rule, exact)
    assert exact == pytest.approx(27 * sin(radians(tilt)), abs=1e-4)


def test_nothing_of_the_order_is_changed_by_how_it_is_worn() -> None:
    flat, worn = answer(both(-8.0)), answer(both(-8.0) | {TILT: 12, WRAP: 8})
    assert (worn.prescription, worn.fit, worn.prism) == (flat.prescription, flat.fit, flat.prism)


OBLIQUE: Any = {
    SPHERE_R: -5.0, f"{R}/cylinder": -2.0, f"{R}/axis": 30, SPHERE_L: -5.0, f"{L}/cylinder": -2.0, f"{L}/axis": 150,
    TILT: 10, WRAP: 12,
}  # fmt: skip


def test_a_mirrored_lens_is_ordered_mirrored() -> None:
    worn = answer(OBLIQUE).as_worn
    assert worn is not None
    assert worn.right is not None
    assert worn.left is not None
    right, left = worn.right.to_order, worn.left.to_order
    assert (right.sphere, right.cylinder) == (left.sphere, left.cylinder)
    assert right.axis == pytest.approx(180 - (left.axis or 0), abs=1e-4)
    assert right.axis != pytest.approx(30, abs=0.1)  # an oblique axis moves, and the change counts it
    (first, second) = findings(edited(OBLIQUE), "as-worn-power-differs")
    assert first.value == pytest.approx(second.value, abs=1e-9)


def test_the_other_cylinder_form_is_changed_by_as_much() -> None:
    plus = {
        SPHERE_R: -7.0,
        f"{R}/cylinder": 2.0,
        f"{R}/axis": 120,
        SPHERE_L: -7.0,
        f"{L}/cylinder": 2.0,
        f"{L}/axis": 60,
    }
    one = [finding.value for finding in findings(edited(OBLIQUE), "as-worn-power-differs")]
    other = [finding.value for finding in findings(edited(OBLIQUE | plus), "as-worn-power-differs")]
    assert one == pytest.approx(other, abs=1e-9)


def test_what_the_ordered_lens_does_as_worn_is_what_was_wanted() -> None:
    worn = answer(OBLIQUE).as_worn
    assert worn is not None
    assert worn.right is not None
    order = worn.right.to_order
    made = answer({**OBLIQUE, SPHERE_R: order.sphere, f"{R}/cylinder": order.cylinder, f"{R}/axis": order.axis}).as_worn
    assert made is not None
    assert made.right is not None
    effect = made.right.effect
    assert (effect.sphere, effect.cylinder, effect.axis) == pytest.approx((-5.0, -2.0, 30.0), abs=0.001)


def test_magnification_is_that_of_the_printed_example() -> None:
    # Dutch optician course slides: +7.00 at 14 + 1.5 mm magnifies by 12.17 %, and +4.50 against it differs by 4.68 %.
    edits = {
        SPHERE_R: 4.5, SPHERE_L: 7.0, "/as_worn/vertex_distance_mm": 14, "/profile/worn/entrance_pupil_mm": 1.5,
    }  # fmt: skip
    found = answer(edits).magnification
    assert found is not None
    assert found.left.power == pytest.approx(12.17, abs=0.01)
    assert found.difference == pytest.approx(-4.68, abs=0.01)
    assert (found.vertex_mm, found.entrance_pupil_mm) == (14.0, 15.5)
    shape = (1 + found.left.shape / 100) * (1 + found.left.power / 100)
    assert found.left.total == pytest.approx(100 * (shape - 1), abs=0.001)
    other = check(Order.model_validate(mirrored(edited(edits))), SHOP, LATER).magnification
    assert other is not None
    assert other.difference == -found.difference


@pytest.mark.parametrize(("left", "known"), [(-1.25, False), (-1.0, True)])
def test_magnification_is_worked_out_where_the_powers_differ_by_a_dioptre(left: float, known: bool) -> None:
    assert (answer({SPHERE_L: left}).magnification is not None) == known


def test_a_lens_that_focuses_before_the_pupil_has_no_magnification() -> None:
    found = answer({SPHERE_R: 30.0, SPHERE_L: 20.0, "/as_worn/vertex_distance_mm": 40})  # 43 mm x 30 D is above 1
    assert found.magnification is None


@pytest.mark.parametrize(("wrap", "made", "undone"), [(10, "base-out", "Base-in"), (-10, "base-in", "Base-out")])
def test_the_prism_of_a_wrap_and_what_undoes_it_have_opposite_bases(wrap: float, made: str, undone: str) -> None:
    (finding,) = findings(edited(CURVED | {WRAP: wrap, "/lens/centre_thickness_mm": 5.0}), "wrap-prism-over-tolerance")
    assert f"of {made} prism for the pair" in finding.message
    assert f"{undone} prism of that amount would undo it" in finding.message


def test_lowered_centres_and_another_power_are_told_as_two_ways_and_not_as_both() -> None:
    # A lens whose axis passes the eye's centre of rotation is not tilted for the eye: the wrap alone is left.
    tilted, both_ways = answer(both(-6.0) | {TILT: 10}), answer(both(-6.0) | {TILT: 10, WRAP: 8})
    for found in (tilted, both_ways):
        said = {one.code: one.message for one in found.findings}
        assert "take one of the two, not both" in said["as-worn-power-differs"]
        assert "take one of the two, not both" in said["centres-drop-with-tilt"]
    assert tilted.as_worn is not None
    assert both_ways.as_worn is not None
    assert tilted.as_worn.right is not None
    assert both_ways.as_worn.right is not None
    lowered = tilted.as_worn.right.to_order_lowered
    assert lowered is not None
    assert (lowered.sphere, lowered.cylinder, lowered.axis) == (-6.0, 0.0, None)
    # Turned about the upright axis by 8 degrees: the power across it is divided by the greater factor.
    along, across = factors(8)
    lowered = both_ways.as_worn.right.to_order_lowered
    assert lowered is not None
    assert (lowered.sphere, lowered.sphere + lowered.cylinder) == pytest.approx((-6 / across, -6 / along), abs=0.02)
    assert lowered.axis == 180
    assert answer(both(-6.0) | {WRAP: 8}).as_worn.right.to_order_lowered is None  # type: ignore[union-attr]


def test_unequal_lenses_that_are_lowered_make_vertical_prism_straight_ahead() -> None:
    # 27 sin 12 degrees = 5.61 mm, times 3.50 D between the eyes: 1.96 prism dioptres, the weaker lens with less base down.
    edits = {SPHERE_R: 1.0, SPHERE_L: 4.5, TILT: 12}
    found = answer(edits)
    assert found.as_worn is not None
    assert found.as_worn.centre_drop_imbalance == pytest.approx(2.7 * sin(radians(12)) * 3.5, abs=1e-4)
    (finding,) = findings(edited(edits), "centres-drop-with-tilt")
    assert "make 1.96 Δ of vertical prism between the eyes" in finding.message
    (finding,) = findings(edited(both(4.5) | {TILT: 12}), "centres-drop-with-tilt")
    assert "unequal" not in finding.message


def test_the_fitting_point_of_a_progressive_lens_is_not_lowered_for_the_tilt() -> None:
    progressive = {"/lens/use": "progressive", f"{R}/add": 2.0, f"{L}/add": 2.0}
    edits = both(-6.0) | {TILT: 10}
    assert findings(edited(edits), "centres-drop-with-tilt")
    assert not findings(edited(edits | progressive), "centres-drop-with-tilt")
    assert "lowered" not in findings(edited(edits | progressive), "as-worn-power-differs")[0].message
    worn = answer(edits | progressive).as_worn
    assert worn is not None
    assert worn.right is not None
    assert (worn.right.centre_drop_mm, worn.right.to_order_lowered, worn.centre_drop_imbalance) == (None, None, None)


def test_what_is_to_be_ordered_is_traced_through_the_lens_as_thick_as_it_is() -> None:
    edits = {SPHERE_R: -6.0, f"{R}/cylinder": -1.0, f"{R}/axis": 20, TILT: 10, WRAP: 25} | CURVED
    found = answer(edits)
    assert found.as_worn is not None
    assert found.as_worn.right is not None
    order = found.as_worn.right.to_order_traced
    assert order is not None
    effect = traced_lens(
        sphere_d=order.sphere,
        cylinder_d=order.cylinder,
        axis_deg=order.axis,
        front_power_d=8.0,
        centre_mm=2.2,
        index=found.as_worn.index,
        pantoscopic_deg=10.0,
        face_form_deg=25.0,
        eye="right",
    ).power
    wanted = power_matrix(sphere_d=-6.0, cylinder_d=-1.0, axis_deg=20.0)
    assert (effect.xx_d, effect.xy_d, effect.yy_d) == pytest.approx((wanted.xx_d, wanted.xy_d, wanted.yy_d), abs=2e-3)
    (message,) = (one.message for one in found.findings if one.code == "as-worn-power-differs" and one.eye == "right")
    assert order.notation in message
    assert "a front of +8.00 D and a centre of 2.20 mm" in message


def test_a_change_too_small_to_ask_about_is_not_traced() -> None:
    found = answer(both(-2.0) | {TILT: 8})
    assert found.as_worn is not None
    assert found.as_worn.right is not None
    assert found.as_worn.right.to_order_traced is None


@pytest.mark.parametrize(("tilt", "within"), [(4, 1e-4), (14, 0.06)])
def test_tilt_and_vertex_distance_are_told_together(tilt: float, within: float) -> None:
    # Moved 4 mm nearer, -10 becomes -10 / (1 + 0.04); what is ordered for the tilt is that over the factors. A greater
    # change is traced through the thick lens, which a thin lens comes near.
    edits = both(-10.0) | {TILT: tilt, "/as_worn/vertex_distance_mm": 9, "/profile/worn/change_matters_d": 0.3}
    found = answer(edits)
    assert found.as_worn is not None
    assert found.as_worn.right is not None
    together = found.as_worn.right.to_order_with_vertex
    assert together is not None
    moved, (along, across) = -10 / 1.04, factors(tilt)
    powers = moved / across, moved / along
    assert sorted((together.sphere, together.sphere + together.cylinder)) == pytest.approx(sorted(powers), abs=within)
    (message,) = (one.message for one in found.findings if one.code == "vertex-change-matters" and one.eye == "right")
    assert f"and the optical centre at the pupil, {together.notation}" in message
    assert answer(both(-10.0) | {TILT: tilt}).as_worn.right.to_order_with_vertex is None  # type: ignore[union-attr]


def test_lenses_of_one_mean_power_magnify_unlike_where_their_cylinders_stand_across_each_other() -> None:
    edits: Edits = CURVED | {
        SPHERE_R: 2.0, f"{R}/cylinder": -4.0, f"{R}/axis": 180, SPHERE_L: 2.0, f"{L}/cylinder": -4.0, f"{L}/axis": 90,
    }  # fmt: skip
    found = answer(edits).magnification
    assert found is not None
    assert found.difference == 0
    # Along one meridian +2 against -2, along the other -2 against +2: as much either way, and the level one is told.
    assert found.widest.meridian == 180
    assert found.widest.difference == pytest.approx(percent(2.0) - percent(-2.0), abs=1e-3)
    assert findings(edited(edits), "magnification-differs")
    prism = answer(edits).prism
    assert prism is not None
    assert {one.gaze: abs(one.horizontal) for one in prism.across}["right"] == pytest.approx(4.0)


def test_a_tilt_the_other_way_asks_for_raised_centres() -> None:
    (finding, _) = findings(edited(both(-6.0) | {TILT: -10}), "as-worn-power-differs")
    assert "optical centre raised for the tilt" in finding.message
    assert not findings(edited(both(-6.0) | {TILT: -10}), "centres-drop-with-tilt")


def test_who_sees_with_one_eye_is_not_warned_of_prism_between_the_eyes() -> None:
    edits = {SPHERE_R: 1.0, SPHERE_L: 4.5, TILT: 12, "/wearer/useful_eyes": "left"}
    (finding,) = findings(edited(edits), "centres-drop-with-tilt")
    assert "unequal" not in finding.message


def test_front_and_centre_that_were_ordered_hold_where_a_lens_has_no_place() -> None:
    found = answer(CURVED | {WRAP: 20, "/pd_mm": {"left": 32}}).as_worn
    assert found is not None
    assert found.right is not None
    assert found.right.wrap_prism is not None
    prism = found.right.wrap_prism
    assert (prism.front_power_d, prism.centre_mm, prism.body_from) == (8.0, 2.2, "usual")
