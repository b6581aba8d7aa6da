"""What is wrong with a lens as a lens: ordered less measured, and repeated readings taken together.

Sphere, cylinder and axis do not subtract, and axes have no mean: 5 and 175 average to 180, not to 90. Power vectors
do both. The residual is the lens that would have to be added to the finished one; its length, the root of
M^2 + J0^2 + J45^2, is the size of the error in one number, whatever the axis. A cylinder C whose axis is turned by e
leaves a crossed cylinder of 2 C sin e.

Signs as in `optics_core.sphero_cylinder`: converging power positive, axes counter-clockwise from +x.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from optics_core._lens import SpheroCylinder
from optics_core._tolerance_rows import settled, single_minus_form
from optics_core.errors import DomainError
from optics_core.power_vectors import crossed_sum

_SOME = "One reading or more is expected."


@dataclass(frozen=True, slots=True)
class Residual:
    """The lens that is wanting, in minus-cylinder form [D, deg], and the length of its power vector [D]."""

    power: SpheroCylinder
    length_d: float


@dataclass(frozen=True, slots=True)
class Spread:
    """Greatest less least reading of sphere and cylinder (minus form) [D]; the arc that holds all axes [deg].

    `meridian_d` is that of the principal powers, like with like: the greater of the two [D].
    """

    sphere_d: float
    cylinder_d: float
    axis_deg: float | None
    meridian_d: float


def residual_power(*, ordered: SpheroCylinder, measured: SpheroCylinder) -> Residual:
    """Ordered less measured, as a lens.

    Parameters
    ----------
    ordered : SpheroCylinder
        Power as ordered, in either form. [D, deg]
    measured : SpheroCylinder
        Power as measured, in either form. [D, deg]

    Returns
    -------
    Residual
        Power that is wanting, in minus-cylinder form [D, deg], and the length of its power vector [D].

    Raises
    ------
    DomainError
        If a number is not a single finite one, or a cylinder other than 0 has no axis.

    Source
    ------
    thibos-1997, difference and length of power vectors.
    """
    return _difference(single_minus_form(ordered), single_minus_form(measured))


def residual_between(*, right: Residual, left: Residual) -> Residual:
    """How the two eyes' residuals differ: two errors that each pass may lie in opposite directions.

    Parameters
    ----------
    right : Residual
        Of the right lens. [D, deg]
    left : Residual
        Of the left lens. [D, deg]

    Returns
    -------
    Residual
        Right less left, in minus-cylinder form [D, deg], and the length of its power vector [D].

    Raises
    ------
    DomainError
        If a number is not a single finite one, or a cylinder other than 0 has no axis.

    Source
    ------
    thibos-1997, difference and length of power vectors.
    """
    return _difference(single_minus_form(right.power), single_minus_form(left.power))


def mean_power(lenses: Iterable[SpheroCylinder]) -> SpheroCylinder:
    """Mean of repeated readings of one lens, as power vectors.

    Parameters
    ----------
    lenses : iterable of SpheroCylinder
        One reading or more, in either form. [D, deg]

    Returns
    -------
    SpheroCylinder
        Minus-cylinder form [D, deg]; the axis is None where the cylinders cancel.

    Raises
    ------
    DomainError
        If there is no reading, a number is not a single finite one, or a cylinder other than 0 has no axis.

    Source
    ------
    thibos-1997, mean of power vectors.
    """
    readings = _readings(lenses)
    whole = crossed_sum(readings)
    return SpheroCylinder(whole.sphere_d / len(readings), whole.cylinder_d / len(readings), whole.axis_deg)


def reading_spread(lenses: Iterable[SpheroCylinder]) -> Spread:
    """How far repeated readings of one lens lie apart.

    Parameters
    ----------
    lenses : iterable of SpheroCylinder
        One reading or more, in either form. [D, deg]

    Returns
    -------
    Spread
        Greatest less least sphere and cylinder of the minus-cylinder form [D]; the smallest arc that holds all axes,
        half turns not counting [deg], None where a reading has no cylinder; greatest less least power of the
        principal meridian in which readings lie further apart [D].

    Raises
    ------
    DomainError
        If there is no reading, a number is not a single finite one, or a cylinder other than 0 has no axis.

    Source
    ------
    derived, the widest gap between axes on the half circle is what the smallest arc leaves out.
    """
    readings = _readings(lenses)
    # In minus-cylinder form the sphere is the more plus of the two principal powers, so like meets like.
    sphere = _range([reading.sphere_d for reading in readings])
    other = _range([reading.sphere_d + reading.cylinder_d for reading in readings])
    axes = [reading.axis_deg for reading in readings if reading.axis_deg is not None]
    return Spread(
        sphere_d=sphere,
        cylinder_d=_range([reading.cylinder_d for reading in readings]),
        axis_deg=_smallest_arc(axes) if len(axes) == len(readings) else None,
        meridian_d=max(sphere, other),
    )


def _range(values: list[float]) -> float:
    return settled(max(values) - min(values))


def _difference(first: SpheroCylinder, second: SpheroCylinder) -> Residual:
    power = crossed_sum([first, SpheroCylinder(-second.sphere_d, -second.cylinder_d, second.axis_deg)])
    half = power.cylinder_d / 2.0
    return Residual(power, math.hypot(power.sphere_d + half, half))


def _readings(lenses: Iterable[SpheroCylinder]) -> list[SpheroCylinder]:
    readings = [single_minus_form(lens) for lens in lenses]
    if not readings:
        raise DomainError("lenses", _SOME, readings)
    return readings


def _smallest_arc(axes_deg: list[float]) -> float:
    ordered = sorted(axes_deg)
    gaps = [after - before for before, after in zip(ordered, [*ordered[1:], ordered[0] + 180.0], strict=True)]
    return settled(180.0 - max(gaps))
