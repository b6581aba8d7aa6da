"""Traced orders: what the service says of the blank follows from the points alone, whatever way they are told.

The limits of the pair are those of the quick reference sheets of ANSI Z80.1-2015, 0.67 pd or 2.5 mm across and 0.33 pd or
1.0 mm in height [ansi-z80.1-2015].
"""

import copy
import json
import math
from typing import Any

import jsonschema_rs
import numpy as np
import pytest
from core_shapes import boxed, farthest, smooth
from hypothesis import assume, given
from hypothesis import strategies as st
from order_strategies import EYES, OTHER, Document, answer_to, changed, steady, tenths
from starlette.testclient import TestClient
from traced_orders import (
    ALLOWANCE_MM,
    OF_BOXED_SIZES,
    SHORT,
    SHOWN,
    Traced,
    assert_alike,
    codes,
    figures,
    fit_of,
    offsets,
    plain,
    power_matrix,
    said,
    sent,
    tight_orders,
    traced_orders,
    turnable_orders,
    turned_over,
)

HORIZONTAL_PD, HORIZONTAL_MM, VERTICAL_PD, VERTICAL_MM = 0.67, 2.5, 0.33, 1.0


# The need.


@steady(100)
@given(traced_orders())
def test_the_need_is_twice_the_farthest_point_from_the_pupil_and_the_allowance(traced: Traced) -> None:
    answer = answer_to(traced.with_blank(70.0))
    for eye in EYES:
        blank = fit_of(answer, eye).minimum_blank_mm
        need = traced.need_at_pupil(eye)
        assert blank.basis == "trace"
        assert blank.at_least == blank.expected == blank.at_most == pytest.approx(need, abs=6e-5)
        assert fit_of(answer, eye).margin_mm == pytest.approx(70.0 - need, abs=6e-5)


@steady(80)
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


@steady(60)
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


@steady(40)
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
    moved = changed(traced.with_blank(diameter), "/frame/trace/right/points_mm", sent(traced.points + np.array([x, y])))
    answer = answer_to(moved)
    off = math.hypot(x, y)
    found = [one for one in answer.findings if one.code == "trace-off-centre"]
    assert [(one.severity, one.value) for one in found] == [("note", pytest.approx(off, abs=1e-8))] * (off > 0.5)
    assert said(answer) == said(told)
    for part in ("fit", "prism"):
        assert_alike(plain(answer)[part], plain(told)[part])


@steady(40)
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


@steady(40)
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


@steady(60)
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


@pytest.mark.parametrize("change", [0.2, 1.0, -0.5])
def test_cutting_the_lens_larger_or_smaller_leaves_the_pupils_where_they_are(change: float) -> None:
    """The frame is what it is: how its lenses are cut moves neither its boxed centres nor the wearer's eyes."""
    points = boxed(smooth(np.random.default_rng(1)), 52.0, 40.0)
    order: Document = {
        "prescription": {eye: {"sphere": -2.0} for eye in EYES},
        "pd_mm": dict.fromkeys(EYES, 32.0),
        "frame": {"a_mm": 52.0, "b_mm": 40.0, "dbl_mm": 18.0, "trace": {"right": {"points_mm": sent(points)}}},
        "fitting_height_mm": dict.fromkeys(EYES, 22.0),
        "lens": {"blank_diameter_mm": 70.0},
        "as_of": "2026-11-25",
    }
    before, after = answer_to(order), answer_to(changed(order, "/frame/trace/size_change_mm", change))
    assert before.fit is not None
    assert after.fit is not None
    assert after.fit.frame_pd_mm == before.fit.frame_pd_mm
    for eye in EYES:
        one, other = fit_of(before, eye), fit_of(after, eye)
        assert one.decentration_mm == other.decentration_mm
        grown = other.minimum_blank_mm.expected - one.minimum_blank_mm.expected
        # Outwards every point of the outline moves straight away from it; inwards the farthest may be cut off.
        assert grown == pytest.approx(2 * change, abs=0.01) if change > 0 else grown <= 2 * change + 0.01


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
                # Powers are settled to a billionth of a dioptre.
                most = max(10 * limit_pd / abs(along), limit_mm)
                assert told == pytest.approx(most, abs=6e-5, rel=2e-9 / abs(along))


# Whatever a tracer may send.


@st.composite
def wild_traces(draw: st.DrawFn) -> Document:
    """Sound outlines, and tangles, specks, lines and nothing at all, for either lens or both."""
    rng = np.random.default_rng(draw(st.integers(0, 10**6)))
    count = draw(st.integers(0, 60))
    wild = {
        "smooth": {"points_mm": sent(boxed(smooth(rng), 52.0, 40.0))},
        "elsewhere": {"points_mm": sent(boxed(smooth(rng), 70.0, 20.0) + rng.uniform(-60, 60, 2))},
        "a speck": {"points_mm": sent(boxed(smooth(rng), 52.0, 40.0) * 10.0 ** draw(st.integers(-12, -1)))},
        "a sliver": {"points_mm": sent(boxed(smooth(rng), 52.0, 40.0) * np.array([1.0, 1e-7]))},
        "tangled": {"points_mm": sent(rng.normal(0, 15, (count, 2)).clip(-150, 150))},
        "a grid": {"points_mm": sent(rng.integers(-3, 4, (count, 2)) * 8.0)},
        "edges": {"points_mm": sent(rng.choice([0.0, 5e-324, 1e-9, -150.0, 150.0, 20.0], (count, 2)))},
        "spikes": {"radii_mm": [float(radius) for radius in rng.uniform(0, 150, count)]},
        "a circle": {"radii_mm": [25.0] * count},
        "nothing": {},
        "both forms": {"radii_mm": [25.0] * 30, "points_mm": []},
    }
    eyes = draw(st.sampled_from([("right",), ("left",), EYES, EYES, ()]))
    trace: Document = {eye: wild[draw(st.sampled_from(sorted(wild)))] for eye in eyes}
    if draw(st.booleans()):
        trace["size_change_mm"] = draw(st.sampled_from([0.1, -0.1, 2, -2, 1e-12]))
    if draw(st.booleans()):
        trace["bevel_mm"] = draw(st.sampled_from([0, 0.6, 3]))
    return trace


def test_every_trace_is_answered_and_a_faulty_one_is_never_accepted() -> None:
    faults: set[str] = set()

    @steady(250)
    @given(traced_orders(only_smooth=True), wild_traces(), tenths(45, 75))
    def holds(traced: Traced, trace: Document, diameter: float) -> None:
        answer = answer_to(changed(traced.with_blank(diameter), "/frame/trace", trace))
        document = plain(answer)
        json.dumps(document, allow_nan=False)
        assert all(math.isfinite(value) for _, value in figures(document) if isinstance(value, float))
        found = {one.code: one.severity for one in answer.findings if one.code.startswith("trace")}
        faults.update(code for code, severity in found.items() if severity != "note")
        for eye in EYES:
            fit = fit_of(answer, eye)
            assert (fit.minimum_blank_mm.basis == "trace") == (fit.outline is not None)
            if eye in trace and fit.outline is None:
                assert set(found.values()) & {"reject", "review"}
        assert answer.decision != "accept" or set(found.values()) <= {"note"}

    holds()
    # The draws must have met most of what can be wrong with an outline.
    assert len(faults) >= 8, faults


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
