# mypy: disable-error-code="no-any-return"
"""Sphere, cylinder and axis: the three numbers that say what a thin lens does at each meridian.

A sphero-cylindrical lens has two principal meridians at right angles: the power is the sphere along the
axis and sphere + cylinder across it. The same lens can be written with a minus or a plus cylinder
(transposition), as a power vector (M, J0, J45) or as a symmetric 2 x 2 power matrix. The vector and the
matrix add up lens by lens; sphere, cylinder and axis do not: see `optics_core.power_vectors`.

Signs: converging power is positive. The axis is counted counter-clockwise from +x, the lens seen from the
front, x to the observer's right, for both eyes (ISO 8429); it is given in (0, 180], so 0 is written 180.
A lens without a cylinder has no axis: None for single numbers, nan within arrays.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from optics_core._lens import LENS, SpheroCylinder, checked_lens, quarter_turned, vector_parts, within_half_turn
from optics_core._numeric import Number, Numbers, numbers

# The forms that add up are part of this subject; they stand in a module of their own for its length.
from optics_core.power_vectors import (
    PowerMatrix,
    PowerVector,
    crossed_sum,
    from_power_vector,
    power_matrix,
    power_vector,
)

_LENS_AND_MERIDIAN = (*LENS, "meridian_deg")

__all__ = [
    "LensForms",
    "PowerMatrix",
    "PowerVector",
    "SpheroCylinder",
    "crossed_sum",
    "from_power_vector",
    "lens_forms",
    "minus_cylinder",
    "normal_axis",
    "plus_cylinder",
    "power_in_meridian",
    "power_matrix",
    "power_vector",
    "principal_powers",
    "spherical_equivalent",
    "transposed",
]


def normal_axis(*, axis_deg: Number) -> Number:
    """Axis as it is written: the same direction, within (0, 180].

    Parameters
    ----------
    axis_deg : float or array
        Any finite angle, counter-clockwise from +x; half turns do not matter. [deg]

    Returns
    -------
    float or array
        The same axis, above 0 and at most 180; 0 becomes 180. [deg]

    Raises
    ------
    DomainError
        If the axis is not a finite number.

    Source
    ------
    iso-8429, direction and zero of angles; nfos, module 8, "0 is written 180".
    """
    library, axis = numbers(("axis_deg",), axis_deg)
    return within_half_turn(library, axis)


def transposed(*, sphere_d: Numbers, cylinder_d: Numbers, axis_deg: Numbers | None) -> SpheroCylinder:
    """The same lens in the other form: S + C, -C, axis a quarter turn on.

    Exact for powers in steps of a binary fraction (0.25, 0.125); twice over it is the identity.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]

    Returns
    -------
    SpheroCylinder
        Sphere [D], cylinder [D] and axis in (0, 180] [deg], None (nan within arrays) where there is no cylinder.

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    nfos, module 8, transposition.
    """
    library, sphere, cylinder, axis = checked_lens(LENS, sphere_d, cylinder_d, axis_deg)
    turned = quarter_turned(library, within_half_turn(library, axis))
    return SpheroCylinder(sphere + cylinder + 0.0, 0.0 - cylinder, library.only(cylinder != 0.0, turned))


def minus_cylinder(*, sphere_d: Numbers, cylinder_d: Numbers, axis_deg: Numbers | None) -> SpheroCylinder:
    """The lens written with a minus cylinder: the sphere is the stronger plus of the two principal powers.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]

    Returns
    -------
    SpheroCylinder
        Sphere [D], cylinder of 0 or less [D] and axis in (0, 180] [deg], None (nan) where there is no cylinder.

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    nfos, module 8, transposition.
    """
    library, sphere, cylinder, axis = checked_lens(LENS, sphere_d, cylinder_d, axis_deg)
    axis = within_half_turn(library, axis)
    return _minus(library, sphere, cylinder, axis, quarter_turned(library, axis))


def plus_cylinder(*, sphere_d: Numbers, cylinder_d: Numbers, axis_deg: Numbers | None) -> SpheroCylinder:
    """The lens written with a plus cylinder: the sphere is the lesser plus of the two principal powers.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]

    Returns
    -------
    SpheroCylinder
        Sphere [D], cylinder of 0 or more [D] and axis in (0, 180] [deg], None (nan) where there is no cylinder.

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    nfos, module 8, transposition.
    """
    library, sphere, cylinder, axis = checked_lens(LENS, sphere_d, cylinder_d, axis_deg)
    axis = within_half_turn(library, axis)
    return _plus(library, sphere, cylinder, axis, quarter_turned(library, axis))


def spherical_equivalent(*, sphere_d: Number, cylinder_d: Number) -> Number:
    """Mean power S + C/2.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]

    Returns
    -------
    float or array
        Spherical equivalent. [D]

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    nfos, module 9, spherical equivalent.
    """
    _, sphere, cylinder = numbers(("sphere_d", "cylinder_d"), sphere_d, cylinder_d)
    return sphere + cylinder / 2.0


def power_in_meridian(*, sphere_d: Number, cylinder_d: Number, axis_deg: Number | None, meridian_deg: Number) -> Number:
    """Power in one meridian, S + C sin^2(m - A).

    It is the curvature along that meridian only. Off the principal meridians a lens also turns light
    sideways, so this number times a distance is not the prism: see `optics_core.prism`.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]
    meridian_deg : float or array
        Meridian, counted like the axis. [deg]

    Returns
    -------
    float or array
        Power in that meridian. [D]

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    nfos, module 10, oblique meridians.
    """
    library, sphere, cylinder, axis, meridian = checked_lens(
        _LENS_AND_MERIDIAN, sphere_d, cylinder_d, axis_deg, meridian_deg
    )
    sine, _ = library.sine_and_cosine(meridian - axis)
    return sphere + cylinder * sine * sine


def principal_powers(
    *, sphere_d: Number, cylinder_d: Number, axis_deg: Number | None
) -> tuple[tuple[Number, Number], tuple[Number, Number]]:
    """The two principal meridians with their powers.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]

    Returns
    -------
    tuple of two tuples
        (meridian in (0, 180] [deg], power [D]), first along the axis (the sphere), then a quarter turn on.
        A lens without a cylinder is alike in all meridians: 180 and 90 are given.

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    nfos, module 10, oblique meridians (the optical cross).
    """
    library, sphere, cylinder, axis = checked_lens(LENS, sphere_d, cylinder_d, axis_deg)
    return _principal(library, sphere, cylinder, within_half_turn(library, axis))


@dataclass(frozen=True, slots=True)
class LensForms:
    """One lens in every way it is written: both forms, its power vector, its principal meridians. [D, deg]"""

    minus: SpheroCylinder
    plus: SpheroCylinder
    vector: PowerVector
    meridians: tuple[tuple[float, float], tuple[float, float]]


def lens_forms(*, sphere_d: Numbers, cylinder_d: Numbers, axis_deg: Numbers | None) -> LensForms:
    """All forms of a lens at once: what `minus_cylinder`, `plus_cylinder`, `power_vector`, `principal_powers` give.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]

    Returns
    -------
    LensForms
        The four forms. [D, deg]

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    nfos, modules 8 and 10; thibos-1997, definition of M, J0, J45.
    """
    library, sphere, cylinder, axis = checked_lens(LENS, sphere_d, cylinder_d, axis_deg)
    along = within_half_turn(library, axis)
    across = quarter_turned(library, along)
    return LensForms(
        _minus(library, sphere, cylinder, along, across),
        _plus(library, sphere, cylinder, along, across),
        PowerVector(*vector_parts(library, sphere, cylinder, axis)),
        _principal(library, sphere, cylinder, along),
    )


def _minus(library: Any, sphere: Any, cylinder: Any, along: Any, across: Any) -> SpheroCylinder:
    axis = library.only(cylinder != 0.0, library.where(cylinder > 0.0, across, along))
    return SpheroCylinder(sphere + library.maximum(cylinder, 0.0), 0.0 - abs(cylinder), axis)


def _plus(library: Any, sphere: Any, cylinder: Any, along: Any, across: Any) -> SpheroCylinder:
    axis = library.only(cylinder != 0.0, library.where(cylinder < 0.0, across, along))
    return SpheroCylinder(sphere + library.minimum(cylinder, 0.0) + 0.0, abs(cylinder), axis)


def _principal(library: Any, sphere: Any, cylinder: Any, along: Any) -> Any:
    along = library.where(cylinder == 0.0, 180.0, along)
    return (along, sphere), (quarter_turned(library, along), sphere + cylinder)
