"""Thickness against a solid cut by root finding, the least centre against its own three rules, edges against looking."""

import math
from typing import Any

import numpy as np
import pytest
import shapely
from core_bodies import Lens, random_lens, random_pole, random_prism, random_shape, reached
from core_shapes import boxed, smooth
from core_solids import Solid
from core_strategies import axes, cylinders, powers, steady
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize

from optics_core.centre_thickness import edges_on_blank
from optics_core.errors import DomainError
from optics_core.sphero_cylinder import transposed
from optics_core.surfaces import spherical_sag, surface_curvature
from optics_core.thickness import (
    LensBody,
    centre_for,
    edge_profile,
    edge_summary,
    lens_body,
    round_blank,
    showing,
    thickness_at,
    thinnest_inside,
    usual_front_power,
)

# What a search for the thinnest place is told where there is no lens. [mm]
FAR_TOO_THICK = 1000.0

indices = st.floats(1.49, 1.9)
prisms = st.floats(-5, 5)
places = st.floats(-20, 20)
lenses: st.SearchStrategy[Lens] = st.fixed_dictionaries(
    {
        "sphere_d": st.floats(-10, 6),
        "cylinder_d": st.floats(-4, 4),
        "axis_deg": axes,
        "index": indices,
        "front_power_d": st.floats(0.5, 10),
    }
)


# --- the body -------------------------------------------------------------------------------------------------------


@steady
@given(powers, cylinders, axes, indices, st.floats(-20, 20), st.floats(0, 12))
def test_the_body_has_the_back_vertex_power_prescribed_in_both_meridians(
    sphere: float, cylinder: float, axis: float, index: float, front: float, centre: float
) -> None:
    body = lens_body(
        sphere_d=sphere, cylinder_d=cylinder, axis_deg=axis, index=index, front_power_d=front, centre_mm=centre
    )
    assert body.axis_deg == axis
    # Light from afar: focused by the front, it has t/n metres less to go at the back, where the back adds its power.
    vergence = 0.0 if front == 0 else 1 / (1 / front - centre / 1000 / index)
    assert vergence + body.back_along_d == pytest.approx(sphere, abs=1e-12)
    assert vergence + body.back_across_d == pytest.approx(sphere + cylinder, abs=1e-12)


def test_the_thickness_is_that_of_a_solid_cut_by_a_line_in_600_lenses() -> None:
    rng = np.random.default_rng(6)
    seen, worst = 0, 0.0
    while seen < 600:
        lens = random_lens(rng) | random_prism(rng) | {"centre_mm": rng.uniform(1, 9)}
        place = rng.uniform(-26, 26, 2)
        if not reached(lens, place[None], {"x_mm": 0.0, "y_mm": 0.0}):
            continue
        seen += 1
        body = lens_body(**lens)
        ours = thickness_at(body, x_mm=place[0], y_mm=place[1])
        cut = Solid(**lens).thickness(*place.tolist())
        worst = max(worst, abs(ours - cut))
        at_edge = edge_profile(np.array([[3.0, 1.0], place, [-1.0, 4.0]]), body, x_mm=0.0, y_mm=0.0)
        assert at_edge[1] == pytest.approx(ours, abs=1e-12)
    assert worst < 1e-9


@steady
@given(lenses, st.floats(0, 10), places, places)
def test_no_prism_changes_not_a_digit(lens: Lens, centre: float, x: float, y: float) -> None:
    assume(reached(lens, np.array([[x, y]]), {"x_mm": 0.0, "y_mm": 0.0}))
    plain = lens_body(**lens, centre_mm=centre)
    assert plain == lens_body(**lens, centre_mm=centre, prism_x_pd=0.0, prism_y_pd=0.0)
    scale = 1000 * (lens["index"] - 1)
    flipped = lens | {"prism_x_pd": 0.0, "prism_y_pd": -0.0}
    thickness = thickness_at(plain, x_mm=x, y_mm=y)
    assert thickness == thickness_at(lens_body(**flipped, centre_mm=centre), x_mm=x, y_mm=y)
    # With prism the difference is the wedge alone.
    wedged = thickness_at(lens_body(**lens, centre_mm=centre, prism_x_pd=2.0, prism_y_pd=-1.0), x_mm=x, y_mm=y)
    assert wedged - thickness == pytest.approx(10 * (2.0 * x - 1.0 * y) / scale, abs=1e-13)


def test_a_wedge_of_1_pd_over_50_mm_of_index_1_5_is_1_mm_thicker_at_its_base() -> None:
    # P g / (100 (n - 1)), from memory (the handbook marks it so): 1 x 50 / 50.
    plano = {"sphere_d": 0.0, "cylinder_d": 0.0, "axis_deg": None, "index": 1.5, "front_power_d": 0.0}
    body = lens_body(**plano, centre_mm=2.0, prism_x_pd=0.0, prism_y_pd=1.0)
    up, down = thickness_at(body, x_mm=0.0, y_mm=25.0), thickness_at(body, x_mm=0.0, y_mm=-25.0)
    assert (up, down) == (pytest.approx(2.5), pytest.approx(1.5))


@steady
@given(lenses.filter(lambda lens: abs(lens["cylinder_d"]) > 1e-3), st.floats(0, 10), places, places)
def test_transposed_prescriptions_have_the_same_body(lens: Lens, centre: float, x: float, y: float) -> None:
    assume(reached(lens, np.array([[x, y]]), {"x_mm": 0.0, "y_mm": 0.0}))
    other = transposed(sphere_d=lens["sphere_d"], cylinder_d=lens["cylinder_d"], axis_deg=lens["axis_deg"])
    rewritten = lens | {
        "sphere_d": other.sphere_d, "cylinder_d": other.cylinder_d, "axis_deg": other.axis_deg
    }  # fmt: skip
    first, second = (lens_body(**each, centre_mm=centre) for each in (lens, rewritten))
    assert thickness_at(first, x_mm=x, y_mm=y) == pytest.approx(thickness_at(second, x_mm=x, y_mm=y), abs=1e-12)


def test_transposed_quarters_have_the_same_body_also_where_the_back_is_a_saddle() -> None:
    # Back curvatures of equal size and opposite signs: which circle is swung must not hang on the notation.
    flat_front = {"index": 1.5, "front_power_d": 0.0, "centre_mm": 3.0}
    first = lens_body(sphere_d=2.0, cylinder_d=-4.0, axis_deg=30.0, **flat_front)
    second = lens_body(sphere_d=-2.0, cylinder_d=4.0, axis_deg=120.0, **flat_front)
    for x, y in ((20.0, 5.0), (-10.0, 18.0), (14.0, -14.0)):
        assert thickness_at(first, x_mm=x, y_mm=y) == pytest.approx(thickness_at(second, x_mm=x, y_mm=y), abs=1e-14)


@steady
@given(lenses, prisms, prisms, st.floats(0, 10), places, places)
def test_a_mirrored_lens_is_the_mirror_image(
    lens: Lens, prism_x: float, prism_y: float, centre: float, x: float, y: float
) -> None:
    assume(reached(lens, np.array([[x, y]]), {"x_mm": 0.0, "y_mm": 0.0}))
    right = lens_body(**lens, centre_mm=centre, prism_x_pd=prism_x, prism_y_pd=prism_y)
    left = lens_body(
        **lens | {"axis_deg": 180.0 - lens["axis_deg"]}, centre_mm=centre, prism_x_pd=-prism_x, prism_y_pd=prism_y
    )
    assert thickness_at(right, x_mm=x, y_mm=y) == pytest.approx(thickness_at(left, x_mm=-x, y_mm=y), abs=1e-12)


def test_mirrored_orders_have_mirrored_centres_edges_and_thinnest_places() -> None:
    rng = np.random.default_rng(31)
    for _ in range(60):
        lens, prism, pole, points = random_lens(rng), random_prism(rng, 3.0), random_pole(rng), random_shape(rng)
        if not reached(lens, points, pole):
            continue
        other = lens | {"axis_deg": 180.0 - lens["axis_deg"]}
        flipped = prism | {"prism_x_pd": -prism["prism_x_pd"]}
        across, mirrored = pole | {"x_mm": -pole["x_mm"]}, points * (-1, 1)
        least = {"least_centre_mm": 1.5, "least_edge_mm": 1.2}
        first = centre_for(points, **lens, **prism, **pole, **least)
        second = centre_for(mirrored, **other, **flipped, **across, **least)
        assert first == pytest.approx(second, abs=1e-9)
        bodies = lens_body(**lens, **prism, centre_mm=first), lens_body(**other, **flipped, centre_mm=first)
        edges = edge_profile(points, bodies[0], **pole), edge_profile(mirrored, bodies[1], **across)
        assert edges[0] == pytest.approx(edges[1], abs=1e-12)
        thinnest = thinnest_inside(points, bodies[0], **pole), thinnest_inside(mirrored, bodies[1], **across)
        assert thinnest[0].thickness_mm == pytest.approx(thinnest[1].thickness_mm, abs=1e-11)


@steady
@given(lenses, st.floats(0, 180), places, places)
def test_a_lens_turned_as_a_whole_has_the_same_thickness(lens: Lens, turn: float, x: float, y: float) -> None:
    assume(reached(lens, np.array([[x, y]]), {"x_mm": 0.0, "y_mm": 0.0}))
    moved = complex(x, y) * complex(math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    still = lens_body(**lens, centre_mm=2.0)
    turned = lens_body(**lens | {"axis_deg": lens["axis_deg"] + turn}, centre_mm=2.0)
    assert thickness_at(still, x_mm=x, y_mm=y) == pytest.approx(
        thickness_at(turned, x_mm=moved.real, y_mm=moved.imag), abs=1e-12
    )


@steady
@given(
    st.floats(-12, 0), st.floats(-4, 0), axes, st.floats(0, 8), indices, st.floats(0, 0.4), places, places
)  # fmt: skip
def test_a_higher_index_never_thickens_the_edge_of_a_minus_lens(
    sphere: float, cylinder: float, axis: float, front: float, index: float, more: float, x: float, y: float
) -> None:
    lens = {"sphere_d": sphere, "cylinder_d": cylinder, "axis_deg": axis, "front_power_d": front, "centre_mm": 1.5}
    assume(reached(lens | {"index": index}, np.array([[x, y]]), {"x_mm": 0.0, "y_mm": 0.0}))
    lower, higher = (
        thickness_at(lens_body(**lens, index=each), x_mm=x, y_mm=y) for each in (index, index + more)
    )  # fmt: skip
    assert higher <= lower + 1e-12


def test_arrays_of_lenses_and_of_places_give_what_each_gives_alone() -> None:
    rng = np.random.default_rng(3)
    many = [random_lens(rng) | random_prism(rng) | {"centre_mm": rng.uniform(1, 5)} for _ in range(40)]
    x, y = rng.uniform(-12, 12, (2, 40))
    columns = {name: np.array([lens[name] for lens in many]) for name in many[0]}
    together = thickness_at(lens_body(**columns), x_mm=x, y_mm=y)
    alone = [
        thickness_at(lens_body(**lens), x_mm=float(x[i]), y_mm=float(y[i])) for i, lens in enumerate(many)
    ]  # fmt: skip
    assert together == pytest.approx(np.array(alone), abs=1e-12)
    over_places = thickness_at(lens_body(**many[0]), x_mm=x.reshape(8, 5), y_mm=y.reshape(8, 5))
    first = [thickness_at(lens_body(**many[0]), x_mm=float(u), y_mm=float(v)) for u, v in zip(x, y, strict=True)]
    assert over_places == pytest.approx(np.array(first).reshape(8, 5), abs=1e-12)


@steady
@given(st.floats(-40, 40), st.floats(0, 3))
def test_the_usual_front_grows_with_the_power_and_keeps_its_ends(mean: float, more: float) -> None:
    front = usual_front_power(spherical_equivalent_d=mean)
    assert 0.5 <= front <= 18.0
    assert front <= usual_front_power(spherical_equivalent_d=mean + more) <= front + more + 1e-12


# --- the edge -------------------------------------------------------------------------------------------------------


def test_an_edge_runs_on_without_jumps_the_denser_the_outline_the_smaller_the_steps() -> None:
    rng = np.random.default_rng(17)
    for _ in range(40):
        lens, prism, pole = random_lens(rng), random_prism(rng), random_pole(rng)
        wobble = rng.uniform(0, 0.03, 4), rng.uniform(0, 6, 4)
        steps = []
        for count in (90, 360, 1440):
            turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
            radius = 22 + 22 * sum(a * np.cos((k + 2) * turn + p) for k, (a, p) in enumerate(zip(*wobble, strict=True)))
            points = np.column_stack((radius * np.cos(turn), radius * np.sin(turn)))
            if not reached(lens, points, pole):
                break
            edge = edge_profile(points, lens_body(**lens, **prism, centre_mm=6.0), **pole)
            steps.append(np.abs(np.diff(edge, append=edge[:1])).max())
        else:
            assert steps[1] < steps[0] / 3.5  # a jump would stay as high as it is
            assert steps[2] < steps[1] / 3.9


def test_the_summary_names_the_extremes_of_the_profile_and_where_they_lie() -> None:
    rng = np.random.default_rng(8)
    for _ in range(100):
        lens, prism, pole, points = random_lens(rng), random_prism(rng), random_pole(rng), random_shape(rng)
        if not reached(lens, points, pole):
            continue
        body = lens_body(**lens, **prism, centre_mm=4.0)
        summary, edge = edge_summary(points, body, **pole), edge_profile(points, body, **pole)
        one_by_one = [thickness_at(body, x_mm=px - pole["x_mm"], y_mm=py - pole["y_mm"]) for px, py in points.tolist()]
        assert edge == pytest.approx(np.array(one_by_one), abs=1e-12)
        assert (summary.thinnest_mm, summary.thickest_mm) == (min(edge), max(edge))
        for mm, deg in (
            (summary.thinnest_mm, summary.thinnest_deg), (summary.thickest_mm, summary.thickest_deg),
        ):  # fmt: skip
            assert 0 <= deg < 360
            px, py = points[list(edge).index(mm)]
            assert math.hypot(px, py) * math.cos(math.radians(deg)) == pytest.approx(px, abs=1e-9)
            assert math.hypot(px, py) * math.sin(math.radians(deg)) == pytest.approx(py, abs=1e-9)


def test_a_direction_a_hair_below_plus_x_is_0_and_not_360() -> None:
    minus = lens_body(
        sphere_d=-4.0, cylinder_d=0.0, axis_deg=None, index=1.6, front_power_d=4.0, centre_mm=1.5
    )  # fmt: skip
    points = np.array([[25.0, -1e-18], [0.0, 15.0], [-20.0, 0.0], [0.0, -15.0]])
    assert edge_summary(points, minus, x_mm=0.0, y_mm=0.0).thickest_deg == 0.0


def downhill(body: LensBody, pole: Lens, shape: shapely.Polygon, start: np.ndarray) -> Any:
    """The bottom reached from a place by a search that asks for thicknesses only and keeps within the shape."""

    def depth(place: np.ndarray) -> float:
        if not shapely.contains_xy(shape, *place):
            return FAR_TOO_THICK
        return thickness_at(body, x_mm=float(place[0]) - pole["x_mm"], y_mm=float(place[1]) - pole["y_mm"])

    simplex = start + np.array([[0, 0], [0.02, 0], [0, 0.02]])
    return minimize(
        depth, start, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-13, "initial_simplex": simplex}
    )


def test_the_thinnest_place_is_found_by_looking_everywhere_and_going_downhill() -> None:
    rng = np.random.default_rng(12)
    seen_inside = seen_at_the_edge = 0
    for _ in range(150):
        lens, prism, pole, points = random_lens(rng), random_prism(rng), random_pole(rng), random_shape(rng)
        pole = {name: value * 3 for name, value in pole.items()}  # outside the outline as well
        if not reached(lens, points, pole):
            continue
        body = lens_body(**lens, **prism, centre_mm=5.0)
        found = thinnest_inside(points, body, **pole)
        shape = shapely.Polygon(points)
        low, high = points.min(axis=0), points.max(axis=0)
        x, y = np.meshgrid(np.linspace(low[0], high[0], 80), np.linspace(low[1], high[1], 80))
        within = shapely.contains_xy(shape, x, y)
        ring = shapely.get_coordinates(shape.exterior.segmentize(0.05))
        places = np.vstack((np.column_stack((x[within], y[within])), ring))
        looked = thickness_at(body, x_mm=places[:, 0] - pole["x_mm"], y_mm=places[:, 1] - pole["y_mm"])
        assert found.thickness_mm <= looked.min() + 1e-11
        bottom = downhill(body, pole, shape, places[looked.argmin()])
        assert found.thickness_mm <= bottom.fun + 1e-10
        # And no less than can be: it is the thickness there is at a place of the lens.
        assert thickness_at(
            body, x_mm=found.x_mm - pole["x_mm"], y_mm=found.y_mm - pole["y_mm"]
        ) == pytest.approx(found.thickness_mm, abs=1e-11)  # fmt: skip
        place = shapely.Point(found.x_mm, found.y_mm)
        assert shape.distance(place) < 1e-9
        seen_inside += shape.exterior.distance(place) > 1e-6
        seen_at_the_edge += shape.exterior.distance(place) <= 1e-6
    assert seen_inside >= 25
    assert seen_at_the_edge >= 25


# --- the least centre -----------------------------------------------------------------------------------------------


def least_inside(points: np.ndarray, body: LensBody, pole: Lens) -> float | None:
    """Thickness at the bottom of the hollow a lens has within its outline, going downhill from the pole; None if none."""

    def depth(place: np.ndarray) -> float:
        try:
            return thickness_at(body, x_mm=float(place[0]), y_mm=float(place[1]))
        except DomainError:
            return FAR_TOO_THICK

    bottom = minimize(depth, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-13})
    around = [depth(bottom.x + 0.5 * np.array([math.cos(a), math.sin(a)])) for a in np.linspace(0, 6, 13)]
    inside = shapely.contains_xy(shapely.Polygon(points), bottom.x[0] + pole["x_mm"], bottom.x[1] + pole["y_mm"])
    return float(bottom.fun) if bottom.success and inside and min(around) > bottom.fun else None


def test_the_least_centre_keeps_its_three_rules_and_a_hair_less_breaks_one() -> None:
    rng = np.random.default_rng(5)
    ruled_by = {"centre": 0, "edge": 0, "hollow": 0}
    for _ in range(160):
        lens, pole, points = random_lens(rng), random_pole(rng), random_shape(rng)
        prism = random_prism(rng) if rng.random() < 0.6 else {"prism_x_pd": 0.0, "prism_y_pd": 0.0}
        least = {"least_centre_mm": rng.choice([1.0, 1.5, 2.0]), "least_edge_mm": rng.choice([0.8, 1.2, 2.0])}
        if not reached(lens, points, pole):
            continue
        centre = centre_for(points, **lens, **prism, **pole, **least)
        body = lens_body(**lens, **prism, centre_mm=centre)
        assert centre >= least["least_centre_mm"]
        assert edge_profile(points, body, **pole).min() >= least["least_edge_mm"] - 1e-9
        bottom = least_inside(points, body, pole)
        assert bottom is None or bottom >= least["least_centre_mm"] - 1e-9
        if centre == least["least_centre_mm"]:
            ruled_by["centre"] += 1
            continue
        thinner = lens_body(**lens, **prism, centre_mm=centre - 1e-6)
        thin_edge = edge_profile(points, thinner, **pole).min() < least["least_edge_mm"] - 9e-7
        thin_bottom = least_inside(points, thinner, pole)
        thin_hollow = thin_bottom is not None and thin_bottom < least["least_centre_mm"] - 9e-7
        assert thin_edge or thin_hollow
        ruled_by["edge" if thin_edge else "hollow"] += 1
    assert min(ruled_by.values()) >= 15, ruled_by


def test_no_place_of_a_densely_told_lens_is_thinner_than_both_limits() -> None:
    rng = np.random.default_rng(50)
    for _ in range(60):
        lens, prism, pole = random_lens(rng), random_prism(rng), random_pole(rng)
        points = boxed(smooth(rng), rng.uniform(44, 56), rng.uniform(28, 42))
        points = np.column_stack(
            [np.interp(np.arange(0, 90, 0.25), np.arange(91), np.append(points[:, i], points[0, i])) for i in (0, 1)]
        )
        if not reached(lens, points, pole):
            continue
        centre = centre_for(points, **lens, **prism, **pole, least_centre_mm=1.5, least_edge_mm=1.0)
        body = lens_body(**lens, **prism, centre_mm=centre)
        assert thinnest_inside(points, body, **pole).thickness_mm >= 1.0 - 0.002


def test_the_centre_of_a_stock_plus_lens_follows_from_the_edge_of_its_round_blank() -> None:
    rng = np.random.default_rng(44)
    for _ in range(60):
        sphere, index, diameter = rng.uniform(0.5, 8), rng.uniform(1.5, 1.74), rng.uniform(55, 75)
        front = usual_front_power(spherical_equivalent_d=sphere)
        if front * diameter / 2 / 1000 / (index - 1) > 0.9:
            continue

        def missing(
            centre: float, s: float = sphere, n: float = index, f: float = front, h: float = diameter / 2
        ) -> float:
            # centre = edge + front sag - back sag, the back from the back vertex power, as the books have it
            back = s - f / (1 - centre / 1000 / n * f)
            sag_1 = spherical_sag(curvature_per_mm=surface_curvature(power_d=f, index=n), height_mm=h)
            sag_2 = spherical_sag(curvature_per_mm=surface_curvature(power_d=-back, index=n), height_mm=h)
            return 1.0 + sag_1 - sag_2 - centre

        lens = {"sphere_d": sphere, "cylinder_d": 0.0, "axis_deg": None, "index": index, "front_power_d": front}
        pole = {"x_mm": 3.0, "y_mm": -2.0}
        centre = centre_for(
            round_blank(diameter_mm=diameter, **pole), **lens, **pole, prism_x_pd=0.0, prism_y_pd=0.0,
            least_centre_mm=0.5, least_edge_mm=1.0,
        )  # fmt: skip
        assert centre == pytest.approx(brentq(missing, 0.5, 30.0, xtol=1e-13), abs=1e-9)


def test_72_points_tell_the_edge_of_a_round_blank_to_a_hundredth_of_a_millimetre() -> None:
    lens = {"sphere_d": 4.0, "cylinder_d": -4.0, "index": 1.5, "front_power_d": 8.0, "centre_mm": 6.0}
    for axis in (5.0, 7.0, 7.5, 91.3):
        body = lens_body(**lens, axis_deg=axis)
        coarse, fine = (
            edge_profile(round_blank(diameter_mm=70.0, x_mm=1.0, y_mm=2.0, count=count), body, x_mm=1.0, y_mm=2.0).min()
            for count in (72, 7200)
        )
        assert 0 <= coarse - fine + 1e-9 < 0.01


def test_a_round_blank_lies_on_its_circle() -> None:
    points = round_blank(diameter_mm=65.0, x_mm=-4.0, y_mm=1.5, count=90)
    assert points.shape == (90, 2)
    assert np.hypot(points[:, 0] + 4.0, points[:, 1] - 1.5) == pytest.approx(np.full(90, 32.5), abs=1e-12)
    assert points[0].tolist() == [28.5, 1.5]
    assert shapely.LinearRing(points).is_ccw


# --- what shows -----------------------------------------------------------------------------------------------------


@steady
@given(st.integers(1, 1500), st.integers(0, 600), st.floats(0, 1))
def test_what_shows_is_the_part_of_the_edge_outside_the_rim(edge_100: int, depth_100: int, share: float) -> None:
    edge, depth = edge_100 / 100, depth_100 / 100
    bevel = round(share * edge_100) / 100
    front, behind = showing(edge_mm=edge, rim_depth_mm=depth, bevel_from_front_mm=bevel)
    lens, rim = shapely.LineString([(0, 0), (edge, 0)]), (bevel - depth / 2, bevel + depth / 2)
    before = lens.intersection(shapely.box(-99, -1, rim[0], 1)).length
    after = lens.intersection(shapely.box(rim[1], -1, 99, 1)).length
    assert (front, behind) == (pytest.approx(before, abs=1e-12), pytest.approx(after, abs=1e-12))


# --- what is refused ------------------------------------------------------------------------------------------------

PLAIN = {"sphere_d": -3.0, "cylinder_d": -1.0, "axis_deg": 20.0, "index": 1.5, "front_power_d": 5.0}
POLE = {"x_mm": 0.0, "y_mm": 0.0}
SQUARE = np.array([[20.0, 15.0], [-20.0, 15.0], [-20.0, -15.0], [20.0, -15.0]])
NO_PRISM = {"prism_x_pd": 0.0, "prism_y_pd": 0.0}
LEAST = {"least_centre_mm": 1.5, "least_edge_mm": 1.0}


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"index": 1.0}, "index"),
        ({"centre_mm": -0.1}, "centre_mm"),
        ({"axis_deg": None}, "axis_deg"),
        ({"front_power_d": 200.0, "centre_mm": 8.0}, "front_power_d"),
    ],
)
def test_a_body_that_cannot_be_is_refused_by_the_name_of_what_is_wrong(changed: Lens, argument: str) -> None:
    with pytest.raises(DomainError) as refusal:
        lens_body(**PLAIN | {"centre_mm": 2.0} | changed)
    assert refusal.value.argument == argument


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"index": 0.5}, "index"),
        ({"least_centre_mm": -1.0}, "least_centre_mm"),
        ({"least_edge_mm": -1.0}, "least_edge_mm"),
        ({"axis_deg": None}, "axis_deg"),
        ({"sphere_d": -18.0}, "points"),
        ({"front_power_d": 19.0, "sphere_d": 12.0, "x_mm": 9.0}, "points"),
        ({"sphere_d": np.array([1.0, 2.0])}, "sphere_d"),
        ({"x_mm": np.array([1.0, 2.0])}, "x_mm"),
    ],
)
def test_a_centre_that_cannot_be_found_is_refused_by_the_name_of_what_is_wrong(changed: Lens, argument: str) -> None:
    with pytest.raises(DomainError) as refusal:
        centre_for(SQUARE, **PLAIN | NO_PRISM | POLE | LEAST | changed)
    assert refusal.value.argument == argument


def test_a_place_no_surface_reaches_is_refused_with_the_place() -> None:
    strong = lens_body(**PLAIN | {"sphere_d": -15.0}, centre_mm=1.5)
    with pytest.raises(DomainError) as refusal:
        thickness_at(strong, x_mm=np.array([1.0, 26.0]), y_mm=np.array([1.0, 2.0]))
    assert (refusal.value.argument, refusal.value.value) == ("x_mm, y_mm", (26.0, 2.0))
    for asked in (edge_profile, edge_summary, thinnest_inside):
        with pytest.raises(DomainError) as refusal:
            asked(SQUARE * (1.5, 1.0), strong, **POLE)
        assert refusal.value.argument == "points"


def test_many_lenses_at_once_are_refused_where_one_outline_is_asked_about() -> None:
    many = lens_body(**PLAIN | {"sphere_d": np.array([-1.0, -2.0])}, centre_mm=2.0)
    for asked in (edge_profile, edge_summary, thinnest_inside):
        with pytest.raises(DomainError) as refusal:
            asked(SQUARE, many, **POLE)
        assert refusal.value.argument == "body"


@pytest.mark.parametrize("points", [[[1.0, 2.0], [3.0, 4.0]], [[1.0, 2.0, 3.0]] * 4, [[1.0], [2.0, 3.0]], "outline"])
def test_what_is_no_outline_is_refused(points: Any) -> None:
    with pytest.raises(DomainError) as refusal:
        edge_profile(points, lens_body(**PLAIN, centre_mm=2.0), **POLE)
    assert refusal.value.argument == "points"


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"edge_mm": -1.0}, "edge_mm"),
        ({"rim_depth_mm": -1.0}, "rim_depth_mm"),
        ({"bevel_from_front_mm": 5.1}, "bevel_from_front_mm"),
        ({"bevel_from_front_mm": -0.1}, "bevel_from_front_mm"),
    ],
)
def test_an_edge_that_cannot_be_is_refused(changed: Lens, argument: str) -> None:
    with pytest.raises(DomainError) as refusal:
        showing(**{"edge_mm": 5.0, "rim_depth_mm": 2.0, "bevel_from_front_mm": 1.0} | changed)
    assert refusal.value.argument == argument


@pytest.mark.parametrize("count", [23, 0, -1, 72.0, True])
def test_a_round_blank_of_too_few_points_is_refused(count: Any) -> None:
    with pytest.raises(DomainError) as refusal:
        round_blank(diameter_mm=70.0, **POLE, count=count)
    assert refusal.value.argument == "count"
    with pytest.raises(DomainError) as refusal:
        round_blank(diameter_mm=0.0, **POLE)
    assert refusal.value.argument == "diameter_mm"


# --- on a round blank -----------------------------------------------------------------------------------------------


def test_edges_beyond_a_round_blank_do_not_count_unless_all_lie_there() -> None:
    angles = np.radians(np.arange(0, 360, 10))
    x, y = 25 * np.cos(angles), 20 * np.sin(angles)
    edges = 3.0 - np.hypot(x, y) / 10
    # The whole outline lies on a blank of 50 mm about its middle; on one of 48 mm its two ends do not.
    assert edges_on_blank(edges, x_mm=x, y_mm=y, diameter_mm=50.001) is edges
    kept = edges_on_blank(edges, x_mm=x, y_mm=y, diameter_mm=48.0)
    assert np.array_equal(np.isinf(kept), np.hypot(x, y) > 24.0)
    assert kept.min() == edges[np.hypot(x, y) <= 24.0].min()
    assert np.array_equal(edges_on_blank(edges, x_mm=x + 100.0, y_mm=y, diameter_mm=48.0), edges)
    both = edges_on_blank(
        np.array([edges, edges]), x_mm=np.array([x, x + 100.0]), y_mm=np.array([y, y]), diameter_mm=48.0
    )
    assert np.array_equal(both, np.array([kept, edges]))


@pytest.mark.parametrize("diameter", [0.0, -1.0, float("nan")])
def test_a_blank_without_a_diameter_is_refused(diameter: float) -> None:
    with pytest.raises(DomainError) as refusal:
        edges_on_blank(np.ones(3), x_mm=np.ones(3), y_mm=np.ones(3), diameter_mm=diameter)
    assert refusal.value.argument == "diameter_mm"
