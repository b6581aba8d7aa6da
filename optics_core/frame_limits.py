# mypy: disable-error-code="no-any-return"
"""How large a frame of a traced shape a blank serves.

The outline grows or shrinks as a whole, or the two lenses move together or apart; the pupils stay. Either way every
point of the outline moves in a straight line as seen from the middle of the blank, and the part of that line within
the blank's usable circle is one interval. The frames that can be cut are the ones common to all these intervals, so
their end is found exactly, without searching. For boxed sizes without an outline see `optics_core.blank_limits`.

Signs: points seen from the front, x to the observer's right, y up, around the boxed centre; in (nasal) and up are
positive. Lengths in mm.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from optics_core._boxes import ABOVE_ZERO, NOT_NEGATIVE, demand_blank
from optics_core._numeric import Array, demand, single_numbers
from optics_core.outline import boxed_sizes
from optics_core.prism import Eye, inward

_NAMES = ("dbl_mm", "pd_mm", "up_mm", "offset_in_mm", "offset_up_mm", "blank_mm", "allowance_mm")


def largest_scale(
    points: npt.ArrayLike,
    *,
    eye: Eye,
    dbl_mm: float,
    pd_mm: float,
    up_mm: float,
    offset_in_mm: float,
    offset_up_mm: float,
    blank_mm: float,
    allowance_mm: float,
    most: float,
) -> float | None:
    """Largest factor by which an outline may be sized so that it can be cut from the blank.

    The frame keeps its DBL, the eye its PD, and the pupil its height above the boxed centre; the optical centre
    sits at the pupil.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline around its boxed centre. [mm]
    eye : "right" or "left"
        Whose lens the outline is.
    dbl_mm : float
        Distance between lenses, 0 or more. [mm]
    pd_mm : float
        Distance of that one eye from the middle of the bridge, above 0. [mm]
    up_mm : float
        Vertical decentration, up positive. [mm]
    offset_in_mm : float
        Optical centre less the middle of the blank, in positive. [mm]
    offset_up_mm : float
        The same, up positive. [mm]
    blank_mm : float
        Blank diameter, above 0. [mm]
    allowance_mm : float
        Taken off the diameter for chipping and handling, 0 or more. [mm]
    most : float
        Largest factor of interest, above 0. [1]

    Returns
    -------
    float or None
        Factor [1]; None where no size can be cut.

    Raises
    ------
    DomainError
        If a number is not finite, not a single number, or out of range.

    Source
    ------
    derived, |u s + v| <= r solved for s at each point of the outline.
    """
    dbl, pd, up, offset_in, offset_up, radius = _checked(
        dbl_mm, pd_mm, up_mm, offset_in_mm, offset_up_mm, blank_mm, allowance_mm
    )
    (factor,) = single_numbers(("most",), most)
    demand(factor > 0.0, argument="most", rule="A factor above 0 is expected.", value=factor)
    if radius < 0.0:
        return None
    a, _, _ = boxed_sizes(points)
    # From the middle of the blank, in positive: the point moves as u s + v.
    ux, uy = _inward_parts(points, eye)
    ux = ux - a / 2.0
    vx, vy = pd - dbl / 2.0 + offset_in, offset_up - up
    square, mixed, rest = ux * ux + uy * uy, ux * vx + uy * vy, vx * vx + vy * vy - radius * radius
    still = square <= 0.0
    if bool(np.any(still)) and rest > 0.0:
        return None
    square, mixed = square[~still], mixed[~still]
    inside = mixed * mixed - square * rest
    if bool(np.any(inside < 0.0)):
        return None
    root = np.sqrt(inside)
    least = float(np.max((-mixed - root) / square))
    largest = min(float(np.min((-mixed + root) / square)), factor)
    return largest if largest > 0.0 and largest >= least else None


def largest_dbl_for_outline(
    points: npt.ArrayLike,
    *,
    eye: Eye,
    pd_mm: float,
    up_mm: float,
    offset_in_mm: float,
    offset_up_mm: float,
    blank_mm: float,
    allowance_mm: float,
    most_mm: float,
) -> float | None:
    """Largest distance between lenses at which an outline can be cut from the blank.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline around its boxed centre. [mm]
    eye : "right" or "left"
        Whose lens the outline is.
    pd_mm : float
        Distance of that one eye from the middle of the bridge, above 0. [mm]
    up_mm : float
        Vertical decentration, up positive. [mm]
    offset_in_mm : float
        Optical centre less the middle of the blank, in positive. [mm]
    offset_up_mm : float
        The same, up positive. [mm]
    blank_mm : float
        Blank diameter, above 0. [mm]
    allowance_mm : float
        Taken off the diameter for chipping and handling, 0 or more. [mm]
    most_mm : float
        Largest distance of interest, 0 or more. [mm]

    Returns
    -------
    float or None
        DBL; None where no DBL from 0 to the largest of interest does. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, not a single number, or out of range.

    Source
    ------
    derived, |p - (in, up) + offset| <= r solved for DBL at each point of the outline.
    """
    _, pd, up, offset_in, offset_up, radius = _checked(
        0.0, pd_mm, up_mm, offset_in_mm, offset_up_mm, blank_mm, allowance_mm
    )
    (most,) = single_numbers(("most_mm",), most_mm)
    demand(most >= 0.0, argument="most_mm", rule=NOT_NEGATIVE, value=most)
    if radius < 0.0:
        return None
    a, _, _ = boxed_sizes(points)
    x, y = _inward_parts(points, eye)
    height = y - up + offset_up
    inside = radius * radius - height * height
    if bool(np.any(inside < 0.0)):
        return None
    half_width = np.sqrt(inside)
    # |x - (a + dbl)/2 + pd + offset| <= half width
    middle = x - a / 2.0 + pd + offset_in
    least = 2.0 * float(np.max(middle - half_width))
    largest = min(2.0 * float(np.min(middle + half_width)), most)
    return largest if largest >= max(least, 0.0) else None


def _checked(*values: float) -> tuple[float, ...]:
    dbl, pd, up, offset_in, offset_up, blank, allowance = single_numbers(_NAMES, *values)
    demand_blank(blank, allowance)
    demand(dbl >= 0.0, argument="dbl_mm", rule=NOT_NEGATIVE, value=dbl)
    demand(pd > 0.0, argument="pd_mm", rule=ABOVE_ZERO, value=pd)
    return dbl, pd, up, offset_in, offset_up, (blank - allowance) / 2.0


def _inward_parts(points: npt.ArrayLike, eye: Eye) -> tuple[Array, Array]:
    outline = np.asarray(points, dtype=np.float64)
    return inward(eye=eye, x=outline[:, 0]), outline[:, 1]
