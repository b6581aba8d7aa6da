"""Enclosing circles: against another library, closed forms, a general optimiser, and what a least circle must be."""

import itertools
import math
from typing import Any

import numpy as np
import pytest
import shapely
from core_shapes import MAKERS, Maker, boxed, farthest
from scipy.optimize import minimize

from optics_core._nearest import Side, nearest_place
from optics_core.enclosing import checked_points, nearest_centre, smallest_circle
from optics_core.errors import DomainError

every_maker = pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)


def shapes(maker: Maker, seed: int, count: int) -> list[np.ndarray]:
    rng = np.random.default_rng(seed)
    return [boxed(maker(rng), rng.uniform(30, 70), rng.uniform(15, 60)) for _ in range(count)]


@every_maker
def test_the_smallest_circle_is_that_of_another_library(maker: Maker) -> None:
    rng = np.random.default_rng(11)
    for points in shapes(maker, seed=1, count=250):
        moved = points + rng.uniform(-1e3, 1e3, 2)
        circle = smallest_circle(moved)
        # Source: shapely (GEOS), minimum bounding circle.
        assert circle.radius_mm == pytest.approx(shapely.minimum_bounding_radius(shapely.MultiPoint(moved)), abs=1e-10)
        assert farthest(moved, circle.x_mm, circle.y_mm) == pytest.approx(circle.radius_mm, abs=1e-10)


@every_maker
def test_whichever_way_the_centre_moves_the_circle_grows(maker: Maker) -> None:
    for points in shapes(maker, seed=2, count=50):
        circle = smallest_circle(points)
        for turn in np.linspace(0, 2 * np.pi, 24, endpoint=False):
            x, y = circle.x_mm + 0.01 * np.cos(turn), circle.y_mm + 0.01 * np.sin(turn)
            # Its square grows by the square of the move at least: derived, the centre lies among the points that hold.
            assert farthest(points, x, y) ** 2 >= circle.radius_mm**2 + 0.01**2 - 1e-9


def test_circles_of_few_points_are_those_of_school_geometry() -> None:
    assert smallest_circle([[3.0, -4.0]]) == smallest_circle([[3, -4], [3, -4], [3, -4]])
    assert flat(smallest_circle([[3.0, -4.0]])) == (3.0, -4.0, 0.0)
    assert flat(smallest_circle([[0, 0], [6, 8]])) == pytest.approx((3, 4, 5), abs=1e-12)
    assert flat(smallest_circle([[0, 0], [1, 1], [6, 6], [2, 2]])) == pytest.approx((3, 3, math.sqrt(18)), abs=1e-12)
    # A triangle with an obtuse angle is held by its longest side, an equilateral one by all three corners.
    assert flat(smallest_circle([[-5, 0], [5, 0], [1, 2]])) == pytest.approx((0, 0, 5), abs=1e-12)
    height = 6 * math.sqrt(3) / 2
    equilateral = smallest_circle([[-3, 0], [3, 0], [0, height]])
    assert flat(equilateral) == pytest.approx((0, height / 3, 6 / math.sqrt(3)), abs=1e-12)


def flat(circle: Any) -> tuple[float, float, float]:
    return circle.x_mm, circle.y_mm, circle.radius_mm


@pytest.mark.parametrize(
    "points",
    [
        [],
        [[]],
        [[1.0]],
        [[1.0, 2.0, 3.0]],
        [[1.0, 2.0], [3.0]],
        [[1.0, math.nan]],
        [[math.inf, 0.0]],
        [["a", "b"]],
        3,
        None,
    ],
    ids=repr,
)
def test_what_is_not_a_cloud_of_points_is_refused(points: Any) -> None:
    for refused in (
        lambda: smallest_circle(points),
        lambda: checked_points(points),
        lambda: nearest_centre(points, x_mm=0.0, y_mm=0.0, radius_mm=30.0),
    ):
        with pytest.raises(DomainError) as refusal:
            refused()
        assert refusal.value.argument == "points"


def test_checked_points_are_a_copy() -> None:
    given = np.array([[1.0, 2.0]])
    checked = checked_points(given)
    checked[0, 0] = 9.0
    assert given[0, 0] == 1.0


def test_a_negative_radius_is_refused() -> None:
    with pytest.raises(DomainError) as refusal:
        nearest_centre([[0.0, 0.0]], x_mm=1.0, y_mm=0.0, radius_mm=-0.1)
    assert refusal.value.argument == "radius_mm"


@every_maker
def test_a_place_that_will_do_already_is_kept_to_the_last_digit(maker: Maker) -> None:
    rng = np.random.default_rng(3)
    for points in shapes(maker, seed=3, count=50):
        x, y = rng.uniform(-9, 9, 2)
        radius = farthest(points, x, y) + rng.uniform(0, 5)
        assert nearest_centre(points, x_mm=x, y_mm=y, radius_mm=radius) == (x, y)


@every_maker
def test_there_is_no_place_just_where_the_radius_is_below_that_of_the_smallest_circle(maker: Maker) -> None:
    for points in shapes(maker, seed=4, count=50):
        circle = smallest_circle(points)
        assert nearest_centre(points, x_mm=9.0, y_mm=4.0, radius_mm=circle.radius_mm - 1e-9) is None
        only = nearest_centre(points, x_mm=9.0, y_mm=4.0, radius_mm=circle.radius_mm)
        # A radius larger by its last digit leaves room for the square root of that.
        assert only == pytest.approx((circle.x_mm, circle.y_mm), abs=1e-4)
        assert farthest(points, *only) <= circle.radius_mm + 1e-9


@every_maker
def test_a_radius_that_lacks_a_last_digit_still_has_its_one_place(maker: Maker) -> None:
    for points in shapes(maker, seed=8, count=150):
        circle = smallest_circle(points)
        radius = circle.radius_mm * (1 - 1e-13)
        only = nearest_centre(points, x_mm=9.0, y_mm=4.0, radius_mm=radius)
        assert only == pytest.approx((circle.x_mm, circle.y_mm), abs=1e-4)
        assert farthest(points, *only) <= radius + 1e-9


def test_two_points_and_a_far_place_meet_where_two_circles_cross() -> None:
    points = [[-12.0, 0.0], [12.0, 0.0]]
    # Within 20 of both, as high as can be: 16, by 12-16-20.
    assert nearest_centre(points, x_mm=0.0, y_mm=100.0, radius_mm=20.0) == pytest.approx((0, 16), abs=1e-9)
    # Straight to the right the far point alone holds: 20 from (-12, 0).
    assert nearest_centre(points, x_mm=50.0, y_mm=0.0, radius_mm=20.0) == pytest.approx((8, 0), abs=1e-9)


@every_maker
def test_no_place_found_by_a_general_optimiser_is_nearer(maker: Maker) -> None:
    rng = np.random.default_rng(5)
    answered = 0
    for points in shapes(maker, seed=5, count=25):
        circle = smallest_circle(points)
        radius, wanted = circle.radius_mm * (1 + 10 ** rng.uniform(-3, -0.5)), rng.uniform(-20, 20, 2)
        found = nearest_centre(points, x_mm=wanted[0], y_mm=wanted[1], radius_mm=radius)
        assert farthest(points, *found) <= radius + 1e-9
        # Source: scipy, SLSQP.
        other = minimize(
            lambda v, wanted=wanted: ((v - wanted) ** 2).sum(),
            (circle.x_mm, circle.y_mm),
            jac=lambda v, wanted=wanted: 2 * (v - wanted),
            method="SLSQP",
            constraints={
                "type": "ineq",
                "fun": lambda v, points=points, radius=radius: (radius**2 - ((points - v) ** 2).sum(axis=1)) / 30,
                "jac": lambda v, points=points: 2 * (points - v) / 30,
            },
            options={"ftol": 1e-13, "maxiter": 300},
        )
        if farthest(points, *other.x) <= radius + 1e-9:
            answered += 1
            assert math.dist(found, wanted) <= math.dist(other.x, wanted) + 1e-5
    assert answered >= 15


@every_maker
def test_with_straight_borders_too_no_place_found_by_a_general_optimiser_is_nearer(maker: Maker) -> None:
    rng = np.random.default_rng(9)
    answered, none = 0, 0
    for points in shapes(maker, seed=9, count=80):
        circle = smallest_circle(points)
        radius, turns = circle.radius_mm * (1 + 10 ** rng.uniform(-2, -0.5)), rng.uniform(0, 2 * np.pi, 4)
        normals, most = np.column_stack([np.cos(turns), np.sin(turns)]), rng.uniform(-6, 6, 4)
        sides = [Side(float(x), float(y), float(far)) for (x, y), far in zip(normals, most, strict=True)]
        found = nearest_place(points[:, 0], points[:, 1], radius, sides)

        def room(v: np.ndarray, points=points, radius=radius, normals=normals, most=most) -> np.ndarray:
            return np.concatenate([(radius**2 - ((points - v) ** 2).sum(axis=1)) / 30, most - normals @ v])

        def slopes(v: np.ndarray, points=points, normals=normals) -> np.ndarray:
            return np.vstack([2 * (points - v) / 30, -normals])

        # Source: scipy, SLSQP.
        other = minimize(
            lambda v: v @ v,
            (circle.x_mm, circle.y_mm),
            jac=lambda v: 2 * v,
            method="SLSQP",
            constraints={"type": "ineq", "fun": room, "jac": slopes},
            options={"ftol": 1e-13, "maxiter": 300},
        )
        reached = other.success and room(other.x).min() >= -1e-9
        if found is None:
            none += 1
            assert not reached
            continue
        assert room(np.array(found)).min() >= -1e-9
        if reached:
            answered += 1
            assert math.hypot(*found) == pytest.approx(math.hypot(*other.x), abs=1e-5)
    assert answered >= 10
    assert none >= 3


def test_a_straight_border_alone_sends_the_place_straight_to_it() -> None:
    points = np.array([[0.0, 0.0]])
    assert nearest_place(points[:, 0], points[:, 1], 50.0, [Side(0.6, 0.8, -10.0)]) == pytest.approx(
        (-6, -8), abs=1e-12
    )
    corner = nearest_place(points[:, 0], points[:, 1], 50.0, [Side(-1.0, 0.0, -3.0), Side(0.0, -1.0, -4.0)])
    assert corner == pytest.approx((3, 4), abs=1e-12)
    assert nearest_place(points[:, 0], points[:, 1], 50.0, [Side(1.0, 0.0, -1.0), Side(-1.0, 0.0, -1.0)]) is None


@every_maker
def test_no_place_tried_at_random_is_nearer(maker: Maker) -> None:
    rng = np.random.default_rng(6)
    within = 0
    for points in shapes(maker, seed=6, count=25):
        circle = smallest_circle(points)
        radius, wanted = circle.radius_mm * (1 + 10 ** rng.uniform(-3, -0.5)), rng.uniform(-20, 20, 2)
        found = nearest_centre(points, x_mm=wanted[0], y_mm=wanted[1], radius_mm=radius)
        reach = math.sqrt(radius**2 - circle.radius_mm**2)
        tried = np.array([circle.x_mm, circle.y_mm]) + rng.uniform(-reach, reach, (2000, 2))
        far = np.hypot(points[:, 0, None] - tried[:, 0], points[:, 1, None] - tried[:, 1]).max(axis=0)
        good = tried[far <= radius]
        within += len(good)
        assert math.dist(found, wanted) <= np.hypot(*(good - wanted).T).min(initial=math.inf) + 1e-9
    assert within >= 1000


@every_maker
def test_a_larger_radius_never_takes_the_place_farther_away_and_a_mirror_mirrors_it(maker: Maker) -> None:
    rng = np.random.default_rng(7)
    for points in shapes(maker, seed=7, count=40):
        x, y = rng.uniform(-20, 20, 2)
        radius = smallest_circle(points).radius_mm * 1.01
        away = [
            math.dist(nearest_centre(points, x_mm=x, y_mm=y, radius_mm=radius + more), (x, y))
            for more in (0.0, 0.1, 1.0, 5.0)
        ]
        assert all(later <= earlier + 1e-12 for earlier, later in itertools.pairwise(away))
        here = nearest_centre(points, x_mm=x, y_mm=y, radius_mm=radius)
        there = nearest_centre(points * [-1, 1], x_mm=-x, y_mm=y, radius_mm=radius)
        assert there == pytest.approx((-here[0], here[1]), abs=1e-9)
