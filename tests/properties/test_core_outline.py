"""Outlines as points: sizes, farthest point, mirror, modelled outline, against brute geometry and shapely (GEOS)."""

import math
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from core_shapes import MAKERS, Maker, boxed, convex, farthest, smooth, star
from core_strategies import boxes, distances, steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core.boxing import blank_bounds
from optics_core.errors import DomainError
from optics_core.outline import (
    boxed_sizes,
    counter_clockwise,
    edge_margins,
    farthest_distance,
    minimum_blank,
    mirrored,
    outline_sizes,
    points_from_radii,
    recentred,
    rounded_rectangle,
    without_repeats,
)

every_maker = pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)
simple_makers = pytest.mark.parametrize("maker", [star, smooth, convex], ids=lambda maker: maker.__name__)


@every_maker
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


@pytest.mark.parametrize("count", [3, 36, 37, 400])
def test_radii_are_laid_out_at_equal_angles_counter_clockwise_from_plus_x(count: int) -> None:
    radii = np.random.default_rng(8).uniform(0, 35, count)
    expected = [(r * math.cos(math.tau * k / count), r * math.sin(math.tau * k / count)) for k, r in enumerate(radii)]
    assert points_from_radii(radii) == pytest.approx(np.array(expected), abs=1e-12)
    assert np.array_equal(points_from_radii(radii.tolist()), points_from_radii(radii))


def test_radii_at_quarter_turns_lie_on_the_axes_exactly() -> None:
    points = points_from_radii(np.full(36, 24.7))
    assert points[[0, 9, 18, 27]].tolist() == [[24.7, 0.0], [0.0, 24.7], [-24.7, 0.0], [0.0, -24.7]]
    assert boxed_sizes(points) == (49.4, 49.4, 49.4)


NO_RADII = [[1, 2], [], [1, 2, -1], [1, 2, math.nan], [1, 2, math.inf], [1, 2, 2e6], [[1, 2, 3]], [1, 2, [3]]]


@pytest.mark.parametrize("radii", [*NO_RADII, ["1", "2", "3"], [True] * 3, 5, None], ids=repr)
def test_what_are_no_radii_is_refused(radii: object) -> None:
    with pytest.raises(DomainError) as refusal:
        points_from_radii(radii)
    assert refusal.value.argument == "radii_mm"


@every_maker
def test_points_put_in_twice_are_taken_out_again(maker: Maker) -> None:
    rng = np.random.default_rng(9)
    for _ in range(50):
        points = 20 * maker(rng)
        times = rng.integers(1, 4, len(points))
        shaken = np.repeat(points, times, axis=0)
        # The first of each stays as it is, those that follow it lie anywhere within the tolerance.
        later = np.concatenate([np.arange(number) > 0 for number in times])
        shaken[later] += rng.uniform(-0.7e-9, 0.7e-9, size=(later.sum(), 2)) / math.sqrt(2)
        assert np.array_equal(without_repeats(shaken), points)
        assert np.array_equal(without_repeats(np.concatenate((points, points[:1]))), points)


def test_a_slow_drift_is_thinned_and_not_wiped_out() -> None:
    # Each point is a repeat of the one before, and yet they lead somewhere.
    drift = np.column_stack((np.arange(100) * 6e-10, np.zeros(100)))
    left = without_repeats(np.concatenate((drift, [[5, 0], [5, 5]])))
    assert np.hypot(*np.diff(left, axis=0).T).min() > 1e-9
    assert np.abs(drift[:, None, 0] - left[None, :, 0]).min(axis=1).max() <= 1e-9
    assert len(without_repeats([[1, 2]] * 5)) == 1


# Oracle: LinearRing.is_ccw of shapely.
@simple_makers
def test_an_outline_is_turned_counter_clockwise_where_it_is_not(maker: Maker) -> None:
    rng = np.random.default_rng(10)
    for _ in range(50):
        points = maker(rng) + rng.uniform(-50, 50, 2)
        if not shapely.LinearRing(points).is_simple:
            continue
        for given_ in (points, points[::-1]):
            expected = given_ if shapely.LinearRing(given_).is_ccw else given_[::-1]
            assert np.array_equal(counter_clockwise(given_), expected)


@every_maker
def test_a_recentred_outline_is_the_same_outline_around_its_boxed_centre(maker: Maker) -> None:
    rng = np.random.default_rng(11)
    for _ in range(50):
        points = boxed(maker(rng), rng.uniform(30, 70), rng.uniform(15, 60))
        off = rng.uniform(-100, 100, 2)
        moved = recentred(points + off)
        assert (moved.x_mm, moved.y_mm) == pytest.approx(off, abs=1e-12)
        assert moved.points == pytest.approx(points, abs=1e-12)
        low, high = moved.points.min(axis=0), moved.points.max(axis=0)
        assert low + high == pytest.approx(np.zeros(2), abs=1e-12)


@every_maker
def test_mirroring_twice_gives_back_the_outline_to_the_last_bit(maker: Maker) -> None:
    rng = np.random.default_rng(12)
    for _ in range(50):
        points = maker(rng)
        points[0] = -0.0, 0.0
        assert mirrored(mirrored(points)).tobytes() == points.tobytes()
        assert {(-x, y) for x, y in points.tolist()} == set(map(tuple, mirrored(points).tolist()))


@simple_makers
def test_a_mirrored_outline_stays_counter_clockwise_and_keeps_its_closing_side(maker: Maker) -> None:
    rng = np.random.default_rng(13)
    for _ in range(50):
        points = maker(rng)
        if not shapely.LinearRing(points).is_simple:
            continue
        assert shapely.LinearRing(mirrored(points)).is_ccw == shapely.LinearRing(points).is_ccw
        assert math.dist(*mirrored(points)[[-1, 0]]) == math.dist(*points[[-1, 0]])


# Oracle: area, length and bounds of shapely; the farthest point by looking at every corner.
@simple_makers
def test_the_sizes_of_an_outline_are_those_a_general_library_finds(maker: Maker) -> None:
    rng = np.random.default_rng(14)
    for _ in range(100):
        points = boxed(maker(rng), rng.uniform(30, 70), rng.uniform(15, 60))
        shape = shapely.Polygon(points)
        if not shape.is_valid:
            continue
        sizes = outline_sizes(points)
        assert (sizes.a_mm, sizes.b_mm, sizes.ed_mm) == boxed_sizes(points)
        assert sizes.area_mm2 == pytest.approx(shape.area, abs=1e-9)
        assert sizes.circumference_mm == pytest.approx(shape.length, abs=1e-9)
        reach = max(math.hypot(x, y) for x, y in points.tolist())
        far = [(x, y) for x, y in points.tolist() if math.hypot(x, y) > reach - 1e-10]
        assert sizes.ed_angle_deg == pytest.approx(min(math.degrees(math.atan2(y, x)) % 360 for x, y in far), abs=1e-9)
        turned = outline_sizes(points[::-1] + rng.uniform(-500, 500, 2))
        assert turned.area_mm2 == pytest.approx(sizes.area_mm2, abs=1e-8)
        assert turned.ed_angle_deg == pytest.approx(sizes.ed_angle_deg, abs=1e-6)


def test_of_directions_equally_far_the_smallest_angle_is_named_wherever_the_outline_lies() -> None:
    rng = np.random.default_rng(15)
    rectangle = np.array([[-27, -20], [27, -20], [27, 20], [-27, 20]])
    lozenge = np.array([[-27, 0], [0, -20], [27, 0], [0, 20]])
    for _ in range(100):
        off = rng.uniform(-100, 100, 2)
        start = rng.integers(0, 4)
        assert outline_sizes(np.roll(rectangle, start, axis=0) + off).ed_angle_deg == pytest.approx(
            math.degrees(math.atan2(20, 27)), abs=1e-9
        )
        assert outline_sizes(np.roll(lozenge, start, axis=0) + off).ed_angle_deg == pytest.approx(0.0, abs=1e-9)
    # A hair below +x is +x, not almost a whole turn.
    assert outline_sizes([[27, -1e-14], [0, 20], [-27, 0], [0, -20]]).ed_angle_deg == 0.0
    assert outline_sizes([[27, -1], [0, 20], [-26, 0], [0, -20]]).ed_angle_deg > 357


@every_maker
def test_the_least_edge_margin_is_half_of_what_the_blank_has_to_spare(maker: Maker) -> None:
    rng = np.random.default_rng(16)
    for _ in range(50):
        points = boxed(maker(rng), rng.uniform(30, 70), rng.uniform(15, 60))
        x, y, blank, allowance = (float(rng.uniform(*span)) for span in ((-9, 9), (-9, 9), (40, 90), (0, 4)))
        margins = edge_margins(points, x_mm=x, y_mm=y, blank_mm=blank, allowance_mm=allowance)
        expected = [(blank - allowance) / 2 - math.dist(corner, (x, y)) for corner in points.tolist()]
        assert margins == pytest.approx(np.array(expected), abs=1e-12)
        least = minimum_blank(points, x_mm=x, y_mm=y, allowance_mm=allowance)
        assert 2 * margins.min() == pytest.approx(blank - least, abs=1e-12)


@pytest.mark.parametrize(("name", "given_"), [("blank_mm", 0.0), ("blank_mm", -70.0), ("allowance_mm", -0.1)])
def test_a_blank_of_no_size_and_an_allowance_below_nothing_are_refused(name: str, given_: float) -> None:
    numbers = {"x_mm": 0.0, "y_mm": 0.0, "blank_mm": 70.0, "allowance_mm": 2.0}
    with pytest.raises(DomainError) as refusal:
        edge_margins([[0, 0], [1, 0], [0, 1]], **(numbers | {name: given_}))
    assert refusal.value.argument == name


NO_OUTLINES = {
    "two": [[0, 0], [1, 0]],
    "three-figures": [[0, 0, 0]] * 3,
    "nan": [[0, 0], [1, 0], [math.nan, 1]],
    "texts": [["0", "0"]] * 3,
    "ragged": [[0, 0], [1]],
    "none": None,
    "too-far": [[0, 0], [1, 0], [0, -2e6]],
}


@pytest.mark.parametrize(
    "function",
    [boxed_sizes, counter_clockwise, mirrored, outline_sizes, recentred, without_repeats],
    ids=lambda function: function.__name__,
)
@pytest.mark.parametrize("points", NO_OUTLINES.values(), ids=NO_OUTLINES.keys())
def test_what_is_no_outline_is_refused(function: Callable[..., object], points: object) -> None:
    with pytest.raises(DomainError) as refusal:
        function(points)
    assert refusal.value.argument == "points"


def test_an_outline_is_answered_with_an_array_of_its_own() -> None:
    points = np.array([[10.0, 0.0], [0.0, 10.0], [-10.0, 0.0], [0.0, -10.0]])
    before = points.copy()
    for function in (counter_clockwise, mirrored, without_repeats, lambda points: recentred(points).points):
        function(points)[:] = 0.0
        assert np.array_equal(points, before)
