"""Outlines as points: their box, their farthest point, and the modelled outline, against brute geometry."""

import math

import numpy as np
import pytest
from core_shapes import MAKERS, Maker, boxed, farthest
from core_strategies import boxes, distances, steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core.boxing import blank_bounds
from optics_core.outline import boxed_sizes, farthest_distance, minimum_blank, rounded_rectangle


@pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)
def test_box_and_farthest_point_are_found_by_looking_at_every_corner(maker: Maker) -> None:
    rng = np.random.default_rng(7)
    for _ in range(200):
        a, b, x, y = rng.uniform(30, 70), rng.uniform(15, 60), rng.uniform(-9, 9), rng.uniform(-9, 9)
        points = boxed(maker(rng), a, b)
        reach = max(math.dist(corner, (x, y)) for corner in points.tolist())
        assert boxed_sizes(points) == pytest.approx((a, b, 2 * farthest(points, 0, 0)), abs=1e-9)
        assert farthest_distance(points, x_mm=x, y_mm=y) == pytest.approx(reach, abs=1e-12)
        assert minimum_blank(points, x_mm=x, y_mm=y, allowance_mm=2.0) == pytest.approx(2 * reach + 2, abs=1e-12)


@steady
@given(boxes())
def test_the_modelled_outline_has_the_boxed_sizes_asked_for(box: dict[str, float]) -> None:
    points = rounded_rectangle(**box, count=7200)
    assert points.shape == (7200, 2)
    a, b, ed = boxed_sizes(points)
    assert (a, b) == pytest.approx((box["a_mm"], box["b_mm"]), abs=1e-2)
    # Sampled points can only fall short of the corner's tip, never beyond it.
    assert box["ed_mm"] - 1e-1 <= ed <= box["ed_mm"] + 1e-9


@steady
@given(boxes())
def test_the_modelled_outline_runs_counter_clockwise_once_from_plus_x(box: dict[str, float]) -> None:
    points = rounded_rectangle(**box)
    assert points.shape == (360, 2)
    assert points[0] == pytest.approx((box["a_mm"] / 2, 0.0), abs=1e-9)
    turn = np.unwrap(np.arctan2(points[:, 1], points[:, 0]))
    # A corner sharp but for the last bit may hold several points in one place.
    assert np.all(np.diff(turn) > -1e-12)
    assert turn[-1] - turn[0] < 2 * np.pi


@steady
@given(boxes(), distances, distances, st.floats(0, 4))
def test_the_expected_blank_is_the_one_of_the_modelled_outline(
    box: dict[str, float], inward: float, up: float, allowance: float
) -> None:
    points = rounded_rectangle(**box, count=72_000)
    bounds = blank_bounds(**box, in_mm=inward, up_mm=up, allowance_mm=allowance)
    by_points = minimum_blank(points, x_mm=inward, y_mm=up, allowance_mm=allowance)
    assert by_points == pytest.approx(bounds.expected_mm, abs=1e-2)
    assert by_points <= bounds.expected_mm + 1e-9


@steady
@given(boxes(), st.integers(24, 500))
def test_the_modelled_outline_stays_inside_its_box(box: dict[str, float], count: int) -> None:
    points = rounded_rectangle(**box, count=count)
    assert points.shape == (count, 2)
    assert np.abs(points[:, 0]).max() <= box["a_mm"] / 2 + 1e-9
    assert np.abs(points[:, 1]).max() <= box["b_mm"] / 2 + 1e-9
