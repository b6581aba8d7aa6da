"""Power vectors and matrices: the forms of a sphero-cylinder that add up.

The power along a meridian runs through a mean value M twice a turn, so it is a vector in a space of double
angles: J0 is the cross-cylinder at 180/90, J45 the one at 45/135. The same three numbers make the symmetric
power matrix [[M + J0, J45], [J45, M - J0]], which turns a displacement into prism. Thin lenses in contact,
residual errors and differences are sums of these, component by component; sphere, cylinder and axis do not add.

Signs as in `optics_core.sphero_cylinder`: converging power positive, axes counter-clockwise from +x.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from optics_core._lens import LENS, SpheroCylinder, checked_lens, matrix_parts, vector_parts, within_half_turn
from optics_core._numeric import Numbers, numbers

# Cylinders that cancel leave about 1e-16 of their size behind; an axis read from that would be noise.
_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class PowerVector:
    """Mean power and the two cross-cylinders at 180/90 and 45/135. [D]"""

    m_d: float
    j0_d: float
    j45_d: float


@dataclass(frozen=True, slots=True)
class PowerMatrix:
    """Symmetric power matrix [[xx, xy], [xy, yy]]. [D]"""

    xx_d: float
    xy_d: float
    yy_d: float


def power_vector(*, sphere_d: Numbers, cylinder_d: Numbers, axis_deg: Numbers | None) -> PowerVector:
    """Power vector: M = S + C/2, J0 = -(C/2) cos 2A, J45 = -(C/2) sin 2A.

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
    PowerVector
        Mean power, cross-cylinder at 180/90, cross-cylinder at 45/135. [D]

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    thibos-1997, definition of M, J0, J45 (formula from memory, checked by a second route).
    """
    library, sphere, cylinder, axis = checked_lens(LENS, sphere_d, cylinder_d, axis_deg)
    return PowerVector(*vector_parts(library, sphere, cylinder, axis))


def from_power_vector(*, m_d: Numbers, j0_d: Numbers, j45_d: Numbers) -> SpheroCylinder:
    """The lens, in minus-cylinder form, that has this power vector.

    Parameters
    ----------
    m_d : float or array
        Mean power. [D]
    j0_d : float or array
        Cross-cylinder at 180/90. [D]
    j45_d : float or array
        Cross-cylinder at 45/135. [D]

    Returns
    -------
    SpheroCylinder
        Sphere [D], cylinder of 0 or less [D] and axis in (0, 180] [deg], None (nan) where there is no cylinder.

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    thibos-1997, C = -2 sqrt(J0^2 + J45^2), S = M - C/2, A = atan2(J45, J0)/2 (from memory, checked).
    """
    library, mean, j0, j45 = numbers(("m_d", "j0_d", "j45_d"), m_d, j0_d, j45_d)
    half = library.hypot(j0, j45)
    axis = within_half_turn(library, library.degrees(library.atan2(j45, j0)) / 2.0)
    return SpheroCylinder(mean + half, 0.0 - 2.0 * half, library.only(half != 0.0, axis))


def power_matrix(*, sphere_d: Numbers, cylinder_d: Numbers, axis_deg: Numbers | None) -> PowerMatrix:
    """Power matrix [[M + J0, J45], [J45, M - J0]], equal to [[S + C sin^2 A, -C sin A cos A], [.., S + C cos^2 A]].

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
    PowerMatrix
        Components along x, mixed, and along y. [D]

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    long-1976, power matrix (from memory, checked by a second route).
    """
    library, sphere, cylinder, axis = checked_lens(LENS, sphere_d, cylinder_d, axis_deg)
    return PowerMatrix(*matrix_parts(library, sphere, cylinder, axis))


def widest_difference(*, right: PowerVector, left: PowerVector) -> tuple[Numbers, Numbers]:
    """The meridian in which two lenses differ most, and by how much.

    Lenses with the same mean power differ as much as any where their cylinders stand across each other.

    Parameters
    ----------
    right : PowerVector
        Power of the right lens. [D]
    left : PowerVector
        Power of the left lens. [D]

    Returns
    -------
    tuple of two floats or arrays
        Meridian in (0, 180] [deg]; power of the right lens less that of the left along it [D].

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    thibos-1997, power vectors; derived, F(m) = M + J0 cos 2m + J45 sin 2m of their difference.
    """
    names = ("right_m_d", "right_j0_d", "right_j45_d", "left_m_d", "left_j0_d", "left_j45_d")
    parts = (right.m_d, right.j0_d, right.j45_d, left.m_d, left.j0_d, left.j45_d)
    library, rm, rj, rk, lm, lj, lk = numbers(names, *parts)
    mean, j0, j45 = rm - lm, rj - lj, rk - lk
    half = library.hypot(j0, j45)
    along = library.degrees(library.atan2(j45, j0)) / 2.0
    # Along it mean and cylinder add up; a quarter turn on one is taken from the other. Spheres differ alike all round.
    meridian = library.where((mean < 0.0) & (half > 0.0), along + 90.0, along)
    return within_half_turn(library, meridian), library.where(mean < 0.0, mean - half, mean + half)


def crossed_sum(lenses: Iterable[SpheroCylinder]) -> SpheroCylinder:
    """Thin lenses in contact, at any axes, as one lens in minus-cylinder form.

    Parameters
    ----------
    lenses : iterable of SpheroCylinder
        The lenses, [D] and [deg]; none at all make a plano.

    Returns
    -------
    SpheroCylinder
        Sphere [D], cylinder of 0 or less [D] and axis in (0, 180] [deg], None (nan) where the cylinders cancel.

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    thibos-1997, sums of power vectors; jalie-lens-talk, May-June 2022 p. 105, obliquely crossed cylinders.
    """
    mean: Any = 0.0
    j0: Any = 0.0
    j45: Any = 0.0
    size: Any = 0.0
    for lens in lenses:
        vector = power_vector(sphere_d=lens.sphere_d, cylinder_d=lens.cylinder_d, axis_deg=lens.axis_deg)
        mean, j0, j45 = mean + vector.m_d, j0 + vector.j0_d, j45 + vector.j45_d
        size = size + abs(lens.cylinder_d)
    library, mean, j0, j45, size = numbers(("m_d", "j0_d", "j45_d", "size_d"), mean, j0, j45, size)
    left = library.hypot(j0, j45) > _ROUNDING * size
    return from_power_vector(m_d=mean, j0_d=library.where(left, j0, 0.0), j45_d=library.where(left, j45, 0.0))
