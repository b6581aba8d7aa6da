"""The place nearest to the origin within discs of one radius and on one side of straight lines.

What all of them have in common is convex, so that there is one such place, and it lies on the border of one of them
or where two borders cross. It is found for the few that hold it, the one that it breaks most is added, and it is
found again; its distance grows with each step, so that the search ends. Three that have nothing in common end it too.

There are no signs of the trade here: places are counted from the wanted one, all lengths in one unit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TypeAlias

from optics_core._numeric import Array

Point: TypeAlias = tuple[float, float]

_LAST_DIGIT = math.ulp(1.0)
# How far rounding may leave a place outside a disc, as a part of the lengths that come in.
_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class Disc:
    """All places within the radius of a point."""

    x: float
    y: float
    radius: float

    def excess(self, place: Point) -> float:
        """How far a place lies outside; negative is inside."""
        return math.dist(place, (self.x, self.y)) - self.radius

    def nearest(self) -> Iterator[Point]:
        """The place on the border nearest to the origin, if the origin lies outside."""
        distance = math.hypot(self.x, self.y)
        if distance > self.radius:
            part = 1.0 - self.radius / distance
            yield self.x * part, self.y * part


@dataclass(frozen=True, slots=True)
class Side:
    """All places on one side of a line: x and y make a unit vector towards the forbidden side, `most` out along it."""

    x: float
    y: float
    most: float

    def excess(self, place: Point) -> float:
        """How far a place lies on the forbidden side; negative is on the other."""
        return self.x * place[0] + self.y * place[1] - self.most

    def nearest(self) -> Iterator[Point]:
        """The place on the line nearest to the origin, if the origin lies on the forbidden side."""
        if self.most < 0.0:
            yield self.x * self.most, self.y * self.most


Bound: TypeAlias = Disc | Side


def nearest_place(x: Array, y: Array, radius: float, sides: Sequence[Side] = ()) -> Point | None:
    """The place nearest to the origin within the radius of every point and on the good side of every line.

    None if there is none, or so little of it that rounding decides.
    """
    size = max(radius, float(abs(x).max()), float(abs(y).max()))
    place: Point = (0.0, 0.0)
    away = -1.0
    holding: tuple[Bound, ...] = ()
    while True:
        worst = _worst(x, y, radius, sides, place, size)
        if worst is None:
            return place
        found = _nearest_of_few((*holding, worst), size)
        if found is None or math.hypot(*found[0]) <= away:
            return None
        place, holding = found
        away = math.hypot(*place)


def _worst(x: Array, y: Array, radius: float, sides: Sequence[Side], place: Point, size: float) -> Bound | None:
    """The bound that a place breaks most, if it breaks any by more than rounding."""
    squared = (x - place[0]) ** 2 + (y - place[1]) ** 2
    farthest = int(squared.argmax())
    disc = Disc(float(x[farthest]), float(y[farthest]), radius)
    broken: list[tuple[float, Bound]] = [(disc.excess(place), disc)] if disc.excess(place) > _ROUNDING * size else []
    broken.extend((side.excess(place), side) for side in sides if side.excess(place) > 8.0 * _LAST_DIGIT * size)
    return max(broken, key=lambda one: one[0])[1] if broken else None


def _nearest_of_few(bounds: tuple[Bound, ...], size: float) -> tuple[Point, tuple[Bound, ...]] | None:
    """The place nearest to the origin within at most three bounds, and those that hold it."""
    tried: list[tuple[Point, tuple[Bound, ...]]] = [(place, (one,)) for one in bounds for place in one.nearest()]
    for pair in combinations(bounds, 2):
        tried.extend((place, pair) for place in _crossings(*pair))
    # Ten times what counts as broken: a place that holds must not be thrown out by its own rounding.
    slack = {Disc: 10.0 * _ROUNDING * size, Side: 80.0 * _LAST_DIGIT * size}
    good = [
        (place, held_by) for place, held_by in tried if all(one.excess(place) <= slack[type(one)] for one in bounds)
    ]
    return min(good, key=lambda found: math.hypot(*found[0]), default=None)


def _crossings(one: Bound, other: Bound) -> Iterator[Point]:
    """Where two borders cross; where they touch but for rounding, that one place."""
    if isinstance(one, Side) and isinstance(other, Side):
        turn = one.x * other.y - one.y * other.x
        if turn != 0.0:
            yield (one.most * other.y - other.most * one.y) / turn, (other.most * one.x - one.most * other.x) / turn
        return
    if isinstance(one, Side):
        one, other = other, one
    assert isinstance(one, Disc)
    if isinstance(other, Side):
        inside = -other.excess((one.x, one.y))
        foot_x, foot_y = one.x + inside * other.x, one.y + inside * other.y
        half_chord = math.sqrt(max((one.radius - inside) * (one.radius + inside), 0.0))
        across_x, across_y = -other.y, other.x
    else:
        half = math.dist((one.x, one.y), (other.x, other.y)) / 2.0
        if half == 0.0:
            return
        foot_x, foot_y = (one.x + other.x) / 2.0, (one.y + other.y) / 2.0
        half_chord = math.sqrt(max((one.radius - half) * (one.radius + half), 0.0))
        across_x, across_y = (one.y - other.y) / (2.0 * half), (other.x - one.x) / (2.0 * half)
    for step in (half_chord, -half_chord):
        yield foot_x + step * across_x, foot_y + step * across_y
