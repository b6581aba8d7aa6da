"""Whether an outline is sound: against shapely (GEOS), against whole numbers without rounding, and shapes drawn by hand."""

import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
import shapely
from core_shapes import MAKERS, Maker, convex, smooth, star

from optics_core.errors import DomainError
from optics_core.outline import mirrored, points_from_radii
from optics_core.outline_checks import closing_gap, encloses, first_crossing, sharpest_turn

every_maker = pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)

FIGURE_EIGHT = [[-10, -5], [10, 5], [10, -5], [-10, 5]]
TOUCHING_VERTEX = [[0, 0], [10, 0], [10, 8], [5, 0], [0, 8]]
TOUCHING_VERTICES = [[0, 0], [5, 4], [10, 0], [10, 8], [5, 4], [0, 8]]
COLLINEAR_OVERLAP = [[0, 0], [10, 0], [10, 6], [8, 6], [8, 0], [4, 0], [4, 6], [0, 6]]
FOLDED_SPIKE = [[0, 0], [10, 0], [10, 6], [14, 9], [10, 6], [0, 6]]
FOLDED_SHORT = [[0, 0], [10, 0], [10, 6], [10, 3], [0, 6]]


def side_of_line(start: list[Fraction], end: list[Fraction], place: list[Fraction]) -> int:
    area = (end[0] - start[0]) * (place[1] - start[1]) - (end[1] - start[1]) * (place[0] - start[0])
    return (area > 0) - (area < 0)


def meet_exactly(a: list[Fraction], b: list[Fraction], c: list[Fraction], d: list[Fraction]) -> bool:
    """Whether two sides have a point in common, in fractions: no rounding anywhere."""

    def on(start: list[Fraction], end: list[Fraction], place: list[Fraction]) -> bool:
        inside = all(min(start[i], end[i]) <= place[i] <= max(start[i], end[i]) for i in (0, 1))
        return inside and side_of_line(start, end, place) == 0

    if any((on(a, b, c), on(a, b, d), on(c, d, a), on(c, d, b))):
        return True
    one, other = side_of_line(a, b, c) * side_of_line(a, b, d), side_of_line(c, d, a) * side_of_line(c, d, b)
    return one < 0 and other < 0


def first_crossing_by_trying_all(points: np.ndarray) -> tuple[int, int] | None:
    corners = [[Fraction(x), Fraction(y)] for x, y in points.tolist()]
    count = len(corners)
    for i in range(count):
        for j in range(i + 1, count):
            a, b, c, d = (corners[k % count] for k in (i, i + 1, j, j + 1))
            neighbours = j == i + 1 or (i, j) == (0, count - 1)
            if neighbours:
                shared, one, other = (b, a, d) if j == i + 1 else (a, b, c)
                ways = sum((one[k] - shared[k]) * (other[k] - shared[k]) for k in (0, 1))
                if side_of_line(shared, one, other) == 0 and ways > 0:
                    return i, j
            elif meet_exactly(a, b, c, d):
                return i, j
    return None


def crescent(count: int) -> np.ndarray:
    turn = np.linspace(-2.6, 2.6, count // 2)
    arc = np.column_stack((np.cos(turn), np.sin(turn)))
    return np.concatenate((20 * arc, 14 * arc[::-1]))


def comb(count: int) -> np.ndarray:
    """Slanting teeth close together: every side's box meets every other's, and no two sides meet."""
    x = np.linspace(0, 10, count // 2)
    low, high = np.column_stack((x - 20, 0 * x - 20)), np.column_stack((x + 20, 0 * x + 20))
    teeth = np.stack((low, high), axis=1)
    teeth[1::2] = teeth[1::2, ::-1]
    return np.concatenate((teeth.reshape(-1, 2), [[90, -80], [-60, -80]]))


# Oracle: LinearRing.is_simple of shapely (the GEOS library), which is robust against rounding.
@every_maker
@pytest.mark.parametrize("grid", [None, 0.25, 0.05], ids=["free", "quarters", "twentieths"])
def test_an_outline_is_simple_where_a_general_library_finds_it_simple(maker: Maker, grid: float | None) -> None:
    rng = np.random.default_rng(11)
    for _ in range(400):
        points = maker(rng)
        if grid is not None:
            points = np.round(points / grid) * grid
        if len(np.unique(points, axis=0)) < 3:  # nothing that the library calls a ring
            continue
        assert (first_crossing(points) is None) == shapely.LinearRing(points).is_simple


@pytest.mark.parametrize("digits", [0, 1], ids=["whole numbers", "tenths"])
def test_the_pair_found_is_the_first_of_all_pairs(digits: int) -> None:
    # Few places to choose from: most of these touch in corners, run along each other or fold back somewhere.
    rng = np.random.default_rng(12)
    found, simple = set(), 0
    for _ in range(1500):
        points = np.round(rng.integers(-4, 5, size=(rng.integers(3, 9), 2)) * 10.0**-digits, digits)
        if (points == np.roll(points, 1, axis=0)).all(axis=1).any():
            continue
        expected = first_crossing_by_trying_all(points)
        assert first_crossing(points) == expected
        found.add(expected)
        simple += expected is None
    assert len(found) > 15
    assert simple > 50


def test_the_last_binary_digit_decides() -> None:
    # A corner laid as near as can be to a side far from it, then moved by the least step to either hand.
    rng = np.random.default_rng(13)
    seen = set()
    for _ in range(400):
        a, b = rng.uniform(-30, 30, size=(2, 2))
        on = a + rng.uniform(0.2, 0.8) * (b - a)
        beside = on + 5 * np.array([a[1] - b[1], b[0] - a[0]]) / math.dist(a, b)
        for step in (-np.inf, 0.0, np.inf):
            tip = np.array([np.nextafter(on[0], step) if step else on[0], on[1]])
            points = np.array([a, b, b + (beside - on), tip, a + (beside - on)])
            expected = first_crossing_by_trying_all(points)
            assert first_crossing(points) == expected
            seen.add(expected)
    assert seen == {None, (0, 2)}


def test_no_figure_is_too_long_for_an_exact_answer() -> None:
    # Of two neighbours in Fibonacci's row the ratios differ as little as can be: F(n) F(n+2) - F(n+1)^2 is 1 or -1
    # (Cassini), in products of 32 digits. So a tip by a side 100 m long misses it or crosses it by 1e-17 mm.
    row = [1, 1]
    while len(row) < 78:
        row.append(row[-1] + row[-2])
    seen = []
    for n in (73, 74):
        scale = 2.0**-36  # exact
        side, tip = np.array([row[n + 2], row[n + 3]]) * scale, np.array([row[n], row[n + 1]]) * scale
        across = np.array([-8192.0, 8192.0])
        points = np.array([[0.0, 0.0], side, side + across, tip, across])
        expected = first_crossing_by_trying_all(points)
        assert first_crossing(points) == expected
        seen.append(expected)
    assert sorted(seen, key=str) == [(0, 2), None]


@pytest.mark.parametrize(
    ("points", "pair"),
    [
        (FIGURE_EIGHT, (0, 2)),
        (TOUCHING_VERTEX, (0, 2)),
        (TOUCHING_VERTICES, (0, 3)),
        (COLLINEAR_OVERLAP, (0, 3)),
        (FOLDED_SPIKE, (1, 3)),
        (FOLDED_SHORT, (1, 2)),
        ([[0, 0], [4, 0], [2, 0]], (0, 1)),
        ([[0, 0], [4, 0], [0, 0], [4, 0]], (0, 1)),
        ([[1, 1], [1, 1], [1, 1]], (0, 1)),
    ],
    ids=["eight", "vertex-on-side", "vertices", "overlap", "spike", "short-fold", "flat", "to-and-fro", "one-place"],
)
def test_sides_that_cross_touch_or_fold_back_are_named(points: list[list[int]], pair: tuple[int, int]) -> None:
    assert first_crossing(points) == pair


def test_a_folded_spike_touches_the_sides_beside_it_as_well() -> None:
    # The tip folds back (2, 3); before that, side 1 ends where side 3 ends.
    assert first_crossing_by_trying_all(np.array(FOLDED_SPIKE)) == (1, 3)
    assert first_crossing([*FOLDED_SPIKE[:4], [10, 6.5], *FOLDED_SPIKE[5:]]) is None


@pytest.mark.parametrize("points", [crescent(60), crescent(400), comb(60), comb(500)], ids=lambda p: str(len(p)))
def test_a_simple_outline_that_winds_is_simple_from_every_start_and_either_way(points: np.ndarray) -> None:
    assert shapely.LinearRing(points).is_simple
    for shift in (0, 1, len(points) // 3):
        assert first_crossing(np.roll(points, shift, axis=0)) is None
        assert first_crossing(mirrored(np.roll(points, shift, axis=0))) is None
        assert first_crossing(np.roll(points, shift, axis=0)[::-1]) is None


@pytest.mark.parametrize("points", [crescent(400), comb(400)], ids=["crescent", "comb"])
def test_one_crossing_among_many_sides_is_found(points: np.ndarray) -> None:
    for place in (3, 57, 197, 391):
        crossed = points.copy()
        crossed[[place, place + 1]] = crossed[[place + 1, place]]
        found = first_crossing(crossed)
        assert found is not None
        assert not shapely.LinearRing(crossed).is_simple
        one, other = (crossed[[k, (k + 1) % len(crossed)]] for k in found)
        assert shapely.LineString(one).intersects(shapely.LineString(other))


def test_turning_twice_round_its_centre_is_crossing_itself() -> None:
    # Every step turns the same way about the centre, so only the count of turns tells.
    turn = np.linspace(0, 4 * np.pi, 80, endpoint=False)
    radius = 20 + 3 * turn / (4 * np.pi)
    assert first_crossing(np.column_stack((radius * np.cos(turn), radius * np.sin(turn)))) is not None


def test_points_that_repeat_the_one_before_do_not_count_as_touching() -> None:
    points = np.repeat(crescent(60), 2, axis=0)
    assert first_crossing(points) is None
    assert first_crossing(np.repeat(np.array(FIGURE_EIGHT), 2, axis=0)) == (1, 5)


# Oracle: Polygon.contains of shapely, which leaves out the boundary too.
@pytest.mark.parametrize("maker", [star, smooth, convex, lambda rng: crescent(int(rng.integers(20, 80))) / 20])
def test_a_point_is_enclosed_where_a_general_library_finds_it_within(maker: Maker) -> None:
    rng = np.random.default_rng(14)
    answers = []
    for _ in range(100):
        points = maker(rng)
        shape = shapely.Polygon(points)
        if not shape.is_valid:
            continue
        for x, y in rng.uniform(points.min(axis=0) - 0.1, points.max(axis=0) + 0.1, size=(20, 2)).tolist():
            inside = encloses(points, x_mm=x, y_mm=y)
            assert inside == shape.contains(shapely.Point(x, y))
            assert inside == encloses(points[::-1], x_mm=x, y_mm=y)
            answers.append(inside)
    assert 0.2 < np.mean(answers) < 0.9


def test_the_outline_itself_is_not_enclosed() -> None:
    rng = np.random.default_rng(15)
    for _ in range(50):
        points = np.round(star(rng) * 20, 2)
        for x, y in points.tolist():
            assert not encloses(points, x_mm=x, y_mm=y)
    square = [[-10, -10], [10, -10], [10, 10], [-10, 10]]
    edges = [(10.0, 3.0), (-10.0, 3.0), (3.0, 10.0), (3.0, -10.0)]
    assert not any(encloses(square, x_mm=x, y_mm=y) for x, y in edges)
    assert encloses(square, x_mm=math.nextafter(10.0, 0.0), y_mm=3.0)
    # Level with two corners, between them and beyond them.
    notched = [[-10, 0], [0, -10], [10, 0], [20, -10], [20, 10], [-10, 10]]
    assert encloses(notched, x_mm=0.0, y_mm=0.0)
    assert encloses(notched, x_mm=15.0, y_mm=0.0)
    assert not encloses(notched, x_mm=10.0, y_mm=-5.0)
    assert not encloses(notched, x_mm=1e300, y_mm=-1e300)


@pytest.mark.parametrize("count", [3, 4, 24, 360])
def test_a_regular_polygon_turns_by_an_equal_part_of_a_full_turn(count: int) -> None:
    # Exterior angles of a convex polygon add up to 360 degrees (Euclid I.32, corollary).
    assert sharpest_turn(points_from_radii(np.full(count, 25.0))).degrees == pytest.approx(360 / count, abs=1e-9)


def test_the_sharpest_turn_is_found_by_looking_at_every_corner() -> None:
    rng = np.random.default_rng(16)
    for maker in MAKERS:
        for _ in range(100):
            points = maker(rng)
            headings = [
                math.atan2(*(after - at)[::-1]) for at, after in zip(points, np.roll(points, -1, 0), strict=True)
            ]
            turns = [abs(math.remainder(headings[k] - headings[k - 1], math.tau)) for k in range(len(points))]
            turn = sharpest_turn(points)
            assert turn.degrees == pytest.approx(math.degrees(max(turns)), abs=1e-6)
            assert math.degrees(turns[turn.index]) == pytest.approx(turn.degrees, abs=1e-6)


def test_a_spike_turns_straight_back_and_repeated_points_do_not_hide_it() -> None:
    assert sharpest_turn(FOLDED_SPIKE) == (turn := sharpest_turn(np.array(FOLDED_SPIKE, dtype=float)))
    assert (turn.degrees, turn.index) == (180.0, 3)
    repeated = np.repeat(np.array(FOLDED_SPIKE), 2, axis=0)
    assert sharpest_turn(repeated).degrees == 180.0
    assert repeated[sharpest_turn(repeated).index].tolist() == FOLDED_SPIKE[3]


def test_the_closing_gap_stands_beside_the_longest_other_side() -> None:
    # 3-4-5 triangles, so that the lengths are whole numbers.
    gap = closing_gap([[0, 0], [3, 4], [9, 12], [9, 0]])
    assert (gap.closing_mm, gap.longest_other_mm) == (9.0, 12.0)
    gap = closing_gap(points_from_radii(np.full(360, 25.0))[:330])
    # Chord of 31 degrees, and of 1 degree: 2 r sin(t/2).
    assert gap.closing_mm == pytest.approx(50 * math.sin(math.radians(15.5)), abs=1e-9)
    assert gap.longest_other_mm == pytest.approx(50 * math.sin(math.radians(0.5)), abs=1e-9)


NO_OUTLINES = {
    "two": [[0, 0], [1, 0]],
    "three-figures": [[0, 0, 0]] * 3,
    "nan": [[0, 0], [1, 0], [math.nan, 1]],
    "texts": [["0", "0"]] * 3,
    "ragged": [[0, 0], [1, 0], [1]],
    "no-list": 3,
    "too-far": [[0, 0], [1, 0], [1, 2e6]],
}


@pytest.mark.parametrize("check", [first_crossing, sharpest_turn, closing_gap], ids=lambda check: check.__name__)
@pytest.mark.parametrize("points", NO_OUTLINES.values(), ids=NO_OUTLINES.keys())
def test_what_is_no_outline_is_refused(check: Callable[..., object], points: object) -> None:
    with pytest.raises(DomainError) as refusal:
        check(points)
    assert refusal.value.argument == "points"


def test_points_in_one_place_have_no_turn() -> None:
    with pytest.raises(DomainError) as refusal:
        sharpest_turn([[1, 1]] * 4)
    assert refusal.value.argument == "points"
