"""Many lenses at once against the functions for one lens, and against what turning, mirroring and slicing must keep.

The one-lens functions are held against the outside in test_core_thickness.py and test_core_volume.py.
"""

import math
from typing import Any

import numpy as np
import pytest
from core_bodies import Lens, random_lens, random_pole, random_prism
from core_shapes import boxed, smooth, star

from optics_core.errors import DomainError
from optics_core.solids import Solids, lens_solids
from optics_core.thickness import centre_for, edge_profile, lens_body
from optics_core.volume import lens_volume

PER_LENS = ("centre_mm", "thinnest_mm", "thinnest_index", "thickest_mm", "thickest_index", "volume_mm3", "edge_mm")
NO_PRISM = {"prism_x_pd": 0.0, "prism_y_pd": 0.0}
LEAST = {"least_centre_mm": 1.5, "least_edge_mm": 1.0}
MINUS = {"sphere_d": -4.0, "cylinder_d": -1.25, "axis_deg": 20.0, "index": 1.6, "front_power_d": 4.0}
PLUS = {"sphere_d": 4.0, "cylinder_d": -1.25, "axis_deg": 20.0, "index": 1.6, "front_power_d": 9.0}


class Slice:
    """Random lenses, each with its outline of n points, as columns and one by one."""

    def __init__(self, seed: int, many: int, count: int, **ways: Any) -> None:
        rng = np.random.default_rng(seed)
        self.lenses: list[Lens] = []
        outlines = []
        for number in range(many):
            lens = random_lens(rng) | NO_PRISM
            if ways.get("prism") and number % 2:
                lens |= random_prism(rng, 4.0)
            lens |= {"least_centre_mm": rng.uniform(0, 3), "least_edge_mm": rng.uniform(0, 3)}
            pole = random_pole(rng)
            if ways.get("outside") and number % 4 == 0:
                pole = {"x_mm": rng.uniform(26, 34), "y_mm": rng.uniform(-12, 12)}
            shape = boxed(ways.get("maker", smooth)(rng), rng.uniform(40, 58), rng.uniform(25, 45))
            points = with_count(shape, count) - [pole["x_mm"], pole["y_mm"]]
            self.lenses.append(lens)
            outlines.append(points[::-1] if number % 5 == 3 else points)
        self.points = np.array(outlines)

    def figures(self) -> dict[str, np.ndarray]:
        return {name: np.array([lens[name] for lens in self.lenses]) for name in self.lenses[0]}

    def solids(self, rows: Any = slice(None), **changed: Any) -> Solids:
        given = {name: values[rows] for name, values in self.figures().items()} | changed
        return lens_solids(self.points[rows, :, 0], self.points[rows, :, 1], **given)


def with_count(points: np.ndarray, count: int) -> np.ndarray:
    """The same shape with so many points, at even steps along its list of points: corners may be cut."""
    at, known = np.linspace(0, len(points), count, endpoint=False), np.arange(len(points) + 1)
    x, y = (np.interp(at, known, np.append(points[:, axis], points[0, axis])) for axis in (0, 1))
    return np.column_stack((x, y))


def one_by_one(lens: Lens, points: np.ndarray) -> tuple[float, np.ndarray, float] | None:
    """Centre, edge and volume from the functions for one lens; None where they refuse."""
    least = {name: lens[name] for name in LEAST}
    plain = {name: value for name, value in lens.items() if name not in LEAST}
    at_pole = {"x_mm": 0.0, "y_mm": 0.0}
    try:
        centre = centre_for(points, **plain, **least, **at_pole)
        body = lens_body(**plain, centre_mm=centre)
        # lens_volume takes no edge below 0, not even by a rounding.
        sound = lens_body(**plain, centre_mm=centre + 1e-9)
        return centre, edge_profile(points, body, **at_pole), lens_volume(points, sound, **at_pole)
    except DomainError:
        return None


SLICES = [
    (24, {}), (36, {}), (72, {}), (400, {}), (40, {"prism": True}), (36, {"outside": True}),
    (36, {"maker": star}), (48, {"maker": star, "prism": True, "outside": True}),
]  # fmt: skip


# 8 times 215 lenses.
@pytest.mark.parametrize(("many", "times"), [(1, 32), (4, 2), (175, 1)])
@pytest.mark.parametrize(
    ("count", "ways"), SLICES, ids=lambda given: "-".join(given) if isinstance(given, dict) else str(given)
)
def test_many_lenses_have_the_figures_each_has_by_itself(
    count: int, ways: dict[str, Any], many: int, times: int
) -> None:
    possible, off = 0, [0.0]
    for seed in range(times):
        some = Slice(1000 * seed + count + many, many, count, **ways)
        together = some.solids()
        for row, (lens, points) in enumerate(zip(some.lenses, some.points, strict=True)):
            alone = one_by_one(lens, points)
            if alone is None:
                assert math.isnan(together.centre_mm[row])
                continue
            possible += 1
            centre, edge, volume = alone
            assert together.centre_mm[row] == pytest.approx(centre, rel=1e-9, abs=1e-9)
            assert together.edge_mm[row] == pytest.approx(edge, rel=1e-9, abs=1e-9)
            off.append(abs(together.volume_mm3[row] / volume - 1))
    assert possible >= 0.5 * many * times
    # Jagged outlines and poles outside have long sides and parts that take away: ten times the error at the worst.
    assert max(off) < (1e-5 if ways in ({}, {"prism": True}) else 1e-4)


def test_thinnest_and_thickest_are_the_edge_at_their_points() -> None:
    some = Slice(3, 60, 36, prism=True)
    solids = some.solids()
    for row in np.flatnonzero(~np.isnan(solids.centre_mm)):
        edge = solids.edge_mm[row]
        assert solids.thinnest_mm[row] == edge[solids.thinnest_index[row]] == edge.min()
        assert solids.thickest_mm[row] == edge[solids.thickest_index[row]] == edge.max()
    assert np.array_equal(solids.front_power_d, some.figures()["front_power_d"])


def test_a_lens_without_prism_is_exactly_thick_enough_at_its_pole_or_at_its_edge() -> None:
    some = Slice(8, 400, 36)
    solids, figures = some.solids(), some.figures()
    made = ~np.isnan(solids.centre_mm)
    at_pole = (solids.centre_mm - figures["least_centre_mm"])[made]
    at_edge = (solids.thinnest_mm - figures["least_edge_mm"])[made]
    assert np.minimum(at_pole, at_edge).min() > -1e-9
    assert np.minimum(at_pole, at_edge).max() < 1e-9
    assert (at_pole > 0.01).sum() > 50  # ruled by their edge
    assert (at_edge > 0.01).sum() > 50  # ruled by their centre


# --- the volume -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("front", "back", "index", "diameter"),
    [(3.0, -9.0, 1.498, 50.0), (7.0, -3.0, 1.498, 50.0), (9.5, -2.0, 1.74, 75.0), (2.0, -15.2, 1.6, 70.0)],
)
def test_round_spherical_lenses_have_the_volume_of_their_caps(
    front: float, back: float, index: float, diameter: float
) -> None:
    # Handbook, "Weight": (pi d^2 / 4) t - Z(F1) + Z(F2), Z = (pi d^2 / 4) h - pi h^2 (r - h / 3).
    def cap(power: float) -> float:
        radius = 1000 * (index - 1) / power
        depth = radius - math.sqrt(radius**2 - diameter**2 / 4)
        return math.pi * diameter**2 / 4 * depth - math.pi * depth**2 * (radius - depth / 3)

    centre = 12.0
    turn = np.linspace(0, 2 * np.pi, 36_000, endpoint=False)  # straight sides cost 5e-9 of the area
    sphere = front / (1 - centre / 1000 / index * front) + back
    solids = lens_solids(
        [diameter / 2 * np.cos(turn)], [diameter / 2 * np.sin(turn)], sphere_d=sphere, cylinder_d=0.0, axis_deg=None,
        index=index, front_power_d=front, **NO_PRISM, **LEAST, centre_mm=centre,
    )  # fmt: skip
    caps = math.pi * diameter**2 / 4 * centre - cap(front) + cap(-back)
    assert solids.volume_mm3[0] == pytest.approx(caps, rel=1e-8)


def test_lenses_with_long_sides_or_nearly_half_a_ball_have_their_volume_all_the_same() -> None:
    square = np.array([[20.0, 20.0], [-20.0, 20.0], [-20.0, -20.0], [20.0, -20.0]])
    turn = np.linspace(0, 2 * np.pi, 4, endpoint=False)
    diamond = np.column_stack((6 * np.cos(turn), 6 * np.sin(turn)))
    deep = MINUS | {"sphere_d": -12.0, "index": 1.5}
    far = diamond + np.array([21.5, 0.0])
    # Its back has about -12 - 1.25 - 4.05 D at the most.
    assert 0.8 < (17.3 / 500 * np.hypot(*far.T).max()) ** 2 < 0.95
    # Sides of 40 mm are halved; the half ball is left to the function for one lens.
    for lens, points, within in ((MINUS, square, 1e-5), (PLUS, square, 1e-5), (deep, far, 1e-9)):
        solids = lens_solids(points[None, :, 0], points[None, :, 1], **lens, **NO_PRISM, **LEAST)
        expected = one_by_one(lens | NO_PRISM | LEAST, points)
        assert expected is not None
        assert solids.volume_mm3[0] == pytest.approx(expected[2], rel=within)


def test_a_long_side_is_noticed_wherever_its_lens_stands() -> None:
    some = Slice(6, 200, 36)  # more points than are worked on at once
    for row in (2, 190):
        some.points[row, 0] *= 1.9
    solids = some.solids()
    for row in (2, 190):
        expected = one_by_one(some.lenses[row], some.points[row])
        assert expected is not None
        assert solids.volume_mm3[row] == pytest.approx(expected[2], rel=3e-6)
        alone = lens_solids(*some.points[row].T[:, None], **some.lenses[row])
        assert solids.volume_mm3[row] == pytest.approx(alone.volume_mm3[0], rel=1e-11)


def test_an_edge_of_nothing_at_all_has_a_volume() -> None:
    some = Slice(5, 80, 36, maker=star)
    solids = some.solids(least_edge_mm=0.0, least_centre_mm=0.0)
    made = ~np.isnan(solids.centre_mm)
    assert (np.abs(solids.thinnest_mm[made]) < 1e-9).sum() > 10
    assert (solids.volume_mm3[made] > 0).all()
    square = np.array([[20.0, -20.0, -20.0, 20.0], [20.0, 20.0, -20.0, -20.0]])
    for index in np.linspace(1.5, 1.7, 20).tolist():
        nothing = {"least_centre_mm": 0.0, "least_edge_mm": 0.0}
        solids = lens_solids(square[:1] + 2.0, square[1:], **(PLUS | {"index": index}), **NO_PRISM, **nothing)
        assert abs(solids.thinnest_mm[0]) < 1e-9
        assert solids.volume_mm3[0] > 1000.0


def test_a_pole_on_the_outline_needs_no_care() -> None:
    turn = np.linspace(0, 2 * np.pi, 36, endpoint=False)
    points = np.column_stack((24 * np.cos(turn) - 24, 18 * np.sin(turn)))
    assert np.hypot(*points.T).min() == 0
    between = points - (points[0] + points[1]) / 2  # the pole in the middle of a side
    solids = lens_solids([points[:, 0], between[:, 0]], [points[:, 1], between[:, 1]], **MINUS, **NO_PRISM, **LEAST)
    for row, outline in enumerate((points, between)):
        expected = one_by_one(MINUS | NO_PRISM | LEAST, outline)
        assert expected is not None
        assert solids.volume_mm3[row] == pytest.approx(expected[2], rel=1e-5)


# --- what must not matter -------------------------------------------------------------------------------------------


def same(one: Solids, other: Solids, rows: Any = slice(None), within: float = 1e-11) -> None:
    for name in PER_LENS:
        np.testing.assert_allclose(getattr(one, name)[rows], getattr(other, name), rtol=within, atol=within)


@pytest.mark.parametrize("rows", [slice(0, 1), slice(3, 5), slice(100, 400), slice(0, None, 7)])
def test_a_slice_has_the_figures_it_has_within_the_whole(rows: slice) -> None:
    some = Slice(12, 450, 36, prism=True)  # more points than are worked on at once
    same(some.solids(), some.solids(rows), rows)


def test_the_order_of_the_lenses_does_not_matter() -> None:
    some = Slice(13, 300, 36, prism=True)
    order = np.random.default_rng(1).permutation(300)
    same(some.solids(), some.solids(order), order)


@pytest.mark.parametrize("many", [2, 120])
def test_mirrored_lenses_mirror(many: int) -> None:
    some = Slice(14, many, 36, prism=True)
    mirrored = {
        "axis_deg": 180.0 - some.figures()["axis_deg"], "prism_x_pd": -some.figures()["prism_x_pd"]
    }  # fmt: skip
    one = some.solids()
    some.points = some.points * [-1.0, 1.0]
    same(one, some.solids(**mirrored), within=1e-9)


@pytest.mark.parametrize("many", [2, 120])
def test_the_notation_does_not_matter(many: int) -> None:
    some = Slice(15, many, 36, prism=True)
    figures = some.figures()
    transposed = {
        "sphere_d": figures["sphere_d"] + figures["cylinder_d"], "cylinder_d": -figures["cylinder_d"],
        "axis_deg": figures["axis_deg"] + 90.0,
    }  # fmt: skip
    one, other = some.solids(), some.solids(**transposed)
    for name in ("centre_mm", "edge_mm", "volume_mm3"):
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), rtol=1e-9)


@pytest.mark.parametrize("many", [2, 120])
@pytest.mark.parametrize("given", [{}, {"centre_mm": 1.2}])
def test_without_its_volume_a_lens_is_the_same_to_the_last_digit(many: int, given: dict[str, float]) -> None:
    some = Slice(19, many, 36, prism=True, outside=True)
    whole, without = some.solids(**given), some.solids(with_volume=False, **given)
    assert not np.isnan(whole.volume_mm3).all()
    assert np.isnan(without.volume_mm3).all()
    for name in ("front_power_d", "centre_mm", "thinnest_mm", "thinnest_index", "thickest_mm", "thickest_index"):
        np.testing.assert_array_equal(getattr(whole, name), getattr(without, name))
    np.testing.assert_array_equal(whole.edge_mm, without.edge_mm)


@pytest.mark.parametrize("many", [2, 120])
def test_the_outline_may_begin_anywhere(many: int) -> None:
    some = Slice(16, many, 36)
    one = some.solids()
    some.points = np.roll(some.points, 7, axis=1)
    other = some.solids()
    for name in ("centre_mm", "thinnest_mm", "thickest_mm", "volume_mm3"):
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), rtol=1e-9)


@pytest.mark.parametrize("many", [2, 9])
def test_numbers_for_all_are_numbers_for_each(many: int) -> None:
    some = Slice(17, many, 36)
    x, y = some.points[:, :, 0], some.points[:, :, 1]
    for lens in (MINUS, PLUS):
        each = {name: np.full(many, value) for name, value in (lens | NO_PRISM | LEAST).items()}
        lists = {name: values.tolist() for name, values in each.items()}
        whole = {name: [round(value)] * many if value == round(value) else value for name, value in lens.items()}
        one = lens_solids(x, y, **lens, **NO_PRISM, **LEAST)
        for other in (
            lens_solids(x, y, **each),
            lens_solids(list(x), list(y), **lists),
            lens_solids(x, y, **whole, **NO_PRISM, **LEAST),
        ):
            same(one, other, within=0.0)


def test_a_lens_without_cylinder_needs_no_axis() -> None:
    some = Slice(18, 3, 36)
    x, y = some.points[:, :, 0], some.points[:, :, 1]
    others = {"sphere_d": -2.0, "index": 1.5, "front_power_d": 5.0, **NO_PRISM, **LEAST}
    one = lens_solids(x, y, cylinder_d=0.0, axis_deg=180.0, **others)
    same(one, lens_solids(x, y, cylinder_d=0.0, axis_deg=None, **others))
    same(one, lens_solids(x, y, cylinder_d=np.zeros(3), axis_deg=np.array([math.nan, 180.0, math.nan]), **others))


# --- a centre that is given, and what cannot be made ----------------------------------------------------------------


@pytest.mark.parametrize("many", [2, 90])
def test_a_centre_that_is_given_is_taken_as_it_is(many: int) -> None:
    some = Slice(20, many, 36, prism=True)
    given = np.linspace(2.0, 9.0, many)
    solids = some.solids(centre_mm=given)
    crossed = 0
    for row, (lens, points) in enumerate(zip(some.lenses, some.points, strict=True)):
        if np.isnan(solids.centre_mm[row]):
            continue
        assert solids.centre_mm[row] == given[row]
        plain = {name: value for name, value in lens.items() if name not in LEAST}
        body = lens_body(**plain, centre_mm=given[row])
        edge = edge_profile(points, body, x_mm=0.0, y_mm=0.0)
        assert solids.edge_mm[row] == pytest.approx(edge, abs=1e-9)
        assert solids.thinnest_mm[row] == pytest.approx(edge.min(), abs=1e-9)
        if edge.min() < 0:
            crossed += 1
            assert math.isnan(solids.volume_mm3[row])
        else:
            volume = lens_volume(points, body, x_mm=0.0, y_mm=0.0)
            assert solids.volume_mm3[row] == pytest.approx(volume, rel=1e-5)
    assert many == 2 or crossed > 5
    same(some.solids(centre_mm=3.0), some.solids(centre_mm=[3.0] * many))


@pytest.mark.parametrize("many", [3, 60])
def test_a_lens_that_cannot_be_made_is_nan_and_spoils_no_other(many: int) -> None:
    some = Slice(21, many, 36)
    figures = some.figures() | {"sphere_d": np.full(many, -3.0), "front_power_d": np.full(many, 4.0)}
    x, y = some.points[:, :, 0].copy(), some.points[:, :, 1].copy()
    sound = lens_solids(x, y, **figures)
    assert not np.isnan(sound.volume_mm3).any()
    others = np.arange(many) != 1
    too_wide = x.copy()
    too_wide[1] *= 10.0
    too_strong = figures["sphere_d"].copy()
    too_strong[1] = -60.0
    too_hot = figures["front_power_d"].copy()
    too_hot[1] = 900.0  # focuses within 2 mm
    for changed in ({"x": too_wide}, {"sphere_d": too_strong}, {"front_power_d": too_hot}):
        given = {"x": x, **figures, **changed}
        solids = lens_solids(given.pop("x"), y, **given)
        for name in ("centre_mm", "thinnest_mm", "thickest_mm", "volume_mm3", "edge_mm"):
            assert np.isnan(getattr(solids, name)[1]).all(), name
            assert np.array_equal(getattr(solids, name)[others], getattr(sound, name)[others]), name
        assert solids.front_power_d[1] == given["front_power_d"][1]


def test_the_figures_given_are_left_as_they_were() -> None:
    some = Slice(22, 9, 36)
    some.points[1] *= 9.0
    before, centre = some.points.copy(), np.full(9, 4.0)
    figures = some.figures()
    copies = {name: values.copy() for name, values in figures.items()}
    for given in ({}, {"centre_mm": centre}):
        solids = lens_solids(some.points[:, :, 0], some.points[:, :, 1], **figures, **given)
        assert np.isnan(solids.centre_mm[1])
        solids.front_power_d[:] = solids.centre_mm[:] = 0.0
    assert np.array_equal(before, some.points)
    assert (centre == 4.0).all()
    assert all(np.array_equal(copies[name], figures[name]) for name in figures)


# --- what is refused ------------------------------------------------------------------------------------------------

X, Y = (np.array([[10.0, -10.0, -10.0, 10.0]] * 2) * [[1.0], [1.1]] for _ in range(2))
Y = Y * [1.0, 1.0, -1.0, -1.0]


@pytest.mark.parametrize(
    ("argument", "x", "y"),
    [
        ("x_mm", X[0], Y),
        ("x_mm", X[:, :2], Y[:, :2]),
        ("x_mm", X[:0], Y[:0]),
        ("x_mm", [X[0], X[1, :3]], Y),
        ("x_mm", X.astype(str), Y),
        ("x_mm", X > 0, Y),
        ("x_mm", None, Y),
        ("y_mm", X, Y[:1]),
        ("y_mm", X, Y[:, :3]),
        ("x_mm", np.where(X > 0, X, np.nan), Y),
        ("x_mm", np.where(X > 0, X, np.inf), Y),
        ("y_mm", X, np.where(Y > 0, Y, -np.inf)),
    ],
)
def test_outlines_are_refused_that_are_none(argument: str, x: Any, y: Any) -> None:
    with pytest.raises(DomainError) as refusal:
        lens_solids(x, y, **MINUS, **NO_PRISM, **LEAST)
    assert refusal.value.argument == argument


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"index": 1.0}, "index"),
        ({"index": np.array([1.5, 0.9])}, "index"),
        ({"least_centre_mm": -0.1}, "least_centre_mm"),
        ({"least_edge_mm": [1.0, -0.1]}, "least_edge_mm"),
        ({"centre_mm": -0.1}, "centre_mm"),
        ({"centre_mm": math.nan}, "centre_mm"),
        ({"centre_mm": [2.0, math.inf]}, "centre_mm"),
        ({"centre_mm": "2.0"}, "centre_mm"),
        ({"centre_mm": [2.0]}, "centre_mm"),
        ({"sphere_d": [-1.0, math.nan]}, "sphere_d"),
        ({"sphere_d": [-1.0, True]}, "sphere_d"),
        ({"sphere_d": [-1.0, "2"]}, "sphere_d"),
        ({"sphere_d": np.array([-1.0])}, "sphere_d"),
        ({"sphere_d": np.array([[-1.0, -2.0]])}, "sphere_d"),
        ({"cylinder_d": np.array([-1.0, -2.0, -3.0])}, "cylinder_d"),
        ({"axis_deg": None}, "axis_deg"),
        ({"axis_deg": np.array([90.0, math.nan])}, "axis_deg"),
        ({"front_power_d": np.array([True, False])}, "front_power_d"),
    ],
)
def test_figures_are_refused_by_name(changed: dict[str, Any], argument: str) -> None:
    with pytest.raises(DomainError) as refusal:
        lens_solids(X, Y, **(MINUS | NO_PRISM | LEAST | changed))
    assert refusal.value.argument == argument
