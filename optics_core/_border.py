"""The border of two strips, and the place on it from which the farthest point of a cloud is nearest.

Two strips across the plane overlap in a parallelogram; in a strip or a half of nothing where they are parallel; in
one strip where the other is the whole plane. Their border is made of straight pieces. Along each of them the square
of the distance to the farthest point is t squared plus the largest of many linear functions of t, and where that is
least is found exactly, by going from line to line.

Signs: x to the observer's right, y up, lengths in mm. Places are counted from a base where the rows are known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from optics_core._nearest import Point
from optics_core._numeric import Array

_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class Row:
    """One linear figure of a place: `x` and `y` times the move from the base, plus what is there at the base."""

    x: float
    y: float
    at_base: float

    def of(self, move: Point) -> float:
        """The figure after a move from the base."""
        return self.x * move[0] + self.y * move[1] + self.at_base


@dataclass(frozen=True, slots=True)
class Strip:
    """The places where a row lies between minus and plus the limit, which is drawn in by what rounding may add."""

    row: Row
    limit: float
    slack: float


@dataclass(frozen=True, slots=True)
class Line:
    """Part of a straight border: from `low` to `high` along a unit vector from the foot, counted from the base."""

    foot: Point
    along: Point
    low: float
    high: float


def strips_of(rows: tuple[Row, Row], limits: Point, slacks: Point) -> tuple[Strip, Strip]:
    """The two strips where rows keep to limits, also when judged again with other last digits."""
    one, other = (Strip(rows[k], max(limits[k] - slacks[k], 0.0), slacks[k]) for k in (0, 1))
    return one, other


def border(strips: tuple[Strip, Strip]) -> Iterator[Line]:
    """The straight pieces of the border of what two strips have in common."""
    yield from _border_of_one(strips[0], strips[1])
    yield from _border_of_one(strips[1], strips[0])


def _border_of_one(strip: Strip, other: Strip) -> Iterator[Line]:
    row = strip.row
    squared = row.x * row.x + row.y * row.y
    if squared == 0.0:
        return
    length = math.sqrt(squared)
    along = -row.y / length, row.x / length
    slope = other.row.x * along[0] + other.row.y * along[1]
    for side in (strip.limit, -strip.limit) if strip.limit > 0.0 else (0.0,):
        out = (side - row.at_base) / squared
        foot = row.x * out, row.y * out
        there = other.row.of(foot)
        if abs(slope) > _ROUNDING * math.hypot(other.row.x, other.row.y):
            low, high = sorted(((-other.limit - there) / slope, (other.limit - there) / slope))
            yield Line(foot, along, low, high)
        elif abs(there) <= other.limit + other.slack / 2.0:  # parallel strips: the whole line or nothing of it
            yield Line(foot, along, -math.inf, math.inf)


def nearest_to_farthest(cloud: Array, base: Point, line: Line) -> Point:
    """The place on the line from which the farthest point of the cloud is nearest."""
    foot = base[0] + line.foot[0], base[1] + line.foot[1]
    from_foot_x, from_foot_y = cloud[:, 0] - foot[0], cloud[:, 1] - foot[1]
    slopes = -2.0 * (from_foot_x * line.along[0] + from_foot_y * line.along[1])
    step = _least_of_parabolas(slopes, from_foot_x**2 + from_foot_y**2, line.low, line.high)
    return foot[0] + step * line.along[0], foot[1] + step * line.along[1]


def _least_of_parabolas(slopes: Array, constants: Array, low: float, high: float) -> float:
    """Where in [low, high] the largest of t squared + slope t + constant is least.

    Between a line that falls and one that rises the least value lies at their crossing or at the foot of one; the
    line that is largest there takes the place of one of the two, until none is larger.
    """
    low = min(max(low, -0.5 * float(slopes.max())), high)
    high = max(min(high, -0.5 * float(slopes.min())), low)
    falling = int((slopes * low + constants).argmax())
    rising = int((slopes * high + constants).argmax())
    if 2.0 * low + slopes[falling] >= 0.0:
        return low
    if 2.0 * high + slopes[rising] <= 0.0:
        return high
    while True:
        b_i, c_i, b_j, c_j = (float(part[k]) for k in (falling, rising) for part in (slopes, constants))
        step = (c_i - c_j) / (b_j - b_i) if b_j != b_i else -b_i / 2.0
        step = min(max(min(max(step, -b_j / 2.0), -b_i / 2.0), low), high)
        values = slopes * step + constants
        largest = int(values.argmax())
        so_far = max(b_i * step + c_i, b_j * step + c_j)
        if values[largest] <= so_far + _ROUNDING * abs(so_far) or largest in (falling, rising):
            return step
        if 2.0 * step + slopes[largest] > 0.0:
            rising, high = largest, step
        else:
            falling, low = largest, step
