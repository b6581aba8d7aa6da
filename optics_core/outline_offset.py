# mypy: disable-error-code="no-any-return"
"""Outlines a little larger or smaller all round: the true offset of a polygon, as a polygon.

Every point of the offset lies at the given distance from the outline. The outline's point nearest to it is either
within a side, so that it lies on that side moved sideways, or a corner that bends away, so that it lies on an arc
about that corner. These moved sides and arcs are the raw offset. Of each of them those parts are cut out that come
closer than the distance to some other side. The places closer than that to a side are the inside of a rounded bar
about it; such a bar takes one single stretch out of a straight line, and one out of an arc of its own radius, and
both ends of the stretch have closed forms.

What is left needs no joining up by trial: ways from the offset to the nearest points of the outline never cross, so
the parts follow each other round the offset as their sides and corners do round the outline. If the end of one is
not the beginning of the next, the offset has fallen into several pieces, or has a hole.

Arcs are told by points no farther apart than a tolerance allows: chords where the offset is outward, tangents where
it is inward, so that the polygon stays within the true offset either way.

Signs: seen from the front, x to the observer's right, y up, lengths in mm; an offset is positive outwards. Inside,
the outline is walked with the offset on the right hand: counter-clockwise for an outward one, else clockwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from optics_core._numeric import ARRAY, Array, single_numbers
from optics_core.errors import DomainError
from optics_core.outline import checked_outline, counter_clockwise, without_repeats
from optics_core.outline_checks import first_crossing

SIMPLE = "An outline that does not cross or touch itself is expected."
MODERATE = "An offset from -5 to 5 mm is expected."
ONE_PIECE = "An offset that leaves one piece without a hole is expected."
TOLERANCE = "A tolerance from 0.0001 to 1 mm is expected."

_FARTHEST_MM = 5.0
_TOLERANCES_MM = (1e-4, 1.0)
# A smaller offset moves nothing, and a stretch no longer than that is none.
_NOTHING_MM = 1e-9
# Ends that meet may be parted so far by rounding, when both parts run nearly the same way. A neck that closes leaves
# more than that between them: the square root of how far it has closed, times the square root of the distance.
_SAME_PLACE_MM = 1e-5
# Sine of the angle between lines that are taken for parallel.
_PARALLEL = 1e-12
# Corners seen to at once: few enough for the processor's cache where everything is close to everything.
_AT_ONCE = 64


@dataclass(frozen=True, slots=True)
class _Walk:
    """An outline walked with the offset on the right hand. Side k runs from corner k to the next. [mm, rad]"""

    reach: float
    corner: Array
    along: Array
    outwards: Array
    length: Array
    # At corner k, from side k - 1 to side k: positive where the outline bends away from the offset.
    bend_sine: Array
    bend_cosine: Array
    # The arc about corner k: direction of its beginning, and its angle, 0 where the outline bends towards the offset.
    arc_from: Array
    arc_angle: Array


@dataclass(frozen=True, slots=True)
class _Stretches:
    """Stretches of the raw offset, each by the number of its element and where it begins and ends on it.

    Element 2 k is the arc about corner k, told by the angle from its beginning [rad]; element 2 k + 1 is the moved
    side k, told by the way from its beginning [mm].
    """

    element: Any
    begin: Array
    end: Array


def offset_outline(points: npt.ArrayLike, *, by_mm: float, tolerance_mm: float = 0.002) -> Array:
    """The outline grown or shrunk by the same distance all round.

    Outwards it bounds all places no farther than that from the shape, corners rounded; inwards all places of the
    shape at least that far from its outline. An outward offset widens the box by twice the distance, exactly.
    Inwards a neck no wider than twice the tolerance may count as a break; where sides face each other at exactly twice
    the distance, the thread that would be left between them is dropped.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline, in either sense. [mm]
    by_mm : float
        Distance, outwards positive, from -5 to 5. [mm]
    tolerance_mm : float
        How far the polygon may stay within the true offset, from 0.0001 to 1. [mm]

    Returns
    -------
    array of shape (m, 2)
        Points x, y, counter-clockwise; the points given where the distance is 0. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite or out of range, the outline crosses itself, or the
        offset is nothing, more than one piece, or a piece with a hole.

    Source
    ------
    derived, the distance to a side is convex, and ways to the nearest points of an outline do not cross.
    """
    by, tolerance = single_numbers(("by_mm", "tolerance_mm"), by_mm, tolerance_mm)
    if abs(by) > _FARTHEST_MM:
        raise DomainError("by_mm", MODERATE, by)
    if not _TOLERANCES_MM[0] <= tolerance <= _TOLERANCES_MM[1]:
        raise DomainError("tolerance_mm", TOLERANCE, tolerance)
    outline = checked_outline(points)
    if abs(by) <= _NOTHING_MM:
        return outline
    distinct = without_repeats(outline)
    if len(distinct) < 3 or first_crossing(distinct) is not None:
        raise DomainError("points", SIMPLE, points)
    distinct = counter_clockwise(distinct)
    walk = _walk(distinct if by > 0.0 else distinct[::-1], abs(by))
    offset = _polygon(walk, _what_is_left(walk), by, tolerance)
    if offset is None:
        raise DomainError("by_mm", ONE_PIECE, by)
    return offset if by > 0.0 else offset[::-1]


def _walk(corner: Array, reach: float) -> _Walk:
    way = np.roll(corner, -1, axis=0) - corner
    length = np.hypot(way[:, 0], way[:, 1])
    along = way / length[:, None]
    outwards = np.column_stack((along[:, 1], -along[:, 0]))
    before, outwards_before = np.roll(along, 1, axis=0), np.roll(outwards, 1, axis=0)
    sine, cosine = _cross(before, along), _dot(before, along)
    return _Walk(
        reach=reach,
        corner=corner,
        along=along,
        outwards=outwards,
        length=length,
        bend_sine=sine,
        bend_cosine=cosine,
        arc_from=np.arctan2(outwards_before[:, 1], outwards_before[:, 0]),
        arc_angle=np.where(sine > 0.0, np.arctan2(sine, cosine), 0.0),
    )


def _place(walk: _Walk, element: Any, at: Array) -> Array:
    """Where on its element a stretch begins or ends."""
    k, reach = element // 2, walk.reach
    angle = walk.arc_from[k] + at
    arc = reach * np.column_stack((np.cos(angle), np.sin(angle)))
    line = reach * walk.outwards[k] + at[:, None] * walk.along[k]
    return walk.corner[k] + np.where((element % 2 == 0)[:, None], arc, line)


def _what_is_left(walk: _Walk) -> _Stretches:
    """The stretches of the raw offset that do not come too close to any side, in order."""
    count = len(walk.corner)
    lines, arcs, bars = _boxes(walk)
    beside = _too_close_to_neighbour(walk)
    whole = np.column_stack((walk.arc_angle, walk.length)).ravel()
    parts = []
    for begin in range(0, count, _AT_ONCE):
        stop = min(begin + _AT_ONCE, count)
        of_line, side_of_line = _whose_boxes_meet(lines[:, begin:stop], bars)
        of_arc, side_of_arc = _whose_boxes_meet(arcs[:, begin:stop], bars)
        of_line, of_arc = of_line + begin, of_arc + begin
        # Neither the line's own side nor its neighbours; neither of the sides that meet in the arc's corner.
        apart, away = (side_of_line - of_line + 1) % count > 2, (side_of_arc - of_arc + 1) % count > 1
        here = (beside.element >= 2 * begin) & (beside.element < 2 * stop)
        cuts = (
            _too_close_on_line(walk, of_line[apart], side_of_line[apart]),
            _too_close_on_arc(walk, of_arc[away], side_of_arc[away]),
            _Stretches(beside.element[here], beside.begin[here], beside.end[here]),
        )
        parts.append(_between(np.arange(2 * begin, 2 * stop), whole[2 * begin : 2 * stop], _together(*cuts)))
    return _together(*parts)


def _boxes(walk: _Walk) -> tuple[Array, Array, Array]:
    """The boxes of the moved sides, of the arcs, and of the bars about the sides, each as (2, count, 2): low, high."""
    following, line = np.roll(walk.corner, -1, axis=0), walk.reach * walk.outwards
    low, high = np.minimum(walk.corner, following), np.maximum(walk.corner, following)
    # An arc keeps within its chord's box widened by its height.
    begin, height = np.roll(line, 1, axis=0), walk.reach * (1.0 - np.cos(walk.arc_angle / 2.0))[:, None]
    low_arc, high_arc = np.minimum(begin, line) - height, np.maximum(begin, line) + height
    return (
        np.stack((low + line, high + line)),
        np.stack((walk.corner + low_arc, walk.corner + high_arc)),
        np.stack((low - walk.reach, high + walk.reach)),
    )


def _whose_boxes_meet(ones: Array, others: Array) -> tuple[Any, Any]:
    (low_x, low_y), (high_x, high_y) = (bound.T[:, :, None] for bound in ones)
    (other_low_x, other_low_y), (other_high_x, other_high_y) = (bound.T for bound in others)
    meet = low_x <= other_high_x
    meet &= high_x >= other_low_x
    meet &= low_y <= other_high_y
    meet &= high_y >= other_low_y
    one, other = np.nonzero(meet)
    return one, other


def _too_close_on_line(walk: _Walk, of: Any, side: Any) -> _Stretches:
    """What the bar about a side takes out of the moved side `of`.

    A disc about the place k along the side takes t(k) -+ sqrt(r^2 - h(k)^2) out of the line, t and h being where
    the place lies along and beside it. Both grow evenly with k, so that the end is a concave function of k, the
    beginning a convex one: each has its extreme where the derivative is 0, or at the end of the side next to that.
    """
    reach, along, length = walk.reach, walk.along[of], walk.length[side]
    to_side = walk.corner[side] - walk.corner[of] - reach * walk.outwards[of]
    t, h = _dot(along, to_side), _cross(along, to_side)
    cosine, sine = _dot(along, walk.along[side]), _cross(along, walk.along[side])
    parallel = np.abs(sine) < _PARALLEL
    # Two sides that face each other at just twice the distance leave nothing between them.
    grazing = np.where(parallel & (cosine < 0.0), -2.0 * reach * _NOTHING_MM, 0.0)
    bounds, meets = [], np.ones(of.shape, dtype=np.bool_)
    for sense in (-1.0, 1.0):
        by_derivative = (sense * reach * cosine * np.sign(sine) - h) / np.where(parallel, 1.0, sine)
        k = np.clip(np.where(parallel, np.where(sense * cosine > 0.0, length, 0.0), by_derivative), 0.0, length)
        room = reach**2 - (h + k * sine) ** 2
        bounds.append(t + k * cosine + sense * np.sqrt(np.maximum(room, 0.0)))
        meets &= room > grazing
    return _Stretches(2 * of[meets] + 1, bounds[0][meets], bounds[1][meets])


def _too_close_on_arc(walk: _Walk, of: Any, side: Any) -> _Stretches:
    """What the bar about a side takes out of the arc about corner `of`.

    A disc about the place k along the side takes the angles up to arccos(d/2r) to either hand of the direction to
    that place, d being how far it is. With the corner at p along the side and q beside it, the farthest angles on
    either hand are those for k = p +- sqrt(q (2 r - q)), or for the end of the side next to that.
    """
    reach, length = walk.reach, walk.length[side]
    from_side = walk.corner[of] - walk.corner[side]
    p, q = _dot(walk.along[side], from_side), _cross(walk.along[side], from_side)
    heading = np.arctan2(walk.along[side, 1], walk.along[side, 0])
    # Walked the other way where the corner is on the right hand, so that it is on the left.
    right = q < 0.0
    p, q, heading = np.where(right, length - p, p), np.abs(q), np.where(right, heading + np.pi, heading)
    half_chord = np.sqrt(np.maximum(q * (2.0 * reach - q), 0.0))
    bounds, meets = [], np.ones(of.shape, dtype=np.bool_)
    for sense in (-1.0, 1.0):
        way = np.clip(p + sense * half_chord, 0.0, length) - p
        far = np.hypot(way, q)
        meets &= far < 2.0 * reach
        bounds.append(heading + np.arctan2(-q, way) + sense * np.arccos(np.minimum(far / (2.0 * reach), 1.0)))
    begin = (bounds[0] - walk.arc_from[of])[meets] % (2.0 * np.pi)
    end = begin + (bounds[1] - bounds[0])[meets]
    once = _Stretches(2 * of[meets], begin, end)
    return _together(once, _Stretches(once.element, begin - 2.0 * np.pi, end - 2.0 * np.pi))


def _too_close_to_neighbour(walk: _Walk) -> _Stretches:
    """What two sides take out of each other's lines where the outline bends towards the offset.

    As on any line, but measured from the corner they share, so that no digits are lost where the bend is slight.
    """
    corner = np.flatnonzero(walk.bend_sine < 0.0)
    before = (corner - 1) % len(walk.corner)
    sine, cosine = -walk.bend_sine[corner], walk.bend_cosine[corner]
    # The tangent of half the bend, by the form that subtracts nothing from its like.
    mitre = walk.reach * np.where(cosine >= 0.0, sine / np.maximum(1.0 + cosine, 1.0), (1.0 - cosine) / sine)

    def taken(other: Any) -> Array:
        k = np.minimum(mitre, walk.length[other])
        return np.sqrt(k * sine * np.maximum(2.0 * walk.reach - k * sine, 0.0)) - k * cosine

    length = walk.length[before]
    return _together(
        _Stretches(2 * before + 1, length - taken(corner), length),
        _Stretches(2 * corner + 1, np.zeros(corner.shape), taken(before)),
    )


def _together(*parts: _Stretches) -> _Stretches:
    return _Stretches(
        np.concatenate([part.element for part in parts]),
        np.concatenate([part.begin for part in parts]),
        np.concatenate([part.end for part in parts]),
    )


def _between(element: Any, end: Array, cuts: _Stretches) -> _Stretches:
    """What the cuts leave of whole elements, from 0 to their ends."""
    # What lies before and beyond each element is cut off too, so that all that is left lies between two cuts.
    endless = np.full(end.shape, np.inf)
    cuts = _together(_Stretches(element, -endless, np.zeros_like(end)), _Stretches(element, end, endless), cuts)
    order = np.lexsort((cuts.begin, cuts.element))
    element, begin, end = cuts.element[order], cuts.begin[order], cuts.end[order]
    # How far the cuts so far reach: the running maximum over the ranks, which keeps the elements apart.
    by_end = np.lexsort((end, element))
    rank = np.empty_like(by_end)
    rank[by_end] = np.arange(by_end.size)
    covered = end[by_end[np.maximum.accumulate(rank)]]
    free = np.flatnonzero((element[1:] == element[:-1]) & (begin[1:] > covered[:-1] + _NOTHING_MM))
    return _Stretches(element[free], covered[free], begin[free + 1])


def _polygon(walk: _Walk, left: _Stretches, by: float, tolerance: float) -> Array | None:
    """The stretches joined to one polygon; None where they are none or not one."""
    if left.element.size == 0:
        return None
    ends, begins = _place(walk, left.element, left.end), np.roll(_place(walk, left.element, left.begin), -1, axis=0)
    if np.hypot(*(begins - ends).T).max() > _SAME_PLACE_MM:
        return None
    bends, count = _bends(walk, left, by, tolerance)
    last = np.cumsum(count + 1) - 1
    corners = np.empty((last[-1] + 1, 2))
    between = np.ones(len(corners), dtype=np.bool_)
    between[last] = False
    corners[last], corners[between] = ends, bends
    corners = without_repeats(corners) if len(corners) >= 3 else corners
    if len(corners) >= 3 and first_crossing(corners) is not None:
        # Where sides face each other at just twice the distance, a thread of no width may be left.
        corners = _without_threads(_without_threads(corners))
    return corners if len(corners) >= 3 and first_crossing(corners) is None else None


def _without_threads(corners: Array) -> Array:
    """The polygon without the points where it turns straight back; begun half-way round, so that twice finds all."""
    kept: list[list[float]] = []
    for place in np.roll(corners, len(corners) // 2, axis=0).tolist():
        while len(kept) > 1 and _turns_back(kept[-2], kept[-1], place):
            kept.pop()
        if not kept or math.dist(kept[-1], place) > _NOTHING_MM:
            kept.append(place)
    return np.array(kept)


def _turns_back(before: list[float], place: list[float], after: list[float]) -> bool:
    x, y, next_x, next_y = place[0] - before[0], place[1] - before[1], after[0] - place[0], after[1] - place[1]
    beside = abs(x * next_y - y * next_x) / max(math.hypot(x, y), math.hypot(next_x, next_y), _NOTHING_MM)
    return beside <= _NOTHING_MM and x * next_x + y * next_y < 0.0


def _bends(walk: _Walk, left: _Stretches, by: float, tolerance: float) -> tuple[Array, Any]:
    """The points by which arcs are told, beside their ends, and how many there are on each stretch.

    Arcs are divided at the same directions wherever they are, whole quarter turns among them: there the box ends.
    """
    outward, reach, corner = by > 0.0, walk.reach, left.element // 2
    # Half the angle of a chord, or of two tangents, that is off the arc by the tolerance where it is farthest off.
    half = math.acos(max(1.0 - tolerance / reach, 0.0)) if outward else math.acos(reach / (reach + tolerance))
    in_quarter = math.ceil(math.pi / 4.0 / half)
    step = math.pi / 2.0 / in_quarter
    begin, end = walk.arc_from[corner] + left.begin, walk.arc_from[corner] + left.end
    first = np.floor(begin / step) + 1.0
    divisions = np.maximum(np.ceil(end / step) - first, 0.0)
    count = np.where(left.element % 2 == 1, 0.0, divisions if outward else divisions + 1.0).astype(np.intp)
    owner = np.repeat(np.arange(count.size), count)
    number = np.arange(owner.size) - np.repeat(np.cumsum(count) - count, count)
    at = first[owner] + number
    if outward:  # at the divisions, joined by chords
        sine, cosine = ARRAY.sine_and_cosine(90.0 * at / in_quarter)
        radius: Any = reach
    else:  # where the tangents at two divisions meet
        low = np.where(number == 0, begin[owner], (at - 1.0) * step)
        high = np.where(number == divisions[owner], end[owner], at * step)
        sine, cosine = np.sin((low + high) / 2.0), np.cos((low + high) / 2.0)
        radius = reach / np.cos((high - low) / 2.0)
    return walk.corner[corner[owner]] + np.column_stack((radius * cosine, radius * sine)), count


def _dot(one: Array, other: Array) -> Array:
    return one[:, 0] * other[:, 0] + one[:, 1] * other[:, 1]


def _cross(one: Array, other: Array) -> Array:
    return one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
