"""Placement of one lens: against enumeration, a general optimiser, hand geometry, and what bounds must do."""

import itertools
import math
from dataclasses import astuple
from typing import Any

import numpy as np
import pytest
from core_placements import (
    ORDINARY,
    POWERS,
    changed,
    cloud_of,
    figures,
    mirrored,
    need,
    random_power,
    random_task,
    unwanted_prism,
)
from core_shapes import MAKERS, boxed, farthest
from scipy.optimize import linprog, minimize

from optics_core.errors import DomainError
from optics_core.outline import minimum_blank, rounded_rectangle
from optics_core.placement import (
    Bounds,
    EyeTask,
    exact_centre,
    half_turn_margins,
    least_blank_place,
    place_at,
)
from optics_core.sphero_cylinder import transposed

POINTS = rounded_rectangle(a_mm=54.0, b_mm=40.0, ed_mm=58.0)
LEVEL = {"pupil_x_mm": 0.0, "pupil_y_mm": 0.0}
CRITERIA = ("prism", "distance")

every_power = pytest.mark.parametrize("kind", POWERS)


def random_bounds(rng: np.random.Generator, least: float = 1e-3) -> Bounds:
    sizes = 10 ** rng.uniform(math.log10(least), 1, 2)
    by = [CRITERIA[rng.integers(2)] for _ in range(2)]
    return Bounds(horizontal=sizes[0], vertical=sizes[1], horizontal_by=by[0], vertical_by=by[1])


def criteria(bounds: Bounds) -> tuple[str, str]:
    return bounds.horizontal_by, bounds.vertical_by


def limits(bounds: Bounds) -> np.ndarray:
    return np.array([bounds.horizontal, bounds.vertical])


def centre(place: Any) -> np.ndarray:
    return np.array([place.x_mm, place.y_mm])


def plain(task: EyeTask) -> Any:
    x, y = exact_centre(task)
    return place_at(task, x_mm=x, y_mm=y, allowance_mm=0.0)


# What comes of a place


@every_power
def test_a_place_tells_its_need_and_its_prism(kind: str) -> None:
    rng = np.random.default_rng(1)
    for _ in range(60):
        task, x, y = random_task(rng, kind), rng.uniform(-15, 15), rng.uniform(-15, 15)
        place = place_at(task, x_mm=x, y_mm=y, allowance_mm=2.0)
        middle = {"x_mm": x - task.offset_x_mm, "y_mm": y - task.offset_y_mm}
        assert (place.x_mm, place.y_mm) == (x, y)
        assert place.blank_mm == pytest.approx(minimum_blank(task.points, **middle, allowance_mm=2.0), abs=1e-9)
        assert (place.prism_x_pd, place.prism_y_pd) == pytest.approx(unwanted_prism(task, (x, y)), abs=1e-9)


@every_power
def test_the_exact_place_leaves_no_prism_that_was_not_prescribed(kind: str) -> None:
    rng = np.random.default_rng(2)
    for _ in range(60):
        task = random_task(rng, kind)
        exact = exact_centre(task)
        if exact is not None:
            assert unwanted_prism(task, exact) == pytest.approx((0, 0), abs=1e-9)
            at_exact = place_at(task, x_mm=exact[0], y_mm=exact[1], allowance_mm=0.0)
            assert (at_exact.prism_x_pd, at_exact.prism_y_pd) == (0.0, 0.0)
        without = changed(task, prism_x_pd=0.0, prism_y_pd=0.0)
        assert exact_centre(without) == (task.pupil_x_mm, task.pupil_y_mm)


def test_prescribed_prism_moves_the_exact_place_by_the_rule_of_prentice() -> None:
    # Source: handbook formulas, Prentice's rule: 2 pd with 4 D are 5 mm; the base of a plus lens is at its centre.
    for sphere, shift in ((4.0, 5.0), (-4.0, -5.0)):
        task = EyeTask(
            POINTS, pupil_x_mm=3.0, pupil_y_mm=1.0, sphere_d=sphere, cylinder_d=0.0, axis_deg=None, prism_x_pd=2.0
        )
        assert exact_centre(task) == pytest.approx((3.0 + shift, 1.0), abs=1e-12)


@pytest.mark.parametrize(
    ("power", "can", "cannot"),
    [
        # Power along 90 alone, -2 D: 1 pd up and down is 5 mm down and up; across there is none.
        ({"sphere_d": 0.0, "cylinder_d": -2.0, "axis_deg": 180.0}, (0.0, 1.0), (1e-6, 1.0)),
        ({"sphere_d": -2.0, "cylinder_d": 2.0, "axis_deg": 90.0}, (0.0, 1.0), (-0.5, 0.0)),
        ({"sphere_d": 0.0, "cylinder_d": -2.0, "axis_deg": 45.0}, (-1.0, 1.0), (1.0, 1.0)),
    ],
)
def test_where_a_principal_power_is_0_just_the_prism_of_the_other_meridian_can_be_made(
    power: dict[str, Any], can: tuple[float, float], cannot: tuple[float, float]
) -> None:
    task = EyeTask(POINTS, **LEVEL, **power, prism_x_pd=can[0], prism_y_pd=can[1])
    x, y = exact_centre(task)
    assert unwanted_prism(task, (x, y)) == pytest.approx((0, 0), abs=1e-12)
    # 10 p / F of the meridian with power, straight along it: no place that will do is nearer to the pupil.
    assert math.hypot(x, y) == pytest.approx(10 * math.hypot(*can) / 2, abs=1e-12)
    assert exact_centre(changed(task, prism_x_pd=cannot[0], prism_y_pd=cannot[1])) is None


def test_without_any_power_no_prism_can_be_made() -> None:
    task = EyeTask(POINTS, **LEVEL, sphere_d=0.0, cylinder_d=0.0, axis_deg=None)
    assert exact_centre(task) == (0.0, 0.0)
    assert exact_centre(changed(task, prism_y_pd=0.5)) is None


# The least blank


def border_candidates(task: EyeTask, bounds: Bounds) -> list[np.ndarray]:
    """Every place that can be the best: circles of two and three points, and on each border line feet and ties."""
    points = cloud_of(task)
    found = [(one + other) / 2 for one, other in itertools.combinations(points, 2)]
    for three in itertools.combinations(points, 3):
        sides = 2 * np.array([three[1] - three[0], three[2] - three[0]])
        if abs(np.linalg.det(sides)) > 1e-9:
            squares = [(three[k] @ three[k]) - (three[0] @ three[0]) for k in (1, 2)]
            found.append(np.linalg.solve(sides, squares))
    matrix, constants = figures(task, criteria(bounds))
    lines = []
    for k, side in itertools.product((0, 1), (1, -1)):
        row = matrix[k]
        if np.hypot(*row) > 1e-9:
            foot = row * (side * limits(bounds)[k] - constants[k]) / (row @ row)
            along = np.array([-row[1], row[0]]) / np.hypot(*row)
            lines.append((row, row @ foot))
            found += [foot + ((point - foot) @ along) * along for point in points]
            for one, other in itertools.combinations(points, 2):
                slope = 2 * (other - one) @ along
                if abs(slope) > 1e-9:
                    tie = ((other - foot) @ (other - foot) - (one - foot) @ (one - foot)) / slope
                    found.append(foot + tie * along)
    for (one, at_one), (other, at_other) in itertools.combinations(lines, 2):
        if abs(np.linalg.det([one, other])) > 1e-9 * np.hypot(*one) * np.hypot(*other):
            found.append(np.linalg.solve([one, other], [at_one, at_other]))
    return found


@every_power
def test_the_place_of_the_least_blank_is_the_best_of_all_that_can_be(kind: str) -> None:
    rng = np.random.default_rng(3)
    answered = 0
    for _ in range(45):
        points = boxed(rng.normal(size=(rng.integers(3, 9), 2)), rng.uniform(30, 70), rng.uniform(15, 60))
        task, bounds = random_task(rng, kind, points), random_bounds(rng)
        place = least_blank_place(task, bounds=bounds, allowance_mm=0.0)
        if place is None:
            continue
        matrix, constants = figures(task, criteria(bounds))
        # What lies on a border keeps to it but for rounding.
        allowed = [
            candidate
            for candidate in border_candidates(task, bounds)
            if (np.abs(matrix @ candidate + constants) <= limits(bounds) + 1e-11).all()
        ]
        answered += 1
        assert place.blank_mm == pytest.approx(min(need(task, candidate) for candidate in allowed), rel=1e-12, abs=1e-9)
    assert answered >= 15


def optimised(task: EyeTask, bounds: Bounds, start: np.ndarray) -> float | None:
    """Least need by scipy's SLSQP, or None where it ends outside the bounds."""
    points, (matrix, constants) = cloud_of(task), figures(task, criteria(bounds))
    both, room = np.vstack([matrix, -matrix]), np.concatenate([limits(bounds) - constants, limits(bounds) + constants])
    found = minimize(
        lambda v: v[2],
        [*start, farthest(points, *start) ** 2 / 100],
        jac=lambda _: np.array([0.0, 0.0, 1.0]),
        method="SLSQP",
        constraints=[
            {
                "type": "ineq",
                "fun": lambda v: 100 * v[2] - ((points - v[:2]) ** 2).sum(axis=1),
                "jac": lambda v: np.column_stack([2 * (points - v[:2]), np.full(len(points), 100.0)]),
            },
            {
                "type": "ineq",
                "fun": lambda v: room - both @ v[:2],
                "jac": lambda _: np.column_stack([-both, np.zeros(4)]),
            },
        ],
        options={"ftol": 1e-13, "maxiter": 300},
    )
    kept = (np.abs(matrix @ found.x[:2] + constants) <= limits(bounds) + 1e-9).all()
    return need(task, found.x[:2]) if kept else None


@every_power
def test_a_general_optimiser_finds_no_smaller_blank_and_comes_as_far(kind: str) -> None:
    rng = np.random.default_rng(4)
    gaps = []
    for _ in range(25):
        task, bounds = random_task(rng, kind), random_bounds(rng)
        place = least_blank_place(task, bounds=bounds, allowance_mm=0.0)
        if place is not None:
            starts = (centre(place) + rng.normal(size=2), np.array(exact_centre(task) or (0.0, 0.0)))
            found = [value for start in starts if (value := optimised(task, bounds, start)) is not None]
            gaps += [min(found) - place.blank_mm] if found else []
    assert len(gaps) >= 10
    assert min(gaps) > -1e-6
    assert np.median(gaps) < 1e-6


@every_power
def test_nothing_is_within_the_bounds_just_where_linear_programming_says_so(kind: str) -> None:
    rng = np.random.default_rng(5)
    answers = set()
    for _ in range(80):
        task, bounds = random_task(rng, kind), random_bounds(rng)
        place = least_blank_place(task, bounds=bounds, allowance_mm=0.0)
        rows = figures(task, criteria(bounds))
        answers.add(place is None)
        if rows is None:
            assert place is None
            continue
        matrix, constants = rows
        room = np.concatenate([limits(bounds) - constants, limits(bounds) + constants])
        # Source: scipy, linprog.
        possible = linprog(np.zeros(2), A_ub=np.vstack([matrix, -matrix]), b_ub=room, bounds=(None, None)).status == 0
        assert (place is not None) is possible
    assert answers == ({False} if kind in ORDINARY else {True, False})


@every_power
def test_no_place_goes_beyond_its_bounds_nor_needs_more_than_the_exact_one(kind: str) -> None:
    rng = np.random.default_rng(6)
    for _ in range(150):
        task, bounds = random_task(rng, kind), random_bounds(rng, least=1e-9)
        place = least_blank_place(task, bounds=bounds, allowance_mm=2.0)
        if place is None:
            continue
        matrix, constants = figures(task, criteria(bounds))
        assert (np.abs(matrix @ centre(place) + constants) <= limits(bounds) + 1e-9).all()
        assert place.blank_mm == pytest.approx(need(task, centre(place)) + 2.0, abs=1e-9)
        if exact_centre(task) is not None:
            assert place.blank_mm <= plain(task).blank_mm + 2.0


@every_power
@pytest.mark.parametrize("by", list(itertools.product(CRITERIA, repeat=2)), ids="-".join)
def test_bounds_that_shrink_to_0_lead_to_the_exact_place(kind: str, by: tuple[Any, Any]) -> None:
    rng = np.random.default_rng(7)
    for _ in range(20):
        task = random_task(rng, kind)
        none_at_all = Bounds(horizontal=0, vertical=0, horizontal_by=by[0], vertical_by=by[1])
        at_0 = least_blank_place(task, bounds=none_at_all, allowance_mm=0.0)
        if exact_centre(task) is None:
            assert at_0 is None
            continue
        assert at_0 == plain(task)
        if kind in ORDINARY or by == ("distance", "distance"):  # else prism leaves one direction free at any bound
            hardly = Bounds(horizontal=1e-9, vertical=1e-9, horizontal_by=by[0], vertical_by=by[1])
            near_0 = least_blank_place(task, bounds=hardly, allowance_mm=0.0)
            # No corner of the bounds is farther away than the inverse of the figures carries 1e-9.
            away = 1e-9 * np.abs(np.linalg.inv(figures(task, by)[0])).sum()
            assert near_0.blank_mm == pytest.approx(plain(task).blank_mm, abs=2 * away + 1e-9)


def test_a_bound_of_0_in_one_dimension_leaves_the_other_free() -> None:
    task = EyeTask(POINTS, pupil_x_mm=5.0, pupil_y_mm=3.0, sphere_d=-4.0, cylinder_d=0.0, axis_deg=None)
    level = Bounds(horizontal=1.0, vertical=0.0, horizontal_by="prism", vertical_by="distance")
    place = least_blank_place(task, bounds=level, allowance_mm=0.0)
    # 1 pd of 4 D is 2.5 mm, towards the boxed centre: the lens is as high as the pupil.
    assert centre(place) == pytest.approx((2.5, 3.0), abs=1e-9)


@every_power
def test_wider_bounds_never_need_more(kind: str) -> None:
    rng = np.random.default_rng(8)
    for _ in range(60):
        task, bounds = random_task(rng, kind), random_bounds(rng)
        wider = Bounds(
            horizontal=bounds.horizontal * rng.uniform(1, 3),
            vertical=bounds.vertical * rng.uniform(1, 3),
            horizontal_by=bounds.horizontal_by,
            vertical_by=bounds.vertical_by,
        )
        place = least_blank_place(task, bounds=bounds, allowance_mm=0.0)
        if place is not None:
            assert least_blank_place(task, bounds=wider, allowance_mm=0.0).blank_mm <= place.blank_mm + 1e-9


@every_power
def test_a_decentred_blank_is_a_moved_outline_and_a_mirrored_lens_has_a_mirrored_place(kind: str) -> None:
    rng = np.random.default_rng(9)
    for _ in range(40):
        task, bounds = random_task(rng, kind), random_bounds(rng)
        place = least_blank_place(task, bounds=bounds, allowance_mm=1.0)
        moved = changed(task, points=cloud_of(task), offset_x_mm=0.0, offset_y_mm=0.0)
        in_a_mirror = least_blank_place(mirrored(task), bounds=bounds, allowance_mm=1.0)
        if place is None:
            assert in_a_mirror is None
            continue
        assert least_blank_place(moved, bounds=bounds, allowance_mm=1.0) == place
        assert in_a_mirror.blank_mm == pytest.approx(place.blank_mm, abs=1e-9)
        assert centre(in_a_mirror) == pytest.approx(centre(place) * [-1, 1], abs=1e-6)


def test_transposed_prescriptions_are_placed_alike() -> None:
    rng = np.random.default_rng(10)
    for _ in range(60):
        task, bounds = random_task(rng, "toric"), random_bounds(rng)
        other = transposed(sphere_d=task.sphere_d, cylinder_d=task.cylinder_d, axis_deg=task.axis_deg)
        again = changed(task, sphere_d=other.sphere_d, cylinder_d=other.cylinder_d, axis_deg=other.axis_deg)
        one, two = (least_blank_place(lens, bounds=bounds, allowance_mm=0.0) for lens in (task, again))
        assert one.blank_mm == pytest.approx(two.blank_mm, abs=1e-8)


def test_a_sphere_is_moved_by_the_rule_of_prentice_towards_the_boxed_centre() -> None:
    # 0.5 pd of 5 D is 1 mm: of 4 mm in and none up, 3 mm remain, and the blank is that of 3 mm.
    task = EyeTask(POINTS, pupil_x_mm=4.0, pupil_y_mm=0.0, sphere_d=5.0, cylinder_d=0.0, axis_deg=None)
    bounds = Bounds(horizontal=0.5, vertical=0.5, horizontal_by="prism", vertical_by="prism")
    place = least_blank_place(task, bounds=bounds, allowance_mm=2.0)
    by_hand = 3.0, 0.0, minimum_blank(POINTS, x_mm=3.0, y_mm=0.0, allowance_mm=2.0), -0.5, 0.0
    assert astuple(place) == pytest.approx(by_hand, abs=1e-6)


def test_places_do_not_depend_on_the_order_of_the_points_and_come_out_the_same_twice() -> None:
    rng = np.random.default_rng(11)
    for _ in range(40):
        task, bounds = random_task(rng, "toric"), random_bounds(rng)
        place = least_blank_place(task, bounds=bounds, allowance_mm=0.0)
        assert least_blank_place(task, bounds=bounds, allowance_mm=0.0) == place
        shuffled = changed(task, points=rng.permutation(task.points))
        assert astuple(least_blank_place(shuffled, bounds=bounds, allowance_mm=0.0)) == pytest.approx(
            astuple(place), abs=1e-6
        )


# The half turn


@pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)
def test_a_blank_turned_twice_lies_as_before(maker: Any) -> None:
    rng = np.random.default_rng(12)
    for _ in range(50):
        points = boxed(maker(rng), rng.uniform(30, 70), rng.uniform(15, 60))
        x, y, off_x, off_y = rng.uniform(-6, 6, 4)
        sizes = {"x_mm": x, "y_mm": y, "blank_mm": 70.0, "allowance_mm": 2.0}
        one = half_turn_margins(points, **sizes, offset_x_mm=off_x, offset_y_mm=off_y)
        two = half_turn_margins(points, **sizes, offset_x_mm=-off_x, offset_y_mm=-off_y)
        assert (one.as_placed_mm, one.turned_mm) == (two.turned_mm, two.as_placed_mm)
        # By hand: the blank's middle as a point, carried half round the optical centre as a complex number.
        middle = complex(x - off_x, y - off_y)
        round_it = (middle - complex(x, y)) * np.exp(1j * np.pi) + complex(x, y)
        for margin, at in ((one.as_placed_mm, middle), (one.turned_mm, round_it)):
            assert margin == pytest.approx(70.0 - 2.0 - 2 * farthest(points, at.real, at.imag), abs=1e-9)


def test_a_centred_blank_may_be_turned_as_one_likes() -> None:
    margins = half_turn_margins(
        POINTS, x_mm=3.0, y_mm=1.0, offset_x_mm=0.0, offset_y_mm=0.0, blank_mm=70.0, allowance_mm=2.0
    )
    assert margins.as_placed_mm == margins.turned_mm


# What is refused


@pytest.mark.parametrize(
    ("fields", "argument"),
    [
        ({"axis_deg": None}, "axis_deg"),
        ({"axis_deg": math.nan}, "axis_deg"),
        ({"axis_deg": True}, "axis_deg"),
        ({"points": [[0.0, math.nan]]}, "points"),
        ({"points": []}, "points"),
        *(({name: math.inf}, name) for name in EyeTask.__slots__ if name not in ("points", "axis_deg")),
        *(({name: "1"}, name) for name in EyeTask.__slots__ if name not in ("points", "axis_deg")),
    ],
)
def test_a_task_is_checked_when_it_is_built(fields: dict[str, Any], argument: str) -> None:
    task = EyeTask(POINTS, **LEVEL, sphere_d=-2.0, cylinder_d=-0.5, axis_deg=10.0)
    with pytest.raises(DomainError) as refusal:
        changed(task, **fields)
    assert refusal.value.argument == argument


def test_a_task_keeps_its_points_from_later_changes() -> None:
    given = np.array(POINTS)
    task = EyeTask(given, **LEVEL, sphere_d=-2.0, cylinder_d=0.0, axis_deg=None)
    given[0] = 99.0
    assert np.array_equal(task.points, POINTS)
    with pytest.raises(ValueError, match="read-only"):
        task.points[0] = 99.0


@pytest.mark.parametrize(
    ("fields", "argument"),
    [
        ({"horizontal": -0.1}, "horizontal"),
        ({"vertical": math.nan}, "vertical"),
        ({"horizontal_by": "mm"}, "horizontal_by"),
        ({"vertical_by": ""}, "vertical_by"),
    ],
)
def test_bounds_are_sizes_with_a_known_criterion(fields: dict[str, Any], argument: str) -> None:
    good = {"horizontal": 0.1, "vertical": 0.1, "horizontal_by": "prism", "vertical_by": "distance"}
    with pytest.raises(DomainError) as refusal:
        Bounds(**(good | fields))
    assert refusal.value.argument == argument


def test_a_negative_allowance_is_refused() -> None:
    task = EyeTask(POINTS, **LEVEL, **random_power(np.random.default_rng(1), "sphere"))
    bounds = Bounds(horizontal=0.5, vertical=0.5, horizontal_by="prism", vertical_by="prism")
    turned = {"x_mm": 0.0, "y_mm": 0.0, "offset_x_mm": 1.0, "offset_y_mm": 0.0, "blank_mm": 70.0}
    for refused in (
        lambda: place_at(task, x_mm=0.0, y_mm=0.0, allowance_mm=-1.0),
        lambda: least_blank_place(task, bounds=bounds, allowance_mm=-1.0),
        lambda: half_turn_margins(POINTS, **turned, allowance_mm=-1.0),
    ):
        with pytest.raises(DomainError) as refusal:
            refused()
        assert refusal.value.argument == "allowance_mm"
