"""Placement of a pair: against a general optimiser, hand geometry, and what limits must do to it."""

import itertools
import math
from collections.abc import Callable
from dataclasses import astuple
from typing import Any

import numpy as np
import pytest
from core_placements import (
    PairRows,
    changed,
    cloud_of,
    combinations,
    figures,
    mirrored,
    need,
    random_task,
    unwanted_prism,
)
from core_shapes import farthest
from scipy.optimize import linprog, minimize

from optics_core._barrier import Family, least_within
from optics_core.enclosing import smallest_circle
from optics_core.errors import DomainError
from optics_core.pair_placement import (
    PairLimits,
    PairPlace,
    by_eye_least_blank,
    pair_least_blank,
    pair_least_share,
    pair_limits,
    share_of_limit,
)
from optics_core.placement import EyeTask, Place, exact_centre
from optics_core.tolerance import mounted_prism_limits

Pair = tuple[EyeTask, EyeTask]

# The rim of a lens as an octagon: A 50, B 40, every farthest point a corner that can be reckoned by hand.
OCTAGON = np.array(
    [[25, 10], [15, 20], [-15, 20], [-25, 10], [-25, -10], [-15, -20], [15, -20], [25, -10]], dtype=float
)
ORDINARY = ("sphere", "toric")
ANY = ("plano", "plano cylinder", "plano sphere", "sphere", "toric")


def random_pair(rng: np.random.Generator, kinds: tuple[str, ...] = ORDINARY) -> Pair:
    right, left = (random_task(rng, kinds[rng.integers(len(kinds))]) for _ in range(2))
    return (right, mirrored(right)) if rng.uniform() < 0.2 else (right, left)


def random_limits(rng: np.random.Generator, least: float = 1e-2) -> PairLimits:
    sizes = 10 ** rng.uniform(math.log10(least), 1, 4)
    return PairLimits(**dict(zip(PairLimits.__slots__, sizes, strict=True)))


def limit(limits: PairLimits) -> Callable[[int, str], float]:
    sizes = {
        (0, "prism"): limits.horizontal_pd,
        (0, "distance"): limits.horizontal_mm,
        (1, "prism"): limits.vertical_pd,
        (1, "distance"): limits.vertical_mm,
    }
    return lambda dimension, by: sizes[dimension, by]


def places(pair: PairPlace) -> np.ndarray:
    return np.array([pair.right.x_mm, pair.right.y_mm, pair.left.x_mm, pair.left.y_mm])


def needs(tasks: Pair, at: np.ndarray) -> list[float]:
    return [need(tasks[k], at[2 * k : 2 * k + 2]) for k in (0, 1)]


def exact(tasks: Pair) -> np.ndarray | None:
    found = [exact_centre(task) for task in tasks]
    return None if None in found else np.array([*found[0], *found[1]])


def share_by_rows(tasks: Pair, limits: PairLimits, at: np.ndarray) -> float:
    return min(rows.share(at) for rows in combinations(*tasks, limit(limits)))


def within_discs(tasks: Pair, at: np.ndarray, squares: tuple[Any, Any]) -> np.ndarray:
    return np.concatenate(
        [squares[k] - ((cloud_of(tasks[k]) - at[2 * k : 2 * k + 2]) ** 2).sum(axis=1) for k in (0, 1)]
    )


def slopes_of_discs(tasks: Pair, at: np.ndarray, last: float | None) -> np.ndarray:
    blocks = []
    for k in (0, 1):
        cloud = cloud_of(tasks[k])
        block = np.zeros((len(cloud), 4 if last is None else 5))
        block[:, 2 * k : 2 * k + 2] = 2 * (cloud - at[2 * k : 2 * k + 2])
        if last is not None:
            block[:, 4] = last
        blocks.append(block)
    return np.vstack(blocks)


def slsqp(cost: Any, slope: Any, start: np.ndarray, *bounds: tuple[Any, Any]) -> np.ndarray:
    """Source: scipy, SLSQP; wherever it ends, the caller looks whether the bounds are kept."""
    constraints = [{"type": "ineq", "fun": room, "jac": slopes} for room, slopes in bounds]
    options = {"ftol": 1e-13, "maxiter": 200}
    return minimize(cost, start, jac=slope, method="SLSQP", constraints=constraints, options=options).x


LAST = np.array([0.0, 0.0, 0.0, 0.0, 1.0])


def optimised_blank(tasks: Pair, limits: PairLimits, starts: list[np.ndarray]) -> float:
    best = math.inf
    for rows in combinations(*tasks, limit(limits)):
        both, constants = np.vstack([rows.matrix, -rows.matrix]), np.concatenate([rows.constants, -rows.constants])
        for start in starts:
            at = slsqp(
                lambda v: v[4],
                lambda _: LAST,
                np.append(start, max(needs(tasks, start)) ** 2 / 400),
                (lambda v: within_discs(tasks, v, (100 * v[4],) * 2), lambda v: slopes_of_discs(tasks, v, 100.0)),
                (
                    lambda v, both=both, constants=constants: 1 - constants - both @ v[:4],
                    lambda _, both=both: np.column_stack([-both, np.zeros(12)]),
                ),
            )
            if rows.share(at[:4]) <= 1 + 1e-9:
                best = min(best, max(needs(tasks, at)))
    return best


def optimised_share(tasks: Pair, limits: PairLimits, blanks: tuple[float, float], starts: list[np.ndarray]) -> float:
    squares = blanks[0] ** 2 / 4, blanks[1] ** 2 / 4
    best = math.inf
    for rows in combinations(*tasks, limit(limits)):
        both, constants = np.vstack([rows.matrix, -rows.matrix]), np.concatenate([rows.constants, -rows.constants])
        for start in starts:
            at = slsqp(
                lambda v: v[4],
                lambda _: LAST,
                np.append(start, rows.share(start)),
                (lambda v: within_discs(tasks, v, squares) / 100, lambda v: slopes_of_discs(tasks, v, 0.0) / 100),
                (
                    lambda v, both=both, constants=constants: v[4] - constants - both @ v[:4],
                    lambda _, both=both: np.column_stack([-both, np.ones(12)]),
                ),
            )
            if all(needed <= blank + 1e-8 for needed, blank in zip(needs(tasks, at), blanks, strict=True)):
                best = min(best, rows.share(at[:4]))
    return best


# Against a general optimiser


@pytest.mark.parametrize("kinds", [ORDINARY, ANY], ids=["ordinary", "any power"])
def test_a_general_optimiser_finds_no_smaller_blank_for_the_pair_and_comes_as_far(kinds: tuple[str, ...]) -> None:
    rng = np.random.default_rng(1)
    gaps = []
    for _ in range(45):
        tasks, limits = random_pair(rng, kinds), random_limits(rng)
        pair = pair_least_blank(*tasks, limits=limits, allowance_mm=0.0)
        if pair is None:
            continue
        starts = [places(pair) + rng.normal(size=4), np.zeros(4) if exact(tasks) is None else exact(tasks)]
        gaps.append(optimised_blank(tasks, limits, starts) - pair.blank_mm)
    assert len(gaps) >= 20
    assert min(gaps) > -1e-5
    assert np.median(gaps) < 1e-5


@pytest.mark.parametrize("kinds", [ORDINARY, ANY], ids=["ordinary", "any power"])
def test_a_general_optimiser_finds_no_smaller_share_and_comes_as_far(kinds: tuple[str, ...]) -> None:
    rng = np.random.default_rng(2)
    gaps = []
    for _ in range(40):
        tasks, limits = random_pair(rng, kinds), random_limits(rng)
        least = pair_least_blank(*tasks, limits=limits, allowance_mm=0.0)
        if least is None:
            continue
        plain = [least.blank_mm + 3] * 2 if exact(tasks) is None else needs(tasks, exact(tasks))
        spare = rng.uniform(0, 1, 2)
        right, left = (least.blank_mm + spare[k] * max(plain[k] - least.blank_mm, 0.0) for k in (0, 1))
        pair = pair_least_share(*tasks, limits=limits, allowance_mm=0.0, right_blank_mm=right, left_blank_mm=left)
        assert pair.right.blank_mm <= right + 1e-9
        assert pair.left.blank_mm <= left + 1e-9
        starts = [places(pair) + 0.1 * rng.normal(size=4), places(least)]
        gaps.append(optimised_share(tasks, limits, (right, left), starts) - pair.share_of_limit)
    assert len(gaps) >= 20
    assert min(gaps) > -1e-5
    assert np.median(gaps) < 1e-5


def test_of_all_places_with_the_least_blank_no_other_moves_the_centres_less() -> None:
    rng = np.random.default_rng(3)
    gaps = []
    for _ in range(30):
        tasks, limits = random_pair(rng), random_limits(rng, least=0.1)
        pair, home = pair_least_blank(*tasks, limits=limits, allowance_mm=0.0), exact(tasks)
        squares = ((pair.blank_mm / 2 + 1e-7) ** 2,) * 2
        moved = np.linalg.norm(places(pair) - home)
        for rows in combinations(*tasks, limit(limits)):
            both, constants = np.vstack([rows.matrix, -rows.matrix]), np.concatenate([rows.constants, -rows.constants])
            at = slsqp(
                lambda v, home=home: ((v - home) ** 2).sum(),
                lambda v, home=home: 2 * (v - home),
                places(pair),
                (
                    lambda v, tasks=tasks, squares=squares: within_discs(tasks, v, squares),
                    lambda v, tasks=tasks: slopes_of_discs(tasks, v, None),
                ),
                (lambda v, both=both, constants=constants: 1 - constants - both @ v, lambda _, both=both: -both),
            )
            if rows.share(at) <= 1 + 1e-9 and within_discs(tasks, at, squares).min() > -1e-9:
                gaps.append(np.linalg.norm(at - home) - moved)
    assert len(gaps) >= 25
    # The blank for the optimiser is larger by 2e-7 mm, and the move grows with its square root.
    assert min(gaps) > -5e-3


# By hand


def octagon_pair(power: float, right_in: float, left_in: float, **others: float) -> Pair:
    level = {"pupil_y_mm": 0.0, "sphere_d": power, "cylinder_d": 0.0, "axis_deg": None}
    return (
        EyeTask(OCTAGON, pupil_x_mm=right_in, **level),
        EyeTask(OCTAGON, pupil_x_mm=-left_in, **(level | others)),
    )


def level_only(horizontal_pd: float, horizontal_mm: float = 0.0) -> PairLimits:
    return PairLimits(horizontal_pd=horizontal_pd, horizontal_mm=horizontal_mm, vertical_pd=0.0, vertical_mm=0.0)


def octagon_need(inward: float) -> float:
    return 2 * math.hypot(25 + inward, 10)


def test_equal_lenses_share_the_limit_of_the_pair() -> None:
    # 1 pd of 4 D is 2.5 mm for the pair: 1.25 mm for each eye, from 5 mm in to 3.75 mm.
    tasks = octagon_pair(-4.0, 5.0, 5.0)
    pair = pair_least_blank(*tasks, limits=level_only(1.0), allowance_mm=2.0)
    assert places(pair) == pytest.approx([3.75, 0, -3.75, 0], abs=1e-9)
    assert pair.blank_mm == pytest.approx(octagon_need(3.75) + 2, abs=1e-9)
    # A minus lens has its base away from its centre: moved out by 1.25 mm, base in, 0.5 pd each.
    assert pair.right.prism_x_pd == pytest.approx(0.5, abs=1e-9)
    assert pair.left.prism_x_pd == pytest.approx(-0.5, abs=1e-9)
    assert pair.share_of_limit == pytest.approx(1.0, abs=1e-9)


def test_the_kinder_criterion_is_taken() -> None:
    tasks = octagon_pair(-4.0, 5.0, 5.0)
    pair = pair_least_blank(*tasks, limits=level_only(1.0, horizontal_mm=4.0), allowance_mm=0.0)
    assert places(pair) == pytest.approx([3, 0, -3, 0], abs=1e-9)
    assert pair.share_of_limit == pytest.approx(1.0, abs=1e-9)
    by_eye = by_eye_least_blank(*tasks, limits=level_only(1.0, horizontal_mm=4.0), share=0.25, allowance_mm=0.0)
    assert places(by_eye) == pytest.approx([4, 0, -4, 0], abs=1e-9)
    assert by_eye.share_of_limit == pytest.approx(0.5, abs=1e-9)


def test_an_eye_that_is_not_short_stays_at_its_exact_place_and_leaves_the_whole_limit_to_the_other() -> None:
    tasks = octagon_pair(-4.0, 5.0, 1.0)
    pair = pair_least_blank(*tasks, limits=level_only(1.0), allowance_mm=0.0)
    assert places(pair) == pytest.approx([2.5, 0, -1, 0], abs=1e-9)
    assert (pair.left.x_mm, pair.left.y_mm, pair.left.prism_x_pd) == (-1.0, 0.0, 0.0)
    assert pair.blank_mm == pytest.approx(octagon_need(2.5), abs=1e-9)


def test_unequal_eyes_meet_where_both_need_the_same() -> None:
    # 5 and 4 mm in, 2.5 mm to give away: both come to 3.25 mm in.
    tasks = octagon_pair(-4.0, 5.0, 4.0)
    pair = pair_least_blank(*tasks, limits=level_only(1.0), allowance_mm=0.0)
    assert places(pair) == pytest.approx([3.25, 0, -3.25, 0], abs=1e-8)


def test_prism_that_moves_both_eyes_alike_is_bounded_too() -> None:
    # Both pupils lie to the observer's right; the difference would allow any common move, each eye 2.5 mm.
    tasks = octagon_pair(-4.0, 5.0, -5.0)
    pair = pair_least_blank(*tasks, limits=level_only(1.0), allowance_mm=0.0)
    assert places(pair) == pytest.approx([2.5, 0, 2.5, 0], abs=1e-9)


def test_prescribed_prism_moves_the_place_from_which_one_counts() -> None:
    # 2 pd base in (-x) before the left eye with -4 D: 5 mm to +x, from 5 mm in to 0; only the right eye is short.
    tasks = octagon_pair(-4.0, 5.0, 5.0, prism_x_pd=-2.0)
    pair = pair_least_blank(*tasks, limits=level_only(1.0), allowance_mm=0.0)
    assert places(pair) == pytest.approx([2.5, 0, 0, 0], abs=1e-9)


def test_a_blank_at_hand_uses_just_the_share_that_it_needs() -> None:
    # Each eye moved by 0.5 mm of the 1.25 mm that are its part of the limit.
    tasks = octagon_pair(-4.0, 5.0, 5.0)
    blank = octagon_need(4.5) + 2.0
    pair = pair_least_share(*tasks, limits=level_only(1.0), allowance_mm=2.0, right_blank_mm=blank, left_blank_mm=blank)
    assert places(pair) == pytest.approx([4.5, 0, -4.5, 0], abs=1e-6)
    assert pair.share_of_limit == pytest.approx(0.4, abs=1e-7)
    one_short = pair_least_share(
        *tasks, limits=level_only(1.0), allowance_mm=2.0, right_blank_mm=blank, left_blank_mm=80.0
    )
    assert places(one_short) == pytest.approx([4.5, 0, -5, 0], abs=1e-6)
    assert one_short.share_of_limit == pytest.approx(0.2, abs=1e-7)


def test_blanks_that_do_with_the_exact_places_leave_them_there() -> None:
    tasks, blank = octagon_pair(-4.0, 5.0, 3.0), octagon_need(5.0) + 2.0
    pair = pair_least_share(*tasks, limits=level_only(1.0), allowance_mm=2.0, right_blank_mm=blank, left_blank_mm=blank)
    assert places(pair).tolist() == [5.0, 0.0, -3.0, 0.0]
    assert pair.share_of_limit == 0.0


def test_without_power_a_blank_may_lie_anywhere_and_lies_as_near_to_the_pupil_as_it_can() -> None:
    tasks = octagon_pair(0.0, 5.0, 5.0)
    blank = octagon_need(2.0)
    pair = pair_least_share(*tasks, limits=level_only(1.0), allowance_mm=0.0, right_blank_mm=blank, left_blank_mm=blank)
    assert places(pair) == pytest.approx([2, 0, -2, 0], abs=1e-6)
    assert pair.share_of_limit == 0.0


def test_the_share_is_that_of_the_worse_dimension_by_its_kinder_criterion() -> None:
    right, left = octagon_pair(-4.0, 5.0, 5.0)
    limits = PairLimits(horizontal_pd=0.5, horizontal_mm=4.0, vertical_pd=0.25, vertical_mm=0.5)

    def place(x: float, y: float, pupil_x: float) -> Place:
        return Place(x, y, 70.0, -0.4 * (x - pupil_x), -0.4 * y)

    def share(right_place: Place, left_place: Place) -> float:
        return share_of_limit(right, left, right_place, left_place, limits)

    assert share(place(5, 0, 5), place(-5, 0, -5)) == 0.0
    # 1 mm out each: 2 mm of 4 mm, or 0.8 pd of 0.5.
    assert share(place(4, 0, 5), place(-4, 0, -5)) == pytest.approx(0.5)
    # 0.5 mm up before one eye: all of 0.5 mm, or 0.2 pd of 0.25.
    assert share(place(4, 0.5, 5), place(-5, 0, -5)) == pytest.approx(0.8)
    # Both up alike are no difference, but each counts by itself; up and down add up.
    assert share(place(5, 0.5, 5), place(-5, 0.5, -5)) == pytest.approx(0.8)
    assert share(place(5, 0.5, 5), place(-5, -0.5, -5)) == pytest.approx(1.6)
    none = PairLimits(horizontal_pd=0.0, horizontal_mm=0.0, vertical_pd=0.0, vertical_mm=0.0)
    assert share_of_limit(right, left, place(4, 0, 5), place(-5, 0, -5), none) == math.inf


def test_the_limits_of_a_standard_are_taken_over() -> None:
    standard = mounted_prism_limits(standard="ansi-z80.1-2015", lens="single_vision")
    # Source: ANSI Z80.1-2015 quick reference sheets: 0.67 pd or 2.5 mm horizontally, 0.33 pd or 1.0 mm vertically.
    assert astuple(pair_limits(standard)) == (0.67, 2.5, 0.33, 1.0)


# What limits do


@pytest.mark.parametrize("kinds", [ORDINARY, ANY], ids=["ordinary", "any power"])
def test_limits_from_the_smallest_to_the_widest_are_kept_and_moving_never_costs(kinds: tuple[str, ...]) -> None:
    rng = np.random.default_rng(4)
    answered = 0
    for _ in range(120):
        tasks, limits = random_pair(rng, kinds), random_limits(rng, least=1e-9)
        pair = pair_least_blank(*tasks, limits=limits, allowance_mm=2.0)
        if pair is None:
            assert exact(tasks) is None
            continue
        answered += 1
        assert pair.share_of_limit <= 1 + 1e-9
        assert any(
            (np.abs(rows.matrix @ places(pair) + rows.constants) * sizes <= sizes + 1e-9).all()
            for rows, sizes in with_sizes(tasks, limits)
        )
        assert max(needs(tasks, places(pair))) + 2 == pytest.approx(pair.blank_mm, abs=1e-9)
        assert (pair.right.prism_x_pd, pair.right.prism_y_pd) == pytest.approx(
            unwanted_prism(tasks[0], places(pair)[:2]), abs=1e-9
        )
        if exact(tasks) is not None:
            assert pair.blank_mm <= max(needs(tasks, exact(tasks))) + 2 + 1e-12
    assert answered >= 60


def with_sizes(tasks: Pair, limits: PairLimits) -> list[tuple[PairRows, np.ndarray]]:
    by = [
        by
        for by in itertools.product(("prism", "distance"), repeat=2)
        if "distance" not in by or exact(tasks) is not None
    ]
    sizes = [np.tile([limit(limits)(k, criteria[k]) for k in (0, 1)], 3) for criteria in by]
    return list(zip(combinations(*tasks, limit(limits)), sizes, strict=True))


def test_the_share_told_is_the_share_that_the_rows_of_the_limits_give() -> None:
    rng = np.random.default_rng(5)
    for _ in range(60):
        tasks, limits = random_pair(rng), random_limits(rng)
        pair = pair_least_blank(*tasks, limits=limits, allowance_mm=0.0)
        assert pair.share_of_limit == pytest.approx(share_by_rows(tasks, limits, places(pair)), abs=1e-9)


def test_nothing_is_within_the_limits_just_where_linear_programming_says_so() -> None:
    rng = np.random.default_rng(6)
    answers = set()
    for _ in range(100):
        tasks, limits = random_pair(rng, ANY), random_limits(rng)
        possible = any(rows.can_be_kept() for rows in combinations(*tasks, limit(limits)))
        pair = pair_least_blank(*tasks, limits=limits, allowance_mm=0.0)
        assert (pair is not None) is possible
        # Weak cylinders can ask for prism that is made only far away.
        wide = 400.0 if pair is None else max(400.0, pair.blank_mm)
        least = pair_least_share(*tasks, limits=limits, allowance_mm=0.0, right_blank_mm=wide, left_blank_mm=wide)
        assert (least is not None) is possible
        answers.add(possible)
    assert answers == {True, False}


def test_prism_that_no_power_can_make_is_missing_wherever_the_lenses_lie() -> None:
    # Prescribed 0.4 pd base in before each eye, without power: 0.8 pd are missing for the pair, 0.4 for each eye.
    right, left = octagon_pair(0.0, 5.0, 3.0)
    tasks = changed(right, prism_x_pd=0.4), changed(left, prism_x_pd=-0.4)
    one_eye = changed(right, prism_x_pd=0.4), left
    wide = {"right_blank_mm": 90.0, "left_blank_mm": 90.0}
    for given, limit_pd, share in ((tasks, 0.67, None), (tasks, 0.8, 1.0), (one_eye, 0.5, 0.8)):
        pair = pair_least_blank(*given, limits=level_only(limit_pd), allowance_mm=0.0)
        least = pair_least_share(*given, limits=level_only(limit_pd), allowance_mm=0.0, **wide)
        by_eye = by_eye_least_blank(*given, limits=level_only(limit_pd), share=0.5, allowance_mm=0.0)
        if share is None:
            assert pair is least is by_eye is None
            continue
        assert pair.share_of_limit == pytest.approx(share, abs=1e-9)
        assert pair.blank_mm == pytest.approx(octagon_need(0.0), abs=1e-9)
        # With room to spare both stay before the pupils.
        assert places(least) == pytest.approx([5, 0, -3, 0], abs=1e-6)
        assert least.share_of_limit == pytest.approx(share, abs=1e-9)


def test_prism_missing_up_to_the_very_limit_of_one_eye_leaves_the_other_its_exact_place() -> None:
    # 0.5 pd base up are missing before the right eye, all of its limit. The left lens would like to go down, which
    # with -4 D is base up and adds to the difference; so it stays at its height, and moves level alone, 1 mm for 0.4 pd.
    right, left = octagon_pair(0.0, 0.0, 2.0)
    tasks = changed(right, prism_y_pd=0.5), changed(left, pupil_y_mm=5.0, sphere_d=-4.0)
    limits = PairLimits(horizontal_pd=0.4, horizontal_mm=0.0, vertical_pd=0.5, vertical_mm=0.0)
    pair = pair_least_blank(*tasks, limits=limits, allowance_mm=0.0)
    assert places(pair)[2:] == pytest.approx([-1.0, 5.0], abs=1e-6)
    assert pair.blank_mm == pytest.approx(2 * math.hypot(26, 15), abs=1e-6)
    assert pair.share_of_limit == pytest.approx(1.0, abs=1e-9)
    assert pair.share_of_limit <= 1 + 1e-9
    blank = pair.blank_mm
    again = pair_least_share(*tasks, limits=limits, allowance_mm=0.0, right_blank_mm=blank, left_blank_mm=blank)
    assert again is not None
    assert again.share_of_limit <= 1 + 1e-9


def test_limits_that_shrink_to_0_lead_to_the_exact_places() -> None:
    rng = np.random.default_rng(7)
    for _ in range(40):
        tasks = random_pair(rng)
        plain = max(needs(tasks, exact(tasks)))
        none = PairLimits(**dict.fromkeys(PairLimits.__slots__, 0))
        at_0 = pair_least_blank(*tasks, limits=none, allowance_mm=0.0)
        assert places(at_0).tolist() == exact(tasks).tolist()
        assert at_0.share_of_limit == 0.0
        hardly = PairLimits(**dict.fromkeys(PairLimits.__slots__, 1e-9))
        # No corner of the limits is farther away than the inverse of the figures carries 1e-9.
        away = 1e-9 * max(
            np.abs(np.linalg.inv(figures(task, by)[0])).sum()
            for task in tasks
            for by in itertools.product(("prism", "distance"), repeat=2)
        )
        near_0 = pair_least_blank(*tasks, limits=hardly, allowance_mm=0.0).blank_mm
        assert near_0 == pytest.approx(plain, abs=2 * away + 1e-9)


def test_wider_limits_never_need_more() -> None:
    rng = np.random.default_rng(8)
    for _ in range(60):
        tasks, limits = random_pair(rng), random_limits(rng, least=1e-3)
        factors = rng.uniform(1, 3, 4)
        wider = PairLimits(
            **{name: getattr(limits, name) * by for name, by in zip(limits.__slots__, factors, strict=True)}
        )
        one, two = (pair_least_blank(*tasks, limits=given, allowance_mm=0.0) for given in (limits, wider))
        assert two.blank_mm <= one.blank_mm + 1e-9


def test_larger_blanks_never_use_a_larger_share() -> None:
    rng = np.random.default_rng(9)
    for _ in range(40):
        tasks, limits = random_pair(rng), random_limits(rng)
        least = pair_least_blank(*tasks, limits=limits, allowance_mm=0.0).blank_mm
        shares = [
            pair_least_share(
                *tasks, limits=limits, allowance_mm=0.0, right_blank_mm=least + more, left_blank_mm=least + 2 * more
            ).share_of_limit
            for more in (0.0, 1e-3, 0.1, 1.0)
        ]
        assert all(later <= earlier + 1e-7 for earlier, later in itertools.pairwise(shares))
        assert max(shares) <= 1 + 1e-9


@pytest.mark.parametrize("kinds", [ORDINARY, ANY], ids=["ordinary", "any power"])
def test_the_least_blank_will_do_and_none_smaller_will(kinds: tuple[str, ...]) -> None:
    rng = np.random.default_rng(10)
    for _ in range(50):
        tasks, limits = random_pair(rng, kinds), random_limits(rng, least=1e-9)
        pair = pair_least_blank(*tasks, limits=limits, allowance_mm=2.0)
        if pair is not None:
            for less, will_do in ((0.0, True), (1e-4, False)):
                blank = pair.blank_mm - less
                again = pair_least_share(
                    *tasks, limits=limits, allowance_mm=2.0, right_blank_mm=blank, left_blank_mm=blank
                )
                assert (again is not None) is will_do
                assert again is None or (again.share_of_limit <= 1 + 1e-9 and again.blank_mm <= blank + 1e-9)


@pytest.mark.parametrize("kinds", [ORDINARY, ANY], ids=["ordinary", "any power"])
def test_both_eyes_together_never_need_more_than_each_with_half_of_the_limits(kinds: tuple[str, ...]) -> None:
    rng = np.random.default_rng(11)
    better = 0
    for _ in range(60):
        tasks, limits = random_pair(rng, kinds), random_limits(rng)
        together = pair_least_blank(*tasks, limits=limits, allowance_mm=0.0)
        by_eye = by_eye_least_blank(*tasks, limits=limits, allowance_mm=0.0)
        if by_eye is None:
            continue
        assert by_eye.share_of_limit <= 1 + 1e-9
        assert together.blank_mm <= by_eye.blank_mm + 1e-9
        better += together.blank_mm < by_eye.blank_mm - 1e-3
        # One criterion in each dimension holds for both eyes.
        own = [
            np.abs((rows.matrix @ places(by_eye) + rows.constants)[:4]) for rows in combinations(*tasks, limit(limits))
        ]
        assert min(part.max() for part in own) <= 0.5 + 1e-9
    assert better >= 10


def test_by_eye_with_no_share_is_the_exact_pair() -> None:
    rng = np.random.default_rng(12)
    tasks, limits = random_pair(rng), random_limits(rng)
    at_0 = by_eye_least_blank(*tasks, limits=limits, share=0.0, allowance_mm=0.0)
    assert places(at_0).tolist() == exact(tasks).tolist()


@pytest.mark.parametrize("kinds", [ORDINARY, ANY], ids=["ordinary", "any power"])
def test_a_pair_in_a_mirror_is_placed_in_a_mirror_and_the_same_twice(kinds: tuple[str, ...]) -> None:
    rng = np.random.default_rng(13)
    turned = np.array([-1, 1, -1, 1])
    for _ in range(40):
        tasks, limits = random_pair(rng, kinds), random_limits(rng)
        other = mirrored(tasks[1]), mirrored(tasks[0])
        pair, seen = (pair_least_blank(*given, limits=limits, allowance_mm=1.0) for given in (tasks, other))
        if pair is None:
            assert seen is None
            continue
        assert pair_least_blank(*tasks, limits=limits, allowance_mm=1.0) == pair
        assert seen.blank_mm == pytest.approx(pair.blank_mm, abs=1e-9)
        assert np.roll(places(seen), 2) * turned == pytest.approx(places(pair), abs=1e-5)
        blanks = pair.blank_mm + 0.1, pair.blank_mm + 0.4
        shares = [
            pair_least_share(
                *given, limits=limits, allowance_mm=1.0, right_blank_mm=blanks[order], left_blank_mm=blanks[1 - order]
            )
            for given, order in ((tasks, 0), (other, 1))
        ]
        assert shares[0].share_of_limit == pytest.approx(shares[1].share_of_limit, abs=1e-7)


def test_many_points_are_placed_as_their_hull_is() -> None:
    rng = np.random.default_rng(14)
    for _ in range(10):
        tasks, limits = random_pair(rng), random_limits(rng)
        circles = [smallest_circle(task.points) for task in tasks]
        filled = []
        for task, circle in zip(tasks, circles, strict=True):
            # Points drawn towards the middle lie within the hull and can never be the farthest.
            middle, parts = np.array([circle.x_mm, circle.y_mm]), rng.uniform(0, 1, (2000, 1))
            inner = middle + parts * (task.points[rng.integers(len(task.points), size=2000)] - middle)
            filled.append(changed(task, points=np.vstack([inner, task.points])))
        one, two = (pair_least_blank(*given, limits=limits, allowance_mm=0.0) for given in (tasks, filled))
        assert two.blank_mm == pytest.approx(one.blank_mm, abs=1e-9)


# The search from the inside


def test_the_search_from_the_inside_agrees_with_linear_programming() -> None:
    rng = np.random.default_rng(15)
    for _ in range(50):
        slopes, room = np.vstack([rng.normal(size=(12, 4)), np.eye(4), -np.eye(4)]), rng.uniform(0.1, 3, 20)
        found = least_within(families=[Family(np.zeros((4, 4)), slopes, -room)], start=np.zeros(4))
        # Source: scipy, linprog.
        least = linprog([0, 0, 0, 1], A_ub=slopes, b_ub=room, bounds=(None, None)).fun
        assert (slopes @ found < room).all()
        assert found[-1] == pytest.approx(least, abs=1e-9)


def test_the_search_from_the_inside_leaves_a_free_direction_alone() -> None:
    # Nothing holds the second figure; of the first, |x - 1| <= t.
    slopes = np.array([[1.0, 0.0, -1.0], [-1.0, 0.0, -1.0]])
    found = least_within(
        families=[Family(np.zeros((3, 3)), slopes, np.array([-1.0, 1.0]))], start=np.array([0.3, 0.7, 5.0])
    )
    assert found == pytest.approx([1.0, 0.7, 0.0], abs=1e-9)


def test_the_search_from_the_inside_finds_the_smallest_circle() -> None:
    rng = np.random.default_rng(16)
    for _ in range(30):
        points = rng.uniform(-1, 1, (20, 2))
        slopes = np.column_stack([-2 * points, np.full(20, -1.0)])
        family = Family(np.diag([1.0, 1.0, 0.0]), slopes, (points**2).sum(axis=1))
        found = least_within(families=[family], start=np.array([0.0, 0.0, 3.0]))
        assert math.sqrt(found[2]) == pytest.approx(smallest_circle(points).radius_mm, abs=1e-10)
        assert farthest(points, *found[:2]) <= math.sqrt(found[2])


# What is refused


@pytest.mark.parametrize("given", [-0.1, math.nan, math.inf, "1", None, True])
@pytest.mark.parametrize("name", PairLimits.__slots__)
def test_limits_are_finite_sizes(name: str, given: Any) -> None:
    with pytest.raises(DomainError) as refusal:
        PairLimits(**(dict.fromkeys(PairLimits.__slots__, 0.5) | {name: given}))
    assert refusal.value.argument == name


@pytest.mark.parametrize(
    ("fields", "argument"),
    [
        ({"allowance_mm": -1.0}, "allowance_mm"),
        ({"right_blank_mm": 0.0}, "blank_mm"),
        ({"left_blank_mm": -70.0}, "blank_mm"),
    ],
)
def test_blanks_and_allowances_out_of_range_are_refused(fields: dict[str, float], argument: str) -> None:
    good = {"allowance_mm": 2.0, "right_blank_mm": 70.0, "left_blank_mm": 70.0}
    with pytest.raises(DomainError) as refusal:
        pair_least_share(*octagon_pair(-4.0, 5.0, 5.0), limits=level_only(1.0), **(good | fields))
    assert refusal.value.argument == argument


@pytest.mark.parametrize("share", [-0.01, 1.01, math.nan, "half", True])
def test_a_share_for_one_eye_outside_0_to_1_is_refused(share: Any) -> None:
    with pytest.raises(DomainError) as refusal:
        by_eye_least_blank(*octagon_pair(-4.0, 5.0, 5.0), limits=level_only(1.0), share=share, allowance_mm=0.0)
    assert refusal.value.argument == "share"


def test_a_blank_all_of_which_is_allowance_will_not_do() -> None:
    assert (
        pair_least_share(
            *octagon_pair(-4.0, 5.0, 5.0),
            limits=level_only(1.0),
            allowance_mm=80.0,
            right_blank_mm=70.0,
            left_blank_mm=70.0,
        )
        is None
    )


def test_a_place_that_is_not_finite_has_no_share() -> None:
    tasks = octagon_pair(-4.0, 5.0, 5.0)
    good = Place(5.0, 0.0, 70.0, 0.0, 0.0)
    with pytest.raises(DomainError) as refusal:
        share_of_limit(*tasks, good, Place(math.nan, 0.0, 70.0, 0.0, 0.0), level_only(1.0))
    assert refusal.value.argument == "x_mm"
