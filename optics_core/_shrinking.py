# mypy: disable-error-code="no-any-return"
"""At which scales a shrinking outline keeps its distance from another one.

The outline is told by rays from the one place that stays where it is: at a scale s its corners are s times the rays.
Over the scales from 0 on a side of it sweeps a cone, which is convex, so the scales at which it is nearer than the
reach to a side of the other outline are one stretch. That stretch ends where an end of one side is just as far as the
reach from the other side, which has a closed form; or it ends at full size, where the sides cross there. Outside all
stretches the distance is kept; and as the outlines do not meet there, the shrinking one is within the other at all
scales between two stretches, or at none of them.

There are no signs of the trade here: places are counted from the one that stays, all lengths in one unit.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from optics_core._numeric import Array

Stretches: TypeAlias = tuple[Array, Array]
"""Lower and upper ends; the lower one is infinite where there is no stretch."""
Bound: TypeAlias = Array | float

# Sides and points looked at at once: enough to keep numpy busy, few enough for the processor's cache.
AT_ONCE = 64
# A corner that stays where it is is taken to move by this over all scales.
_HARDLY = 1e-10
# What divides in place of 0: the quotient is then beyond all scales, to the side that 0 is on.
_NOTHING = 1e-300


def rows(ring: Array) -> Iterator[Array]:
    """The corners of a ring some at a time, each time with the one that follows: n + 1 corners of n sides."""
    round_ = np.concatenate((ring, ring[:1]))
    for begin in range(0, len(ring), AT_ONCE):
        yield round_[begin : begin + AT_ONCE + 1]


def directions(start: Array, end: Array) -> Array:
    """The way from each place to another one, of length 1."""
    along = end - start
    return along / np.hypot(along[:, :1], along[:, 1:])


def _left(along: Array, places: Array) -> Array:
    """How far to the left of the line through the origin each place lies: a row for each line."""
    return along[:, :1] * places[:, 1] - along[:, 1:] * places[:, 0]


def _own_left(along: Array, places: Array) -> Array:
    """The same of one place for each line."""
    return along[:, 0] * places[:, 1] - along[:, 1] * places[:, 0]


def crossings(corners: Array, ring: Array) -> npt.NDArray[np.bool_]:
    """For each side between corners in a row and each side of a ring: do they cross, not counting where they touch?"""
    along, along_ring = directions(corners[:-1], corners[1:]), directions(ring, np.roll(ring, -1, axis=0))
    of_ring = _left(along, ring) - _own_left(along, corners[:-1])[:, None]
    of_corners = _left(along_ring, corners) - _own_left(along_ring, ring)[:, None]
    return (of_ring * np.roll(of_ring, -1, axis=1) < 0.0) & (of_corners[:, :-1] * of_corners[:, 1:] < 0.0).T


def upper_ends(rays: Array, ring: Array, reach: float) -> Iterator[float]:
    """From 1 down to 0, the upper end of each span of scales at which the outline keeps the reach from the ring."""
    with np.errstate(over="ignore"):  # a quotient beyond all figures is beyond 0 and 1
        stretches = [_stretches(corners, ring, reach) for corners in rows(rays)]
    low, high = (np.concatenate(ends) for ends in zip(*stretches, strict=True))
    order = np.argsort(low)
    low, farthest = low[order], np.maximum.accumulate(high[order])
    if low.size == 0 or farthest[-1] < 1.0:
        yield 1.0
    for index in (np.flatnonzero(low[1:] > farthest[:-1]) + 1)[::-1].tolist():
        yield float(low[index])
    if low.size and low[0] > 0.0:
        yield float(low[0])


def _stretches(corners: Array, ring: Array, reach: float) -> Stretches:
    """The scales at which each side of the shrinking outline is too near to each side of the ring, where there are any."""
    still = np.hypot(corners[:, 0], corners[:, 1]) < _HARDLY
    corners = np.where(still[:, None], (_HARDLY, 0.0), corners)
    low, high = _joined(_corners_near_sides(corners, ring, reach), _next_too(_corners_near(corners, ring, reach)))
    at_ends = _joined((low[:-1], high[:-1]), (low[1:], high[1:]))
    low, high = _joined(at_ends, _next_too(_sides_near_corners(corners, ring, reach)))
    crossing = crossings(corners, ring)
    high[crossing] = 1.0
    found = low < high
    return low[found], high[found]


def _corners_near_sides(corners: Array, ring: Array, reach: float) -> Stretches:
    """Across a side of the ring nearer than the reach, and along it between its ends."""
    ends = np.roll(ring, -1, axis=0)
    along = directions(ring, ends)
    level, begins, finishes = _own_left(along, ring), (along * ring).sum(axis=1), (along * ends).sum(axis=1)
    across = _between(_left(along, corners).T, level - reach, level + reach)
    return _sound(*_common(across, _between(corners @ along.T, begins, finishes)))


def _sides_near_corners(corners: Array, ring: Array, reach: float) -> Stretches:
    """The same the other way about; here it is the side that grows with the scale."""
    start, end = corners[:-1], corners[1:]
    along = directions(start, end)
    level, onward = _left(along, ring), along @ ring.T
    across = _between(_own_left(along, start)[:, None], level - reach, level + reach)
    begun = _between((along * start).sum(axis=1)[:, None], -np.inf, onward)
    not_done = _between((along * end).sum(axis=1)[:, None], onward, np.inf)
    return _sound(*_common(across, _common(begun, not_done)))


def _corners_near(corners: Array, ring: Array, reach: float) -> Stretches:
    """Within a circle about a corner of the ring: half a chord to either side of the place nearest to its middle."""
    length = np.hypot(corners[:, 0], corners[:, 1])[:, None]
    along = corners / length
    square = reach * reach - _left(along, ring) ** 2
    half = np.sqrt(np.maximum(square, 0.0)) / length
    middle = along @ ring.T / length
    return _sound(middle - half, np.where(square > 0.0, middle + half, -np.inf))


def _between(rate: Array, low: Bound, high: Bound) -> Stretches:
    """The scales at which rate x scale lies between two bounds."""
    rate = np.where(rate == 0.0, _NOTHING, rate)
    one, other = low / rate, high / rate
    return np.minimum(one, other), np.maximum(one, other)


def _common(one: Stretches, other: Stretches) -> Stretches:
    return np.maximum(one[0], other[0]), np.minimum(one[1], other[1])


def _joined(one: Stretches, other: Stretches) -> Stretches:
    """The shortest stretches that hold both."""
    return np.minimum(one[0], other[0]), np.maximum(one[1], other[1])


def _next_too(stretches: Stretches) -> Stretches:
    """Those about each corner of the ring joined with those about the next one: both ends of a side."""
    low, high = stretches
    return _joined(stretches, (np.roll(low, -1, axis=1), np.roll(high, -1, axis=1)))


def _sound(low: Array, high: Array) -> Stretches:
    """Stretches within 0 to 1; from infinity to minus infinity where there is none."""
    low, high = np.maximum(low, 0.0), np.minimum(high, 1.0)
    none = low >= high
    low[none], high[none] = np.inf, -np.inf
    return low, high
