"""The offset of an outline: against shapely's buffer (GEOS), brute distances, closed forms, and shapes drawn by hand."""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
import shapely
from core_shapes import Maker, Points, boxed, convex, farthest, smooth, star

from optics_core.errors import DomainError
from optics_core.outline import mirrored, outline_sizes, points_from_radii
from optics_core.outline_checks import first_crossing
from optics_core.outline_offset import offset_outline

TOLERANCE = 0.002
EACH = 210


def wavy(rng: np.random.Generator) -> Points:
    """A circle with many harmonics and some noise, 24 to 400 points: bays narrower than the offset among them."""
    turn = np.linspace(0, 2 * np.pi, int(24 * (400 / 24) ** rng.uniform()), endpoint=False)
    radius = 1.0 + rng.normal(size=turn.size) * rng.choice([0.0, 0.0, 0.001, 0.01])
    for harmonic in range(2, 12):
        radius += rng.uniform(0, 0.35 / harmonic) * np.cos(harmonic * turn + rng.uniform(0, 2 * np.pi))
    return np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])


def bent_bar(rng: np.random.Generator) -> Points:
    """A bar with round ends bent to an arc, often nearly to a ring: seen whole from no place within it."""
    half_turn, half_width = rng.uniform(0.8, 2.9), rng.uniform(0.05, 0.35)
    turn = np.linspace(-half_turn, half_turn, rng.integers(8, 60))
    end = np.linspace(0, np.pi, rng.integers(5, 20))[1:-1]

    def arc(radius: float, angle: np.ndarray) -> Points:
        return radius * np.column_stack([np.cos(angle), np.sin(angle)])

    first, last = (arc(1, np.array([angle])) for angle in (-half_turn, half_turn))
    outer, inner = arc(1 + half_width, turn), arc(1 - half_width, turn[::-1])
    return np.concatenate(
        [outer, last + arc(half_width, half_turn + end), inner, first + arc(half_width, np.pi - half_turn + end)]
    )


MAKERS: tuple[Maker, ...] = (star, smooth, convex, wavy, bent_bar)
every_maker = pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)


@dataclass(frozen=True, slots=True)
class Case:
    points: Points
    by: float
    offset: Points | None


def offset_or_none(points: Points, by: float) -> Points | None:
    try:
        return offset_outline(points, by_mm=by)
    except DomainError:
        return None


def one_piece(shape: shapely.Geometry) -> bool:
    return isinstance(shape, shapely.Polygon) and not shape.is_empty and not shape.interiors


@cache
def cases(maker: Maker) -> list[Case]:
    rng = np.random.default_rng(21)
    found = []
    while len(found) < EACH:
        points = boxed(maker(rng), rng.uniform(35, 65), rng.uniform(20, 50))
        by = float(rng.choice([rng.uniform(-2, 2), rng.uniform(-0.5, 0.5), rng.choice([-2, -1, -0.2, 0.2, 1, 2])]))
        if not shapely.Polygon(points).is_valid:
            continue
        found.append(Case(points, by, offset_or_none(points, by)))
    return found


def done(maker: Maker) -> list[tuple[Points, float, Points]]:
    return [(case.points, case.by, case.offset) for case in cases(maker) if case.offset is not None]


def distances(outline: Points, places: Points) -> np.ndarray:
    """From each place to the nearest point of the outline, by looking at every side."""
    nearest = np.full(len(places), np.inf)
    for start, end in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        way = end - start
        share = np.clip((places - start) @ way / (way @ way), 0, 1)
        nearest = np.minimum(nearest, np.hypot(*(places - start - share[:, None] * way).T))
    return nearest


def same_outline(one: Points, other: Points, within: float) -> bool:
    return shapely.hausdorff_distance(shapely.LinearRing(one), shapely.LinearRing(other)) <= within


# Oracle: buffer of shapely with round joins, 64 chords to a quarter turn: off the arc by 2 mm (1 - cos 0.7 deg) = 0.00015.
@every_maker
def test_the_offset_is_the_one_that_a_general_library_finds(maker: Maker) -> None:
    for case in cases(maker):
        expected = shapely.Polygon(case.points).buffer(case.by, quad_segs=64)
        assert (case.offset is not None) == one_piece(expected)
        if case.offset is not None:
            assert same_outline(case.offset, expected.exterior.coords, 0.01)
            between = shapely.Polygon(case.offset).symmetric_difference(expected)
            assert between.area <= 0.0025 * expected.length


def test_enough_outlines_of_every_kind_are_compared() -> None:
    counts = [(len(done(maker)), sum(by < 0 for _, by, _ in done(maker))) for maker in MAKERS]
    assert sum(count for count, _ in counts) >= 1000
    assert all(count > 150 and 60 < inward < count - 60 for count, inward in counts)


def test_where_a_general_library_finds_pieces_or_a_hole_or_nothing_the_offset_is_refused() -> None:
    rng = np.random.default_rng(26)
    kinds = []
    for number in range(400):
        points = boxed((star, bent_bar)[number % 2](rng), 50, 35)
        by = float(rng.uniform(1, 5) * rng.choice([-1, 1]))
        shape = shapely.Polygon(points)
        if shape.is_valid:
            expected = one_piece(shape.buffer(by, quad_segs=64))
            assert (offset_or_none(points, by) is not None) == expected
            kinds.append((by > 0, expected))
    assert all(kinds.count((outward, expected)) >= 6 for outward in (True, False) for expected in (True, False))


@every_maker
def test_the_offset_is_nowhere_outside_the_true_one_nor_inside_by_more_than_the_tolerance(maker: Maker) -> None:
    for points, by, offset in done(maker)[::4]:
        following = np.roll(offset, -1, axis=0)
        places = np.concatenate([offset, (offset + following) / 2, 0.9 * offset + 0.1 * following])
        inside = shapely.contains_xy(shapely.Polygon(points), *places.T)
        assert np.all(inside == (by < 0))
        # Outwards less is inside the true offset, inwards more.
        within = (abs(by) - distances(points, places)) * math.copysign(1.0, by)
        assert within.min() >= -1e-9
        assert within.max() <= TOLERANCE + 1e-9


@every_maker
def test_the_offset_does_not_cross_itself_and_runs_counter_clockwise(maker: Maker) -> None:
    for _, _, offset in done(maker):
        ring = shapely.LinearRing(offset)
        assert ring.is_simple
        assert ring.is_ccw
        assert first_crossing(offset) is None


@every_maker
def test_the_box_grows_by_exactly_the_offset_on_every_side_and_shrinks_by_at_least_it(maker: Maker) -> None:
    for points, by, offset in done(maker):
        grown = np.array([points.min(axis=0) - offset.min(axis=0), offset.max(axis=0) - points.max(axis=0)])
        if by > 0:
            assert grown == pytest.approx(np.full((2, 2), by), abs=1e-12)
        else:
            assert grown.max() <= by + 1e-9


@every_maker
def test_the_farthest_point_from_any_place_moves_out_by_the_offset(maker: Maker) -> None:
    rng = np.random.default_rng(22)
    for points, by, offset in done(maker):
        for x, y in rng.uniform(-40, 40, size=(5, 2)):
            further = farthest(offset, x, y) - farthest(points, x, y)
            assert further <= by + 1e-9
            if by > 0:
                assert further >= by - TOLERANCE


# Steiner's formulas for a convex shape: area A + P r + pi r^2, circumference P + 2 pi r (from memory).
def test_a_convex_shape_grows_by_steiners_formulas() -> None:
    for points, by, offset in done(convex):
        if by < 0:
            continue
        before, after = outline_sizes(points), outline_sizes(offset)
        area = before.area_mm2 + before.circumference_mm * by + math.pi * by**2
        assert area - 2 * math.pi * by * TOLERANCE <= after.area_mm2 <= area + 1e-9
        length = before.circumference_mm + 2 * math.pi * by
        assert length - 2 * math.pi * TOLERANCE <= after.circumference_mm <= length + 1e-9


def test_a_convex_shape_offset_outwards_and_back_is_the_shape_again() -> None:
    for points, by, offset in done(convex)[::3]:
        if by > 0:
            assert same_outline(offset_outline(offset, by_mm=-by), points, 3 * TOLERANCE)


@every_maker
def test_the_mirrored_outline_has_the_mirrored_offset(maker: Maker) -> None:
    for points, by, offset in done(maker)[::6]:
        assert same_outline(offset_outline(mirrored(points), by_mm=by), mirrored(offset), 1e-9)


@every_maker
def test_neither_where_an_outline_starts_nor_its_sense_changes_the_offset(maker: Maker) -> None:
    for points, by, offset in done(maker)[::6]:
        assert same_outline(offset_outline(np.roll(points, 7, axis=0), by_mm=by), offset, 1e-9)
        assert same_outline(offset_outline(points[::-1], by_mm=by), offset, 1e-9)
        assert same_outline(offset_outline(np.repeat(points, 2, axis=0), by_mm=by), offset, 1e-9)


@every_maker
def test_a_finer_tolerance_is_kept_too(maker: Maker) -> None:
    for points, by, offset in done(maker)[::24]:
        for tolerance in (1e-4, 0.03, 1.0):
            finer = offset_outline(points, by_mm=by, tolerance_mm=tolerance)
            within = (abs(by) - distances(points, finer)) * math.copysign(1.0, by)
            assert within.min() >= -1e-9
            assert within.max() <= tolerance + 1e-9
            assert tolerance > TOLERANCE or len(finer) >= len(offset)


@pytest.mark.parametrize("by", [0.0, 0, 1e-12, -1e-12])
def test_no_offset_leaves_the_points_as_they_are(by: float) -> None:
    points = star(np.random.default_rng(23))
    assert np.array_equal(offset_outline(points, by_mm=by), points)


def test_a_rectangle_grows_with_round_corners_and_shrinks_with_sharp_ones() -> None:
    rectangle = np.array([[-20.0, -10.0], [20.0, -10.0], [20.0, 10.0], [-20.0, 10.0]])
    inner = offset_outline(rectangle, by_mm=-3.0)
    assert sorted(inner.tolist()) == [[-17.0, -7.0], [-17.0, 7.0], [17.0, -7.0], [17.0, 7.0]]
    sizes = outline_sizes(offset_outline(rectangle, by_mm=3.0))
    assert (sizes.a_mm, sizes.b_mm) == (46.0, 26.0)
    assert sizes.area_mm2 == pytest.approx(40 * 20 + 120 * 3 + math.pi * 9, abs=2 * math.pi * 3 * TOLERANCE)


@pytest.mark.parametrize("by", [-5.0, -2.0, 2.0, 5.0])
def test_a_circle_stays_a_circle(by: float) -> None:
    # Sides of a regular polygon of 400 points lie within 0.0008 mm of a circle of 25 mm.
    offset = offset_outline(points_from_radii(np.full(400, 25.0)), by_mm=by)
    radii = np.hypot(*offset.T)
    assert radii == pytest.approx(np.full(radii.shape, 25 + by), abs=0.0008 + TOLERANCE)


@pytest.mark.parametrize("more", [1e-9, 1e-6, 1e-3, 0.5])
def test_a_waist_narrower_than_twice_the_offset_breaks(more: float) -> None:
    # Two corners face each other across a waist of 2 mm.
    waist = np.array([[-20, -10], [0, -1], [20, -10], [20, 10], [0, 1], [-20, 10]])
    assert len(offset_outline(waist, by_mm=-0.99)) > 10
    with pytest.raises(DomainError) as refusal:
        offset_outline(waist, by_mm=-(1.0 + more))
    assert (refusal.value.argument, refusal.value.value) == ("by_mm", -(1.0 + more))


@pytest.mark.parametrize("more", [1e-9, 1e-6, 1e-3, 0.5])
def test_a_bay_whose_mouth_closes_is_a_hole(more: float) -> None:
    # A bay 8 mm wide whose mouth, between two points, is 2 mm wide.
    bay = [
        [-10, -10],
        [10, -10],
        [10, 10],
        [4, 10],
        [1, 8],
        [4, 6],
        [4, -4],
        [-4, -4],
        [-4, 6],
        [-1, 8],
        [-4, 10],
        [-10, 10],
    ]
    assert len(offset_outline(bay, by_mm=0.999)) > 20
    with pytest.raises(DomainError):
        offset_outline(bay, by_mm=1.0 + more)


def test_a_bay_that_is_filled_altogether_leaves_no_hole() -> None:
    # A slot 2 mm wide and 8 mm deep: from 1 mm on its walls have closed, to the last bit at exactly 1 mm.
    slot = [[-10, -10], [10, -10], [10, 10], [1, 10], [1, 2], [-1, 2], [-1, 10], [-10, 10]]
    filled = 20 * 20 + 80 * 1.5 + math.pi * 1.5**2
    # Above the slot a dent is left between two arcs about its corners, 1 mm to either hand.
    dent = 2 * 1.5 - (math.sqrt(1.5**2 - 1) + 1.5**2 * math.asin(1 / 1.5))
    assert outline_sizes(offset_outline(slot, by_mm=1.5)).area_mm2 == pytest.approx(filled - dent, abs=80 * TOLERANCE)
    filled, dent = 20 * 20 + 80 * 1.0 + math.pi, 2 - math.pi / 2
    assert outline_sizes(offset_outline(slot, by_mm=1.0)).area_mm2 == pytest.approx(filled - dent, abs=80 * TOLERANCE)


def test_of_an_arm_exactly_twice_as_wide_as_the_offset_nothing_is_left() -> None:
    # A square with an arm 2 mm wide: the square shrinks, and in front of the arm stays a cusp between two arcs.
    armed = [[-10, -10], [10, -10], [10, -1], [30, -1], [30, 1], [10, 1], [10, 10], [-10, 10]]
    offset = offset_outline(armed, by_mm=-1.0)
    cusp = 2 - math.pi / 2
    assert outline_sizes(offset).area_mm2 == pytest.approx(18 * 18 + cusp, abs=80 * TOLERANCE)
    assert 9.9 < offset[:, 0].max() <= 10.0
    # A hook, whose walls face each other for a part of their length only; it is joined to a rectangle by 1 mm.
    hooked = [[5, -9], [2, -9], [2, -7], [4, -7], [4, -1], [15, -1], [15, -7], [5, -7]]
    offset = offset_outline(hooked, by_mm=-1.0)
    assert sorted(offset.tolist()) == [[5.0, -6.0], [5.0, -2.0], [14.0, -6.0], [14.0, -2.0]]


@pytest.mark.parametrize("by", [-1.0, -1.5, -5.0])
def test_nothing_is_left_of_a_bar_no_wider_than_twice_the_offset(by: float) -> None:
    with pytest.raises(DomainError) as refusal:
        offset_outline([[-20, -1], [20, -1], [20, 1], [-20, 1]], by_mm=by)
    assert refusal.value.argument == "by_mm"


@pytest.mark.parametrize(
    ("points", "by", "tolerance", "argument"),
    [
        ([[-10, -5], [10, 5], [10, -5], [-10, 5]], 0.2, 0.002, "points"),
        ([[0, 0], [10, 0], [10, 8], [5, 0], [0, 8]], -0.2, 0.002, "points"),
        ([[1, 1]] * 4, 0.2, 0.002, "points"),
        ([[0, 0], [1, 0]], 0.2, 0.002, "points"),
        ([[0, 0], [10, 0], [0, 10]], 5.001, 0.002, "by_mm"),
        ([[0, 0], [10, 0], [0, 10]], -5.001, 0.002, "by_mm"),
        ([[0, 0], [10, 0], [0, 10]], 0.2, 0.00005, "tolerance_mm"),
        ([[0, 0], [10, 0], [0, 10]], 0.2, 1.5, "tolerance_mm"),
    ],
)
def test_what_cannot_be_offset_is_refused_by_name(
    points: list[list[int]], by: float, tolerance: float, argument: str
) -> None:
    with pytest.raises(DomainError) as refusal:
        offset_outline(points, by_mm=by, tolerance_mm=tolerance)
    assert refusal.value.argument == argument


def test_rounded_figures_and_subdivided_sides_do_no_harm() -> None:
    # What traces look like: figures rounded to a hundredth or coarser, several points on one straight line.
    rng = np.random.default_rng(24)
    compared = 0
    for number in range(120):
        grid = rng.choice([0.01, 0.1, 0.25])
        points = np.round(boxed(MAKERS[number % 5](rng), 55, 40) / grid) * grid
        if number % 2:
            following = np.roll(points, -1, axis=0)
            points = np.stack([points, (points + following) / 2, 0.25 * points + 0.75 * following], axis=1).reshape(
                -1, 2
            )
        by = float(rng.choice([-1, -0.5, -0.25, 0.25, 0.5, 1]))
        shape = shapely.Polygon(points)
        expected = shape.buffer(by, quad_segs=64) if shape.is_valid else shapely.Polygon()
        if not one_piece(expected):
            continue
        compared += 1
        assert same_outline(offset_outline(points, by_mm=by), expected.exterior.coords, 0.01)
    assert compared > 100


def test_walls_that_meet_to_the_last_bit_do_no_harm() -> None:
    # Unions of rectangles on a grid of whole millimetres: threads, slits and cusps of no width wherever an offset of
    # whole or half millimetres is half the way across. The library drops them too; of a cusp it keeps the tip.
    rng = np.random.default_rng(27)
    compared = 0
    while compared < 500:
        low = rng.integers(-10, 10, (rng.integers(2, 7), 2))
        shape = shapely.union_all(shapely.box(*low.T, *(low + rng.integers(2, 12, low.shape)).T))
        by = float(rng.choice([-2, -1.5, -1, -0.5, 0.5, 1, 1.5, 2]))
        # Where a hair more or less decides whether it is one piece, either answer is right.
        if not one_piece(shape) or one_piece(shape.buffer(by - 1e-6)) != one_piece(shape.buffer(by + 1e-6)):
            continue
        compared += 1
        points = np.array(shape.exterior.coords)[:-1]
        if rng.integers(2):
            points = np.stack([points, (2 * points + np.roll(points, -1, axis=0)) / 3], axis=1).reshape(-1, 2)
        expected, offset = shape.buffer(by, quad_segs=64), offset_or_none(points, by)
        assert (offset is not None) == one_piece(expected)
        if offset is not None:
            assert same_outline(offset, expected.exterior.coords, 0.1)
            assert shapely.Polygon(offset).symmetric_difference(expected).area <= 0.0025 * expected.length


@pytest.mark.parametrize("width", [10.0**-digits for digits in range(2, 9)])
@pytest.mark.parametrize("tip", [14.0, 3.0], ids=["needle", "cut"])
def test_a_needle_and_a_cut_are_followed_however_thin(width: float, tip: float) -> None:
    # On the upper side of a square: a needle 4 mm high, or a cut 7 mm deep.
    points = [[-10, -10], [10, -10], [10, 10], [1.3 + width, 10], [1.3 + 0.3 * width, tip], [1.3, 10], [-10, 10]]
    for by in (-1.0, -0.2, 0.2, 1.0):
        expected = shapely.Polygon(points).buffer(by, quad_segs=64)
        assert same_outline(offset_outline(points, by_mm=by), expected.exterior.coords, 0.01)


def test_points_a_hair_apart_do_no_harm() -> None:
    rng = np.random.default_rng(25)
    compared = 0
    for number in range(150):
        points = boxed(MAKERS[number % 5](rng), 55, 40)
        places = np.sort(rng.integers(0, len(points), 10))
        hair = rng.normal(size=(10, 2)) * 10.0 ** rng.uniform(-8, -3)
        points = np.insert(points, places, points[places] + hair, axis=0)
        by = float(rng.uniform(-2, 2))
        shape = shapely.Polygon(points)
        expected = shape.buffer(by, quad_segs=64) if shape.is_valid else shapely.Polygon()
        if not one_piece(expected):
            continue
        compared += 1
        assert same_outline(offset_outline(points, by_mm=by), expected.exterior.coords, 0.01)
    assert compared > 40
