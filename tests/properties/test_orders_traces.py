"""Traced orders: what the service says of the blank follows from the points alone, whatever way they are told.

The need of a lens is found here a second time, by looking at every point; the prism of a shift by the power matrix
(Prentice's rule, p = F d: [long-1976]); the limits of the pair are those of the quick reference sheets of ANSI Z80.1-2015,
0.67 pd or 2.5 mm across and 0.33 pd or 1.0 mm in height [ansi-z80.1-2015].
"""

import copy
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import jsonschema_rs
import numpy as np
import pytest
from core_shapes import boxed, convex, farthest, smooth, star
from hypothesis import assume, given
from hypothesis import strategies as st
from order_strategies import EYES, GRAVITY, OTHER, Document, answer_to, changed, steady, tenths
from pydantic import TypeAdapter
from starlette.testclient import TestClient

from service.contract.answer import CheckAnswer, EyeFit
from service.contract.placement import Placed

ALLOWANCE_MM = 2.0
LARGEST_IN_STOCK_MM = 75.0
HORIZONTAL_PD, HORIZONTAL_MM, VERTICAL_PD, VERTICAL_MM = 0.67, 2.5, 0.33, 1.0
SHORT = ("blank-too-small-for-outline", "blank-does-only-shifted")
OF_THE_BLANK = (*SHORT, "blank-does-only-turned")
OF_BOXED_SIZES = (
    "blank-too-small",
    "blank-may-be-too-small",
    "blank-may-be-too-small-without-ed",
    "blank-rests-on-usual-ed",
)
# Answers show four decimals; two such figures that come from one may differ by one in the last.
SHOWN = 1.01e-4
WRITER = TypeAdapter(CheckAnswer)
Points = np.ndarray


# Shapes.


def densely(points: Points, least: int = 30) -> Points:
    """The same polygon with its sides divided, so that there are enough points, none of them twice."""
    parts = math.ceil(least / len(points))
    ends = np.roll(points, -1, axis=0)
    return (
        np.concatenate([points + (ends - points) * part / parts for part in range(parts)])
        .reshape(parts, len(points), 2)
        .transpose(1, 0, 2)
        .reshape(-1, 2)
    )


def winds_round_the_origin(points: Points) -> bool:
    """Angles from point to point add up to one turn, and the origin is clearly within."""
    if np.hypot(*points.T).min() < 0.5:
        return False
    ends = np.roll(points, -1, axis=0)
    turns = np.arctan2(points[:, 0] * ends[:, 1] - points[:, 1] * ends[:, 0], (points * ends).sum(axis=1))
    return abs(turns.sum()) > 1.0


def spread(points: Points) -> bool:
    """No two points so near that they could be taken for one."""
    return bool(np.hypot(*(np.roll(points, -1, axis=0) - points).T).min() > 1e-6)


@st.composite
def outlines(draw: st.DrawFn, a_mm: float, b_mm: float, *, only_smooth: bool = False) -> Points:
    """A simple polygon of 30 points or more about its boxed centre, counter-clockwise, with exactly this box."""
    maker = smooth if only_smooth else draw(st.sampled_from([smooth, smooth, convex, star]))
    points = densely(boxed(maker(np.random.default_rng(draw(st.integers(0, 10**6)))), a_mm, b_mm))
    assume(winds_round_the_origin(points) and spread(points))
    if (
        maker is star
    ):  # simple only if no gap between its directions is half a turn: then the origin of the star is within
        assume(is_simple(points))
    return points


def is_simple(points: Points) -> bool:
    """No two sides that are no neighbours have a point in common, by plain orientation of every pair."""
    start, end = points, np.roll(points, -1, axis=0)

    def side(of: int) -> tuple[Points, Points]:
        along = end[of] - start[of]
        return tuple(along[0] * (at[:, 1] - start[of, 1]) - along[1] * (at[:, 0] - start[of, 0]) for at in (start, end))

    hands = [side(of) for of in range(len(points))]
    for one in range(len(points)):
        for other in range(one + 2, len(points) - (one == 0)):
            parted = hands[one][0][other] * hands[one][1][other] > 0 or hands[other][0][one] * hands[other][1][one] > 0
            if not parted:
                return False
    return True


def turned_over(points: Points) -> Points:
    """The outline in the mirror: that of the other eye."""
    return points * np.array([-1.0, 1.0])


def sent(points: Points) -> list[list[float]]:
    return [[float(x), float(y)] for x, y in points]


# Orders.


@dataclass(frozen=True)
class Traced:
    """An order that carries the trace of its right lens, and that trace."""

    order: Document
    points: Points

    @property
    def untraced(self) -> Document:
        order = copy.deepcopy(self.order)
        del order["frame"]["trace"]
        return order

    def with_blank(self, diameter_mm: float) -> Document:
        return changed(self.order, "/lens/blank_diameter_mm", diameter_mm)

    def with_trace(self, trace: Document) -> Document:
        return changed(self.order, "/frame/trace", trace)

    def place(self, eye: str) -> tuple[float, float]:
        """Where the pupil lies, in and up from the boxed centre."""
        frame = self.order["frame"]
        up = self.order.get("fitting_height_mm", {}).get(eye, frame["b_mm"] / 2) - frame["b_mm"] / 2
        return (frame["a_mm"] + frame["dbl_mm"]) / 2 - self.order["pd_mm"][eye], up

    def need(self, in_mm: float, up_mm: float) -> float:
        """The blank with its middle there, which is one figure for both eyes: they mirror each other."""
        return 2 * farthest(self.points, in_mm, up_mm) + ALLOWANCE_MM

    def need_at_pupil(self, eye: str) -> float:
        return self.need(*self.place(eye))


@st.composite
def eyes(draw: st.DrawFn) -> Document:
    eye: Document = {"sphere": draw(st.integers(-32, 24)) / 4}
    if draw(st.booleans()):
        eye |= {"cylinder": draw(st.integers(1, 16)) / -4, "axis": draw(st.integers(1, 180))}
    return eye


@st.composite
def traced_orders(draw: st.DrawFn, *, only_smooth: bool = False) -> Traced:
    """Orders in which little but the blank is in doubt; the blank is left out."""
    a, dbl = draw(tenths(40, 58)), draw(tenths(14, 22))
    b = draw(tenths(26, a - 2))
    points = draw(outlines(a, b, only_smooth=only_smooth))
    sideways = {eye: draw(tenths(-1.9, 6)) for eye in EYES}
    order: Document = {
        "prescription": {**{eye: draw(eyes()) for eye in EYES}, "issued_on": "2026-06-01", "vertex_distance_mm": 13},
        "pd_mm": {eye: round((a + dbl) / 2 - sideways[eye], 3) for eye in EYES},
        "frame": {"a_mm": a, "b_mm": b, "dbl_mm": dbl, "rim": "full", "trace": {"right": {"points_mm": sent(points)}}},
        "lens": {"material": "hard-resin-1.50", "use": "distance"},
        "as_of": "2026-11-25",
    }
    if draw(st.booleans()):
        order["fitting_height_mm"] = {eye: round(b / 2 + draw(tenths(-3, 4)), 3) for eye in EYES}
    return Traced(order, points)


def fit_of(answer: CheckAnswer, eye: str) -> EyeFit:
    assert answer.fit is not None
    fit = getattr(answer.fit, eye)
    assert isinstance(fit, EyeFit)
    return fit


def codes(answer: CheckAnswer, eye: str | None = None) -> list[str]:
    return [one.code for one in answer.findings if eye is None or one.eye == eye]


def said(answer: CheckAnswer) -> list[tuple[str, str, str | None]]:
    """What was found, less that only the way of tracing differs."""
    return [(one.code, one.severity, one.eye) for one in answer.findings if not one.code.startswith("trace-off")]


def figures(node: Any, place: str = "") -> Iterator[tuple[str, Any]]:
    """Every leaf of a document with its place."""
    if isinstance(node, dict):
        for name, inner in node.items():
            yield from figures(inner, f"{place}/{name}")
    elif isinstance(node, list):
        for number, inner in enumerate(node):
            yield from figures(inner, f"{place}/{number}")
    else:
        yield place, node


def plain(answer: CheckAnswer) -> Document:
    document = json.loads(WRITER.dump_json(answer, by_alias=True))
    assert isinstance(document, dict)
    return document


def assert_alike(one: Document, other: Document, within: float = SHOWN) -> None:
    """The same members, the same words, and figures that are the same as far as they are shown."""
    first, second = dict(figures(one)), dict(figures(other))
    assert first.keys() == second.keys()
    for place, value in first.items():
        if isinstance(value, float):
            assert second[place] == pytest.approx(value, abs=within, rel=0), place
        else:
            assert second[place] == value, place


# The need.


@steady(150)
@given(traced_orders())
def test_the_need_is_twice_the_farthest_point_from_the_pupil_and_the_allowance(traced: Traced) -> None:
    answer = answer_to(traced.with_blank(70.0))
    for eye in EYES:
        blank = fit_of(answer, eye).minimum_blank_mm
        need = traced.need_at_pupil(eye)
        assert blank.basis == "trace"
        assert blank.at_least == blank.expected == blank.at_most == pytest.approx(need, abs=6e-5)
        assert fit_of(answer, eye).margin_mm == pytest.approx(70.0 - need, abs=6e-5)


@steady(150)
@given(traced_orders())
def test_the_exact_need_lies_between_the_bounds_without_the_trace(traced: Traced) -> None:
    ed = 2 * farthest(traced.points, 0, 0)
    measured = changed(traced.order, "/frame/ed_mm", ed)
    exact, bounded, unmeasured = (
        answer_to(order) for order in (measured, changed(traced.untraced, "/frame/ed_mm", ed), traced.untraced)
    )
    for eye in EYES:
        need, bounds = fit_of(exact, eye).minimum_blank_mm.expected, fit_of(bounded, eye).minimum_blank_mm
        assert bounds.at_least - SHOWN <= need <= bounds.at_most + SHOWN
        assert need <= fit_of(unmeasured, eye).minimum_blank_mm.at_most + SHOWN
    assert not {"trace-differs-from-frame", *OF_BOXED_SIZES} & set(codes(exact))


@steady(100)
@given(traced_orders(), tenths(45, 80))
def test_with_a_trace_the_blank_is_never_only_perhaps_too_small(traced: Traced, diameter: float) -> None:
    answer = answer_to(traced.with_blank(diameter))
    assert not set(OF_BOXED_SIZES) & set(codes(answer))
    for eye in EYES:
        short = [code for code in codes(answer, eye) if code in SHORT]
        assert len(short) == (traced.need_at_pupil(eye) > diameter + 1e-9)
        assert not short or answer.decision != "accept"


@steady(100)
@given(traced_orders(), tenths(-1, 3))
def test_the_tightest_place_has_half_the_margin_and_is_the_farthest_point(traced: Traced, more: float) -> None:
    diameter = round(traced.need_at_pupil("right") + more, 1)
    assume(20 <= diameter <= 120)
    tightest = fit_of(answer_to(traced.with_blank(diameter)), "right").tightest
    assert tightest is not None
    assert tightest.margin_mm == pytest.approx((diameter - traced.need_at_pupil("right")) / 2, abs=6e-5)
    # In that direction from the boxed centre the outline has a point as far from the pupil as any.
    far = np.hypot(*(traced.points - traced.place("right")).T)
    angles = np.degrees(np.arctan2(traced.points[:, 1], traced.points[:, 0])) % 360
    alike = angles[far >= far.max() - 1e-6]
    assert np.abs((alike - tightest.angle_deg + 180) % 360 - 180).min() < 1e-3
    assert tightest.side == ("nasal" if math.cos(math.radians(tightest.angle_deg)) > -1e-6 else "temporal")
    assert math.sin(math.radians(tightest.above_deg)) == pytest.approx(
        math.sin(math.radians(tightest.angle_deg)), abs=1e-5
    )


# The ways of telling an outline.


@steady(60)
@given(traced_orders(only_smooth=True), st.integers(1, 80), tenths(52, 72))
def test_it_does_not_matter_where_a_trace_begins_which_way_it_runs_and_whether_it_is_closed(
    traced: Traced, first: int, diameter: float
) -> None:
    points = traced.points
    told = answer_to(traced.with_blank(diameter))
    for other in (
        np.roll(points, first, axis=0),
        points[::-1],
        np.concatenate([points, points[:1]]),
        np.repeat(points, 2, axis=0),
    ):
        order = changed(traced.with_blank(diameter), "/frame/trace/right/points_mm", sent(other))
        assert_alike(plain(answer_to(order)), plain(told))


@steady(60)
@given(traced_orders(only_smooth=True), tenths(-40, 40), tenths(-40, 40), tenths(52, 72))
def test_the_origin_of_a_trace_does_not_matter_and_is_remarked_on(
    traced: Traced, x: float, y: float, diameter: float
) -> None:
    told = answer_to(traced.with_blank(diameter))
    moved = changed(traced.with_blank(diameter), "/frame/trace/right/points_mm", sent(traced.points + (x, y)))
    answer = answer_to(moved)
    off = math.hypot(x, y)
    found = [one for one in answer.findings if one.code == "trace-off-centre"]
    assert [(one.severity, one.value) for one in found] == [("note", pytest.approx(off, abs=1e-8))] * (off > 0.5)
    assert said(answer) == said(told)
    for part in ("fit", "prism"):
        assert_alike(plain(answer)[part], plain(told)[part])


@steady(60)
@given(traced_orders(only_smooth=True), tenths(52, 72))
def test_the_left_lens_traced_says_the_same_as_the_right_one(traced: Traced, diameter: float) -> None:
    left = {"points_mm": sent(turned_over(traced.points))}
    told = answer_to(traced.with_blank(diameter))
    for trace in ({"left": left}, {"right": traced.order["frame"]["trace"]["right"], "left": left}):
        answer = answer_to(changed(traced.with_blank(diameter), "/frame/trace", trace))
        assert said(answer) == said(told)
        one, other = plain(answer)["fit"], plain(told)["fit"]
        for eye in EYES:
            assert one[eye]["outline"].pop("traced") == (eye if len(trace) == 2 else "left")
            assert other[eye]["outline"].pop("traced", "right") == "right"
        assert_alike(one, other)
        told = answer_to(traced.with_blank(diameter))
    mirrored = [one for one in told.assumptions if one.pointer == "/frame/trace/left"]
    assert [one.value for one in mirrored] == ["mirrored"]


@steady(60)
@given(st.integers(0, 10**6), st.integers(24, 120), tenths(52, 72))
def test_radii_say_the_same_as_the_points_they_stand_for(seed: int, count: int, diameter: float) -> None:
    rng = np.random.default_rng(seed)
    turn = np.arange(count) * 2 * np.pi / count
    radii = (
        22
        + 4 * np.cos(2 * turn)
        + sum(rng.uniform(0, 1) * np.cos(k * turn + rng.uniform(0, 2 * np.pi)) for k in (1, 3, 4))
    )
    points = np.column_stack((radii * np.cos(turn), radii * np.sin(turn)))
    a, b = np.ptp(points, axis=0)
    order: Document = {
        "prescription": {eye: {"sphere": -3.0, "cylinder": -1.0, "axis": 20} for eye in EYES},
        "pd_mm": {"both": 63.0},
        "frame": {"a_mm": round(float(a), 1), "b_mm": round(float(b), 1), "dbl_mm": 18.0},
        "lens": {"blank_diameter_mm": diameter},
        "as_of": "2026-11-25",
    }
    by_radii = changed(order, "/frame/trace/right/radii_mm", [float(one) for one in radii])
    by_points = changed(order, "/frame/trace/right/points_mm", sent(points))
    assert_alike(plain(answer_to(by_radii)), plain(answer_to(by_points)))


def in_the_mirror(order: Document) -> Document:
    """The order of the wearer in a mirror, trace and all."""
    result = copy.deepcopy(order)
    prescription = result["prescription"]
    for eye in EYES:
        if "axis" in prescription[eye]:
            axis = prescription[eye]["axis"]
            prescription[eye]["axis"] = axis if axis == 180 else 180 - axis
    pairs = [prescription, result["pd_mm"], result.get("fitting_height_mm", {}), result["frame"].get("trace", {})]
    pairs.append(result["lens"].get("blank", {}).get("centre_offset_mm", {}))
    for pair in pairs:
        exchanged = {OTHER.get(name, name): value for name, value in pair.items()}
        pair.clear()
        pair.update(exchanged)
    for eye, outline in result["frame"].get("trace", {}).items():
        if eye in EYES:
            outline["points_mm"] = [[-x, y] for x, y in outline["points_mm"]]
    return result


@st.composite
def offsets(draw: st.DrawFn) -> Document:
    """Where a blank's optical centre lies, in and up from its middle."""
    return {"in": draw(tenths(-6, 6)), "up": draw(tenths(-4, 4))}


@steady(80)
@given(traced_orders(only_smooth=True), st.one_of(st.none(), offsets()), tenths(50, 72))
def test_in_the_mirror_right_and_left_change_places_and_nothing_else(
    traced: Traced, offset: Document | None, diameter: float
) -> None:
    order = traced.with_blank(diameter)
    if offset is not None:
        order = changed(order, "/lens/blank/centre_offset_mm/right", offset)
    answer, other = answer_to(order), answer_to(in_the_mirror(order))
    assert other.decision == answer.decision
    assert sorted((code, gravity, OTHER.get(eye or "")) for code, gravity, eye in said(other)) == sorted(
        (code, gravity, eye) for code, gravity, eye in said(answer)
    )
    one, seen = plain(answer), plain(other)
    for part in (one, seen):
        for eye in EYES:
            for place in ("outline", "tightest"):
                for name in ("ed_angle_deg", "angle_deg", "traced"):
                    part["fit"][eye][place].pop(name, None)
    for eye in EYES:
        assert_alike(seen["fit"][OTHER[eye]], one["fit"][eye], 3e-4)
        mirrored, straight = seen["prism"][OTHER[eye]], one["prism"][eye]
        assert (mirrored is None) == (straight is None)
        if mirrored is not None:
            assert_alike(mirrored, straight, 3e-4)
    assert_alike(seen["fit"]["largest_frame"], one["fit"]["largest_frame"])
    angles = [fit_of(answer, eye).tightest for eye in EYES], [fit_of(other, OTHER[eye]).tightest for eye in EYES]
    for straight_one, mirrored_one in zip(*angles, strict=True):
        assert straight_one is not None
        assert mirrored_one is not None
        assert (straight_one.angle_deg + mirrored_one.angle_deg - 180) % 360 == pytest.approx(0, abs=SHOWN) or (
            straight_one.angle_deg + mirrored_one.angle_deg - 180
        ) % 360 == pytest.approx(360, abs=SHOWN)


# Size and bevel.


@steady(60)
@given(traced_orders(), st.integers(1, 30).map(lambda n: n / 10))
def test_a_bevel_needs_its_height_all_round(traced: Traced, bevel: float) -> None:
    plain_answer = answer_to(traced.with_blank(80.0))
    bevelled = answer_to(changed(traced.with_blank(80.0), "/frame/trace/bevel_mm", bevel))
    for eye in EYES:
        before, after = fit_of(plain_answer, eye), fit_of(bevelled, eye)
        assert after.minimum_blank_mm.expected == pytest.approx(before.minimum_blank_mm.expected + 2 * bevel, abs=SHOWN)
        assert (after.outline, after.decentration_mm) == (before.outline, before.decentration_mm)
        assert (after.minimum_blank_mm.bevel_mm, after.minimum_blank_mm.allowance_mm) == (bevel, ALLOWANCE_MM)


@steady(60)
@given(traced_orders(only_smooth=True), st.integers(1, 20).map(lambda n: n / 10))
def test_a_lens_cut_larger_all_round_is_larger_by_twice_that(traced: Traced, change: float) -> None:
    before = answer_to(traced.with_blank(80.0))
    after = answer_to(changed(traced.with_blank(80.0), "/frame/trace/size_change_mm", change))
    assert "trace-differs-from-frame" not in codes(after)  # the sizes as traced are compared
    for eye in EYES:
        cut, traced_sizes = fit_of(after, eye).outline, fit_of(before, eye).outline
        assert cut is not None
        assert traced_sizes is not None
        assert cut.a_mm == pytest.approx(traced_sizes.a_mm + 2 * change, abs=SHOWN)
        assert cut.b_mm == pytest.approx(traced_sizes.b_mm + 2 * change, abs=SHOWN)
        assert cut.ed_mm == pytest.approx(traced_sizes.ed_mm + 2 * change, abs=0.01)
        # Steiner's formula for the area of the parallel body of a convex shape; a hollow takes some away.
        most = traced_sizes.area_mm2 + traced_sizes.circumference_mm * change + math.pi * change**2
        assert traced_sizes.area_mm2 < cut.area_mm2 <= most + SHOWN


@steady(40)
@given(traced_orders(only_smooth=True), st.integers(-10, 20).filter(bool).map(lambda n: n / 10))
def test_cutting_the_lens_larger_or_smaller_leaves_the_pupils_where_they_are(traced: Traced, change: float) -> None:
    """The frame is what it is: how its lenses are cut moves neither its boxed centres nor the wearer's eyes."""
    before = answer_to(traced.with_blank(80.0))
    after = answer_to(changed(traced.with_blank(80.0), "/frame/trace/size_change_mm", change))
    assert before.fit is not None
    assert after.fit is not None
    assert after.fit.frame_pd_mm == before.fit.frame_pd_mm
    for eye in EYES:
        one, other = fit_of(before, eye), fit_of(after, eye)
        assert one.decentration_mm == other.decentration_mm
        if change > 0:
            assert other.minimum_blank_mm.expected == pytest.approx(
                one.minimum_blank_mm.expected + 2 * change, abs=0.01
            )


# Half a turn.


@st.composite
def turnable_orders(draw: st.DrawFn) -> Traced:
    traced = draw(traced_orders(only_smooth=True))
    offset = {"right": draw(offsets()), "left": draw(offsets())}
    blank = {"centre_offset_mm": offset, "top_marked": False}
    return Traced(changed(traced.order, "/lens/blank", blank), traced.points)


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


@steady(60)
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
            assert getattr(turned, budget) == getattr(one, budget)
    assert "reject" not in {answer.decision, other.decision} or answer.decision == other.decision
    assert answer_to(lain_the_other_way(lain_the_other_way(order))) == answer


def with_a_marked_top(order: Document) -> Document:
    return changed(order, "/lens/blank/top_marked", True)


@steady(60)
@given(turnable_orders(), tenths(50, 72))
def test_a_blank_that_may_be_turned_is_judged_no_more_severely_than_one_that_may_not(
    traced: Traced, diameter: float
) -> None:
    order = traced.with_blank(diameter)
    assert GRAVITY[answer_to(order).decision] <= GRAVITY[answer_to(with_a_marked_top(order)).decision]


@st.composite
def boxed_turnable_orders(draw: st.DrawFn) -> Traced:
    traced = draw(turnable_orders())
    order = changed(traced.untraced, "/frame/ed_mm", 2 * farthest(traced.points, 0, 0))
    return Traced(order, traced.points)


@steady(100)
@given(boxed_turnable_orders(), st.integers(0, 40).map(lambda n: n / 10))
def test_without_a_trace_no_shape_that_fits_turned_is_rejected(traced: Traced, more: float) -> None:
    """The boxed bounds hold for every shape; here is one that has these boxed sizes and can be cut."""
    needs = [min(need_with(traced, eye, 1), need_with(traced, eye, -1)) for eye in EYES]
    diameter = math.ceil((max(needs) + more) * 10) / 10
    answer = answer_to(traced.with_blank(diameter))
    assert "blank-too-small" not in codes(answer)


# The budget of prism.


def power_matrix(eye: Document) -> Points:
    """F of a sphero-cylinder; the power along the axis is the sphere's."""
    cylinder, axis = eye.get("cylinder", 0.0), math.radians(eye.get("axis", 0))
    across = np.array([-math.sin(axis), math.cos(axis)])
    return eye["sphere"] * np.eye(2) + cylinder * np.outer(across, across)


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


@st.composite
def tight_orders(draw: st.DrawFn) -> Traced:
    """Orders with a blank a little smaller than one of the eyes needs."""
    traced = draw(traced_orders())
    least = max(traced.need_at_pupil(eye) for eye in EYES)
    diameter = math.floor((least - draw(tenths(0.1, 4))) * 10) / 10
    assume(diameter >= 20)
    return Traced(traced.with_blank(diameter), traced.points)


@steady(120)
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


@steady(60)
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


@steady(100)
@given(tight_orders())
def test_a_blank_that_is_short_is_for_a_person_within_the_budget_and_rejected_beyond_it(traced: Traced) -> None:
    budget = placements(answer_to(traced.order), "budget")
    assert budget is not None
    least = max(one.minimum_blank_mm for one in budget.values())
    most = max(traced.need_at_pupil(eye) for eye in EYES)
    assume(20 <= least - 0.001)
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


@steady(60)
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


@steady(12)
@given(traced_orders(only_smooth=True), st.one_of(st.none(), offsets()))
def test_a_larger_blank_is_never_judged_more_severely(traced: Traced, offset: Document | None) -> None:
    order = traced.order if offset is None else changed(traced.order, "/lens/blank/centre_offset_mm/right", offset)
    decisions = [
        GRAVITY[answer_to(changed(order, "/lens/blank_diameter_mm", diameter / 2)).decision]
        for diameter in range(160, 80, -2)
    ]
    assert decisions == sorted(decisions)
    assert decisions[-1] == GRAVITY["reject"]


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

    @steady(80)
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


@steady(100)
@given(orders_with_the_largest_blank())
def test_the_largest_frame_is_the_largest_that_the_blank_serves(traced: Traced) -> None:
    answer = answer_to(traced.order)
    assert answer.fit is not None
    largest = answer.fit.largest_frame
    assert largest is not None
    assert largest.blank_mm == LARGEST_IN_STOCK_MM
    assert largest.a_mm is not None
    assert largest.dbl_mm is not None
    for width, dbl, short in ((largest.a_mm - 1e-3, None, False), (largest.a_mm + 0.05, None, True)):
        if width <= 120 and (traced.order["frame"]["b_mm"] * width / traced.order["frame"]["a_mm"]) <= 120:
            assert is_short(answer_to(scaled(traced, traced.order, width))) is short, (width, dbl)
    for dbl, short in ((largest.dbl_mm - 1e-3, False), (largest.dbl_mm + 0.05, True)):
        if 0 <= dbl <= 60:
            assert is_short(answer_to(changed(traced.order, "/frame/dbl_mm", dbl))) is short, dbl


# Slack.


@steady(100)
@given(traced_orders(only_smooth=True))
def test_the_slack_is_the_error_that_uses_up_the_limit_of_the_pair(traced: Traced) -> None:
    answer = answer_to(traced.with_blank(80.0))
    for eye in EYES:
        power = power_matrix(traced.order["prescription"][eye])
        slack = fit_of(answer, eye).centration_slack_mm
        assert slack is not None
        for told, along, limit_pd, limit_mm in (
            (slack.horizontal, power[0, 0], HORIZONTAL_PD, HORIZONTAL_MM),
            (slack.vertical, power[1, 1], VERTICAL_PD, VERTICAL_MM),
        ):
            if abs(along) < 1e-9:
                assert told is None
            else:
                assert told == pytest.approx(max(10 * limit_pd / abs(along), limit_mm), abs=6e-5)


# The answer as it is sent.


@pytest.fixture(scope="module")
def schema(service: TestClient) -> Any:
    components = service.get("/openapi.json").json()["components"]
    return {
        name: jsonschema_rs.Draft202012Validator({"$ref": f"#/components/schemas/{name}", "components": components})
        for name in ("Order", "CheckAnswer")
    }


def test_traced_orders_and_their_answers_hold_what_the_published_schema_says(schema: Any) -> None:
    @steady(80)
    @given(st.one_of(tight_orders(), turnable_orders()))
    def holds(traced: Traced) -> None:
        schema["Order"].validate(traced.order)
        schema["CheckAnswer"].validate(plain(answer_to(traced.order)))

    holds()


def test_the_same_traced_order_has_the_same_bytes(service: TestClient) -> None:
    @steady(30)
    @given(st.one_of(tight_orders(), turnable_orders()))
    def holds(traced: Traced) -> None:
        backwards = {name: traced.order[name] for name in reversed(traced.order)}
        answers = {
            service.post(
                "/v1/orders/check", content=json.dumps(order), headers={"Content-Type": "application/json"}
            ).content
            for order in (traced.order, backwards, traced.order)
        }
        assert len(answers) == 1

    holds()
