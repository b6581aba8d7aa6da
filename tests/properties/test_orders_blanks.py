"""The blank: what is said of it follows the bounds of the boxed sizes, and a smaller blank is never judged milder (but for
how thick its lens becomes).

The bounds are worked out here a second time, by plain arithmetic from the boxed lens system: no shape can do with less
than max(A + 2 |in|, B + 2 |up|) + allowance, and every shape is sure to fit ED + 2 hypot(in, up) + allowance.
"""

from math import hypot

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from order_strategies import EYES, GRAVITY, Document, answer_to, changed, frames, orders, steady, tenths, without

from service.contract.answer import CheckAnswer

ALLOWANCE_MM = 2.0
DIAMETERS_MM = [120 - step / 2 for step in range(201)]
FAMILY = {
    "blank-too-small": "reject",
    "blank-may-be-too-small": "review",
    "blank-may-be-too-small-without-ed": "review",
}


@st.composite
def plain_orders(draw: st.DrawFn) -> Document:
    """Orders in which nothing but the blank is in doubt."""
    frame = draw(frames().filter(lambda one: 40 <= one["a_mm"] <= 60 and 24 <= one["b_mm"] <= one["a_mm"]))
    frame["dbl_mm"] = draw(tenths(14, 24))
    frame_pd = frame["a_mm"] + frame["dbl_mm"]
    order: Document = {
        "prescription": {
            "right": {"sphere": draw(st.integers(-14, 12)) / 4, "cylinder": -0.5, "axis": draw(st.integers(1, 180))},
            "left": {"sphere": draw(st.integers(-14, 12)) / 4},
            "issued_on": "2026-06-01",
        },
        "pd_mm": {eye: draw(tenths(27, 36)) for eye in EYES},
        "frame": frame,
        "lens": {"material": "hard-resin-1.50", "use": "distance"},
        "as_of": "2026-11-25",
    }
    assume(all(-2 <= frame_pd / 2 - order["pd_mm"][eye] <= 8 for eye in EYES))
    if draw(st.booleans()):
        order["fitting_height_mm"] = {"right": frame["b_mm"] / 2 + draw(tenths(-2, 3)), "left": frame["b_mm"] / 2}
    return order


def swept(order: Document) -> list[CheckAnswer]:
    return [answer_to(changed(order, "/lens/blank_diameter_mm", diameter)) for diameter in DIAMETERS_MM]


def of_the_blank(answer: CheckAnswer, eye: str) -> int:
    return max((GRAVITY[one.severity] for one in answer.findings if one.code in FAMILY and one.eye == eye), default=0)


# A finished plus lens is as thick as the whole of its round blank asks, so that a larger one may be judged more severely.
OF_THE_BODY = {
    "lens-body-impossible",
    "lens-runs-out",
    "edge-too-thin",
    "edge-unusually-thick",
    "edge-thick-for-drilling",
}


def gravity_but_for_the_body(answer: CheckAnswer) -> int:
    return max((GRAVITY[one.severity] for one in answer.findings if one.code not in OF_THE_BODY), default=0)


@steady(50)
@given(plain_orders())
def test_decisions_never_get_milder_as_the_blank_shrinks(order: Document) -> None:
    answers = swept(order)
    decisions = [gravity_but_for_the_body(answer) for answer in answers]
    assert decisions == sorted(decisions)
    # The sweep goes from an ample blank to one that no frame here can be cut from.
    assert answers[-1].decision == "reject"
    for eye in EYES:
        gravities = [of_the_blank(answer, eye) for answer in answers]
        assert gravities == sorted(gravities)


@steady(40)
@given(orders())
def test_decisions_never_get_milder_in_odd_orders_either(order: Document) -> None:
    decisions = [gravity_but_for_the_body(answer) for answer in swept(order)]
    assert decisions == sorted(decisions)


@steady(200)
@given(plain_orders(), tenths(40, 100))
def test_what_is_said_of_the_blank_follows_the_bounds(order: Document, diameter: float) -> None:
    answer = answer_to(changed(order, "/lens/blank_diameter_mm", diameter))
    assert answer.fit is not None
    frame, ed = order["frame"], order["frame"].get("ed_mm")
    for eye in EYES:
        fit = getattr(answer.fit, eye)
        sideways = (frame["a_mm"] + frame["dbl_mm"]) / 2 - order["pd_mm"][eye]
        upward = order.get("fitting_height_mm", {}).get(eye, frame["b_mm"] / 2) - frame["b_mm"] / 2
        least = max(frame["a_mm"] + 2 * abs(sideways), frame["b_mm"] + 2 * abs(upward)) + ALLOWANCE_MM
        longest = hypot(frame["a_mm"], frame["b_mm"]) if ed is None else ed
        most = longest + 2 * hypot(sideways, upward) + ALLOWANCE_MM
        bounds = fit.minimum_blank_mm
        assert (bounds.at_least, bounds.at_most) == pytest.approx((least, most), abs=6e-5)
        assert bounds.at_least <= bounds.expected <= bounds.at_most
        assert fit.margin_mm == pytest.approx(diameter - most, abs=6e-5)
        if diameter < least - 1e-9:
            assert of_the_blank(answer, eye) == GRAVITY["reject"]
        elif diameter >= most + 1e-9:
            assert of_the_blank(answer, eye) == GRAVITY["accept"]
        elif ed is not None and least + 1e-9 <= diameter < most - 1e-9:
            assert of_the_blank(answer, eye) == GRAVITY["review"]
        elif ed is None:
            assert_the_largest_ed_is_told(answer, eye, diameter - ALLOWANCE_MM - 2 * hypot(sideways, upward))


def assert_the_largest_ed_is_told(answer: CheckAnswer, eye: str, largest_ed: float) -> None:
    """Without an ED the figure that matters is the largest one for which the blank is sure to do."""
    (usual,) = (taken.value for taken in answer.assumptions if taken.pointer == "/frame/ed_mm")
    assert isinstance(usual, float)
    told = [one for one in answer.findings if one.eye == eye and one.code.endswith(("usual-ed", "without-ed"))]
    assert [one.value for one in told] == [pytest.approx(largest_ed, abs=1e-9)]
    if abs(largest_ed - usual) > 1e-4:
        assert told[0].severity == ("review" if largest_ed < usual else "note")


@steady(60)
@given(orders())
def test_a_blank_left_out_is_judged_as_the_largest_in_stock(order: Document) -> None:
    for pointer in ("/lens", "/lens/blank_diameter_mm"):
        if "lens" in order or pointer == "/lens":
            left_out = answer_to(without(order, pointer))
            taken = [one.value for one in left_out.assumptions if one.pointer == "/lens/blank_diameter_mm"]
            if taken:
                named = answer_to(changed(without(order, pointer), "/lens/blank_diameter_mm", taken[0]))
                assert (named.decision, named.fit, named.prism) == (left_out.decision, left_out.fit, left_out.prism)


@steady(300)
@given(st.integers(400, 600), st.integers(140, 240), st.integers(270, 360))
def test_a_blank_exactly_as_large_as_is_needed_is_enough(a: int, dbl: int, pd: int) -> None:
    """Sizes in tenths of a millimetre, reckoned in whole numbers here: binary fractions must not turn a shop away."""
    needed = a + abs(a + dbl - 2 * pd) + 20
    assume(needed <= 1200)
    order: Document = {
        "prescription": {"right": {"sphere": -1.0}, "left": {"sphere": -1.0}},
        "pd_mm": {"right": pd / 10, "left": pd / 10},
        "frame": {"a_mm": a / 10, "b_mm": 30.0, "dbl_mm": dbl / 10, "ed_mm": a / 10},
        "lens": {"blank_diameter_mm": needed / 10},
        "as_of": "2026-11-25",
    }
    answer = answer_to(order)
    assert [one for one in answer.findings if one.code in FAMILY] == []
    shrunk = answer_to(changed(order, "/lens/blank_diameter_mm", (needed - 1) / 10))
    assert of_the_blank(shrunk, "right") == GRAVITY["reject"]
