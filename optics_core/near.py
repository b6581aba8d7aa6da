# mypy: disable-error-code="no-any-return"
"""Near work: where the eyes look through the lenses at reading distance, and which power serves them there.

Both lines of sight turn about the eyes' centres of rotation, s behind the lens, to one point W before it; each meets
its lens nearer the nose than when looking far. The distance lens bends the line too: a plus lens outwards, so that the
eye turns in more. With I the inset of one eye and P its distance from the middle,

    I = P / (1 + W (1/s - F)),    and without power I = P s / (W + s).

For reading the sphere becomes sphere + add; for an intermediate distance a part of the add. The add takes over what the
eye cannot do: looking at W asks for 1/W, the add gives its own, the eye's accommodation the rest.

Signs: in (nasal) is positive; distances in mm from the lens, positive; F is the lens's power along the horizontal.
"""

from __future__ import annotations

from typing import Any

from optics_core._boxes import ABOVE_ZERO
from optics_core._lens import LENS, SpheroCylinder, checked_lens, within_half_turn
from optics_core._numeric import Number, Numbers, demand, numbers

A_SHARE = "A share of 0 to 1 is expected."
AN_ADD = "An addition of 0 or more is expected."
TURNS_IN = "The lens must leave the eye a place to look through: 1 + W (1/s - F) is above 0."

_ADDED_LENS = (*LENS, "add_d")
_ADDED_PART = (*_ADDED_LENS, "share")
_SIGHT = ("pd_mm", "working_mm", "power_d", "rotation_centre_mm")


def near_pd(*, pd_mm: Number, working_mm: Number, rotation_centre_mm: float = 27.0) -> Number:
    """PD at the lenses when both eyes look at a near point, PD W / (W + s), without the lenses' own prism.

    Parameters
    ----------
    pd_mm : float or array
        Distance PD, of both eyes or of one from the middle, above 0. [mm]
    working_mm : float or array
        From the lens to the near point, above 0. [mm]
    rotation_centre_mm : float
        From the lens to the eye's centre of rotation, above 0. [mm]

    Returns
    -------
    float or array
        Near PD, of both eyes or of one as was given. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    optiboard, thread on distance PD and near PD; derived, similar triangles.
    """
    names = ("pd_mm", "working_mm", "rotation_centre_mm")
    _, pd, working, centre = numbers(names, pd_mm, working_mm, rotation_centre_mm)
    _demand_sight(pd, working, centre)
    return pd * working / (working + centre)


def near_inset(*, pd_mm: Number, working_mm: Number, power_d: Number, rotation_centre_mm: float = 27.0) -> Number:
    """How far in the line of sight moves at the lens for a near point, the lens's own prism counted.

    Parameters
    ----------
    pd_mm : float or array
        Distance PD, above 0: of one eye from the middle, or of both for the sum of both insets. [mm]
    working_mm : float or array
        From the lens to the near point, above 0. [mm]
    power_d : float or array
        Power of the distance lens along the horizontal. [D]
    rotation_centre_mm : float
        From the lens to the eye's centre of rotation, above 0. [mm]

    Returns
    -------
    float or array
        Inset, in positive. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range, or the lens is too strong to be looked through so.

    Source
    ------
    derived, one ray through a thin lens centred for distance; memory, the inset formula of Brooks and Borish, the same.
    """
    _, pd, working, power, centre = numbers(_SIGHT, pd_mm, working_mm, power_d, rotation_centre_mm)
    _demand_sight(pd, working, centre)
    # (W + s) / s without power: written so that every digit of the plain case is kept.
    turning = (working + centre) / centre - working * power / 1000.0
    demand(turning > 0.0, argument="power_d", rule=TURNS_IN, value=power)
    return pd / turning


def near_pd_through_lens(
    *, pd_mm: Number, working_mm: Number, power_d: Number, rotation_centre_mm: float = 27.0
) -> Number:
    """PD at the lenses when both eyes look at a near point, the distance lenses' prism counted.

    Parameters
    ----------
    pd_mm : float or array
        Distance PD, of both eyes or of one from the middle, above 0. [mm]
    working_mm : float or array
        From the lens to the near point, above 0. [mm]
    power_d : float or array
        Power of the distance lens along the horizontal. [D]
    rotation_centre_mm : float
        From the lens to the eye's centre of rotation, above 0. [mm]

    Returns
    -------
    float or array
        Near PD, of both eyes or of one as was given. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range, or the lens is too strong to be looked through so.

    Source
    ------
    derived, PD less `near_inset`; memory, the inset formula of Brooks and Borish, the same.
    """
    inset = near_inset(pd_mm=pd_mm, working_mm=working_mm, power_d=power_d, rotation_centre_mm=rotation_centre_mm)
    return pd_mm - inset


def ruled_inset(*, working_mm: Number) -> Number:
    """Inset of one eye by the three-quarter rule: 0.75 mm for each dioptre of the working distance.

    Parameters
    ----------
    working_mm : float or array
        From the lens to the near point, above 0. [mm]

    Returns
    -------
    float or array
        Inset of each eye, in positive. [mm]

    Raises
    ------
    DomainError
        If the number is not finite or not above 0.

    Source
    ------
    memory, Gerstman's three-quarter rule as Brooks and Borish tell it.
    """
    _, working = numbers(("working_mm",), working_mm)
    demand(working > 0.0, argument="working_mm", rule=ABOVE_ZERO, value=working)
    return 750.0 / working


def segment_inset(*, pd_mm: Number, near_pd_mm: Number) -> Number:
    """Inset of each eye's reading part from its distance centre, (PD - near PD) / 2 for PDs of both eyes.

    Parameters
    ----------
    pd_mm : float or array
        Distance PD of both eyes together, above 0. [mm]
    near_pd_mm : float or array
        Near PD of both eyes together, above 0. [mm]

    Returns
    -------
    float or array
        Inset of each eye, in positive. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or not above 0.

    Source
    ------
    common-practice, (PD - near PD) / 2.
    """
    _, pd, near = numbers(("pd_mm", "near_pd_mm"), pd_mm, near_pd_mm)
    demand(pd > 0.0, argument="pd_mm", rule=ABOVE_ZERO, value=pd)
    demand(near > 0.0, argument="near_pd_mm", rule=ABOVE_ZERO, value=near)
    return (pd - near) / 2.0


def reading_power(
    *, sphere_d: Numbers, cylinder_d: Numbers, axis_deg: Numbers | None, add_d: Numbers
) -> SpheroCylinder:
    """Power for reading: sphere + add, cylinder and axis as they are.

    Parameters
    ----------
    sphere_d : float or array
        Sphere for distance, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]
    add_d : float or array
        Addition, 0 or more. [D]

    Returns
    -------
    SpheroCylinder
        Sphere [D], the cylinder given [D], axis in (0, 180] [deg], None (nan) where there is no cylinder.

    Raises
    ------
    DomainError
        If a number is not finite, the add is negative, or a cylinder other than 0 has no axis.

    Source
    ------
    common-practice, the add is worked on the sphere, and is the same in both forms of the cylinder.
    """
    library, sphere, cylinder, axis, add = checked_lens(_ADDED_LENS, sphere_d, cylinder_d, axis_deg, add_d)
    demand(add >= 0.0, argument="add_d", rule=AN_ADD, value=add)
    return _added(library, sphere, cylinder, axis, add)


def intermediate_power(
    *, sphere_d: Numbers, cylinder_d: Numbers, axis_deg: Numbers | None, add_d: Numbers, share: Numbers = 0.5
) -> SpheroCylinder:
    """Power for an intermediate distance: sphere + a share of the add.

    Parameters
    ----------
    sphere_d : float or array
        Sphere for distance, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]
    add_d : float or array
        Addition for reading, 0 or more. [D]
    share : float or array
        Part of the add, 0 to 1: a half in most trifocals. [1]

    Returns
    -------
    SpheroCylinder
        Sphere [D], the cylinder given [D], axis in (0, 180] [deg], None (nan) where there is no cylinder.

    Raises
    ------
    DomainError
        If a number is not finite or out of range, or a cylinder other than 0 has no axis.

    Source
    ------
    memory, half the add in a standard trifocal, 61 % in occupational ones.
    """
    library, sphere, cylinder, axis, add, part = checked_lens(_ADDED_PART, sphere_d, cylinder_d, axis_deg, add_d, share)
    demand(add >= 0.0, argument="add_d", rule=AN_ADD, value=add)
    demand((part >= 0.0) & (part <= 1.0), argument="share", rule=A_SHARE, value=part)
    return _added(library, sphere, cylinder, axis, add * part)


def accommodation_asked(*, add_d: Number, working_mm: Number) -> Number:
    """What a working distance leaves for the eye to do: 1/W less the add.

    Below 0 the add alone focuses nearer than is asked: the eye has no way to see clearly so far out.

    Parameters
    ----------
    add_d : float or array
        Addition, 0 or more. [D]
    working_mm : float or array
        From the lens to what is looked at, above 0. [mm]

    Returns
    -------
    float or array
        Accommodation asked of the eye; negative where the add is too strong. [D]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, the vergence from the near point less the add.
    """
    _, add, working = numbers(("add_d", "working_mm"), add_d, working_mm)
    demand(add >= 0.0, argument="add_d", rule=AN_ADD, value=add)
    demand(working > 0.0, argument="working_mm", rule=ABOVE_ZERO, value=working)
    return 1000.0 / working - add


def farthest_clear_mm(*, add_d: Number) -> Number:
    """The farthest distance seen clearly through an add, 1/add, the eye at rest and corrected for far.

    Parameters
    ----------
    add_d : float or array
        Addition, above 0. [D]

    Returns
    -------
    float or array
        Distance from the lens. [mm]

    Raises
    ------
    DomainError
        If the number is not finite or not above 0.

    Source
    ------
    derived, the focal distance of the add.
    """
    _, add = numbers(("add_d",), add_d)
    demand(add > 0.0, argument="add_d", rule="An addition above 0 is expected.", value=add)
    return 1000.0 / add


def expected_add(*, working_mm: Number, amplitude_d: Number) -> Number:
    """Add for a distance when half the eye's amplitude of accommodation is kept in reserve: 1/W - half of it.

    Parameters
    ----------
    working_mm : float or array
        From the lens to what is looked at, above 0. [mm]
    amplitude_d : float or array
        Amplitude of accommodation, 0 or more. [D]

    Returns
    -------
    float or array
        Add; 0 where half the amplitude is enough. [D]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    memory, half the amplitude in reserve.
    """
    library, working, amplitude = numbers(("working_mm", "amplitude_d"), working_mm, amplitude_d)
    demand(working > 0.0, argument="working_mm", rule=ABOVE_ZERO, value=working)
    demand(amplitude >= 0.0, argument="amplitude_d", rule="An amplitude of 0 or more is expected.", value=amplitude)
    return library.maximum(1000.0 / working - amplitude / 2.0, 0.0)


def _added(library: Any, sphere: Any, cylinder: Any, axis: Any, add: Any) -> SpheroCylinder:
    return SpheroCylinder(sphere + add, cylinder + 0.0, library.only(cylinder != 0.0, within_half_turn(library, axis)))


def _demand_sight(pd: Any, working: Any, centre: Any) -> None:
    demand(pd > 0.0, argument="pd_mm", rule=ABOVE_ZERO, value=pd)
    demand(working > 0.0, argument="working_mm", rule=ABOVE_ZERO, value=working)
    demand(centre > 0.0, argument="rotation_centre_mm", rule=ABOVE_ZERO, value=centre)
