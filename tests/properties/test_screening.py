"""Screening a frame and checking the order with it say the same: the decision, the figures, and what is grave about it.

The check is the oracle: it goes through the facts and the rules one order at a time, the screening through columns.
"""

import copy
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from order_strategies import AS_OF, answer_to, changed, frames, orders, shipped, steady, tenths, wild_orders

from service.contract.answer import CheckAnswer
from service.contract.order import EXAMPLE_ORDER
from service.contract.screen import ScreenAnswer, ScreenedFrame, ScreenRequest
from service.screening import screen

Document = dict[str, Any]
ALL = {"decisions": ["accept", "review", "reject"]}
# A hair more than what rounding for display can make of figures that differ in the last binary digit.
SHOWN = 1.0001e-4


def screened(order: Document, listed: list[Document], **more: Any) -> ScreenAnswer:
    without_frame = {name: value for name, value in order.items() if name != "frame"}
    request = {"order": without_frame, "frames": listed, "filters": ALL, "sort_by": "catalogue", "top": 1000} | more
    return screen(ScreenRequest.model_validate(request), None, shipped(), AS_OF)


def named(frame: Document, number: int) -> Document:
    return {name: value for name, value in frame.items() if name != "rim_depth_mm"} | {"id": f"frame {number}"}


def of_both(figures: list[float | None], choose: Any) -> float | None:
    known = [figure for figure in figures if figure is not None]
    return choose(known) if known and len(known) == len(figures) else None


def by_check(answer: CheckAnswer) -> dict[str, float | None]:
    """The pair's figures as the single check tells them."""
    fits = [] if answer.fit is None else [eye for eye in (answer.fit.right, answer.fit.left) if eye is not None]
    eyes = [name for name in ("right", "left") if answer.fit is not None and getattr(answer.fit, name) is not None]
    bodies = [None if answer.thickness is None else getattr(answer.thickness, name) for name in eyes]
    edges = [None if body is None or body.edge_mm is None else body.edge_mm.thickest.mm for body in bodies]
    weights = [None if body is None else body.weight_g for body in bodies]
    return {
        "decentration_in_mm": of_both([eye.decentration_mm.in_ for eye in fits], max),
        "margin_mm": of_both([eye.margin_mm for eye in fits], min),
        "thickest_edge_mm": of_both(edges, max),
        "weight_g": of_both(weights, sum) if len(eyes) == 2 else None,
    }


def assert_same(row: ScreenedFrame, answer: CheckAnswer, *, turned: bool) -> None:
    assert row.decision == answer.decision
    grave = {finding.code for finding in answer.findings if finding.severity != "note"}
    assert set(row.codes) == grave
    for name, expected in by_check(answer).items():
        if turned and name == "margin_mm":
            continue
        found = getattr(row, name)
        if expected is None:
            assert found is None, name
        else:
            # The weight of the pair is shown once here, and once for each lens there.
            assert found == pytest.approx(expected, abs=SHOWN if name == "weight_g" else 1e-9, rel=0), name


@steady(400)
@given(order=orders(), listed=st.lists(frames(), min_size=1, max_size=6))
def test_a_screened_frame_is_judged_as_by_the_check(order: Document, listed: list[Document]) -> None:
    answer = screened(order, [named(frame, number) for number, frame in enumerate(listed)])
    assert [row.index for row in answer.frames] == list(range(len(listed)))
    for row, frame in zip(answer.frames, listed, strict=True):
        assert_same(row, answer_to({**order, "frame": frame}), turned=False)


@steady(250)
@given(order=wild_orders(), more=st.lists(frames(), max_size=3))
def test_odd_orders_and_frames_are_judged_as_by_the_check(order: Document, more: list[Document]) -> None:
    listed = [order["frame"], *more]
    answer = screened(order, [named(frame, number) for number, frame in enumerate(listed)])
    for row, frame in zip(answer.frames, listed, strict=True):
        assert_same(row, answer_to({**order, "frame": frame}), turned=False)


LENSES = st.sampled_from(
    [
        {"supply": "surfaced"},
        {"supply": "stock"},
        {"centre_thickness_mm": 1.2},
        {"centre_thickness_mm": 4.5, "supply": "surfaced"},
        {"front_power_d": 2.0},
        {"front_power_d": 9.0, "supply": "stock"},
        {"polarised": True},
    ]
)


@steady(250)
@given(order=orders(), lens=LENSES, listed=st.lists(frames(), min_size=1, max_size=4))
def test_ordered_bodies_are_judged_as_by_the_check(order: Document, lens: Document, listed: list[Document]) -> None:
    order = {**order, "lens": {**order.get("lens", {}), **lens}}
    answer = screened(order, [named(frame, number) for number, frame in enumerate(listed)])
    for row, frame in zip(answer.frames, listed, strict=True):
        assert_same(row, answer_to({**order, "frame": frame}), turned=False)


@steady(80)
@given(
    order=orders(),
    lens=LENSES,
    listed=st.lists(frames(), min_size=1, max_size=4),
    tilt=st.integers(-5, 20),
    wrap=st.integers(-5, 25),
)
def test_lenses_as_worn_are_judged_as_by_the_check(
    order: Document, lens: Document, listed: list[Document], tilt: int, wrap: int
) -> None:
    """What tilt and wrap do rests on the thickness of a lens, which is another in every frame."""
    worn = {**order.get("as_worn", {}), "pantoscopic_deg": tilt, "face_form_deg": wrap}
    order = {**order, "lens": {**order.get("lens", {}), **lens}, "as_worn": worn}
    answer = screened(order, [named(frame, number) for number, frame in enumerate(listed)])
    for row, frame in zip(answer.frames, listed, strict=True):
        assert_same(row, answer_to({**order, "frame": frame}), turned=False)


@steady(60)
@given(order=orders(), listed=st.lists(frames(), min_size=1, max_size=3), offset=tenths(-4, 4))
def test_marked_blanks_and_reading_parts_are_judged_as_by_the_check(
    order: Document, listed: list[Document], offset: float
) -> None:
    order = changed(order, "/lens/blank/centre_offset_mm/right", {"in": offset, "up": 0.5})
    answer = screened(order, [named(frame, number) for number, frame in enumerate(listed)])
    for row, frame in zip(answer.frames, listed, strict=True):
        assert_same(row, answer_to({**order, "frame": frame}), turned=True)


EDGES = (
    # On the limits of the profile, and a hair beside them.
    [{"a_mm": a, "b_mm": 36.0, "dbl_mm": 18.0} for a in (37.9, 38.0, 62.0, 62.1)]
    + [{"a_mm": 52.0, "b_mm": b, "dbl_mm": 18.0} for b in (21.9, 22.0, 54.0, 54.1)]
    + [{"a_mm": 52.0, "b_mm": 36.0, "dbl_mm": dbl} for dbl in (11.9, 12.0, 26.0, 26.1)]
    + [{"a_mm": 54.0, "b_mm": 40.0, "dbl_mm": 18.0, "ed_mm": ed} for ed in (53.4, 53.5, 54.0, 57.0, 67.2, 67.7, 67.8)]
    + [{"a_mm": a, "b_mm": 40.0, "dbl_mm": 18.0, "ed_mm": a + 4} for a in (52.0, 55.0, 57.0, 57.5, 58.0, 60.0)]
    + [{"a_mm": 46.0, "b_mm": 30.0, "dbl_mm": dbl, "rim": rim} for dbl in (13.0, 15.0) for rim in ("full", "drilled")]
)


@pytest.mark.parametrize("sphere", [-12.0, -2.25, 0.0, 2.25, 8.0])
@pytest.mark.parametrize("height", [None, 8.0, 20.0, 29.0])
def test_frames_on_the_limits_are_judged_as_by_the_check(sphere: float, height: float | None) -> None:
    order = copy.deepcopy(EXAMPLE_ORDER)
    order["prescription"]["right"]["sphere"] = sphere
    order["fitting_height_mm"] = {} if height is None else {"right": height}
    answer = screened(order, [named(frame, number) for number, frame in enumerate(EDGES)])
    for row, frame in zip(answer.frames, EDGES, strict=True):
        assert_same(row, answer_to({**order, "frame": frame}), turned=False)


@steady(40)
@given(order=orders(), listed=st.lists(frames(), min_size=2, max_size=8), top=st.integers(1, 8))
def test_the_best_are_the_best_of_all_and_the_counts_add_up(order: Document, listed: list[Document], top: int) -> None:
    frames_named = [named(frame, number) for number, frame in enumerate(listed)]
    everything, best = screened(order, frames_named), screened(order, frames_named, sort_by="score", top=top)
    counts = best.counts
    assert counts.accept + counts.review + counts.reject == counts.frames == counts.kept == len(listed)
    assert len(best.frames) == min(top, len(listed))
    known = sorted((row.score for row in everything.frames if row.score is not None), reverse=True)
    assert [row.score for row in best.frames if row.score is not None] == known[:top]
    for reason in best.reasons:
        assert reason.frames == sum(reason.code in row.codes for row in everything.frames)


@steady(60)
@given(listed=st.lists(frames(), min_size=1, max_size=12), margin=tenths(-10, 10), edge=tenths(1, 6))
def test_filters_keep_what_they_say(listed: list[Document], margin: float, edge: float) -> None:
    frames_named = [named(frame, number) for number, frame in enumerate(listed)]
    filters = {
        **ALL,
        "a_mm": {"at_least": 44, "at_most": 58},
        "rims": ["full", "grooved"],
        "margin_at_least_mm": margin,
        "thickest_edge_at_most_mm": edge,
    }
    everything, kept = screened(EXAMPLE_ORDER, frames_named), screened(EXAMPLE_ORDER, frames_named, filters=filters)
    assume(everything.frames)
    expected = [
        row.index
        for row, frame in zip(everything.frames, listed, strict=True)
        if 44 <= frame["a_mm"] <= 58
        and frame.get("rim", "full") != "drilled"
        and row.margin_mm is not None
        and row.margin_mm >= margin
        and row.thickest_edge_mm is not None
        and row.thickest_edge_mm <= edge
    ]
    assert [row.index for row in kept.frames] == expected


@steady(40)
@given(order=orders(), listed=st.lists(frames(), min_size=1, max_size=5))
def test_the_score_is_what_the_printed_formula_says(order: Document, listed: list[Document]) -> None:
    answer = screened(order, [named(frame, number) for number, frame in enumerate(listed)])
    assert answer.score_formula.startswith(
        "100 - 4 D - 3 E - 0.5 W - 5 max(0, 2 - S), less 20 where a person must look"
    )
    for row in answer.frames:
        figures = (row.decentration_in_mm, row.thickest_edge_mm, row.weight_g, row.spare_mm)
        if row.decision == "reject" or None in figures:
            assert row.score is None
            continue
        across, edge, weight, spare = (0.0 if figure is None else figure for figure in figures)
        points = 100 - 4 * abs(across) - 3 * edge - 0.5 * weight - 5 * max(0, 2 - spare)
        expected = max(0, points - (20 if row.decision == "review" else 0))
        assert row.score == pytest.approx(expected, abs=1e-3)  # from figures rounded for display
