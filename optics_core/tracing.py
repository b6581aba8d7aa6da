# mypy: disable-error-code="no-any-return"
"""Rays traced through a tilted lens: what it does to the eye behind it, with no approximation but the ray itself.

The lens has a spherical front and a toric back: a true torus, the more curved circle swung about an axis through the
centre of the less curved one, as in `optics_core.surfaces`. It is turned before the eye, and a ray that comes
straight at the face meets the front at its vertex. Snell's law turns the ray at each surface. Two neighbours, a
step aside along the face's x and y, tell how the light converges on leaving: a step of 1e-30 i along the imaginary
axis, so that its effect is a derivative, exact to rounding, and no difference of nearly equal numbers.

What leaves is told in the face's own axes, square to the ray that leaves, in the plane through the back vertex: the
power as a matrix, and the turn of the ray as a base vector, which points where the light is bent to. An axis of the
lens counts from the lens's own horizontal; tilt and wrap together turn that horizontal a little out of the face's.

Signs: seen from the front, x to the observer's right, y up, light along +z, away from the observer. Pantoscopic
tilt is positive when the lower rim is nearer the face, face form (wrap) when the temporal side is nearer the head.
The front is wrapped first, each lens about its own vertical; then the whole front is tilted about the face's
horizontal. Curvatures are positive where the surface is convex to the front.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from optics_core._lens import LENS, checked_lens
from optics_core._numeric import ARRAY, Number, Numbers, demand, numbers
from optics_core._tilt import demand_angle, demand_index, demand_thickness, weakened_front
from optics_core.power_vectors import PowerMatrix
from optics_core.prism import Eye, Prism, inward

NO_SUCH_RAY = "The ray must pass through the lens: at this angle it meets no surface or is wholly reflected."

_LENS_BEFORE_THE_EYE = (*LENS, "front_power_d", "centre_mm", "index", "pantoscopic_deg", "face_form_deg")
_STEP = 1e-30
_MOST_ROUNDS = 30
_SETTLED_MM = 1e-14
_MET_MM = 1e-11

Vector: TypeAlias = tuple[Any, Any, Any]


@dataclass(frozen=True, slots=True)
class TracedLens:
    """Power before the eye, in the face's axes [D], and how the lens bends a ray that comes straight [pd]."""

    power: PowerMatrix
    prism: Prism


@dataclass(frozen=True, slots=True)
class _Surface:
    """A torus: the circle across a direction swept along it. Curvatures in 1/mm, the direction by sine and cosine."""

    vertex_mm: Any
    along_per_mm: Any
    across_per_mm: Any
    sine: Any
    cosine: Any

    def depth_and_slopes(self, x: Any, y: Any) -> Vector:
        """Depth behind the front vertex over a point of the lens's plane, and its slopes along x and y."""
        along, across = x * self.cosine + y * self.sine, y * self.cosine - x * self.sine
        profile, steepness = _circle(self.across_per_mm, across)
        nearer = 1.0 - self.along_per_mm * profile
        swept, along_slope = _circle(self.along_per_mm / nearer, along)
        depth = profile + swept
        # z of the swept circle also moves with the profile: (1 - c s) / (1 - c z) of its slope.
        across_slope = steepness * nearer / (1.0 - self.along_per_mm * depth)
        x_slope = along_slope * self.cosine - across_slope * self.sine
        y_slope = along_slope * self.sine + across_slope * self.cosine
        return self.vertex_mm + depth, x_slope, y_slope


def traced_lens(
    *,
    sphere_d: Numbers,
    cylinder_d: Numbers,
    axis_deg: Numbers | None,
    front_power_d: Numbers,
    centre_mm: Numbers,
    index: Numbers,
    pantoscopic_deg: Numbers,
    face_form_deg: Numbers,
    eye: Eye,
) -> TracedLens:
    """Power and prism of a lens as worn, by an exact ray that comes straight and meets the front vertex.

    A thick lens lets this ray out beside its back vertex, so that its prism holds some of the lens's power as well;
    the prism of being wrapped alone is asked of `traced_wrap_prism`.

    Parameters
    ----------
    sphere_d : float or array
        Sphere of the lens by itself, back vertex power, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign; it is on the back. [D]
    axis_deg : float, array or None
        Axis on the lens; None (nan within arrays) only where the cylinder is 0. [deg]
    front_power_d : float or array
        Power of the front surface. [D]
    centre_mm : float or array
        Centre thickness, 0 or more. [mm]
    index : float or array
        Refractive index, above 1. [1]
    pantoscopic_deg : float or array
        Pantoscopic tilt, positive when the lower rim is nearer the face. [deg]
    face_form_deg : float or array
        Wrap, positive when the temporal side is nearer the head. [deg]
    eye : "right" or "left"
        Whose lens.

    Returns
    -------
    TracedLens
        Power matrix in the face's axes [D] and base vector [pd].

    Raises
    ------
    DomainError
        If a number is not finite or out of range, a cylinder other than 0 has no axis, or no ray passes.

    Source
    ------
    derived, Snell's law at a sphere and at a torus.
    """
    nasal = inward(eye=eye, x=1.0)
    library, *given = checked_lens(
        _LENS_BEFORE_THE_EYE,
        sphere_d,
        cylinder_d,
        axis_deg,
        front_power_d,
        centre_mm,
        index,
        pantoscopic_deg,
        face_form_deg,
    )
    sphere, cylinder, axis, front, centre, ratio, tilt, wrap = (np.asarray(value) for value in given)
    demand_index(ratio)
    demand_angle("pantoscopic_deg", tilt)
    demand_angle("face_form_deg", wrap)
    demand_thickness("centre_mm", centre)
    back = sphere - front / weakened_front(front, centre, ratio)
    bending = 1000.0 * (ratio - 1.0)
    convex = front / bending
    surfaces = (
        _Surface(0.0, convex, convex, 0.0, 1.0),
        _toric(centre, -back / bending, -(back + cylinder) / bending, axis),
    )
    with np.errstate(all="ignore"):  # a ray that does not pass is told from what is left of it
        found, passed = _through(surfaces, centre, ratio, *_face_on_the_lens(tilt, wrap, nasal))
    turned = np.degrees(np.arccos(np.cos(np.radians(tilt)) * np.cos(np.radians(wrap))))
    demand(passed, argument="pantoscopic_deg, face_form_deg", rule=NO_SUCH_RAY, value=turned + np.zeros_like(passed))
    xx, xy, yy, x, y = (value if library is ARRAY else float(value) for value in found)
    return TracedLens(PowerMatrix(xx, xy, yy), Prism(x, y))


def traced_wrap_prism(*, front_power_d: Number, centre_mm: Number, index: Number, angle_deg: Number) -> Number:
    """Prism that comes of being wrapped, or tilted, alone: the exact form of `as_worn.wrap_prism`.

    The eye's line of sight is followed backwards: it leaves straight to the eye at the back vertex, where the back
    is square to the lens's axis, so that its curve, and the power of the lens, have no part in it.

    Parameters
    ----------
    front_power_d : float or array
        Power of the front surface. [D]
    centre_mm : float or array
        Centre thickness, 0 or more. [mm]
    index : float or array
        Refractive index, above 1. [1]
    angle_deg : float or array
        Face form, or pantoscopic tilt, signs as above. [deg]

    Returns
    -------
    float or array
        Prism: base out for wrap, base down for tilt; negative the other way. [pd]

    Raises
    ------
    DomainError
        If a number is not finite or out of range, or no ray passes.

    Source
    ------
    derived, Snell's law at a plane and at a sphere.
    """
    names = ("front_power_d", "centre_mm", "index", "angle_deg")
    library, front, centre, ratio, angle = numbers(names, front_power_d, centre_mm, index, angle_deg)
    demand_thickness("centre_mm", centre)
    demand_index(ratio)
    demand_angle("angle_deg", angle)
    weakened_front(front, centre, ratio)
    sine, cosine = library.sine_and_cosine(angle)
    across, along = sine / ratio, library.sqrt(1.0 - (sine / ratio) ** 2)
    # Back to the front's sphere, whose points (z, y) have curvature x (z^2 + y^2) = 2 z.
    curvature = front / (1000.0 * (ratio - 1.0))
    ahead = 1.0 - curvature * centre
    root = 1.0 - (across * ahead) ** 2
    demand(root > 0.0, argument="angle_deg", rule=NO_SUCH_RAY, value=angle)
    whole = along * ahead + library.sqrt(root)
    demand(whole > 0.0, argument="angle_deg", rule=NO_SUCH_RAY, value=angle)
    way = centre * (2.0 - curvature * centre) / whole
    normal_along, normal_across = 1.0 - curvature * (centre - way * along), curvature * way * across
    inner = along * normal_along + across * normal_across
    outer = 1.0 - ratio**2 * (1.0 - inner**2)
    demand((inner > 0.0) & (outer > 0.0), argument="angle_deg", rule=NO_SUCH_RAY, value=angle)
    push = ratio * inner - library.sqrt(outer)
    came_along, came_across = ratio * along - push * normal_along, ratio * across - push * normal_across
    bent = sine * came_along - cosine * came_across
    return 100.0 * bent / (cosine * came_along + sine * came_across) + 0.0


def _toric(vertex: Any, along: Any, across: Any, axis: Any) -> _Surface:
    """A torus by the curvatures along and across an axis: the more curved circle is swept."""
    steep_across = abs(across) >= abs(along)
    sine, cosine = ARRAY.sine_and_cosine(np.where(steep_across, axis, axis + 90.0))
    less, more = np.where(steep_across, along, across), np.where(steep_across, across, along)
    return _Surface(vertex, less, more, sine, cosine)


def _face_on_the_lens(tilt: Any, wrap: Any, nasal: float) -> tuple[Vector, Vector, Vector]:
    """The face's x, y and the direction straight in, each told in the axes of the lens."""
    sine_tilt, cosine_tilt = ARRAY.sine_and_cosine(tilt)
    sine_wrap, cosine_wrap = ARRAY.sine_and_cosine(wrap)
    sine_wrap = nasal * sine_wrap
    none = 0.0 * sine_wrap
    x = (cosine_wrap, none, sine_wrap)
    y = (-sine_wrap * sine_tilt, cosine_tilt + none, cosine_wrap * sine_tilt)
    straight = (-sine_wrap * cosine_tilt, none - sine_tilt, cosine_wrap * cosine_tilt)
    return x, y, straight


def _through(
    surfaces: tuple[_Surface, _Surface], centre: Any, index: Any, x: Vector, y: Vector, straight: Vector
) -> tuple[tuple[Any, ...], Any]:
    """Of the ray straight in at the front vertex: power xx, xy, yy in D, base vector in pd; and whether it passed."""
    point = _each(lambda one, other: 1j * _STEP * np.stack([one, other]), x, y)
    ray = _each(lambda part: np.stack([part, part]) + 0j, straight)
    passed: Any = True
    for surface, before, after in zip(surfaces, (1.0, index), (index, 1.0), strict=True):
        point, slopes, met = _met(surface, point, ray)
        ray, through = _refracted(ray, slopes, before / after)
        passed = passed & met & through
    leaving = _each(lambda part: part[0].real, ray)
    # The plane through the back vertex, square to the ray that leaves.
    way = ((centre - point[2]) * leaving[2] - point[0] * leaving[0] - point[1] * leaving[1]) / _dot(ray, leaving)
    point = _each(lambda place, part: place + way * part, point, ray)
    axes = [_carried(axis, straight, leaving) for axis in (x, y)]
    # Where each neighbour is, and how steep, along the turned axes: a for the step along x, b for that along y.
    (ax, bx), (ay, by) = (_dot(_each(np.imag, point), axis) / _STEP for axis in axes)
    (ua, ub), (va, vb) = (_dot(_each(np.imag, ray), axis) / _STEP for axis in axes)
    area = ax * by - bx * ay
    forward = _dot(leaving, straight)
    found = (
        -1000.0 * (ua * by - ub * ay) / area,
        # Rays from one point stay square to a wave, so the mixed parts xy and yx are equal but for rounding.
        -500.0 * (ub * ax - ua * bx + va * by - vb * ay) / area,
        -1000.0 * (vb * ax - va * bx) / area,
        100.0 * _dot(leaving, x) / forward,
        100.0 * _dot(leaving, y) / forward,
    )
    return found, np.all(passed, axis=0) & (forward > 0.0) & np.all([np.isfinite(part) for part in found], axis=0)


def _carried(axis: Vector, before: Vector, after: Vector) -> Vector:
    """An axis square to the ray before, turned along with it by the least turn that leads to the ray after."""
    share = _dot(axis, after) / (1.0 + _dot(before, after))
    return _each(lambda part, one, other: part - share * (one + other), axis, before, after)


def _met(surface: _Surface, point: Vector, ray: Vector) -> tuple[Vector, Vector, Any]:
    """Where the ray meets the surface, the slopes there, and whether it does: Newton's method along the ray."""
    way = (surface.vertex_mm - point[2]) / ray[2]
    for _ in range(_MOST_ROUNDS):
        depth, x_slope, y_slope = surface.depth_and_slopes(point[0] + way * ray[0], point[1] + way * ray[1])
        step = (depth - point[2] - way * ray[2]) / (ray[2] - x_slope * ray[0] - y_slope * ray[1])
        way = way + step
        if not np.any(abs(step.real) > _SETTLED_MM):
            break
    met = _each(lambda place, part: place + way * part, point, ray)
    return met, (x_slope, y_slope, 1.0), abs(step.real) <= _MET_MM


def _refracted(ray: Vector, slopes: Vector, ratio: Any) -> tuple[Vector, Any]:
    """Snell's law: the part along the surface times n / n', the part across it what is left of a unit."""
    length = np.sqrt(slopes[0] ** 2 + slopes[1] ** 2 + 1.0)
    across = (-slopes[0] / length, -slopes[1] / length, 1.0 / length)
    cosine = _dot(ray, across)
    left = 1.0 - ratio**2 * (1.0 - cosine**2)
    push = np.sqrt(left) - ratio * cosine
    bent = _each(lambda part, normal: ratio * part + push * normal, ray, across)
    return bent, (left.real > 0.0) & (cosine.real > 0.0)


def _circle(curvature: Any, height: Any) -> tuple[Any, Any]:
    """Sag of a circle and its slope; complex, so that a height out of its reach is seen in the end, not here."""
    root = np.sqrt(1.0 - (curvature * height) ** 2 + 0j)
    return curvature * height**2 / (1.0 + root), curvature * height / root


def _dot(one: Vector, other: Vector) -> Any:
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def _each(what: Callable[..., Any], *vectors: Vector) -> Vector:
    x, y, z = (what(*parts) for parts in zip(*vectors, strict=True))
    return x, y, z
