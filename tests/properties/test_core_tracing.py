"""The traced lens against a second tracer of another make, and against the closed forms it must meet in the limit."""

import math
from typing import Any

import numpy as np
import pytest
from core_strategies import EYES, axes, lens, steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core.errors import DomainError
from optics_core.magnification import Magnification, magnification_difference, spectacle_magnification
from optics_core.power_vectors import power_matrix
from optics_core.sphero_cylinder import transposed
from optics_core.tracing import TracedLens, traced_lens, traced_wrap_prism

Lens = dict[str, Any]
Points = np.ndarray

angles_of_wear = st.floats(-25, 25)
indices = st.floats(1.49, 1.76)
worn_lenses = lens(st.floats(-10, 10), st.floats(-4, 4).filter(lambda power: abs(power) > 1e-3), axes)
bodies = st.fixed_dictionaries({"front_power_d": st.floats(1, 11), "centre_mm": st.floats(1, 8), "index": indices})


def figures(traced: TracedLens) -> list[float]:
    power, prism = traced.power, traced.prism
    return [power.xx_d, power.xy_d, power.yy_d, prism.x_pd, prism.y_pd]


def turned(tilt: float, wrap: float, eye: str) -> Points:
    """Columns: the lens's x, y and normal in the face, for light along +z. First wrapped, then tilted."""
    p, w = math.radians(tilt), math.radians(wrap) * (1 if eye == "right" else -1)
    wrapping = np.array([[math.cos(w), 0, math.sin(w)], [0, 1, 0], [-math.sin(w), 0, math.cos(w)]])
    tilting = np.array([[1, 0, 0], [0, math.cos(p), math.sin(p)], [0, -math.sin(p), math.cos(p)]])
    return tilting @ wrapping


def on_torus(place: Points, ray: Points, vertex: float, swept: float, profile: float, axis: float) -> Points:
    """Rays to the torus (rho - (R - r))^2 + v^2 = r^2, rho the distance from its axis; places and unit normals."""
    a = math.radians(axis)
    basis = np.array([[math.cos(a), math.sin(a), 0], [-math.sin(a), math.cos(a), 0], [0, 0, 1.0]])
    place, ray = place @ basis.T - [0, 0, vertex], ray @ basis.T
    way = -place[:, 2] / ray[:, 2]
    for _ in range(10):
        at = place + way[:, None] * ray
        rho = math.copysign(1, swept) * np.hypot(at[:, 0], at[:, 2] - swept)
        off = rho - (swept - profile)
        normal = np.stack([off * at[:, 0] / rho, at[:, 1], off * (at[:, 2] - swept) / rho], 1)
        way = way - (off**2 + at[:, 1] ** 2 - profile**2) / 2 / (normal * ray).sum(1)
    assert np.abs(off**2 + at[:, 1] ** 2 - profile**2).max() < 1e-9 * profile**2
    normal = normal / np.linalg.norm(normal, axis=1)[:, None]
    return (place + way[:, None] * ray + [0, 0, vertex]) @ basis, normal @ basis


def second_tracer(worn: Lens, body: Lens, tilt: float, wrap: float, eye: str, step: float = 0.001) -> list[float]:
    """Five real rays and their differences; surfaces as implicit equations; the front vertex met by the middle ray."""
    n, t = body["index"], body["centre_mm"]
    radius = 1000 * (n - 1) / body["front_power_d"]
    back = worn["sphere_d"] - body["front_power_d"] / (1 - t / 1000 / n * body["front_power_d"])
    along, across = (1000 * (1 - n) / power for power in (back, back + worn["cylinder_d"]))
    # The tyre: the more curved circle is the profile that is swept.
    swept, profile, axis = along, across, worn["axis_deg"]
    if abs(along) < abs(across):
        swept, profile, axis = across, along, axis + 90
    frame = turned(tilt, wrap, eye)
    face_x, face_y, ahead = frame.T @ np.eye(3)[0], frame.T @ np.eye(3)[1], frame.T @ np.eye(3)[2]
    place = step * np.array([0 * face_x, face_x, -face_x, face_y, -face_y]) - 20 * ahead
    ray = np.tile(ahead, (5, 1))
    for vertex, r_swept, r_profile, turn, ratio in ((0, radius, radius, 0, 1 / n), (t, swept, profile, axis, n)):
        place, normal = on_torus(place, ray, vertex, r_swept, r_profile, turn)
        normal = normal * np.sign((normal * ray).sum(1))[:, None]
        cosine = (normal * ray).sum(1)
        push = np.sqrt(1 - ratio**2 * (1 - cosine**2)) - ratio * cosine
        ray = ratio * ray + push[:, None] * normal
    out = ray[0]
    place = place + (((np.array([0, 0, t]) - place) @ out) / (ray @ out))[:, None] * ray
    # The face's axes, turned with the ray by Rodrigues' formula about the axis square to both.
    about, cosine = np.cross(ahead, out), ahead @ out
    x, y = (axis * cosine + np.cross(about, axis) + about * (about @ axis) / (1 + cosine) for axis in (face_x, face_y))
    where = np.array([[(place[i] - place[i + 1]) @ e for i in (1, 3)] for e in (x, y)])
    slope = np.array(
        [[(ray[i] / (ray[i] @ out) - ray[i + 1] / (ray[i + 1] @ out)) @ e for i in (1, 3)] for e in (x, y)]
    )
    power = -1000 * slope @ np.linalg.inv(where)
    assert abs(power[0, 1] - power[1, 0]) < 1e-5  # a wave, and not just any rays
    return [power[0, 0], power[0, 1], power[1, 1], 100 * out @ face_x / cosine, 100 * out @ face_y / cosine]


@pytest.mark.parametrize("eye", EYES)
def test_the_traced_lens_is_that_of_real_rays_side_by_side_on_an_implicit_torus(eye: str) -> None:
    rng = np.random.default_rng(20_251_125)
    worst = 0.0
    for _ in range(150):
        sphere, cylinder = rng.uniform(-10, 6), rng.uniform(-4, 4)
        body = {"front_power_d": rng.uniform(1, 11), "centre_mm": rng.uniform(1, 8), "index": rng.uniform(1.49, 1.76)}
        worn = {"sphere_d": sphere, "cylinder_d": cylinder, "axis_deg": rng.uniform(0, 180)}
        tilt, wrap = rng.uniform(-20, 20), rng.uniform(-25, 25)
        ours = figures(traced_lens(**worn, **body, pantoscopic_deg=tilt, face_form_deg=wrap, eye=eye))
        theirs = second_tracer(worn, body, tilt, wrap, eye)
        worst = max(worst, float(np.abs(np.array(ours) - theirs).max()))
    assert worst < 2e-7


@steady
@given(worn_lenses, bodies)
def test_a_lens_square_to_the_face_has_its_back_vertex_power_and_no_prism(worn: Lens, body: Lens) -> None:
    power = power_matrix(**worn)
    traced = traced_lens(**worn, **body, pantoscopic_deg=0.0, face_form_deg=0.0, eye="right")
    assert figures(traced) == pytest.approx([power.xx_d, power.xy_d, power.yy_d, 0, 0], abs=1e-11)


def test_a_thick_plus_lens_has_the_power_of_the_printed_trace() -> None:
    # recipes, section 10: F1 +8, F2 -4, n 1.5, t 4 mm -> 4.174387 D, traced there too and by a general ray tracer.
    traced = traced_lens(
        sphere_d=8 / (1 - 0.004 / 1.5 * 8) - 4,
        cylinder_d=0.0,
        axis_deg=None,
        front_power_d=8.0,
        centre_mm=4.0,
        index=1.5,
        pantoscopic_deg=0.0,
        face_form_deg=0.0,
        eye="left",
    )
    assert traced.power.xx_d == pytest.approx(4.174387, abs=1e-6)


@steady
@given(worn_lenses, indices, angles_of_wear, angles_of_wear, st.floats(0, 12), st.sampled_from(EYES))
def test_a_thin_lens_makes_no_prism_and_its_form_does_not_matter(
    worn: Lens, index: float, tilt: float, wrap: float, front: float, eye: str
) -> None:
    given_angles = {"index": index, "pantoscopic_deg": tilt, "face_form_deg": wrap, "eye": eye, "centre_mm": 0.0}
    bent = traced_lens(**worn, **given_angles, front_power_d=front)
    flat = traced_lens(**worn, **given_angles, front_power_d=0.0)
    assert figures(bent) == pytest.approx(figures(flat), abs=1e-11)
    assert figures(bent)[3:] == pytest.approx([0, 0], abs=1e-11)


@steady
@given(worn_lenses, bodies, angles_of_wear, angles_of_wear)
def test_a_mirrored_lens_before_the_other_eye_is_the_mirror_image(
    worn: Lens, body: Lens, tilt: float, wrap: float
) -> None:
    angles = {"pantoscopic_deg": tilt, "face_form_deg": wrap}
    right = figures(traced_lens(**worn, **body, **angles, eye="right"))
    mirrored = worn | {"axis_deg": 180 - worn["axis_deg"]}
    left = figures(traced_lens(**mirrored, **body, **angles, eye="left"))
    assert left == pytest.approx(np.array(right) * [1, -1, 1, -1, 1], abs=1e-10)


@steady
@given(worn_lenses, bodies, angles_of_wear, angles_of_wear)
def test_the_form_a_lens_is_written_in_does_not_change_its_trace(
    worn: Lens, body: Lens, tilt: float, wrap: float
) -> None:
    angles = {"pantoscopic_deg": tilt, "face_form_deg": wrap, "eye": "right"}
    other = transposed(**worn)
    written = {"sphere_d": other.sphere_d, "cylinder_d": other.cylinder_d, "axis_deg": other.axis_deg}
    first, second = (figures(traced_lens(**form, **body, **angles)) for form in (worn, written))
    assert second == pytest.approx(first, abs=1e-10)


def prism_of_a_line_through_the_back_vertex(front: float, thickness: float, index: float, angle_deg: float) -> float:
    """Base-out prism of the line of sight that leaves at the back vertex, followed backwards by circles and angles.

    The back surface's curve has no part in it: at its vertex it is square to the lens's axis.
    """
    leaving = math.radians(angle_deg)
    inside = math.asin(math.sin(leaving) / index)
    radius = 1000 * (index - 1) / front
    # From (thickness, 0), backwards, to the circle about (radius, 0) that passes through the front vertex (0, 0).
    from_centre = thickness - radius
    half = from_centre * math.cos(inside)
    root = math.sqrt(half * half - from_centre * from_centre + radius * radius)
    way = half + math.copysign(root, radius)
    height = -way * math.sin(inside)
    assert math.hypot(thickness - way * math.cos(inside) - radius, height) == pytest.approx(abs(radius))
    normal = -math.asin(height / radius)
    coming = normal + math.asin(index * math.sin(inside - normal))
    return 100 * math.tan(leaving - coming)


@pytest.mark.parametrize("angle", [-25.0, -8.0, 0.0, 5.0, 10.0, 20.0, 25.0])
def test_the_traced_prism_of_wrap_is_that_of_circles_and_angles(angle: float) -> None:
    rng = np.random.default_rng(8)
    for _ in range(100):
        front = rng.uniform(0.5, 11) * rng.choice([-1, 1])
        thickness, index = rng.uniform(1, 8), rng.uniform(1.49, 1.76)
        traced = traced_wrap_prism(front_power_d=front, centre_mm=thickness, index=index, angle_deg=angle)
        expected = prism_of_a_line_through_the_back_vertex(front, thickness, index, angle)
        assert traced == pytest.approx(expected, abs=1e-11)


def test_a_flat_front_and_a_thin_lens_make_no_prism_at_any_angle() -> None:
    for angle in (-40.0, 3.0, 25.0):
        assert traced_wrap_prism(front_power_d=0.0, centre_mm=5.0, index=1.5, angle_deg=angle) == pytest.approx(
            0, abs=1e-13
        )
        assert traced_wrap_prism(front_power_d=9.0, centre_mm=0.0, index=1.5, angle_deg=angle) == pytest.approx(
            0, abs=1e-13
        )


@pytest.mark.parametrize(("eye", "out"), [("right", -1.0), ("left", 1.0)])
def test_wrap_makes_base_out_before_either_eye_and_tilt_base_down(eye: str, out: float) -> None:
    # formulas.md, section 5: temporal side back, base out; pantoscopic tilt, base down. An afocal lens, F1 +8.50.
    plano = {"sphere_d": 0.0, "cylinder_d": 0.0, "axis_deg": None, "eye": eye}
    body = {"front_power_d": 8.5, "centre_mm": 2.0, "index": 1.586}
    amount = traced_wrap_prism(**body, angle_deg=15.0)
    assert amount > 0.25
    wrapped = traced_lens(**plano, **body, pantoscopic_deg=0.0, face_form_deg=15.0).prism
    tilted = traced_lens(**plano, **body, pantoscopic_deg=15.0, face_form_deg=0.0).prism
    # This ray comes straight at the front vertex, that line of sight goes straight to the eye: alike but for 2 %.
    assert (wrapped.x_pd, wrapped.y_pd) == pytest.approx((out * amount, 0), rel=0.02, abs=1e-12)
    assert (tilted.x_pd, tilted.y_pd) == pytest.approx((0, -amount), rel=0.02, abs=1e-12)


def test_the_prism_of_a_ray_at_the_front_vertex_holds_some_of_the_lens_power_as_well() -> None:
    # It leaves beside the back vertex. For -6.00 the ray through the front vertex is bent four times as much as the
    # line of sight through the back one: prism of wrap is asked of `traced_wrap_prism`, not of `traced_lens`.
    body = {"front_power_d": 2.0, "centre_mm": 1.5, "index": 1.586}
    minus = {"sphere_d": -6.0, "cylinder_d": 0.0, "axis_deg": None, "eye": "right"}
    at_the_front = traced_lens(**minus, **body, pantoscopic_deg=0.0, face_form_deg=10.0).prism
    assert at_the_front.x_pd == pytest.approx(-4 * traced_wrap_prism(**body, angle_deg=10.0), rel=0.01)


NO_TURN = {"pantoscopic_deg": 0.0, "face_form_deg": 0.0, "index": 1.5, "front_power_d": 4.0, "centre_mm": 2.0}


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"index": 1.0}, "index"),
        ({"index": 0.9}, "index"),
        ({"centre_mm": -0.1}, "centre_mm"),
        ({"pantoscopic_deg": 90.0}, "pantoscopic_deg"),
        ({"face_form_deg": -90.0}, "face_form_deg"),
        ({"front_power_d": 750.0}, "front_power_d"),
    ],
)
def test_a_lens_out_of_range_is_refused_by_name(changed: Lens, argument: str) -> None:
    plano = {"sphere_d": 0.0, "cylinder_d": 0.0, "axis_deg": None, "eye": "right"}
    with pytest.raises(DomainError) as refusal:
        traced_lens(**plano, **(NO_TURN | changed))
    assert refusal.value.argument == argument


@pytest.mark.parametrize(
    "impossible",
    [
        {"centre_mm": 40.0, "pantoscopic_deg": 60.0, "sphere_d": -30.0},  # past the rim of a strong back
        {"centre_mm": 12.0, "face_form_deg": 80.0, "sphere_d": -20.0, "front_power_d": 0.0},  # wholly reflected there
    ],
)
def test_a_ray_that_cannot_pass_is_refused_with_the_angle_it_came_at(impossible: Lens) -> None:
    worn = {"sphere_d": 0.0, "cylinder_d": 0.0, "axis_deg": None, "eye": "right"} | NO_TURN | impossible
    with pytest.raises(DomainError) as refusal:
        traced_lens(**worn)
    angle = max(worn["pantoscopic_deg"], worn["face_form_deg"])
    assert refusal.value.argument == "pantoscopic_deg, face_form_deg"
    assert refusal.value.value == pytest.approx(angle)


@steady
@given(st.floats(-12, 12), st.floats(1, 12), st.floats(0, 9), indices, st.floats(0, 20))
def test_spectacle_magnification_is_that_of_a_ray_led_to_the_pupil_by_matrices(
    power: float, front: float, thickness: float, index: float, distance: float
) -> None:
    # Ray transfer (height, slope): the ray that reaches the pupil's middle comes in at slope A of the slope it leaves.
    reduced, gap = thickness / 1000 / index, distance / 1000
    back = power - front / (1 - reduced * front)
    steps = [
        np.array([[1, gap], [0, 1]]),
        np.array([[1, 0], [-back, 1]]),
        np.array([[1, reduced], [0, 1]]),
        np.array([[1, 0], [-front, 1]]),
    ]
    whole = steps[0] @ steps[1] @ steps[2] @ steps[3]
    height = -whole[0, 1] / whole[0, 0]
    out_height, out_slope = whole @ [height, 1.0]
    found = spectacle_magnification(
        front_power_d=front,
        thickness_mm=thickness,
        index=index,
        back_vertex_power_d=power,
        entrance_pupil_mm=distance,
    )
    assert out_height == pytest.approx(0, abs=1e-12)
    assert found.total == pytest.approx(out_slope, rel=1e-11)
    assert found.total == pytest.approx(found.shape * found.power, rel=1e-15)


def test_a_plano_lens_that_is_thin_magnifies_by_one_exactly() -> None:
    found = spectacle_magnification(
        front_power_d=6.0, thickness_mm=0.0, index=1.5, back_vertex_power_d=0.0, entrance_pupil_mm=15.0
    )
    assert found == Magnification(1.0, 1.0, 1.0)


def test_the_difference_of_two_eyes_has_the_sign_of_the_larger_right_image() -> None:
    larger, smaller = Magnification(1.0, 1.05, 1.05), Magnification(1.0, 0.98, 0.98)
    assert magnification_difference(right=larger, left=smaller) == pytest.approx(7.0)
    assert magnification_difference(right=smaller, left=larger) == pytest.approx(-7.0)


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"front_power_d": 400.0}, "front_power_d"),
        ({"back_vertex_power_d": 67.0}, "back_vertex_power_d"),
        ({"thickness_mm": -1.0}, "thickness_mm"),
        ({"entrance_pupil_mm": -1.0}, "entrance_pupil_mm"),
        ({"index": 1.0}, "index"),
    ],
)
def test_a_magnification_that_is_none_is_refused_by_name(changed: Lens, argument: str) -> None:
    usual = {"front_power_d": 6.0, "thickness_mm": 4.0, "index": 1.5, "back_vertex_power_d": 3.0}
    with pytest.raises(DomainError) as refusal:
        spectacle_magnification(**(usual | {"entrance_pupil_mm": 15.0} | changed))
    assert refusal.value.argument == argument
