"""Volume against caps of spheres, against counting on a grid, and against what cutting a lens in two must keep."""

import math
from typing import Any

import numpy as np
import pytest
import shapely
import shapely.ops
from core_bodies import Lens, random_lens, random_pole, random_prism, reached
from core_shapes import boxed, smooth, star
from core_solids import Solid
from core_strategies import steady
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad

from optics_core.errors import DomainError
from optics_core.thickness import LensBody, lens_body, round_blank, thickness_at
from optics_core.volume import lens_volume, lens_weight

CENTRED = {"x_mm": 0.0, "y_mm": 0.0}


def cap(power_d: float, index: float, diameter_mm: float) -> float:
    """What a sphere of that power cuts off a cylinder, between its vertex plane and itself (handbook, "Weight").

    Z = (pi d^2 / 4) h - pi h^2 (r - h / 3), the sag h by Pythagoras.
    """
    radius = 1000 * (index - 1) / power_d
    depth = radius - math.sqrt(radius**2 - diameter_mm**2 / 4)
    return math.pi * diameter_mm**2 / 4 * depth - math.pi * depth**2 * (radius - depth / 3)


@pytest.mark.parametrize(
    ("front", "back", "index", "diameter", "within"),
    [
        (3.0, -9.0, 1.498, 50.0, 1e-6),
        (7.0, -3.0, 1.498, 50.0, 1e-6),
        (9.5, -2.0, 1.74, 75.0, 1e-6),
        (2.0, -15.2, 1.6, 70.0, 1e-6),  # (c h)^2 0.79
        (2.0, -16.0, 1.6, 70.0, 1e-6),  # 0.87
        (1.0, -18.0, 1.67, 72.0, 1e-6),  # 0.94
        (0.5, -14.2, 1.5, 70.0, 1e-4),  # nearly half a ball
    ],
)
def test_round_spherical_lenses_have_the_volume_of_their_caps(
    front: float, back: float, index: float, diameter: float, within: float
) -> None:
    centre = 12.0
    body = LensBody(index, front, back, back, 180.0, centre, 0.0, 0.0)
    count = 36_000  # so many that the straight sides between them cost 5e-9 of the area
    points = round_blank(diameter_mm=diameter, x_mm=3.0, y_mm=-1.0, count=count)
    caps = math.pi * diameter**2 / 4 * centre - cap(front, index, diameter) + cap(-back, index, diameter)
    assert lens_volume(points, body, x_mm=3.0, y_mm=-1.0) == pytest.approx(caps, rel=within)


def test_counting_little_columns_gives_the_same_volume_to_a_thousandth() -> None:
    rng = np.random.default_rng(21)
    seen = 0
    for maker in (smooth, star) * 12:
        lens, prism, pole = random_lens(rng), random_prism(rng, 3.0), random_pole(rng)
        points = boxed(maker(rng), rng.uniform(40, 58), rng.uniform(25, 45))
        if not reached(lens, points, pole):
            continue
        seen += 1
        body = lens_body(**lens, **prism, centre_mm=9.0)
        low, high = points.min(axis=0), points.max(axis=0)
        step = 0.05
        x, y = np.meshgrid(np.arange(low[0] + step / 2, high[0], step), np.arange(low[1] + step / 2, high[1], step))
        within = shapely.contains_xy(shapely.Polygon(points), x, y)
        columns = thickness_at(body, x_mm=x[within] - pole["x_mm"], y_mm=y[within] - pole["y_mm"])
        assert lens_volume(points, body, **pole) == pytest.approx(columns.sum() * step**2, rel=1e-3)
    assert seen >= 12


def test_a_solid_cut_by_lines_and_summed_by_another_quadrature_has_the_same_volume() -> None:
    # A triangle, so that its borders are plain; the thickness is found by root finding (core_solids).
    corners = np.array([[-8.0, -9.0], [14.0, -6.0], [2.0, 12.0]])
    for seed, pole in ((1, {"x_mm": 0.0, "y_mm": 0.0}), (2, {"x_mm": 9.0, "y_mm": 7.0})):
        rng = np.random.default_rng(seed)
        lens = random_lens(rng) | random_prism(rng, 3.0) | {"centre_mm": 7.0}
        solid = Solid(**lens)

        def column(v: float, u: float, solid: Solid = solid, pole: Lens = pole) -> float:
            x, y = corners[0] + u * (1 - v) * (corners[1] - corners[0]) + u * v * (corners[2] - corners[0])
            return solid.thickness(x - pole["x_mm"], y - pole["y_mm"]) * u

        twice_area = 2 * shapely.Polygon(corners).area
        summed, _ = dblquad(column, 0, 1, 0, 1, epsabs=1e-5, epsrel=1e-7)
        assert lens_volume(corners, lens_body(**lens), **pole) == pytest.approx(twice_area * summed, rel=1e-6)


def test_the_parts_of_a_lens_cut_in_two_weigh_what_it_weighed() -> None:
    rng = np.random.default_rng(9)
    seen = 0
    for _ in range(60):
        lens, prism, pole = random_lens(rng), random_prism(rng), random_pole(rng)
        points = boxed(smooth(rng), rng.uniform(40, 58), rng.uniform(25, 45))
        if not reached(lens, points, pole):
            continue
        body = lens_body(**lens, **prism, centre_mm=12.0)
        whole = lens_volume(points, body, **pole)
        cut = shapely.LineString([(rng.uniform(-9, 9), -90), (rng.uniform(-9, 9), 90)])
        parts = shapely.ops.split(shapely.Polygon(points), cut).geoms
        assert len(parts) >= 2
        summed = sum(lens_volume(shapely.get_coordinates(part.exterior)[:-1], body, **pole) for part in parts)
        assert summed == pytest.approx(whole, rel=1e-6)
        seen += 1
    assert seen >= 30


def test_a_hollow_outline_and_a_pole_outside_it_need_no_care() -> None:
    # A lens shape with a bay that reaches the middle, the pole in the bay or far out: box less bay.
    box = np.array([[24.0, 16.0], [-24.0, 16.0], [-24.0, -16.0], [24.0, -16.0]])
    bay = np.array([[6.0, 16.0], [0.0, -4.0], [-6.0, 16.0]])
    bent = np.array([*box[:1], *bay, *box[1:]])
    body = lens_body(sphere_d=-3.0, cylinder_d=-2.0, axis_deg=35.0, index=1.6, front_power_d=4.0, centre_mm=2.0)
    for x, y in ((0.0, 8.0), (0.0, -12.0), (30.0, 5.0), (0.0, 16.0), (24.0, 16.0)):
        expected = lens_volume(box, body, x_mm=x, y_mm=y) - lens_volume(bay, body, x_mm=x, y_mm=y)
        assert lens_volume(bent, body, x_mm=x, y_mm=y) == pytest.approx(expected, rel=1e-7)
        assert lens_volume(bent[::-1], body, x_mm=x, y_mm=y) == pytest.approx(expected, rel=1e-7)


def test_a_thicker_centre_adds_the_area_and_a_prism_its_moment() -> None:
    rng = np.random.default_rng(14)
    for _ in range(40):
        pole, points = random_pole(rng), boxed(smooth(rng), rng.uniform(40, 58), rng.uniform(25, 45))
        shape = shapely.Polygon(points)
        plain = LensBody(1.6, 4.0, -7.0, -9.0, 33.0, 6.0, 0.0, 0.0)
        volume = lens_volume(points, plain, **pole)
        thicker = LensBody(1.6, 4.0, -7.0, -9.0, 33.0, 8.5, 0.0, 0.0)
        assert lens_volume(points, thicker, **pole) - volume == pytest.approx(2.5 * shape.area, rel=1e-9)
        wedged = LensBody(1.6, 4.0, -7.0, -9.0, 33.0, 6.0, 3.0, -2.0)
        from_pole = shape.centroid.x - pole["x_mm"], shape.centroid.y - pole["y_mm"]
        moment = (3.0 * from_pole[0] - 2.0 * from_pole[1]) / 60.0 * shape.area
        assert lens_volume(points, wedged, **pole) - volume == pytest.approx(moment, abs=1e-7)


def test_no_prism_changes_not_a_digit_of_the_volume() -> None:
    points = round_blank(diameter_mm=60.0, x_mm=0.0, y_mm=0.0)
    lens = {"sphere_d": -2.0, "cylinder_d": -1.0, "axis_deg": 70.0, "index": 1.6, "front_power_d": 5.0}
    plain = lens_body(**lens, centre_mm=2.0)
    assert lens_volume(points, plain, **CENTRED) == lens_volume(
        points, lens_body(**lens, centre_mm=2.0, prism_x_pd=0.0, prism_y_pd=-0.0), **CENTRED
    )


@steady
@given(st.floats(0, 20_000), st.floats(1, 4.1), st.floats(0.1, 3))
def test_the_weight_goes_with_the_volume_and_with_the_density(volume: float, density: float, factor: float) -> None:
    weight = lens_weight(volume_mm3=volume, density_g_cm3=density)
    assert lens_weight(volume_mm3=volume, density_g_cm3=factor * density) == pytest.approx(factor * weight, rel=1e-14)
    assert lens_weight(volume_mm3=factor * volume, density_g_cm3=density) == pytest.approx(factor * weight, rel=1e-14)


def test_a_cubic_centimetre_of_density_1_weighs_a_gram() -> None:
    assert lens_weight(volume_mm3=1000.0, density_g_cm3=1.0) == 1.0


# --- what is refused ------------------------------------------------------------------------------------------------


def test_a_lens_whose_surfaces_cross_before_its_edge_is_refused() -> None:
    points = round_blank(diameter_mm=60.0, x_mm=0.0, y_mm=0.0)
    thin = lens_body(sphere_d=6.0, cylinder_d=0.0, axis_deg=None, index=1.5, front_power_d=10.0, centre_mm=2.0)
    with pytest.raises(DomainError) as refusal:
        lens_volume(points, thin, **CENTRED)
    assert refusal.value.argument == "points"
    assert isinstance(refusal.value.value, float)
    assert refusal.value.value < 0


@pytest.mark.parametrize("back", [(-30.0, -30.0), (-30.0, -8.0), (-8.0, -30.0)])
def test_a_surface_that_does_not_reach_the_outline_is_refused(back: tuple[float, float]) -> None:
    # Radius 16.7 mm; the quadrature's own points would not notice, for they stay within the edge.
    with pytest.raises(DomainError) as refusal:
        lens_volume(
            round_blank(diameter_mm=33.4, x_mm=0.0, y_mm=0.0), LensBody(1.5, 2.0, *back, 90.0, 2.0, 0.0, 0.0), **CENTRED
        )
    assert refusal.value.argument == "points"


@pytest.mark.parametrize(
    ("given_value", "argument"),
    [
        ({"volume_mm3": -1.0}, "volume_mm3"),
        ({"density_g_cm3": 0.0}, "density_g_cm3"),
        ({"density_g_cm3": -1.2}, "density_g_cm3"),
    ],
)
def test_no_negative_volume_and_no_weightless_material(given_value: dict[str, Any], argument: str) -> None:
    with pytest.raises(DomainError) as refusal:
        lens_weight(**{"volume_mm3": 1.0, "density_g_cm3": 1.0} | given_value)
    assert refusal.value.argument == argument


def test_many_lenses_at_once_are_refused() -> None:
    many = lens_body(
        sphere_d=np.array([-1.0, -2.0]), cylinder_d=0.0, axis_deg=None, index=1.5, front_power_d=5.0, centre_mm=2.0
    )
    with pytest.raises(DomainError) as refusal:
        lens_volume(round_blank(diameter_mm=60.0, **CENTRED), many, **CENTRED)
    assert refusal.value.argument == "body"
