"""Inspections as a whole: what holds for every pair, whatever was ordered and however it was measured.

Pairs are drawn with what an exact one would read, worked out here and not by the service: the ordered power, for a reading
pair distance + add, and the optical centres at the ordered PD and height or the ordered prism at the reference point. What a
pair is then off by is put on top. Means of repeated readings are checked with numpy; what may be saved of a pair that failed in
test_inspections_saving.py.
"""

import copy
import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from inspected_pairs import ANSI, STANDARDS, answered, plain_pair
from order_strategies import (
    AS_OF,
    EYES,
    OTHER,
    Document,
    changed,
    mirrored,
    orders,
    steady,
    tenths,
    transposed,
)

from service.contract.inspect import InspectAnswer, InspectCheck

USES = ("distance", "near", "bifocal", "progressive")
RESULTS = {"pass": 0, "not_judged": 0, "warn": 1, "fail": 2}
# What is recalled or uncertain of the order is no fault of the pair.
NOT_OF_THE_PAIR = {"inspected-order-under-review", "limits-recalled", "inspected-order-rejected"}


def by_name(answer: InspectAnswer) -> dict[tuple[str | None, str], InspectCheck]:
    return {(one.eye, one.quantity): one for one in answer.checks}


quarters = st.integers(-40, 32).map(lambda n: n / 4)
minus_cylinders = st.sampled_from([0.0, -0.25, -0.5, -0.75, -1.0, -1.5, -2.25, -4.5, -5.0])
hundredths = st.integers(-40, 40).map(lambda n: n / 100)


@st.composite
def powers(draw: st.DrawFn) -> Document:
    cylinder = draw(minus_cylinders)
    eye: Document = {"sphere": draw(quarters)}
    if cylinder:
        eye |= {"cylinder": cylinder, "axis": draw(st.integers(1, 180))}
    return transposed(eye) if cylinder and draw(st.booleans()) else eye


@st.composite
def exact_pairs(draw: st.DrawFn, uses: tuple[str, ...] = USES, with_prism: bool = True) -> Document:
    """An order and what would be read on a pair that is exactly as ordered."""
    use = draw(st.sampled_from(uses))
    rx = {eye: draw(powers()) for eye in EYES}
    pd = {eye: draw(tenths(28, 36)) for eye in EYES}
    heights = {eye: draw(tenths(16, 24)) for eye in EYES}
    near = {eye: round(pd[eye] - 1.5, 1) for eye in EYES}
    measured: Document = {eye: dict(rx[eye]) for eye in EYES}
    prescribed = with_prism and use != "near" and draw(st.integers(0, 2)) == 0
    order: Document = {
        "prescription": {eye: dict(rx[eye]) for eye in EYES},
        "pd_mm": {**pd, "near": near},
        "frame": {"a_mm": draw(tenths(46, 58)), "b_mm": draw(tenths(32, 44)), "dbl_mm": draw(tenths(14, 22))},
        "fitting_height_mm": heights,
        "lens": {"material": "polycarbonate", "use": use, "blank_diameter_mm": 110},
        "as_of": AS_OF.isoformat(),
    }
    centred = near if use == "near" else pd
    for eye in EYES:
        if use != "distance":
            add = draw(st.sampled_from([0.75, 1.0, 2.25, 4.0, 4.25]))
            order["prescription"][eye]["add"] = add
            if use == "near":
                measured[eye]["sphere"] = rx[eye]["sphere"] + add
            else:
                measured[eye]["add"] = add
        if prescribed:
            order["prescription"][eye]["prism"] = [
                {
                    "amount": draw(st.sampled_from([0.5, 1.0, 3.0])),
                    "base": draw(st.sampled_from(["in", "out", "up", 45])),
                }
            ]
        if use == "bifocal":
            order["lens"].setdefault("segment", {}).setdefault("height_mm", {})[eye] = heights[eye] - 4
            measured[eye] |= {"segment_height_mm": heights[eye] - 4, "segment_from_bridge_mm": near[eye]}
        if use == "progressive":
            measured[eye] |= {"fitting_point_height_mm": heights[eye], "fitting_point_from_bridge_mm": pd[eye]}
    way = "prism" if prescribed else draw(st.sampled_from(["prism", "centres", "distance"]))
    if way == "prism":
        for eye in EYES:
            measured[eye]["prism"] = copy.deepcopy(order["prescription"][eye].get("prism", []))
    elif way == "centres":
        measured["optical_centre_from_bridge_mm"] = dict(centred)
    else:
        measured["optical_centre_distance_mm"] = centred["right"] + centred["left"]
    if way != "prism":
        measured["optical_centre_height_mm"] = dict(heights)
    return {"ordered": order, "measured": measured, "standard": draw(st.sampled_from(STANDARDS))}


@st.composite
def spoilt_pairs(draw: st.DrawFn, uses: tuple[str, ...] = USES) -> Document:
    """A pair that is off here and there, by a little or by much; one measured form or the other."""
    document = draw(exact_pairs(uses=uses))
    measured = document["measured"]
    for eye in EYES:
        lens = measured[eye]
        if draw(st.booleans()):
            lens["sphere"] = round(lens["sphere"] + draw(hundredths), 2)
        if "axis" in lens and draw(st.booleans()):
            lens["axis"] = (lens["axis"] + draw(st.integers(-20, 20))) % 180
        if "cylinder" in lens and draw(st.booleans()):
            lens["cylinder"] = round(lens["cylinder"] + draw(hundredths) / 2, 2)
        if "add" in lens and draw(st.booleans()):
            lens["add"] = round(lens["add"] + draw(hundredths), 2)
        if "prism" in lens and draw(st.booleans()):
            lens["prism"] = [
                *lens["prism"],
                {"amount": abs(draw(hundredths)) * 2, "base": draw(st.sampled_from(["in", "up"]))},
            ]
    for member in ("optical_centre_from_bridge_mm", "optical_centre_height_mm"):
        if member in measured and draw(st.booleans()):
            eye = draw(st.sampled_from(EYES))
            measured[member][eye] = round(measured[member][eye] + draw(hundredths) * 10, 2)
    if "optical_centre_distance_mm" in measured and draw(st.booleans()):
        measured["optical_centre_distance_mm"] = round(
            measured["optical_centre_distance_mm"] + draw(hundredths) * 10, 2
        )
    return document


# An exact pair passes.


@steady(70)
@given(exact_pairs())
def test_an_exact_pair_passes_and_nothing_is_held_against_it(document: Document) -> None:
    answer = answered(document)
    for one in answer.checks:
        assert one.deviation == pytest.approx(0, abs=1e-4), one
        assert one.result in ("pass", "not_judged"), one
    assert {one.code for one in answer.findings} <= NOT_OF_THE_PAIR
    assert answer.result == ("review" if answer.ordered_decision == "reject" else "pass")
    assert answer.likely_causes == []
    assert answer.if_it_fails is None
    for residual in (answer.residual.right, answer.residual.left, answer.residual.between_eyes):
        assert residual is not None
        assert residual.length == 0
    names = {name for _, name in by_name(answer)}
    assert {"horizontal_imbalance", "vertical_imbalance"} <= names


@steady(40)
@given(exact_pairs(uses=("distance", "near", "bifocal")), powers(), powers())
def test_a_pair_as_the_maker_says_it_reads_is_held_against_nothing_else(
    document: Document, right: Document, left: Document
) -> None:
    assume("optical_centre_from_bridge_mm" in document["measured"] or "prism" in document["measured"]["right"])
    stated = {"right": right, "left": left}
    document["verification"] = copy.deepcopy(stated)
    for eye in EYES:
        for name in ("sphere", "cylinder", "axis"):
            document["measured"][eye].pop(name, None)
        document["measured"][eye] |= stated[eye]
    answer = answered(document)
    assert all(one.result in ("pass", "not_judged") for one in answer.checks)
    # Far from the order a person makes sure that the maker's slip is that of these lenses; the comparison stays.
    assert {one.code for one in answer.findings} <= NOT_OF_THE_PAIR | {"verification-power-far-from-order"}
    # The bands are those of the stated power: they are what an order of that power would have.
    if document["ordered"]["lens"]["use"] != "near":
        own = copy.deepcopy(document)
        del own["verification"]
        for eye in EYES:
            for name in ("sphere", "cylinder", "axis"):
                own["ordered"]["prescription"][eye].pop(name, None)
            own["ordered"]["prescription"][eye] |= stated[eye]
        assert answered(own).checks == answer.checks


@steady(40)
@given(spoilt_pairs(), st.integers(2, 20))
def test_equal_readings_are_judged_as_the_one_reading_that_they_are(document: Document, count: int) -> None:
    repeated = copy.deepcopy(document)
    measured = repeated["measured"]
    for eye in EYES:
        for name, value in measured[eye].items():
            if name == "prism":
                for part in value:
                    part["amount"] = [part["amount"]] * count
            else:
                measured[eye][name] = [value] * count
    for name in ("optical_centre_from_bridge_mm", "optical_centre_height_mm"):
        for eye, value in measured.get(name, {}).items():
            measured[name][eye] = [value] * count
    if "optical_centre_distance_mm" in measured:
        measured["optical_centre_distance_mm"] = [measured["optical_centre_distance_mm"]] * count
    once, often = answered(document), answered(repeated)
    assert often.result == once.result
    assert [one.code for one in often.findings] == [one.code for one in once.findings]
    for one, other in zip(once.checks, often.checks, strict=True):
        assert (other.eye, other.quantity, other.result) == (one.eye, one.quantity, one.result)
        assert other.deviation == pytest.approx(one.deviation, abs=1.01e-4)
        assert other.limit == one.limit
        assert one.spread is None
        assert other.spread in (0, None)
    assert [one.code for one in often.likely_causes] == [one.code for one in once.likely_causes]


# The form in which order and readings are written does not matter.


@steady(50)
@given(spoilt_pairs(), st.sampled_from(["ordered", "measured", "both"]))
def test_deviations_are_the_same_in_either_form_of_either_side(document: Document, side: str) -> None:
    other = copy.deepcopy(document)
    for eye in EYES:
        if side != "measured":
            other["ordered"]["prescription"][eye] = transposed(other["ordered"]["prescription"][eye])
        if side != "ordered":
            other["measured"][eye] = transposed(other["measured"][eye])
    before, after = answered(document), answered(other)
    assert after.result == before.result
    for one, two in zip(before.checks, after.checks, strict=True):
        assert (two.eye, two.quantity, two.result, two.limit) == (one.eye, one.quantity, one.result, one.limit)
        assert two.deviation == pytest.approx(one.deviation, abs=1.01e-4)
        assert two.ordered == pytest.approx(one.ordered, abs=1.01e-4)
    assert [(one.code, one.eye, one.explains) for one in after.likely_causes] == [
        (one.code, one.eye, one.explains) for one in before.likely_causes
    ]
    for eye in (*EYES, "between_eyes"):
        assert getattr(after.residual, eye).length == pytest.approx(getattr(before.residual, eye).length, abs=1.01e-4)


@steady(60)
@given(
    exact_pairs(uses=("distance", "bifocal", "progressive"), with_prism=False),
    st.lists(tenths(-4, 4), min_size=4, max_size=4),
)
def test_centres_that_are_off_are_judged_as_the_prism_that_they_make(document: Document, off: list[float]) -> None:
    """P = F d / 10 with the power matrix, d from the pupil to the optical centre (handbook, formulas 2), worked out here."""
    order, by_centre, by_prism = document["ordered"], copy.deepcopy(document), copy.deepcopy(document)
    for one in (by_centre, by_prism):
        for name in ("optical_centre_distance_mm", "optical_centre_height_mm", "optical_centre_from_bridge_mm"):
            one["measured"].pop(name, None)
    places: Document = {"optical_centre_from_bridge_mm": {}, "optical_centre_height_mm": {}}
    made = {}
    for eye, nose, inwards, upwards in (("right", 1, *off[:2]), ("left", -1, *off[2:])):
        by_centre["measured"][eye].pop("prism", None)
        places["optical_centre_from_bridge_mm"][eye] = round(order["pd_mm"][eye] - inwards, 1)
        places["optical_centre_height_mm"][eye] = round(order["fitting_height_mm"][eye] + upwards, 1)
        rx = order["prescription"][eye]
        turn = math.radians(rx.get("axis", 0))
        across = np.array([[-math.sin(turn)], [math.cos(turn)]])  # a cylinder acts across its axis
        power = rx["sphere"] * np.eye(2) + rx.get("cylinder", 0) * across @ across.T
        x, y = power @ np.array([nose * inwards, upwards]) / 10
        made[eye] = nose * x, y
        by_prism["measured"][eye]["prism"] = [
            {"amount": abs(x), "base": "in" if nose * x > 0 else "out"}, {"amount": abs(y), "base": "up" if y > 0 else "down"}
        ]  # fmt: skip
    by_centre["measured"] |= places
    one, other = answered(by_centre), answered(by_prism)
    for name, prism in (
        ("horizontal_imbalance", made["right"][0] + made["left"][0]),
        ("vertical_imbalance", made["right"][1] - made["left"][1]),
    ):
        first, second = by_name(one)[None, name], by_name(other)[None, name]
        assert first.deviation == pytest.approx(prism, abs=1e-4)
        assert second.deviation == pytest.approx(prism, abs=1e-4)
        assert (first.limit, first.result) == (second.limit, second.result) or abs(
            (first.share_of_limit or 0) - 1
        ) < 1e-4
        assert first.share_of_limit == pytest.approx(second.share_of_limit, abs=2e-4)
    for eye in EYES:
        assert by_name(other)[eye, "horizontal_prism"].measured == pytest.approx(made[eye][0], abs=1e-4)
        assert by_name(other)[eye, "vertical_prism"].measured == pytest.approx(made[eye][1], abs=1e-4)


def test_the_prism_of_a_pair_is_told_as_ordered_and_as_measured() -> None:
    """Across the sum of both bases in, upright right less left, both by hand."""
    document = plain_pair(ANSI)
    prisms = {
        "right": [{"amount": 1, "base": "in"}, {"amount": 0.5, "base": "up"}],
        "left": [{"amount": 2, "base": "in"}, {"amount": 0.25, "base": "up"}],
    }
    for eye in EYES:
        document["ordered"]["prescription"][eye]["prism"] = prisms[eye]
        document["measured"][eye]["prism"] = copy.deepcopy(prisms[eye])
    document["measured"]["right"]["prism"][0]["amount"] = 1.25
    document["measured"]["left"]["prism"][1]["amount"] = 0.5
    found = by_name(answered(document))
    across, upright = found[None, "horizontal_imbalance"], found[None, "vertical_imbalance"]
    assert (across.ordered, across.measured, across.deviation) == (3, 3.25, 0.25)
    assert (upright.ordered, upright.measured, upright.deviation) == (0.25, 0, -0.25)


# A greater deviation is never judged more mildly.


@dataclass(frozen=True, slots=True)
class Off:
    """What a pair is off by, to be taken so many times."""

    sphere: float
    cylinder: float
    axis: int
    prism: float
    base: str
    mm: float


offs = st.builds(
    Off, hundredths, st.integers(-20, 0).map(lambda n: n / 100), st.integers(-6, 6), st.integers(0, 40).map(lambda n: n / 100),
    st.sampled_from(["in", "out", "up", "down"]), st.integers(-30, 30).map(lambda n: n / 20),
)  # fmt: skip


def off_by(document: Document, off: Off, eye: str, times: float) -> Document:
    result = copy.deepcopy(document)
    measured, lens = result["measured"], result["measured"][eye]
    plus = lens.get("cylinder", 0) > 0
    lens["sphere"] += times * (off.sphere + (off.cylinder if plus else 0))
    if lens.get("cylinder"):
        lens["cylinder"] += times * (-off.cylinder if plus else off.cylinder)
        lens["axis"] = (lens["axis"] + times * off.axis) % 180
    for name in ("add", "segment_height_mm", "fitting_point_height_mm", "fitting_point_from_bridge_mm"):
        if name in lens:
            lens[name] += times * off.mm
    if "prism" in lens:
        lens["prism"] = [*lens["prism"], {"amount": times * off.prism, "base": off.base}]
    for name in ("optical_centre_from_bridge_mm", "optical_centre_height_mm"):
        if name in measured:
            measured[name][eye] += times * off.mm
    if "optical_centre_distance_mm" in measured:
        measured["optical_centre_distance_mm"] += times * off.mm
    return result


@steady(50)
@given(exact_pairs(), offs, st.sampled_from(EYES), st.lists(st.integers(0, 70), min_size=2, max_size=4, unique=True))
def test_a_deviation_scaled_up_never_turns_fail_to_pass(
    document: Document, off: Off, eye: str, times: list[int]
) -> None:
    order = ("pass", "review", "fail")
    worst, seen = 0, dict[tuple[str | None, str], InspectCheck]()
    for each in sorted(times):
        answer = answered(off_by(document, off, eye, each / 5))
        assert order.index(answer.result) >= worst
        worst = order.index(answer.result)
        found = by_name(answer)
        for key, one in seen.items():
            assert RESULTS[found[key].result] >= RESULTS[one.result], key
            # A shown deviation of a half turn may show with either sign.
            assert abs(found[key].deviation) >= abs(one.deviation) - 2e-4, key
        seen = found


# Mistakes of a workshop.


def swapped(document: Document) -> Document:
    result = copy.deepcopy(document)
    right, left = result["measured"]["right"], result["measured"]["left"]
    for name in ("sphere", "cylinder", "axis", "add"):
        ours, theirs = right.pop(name, None), left.pop(name, None)
        if theirs is not None:
            right[name] = theirs
        if ours is not None:
            left[name] = ours
    return result


OF_POWER = {"sphere", "cylinder", "axis", "stronger_meridian", "weaker_meridian", "add"}


def beyond_any_limit(answer: InspectAnswer) -> bool:
    """Whether some power or addition is beyond its limit, read or recalled."""
    return any(one.quantity in OF_POWER and (one.share_of_limit or 0) > 1 for one in answer.checks)


@steady(70)
@given(exact_pairs(), st.booleans())
def test_every_swapped_pair_that_matters_is_found_and_no_passing_one_accused(document: Document, alike: bool) -> None:
    if alike:
        # Lenses of nearly the same power: exchanged they may well pass.
        left = document["measured"]["left"]
        near_by = {"sphere": document["measured"]["right"]["sphere"] + 0.12}
        assume(document["ordered"]["lens"]["use"] != "near" and "axis" not in left)
        left |= near_by
        document["ordered"]["prescription"]["left"] |= near_by
    answer = answered(swapped(document))
    causes = {(one.code, one.explains) for one in answer.likely_causes}
    if beyond_any_limit(answer):
        assert ("lenses-swapped", "all") in causes
        assert answer.result == ("fail" if any(one.result == "fail" for one in answer.checks) else "review")
    else:
        assert "lenses-swapped" not in {code for code, _ in causes}


@steady(70)
@given(spoilt_pairs())
def test_a_lens_whose_power_passes_is_accused_of_no_mistake_of_power(document: Document) -> None:
    answer = answered(document)
    if not beyond_any_limit(answer):
        assert {one.code for one in answer.likely_causes} <= {"lens-upside-down"}
    failing = {one.eye for one in answer.checks if one.quantity in OF_POWER and (one.share_of_limit or 0) > 1}
    for one in answer.likely_causes:
        assert one.after <= one.before
        if one.eye is not None and one.code != "lens-upside-down":
            assert one.eye in failing


@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize(
    ("ordered", "measured", "code"),
    [
        (
            {"sphere": -2.0, "cylinder": -1.0, "axis": 20},
            {"sphere": -2.0, "cylinder": -1.0, "axis": 110},
            "axis-off-by-90",
        ),
        (
            {"sphere": -2.0, "cylinder": -1.0, "axis": 20},
            {"sphere": -2.0, "cylinder": -1.0, "axis": 160},
            "axis-mirrored",
        ),
        ({"sphere": -2.0, "cylinder": -1.0, "axis": 20}, {"sphere": 2.0, "cylinder": -1.0, "axis": 20}, "sphere-sign"),
        (
            {"sphere": -2.0, "cylinder": -1.0, "axis": 20},
            {"sphere": -2.0, "cylinder": 1.0, "axis": 20},
            "cylinder-sign",
        ),
        ({"sphere": -2.0, "cylinder": -1.0, "axis": 20}, {"sphere": 2.0, "cylinder": 1.0, "axis": 20}, "both-signs"),
    ],
)
def test_each_mistake_is_named_for_the_eye_it_was_made_on(
    standard: str, eye: str, ordered: Document, measured: Document, code: str
) -> None:
    document = plain_pair(standard)
    document["ordered"]["prescription"][eye] = ordered
    document["measured"][eye] |= measured
    (first, *_) = answered(document).likely_causes
    assert (first.code, first.eye, first.explains, first.after) == (code, eye, "all", 0)
    # An exact lens in the other form is no mistake.
    document["measured"][eye] |= transposed(ordered)
    assert answered(document).likely_causes == []


# What is only recalled decides nothing.


@steady(70)
@given(spoilt_pairs())
def test_only_limits_that_were_read_pass_or_fail(document: Document) -> None:
    answer = answered(document)
    for one in answer.checks:
        assert (one.mark is None) == (one.limit is None) == (one.source is None)
        results = {"read": {"pass", "fail"}, "memory": {"warn", "not_judged"}, None: {"not_judged"}}
        assert one.result in results[one.mark]
        if one.share_of_limit is not None:
            assert (one.result in ("warn", "fail")) == (one.share_of_limit > 1) or abs(one.share_of_limit - 1) < 1e-4
    failed = [one for one in answer.checks if one.result == "fail"]
    assert (answer.result == "fail") == bool(failed)
    assert all(one.mark == "read" for one in failed)
    if any(one.result == "warn" for one in answer.checks):
        assert answer.result != "pass"
        assert "beyond-recalled-tolerance" in {one.code for one in answer.findings}
    assert (answer.if_it_fails is None) == (not failed)


# The wearer in a mirror.


def mirrored_pair(document: Document) -> Document:
    """Right and left exchanged throughout, axes and oblique bases turned over."""
    result = copy.deepcopy(document)
    result["ordered"] = mirrored(result["ordered"])
    segment = result["ordered"]["lens"].get("segment", {}).get("height_mm")
    if segment:
        result["ordered"]["lens"]["segment"]["height_mm"] = {OTHER[eye]: value for eye, value in segment.items()}
    lenses = mirrored({**result["ordered"], "prescription": result["measured"]})["prescription"]
    for name in ("optical_centre_from_bridge_mm", "optical_centre_height_mm"):
        if name in lenses:
            lenses[name] = {OTHER[eye]: value for eye, value in lenses[name].items()}
    result["measured"] = lenses
    return result


@steady(50)
@given(spoilt_pairs())
def test_mirrored_pairs_are_judged_alike(document: Document) -> None:
    before, after = answered(document), answered(mirrored_pair(document))
    assert after.result == before.result
    there, here = by_name(before), by_name(after)
    other = {**OTHER, None: None}
    assert {(other[eye], name) for eye, name in there} == set(here)
    for (eye, name), one in there.items():
        two = here[other[eye], name]
        assert (two.result, two.limit) == (one.result, one.limit)
        turned = name == "axis" or (eye is None and name in ("vertical_imbalance", *DIFFERENCES))
        sign = -1 if turned and abs(one.deviation) < 90 else 1
        assert two.deviation == pytest.approx(sign * one.deviation, abs=1.01e-4), name
    assert sorted((one.code, other[one.eye] or "") for one in after.likely_causes) == sorted(
        (one.code, one.eye or "") for one in before.likely_causes
    )
    if before.if_it_fails is not None:
        assert after.if_it_fails is not None
        assert {OTHER[eye] for eye in after.if_it_fails.remake} == set(before.if_it_fails.remake)
        assert len(after.if_it_fails.ways) == len(before.if_it_fails.ways)


DIFFERENCES = ("segment_height_difference", "fitting_point_height_difference")


# Repeated readings.


def vector(sphere: float, cylinder: float, axis: float) -> np.ndarray[Any, Any]:
    """M, J0, J45 (Thibos, Wheeler and Horner 1997), written anew."""
    turn = math.radians(2 * axis)
    return np.array([sphere + cylinder / 2, -cylinder / 2 * math.cos(turn), -cylinder / 2 * math.sin(turn)])


readings_of_power = st.lists(
    st.tuples(
        st.integers(-260, -220).map(lambda n: n / 100),
        st.integers(-130, -70).map(lambda n: n / 100),
        st.integers(0, 180),
    ),
    min_size=2,
    max_size=6,
)


@steady(50)
@given(readings_of_power, st.sampled_from(STANDARDS))
def test_repeated_readings_are_averaged_as_power_vectors(
    readings: list[tuple[float, float, int]], standard: str
) -> None:
    document = plain_pair(standard)
    document["ordered"]["prescription"]["right"] = {"sphere": -2.4, "cylinder": -1.0, "axis": 90}
    document["measured"]["right"] |= {
        name: [reading[place] for reading in readings] for place, name in enumerate(("sphere", "cylinder", "axis"))
    }
    m, j0, j45 = np.mean([vector(*reading) for reading in readings], axis=0)
    length = math.hypot(j0, j45)
    assume(length > 0.01)
    found = by_name(answered(document))
    cylinder = -2 * length
    sphere = m + length
    assert found["right", "cylinder"].measured == pytest.approx(cylinder, abs=1e-4)
    if standard == ANSI:
        assert found["right", "sphere"].measured == pytest.approx(sphere, abs=1e-4)
    else:
        assert found["right", "stronger_meridian"].measured == pytest.approx(sphere + cylinder, abs=1e-4)
    axis = math.degrees(math.atan2(j45, j0)) / 2
    turn = (found["right", "axis"].measured - axis + 90) % 180 - 90
    assert turn == pytest.approx(0, abs=0.02 / length)
    assert found["right", "cylinder"].readings == len(readings)
    cylinders = [reading[1] for reading in readings]
    assert found["right", "cylinder"].spread == pytest.approx(max(cylinders) - min(cylinders), abs=1e-4)


@steady(40)
@given(
    st.lists(tenths(28, 36), min_size=2, max_size=5),
    st.lists(tenths(28, 36), min_size=2, max_size=5),
    st.sampled_from([-0.25, -1.0, -2.5, -6.0]),
)
def test_a_range_of_centres_is_a_finding_where_it_exceeds_both_reckonings(
    right: list[float], left: list[float], power: float
) -> None:
    """The range of a sum of two is the sum of the ranges; in prism it is F d / 10 (handbook, formulas 2)."""
    document = plain_pair(ANSI)
    for eye in EYES:
        document["ordered"]["prescription"][eye] = {"sphere": power}
        document["measured"][eye] = {"sphere": power}
    document["measured"]["optical_centre_from_bridge_mm"] = {"right": right, "left": left}
    off = max(right) - min(right) + max(left) - min(left)
    prism = abs(power) * off / 10
    answer = answered(document)
    assert by_name(answer)[None, "horizontal_imbalance"].spread == pytest.approx(prism, abs=1e-4)
    told = [one for one in answer.findings if one.code == "readings-apart"]
    assert bool(told) == (round(prism, 9) > 0.67 and round(off, 9) > 2.5)


# Whatever is sent is answered.


@st.composite
def wild_measured(draw: st.DrawFn) -> Document:
    def any_of(least: float, most: float) -> st.SearchStrategy[Any]:
        edges = [least, most, *(edge for edge in (0.0, -0.0, 1e-9, 5e-324) if least <= edge <= most)]
        one = st.one_of(st.sampled_from(edges), st.floats(least, most))
        return st.one_of(one, st.lists(one, min_size=1, max_size=20))

    lens = st.fixed_dictionaries(
        {},
        optional={
            "sphere": any_of(-1000, 1000), "cylinder": any_of(-1000, 1000),
            "axis": st.one_of(any_of(0, 180), any_of(-1000, 1000)), "add": any_of(-100, 100),
            "prism": st.lists(st.fixed_dictionaries({"amount": any_of(0, 100), "base": st.floats(0, 360)}), max_size=4),
            "segment_height_mm": any_of(0, 120), "segment_from_bridge_mm": any_of(0, 200),
            "segment_tilt_deg": any_of(-90, 90), "fitting_point_height_mm": any_of(0, 120),
            "fitting_point_from_bridge_mm": any_of(0, 200), "marks_tilt_deg": any_of(-90, 90),
            "centre_thickness_mm": any_of(0, 60), "front_power_d": any_of(-30, 30), "warpage_d": any_of(-30, 30),
        },
    )  # fmt: skip
    by_eye = {
        "optical_centre_from_bridge_mm": st.fixed_dictionaries({}, optional={eye: any_of(0, 400) for eye in EYES}),
        "optical_centre_height_mm": st.fixed_dictionaries({}, optional={eye: any_of(0, 120) for eye in EYES}),
    }
    whole = {"right": lens, "left": lens, "optical_centre_distance_mm": any_of(0, 400), **by_eye}
    drawn: Document = draw(st.fixed_dictionaries({}, optional=whole))
    return drawn


@steady(80)
@given(orders(), wild_measured(), st.sampled_from(STANDARDS), st.lists(orders(), max_size=1))
def test_whatever_was_measured_is_answered(
    order: Document, measured: Document, standard: str, others: list[Document]
) -> None:
    document = {"ordered": order, "measured": measured, "standard": standard, "open_orders": others}
    answer = answered(document)
    figures = [
        getattr(one, name) for one in answer.checks for name in ("ordered", "measured", "deviation", "limit", "spread")
    ]
    assert all(figure is None or math.isfinite(figure) for figure in figures)
    assert len(by_name(answer)) == len(answer.checks)
    for finding in answer.findings:
        assert not set("{}") & set(finding.message)
        assert "None" not in finding.message
        assert "  " not in finding.message
    # Whatever is missing keeps a pair from passing.
    if answer.result == "pass":
        names = {name for _, name in by_name(answer)}
        assert {"horizontal_imbalance", "vertical_imbalance"} <= names


@pytest.mark.parametrize("member", ["optical_centre_from_bridge_mm", "optical_centre_height_mm"])
def test_an_optical_centre_at_nought_is_answered(member: str) -> None:
    """A figure that cannot be, and was once a fault of the service."""
    document = changed(plain_pair(ANSI), f"/measured/{member}", {"right": 0, "left": 0})
    document["measured"]["right"]["sphere"] = -9.0
    assert answered(document).result == "fail"
