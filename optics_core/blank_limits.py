# mypy: disable-error-code="no-any-return"
"""Limits of a blank: how large a frame, or how far a decentration, a given blank is certain to serve.

Each limit solves the sufficient condition blank >= ED + 2 hypot(in, up) + allowance (see `optics_core.boxing`)
for one of its quantities, the others kept or carried along. What is found here therefore holds for every lens
shape with these boxed sizes; a particular shape may do with less.

Signs: lengths in mm; in (nasal) and up are positive, out and down negative.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from optics_core._boxes import ABOVE_ZERO, at_most, demand_blank, demand_ed, demand_frame, inward_offset
from optics_core._numeric import SCALAR, Number, demand, numbers, single_numbers


def largest_ed(*, blank_mm: Number, in_mm: Number, up_mm: Number, allowance_mm: Number) -> Number:
    """The ED up to which a blank is certain to do; it may come out below the boxed sizes, or negative.

    Parameters
    ----------
    blank_mm : float or array
        Blank diameter, above 0. [mm]
    in_mm : float or array
        Horizontal decentration, in positive. [mm]
    up_mm : float or array
        Vertical decentration, up positive. [mm]
    allowance_mm : float or array
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    float or array
        ED for which `blank_bounds` gives at most this blank. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, blank = ED + 2 hypot(in, up) + allowance solved for ED.
    """
    library, blank, inward, upward, allowance = numbers(
        ("blank_mm", "in_mm", "up_mm", "allowance_mm"), blank_mm, in_mm, up_mm, allowance_mm
    )
    demand_blank(blank, allowance)
    return blank - allowance - 2.0 * library.hypot(inward, upward)


def decentration_reachable(*, blank_mm: Number, ed_mm: Number, allowance_mm: Number) -> Number:
    """Greatest decentration, in any direction, that a blank is certain to cover.

    Parameters
    ----------
    blank_mm : float or array
        Blank diameter, above 0. [mm]
    ed_mm : float or array
        Effective diameter, above 0. [mm]
    allowance_mm : float or array
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    float or array
        (blank - allowance - ED)/2; negative when the blank is not even certain to do centred. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, blank = ED + 2 decentration + allowance solved for the decentration.
    """
    _, blank, ed, allowance = numbers(("blank_mm", "ed_mm", "allowance_mm"), blank_mm, ed_mm, allowance_mm)
    demand_blank(blank, allowance)
    demand(ed > 0.0, argument="ed_mm", rule=ABOVE_ZERO, value=ed)
    return (blank - allowance - ed) / 2.0


@dataclass(frozen=True, slots=True)
class CentreShift:
    """Way from the pupil to the nearest place that the optical centre can take, in and up positive. [mm]"""

    in_mm: float
    up_mm: float
    distance_mm: float


def centre_shift(*, in_mm: Number, up_mm: Number, reach_mm: Number) -> CentreShift:
    """How far the optical centre must stay from the pupil when it can leave the boxed centre only so far.

    The places in reach are a disc about the boxed centre; the one nearest the pupil lies on the line to it.

    Parameters
    ----------
    in_mm : float or array
        Horizontal decentration of the pupil, in positive. [mm]
    up_mm : float or array
        Vertical decentration of the pupil, up positive. [mm]
    reach_mm : float or array
        Greatest decentration of the optical centre, 0 or more, see `decentration_reachable`. [mm]

    Returns
    -------
    CentreShift
        From the pupil to that place; 0 where the pupil is in reach. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, or the reach is negative.

    Source
    ------
    derived, nearest point of a disc.
    """
    library, inward, upward, reach = numbers(("in_mm", "up_mm", "reach_mm"), in_mm, up_mm, reach_mm)
    demand(reach >= 0.0, argument="reach_mm", rule="A reach of 0 or more is expected.", value=reach)
    distance = library.hypot(inward, upward)
    lacking = library.maximum(distance - reach, 0.0)
    share = lacking / library.where(distance > 0.0, distance, 1.0)
    return CentreShift(0.0 - inward * share, 0.0 - upward * share, lacking)


def largest_a(
    *,
    blank_mm: float,
    a_mm: float,
    b_mm: float,
    dbl_mm: float,
    ed_mm: float,
    pd_mm: float,
    up_mm: float,
    allowance_mm: float,
) -> float | None:
    """Largest width, no larger than A, at which a frame of the same proportions is certain to do.

    B and ED shrink with A. DBL, the PD and the height of the pupil above the boxed centre stay.

    Parameters
    ----------
    blank_mm : float
        Blank diameter, above 0. [mm]
    a_mm : float
        Boxed width, above 0. [mm]
    b_mm : float
        Boxed height, above 0. [mm]
    dbl_mm : float
        Distance between lenses, 0 or more. [mm]
    ed_mm : float
        Effective diameter, from the larger boxed size to the diagonal. [mm]
    pd_mm : float
        Distance of that one eye from the middle of the bridge, above 0. [mm]
    up_mm : float
        Vertical decentration, up positive. [mm]
    allowance_mm : float
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    float or None
        Boxed width for which `blank_bounds` gives at most this blank; None where no width does. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, not a single number, or out of range.

    Source
    ------
    derived, blank = ED + 2 hypot(in, up) + allowance solved for the size, a quadratic equation (proved in the text).
    """
    blank, a, _, dbl, ed, pd, up, allowance = _checked_order(
        blank_mm, a_mm, b_mm, dbl_mm, ed_mm, pd_mm, up_mm, allowance_mm
    )

    if at_most(SCALAR, ed, inward_offset(a, dbl, pd), up, allowance) <= blank:
        return a
    # A frame of s times the size needs ED s + 2 hypot(in(s), up) + allowance, with in(s) = A s / 2 + DBL / 2 - PD. That
    # never falls as s grows: ED s grows by ED >= A, while 2 hypot(in, up) falls by A at the most. So there is one s at
    # which the blank just does, the smaller root of (ED^2 - A^2) s^2 - 2 m s + c = 0; its quotient form loses no digits
    # where ED is A and the equation straight.
    usable, away = blank - allowance, dbl / 2.0 - pd
    c = (usable - 2.0 * away) * (usable + 2.0 * away) - 4.0 * up * up
    if usable <= 0.0 or c <= 0.0:
        return None
    m = usable * ed + 2.0 * a * away
    inside = max(m * m - (ed - a) * (ed + a) * c, 0.0)
    return a * c / (m + math.sqrt(inside))


def largest_dbl(
    *,
    blank_mm: float,
    a_mm: float,
    b_mm: float,
    dbl_mm: float,
    ed_mm: float,
    pd_mm: float,
    up_mm: float,
    allowance_mm: float,
) -> float | None:
    """Largest distance between lenses, no larger than DBL, at which the same lens shape is certain to do.

    Parameters
    ----------
    blank_mm : float
        Blank diameter, above 0. [mm]
    a_mm : float
        Boxed width, above 0. [mm]
    b_mm : float
        Boxed height, above 0. [mm]
    dbl_mm : float
        Distance between lenses, 0 or more. [mm]
    ed_mm : float
        Effective diameter, from the larger boxed size to the diagonal. [mm]
    pd_mm : float
        Distance of that one eye from the middle of the bridge, above 0. [mm]
    up_mm : float
        Vertical decentration, up positive. [mm]
    allowance_mm : float
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    float or None
        DBL for which `blank_bounds` gives at most this blank; None where no smaller DBL of 0 or more does. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, not a single number, or out of range.

    Source
    ------
    derived, |(A + DBL)/2 - PD| <= sqrt(((blank - allowance - ED)/2)^2 - up^2) solved for DBL.
    """
    blank, a, _, dbl, ed, pd, up, allowance = _checked_order(
        blank_mm, a_mm, b_mm, dbl_mm, ed_mm, pd_mm, up_mm, allowance_mm
    )
    if at_most(SCALAR, ed, inward_offset(a, dbl, pd), up, allowance) <= blank:
        return dbl
    reach = (blank - allowance - ed) / 2.0
    if reach < abs(up):
        return None
    reach_in = math.sqrt((reach - up) * (reach + up))
    # The need is least where the eye is centred. Beyond the limit on the outer side a smaller DBL only makes it worse.
    largest, smallest = 2.0 * (pd + reach_in) - a, 2.0 * (pd - reach_in) - a
    return largest if max(smallest, 0.0) <= largest <= dbl else None


_ORDER = ("blank_mm", "a_mm", "b_mm", "dbl_mm", "ed_mm", "pd_mm", "up_mm", "allowance_mm")


def _checked_order(*values: float) -> tuple[float, ...]:
    blank, a, b, dbl, ed, pd, up, allowance = single_numbers(_ORDER, *values)
    demand_blank(blank, allowance)
    demand_frame(a, dbl)
    demand_ed(SCALAR, a, b, ed)
    demand(pd > 0.0, argument="pd_mm", rule=ABOVE_ZERO, value=pd)
    return blank, a, b, dbl, ed, pd, up, allowance
