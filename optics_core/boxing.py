# mypy: disable-error-code="no-any-return"
"""Boxing: the frame's boxed sizes, where the eye looks through, and how large a blank must be.

The boxed lens system (ISO 8624) puts a rectangle A x B around the lens shape, touching it on all four sides;
DBL is the distance between the two boxes, and ED twice the longest radius of the shape from the boxed
centre. A round blank centred on the point looked through must reach the farthest point of the shape.

From A, B and ED alone the shape is unknown, but two bounds hold for every shape that has them. The shape
touches all four sides, so no blank below max(A + 2|in|, B + 2|up|) will do. No point is farther from the
boxed centre than ED/2, so by the triangle inequality ED + 2 hypot(in, up) always will. In between, a rounded
rectangle with exactly that A, B and ED gives the expected value.

Signs: lengths in mm; in (nasal) and up are positive, out and down negative.
"""

from __future__ import annotations

from dataclasses import dataclass

from optics_core._boxes import (
    ABOVE_ZERO,
    at_most,
    demand_allowance,
    demand_box,
    demand_ed,
    demand_frame,
    farthest_of_rounded,
    inward_offset,
    radius_of_corner,
    radius_within_box,
)
from optics_core._numeric import Number, Numbers, demand, numbers

# The limits of a blank are part of this subject; they stand in a module of their own for its length.
from optics_core.blank_limits import (
    CentreShift,
    centre_shift,
    decentration_reachable,
    largest_a,
    largest_dbl,
    largest_ed,
)

__all__ = [
    "BlankBounds",
    "CentreShift",
    "blank_bounds",
    "box_diagonal",
    "centre_shift",
    "corner_radius",
    "decentration_in",
    "decentration_reachable",
    "decentration_up",
    "frame_pd",
    "largest_a",
    "largest_dbl",
    "largest_ed",
    "usual_ed",
]

# Corner radius of a usual frame as a part of half the smaller boxed size: common practice, no source.
_USUAL_ROUNDNESS = 0.6


@dataclass(frozen=True, slots=True)
class BlankBounds:
    """Least, expected and greatest need of blank diameter, allowance included. [mm]"""

    at_least_mm: float
    expected_mm: float
    at_most_mm: float


def frame_pd(*, a_mm: Number, dbl_mm: Number) -> Number:
    """Distance between the boxed centres, A + DBL.

    Parameters
    ----------
    a_mm : float or array
        Boxed width, above 0. [mm]
    dbl_mm : float or array
        Distance between lenses, 0 or more. [mm]

    Returns
    -------
    float or array
        Frame PD. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    iso-8624, boxed centre distance c = a + DBL.
    """
    _, a, dbl = numbers(("a_mm", "dbl_mm"), a_mm, dbl_mm)
    demand_frame(a, dbl)
    return a + dbl


def box_diagonal(*, a_mm: Number, b_mm: Number) -> Number:
    """Diagonal of the box: no shape inside it has a larger ED.

    Parameters
    ----------
    a_mm : float or array
        Boxed width, above 0. [mm]
    b_mm : float or array
        Boxed height, above 0. [mm]

    Returns
    -------
    float or array
        Diagonal. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or not above 0.

    Source
    ------
    derived, the farthest points of a rectangle are its corners.
    """
    library, a, b = numbers(("a_mm", "b_mm"), a_mm, b_mm)
    demand_box(a, b)
    return library.hypot(a, b)


def decentration_in(*, a_mm: Number, dbl_mm: Number, pd_mm: Number) -> Number:
    """Horizontal decentration of one eye, in (nasal) positive: (A + DBL)/2 - PD of that eye.

    Parameters
    ----------
    a_mm : float or array
        Boxed width, above 0. [mm]
    dbl_mm : float or array
        Distance between lenses, 0 or more. [mm]
    pd_mm : float or array
        Distance of that one eye from the middle of the bridge, above 0. [mm]

    Returns
    -------
    float or array
        From the boxed centre to the pupil, in positive. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    iso-8624, boxed centre distance; study-guide-blank, decentration of one eye.
    """
    _, a, dbl, pd = numbers(("a_mm", "dbl_mm", "pd_mm"), a_mm, dbl_mm, pd_mm)
    demand_frame(a, dbl)
    demand(pd > 0.0, argument="pd_mm", rule=ABOVE_ZERO, value=pd)
    return inward_offset(a, dbl, pd)


def decentration_up(*, b_mm: Number, fitting_height_mm: Number) -> Number:
    """Vertical decentration, up positive: fitting height - B/2.

    Parameters
    ----------
    b_mm : float or array
        Boxed height, above 0. [mm]
    fitting_height_mm : float or array
        Height of the pupil above the lowest tangent of the lens shape. [mm]

    Returns
    -------
    float or array
        From the boxed centre to the pupil, up positive. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, or the boxed height is not above 0.

    Source
    ------
    iso-13666, fitting point height; study-guide-blank, vertical decentration.
    """
    _, b, height = numbers(("b_mm", "fitting_height_mm"), b_mm, fitting_height_mm)
    demand(b > 0.0, argument="b_mm", rule=ABOVE_ZERO, value=b)
    return height - b / 2.0


def usual_ed(*, a_mm: Number, b_mm: Number) -> Number:
    """ED of a usual frame of these boxed sizes, where the frame's own is not known.

    It is the ED of a rounded rectangle whose corner radius is 0.6 of half the smaller size: 58.0 mm for
    54 x 40. A convention and no bound: a round frame has less, a square one more.

    Parameters
    ----------
    a_mm : float or array
        Boxed width, above 0. [mm]
    b_mm : float or array
        Boxed height, above 0. [mm]

    Returns
    -------
    float or array
        Usual ED, between the larger boxed size and the diagonal. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or not above 0.

    Source
    ------
    common-practice, the factor 0.6 has no source; derived, the geometry.
    """
    library, a, b = numbers(("a_mm", "b_mm"), a_mm, b_mm)
    demand_box(a, b)
    radius = _USUAL_ROUNDNESS * library.minimum(a, b) / 2.0
    return 2.0 * farthest_of_rounded(library, a, b, radius, 0.0, 0.0)


def corner_radius(*, a_mm: Number, b_mm: Number, ed_mm: Number) -> Number:
    """Corner radius of the rounded rectangle that has exactly these A, B and ED.

    Parameters
    ----------
    a_mm : float or array
        Boxed width, above 0. [mm]
    b_mm : float or array
        Boxed height, above 0. [mm]
    ed_mm : float or array
        Effective diameter, from the larger boxed size to the diagonal. [mm]

    Returns
    -------
    float or array
        Corner radius, from 0 to half the smaller boxed size. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, ED/2 = hypot(A/2 - r, B/2 - r) + r solved for r.
    """
    library, a, b, ed = numbers(("a_mm", "b_mm", "ed_mm"), a_mm, b_mm, ed_mm)
    demand_ed(library, a, b, ed)
    return radius_within_box(library, a, b, ed)


def blank_bounds(
    *, a_mm: Numbers, b_mm: Numbers, ed_mm: Numbers, in_mm: Numbers, up_mm: Numbers, allowance_mm: Numbers
) -> BlankBounds:
    """Least, expected and greatest diameter a round blank needs, centred on the point looked through.

    Parameters
    ----------
    a_mm : float or array
        Boxed width, above 0. [mm]
    b_mm : float or array
        Boxed height, above 0. [mm]
    ed_mm : float or array
        Effective diameter, from the larger boxed size to the diagonal. [mm]
    in_mm : float or array
        Horizontal decentration, in positive. [mm]
    up_mm : float or array
        Vertical decentration, up positive. [mm]
    allowance_mm : float or array
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    BlankBounds
        No shape of these sizes does with less than the first; the second is for a rounded rectangle of these
        sizes; every shape does with the third. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, both bounds are proved above and the expected value is exact for its model;
    study-guide-blank, ED + 2 decentration + allowance as it is taught.
    """
    library, a, b, ed, inward, upward, allowance = numbers(
        ("a_mm", "b_mm", "ed_mm", "in_mm", "up_mm", "allowance_mm"), a_mm, b_mm, ed_mm, in_mm, up_mm, allowance_mm
    )
    demand_ed(library, a, b, ed)
    demand_allowance(allowance)
    inward, upward = abs(inward), abs(upward)
    least = library.maximum(a + 2.0 * inward, b + 2.0 * upward) + allowance
    radius = radius_of_corner(library, a, b, ed)
    expected = 2.0 * farthest_of_rounded(library, a, b, radius, inward, upward) + allowance
    # The three are in order by proof; the last binary digit is kept in order by hand.
    most = library.maximum(at_most(library, ed, inward, upward, allowance), least)
    return BlankBounds(least, library.minimum(library.maximum(expected, least), most), most)
