"""The shop's list of finished blanks.

The ordinary order asks for -2.00 in both eyes, 3 mm inward: with these boxed sizes every lens shape needs 52 + 6 + 2 = 60 mm
at least, and 56 + 6 + 2 = 64 mm do for every one. Ranges, steps and prices of the rows are invented; the usual ones are
handbook figures from memory (powers in quarters, cylinders to -2.00).
"""

from typing import Any

import pytest
from desk import BLANK, CYL_R, GONE, LATER, SHOP, A, Case, L, R, edited, findings, one_of, prove

from service.checking import check
from service.contract.order import Order
from service.contract.stock import EyeBlanks, Stock

LIST, MATERIAL, PD_R, SPHERE_R, SPHERE_L = (
    "/profile/blanks",
    "/lens/material",
    "/pd_mm/right",
    f"{R}/sphere",
    f"{L}/sphere",
)


def row(diameter_mm: float = 70, **more: Any) -> dict[str, Any]:
    """A row of the list: -6.00 to +4.00, cylinders to -2.00."""
    usual = {"sphere_least_d": -6, "sphere_most_d": 4, "cylinder_most_d": 2, "material": "polycarbonate"}
    return {"name": f"plain {diameter_mm:g}", "diameter_mm": diameter_mm, **usual, **more}


RESIN = row(name="resin", material="hard-resin-1.50", sphere_least_d=-8)
MINUS = row(name="flat", sphere_most_d=0, front_power_d=4.0)


def plus(front_power_d: float) -> dict[str, Any]:
    return row(name="steep", sphere_least_d=0.25, front_power_d=front_power_d)


CASES = (
    Case(
        code="no-blank-can-make-power",
        severity="review",
        within=({LIST: [row(), RESIN], SPHERE_R: -6}, {SPHERE_R: -6.25}, {LIST: [RESIN], SPHERE_R: -6.25}),
        beyond={LIST: [row(75, sphere_least_d=-5), row(), RESIN], SPHERE_R: -6.25},
        eye="right",
        pointer=R,
        value="-6.25 DS",
        limit="sphere -6.00 to +4.00 D, cylinder to -2.00 D, in steps of 0.25 D",
        key="blanks",
        remedies=[one_of(MATERIAL, "hard-resin-1.50")],
    ),
    Case(
        code="blank-not-stocked-in-power",
        severity="note",
        within=(
            {LIST: [row(), row(75, sphere_least_d=-2)], BLANK: 75},
            {LIST: [row(), row(75, sphere_least_d=-1)], BLANK: 70},
            {LIST: [row(), row(75, sphere_least_d=-1)], BLANK: 74},
        ),
        beyond={LIST: [row(), row(75, sphere_least_d=-1.75)], BLANK: 75},
        eye="right",
        pointer=BLANK,
        value=75.0,
        limit=70.0,
        unit="mm",
        key="blanks",
        remedies=[one_of(BLANK, 70.0)],
    ),
    Case(
        code="larger-blank-in-stock",
        severity="note",
        within=({LIST: [row(60), row(75), row()], BLANK: 64}, {LIST: [row(63.9)], BLANK: 60}, {BLANK: 63}),
        beyond={LIST: [row(60), row(75), row()], BLANK: 63.9},
        eye="right",
        pointer=BLANK,
        value=63.9,
        limit=64.0,
        unit="mm",
        key="blank.allowance_mm",
        moved=2.5,
        moved_limit=64.5,
        remedies=[one_of(BLANK, 70.0, 75.0)],
    ),
    Case(
        # One millimetre further inward: 56 + 8 + 2 = 66 mm.
        code="no-stocked-blank-large-enough",
        severity="note",
        within=({PD_R: 31, LIST: [row(66)]}, {PD_R: 31, LIST: [row(65, sphere_least_d=-1)]}, {PD_R: 31, BLANK: 62}),
        beyond={PD_R: 31, LIST: [row(60), row(65.9), row(75, sphere_least_d=-1)]},
        eye="right",
        pointer=BLANK,
        value=65.9,
        limit=66.0,
        unit="mm",
        key="blank.allowance_mm",
        moved=2.5,
        moved_limit=66.5,
    ),
    Case(
        code="base-curves-differ",
        severity="review",
        within=(
            {SPHERE_L: 2, LIST: [MINUS, plus(4.25)]},
            {SPHERE_L: 2, BLANK: GONE, LIST: [MINUS, plus(8), row(75, front_power_d=4)]},
            {SPHERE_L: 2, LIST: [MINUS, row(sphere_least_d=0.25)]},
            {SPHERE_L: 2, LIST: [MINUS]},
        ),
        beyond={SPHERE_L: 2, LIST: [MINUS, plus(4.3)]},
        pointer="/lens",
        value=0.3,
        limit=0.25,
        unit="D",
        key="blank.bases_differ_d",
        moved=0.2,
    ),
    Case(
        # A front that is not listed may match or not; a pair that is sure to match goes before it.
        code="base-curve-not-known",
        severity="review",
        within=(
            {SPHERE_L: 2, LIST: [MINUS, plus(4.25)]},
            {SPHERE_L: 2, LIST: [row()]},
            {SPHERE_L: -2.25, BLANK: GONE, LIST: [row(72, name="own", front_power_d=4.0), row(70, sphere_least_d=-2)]},
        ),
        beyond={SPHERE_L: 2, LIST: [MINUS, row(sphere_least_d=0.25)]},
        pointer="/lens",
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_stock_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def stock(edits: dict[str, Any]) -> Stock:
    found = check(Order.model_validate(edited(edits)), SHOP, LATER).stock
    assert found is not None
    return found


def right(edits: dict[str, Any]) -> EyeBlanks:
    found = stock(edits).right
    assert found is not None
    return found


def judged(one: dict[str, Any], edits: dict[str, Any]) -> tuple[str, list[str]]:
    """How one row by itself fits the right eye, and what speaks against it."""
    (candidate,) = right({LIST: [one], **edits}).candidates
    assert candidate.name == one["name"]
    return candidate.fits, [str(reason) for reason in candidate.reasons]


SPHERE, CYLINDER, TOTAL, STEP = "sphere-out-of-range", "cylinder-out-of-range", "total-out-of-range", "off-the-step"
AXIS = {f"{R}/axis": 10}


@pytest.mark.parametrize(
    ("one", "edits", "reasons"),
    [
        (row(), {SPHERE_R: -6.0}, []),
        (row(), {SPHERE_R: -6.25}, [SPHERE]),
        (row(), {SPHERE_R: 4.0}, []),
        (row(), {SPHERE_R: 4.25}, [SPHERE]),
        (row(), {CYL_R: -2.0} | AXIS, []),
        (row(), {CYL_R: -2.25} | AXIS, [CYLINDER]),
        # -2.00 +2.25 is +0.25 -2.25: the amount counts, whichever form it is written in.
        (row(), {CYL_R: 2.0} | AXIS, []),
        (row(), {CYL_R: 2.25} | AXIS, [CYLINDER]),
        # +4.00 +0.25 is +4.25 -0.25: it is the sphere of the minus form that is held against the range.
        (row(), {SPHERE_R: 4.0, CYL_R: 0.25} | AXIS, [SPHERE]),
        (row(total_least_d=-4), {CYL_R: -2.0} | AXIS, []),
        (row(total_least_d=-3.75), {CYL_R: -2.0} | AXIS, [TOTAL]),
        (row(total_most_d=-2), {}, []),
        (row(total_most_d=-2.25), {}, [TOTAL]),
        (row(total_most_d=-2.25), {CYL_R: -0.25} | AXIS, []),
        (row(), {SPHERE_R: -2.125}, [STEP]),
        (row(step_d=0.125), {SPHERE_R: -2.125}, []),
        (row(), {CYL_R: -0.125} | AXIS, [STEP]),
        (row(step_d=0.1), {SPHERE_R: -2.3}, []),
        (row(), {SPHERE_R: -2.0000009}, []),
        (row(), {SPHERE_R: -2.000002}, [STEP]),
        (row(), {SPHERE_R: 4.4, CYL_R: -2.6} | AXIS, [SPHERE, CYLINDER, STEP]),
        (row(), {f"{R}/prism": [{"amount": 0.25, "base": "up"}]}, ["surfaced-only"]),
        (row(), {f"{R}/prism": [{"amount": 0, "base": "up"}]}, []),
        (row(), {"/lens/use": "progressive"}, ["surfaced-only"]),
        (row(), {"/lens/use": "near"}, []),
    ],
)
def test_a_row_comes_in_a_power_up_to_each_end_of_its_range(
    one: dict[str, Any], edits: dict[str, Any], reasons: list[str]
) -> None:
    assert judged(one, edits) == ("no" if reasons else "sure", reasons)


# A round lens of 50 mm, 50 + 18 - 2 x 32 = 4 mm: its centre lies 2 mm outward of the pupil, so 50 + 4 + 2 = 56 mm, exactly.
ROUND = {A: 50, "/frame/b_mm": 50, "/frame/ed_mm": 50, "/frame/trace": {"right": {"radii_mm": [25.0] * 360}}}
ROUND |= {"/fitting_height_mm": {"right": 25, "left": 25}}
# The optical centre 1 mm outward of the blank's middle: 56 + 8 + 2 = 66 mm as it lies, and 56 + 4 + 2 = 62 mm turned.
# 2.25 mm inward and 2.5 mm up, the optical centre as far outward and up of the blank's middle. As it lies the middle sits
# 4.5 mm inward (52 + 9 + 2 = 63 mm at least, 56 + 9 + 2 = 67 mm sure), turned 5 mm up (54 mm at least, 68 mm sure).
UP = {PD_R: 32.75, "/fitting_height_mm/right": 22.5}
UP |= {"/lens/blank": {"centre_offset_mm": {"right": {"in": -2.25, "up": 2.5}}, "top_marked": False}}
OFF = {"/lens/blank": {"centre_offset_mm": {"right": {"in": -1, "up": 0}}, "top_marked": False}}


@pytest.mark.parametrize(
    ("one", "edits", "fits", "reasons"),
    [
        (row(64), {}, "sure", []),
        (row(63.9), {}, "maybe", ["may-be-too-small"]),
        (row(60), {}, "maybe", ["may-be-too-small"]),
        (row(59.9), {}, "no", ["too-small"]),
        (row(56), ROUND, "sure", []),
        (row(55.9), ROUND, "no", ["too-small"]),
        (row(62), OFF, "sure", []),
        (row(61.9), OFF, "maybe", ["may-be-too-small"]),
        (row(58), OFF, "maybe", ["may-be-too-small"]),
        (row(57.9), OFF, "no", ["too-small"]),
        (row(67), UP, "sure", []),
        (row(66.9), UP, "maybe", ["may-be-too-small"]),
        (row(54), UP, "maybe", ["may-be-too-small"]),
        (row(53.9), UP, "no", ["too-small"]),
        (row(62.9, top_marked=True), UP, "no", ["too-small"]),
        (row(66, top_marked=True), OFF, "sure", []),
        (row(65.9, top_marked=True), OFF, "maybe", ["may-be-too-small"]),
        (row(62, top_marked=True), OFF, "maybe", ["may-be-too-small"]),
        (row(61.9, top_marked=True), OFF, "no", ["too-small"]),
        (row(), {"/pd_mm": {}}, "maybe", ["place-not-known"]),
        (row(59.9), {SPHERE_R: -9}, "no", [SPHERE, "too-small"]),
    ],
)
def test_a_row_is_large_enough_by_the_same_bounds_as_any_blank(
    one: dict[str, Any], edits: dict[str, Any], fits: str, reasons: list[str]
) -> None:
    assert judged(one, edits) == (fits, reasons)


def test_nothing_is_said_where_the_list_has_no_row_in_the_material() -> None:
    for edits in ({}, {LIST: []}, {LIST: [RESIN]}):
        assert check(Order.model_validate(edited(edits)), SHOP, LATER).stock is None


@pytest.mark.parametrize(
    "edits",
    [
        {f"{R}/cylinder": -1},  # without an axis
        {SPHERE_R: -50},
    ],
)
def test_a_power_that_is_not_settled_gets_no_blank_and_the_other_eye_still_does(edits: dict[str, Any]) -> None:
    found = stock({LIST: [row(price=8)], **edits})
    assert found.right is None
    assert found.left is not None
    assert found.left.best == "plain 70"
    assert found.pair_price is None


@pytest.mark.parametrize("edits", [{"/lens/use": "near", f"{R}/add": 2}, {"/lens/use": "intermediate", f"{L}/add": 2}])
def test_where_an_addition_may_be_part_of_the_power_no_blank_is_chosen(edits: dict[str, Any]) -> None:
    found = stock({LIST: [row()], **edits})
    assert (found.right, found.left, found.pair_price) == (None, None, None)


def test_a_reading_pair_gets_blanks_of_the_powers_for_reading() -> None:
    # -2.00 with an addition of 2.50 is +0.50.
    near_pair = {"/lens/use": "near", f"{R}/add": 2.5, f"{L}/add": 2.5}
    for most, best in ((0.25, None), (0.5, "plain 70")):
        found = right({LIST: [row(sphere_least_d=-1, sphere_most_d=most)], **near_pair})
        assert found.best == best


def test_the_smallest_that_is_sure_is_best_then_the_cheapest_then_the_first() -> None:
    rows = [
        row(75, price=1),
        row(65, name="dear", price=9.5),
        row(65, name="no price"),
        row(65, name="cheap", price=7.25),
        row(65, name="cheap too", price=7.25),
        row(63, price=0),
        row(60, price=0),
        row(50, price=0),
        row(64, name="wrong power", sphere_least_d=-1),
    ]
    found = right({LIST: rows, BLANK: GONE})
    assert (found.best, found.diameter_mm, found.price) == ("cheap", 65.0, 7.25)
    assert [one.name for one in found.candidates] == [
        *("cheap", "cheap too", "dear", "no price", "plain 75"),
        # Those that may do: the likelier first. Then those that do not.
        *("plain 63", "plain 60", "wrong power", "plain 50"),
    ]
    assert found.not_shown == 0
    assert stock({LIST: rows, BLANK: GONE}).pair_price == 14.5


def test_where_none_is_sure_the_largest_that_may_do_is_best() -> None:
    assert right({LIST: [row(61), row(63), row(59)], BLANK: GONE}).best == "plain 63"
    assert right({LIST: [row(59), row(58)], BLANK: GONE}).best is None


def test_a_pair_on_one_front_surface_goes_before_smaller_blanks() -> None:
    steep, flat = (
        row(65, name="steep 65", front_power_d=6, sphere_least_d=-1.75),
        row(65, name="flat 65", front_power_d=2),
    )
    alike = row(75, name="alike 75", front_power_d=6)
    found = stock({SPHERE_L: -1, BLANK: GONE, LIST: [steep, flat | {"sphere_most_d": -1.75}, alike]})
    assert found.right is not None
    assert found.left is not None
    assert (found.right.best, found.left.best) == ("alike 75", "steep 65")
    assert (found.right.front_power_d, found.left.front_power_d) == (6.0, 6.0)


def test_a_named_diameter_limits_what_is_best_and_not_what_is_shown() -> None:
    found = right({LIST: [row(65), row(70), row(75)], BLANK: 75})
    assert (found.best, found.diameter_mm) == ("plain 75", 75.0)
    assert [one.name for one in found.candidates] == ["plain 65", "plain 70", "plain 75"]
    assert right({LIST: [row(65), row(75)], BLANK: 72}).best is None
    assert right({LIST: [row(65), row(75)], BLANK: GONE}).best == "plain 65"


def test_twenty_rows_are_shown_and_the_rest_are_counted() -> None:
    rows = [row(64 + number / 2) for number in range(23)]
    found = right({LIST: rows, BLANK: GONE})
    assert [one.diameter_mm for one in found.candidates] == [64 + number / 2 for number in range(20)]
    assert found.not_shown == 3


def test_a_price_that_is_not_known_leaves_the_pair_without_one() -> None:
    rows = [
        row(name="minus", sphere_most_d=0, price=4.1, centre_mm=1.5),
        row(name="plus", sphere_least_d=0.25, price=4.2),
    ]
    found = stock({SPHERE_L: 1, LIST: rows})
    assert found.pair_price == 8.3
    assert found.right is not None
    assert (found.right.price, found.right.centre_mm) == (4.1, 1.5)
    del rows[1]["price"]
    assert stock({SPHERE_L: 1, LIST: rows}).pair_price is None


def test_lenses_that_must_be_surfaced_are_not_said_to_lack_a_blank() -> None:
    edits = {LIST: [row()], SPHERE_R: -9, "/lens/use": "bifocal", f"{R}/add": 2, f"{L}/add": 2}
    assert findings(edited(edits), "no-blank-can-make-power") == []
    assert right(edits).best is None


def test_a_list_without_cylinders_and_with_a_bounded_total_says_so() -> None:
    spheres = row(name="spheres", cylinder_most_d=0, total_least_d=-6, total_most_d=4)
    (finding,) = findings(edited({LIST: [spheres], CYL_R: -0.25} | AXIS), "no-blank-can-make-power")
    assert finding.value == "-2.00 -0.25 x 010"
    assert finding.limit == (
        "sphere -6.00 to +4.00 D, no cylinder, total from -6.00 D, total to +4.00 D, in steps of 0.25 D"
    )


def test_a_listed_blank_is_judged_with_the_centre_that_it_has() -> None:
    """+4.00 with a front of 7 D falls off by more than 1.5 mm to the edge of a 52 mm lens: the surfaces meet before it."""
    row = {
        "name": "thin plus", "material": "polycarbonate", "diameter_mm": 75.0, "front_power_d": 7.0,
        "sphere_least_d": 0.0, "sphere_most_d": 6.0, "cylinder_most_d": 2.0, "centre_mm": 1.5,
    }  # fmt: skip
    listed = {f"{R}/sphere": 4.0, f"{L}/sphere": 4.0, "/profile/blanks": [row], "/lens/blank_diameter_mm": GONE}
    answer = check(Order.model_validate(edited(listed)), SHOP, LATER)
    assert answer.thickness is not None
    assert answer.thickness.right is not None
    assert (answer.thickness.right.centre_mm, answer.thickness.right.centre_from) == (1.5, "stock")
    assert "lens-runs-out" in [one.code for one in answer.findings]
    thick = listed | {"/profile/blanks": [row | {"centre_mm": 6.5}]}
    assert "lens-runs-out" not in [one.code for one in findings(edited(thick))]


def test_a_lens_that_is_ordered_surfaced_asks_nothing_of_the_list() -> None:
    row = {
        "name": "weak minus", "material": "polycarbonate", "diameter_mm": 75.0, "front_power_d": 3.0,
        "sphere_least_d": -1.0, "sphere_most_d": 0.0, "cylinder_most_d": 2.0,
    }  # fmt: skip
    listed = {"/profile/blanks": [row]}
    assert findings(edited(listed), "no-blank-can-make-power")
    assert not findings(edited(listed | {"/lens/supply": "surfaced"}), "no-blank-can-make-power")


def test_the_centre_that_a_list_gives_is_that_of_its_plus_lenses() -> None:
    listed = row(70, name="both signs", front_power_d=4.0, centre_mm=4.5)
    thickness = check(
        Order.model_validate(edited({SPHERE_R: -2.25, SPHERE_L: 2, BLANK: GONE, LIST: [listed]})), SHOP, LATER
    ).thickness
    assert thickness is not None
    assert thickness.right is not None
    assert thickness.left is not None
    assert (thickness.right.centre_mm, thickness.right.centre_from) == (1.5, "rule")
    assert (thickness.left.centre_mm, thickness.left.centre_from) == (4.5, "stock")


def test_no_smaller_frame_is_offered_in_which_another_listed_blank_would_do() -> None:
    edits = {SPHERE_R: -8, SPHERE_L: -8, "/lens/front_power_d": 3.0, BLANK: GONE}
    thick = findings(edited(edits), "edge-thick")
    assert any(one.pointer == "/frame/a_mm" for one in thick[0].remedies)
    small = row(60, name="small", sphere_least_d=-10, sphere_most_d=0, front_power_d=8.0)
    thick = findings(edited(edits | {LIST: [small]}), "edge-thick")
    assert thick
    assert not any(one.pointer == "/frame/a_mm" for one in thick[0].remedies)
