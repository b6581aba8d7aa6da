# mypy: disable-error-code="no-any-return"
"""What can be saved of a finished lens: whether a smaller shape can be cut from it, and the largest of its kind.

The old lens is a polygon, and so is the new one; the new one can be cut where it lies within the old one and keeps a
margin from it. In a frame of the same shape and DBL, with the same PD, the pupil keeps its distance from the side of
the box that faces the nose. As seen from the old lens, whose optical centre must come to the pupil, the middle of
that side therefore stays where it is, and the new lens shrinks towards that one place. If that place lies outside the
old lens, or near its edge, a smaller frame is not always easier: the largest scale cannot be found by halving.

The largest scale is therefore solved for and not searched for: see `optics_core._shrinking`.

Signs: seen from the front, x to the observer's right, y up, lengths in mm; turns counter-clockwise in degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from optics_core._boxes import ABOVE_ZERO, NOT_NEGATIVE
from optics_core._numeric import SCALAR, Array, demand, single_numbers
from optics_core._shrinking import AT_ONCE, crossings, directions, rows, upper_ends
from optics_core.errors import DomainError
from optics_core.outline import boxed_sizes, checked_outline, counter_clockwise, without_repeats
from optics_core.outline_checks import encloses
from optics_core.prism import Eye, inward

THREE_PLACES = "An outline with points in at least three places is expected."
A_PART = "A factor above 0 and up to 1 is expected."

# Outlines that touch lie within each other, and rounding must not decide: the old lens is taken larger by this.
_TOUCH_MM = 1e-7
# A sharp corner of it is taken farther out, but by no more than a thousand times as much: this is twice the square of
# the sine of half its angle, at least.
_SHARPEST = 2e-6


@dataclass(frozen=True, slots=True)
class ReEdge:
    """The largest frame that an old lens serves: scale [1], boxed sizes, least distance to the old lens's edge [mm]."""

    scale: float
    a_mm: float
    b_mm: float
    clearance_mm: float


def clearance_within(
    points: npt.ArrayLike, within: npt.ArrayLike, *, shift_x_mm: float, shift_y_mm: float, turn_deg: float
) -> float | None:
    """Least distance between an outline and another one that it lies within.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the inner outline, which does not cross itself. [mm]
    within : array of shape (m, 2)
        Points x, y of the outer outline, which does not cross itself. [mm]
    shift_x_mm : float
        How far the inner outline is moved to the observer's right, once it is turned. [mm]
    shift_y_mm : float
        The same, upwards. [mm]
    turn_deg : float
        How far the inner outline is turned about the origin before, counter-clockwise. [deg]

    Returns
    -------
    float or None
        Distance, 0 where the outlines touch [mm]; None where a part of the inner one lies outside by more than
        1e-7 mm.

    Raises
    ------
    DomainError
        If an outline has fewer than 3 different points, or a number is not finite, or a coordinate is above 1e6.

    Source
    ------
    derived, two sides that do not cross are nearest to each other at an end of one of them.
    """
    x, y, turn = single_numbers(("shift_x_mm", "shift_y_mm", "turn_deg"), shift_x_mm, shift_y_mm, turn_deg)
    inner, outer = _ring("points", points), _ring("within", within)
    return _clearance(inner @ _turned(turn).T + (x, y), outer, _grown(outer))


def fits_within(
    points: npt.ArrayLike,
    within: npt.ArrayLike,
    *,
    shift_x_mm: float,
    shift_y_mm: float,
    turn_deg: float,
    margin_mm: float,
) -> bool:
    """Whether an outline lies within another one and keeps a margin from it everywhere.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the inner outline, which does not cross itself. [mm]
    within : array of shape (m, 2)
        Points x, y of the outer outline, which does not cross itself. [mm]
    shift_x_mm : float
        How far the inner outline is moved to the observer's right, once it is turned. [mm]
    shift_y_mm : float
        The same, upwards. [mm]
    turn_deg : float
        How far the inner outline is turned about the origin before, counter-clockwise. [deg]
    margin_mm : float
        Least distance between the two, 0 or more. [mm]

    Returns
    -------
    bool
        True also where the distance is the margin but for 1e-7 mm.

    Raises
    ------
    DomainError
        If an outline has fewer than 3 different points, a number is not finite, a coordinate is above 1e6, or the
        margin is negative.

    Source
    ------
    derived, `clearance_within` is the margin or more.
    """
    margin = _checked_margin(margin_mm)
    clearance = clearance_within(points, within, shift_x_mm=shift_x_mm, shift_y_mm=shift_y_mm, turn_deg=turn_deg)
    return clearance is not None and clearance >= margin - _TOUCH_MM


def largest_re_edge(
    points: npt.ArrayLike,
    within: npt.ArrayLike,
    *,
    eye: Eye,
    centre_x_mm: float,
    centre_y_mm: float,
    pd_mm: float,
    dbl_mm: float,
    up_mm: float,
    turn_deg: float,
    margin_mm: float,
    least_scale: float = 0.5,
) -> ReEdge | None:
    """Largest frame of the same shape and DBL, no larger than it is, whose lens can be cut from an old lens.

    The optical centre of the old lens comes to the pupil: (scale A + DBL)/2 - PD inwards from the new boxed centre,
    and the same height above it at every scale.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the new lens's outline around its boxed centre, at scale 1. [mm]
    within : array of shape (m, 2)
        Points x, y of the old lens's outline, around any origin. [mm]
    eye : "right" or "left"
        Whose lens the new one is.
    centre_x_mm : float
        Optical centre of the old lens from the origin of its outline, to the observer's right. [mm]
    centre_y_mm : float
        The same, upwards. [mm]
    pd_mm : float
        Distance of that one eye from the middle of the bridge, above 0. [mm]
    dbl_mm : float
        Distance between lenses of the new frame, 0 or more. [mm]
    up_mm : float
        Pupil from the new boxed centre, up positive. [mm]
    turn_deg : float
        How far the old lens is turned about its optical centre, counter-clockwise; it adds to the lens's axis. [deg]
    margin_mm : float
        Least distance from the new edge to the old one, 0 or more. [mm]
    least_scale : float
        Smallest scale of interest, above 0 and up to 1. [1]

    Returns
    -------
    ReEdge or None
        Scale, boxed sizes and clearance; None where no scale from 1 to the smallest of interest does. [1, mm]

    Raises
    ------
    DomainError
        If an outline has fewer than 3 different points, a number is not finite or out of range, or the eye is
        neither right nor left.

    Source
    ------
    derived, the scales at which two sides are closer than the margin make one stretch, with ends in closed form.
    """
    x, y, pd, dbl, up, turn, least = single_numbers(
        ("centre_x_mm", "centre_y_mm", "pd_mm", "dbl_mm", "up_mm", "turn_deg", "least_scale"),
        centre_x_mm, centre_y_mm, pd_mm, dbl_mm, up_mm, turn_deg, least_scale,
    )  # fmt: skip
    margin = _checked_margin(margin_mm)
    demand(pd > 0.0, argument="pd_mm", rule=ABOVE_ZERO, value=pd)
    demand(dbl >= 0.0, argument="dbl_mm", rule=NOT_NEGATIVE, value=dbl)
    demand(0.0 < least <= 1.0, argument="least_scale", rule=A_PART, value=least)
    shape, outer = _ring("points", points), _ring("within", within)
    a, b, _ = boxed_sizes(shape)
    nasal = inward(eye=eye, x=1.0)
    # In the plane of the old lens it is the new frame that turns, the other way. A point p of the new outline comes
    # to `still` + scale (p - middle of the side of the box facing the nose), turned.
    back = _turned(-turn)
    rays = (shape - (nasal * a / 2.0, 0.0)) @ back.T
    still = np.array((x, y)) + back @ (nasal * (pd - dbl / 2.0), -up)
    grown = _grown(outer)
    for scale in upper_ends(rays, grown - still, margin + _TOUCH_MM / 2.0):
        if scale < least:
            break
        moved = still + scale * rays
        if encloses(grown, x_mm=float(moved[0, 0]), y_mm=float(moved[0, 1])):
            return ReEdge(scale, scale * a, scale * b, _least_distance(moved, outer))
    return None


def _checked_margin(margin_mm: float) -> float:
    (margin,) = single_numbers(("margin_mm",), margin_mm)
    demand(margin >= 0.0, argument="margin_mm", rule=NOT_NEGATIVE, value=margin)
    return margin


def _ring(name: str, points: npt.ArrayLike) -> Array:
    """An outline counter-clockwise and without sides of no length, refused by the name it has here."""
    try:
        outline = checked_outline(points)
    except DomainError as refusal:
        raise DomainError(name, refusal.rule, points) from None
    ring = without_repeats(outline)
    if len(ring) < 3:
        raise DomainError(name, THREE_PLACES, points)
    return counter_clockwise(ring)


def _turned(turn_deg: float) -> Array:
    sine, cosine = SCALAR.sine_and_cosine(turn_deg)
    return np.array(((cosine, -sine), (sine, cosine)))


def _grown(ring: Array) -> Array:
    """A ring with its sides moved outwards by what counts as touching, corner by corner."""
    along = directions(ring, np.roll(ring, -1, axis=0))
    outward = np.column_stack((along[:, 1], -along[:, 0]))
    before = np.roll(outward, 1, axis=0)
    together = np.maximum(1.0 + (outward * before).sum(axis=1), _SHARPEST)
    return ring + _TOUCH_MM * (outward + before) / together[:, None]


def _clearance(inner: Array, outer: Array, grown: Array) -> float | None:
    """Least distance to the outer ring, or None where the inner one is not within the grown one."""
    if not encloses(grown, x_mm=float(inner[0, 0]), y_mm=float(inner[0, 1])):
        return None
    meeting = any(crossings(corners, grown).any() for corners in rows(inner))
    return None if meeting else _least_distance(inner, outer)


def _least_distance(one: Array, other: Array) -> float:
    """Least distance between two rings that do not cross."""
    return min(_least_to_sides(one, other), _least_to_sides(other, one))


def _least_to_sides(places: Array, ring: Array) -> float:
    """Least distance from any of the places to any side of a ring."""
    along = np.roll(ring, -1, axis=0) - ring
    square = (along * along).sum(axis=1)
    least = np.inf
    for begin in range(0, len(places), AT_ONCE):
        x, y = (part[:, None] for part in places[begin : begin + AT_ONCE].T)
        from_x, from_y = x - ring[:, 0], y - ring[:, 1]
        share = np.clip((from_x * along[:, 0] + from_y * along[:, 1]) / square, 0.0, 1.0)
        from_x -= share * along[:, 0]
        from_y -= share * along[:, 1]
        least = min(least, float((from_x * from_x + from_y * from_y).min()))
    return math.sqrt(least)
