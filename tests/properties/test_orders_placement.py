"""Where the blank of a traced lens could sit: half a turn, a shift within the limits of prism, the largest frame.

The prism of a shift and the need there are found a second time in `traced_orders`. The limits of the pair are those of the
quick reference sheets of ANSI Z80.1-2015, 0.67 pd or 2.5 mm across and 0.33 pd or 1.0 mm in height [ansi-z80.1-2015]; each
eye by itself keeps to them as well.
"""

import copy
import math
from dataclasses import replace

import numpy as np
import pytest
from core_shapes import farthest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from order_strategies import EYES, GRAVITY, Document, answer_to, changed, steady, tenths
from traced_orders import (
    OF_BOXED_SIZES,
    SHORT,
    SHOWN,
    Traced,
    codes,
    fit_of,
    offsets,
    power_matrix,
    sent,
    tight_orders,
    traced_orders,
    turnable_orders,
)

from service.contract.answer import CheckAnswer
from service.contract.placement import Placed

LARGEST_IN_STOCK_MM = 75.0
HORIZONTAL_PD, HORIZONTAL_MM, VERTICAL_PD, VERTICAL_MM = 0.67, 2.5, 0.33, 1.0
OF_THE_BLANK = (*SHORT, "blank-does-only-turned")


# Half a turn.


def need_with(traced: Traced, eye: str, sign: float) -> float:
    """The blank's middle lies at the pupil less the offset of its optical centre; turned, plus it."""
    offset = traced.order["lens"]["blank"]["centre_offset_mm"][eye]
    in_mm, up_mm = traced.place(eye)
    return traced.need(in_mm - sign * offset["in"], up_mm - sign * offset["up"])


@steady(100)
@given(turnable_orders(), tenths(50, 80))
def test_half_a_turn_carries_the_middle_of_the_blank_to_the_other_side_of_its_optical_centre(
    traced: Traced, diameter: float
) -> None:
    answer = answer_to(traced.with_blank(diameter))
    for eye in EYES:
        fit = fit_of(answer, eye)
        assert fit.placement is not None
        turn = fit.placement.half_turn
        assert turn is not None
        placed, turned = diameter - need_with(traced, eye, 1), diameter - need_with(traced, eye, -1)
        assert turn.margin_as_placed_mm == fit.margin_mm == pytest.approx(placed, abs=6e-5)
        assert turn.margin_turned_mm == pytest.approx(turned, abs=6e-5)
        assert turn.gain_mm == pytest.approx(abs(turned - placed), abs=6e-5)
        if abs(turned - placed) > 1e-6:
            assert turn.better == ("turned" if turned > placed else "as_placed")
        found = codes(answer, eye)
        assert ("blank-does-only-turned" in found) == (placed < -1e-9 and turned >= -1e-9)
        assert bool(set(SHORT) & set(found)) == (max(placed, turned) < -1e-9)
        gains = turned - placed
        if abs(gains - 0.5) > 1e-6:
            assert ("half-turn-gains-room" in found) == (gains > 0.5 and "blank-does-only-turned" not in found)


@steady(60)
@given(turnable_orders(), tenths(50, 80))
def test_a_blank_that_does_either_way_up_is_never_rejected(traced: Traced, diameter: float) -> None:
    answer = answer_to(traced.with_blank(diameter))
    if all(min(need_with(traced, eye, 1), need_with(traced, eye, -1)) <= diameter for eye in EYES):
        assert not set(SHORT) & set(codes(answer))
        assert answer.decision != "reject"


def lain_the_other_way(order: Document) -> Document:
    """The same order with its blanks laid down after half a turn."""
    result = copy.deepcopy(order)
    for offset in result["lens"]["blank"]["centre_offset_mm"].values():
        offset.update({name: -value for name, value in offset.items()})
    return result


@steady(40)
@given(turnable_orders(), tenths(50, 80))
def test_a_blank_laid_the_other_way_up_has_its_margins_exchanged(traced: Traced, diameter: float) -> None:
    order = traced.with_blank(diameter)
    answer, other = answer_to(order), answer_to(lain_the_other_way(order))
    names = {"as_placed": "turned", "turned": "as_placed", "same": "same", None: None}
    for eye in EYES:
        one, turned = fit_of(answer, eye).placement, fit_of(other, eye).placement
        assert one is not None
        assert turned is not None
        assert one.half_turn is not None
        assert turned.half_turn is not None
        assert turned.half_turn.margin_as_placed_mm == one.half_turn.margin_turned_mm
        assert turned.half_turn.margin_turned_mm == one.half_turn.margin_as_placed_mm
        assert turned.half_turn.better == names[one.half_turn.better]
        for budget in ("budget", "budget_by_eye", "this_blank"):
            # Where the blank's optical centre may sit does not depend on how the blank happens to lie.
            first, second = getattr(one, budget), getattr(turned, budget)
            assert (first is None) == (second is None)
            if first is not None:
                assert replace(first, turned=False) == replace(second, turned=False)
    assert "reject" not in {answer.decision, other.decision} or answer.decision == other.decision
    assert answer_to(lain_the_other_way(lain_the_other_way(order))) == answer


def with_a_marked_top(order: Document) -> Document:
    return changed(order, "/lens/blank/top_marked", True)


def either_way_up() -> Traced:
    """Round lenses of 46 mm. As placed the blank's middle lies 6 mm inward and level, turned 5 mm up and not inward.

    Turned it needs less at the pupil, but with power of -4.00 D upright and -0.50 D across only sideways is there a budget
    worth having: as placed a shift makes a smaller blank do.
    """
    turn = np.arange(72) * np.pi / 36
    points = 23 * np.column_stack((np.cos(turn), np.sin(turn)))
    order: Document = {
        "prescription": {eye: {"sphere": -4.0, "cylinder": 3.5, "axis": 90} for eye in EYES},
        "pd_mm": dict.fromkeys(EYES, 29.0),
        "frame": {"a_mm": 46, "b_mm": 46, "dbl_mm": 18, "trace": {"right": {"points_mm": sent(points)}}},
        "fitting_height_mm": dict.fromkeys(EYES, 25.5),
        "lens": {"blank": {"centre_offset_mm": {eye: {"in": -3.0, "up": 2.5} for eye in EYES}, "top_marked": False}},
        "as_of": "2026-11-25",
    }
    return Traced(order, points)


@example(either_way_up(), 54.0)
@steady(40)
@given(turnable_orders(), tenths(50, 72))
def test_a_blank_that_may_be_turned_is_judged_no_more_severely_than_one_that_may_not(
    traced: Traced, diameter: float
) -> None:
    order = traced.with_blank(diameter)
    assert GRAVITY[answer_to(order).decision] <= GRAVITY[answer_to(with_a_marked_top(order)).decision]


@st.composite
def short_turnable_orders(draw: st.DrawFn) -> Traced:
    """Orders with a blank that is a little too small whichever way up it lies."""
    traced = draw(turnable_orders())
    need = max(min(need_with(traced, eye, 1), need_with(traced, eye, -1)) for eye in EYES)
    return Traced(traced.with_blank(math.floor((need - draw(tenths(0.1, 4))) * 10) / 10), traced.points)


@st.composite
def boxed_turnable_orders(draw: st.DrawFn) -> Traced:
    traced = draw(turnable_orders())
    order = changed(traced.untraced, "/frame/ed_mm", 2 * farthest(traced.points, 0, 0))
    return Traced(order, traced.points)


def boxed_either_way_up() -> Traced:
    """An ellipse of 50 x 40 told by its box: the blank's middle lies 5 mm inward as placed, and 5.5 mm up when turned."""
    turn = np.arange(72) * np.pi / 36
    points = np.column_stack((25 * np.cos(turn), 20 * np.sin(turn)))
    order: Document = {
        "prescription": {eye: {"sphere": -2.0} for eye in EYES},
        "pd_mm": dict.fromkeys(EYES, 31.5),
        "frame": {"a_mm": 50, "b_mm": 40, "dbl_mm": 18, "ed_mm": 50.0},
        "fitting_height_mm": dict.fromkeys(EYES, 22.75),
        "lens": {"blank": {"centre_offset_mm": {eye: {"in": -2.5, "up": 2.75} for eye in EYES}, "top_marked": False}},
        "as_of": "2026-11-25",
    }
    return Traced(order, points)


@example(boxed_either_way_up(), 0.0)
@steady(100)
@given(boxed_turnable_orders(), st.integers(0, 40).map(lambda n: n / 10))
def test_without_a_trace_no_shape_that_fits_turned_is_rejected(traced: Traced, more: float) -> None:
    """The boxed bounds hold for every shape; here is one that has these boxed sizes and can be cut."""
    needs = [min(need_with(traced, eye, 1), need_with(traced, eye, -1)) for eye in EYES]
    diameter = math.ceil((max(needs) + more) * 10) / 10
    answer = answer_to(traced.with_blank(diameter))
    assert "blank-too-small" not in codes(answer)


# The budget of prism.


def unwanted(order: Document, eye: str, in_mm: float, up_mm: float) -> tuple[float, float]:
    """Prism at the pupil, base in and up, of an optical centre that lies so far in and up from it."""
    inward = 1.0 if eye == "right" else -1.0
    x, y = power_matrix(order["prescription"][eye]) @ (inward * in_mm, up_mm) / 10
    return inward * float(x), float(y)


def share(order: Document, shifts: dict[str, tuple[float, float]]) -> float:
    """Greatest part of a limit that the pair or an eye by itself uses, by the kinder of prism and distance."""
    prisms = {eye: unwanted(order, eye, *shifts[eye]) for eye in EYES}

    def worst(figures: dict[str, tuple[float, float]], part: int) -> float:
        right, left = (figures[eye][part] for eye in EYES)
        together = right + left if part == 0 else right - left  # bases in add up, heights take from each other
        return max(abs(right), abs(left), abs(together))

    across = min(worst(prisms, 0) / HORIZONTAL_PD, worst(shifts, 0) / HORIZONTAL_MM)
    upright = min(worst(prisms, 1) / VERTICAL_PD, worst(shifts, 1) / VERTICAL_MM)
    return max(across, upright)


def placements(answer: CheckAnswer, name: str) -> dict[str, Placed] | None:
    found = {}
    for eye in EYES:
        placement = fit_of(answer, eye).placement
        placed = None if placement is None else getattr(placement, name)
        if placed is None:
            return None
        found[eye] = placed
    return found


@steady(80)
@given(tight_orders())
def test_each_placement_has_the_prism_the_need_and_the_share_that_its_shift_makes(traced: Traced) -> None:
    answer, order = answer_to(traced.order), traced.order
    for name in ("budget", "budget_by_eye", "this_blank"):
        placed = placements(answer, name)
        if placed is None:
            assert name == "this_blank"
            continue
        shifts = {eye: (one.shift_mm.in_, float(one.shift_mm.up or 0.0)) for eye, one in placed.items()}
        for eye, one in placed.items():
            in_mm, up_mm = traced.place(eye)
            assert one.minimum_blank_mm == pytest.approx(
                traced.need(in_mm + shifts[eye][0], up_mm + shifts[eye][1]), abs=4e-4
            )
            made = unwanted(order, eye, *shifts[eye])
            assert (one.prism.horizontal, one.prism.vertical) == pytest.approx(made, abs=2e-4)
            assert one.share_of_limit == pytest.approx(share(order, shifts), abs=1e-3)
            assert 0 <= one.share_of_limit <= 1
            if name == "this_blank":
                assert one.minimum_blank_mm <= order["lens"]["blank_diameter_mm"] + SHOWN


@steady(40)
@given(tight_orders(), st.integers(0, 10**6))
def test_no_other_place_within_the_limits_needs_less_than_the_budget(traced: Traced, seed: int) -> None:
    """Some thousand pairs of places, those within the limits kept: the largest need of none is below the least told."""
    answer, order = answer_to(traced.order), traced.order
    budget = placements(answer, "budget")
    assert budget is not None
    least = max(one.minimum_blank_mm for one in budget.values())
    this = placements(answer, "this_blank")
    used = 1.0 if this is None else this["right"].share_of_limit
    rng = np.random.default_rng(seed)
    centre = {eye: (budget[eye].shift_mm.in_, float(budget[eye].shift_mm.up or 0.0)) for eye in EYES}
    for _ in range(400):
        width = rng.choice([0.02, 0.3, 2.0])
        shifts = {eye: tuple(np.array(centre[eye]) + rng.normal(0, width, 2)) for eye in EYES}
        part = share(order, shifts)
        needs = [traced.need(*(np.array(traced.place(eye)) + shifts[eye])) for eye in EYES]
        if part <= 1:
            assert max(needs) >= least - 2e-3
        if max(needs) <= order["lens"]["blank_diameter_mm"]:
            # These blanks do there, so what is advised uses no more of the limits; and if nothing is, this is beyond them.
            assert part >= used - 1e-3


@steady(60)
@given(tight_orders())
def test_a_blank_that_is_short_is_for_a_person_within_the_budget_and_rejected_beyond_it(traced: Traced) -> None:
    budget = placements(answer_to(traced.order), "budget")
    assert budget is not None
    least = max(one.minimum_blank_mm for one in budget.values())
    most = max(traced.need_at_pupil(eye) for eye in EYES)
    assume(least - 0.001 >= 20)
    above, below = (answer_to(traced.with_blank(diameter)) for diameter in (least + 1e-4, least - 1e-3))
    if least + 1e-4 < most - 1e-4:
        assert "blank-does-only-shifted" in codes(above)
        assert placements(above, "this_blank") is not None
        # What is within the limits is not called beyond them elsewhere in the same answer.
        assert not [code for code in codes(above) if code.endswith("over-tolerance")]
    assert "blank-too-small-for-outline" not in codes(above)
    assert "blank-too-small-for-outline" in codes(below)
    assert below.decision == "reject"
    assert placements(below, "this_blank") is None


@steady(50)
@given(tight_orders())
def test_the_prism_told_for_the_pair_is_that_of_the_placement_advised(traced: Traced) -> None:
    answer = answer_to(traced.order)
    advised = placements(answer, "this_blank")
    assume(advised is not None)
    assert advised is not None
    assert answer.prism is not None
    for eye, placed in advised.items():
        told = getattr(answer.prism, eye)
        shift = (placed.shift_mm.in_, placed.shift_mm.up)
        if told is None:
            assert shift == (0.0, 0.0)
        else:
            assert (told.shift_mm.in_, told.shift_mm.up or 0.0) == pytest.approx(
                (shift[0], shift[1] if told.shift_mm.up is not None else 0.0), abs=SHOWN
            )
            assert told.horizontal == pytest.approx(placed.prism.horizontal, abs=SHOWN)


@steady(10)
@given(traced_orders(only_smooth=True), st.one_of(st.none(), offsets()))
def test_a_larger_blank_is_never_judged_more_severely(traced: Traced, offset: Document | None) -> None:
    order = traced.order if offset is None else changed(traced.order, "/lens/blank/centre_offset_mm/right", offset)
    decisions = [
        GRAVITY[answer_to(changed(order, "/lens/blank_diameter_mm", diameter / 2)).decision]
        for diameter in range(160, 80, -2)
    ]
    assert decisions == sorted(decisions)
    assert decisions[-1] == GRAVITY["reject"]


@example(Traced(either_way_up().with_blank(51.0), either_way_up().points))
@steady(40)
@given(short_turnable_orders())
def test_no_blank_does_that_is_smaller_than_the_budget_of_either_way_up(traced: Traced) -> None:
    answer = answer_to(traced.order)
    budget, this = placements(answer, "budget"), placements(answer, "this_blank")
    if this is not None:
        assert budget is not None
        assert max(one.minimum_blank_mm for one in budget.values()) <= traced.order["lens"]["blank_diameter_mm"] + SHOWN


@example(Traced(either_way_up().with_blank(56.0), either_way_up().points))
@steady(40)
@given(short_turnable_orders())
def test_of_all_ways_up_the_one_that_uses_least_of_the_limits_is_advised(traced: Traced) -> None:
    this = placements(answer_to(traced.order), "this_blank")
    for laid in (traced.order, lain_the_other_way(traced.order)):
        fixed = placements(answer_to(with_a_marked_top(laid)), "this_blank")
        if fixed is not None:
            assert this is not None
            assert this["right"].share_of_limit <= fixed["right"].share_of_limit + SHOWN


# Remedies and the largest frame.


def scaled(traced: Traced, order: Document, width: float) -> Document:
    """A frame of the same proportions and that A: trace and sizes go with it, the pupils stay as high above the centre."""
    result = copy.deepcopy(order)
    frame, part = result["frame"], width / order["frame"]["a_mm"]
    frame["a_mm"], frame["b_mm"] = width, order["frame"]["b_mm"] * part
    if "ed_mm" in frame:
        frame["ed_mm"] = order["frame"]["ed_mm"] * part
    if "trace" in frame:
        frame["trace"]["right"]["points_mm"] = sent(traced.points * part)
    for eye, height in result.get("fitting_height_mm", {}).items():
        result["fitting_height_mm"][eye] = height + (frame["b_mm"] - order["frame"]["b_mm"]) / 2
    return result


def carried_out(traced: Traced, pointer: str, value: float) -> Document:
    return scaled(traced, traced.order, value) if pointer == "/frame/a_mm" else changed(traced.order, pointer, value)


STEPS = {"/lens/blank_diameter_mm": 0.5, "/frame/a_mm": 0.1, "/frame/dbl_mm": 0.1}


def test_each_remedy_for_a_traced_lens_helps_and_asks_for_no_more_than_is_needed() -> None:
    tried = dict.fromkeys(STEPS, 0)

    @steady(50)
    @given(tight_orders())
    def holds(traced: Traced) -> None:
        for finding in answer_to(traced.order).findings:
            if finding.code not in SHORT:
                continue
            assert finding.eye is not None
            for remedy in finding.remedies:
                bound = remedy.at_least if remedy.at_most is None else remedy.at_most
                assert bound is not None
                tried[remedy.pointer] += 1
                assert not set(SHORT) & set(codes(answer_to(carried_out(traced, remedy.pointer, bound)), finding.eye))
                short = bound + STEPS[remedy.pointer] * (-1 if remedy.at_most is None else 1)
                assert set(SHORT) & set(codes(answer_to(carried_out(traced, remedy.pointer, short)), finding.eye))

    holds()
    assert min(tried.values()) >= 15


def resized_order() -> Traced:
    """A lens cut 1 mm larger all round than an ellipse of 52 x 40, which 58.1 mm are too small for."""
    turn = np.arange(72) * np.pi / 36
    points = np.column_stack((26 * np.cos(turn), 20 * np.sin(turn)))
    order: Document = {
        "prescription": {eye: {"sphere": -2.0} for eye in EYES},
        "pd_mm": dict.fromkeys(EYES, 32.0),
        "frame": {"a_mm": 52, "b_mm": 40, "dbl_mm": 18},
        "lens": {"blank_diameter_mm": 58.1},
        "as_of": "2026-11-25",
    }
    order["frame"]["trace"] = {"right": {"points_mm": sent(points)}, "size_change_mm": 1.0}
    return Traced(order, points)


def test_a_smaller_frame_helps_also_where_the_lens_is_cut_larger() -> None:
    traced = resized_order()
    offered = [
        remedy.at_most
        for finding in answer_to(traced.order).findings
        if finding.code in SHORT and finding.eye == "right"
        for remedy in finding.remedies
        if remedy.pointer == "/frame/a_mm"
    ]
    assert offered
    for width in offered:
        assert width is not None
        assert not set(SHORT) & set(codes(answer_to(scaled(traced, traced.order, width)), "right"))


@st.composite
def orders_with_the_largest_blank(draw: st.DrawFn) -> Traced:
    traced = draw(traced_orders(only_smooth=True))
    order = traced.with_blank(LARGEST_IN_STOCK_MM)
    if draw(st.booleans()):
        order = changed(order, "/lens/blank/centre_offset_mm/right", draw(offsets()))
        order = changed(order, "/lens/blank/top_marked", True)
    if draw(st.booleans()):
        order["frame"]["ed_mm"] = 2 * farthest(traced.points, 0, 0)
        if draw(st.booleans()):
            del order["frame"]["trace"]
    return Traced(order, traced.points)


def is_short(answer: CheckAnswer) -> bool:
    return bool({*OF_THE_BLANK, *OF_BOXED_SIZES[:3]} & set(codes(answer)))


@steady(70)
@given(orders_with_the_largest_blank())
def test_the_largest_frame_is_the_largest_that_the_blank_serves(traced: Traced) -> None:
    answer = answer_to(traced.order)
    assert answer.fit is not None
    largest = answer.fit.largest_frame
    assert largest is not None
    assert largest.blank_mm == LARGEST_IN_STOCK_MM
    frame = traced.order["frame"]
    if largest.a_mm is None:  # no size will do
        assert all(is_short(answer_to(scaled(traced, traced.order, width))) for width in (12.0, 25.0, 40.0, 60.0))
    else:
        for width, short in ((largest.a_mm - 1e-3, False), (largest.a_mm + 0.05, True)):
            if width <= 120 and frame["b_mm"] * width / frame["a_mm"] <= 120:
                assert is_short(answer_to(scaled(traced, traced.order, width))) is short, width
    if largest.dbl_mm is None:
        assert all(is_short(answer_to(changed(traced.order, "/frame/dbl_mm", dbl))) for dbl in (0.0, 10.0, 20.0, 40.0))
    else:
        for dbl, short in ((largest.dbl_mm - 1e-3, False), (largest.dbl_mm + 0.05, True)):
            if 0 <= dbl <= 60:
                assert is_short(answer_to(changed(traced.order, "/frame/dbl_mm", dbl))) is short, dbl
