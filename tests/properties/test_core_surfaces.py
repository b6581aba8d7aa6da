"""Sags against fifty digits, against a torus cut by root finding, and against the forms that were not taken."""

import math

import mpmath
import numpy as np
import pytest
from core_solids import torus_depth
from core_strategies import axes, steady
from hypothesis import assume, given
from hypothesis import strategies as st

from optics_core.errors import DomainError
from optics_core.surfaces import spherical_sag, surface_curvature, toric_sag

indices = st.floats(1.49, 1.9)
# Radii to a thousand kilometres; beyond, fifty digits do not tell a sphere from a plane.
curvatures = st.one_of(st.just(0.0), st.floats(1e-9, 0.03), st.floats(-0.03, -1e-9))
hollow_curvatures = st.one_of(st.just(0.0), st.floats(1e-5, 0.024))
# What a lens edge knows: both coordinates within 24 mm keep c h below 0.9 for the curvatures above.
heights = st.floats(-24, 24)


def precise_sag(curvature: float, height: float) -> mpmath.mpf:
    """r - sqrt(r^2 - h^2) as the books have it; fifty digits bear the loss."""
    with mpmath.workdps(50):
        if curvature == 0:
            return mpmath.mpf(0)
        radius, h = 1 / mpmath.mpf(curvature), mpmath.mpf(height)
        return radius - mpmath.sign(radius) * mpmath.sqrt(radius**2 - h**2)


def precise_tyre(steep: float, flat: float, q: mpmath.mpf, p: mpmath.mpf) -> mpmath.mpf:
    """The steep circle's point, its distance from the axis through the flat circle's centre, swung by p."""
    depth = precise_sag(steep, q)
    if flat == 0:
        return depth
    with mpmath.workdps(50):
        from_axis = 1 / mpmath.mpf(flat) - depth
        return 1 / mpmath.mpf(flat) - mpmath.sign(flat) * mpmath.sqrt(from_axis**2 - p**2)


@steady
@given(st.floats(-20, 20), indices)
def test_a_radius_is_the_index_less_1_over_the_power(power: float, index: float) -> None:
    curvature = surface_curvature(power_d=power, index=index)
    assert 1000 * (index - 1) * curvature == pytest.approx(power, rel=1e-14, abs=1e-300)
    assert surface_curvature(power_d=0.0, index=index) == 0.0


@steady
@given(curvatures, heights)
def test_the_spherical_sag_equals_fifty_digit_arithmetic(curvature: float, height: float) -> None:
    precise = precise_sag(curvature, height)
    ours = spherical_sag(curvature_per_mm=curvature, height_mm=height)
    steepness = 1 / math.sqrt(1 - (curvature * height) ** 2)
    assert float(abs(ours - precise)) <= 1e-15 * float(abs(precise)) * steepness + 1e-30


@steady
@given(curvatures, curvatures, axes, heights, heights)
def test_the_toric_sag_equals_fifty_digit_arithmetic(
    along: float, across: float, axis: float, x: float, y: float
) -> None:
    with mpmath.workdps(50):
        turn = mpmath.radians(mpmath.mpf(axis))
        u, v = x * mpmath.cos(turn) + y * mpmath.sin(turn), y * mpmath.cos(turn) - x * mpmath.sin(turn)
        steep_is_across = abs(across) > abs(along) or (abs(across) == abs(along) and across > along)
        steep, flat, q, p = (across, along, v, u) if steep_is_across else (along, across, u, v)
        assume((1 - abs(steep * q)) > 0.01)
        precise = precise_tyre(steep, flat, q, p)
        assume(mpmath.im(precise) == 0)
    ours = toric_sag(along_per_mm=along, across_per_mm=across, axis_deg=axis, x_mm=x, y_mm=y)
    assert float(abs(ours - precise)) <= 1e-12


@steady
@given(hollow_curvatures, curvatures, axes, heights, heights)
def test_the_toric_sag_is_where_a_line_meets_the_torus(
    along: float, across: float, axis: float, x: float, y: float
) -> None:
    """An implicit torus and a root finder know nothing of the sag's formula."""
    assume(abs(along) > 2e-5 and abs(across) > 2e-5)
    steepest = max(abs(along), abs(across))
    assume(steepest * math.hypot(x, y) < 0.95)
    place = complex(x, y) / complex(math.cos(math.radians(axis)), math.sin(math.radians(axis)))
    depth = torus_depth(1 / along, 1 / across, place.real, place.imag)
    ours = toric_sag(along_per_mm=along, across_per_mm=across, axis_deg=axis, x_mm=x, y_mm=y)
    # The implicit equation works with radii of up to 50 metres: their rounding is what is left.
    largest = 1 / min(abs(along), abs(across))
    assert ours == pytest.approx(depth, abs=1e-11 + 1e-14 * largest)


@steady
@given(curvatures, axes, heights, heights)
def test_equal_curvatures_give_the_sphere(curvature: float, axis: float, x: float, y: float) -> None:
    assume(abs(curvature) * math.hypot(x, y) < 0.99)
    torus = toric_sag(along_per_mm=curvature, across_per_mm=curvature, axis_deg=axis, x_mm=x, y_mm=y)
    sphere = spherical_sag(curvature_per_mm=curvature, height_mm=math.hypot(x, y))
    assert torus == pytest.approx(sphere, rel=1e-13, abs=1e-15)
    many = {"along_per_mm": np.full(3, curvature), "across_per_mm": np.full(3, curvature)}
    assert toric_sag(**many, axis_deg=axis, x_mm=x, y_mm=y) == pytest.approx(np.full(3, sphere), rel=1e-13, abs=1e-15)


@steady
@given(curvatures, curvatures, axes, heights)
def test_both_principal_meridians_are_circles(along: float, across: float, axis: float, height: float) -> None:
    cosine, sine = math.cos(math.radians(axis)), math.sin(math.radians(axis))
    back = {"along_per_mm": along, "across_per_mm": across, "axis_deg": axis}
    assert toric_sag(**back, x_mm=height * cosine, y_mm=height * sine) == pytest.approx(
        spherical_sag(curvature_per_mm=along, height_mm=height), abs=1e-13
    )
    assert toric_sag(**back, x_mm=-height * sine, y_mm=height * cosine) == pytest.approx(
        spherical_sag(curvature_per_mm=across, height_mm=height), abs=1e-13
    )


@steady
@given(curvatures, curvatures, st.integers(1, 90), heights, heights)
def test_the_order_in_which_the_meridians_are_told_does_not_matter(
    along: float, across: float, axis: int, x: float, y: float
) -> None:
    assume(max(abs(along), abs(across)) * math.hypot(x, y) < 0.9)
    place = {"x_mm": x, "y_mm": y}
    first = toric_sag(along_per_mm=along, across_per_mm=across, axis_deg=axis, **place)
    second = toric_sag(along_per_mm=across, across_per_mm=along, axis_deg=axis + 90, **place)
    assert first == pytest.approx(second, abs=1e-14)


@steady
@given(hollow_curvatures, hollow_curvatures, st.floats(0, 0.004), st.floats(0, 0.004), axes, heights, heights)
def test_more_curved_in_either_meridian_is_deeper_everywhere(
    along: float, across: float, more_along: float, more_across: float, axis: float, x: float, y: float
) -> None:
    """The claim by which a minus lens without prism is nowhere thinner than at its pole."""
    assume((max(along, across) + 0.004) * math.hypot(x, y) < 0.99)
    place = {"axis_deg": axis, "x_mm": x, "y_mm": y}
    less = toric_sag(along_per_mm=along, across_per_mm=across, **place)
    more = toric_sag(along_per_mm=along + more_along, across_per_mm=across + more_across, **place)
    assert more >= less - 1e-13


def other_forms(steep: float, flat: float, height: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Tyre by our function; barrel and the circle in every meridian written out here, a quarter round at `height`."""
    turn = np.radians(np.linspace(0.25, 89.75, 359))
    q, p = height * np.cos(turn), height * np.sin(turn)
    tyre = toric_sag(along_per_mm=steep, across_per_mm=flat, axis_deg=0.0, x_mm=q, y_mm=p)
    flat_circle = 1 / flat - np.sqrt(1 / flat**2 - p * p)
    barrel = 1 / steep - np.sqrt((1 / steep - flat_circle) ** 2 - q * q)
    meridian = steep * np.cos(turn) ** 2 + flat * np.sin(turn) ** 2
    every_meridian = 1 / meridian - np.sqrt(1 / meridian**2 - height**2)
    return tyre, barrel, every_meridian


# The table in the opening words of optics_core.surfaces; the figures are this project's own measurement.
DIFFERENCES = [
    (-4.0, 1.5, 0.12, 0.02),
    (-6.0, 1.5, 0.29, 0.07),
    (-8.0, 1.67, 0.18, 0.05),
    (-8.0, 1.5, 0.67, 0.19),
    (-10.0, 1.5, 2.04, 0.70),
]


@pytest.mark.parametrize(("flat_d", "index", "below_barrel", "below_circles"), DIFFERENCES)
def test_the_forms_not_taken_differ_by_as_much_as_is_said(
    flat_d: float, index: float, below_barrel: float, below_circles: float
) -> None:
    flat, steep = (surface_curvature(power_d=-power, index=index) for power in (flat_d, flat_d - 4))
    tyre, barrel, every_meridian = other_forms(steep, flat, 35.0)
    assert np.max(barrel - tyre) == pytest.approx(below_barrel, abs=0.005)
    assert np.max(np.abs(every_meridian - tyre)) == pytest.approx(below_circles, abs=0.005)
    assert np.min(barrel - tyre) > -1e-9  # the tyre is the shallower everywhere


@pytest.mark.parametrize("curvature", [0.04, -0.04])
def test_a_sphere_that_does_not_reach_is_refused(curvature: float) -> None:
    assert spherical_sag(curvature_per_mm=curvature, height_mm=25.0) == pytest.approx(math.copysign(25, curvature))
    with pytest.raises(DomainError) as refusal:
        spherical_sag(curvature_per_mm=curvature, height_mm=np.array([3.0, -25.001, 2.0]))
    assert (refusal.value.argument, refusal.value.value) == ("height_mm", -25.001)


def test_a_torus_that_does_not_reach_is_refused_with_the_place() -> None:
    back = {"along_per_mm": 0.03, "across_per_mm": 0.02, "axis_deg": 90}
    assert toric_sag(**back, x_mm=40.0, y_mm=10.0) > 0
    for x, y in ((0.0, 34.0), (51.0, 0.0), (45.0, 25.0)):
        with pytest.raises(DomainError) as refusal:
            toric_sag(**back, x_mm=x, y_mm=y)
        assert (refusal.value.argument, refusal.value.value) == ("x_mm, y_mm", (x, y))
    with pytest.raises(DomainError) as refusal:
        toric_sag(**back, x_mm=np.array([1.0, 45.0]), y_mm=np.array([2.0, 25.0]))
    assert refusal.value.value == (45.0, 25.0)


@pytest.mark.parametrize("index", [1.0, 0.9, -1.5])
def test_an_index_of_1_or_less_is_refused(index: float) -> None:
    with pytest.raises(DomainError) as refusal:
        surface_curvature(power_d=5.0, index=index)
    assert refusal.value.argument == "index"
