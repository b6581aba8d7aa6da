# mypy: disable-error-code="no-any-return"
"""Vergence: how the power a lens must have depends on where it stands.

A lens corrects a distant view when its far focus falls on the eye's far point. Moved towards the eye by d
metres, the lens must have its focus d nearer: F' = F / (1 - d F). So a lens moved closer must be a stronger
plus or a weaker minus, and the other way round when it moves away.

Signs: converging power is positive; the shift is positive in the direction of the light, towards the eye.
Thin lenses. The formula ends where the lens would reach its own focus, 1 - d F <= 0.
"""

from __future__ import annotations

from typing import Any

from optics_core._lens import LENS, SpheroCylinder, checked_lens, within_half_turn
from optics_core._numeric import Number, Numbers, demand, numbers

BEFORE_ITS_FOCUS = "The lens must stop before its own focus: 1 - shift x power (in metres and dioptres) is above 0."
NOT_NEGATIVE = "A distance of 0 mm or more is expected."

_LENS_AND_PLACES = (*LENS, "refracted_mm", "worn_mm")


def effective_power(*, power_d: Number, shift_m: Number) -> Number:
    """Power a thin lens must have after moving, to keep the same far focus: F / (1 - d F).

    Parameters
    ----------
    power_d : float or array
        Power in the first position, converging positive. [D]
    shift_m : float or array
        How far the lens moves in the direction of the light, towards the eye positive. [m]

    Returns
    -------
    float or array
        Power needed in the new position. [D]

    Raises
    ------
    DomainError
        If a number is not finite, or the lens would reach its own focus.

    Source
    ------
    peaper-2022, compensation for vertex distance; optiboard, thread on toric vertex compensation.
    """
    _, power, shift = numbers(("power_d", "shift_m"), power_d, shift_m)
    return power / _weakening(power, shift, argument="shift_m", value=shift)


def vertex_changed(
    *,
    sphere_d: Numbers,
    cylinder_d: Numbers,
    axis_deg: Numbers | None,
    refracted_mm: Numbers,
    worn_mm: Numbers,
) -> SpheroCylinder:
    """The lens needed at another vertex distance, each principal meridian by itself; nothing is rounded.

    Parameters
    ----------
    sphere_d : float or array
        Sphere found at the first distance, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]
    refracted_mm : float or array
        Distance from the cornea at which the lens was found, 0 or more. [mm]
    worn_mm : float or array
        Distance from the cornea at which it will be worn, 0 or more. [mm]

    Returns
    -------
    SpheroCylinder
        Sphere [D], cylinder of the same sign as before [D], same axis in (0, 180] [deg].

    Raises
    ------
    DomainError
        If a number is not finite, a distance is negative, a cylinder other than 0 has no axis, or the lens
        would reach its own focus in one of its meridians.

    Source
    ------
    peaper-2022, compensation for vertex distance; optiboard, thread on toric vertex compensation.
    """
    library, along, cylinder, axis, refracted, worn = checked_lens(
        _LENS_AND_PLACES, sphere_d, cylinder_d, axis_deg, refracted_mm, worn_mm
    )
    across = along + cylinder
    demand(refracted >= 0.0, argument="refracted_mm", rule=NOT_NEGATIVE, value=refracted)
    demand(worn >= 0.0, argument="worn_mm", rule=NOT_NEGATIVE, value=worn)
    shift = (refracted - worn) / 1000.0
    first = _weakening(along, shift, argument="worn_mm", value=worn)
    second = _weakening(across, shift, argument="worn_mm", value=worn)
    axis = library.only(cylinder != 0.0, within_half_turn(library, axis))
    # The cylinder is across/second - along/first, written as one quotient: it keeps the sign and, unmoved, every digit.
    return SpheroCylinder(along / first + 0.0, cylinder / (first * second) + 0.0, axis)


def _weakening(power: Any, shift: Any, *, argument: str, value: Any) -> Any:
    factor = 1.0 - shift * power
    demand(factor > 0.0, argument=argument, rule=BEFORE_ITS_FOCUS, value=value)
    return factor
