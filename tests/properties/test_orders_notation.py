"""An order does not depend on how its prescription is written, nor on which side of a mirror the wearer stands."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from order_strategies import EYES, OTHER, Document, answer_to, changed, mirrored, orders, steady, transposed

from service.contract.answer import CheckAnswer, EyeReading, Finding
from service.contract.order import EXAMPLE_ORDER

# What speaks of the written figures themselves: another form has other figures.
OF_THE_FORM = frozenset({"axis-zero", "power-on-eighth"})
# Where one eye is written in the other form than its fellow.
OF_UNLIKE_FORMS = OF_THE_FORM | {"cylinder-signs-differ"}
# Said once for both eyes, by the first that shows it.
OF_THE_FIRST_EYE = frozenset({"use-not-named-with-add"})


def optics(eye: EyeReading) -> tuple[Any, ...]:
    meridians = eye.meridians and sorted((one.axis, one.power) for one in eye.meridians)
    return (
        eye.minus_cylinder,
        eye.plus_cylinder,
        eye.spherical_equivalent,
        eye.power_vector,
        meridians,
        eye.add,
        eye.prism,
    )


def noticed(answer: CheckAnswer, left_out: frozenset[str]) -> list[tuple[Any, ...]]:
    return [(one.code, one.severity, one.eye, one.pointer) for one in answer.findings if one.code not in left_out]


@steady(300)
@given(orders())
def test_transposed_prescriptions_get_the_same_answer(order: Document) -> None:
    rx = order["prescription"]
    other = changed(order, "/prescription", {**rx, **{eye: transposed(rx[eye]) for eye in EYES}})
    one, two = answer_to(order), answer_to(other)
    assert two.decision == one.decision
    assert (two.fit, two.assumptions) == (one.fit, one.assumptions)
    assert two.prism == one.prism
    assert one.prescription is not None
    assert two.prescription is not None
    assert optics(two.prescription.right) == optics(one.prescription.right)
    assert optics(two.prescription.left) == optics(one.prescription.left)
    assert noticed(two, OF_THE_FORM) == noticed(one, OF_THE_FORM)


@steady(300)
@given(orders(), st.sampled_from(EYES))
def test_transposing_one_eye_changes_only_what_speaks_of_the_form(order: Document, eye: str) -> None:
    pointer = f"/prescription/{eye}"
    one, two = answer_to(order), answer_to(changed(order, pointer, transposed(order["prescription"][eye])))
    assert (two.fit, two.prism) == (one.fit, one.prism)
    assert noticed(two, OF_UNLIKE_FORMS) == noticed(one, OF_UNLIKE_FORMS)


@steady(300)
@given(orders())
def test_mirrored_orders_get_mirrored_answers(order: Document) -> None:
    one, two = answer_to(order), answer_to(mirrored(order))
    assert two.decision == one.decision
    assert one.fit is not None
    assert two.fit is not None
    assert (two.fit.right, two.fit.left) == (one.fit.left, one.fit.right)
    assert_prescriptions_mirror(one, two)
    assert_prisms_mirror(one, two)
    assert sorted(map(seen_from_the_front, two.findings)) == sorted(map(seen_in_the_mirror, one.findings))
    assert {taken.pointer for taken in two.assumptions} == {other_side(taken.pointer) for taken in one.assumptions}


def assert_prescriptions_mirror(one: CheckAnswer, two: CheckAnswer) -> None:
    assert one.prescription is not None
    assert two.prescription is not None
    for eye in EYES:
        here, there = getattr(one.prescription, eye), getattr(two.prescription, OTHER[eye])
        assert there.spherical_equivalent == here.spherical_equivalent
        assert there.add == here.add
        assert there.power_vector.m == here.power_vector.m
        assert there.power_vector.j0 == pytest.approx(here.power_vector.j0, abs=1.01e-4)
        assert there.power_vector.j45 == pytest.approx(-here.power_vector.j45, abs=1.01e-4)
        for form in ("minus_cylinder", "plus_cylinder"):
            first, second = getattr(here, form), getattr(there, form)
            assert (second.sphere, second.cylinder) == (first.sphere, first.cylinder)
            assert second.axis == (None if first.axis is None else (180 - first.axis) or 180)


def assert_prisms_mirror(one: CheckAnswer, two: CheckAnswer) -> None:
    assert one.prism is not None
    assert two.prism is not None
    for eye in EYES:
        here, there = getattr(one.prism, eye), getattr(two.prism, OTHER[eye])
        assert (here is None) == (there is None)
        if here is not None:
            assert there.shift_mm == here.shift_mm
            assert there.horizontal == pytest.approx(here.horizontal, abs=1.01e-4)
            assert there.vertical == pytest.approx(here.vertical, abs=1.01e-4) or here.vertical is None
    pair, other = one.prism.pair, two.prism.pair
    assert (pair is None) == (other is None)
    if pair is not None and other is not None:
        assert other.horizontal == pytest.approx(pair.horizontal, abs=1.01e-4)
        assert other.centres_off_pd_mm == pytest.approx(pair.centres_off_pd_mm, abs=1.01e-4)
        if pair.vertical is not None:
            assert other.vertical == pytest.approx(-pair.vertical, abs=1.01e-4)


def other_side(pointer: str) -> str:
    return "/".join(OTHER.get(part, part) for part in pointer.split("/"))


def seen_in_the_mirror(finding: Finding) -> tuple[str, ...]:
    if finding.eye is None or finding.code in OF_THE_FIRST_EYE:
        return finding.code, finding.severity
    return finding.code, finding.severity, OTHER[finding.eye], other_side(finding.pointer)


def seen_from_the_front(finding: Finding) -> tuple[str, ...]:
    if finding.eye is None or finding.code in OF_THE_FIRST_EYE:
        return finding.code, finding.severity
    return finding.code, finding.severity, finding.eye, finding.pointer


@pytest.mark.parametrize(
    "eye",
    [
        {"sphere": -29.5, "cylinder": -1.0, "axis": 10},
        {"sphere": 29.5, "cylinder": 1.0, "axis": 90},
        {"sphere": 20.0, "cylinder": 15.0, "axis": 180},
        {"sphere": 31.0, "cylinder": -1.5, "axis": 45},
    ],
)
def test_powers_at_the_edge_of_reach_are_judged_alike_in_both_forms(eye: Document) -> None:
    order = {**EXAMPLE_ORDER, "prescription": {"right": eye, "left": eye}}
    other = {**EXAMPLE_ORDER, "prescription": {"right": transposed(eye), "left": transposed(eye)}}
    assert answer_to(other).decision == answer_to(order).decision
