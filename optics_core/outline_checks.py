# mypy: disable-error-code="no-any-return"
"""Whether an outline is sound: does it cross itself, what does it enclose, how does it bend, is it closed?

All rests on one question, on which side of a line a point lies. The signed area of a triangle answers it. In
rounded figures its sign is certain as soon as it exceeds what rounding can have added; the few cases below that
are worked out without any rounding. So sides that touch in a single point are found to touch, and sides that miss
each other by the last binary digit are found to miss.

Side k runs from point k to the next one, the last side from the last point to the first. A point that repeats the
one before makes a side of no length, which is passed over.

Signs: seen from the front, x to the observer's right, y up, lengths in mm; turns in degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from optics_core._numeric import Array, single_numbers
from optics_core.errors import DomainError
from optics_core.outline import checked_outline

TWO_PLACES = "An outline with points in at least two places is expected."

# Sides compared with all later ones at once: enough to keep numpy busy, few enough for the processor's cache.
_SIDES_AT_ONCE = 64
# Where the boxes of more sides than that meet a side's, it pays to look at all lines at once first.
_MANY_NEAR = 16
# Veltkamp's factor, which splits a float64 of 53 binary digits into two halves.
_SPLITTER = 2.0**27 + 1.0


@dataclass(frozen=True, slots=True)
class Turn:
    """A change of direction, 0 to 180 [deg], and the index of the point where it happens."""

    degrees: float
    index: int


@dataclass(frozen=True, slots=True)
class Gap:
    """Length of the side that closes an outline, and of the longest of its other sides. [mm]"""

    closing_mm: float
    longest_other_mm: float


def first_crossing(points: npt.ArrayLike) -> tuple[int, int] | None:
    """The first two sides of an outline that cross or touch each other.

    Neighbours share a point and count only where the second folds back onto the first. The answer is exact, for
    figures of ordinary size: products of two of them must not fall below the smallest number, about 1e-308.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline. [mm]

    Returns
    -------
    tuple of two ints, or None
        Indices of the two sides, the smaller first, of all such pairs the first in order; None for a simple outline.

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite or above 1e6.

    Source
    ------
    derived, two sides meet when each has its ends not strictly on one side of the other, and their boxes meet.
    """
    outline = checked_outline(points)
    sides = _sides_with_length(outline)
    if sides.size == 0:
        return 0, 1  # all in one place
    start = outline[sides]
    if _winds_once(start):
        return None
    found = _first_meeting(start, np.roll(start, -1, axis=0))
    return None if found is None else (int(sides[found[0]]), int(sides[found[1]]))


def encloses(points: npt.ArrayLike, *, x_mm: float, y_mm: float) -> bool:
    """Whether a point lies within an outline.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline, which does not cross itself. [mm]
    x_mm : float
        The point, to the observer's right. [mm]
    y_mm : float
        The point, upwards. [mm]

    Returns
    -------
    bool
        False also where the point lies on the outline itself.

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite, or one of the outline's is above 1e6.

    Source
    ------
    derived, the outline passes a point within it once more upwards than downwards on its right.
    """
    place = np.array(single_numbers(("x_mm", "y_mm"), x_mm, y_mm))
    start = checked_outline(points)
    if not ((place > start.min(axis=0)) & (place < start.max(axis=0))).all():
        return False
    end = np.roll(start, -1, axis=0)
    side = _sides_of_line(start, end, place)
    low, high = np.minimum(start, end), np.maximum(start, end)
    if ((side == 0) & (low <= place).all(axis=1) & (place <= high).all(axis=1)).any():
        return False
    below, ends_below = start[:, 1] <= place[1], end[:, 1] <= place[1]
    upwards = below & ~ends_below & (side > 0)
    downwards = ~below & ends_below & (side < 0)
    return bool(np.count_nonzero(upwards) != np.count_nonzero(downwards))


def sharpest_turn(points: npt.ArrayLike) -> Turn:
    """The largest change of direction at a point of an outline, to either side.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline. [mm]

    Returns
    -------
    Turn
        Degrees from 0 (straight on) to 180 (straight back) and the point's index, the first of several as sharp.

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite or above 1e6, or all lie in one place.

    Source
    ------
    derived, angle between two directions from their cross and scalar products.
    """
    outline = checked_outline(points)
    sides = _sides_with_length(outline)
    if sides.size == 0:
        raise DomainError("points", TWO_PLACES, points)
    x, y = (np.roll(outline, -1, axis=0) - outline)[sides].T
    x_before, y_before = np.roll(x, 1), np.roll(y, 1)
    turns = np.arctan2(np.abs(x_before * y - y_before * x), x_before * x + y_before * y)
    sharpest = int(turns.argmax())
    return Turn(math.degrees(turns[sharpest]), int(sides[sharpest]))


def closing_gap(points: npt.ArrayLike) -> Gap:
    """How far an outline's last point is from its first, beside the longest way between two points in a row.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline. [mm]

    Returns
    -------
    Gap
        Length of the side from the last point to the first, and of the longest other side. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite or above 1e6.

    Source
    ------
    derived, distance between two points.
    """
    outline = checked_outline(points)
    lengths = np.hypot(*(np.roll(outline, -1, axis=0) - outline).T)
    return Gap(float(lengths[-1]), float(lengths[:-1].max()))


def _sides_with_length(outline: Array) -> npt.NDArray[np.intp]:
    return np.flatnonzero((outline != np.roll(outline, -1, axis=0)).any(axis=1))


def _winds_once(start: Array) -> bool:
    """Whether the outline is seen to turn one way and once about its boxed centre: then it cannot meet itself."""
    centre = (start.min(axis=0) + start.max(axis=0)) / 2.0
    side = _sides_of_line(start, np.roll(start, -1, axis=0), centre)
    if abs(int(side.sum())) != side.size:
        return False
    above = start[:, 1] >= centre[1]
    # Turning one way by less than half a turn a side, it comes up past the centre's level once in each turn.
    return np.count_nonzero(above & ~np.roll(above, 1)) == 1


def _first_meeting(start: Array, end: Array) -> tuple[int, int] | None:
    first = _first_fold(start, end)
    low_x, low_y = np.minimum(start, end).T
    high_x, high_y = np.maximum(start, end).T
    corners, last = np.concatenate((start, start[:1])), len(start) - 1
    for begin in range(0, last, _SIDES_AT_ONCE):
        if first is not None and first[0] < begin:
            break
        stop = min(begin + _SIDES_AT_ONCE, last + 1)
        rows, later = np.s_[begin:stop, None], np.s_[begin:]
        near = low_x[rows] <= high_x[later]
        near &= high_x[rows] >= low_x[later]
        near &= low_y[rows] <= high_y[later]
        near &= high_y[rows] >= low_y[later]
        near = np.triu(near, 2)  # each with those after the next: neighbours have been looked at
        if begin == 0:
            near[0, last] = False  # neighbours too
        if np.count_nonzero(near) > _MANY_NEAR * len(near):
            near &= ~_clearly_on_one_hand(start[begin:stop], end[begin:stop], corners[begin:])
            near &= ~_clearly_on_one_hand(start[later], end[later], corners[begin : stop + 1]).T
        one, other = np.nonzero(near)
        one, other = _that_meet(start, end, one + begin, other + begin)
        if one.size:
            found = int(one[0]), int(other[0])
            first = found if first is None else min(first, found)
    return first


def _clearly_on_one_hand(start: Array, end: Array, corners: Array) -> npt.NDArray[np.bool_]:
    """For each line from start to end and each way between two corners in a row: is it on one hand, beyond rounding?"""
    along = end - start
    area = along[:, :1] * (corners[:, 1] - start[:, 1:]) - along[:, 1:] * (corners[:, 0] - start[:, :1])
    # No area exceeds 2 e^2, e being the extent, and rounding is below 16 units of the last digit of e^2. A product
    # of two areas beyond both together has factors of one sign that are each beyond rounding.
    extent = float(np.ptp(np.concatenate((start, corners)), axis=0).max())
    return area[:, :-1] * area[:, 1:] > 32.0 * np.finfo(np.float64).eps * extent**4


def _first_fold(start: Array, end: Array) -> tuple[int, int] | None:
    """The first two neighbours of which the second goes back over the first."""
    beyond = np.roll(end, -1, axis=0)
    back = ((end - start) * (beyond - end)).sum(axis=1) < 0.0
    folds = np.flatnonzero(back)
    folds = folds[_sides_of_line(start[folds], end[folds], beyond[folds]) == 0]
    pairs = (sorted((fold, (fold + 1) % len(start))) for fold in folds.tolist())
    return min(((one, other) for one, other in pairs), default=None)


def _that_meet(start: Array, end: Array, one: Any, other: Any) -> tuple[Any, Any]:
    """Those of the pairs of sides, whose boxes meet, that cross or touch: each has the other's ends on both hands."""
    for _ in range(2):
        from_start = _sides_of_line(start[one], end[one], start[other])
        to_end = _sides_of_line(start[one], end[one], end[other])
        apart = from_start * to_end > 0
        one, other = other[~apart], one[~apart]
    return one, other


def _sides_of_line(start: Array, end: Array, place: Array) -> npt.NDArray[np.int8]:
    """On which hand of the line from start to end a place lies: 1 left, -1 right, 0 on it. Exact."""
    start, end, place = np.broadcast_arrays(start, end, place)
    side = np.zeros(len(start), dtype=np.int8)
    open_ = np.arange(len(start))
    # Rounded figures settle nearly all; those of longer floats, where the machine has them, nearly all the rest.
    for kind in (np.float64, np.longdouble):
        (ax, ay), (bx, by), (cx, cy) = (part[open_].astype(kind).T for part in (start, end, place))
        left, right = (ax - cx) * (by - cy), (ay - cy) * (bx - cx)
        area = left - right
        # Three roundings on the way to each product and one after, each by half a digit; a little more, to be sure.
        doubt = (np.abs(left) + np.abs(right)) * (2.0 * np.finfo(kind).eps)
        side[open_] = np.sign(area)
        open_ = open_[(np.abs(area) <= doubt) & (doubt > 0.0)]
        if open_.size == 0:
            return side
    side[open_] = _exact_sides(start[open_], end[open_], place[open_])
    return side


def _exact_sides(start: Array, end: Array, place: Array) -> list[int]:
    """The same by sums without rounding: each product in two parts, all parts added up to the last digit."""
    (ax, ay), (bx, by), (cx, cy) = start.T, end.T, place.T
    one = np.column_stack((ax, bx, cx, -ay, -by, -cy))
    other = np.column_stack((by, cy, ay, bx, cx, ax))
    product = one * other
    (one_high, one_low), (other_high, other_low) = _halves(one), _halves(other)
    error = one_low * other_low - (((product - one_high * other_high) - one_low * other_high) - one_high * other_low)
    sums = (math.fsum(row) for row in np.concatenate((product, error), axis=1).tolist())
    return [(total > 0.0) - (total < 0.0) for total in sums]


def _halves(values: Array) -> tuple[Array, Array]:
    scaled = _SPLITTER * values
    high = scaled - (scaled - values)
    return high, values - high
