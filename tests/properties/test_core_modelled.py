"""The modelled outlines of few points against the one of many, and against brute geometry."""

import numpy as np
import pytest
from core_shapes import rounded_box
from core_strategies import boxes, steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core.errors import DomainError
from optics_core.modelled import modelled_outlines, with_feet
from optics_core.outline import outline_sizes, rounded_rectangle
from optics_core.outline_checks import first_crossing


@steady
@given(boxes())
def test_the_modelled_outline_has_exactly_the_boxed_sizes_asked_for(box: dict[str, float]) -> None:
    x, y = modelled_outlines(**box)
    assert x.shape == y.shape == (40,)
    sizes = outline_sizes(np.column_stack((x, y)))
    assert (sizes.a_mm, sizes.b_mm, sizes.ed_mm) == pytest.approx((box["a_mm"], box["b_mm"], box["ed_mm"]), abs=1e-9)


def test_its_points_lie_on_the_shape_found_by_halving_and_dense_sampling() -> None:
    for a, b, ed in ((54.0, 40.0, 58.0), (50.0, 26.0, 52.0), (46.0, 46.0, 47.0), (60.0, 30.0, 67.0)):
        x, y = modelled_outlines(a_mm=a, b_mm=b, ed_mm=ed)
        dense = rounded_box(a, b, ed)
        for point in zip(x, y, strict=True):
            on_a_side = abs(abs(point[0]) - a / 2) < 1e-9 or abs(abs(point[1]) - b / 2) < 1e-9
            gap = np.hypot(dense[:, 0] - point[0], dense[:, 1] - point[1]).min()
            assert on_a_side or gap < 0.01


def test_it_runs_counter_clockwise_without_crossing_itself_and_nearly_fills_the_shape() -> None:
    for a, b, ed in ((54.0, 40.0, 58.0), (50.0, 26.0, 52.0), (46.0, 46.0, 47.0), (60.0, 30.0, 67.0)):
        points = np.column_stack(modelled_outlines(a_mm=a, b_mm=b, ed_mm=ed))
        assert first_crossing(points) is None
        x, y = points.T
        area = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
        full = outline_sizes(rounded_rectangle(a_mm=a, b_mm=b, ed_mm=ed, count=3600)).area_mm2
        assert 0.985 * full < area <= full * (1 + 1e-9)


def test_many_outlines_at_once_are_the_ones_made_one_by_one() -> None:
    a, b, ed = np.array([54.0, 50.0, 46.0]), np.array([40.0, 26.0, 46.0]), np.array([58.0, 52.0, 47.0])
    x, y = modelled_outlines(a_mm=a, b_mm=b, ed_mm=ed)
    for index in range(3):
        alone = modelled_outlines(a_mm=float(a[index]), b_mm=float(b[index]), ed_mm=float(ed[index]))
        assert np.allclose(x[index], alone[0], rtol=0, atol=1e-12)
        assert np.allclose(y[index], alone[1], rtol=0, atol=1e-12)


POLES = st.floats(-40, 40)


@steady
@given(boxes(), POLES, POLES)
def test_with_its_feet_the_outline_comes_as_near_to_the_pole_as_the_shape_does(
    box: dict[str, float], pole_x: float, pole_y: float
) -> None:
    x, y = with_feet(*modelled_outlines(**box), pole_x_mm=pole_x, pole_y_mm=pole_y)
    assert x.shape == y.shape == (44,)
    plain = np.column_stack(modelled_outlines(**box))
    assert outline_sizes(np.column_stack((x, y))).area_mm2 == pytest.approx(outline_sizes(plain).area_mm2, abs=1e-9)
    # Along each side of the polygon nothing is nearer than the nearest of its points, but for the short chords of corners.
    upper, right = y == y.max(), x == x.max()
    for on_side, places, pole in ((upper, x, pole_x), (right, y, pole_y)):
        ends = places[on_side].min(), places[on_side].max()
        nearest = min(max(pole, ends[0]), ends[1])
        assert np.abs(places[on_side] - nearest).min() == pytest.approx(0.0, abs=1e-9)
    turns = np.diff(np.unwrap(np.arctan2(y, x)))
    assert (turns >= -1e-12).all()


def test_feet_of_many_outlines_are_those_of_each() -> None:
    a, b, ed = np.array([54.0, 50.0, 46.0]), np.array([40.0, 26.0, 46.0]), np.array([58.0, 52.0, 47.0])
    poles = np.array([4.5, -30.0, 0.0]), np.array([2.0, -1.5, 40.0])
    x, y = with_feet(*modelled_outlines(a_mm=a, b_mm=b, ed_mm=ed), pole_x_mm=poles[0], pole_y_mm=poles[1])
    for row in range(3):
        one = modelled_outlines(a_mm=float(a[row]), b_mm=float(b[row]), ed_mm=float(ed[row]))
        alone = with_feet(*one, pole_x_mm=float(poles[0][row]), pole_y_mm=float(poles[1][row]))
        assert np.allclose(x[row], alone[0], rtol=0, atol=1e-12)
        assert np.allclose(y[row], alone[1], rtol=0, atol=1e-12)


@pytest.mark.parametrize("argument", ["pole_x_mm", "pole_y_mm"])
def test_a_pole_that_is_no_place_is_refused(argument: str) -> None:
    poles = {"pole_x_mm": 0.0, "pole_y_mm": 0.0} | {argument: float("nan")}
    with pytest.raises(DomainError) as refusal:
        with_feet(*modelled_outlines(a_mm=54.0, b_mm=40.0, ed_mm=58.0), **poles)
    assert refusal.value.argument == argument
