# mypy: disable-error-code="no-any-return"
"""Both lenses of a pair under one choice of criteria: the search for the least blank and for the least share.

In each dimension a figure q is bounded: unwanted prism, or distance from the exact place. It may not exceed the
limit in either eye, nor may the difference of the eyes. Seen from one eye, the other eye's q only narrows the strips.

Often one eye decides: it needs more blank than the other even where it suits that one best. Then it goes to its own
best place, of which there is only one, and the other stays as near to its exact place as it can. If the eyes are in
each other's way, both press against their discs and against the limit of the difference; that place is found from
the inside (`optics_core._barrier`), where both eyes have only one best place as well.

Signs as in `optics_core.placement`; right comes before left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from optics_core._barrier import Family, least_within
from optics_core._border import Line, Row, Strip, nearest_to_farthest
from optics_core._nearest import Point, Side, nearest_place
from optics_core._numeric import Array
from optics_core.placement import Criterion, PreparedTask

Pair = tuple[Point, Point]

# How far a direction that no limit holds is taken to reach, in units of the larger radius. [1]
_FREE_REACH = 1.0
# A disc so little larger than the smallest circle is widened to it: a search from the inside needs an inside.
_LEAST_ROOM = 1e-13
_ROUNDING = 1e-12


# Directions all round, as columns.
_DIRECTIONS = np.array([[math.cos(turn), math.sin(turn)] for turn in np.linspace(0.0, math.tau, 24, endpoint=False)]).T


@dataclass(frozen=True, slots=True)
class Freedom:
    """Where one optical centre may go: origin plus `axes` times one or two figures of about 1."""

    origin: Point
    axes: Array


@dataclass(frozen=True, slots=True)
class Combination:
    """Both lenses, the row bounded in each dimension for each, and the limits, drawn in by what rounding may add."""

    eyes: tuple[PreparedTask, PreparedTask]
    rows: tuple[tuple[Row, Row], tuple[Row, Row]]
    limits: Point
    slacks: Point

    @classmethod
    def of(
        cls, eyes: tuple[PreparedTask, PreparedTask], limits: Point, by: tuple[Criterion, Criterion]
    ) -> Combination | None:
        """None if a distance is meant and an eye has no exact place to count it from."""
        right, left = eyes[0].rows(*by), eyes[1].rows(*by)
        if right is None or left is None:
            return None
        slacks = tuple(eyes[0].slack(right[j]) + eyes[1].slack(left[j]) for j in (0, 1))
        drawn_in = tuple(max(limits[j] - slacks[j], 0.0) for j in (0, 1))
        return cls(eyes, (right, left), (drawn_in[0], drawn_in[1]), (slacks[0], slacks[1]))

    def alone(self, k: int) -> Point | None:
        """The place that needs the least blank for one eye without regard to the other."""
        eye = self.eyes[k]
        if self.limits == (0.0, 0.0):
            return eye.base if eye.is_exact else None
        # What no move can change has no last digits to lose, and may come up to the very limit.
        strips = tuple(
            Strip(
                row,
                self.limits[j] if row.x or row.y else (self.limits[j] + self.slacks[j]) * (1.0 + _ROUNDING),
                self.slacks[j],
            )
            for j, row in enumerate(self.rows[k])
        )
        return eye.least_blank_point((strips[0], strips[1]))

    def figures(self, k: int, point: Point) -> Point:
        move = self.eyes[k].move_to(point)
        return self.rows[k][0].of(move), self.rows[k][1].of(move)

    def least_blank(self, enough: float) -> Pair | None:
        """The places that need the least blank for the pair; None if there are none, or not below `enough` (squared)."""
        right, left = self.alone(0), self.alone(1)
        if right is None or left is None:
            return None
        best = (right, left)
        reaches = [self.eyes[k].squared_reach(best[k]) for k in (0, 1)]
        hard = 0 if reaches[0] >= reaches[1] else 1
        if reaches[hard] > enough:
            return None
        companion = self.companion(1 - hard, best[hard], reaches[hard])
        if companion is not None:
            return (right, companion) if hard == 0 else (companion, left)
        both = self._least_blank_of_both()
        if both is None or (self.eyes[0].is_exact and self.eyes[1].is_exact):
            return both
        # An eye without an exact place may hold up the other and yet have room itself.
        reach = max(self.eyes[k].squared_reach(both[k]) for k in (0, 1))
        return self._nearer_home(both, (reach, reach), 1.0)

    def companion(self, k: int, other: Point, squared_radius: float, share: float = 1.0) -> Point | None:
        """Nearest to the base of one eye: within its discs and within a share of the limits, the other eye given."""
        eye = self.eyes[k]
        others = self.figures(1 - k, other)
        sides = []
        for j in (0, 1):
            row, limit = self.rows[k][j], self.limits[j] * share
            low, high = max(-limit, others[j] - limit) - row.at_base, min(limit, others[j] + limit) - row.at_base
            length = math.hypot(row.x, row.y)
            if length > 0.0:
                sides.append(Side(row.x / length, row.y / length, high / length))
                sides.append(Side(-row.x / length, -row.y / length, -low / length))
            elif low > self.slacks[j] or high < -self.slacks[j]:
                return None
        from_base = eye.cloud - np.array(eye.base)
        place = nearest_place(from_base[:, 0], from_base[:, 1], math.sqrt(squared_radius), sides)
        return None if place is None else (eye.base[0] + place[0], eye.base[1] + place[1])

    def least_share(self, squared_radii: Point) -> Pair | None:
        """The places within discs of these radii that use the least share of the limits; None if they use more than all."""
        for k in (0, 1):
            alone = self.alone(k)
            if alone is None or self.eyes[k].squared_reach(alone) > squared_radii[k] * (1.0 + _LEAST_ROOM):
                return None
        found = self._least_share_of_both(squared_radii, with_fixed=True)
        if found is None:
            return None
        share, pair = found
        return self._nearer_home(pair, squared_radii, share * (1.0 + _LEAST_ROOM))

    def _nearer_home(self, pair: Pair, squared_radii: Point, share: float) -> Pair:
        """Where one eye decides, a search leaves the other anywhere within its bounds: it goes home as far as it can."""
        for k in (0, 1):
            nearer = self.companion(k, pair[1 - k], squared_radii[k], share)
            if nearer is not None:
                pair = (nearer, pair[1]) if k == 0 else (pair[0], nearer)
        return pair

    def _freedom(self, k: int, *, reach: float, share: float) -> Freedom:
        """The plane, or a line where a limit is 0, in directions of which each goes about as far as the limits let it."""
        eye, origin = self.eyes[k], self.eyes[k].base
        rows, along = [], None
        for row, limit in zip(self.rows[k], self.limits, strict=True):
            squared = row.x * row.x + row.y * row.y
            if limit > 0.0:
                rows.append([row.x / (limit * share), row.y / (limit * share)])
            elif squared > 0.0:
                out = -row.at_base / squared
                origin = eye.base[0] + row.x * out, eye.base[1] + row.y * out
                along = np.array([[-row.y], [row.x]]) / math.sqrt(squared)
        if along is not None:
            return Freedom(origin, along / max(float(np.linalg.norm(np.array(rows) @ along)), 1.0 / reach))
        _, held, turned = np.linalg.svd(np.array(rows))
        held = np.append(held, np.zeros(2 - len(held)))
        return Freedom(origin, turned.T / np.maximum(held, 1.0 / reach))

    def _free_place(self, k: int, freedom: Freedom) -> Point:
        """The place that needs the least blank if only the limits of 0 hold."""
        eye = self.eyes[k]
        if freedom.axes.shape[1] == 2:
            return eye.circle.x_mm, eye.circle.y_mm
        along = freedom.axes[:, 0] / np.linalg.norm(freedom.axes[:, 0])
        line = Line((0.0, 0.0), (float(along[0]), float(along[1])), -math.inf, math.inf)
        return nearest_to_farthest(eye.cloud, freedom.origin, line)

    def _discs(
        self, freedoms: tuple[Freedom, Freedom], size: float, given: Array | None, chosen: list[Array]
    ) -> list[Family]:
        """Chosen points of both eyes within the last figure, or within given squared radii, in units of the size."""
        families = []
        count = sum(freedom.axes.shape[1] for freedom in freedoms) + 1
        for k, columns in enumerate(_columns(freedoms)):
            axes = freedoms[k].axes / size
            cloud = (self.eyes[k].cloud[chosen[k]] - np.array(freedoms[k].origin)) / size
            curvature, slopes = np.zeros((count, count)), np.zeros((len(cloud), count))
            curvature[columns, columns] = axes.T @ axes
            slopes[:, columns] = -2.0 * cloud @ axes
            constants = (cloud**2).sum(axis=1)
            if given is None:
                slopes[:, -1] = -1.0
            else:
                constants = constants - given[k]
            families.append(Family(curvature, slopes, constants))
        return families

    def _from_inside(
        self, freedoms: tuple[Freedom, Freedom], size: float, given: Array | None, limits: Family, start: Array
    ) -> tuple[float, Pair]:
        """The least last figure and its places. Few points hold them: those left out are looked at afterwards."""
        chosen = [_all_round(eye.cloud) for eye in self.eyes]
        while True:
            found = least_within(families=[*self._discs(freedoms, size, given, chosen), limits], start=start)
            pair = _points(freedoms, found)
            complete = True
            for k, eye in enumerate(self.eyes):
                squared = ((eye.cloud - np.array(pair[k])) ** 2).sum(axis=1)
                worst = int(squared.argmax())
                most = float(found[-1] if given is None else given[k]) * size**2
                if squared[worst] > most * (1.0 + _ROUNDING) and worst not in chosen[k]:
                    chosen[k] = np.append(chosen[k], worst)
                    complete = False
            if complete:
                return float(found[-1]), pair

    def _limits(
        self, freedoms: tuple[Freedom, Freedom], share: float, *, by_share: bool, with_fixed: bool
    ) -> Family | None:
        """Each eye and their difference within a share of the limits, or within the last figure times that share.

        What no move can change (prescribed prism without power) counts for a share, but a search has no room there:
        without `with_fixed` it is looked at once. None if it breaks a limit.
        """
        columns = _columns(freedoms)
        count = columns[1].stop + 1
        rows, constants = [], []
        for j, limit in enumerate(self.limits):
            if limit == 0.0:  # held by the freedoms
                continue
            slopes, at_origin = np.zeros((2, count)), np.zeros(2)
            for k in (0, 1):
                row = self.rows[k][j]
                slopes[k, columns[k]] = np.array([row.x, row.y]) @ freedoms[k].axes
                at_origin[k] = row.of(self.eyes[k].move_to(freedoms[k].origin))
            for weights in (np.array([1.0, 0.0]), np.array([0.0, 1.0]), np.array([1.0, -1.0])):
                slope, constant = weights @ slopes / (limit * share), float(weights @ at_origin) / (limit * share)
                if not with_fixed and not slope.any():
                    if abs(constant) * share > 1.0 + _ROUNDING:
                        return None
                    continue
                for side in (1.0, -1.0):
                    rows.append(side * slope)
                    constants.append(side * constant)
        slopes_of_all, constants_of_all = np.array(rows).reshape(-1, count), np.array(constants)
        if by_share:
            slopes_of_all[:, -1] = -1.0
        else:
            constants_of_all = constants_of_all - 1.0
        return Family(np.zeros((count, count)), slopes_of_all, constants_of_all)

    def _least_blank_of_both(self) -> Pair | None:
        size = math.sqrt(max(eye.squared_reach(eye.base) for eye in self.eyes))
        freedoms = tuple(self._freedom(k, reach=_FREE_REACH * size, share=1.0) for k in (0, 1))
        free = (freedoms[0], freedoms[1])
        limits = self._limits(free, 1.0, by_share=False, with_fixed=False)
        inside = None if limits is None else self._inside()
        if limits is None or inside is None:
            return None
        reach = max(self.eyes[k].squared_reach(inside[k]) for k in (0, 1))
        start = np.array([*_coordinates(free, inside), reach / size**2 + 0.5])
        return self._from_inside(free, size, None, limits, start)[1]

    def _inside(self) -> Pair | None:
        """Places truly within the limits: the exact ones, or those that use the least share."""
        if all(eye.is_exact for eye in self.eyes):
            return self.eyes[0].base, self.eyes[1].base
        wide = tuple(400.0 * eye.squared_reach(eye.base) for eye in self.eyes)
        found = self._least_share_of_both((wide[0], wide[1]), with_fixed=False)
        return None if found is None or found[0] >= 1.0 - 1e-9 else found[1]

    def _least_share_of_both(self, squared_radii: Point, *, with_fixed: bool) -> tuple[float, Pair] | None:
        """The least share and its places, for discs that are not too small by more than rounding."""
        size = math.sqrt(max(squared_radii))
        flat = tuple(self._freedom(k, reach=size, share=1.0) for k in (0, 1))
        starts = (self._free_place(0, flat[0]), self._free_place(1, flat[1]))
        figures = self.figures(0, starts[0]), self.figures(1, starts[1])
        # The share at the start, as the unit of all shares: else tiny limits would make huge figures.
        unit = max(
            max(abs(figures[0][j]), abs(figures[1][j]), abs(figures[0][j] - figures[1][j])) / self.limits[j]
            for j in (0, 1)
            if self.limits[j] > 0.0
        )
        unit = max(unit, _LEAST_ROOM)
        radii = np.array(squared_radii)
        for k in (0, 1):
            radii[k] = max(radii[k], self.eyes[k].squared_reach(starts[k]) * (1.0 + _LEAST_ROOM))
        freedoms = tuple(self._freedom(k, reach=size, share=unit) for k in (0, 1))
        free = (freedoms[0], freedoms[1])
        limits = self._limits(free, unit, by_share=True, with_fixed=with_fixed)
        if limits is None:
            return None
        start = np.array([*_coordinates(free, starts), 1.5])
        share, pair = self._from_inside(free, size, radii / size**2, limits, start)
        return share * unit, pair


def _all_round(cloud: Array) -> Array:
    """The farthest points in directions all round, as their places in the cloud."""
    return np.unique((cloud @ _DIRECTIONS).argmax(axis=0))


def _columns(freedoms: tuple[Freedom, Freedom]) -> tuple[slice, slice]:
    right, left = (freedom.axes.shape[1] for freedom in freedoms)
    return slice(0, right), slice(right, right + left)


def _coordinates(freedoms: tuple[Freedom, Freedom], pair: Pair) -> Array:
    parts = [
        np.linalg.lstsq(freedom.axes, np.array(point) - np.array(freedom.origin), rcond=None)[0]
        for freedom, point in zip(freedoms, pair, strict=True)
    ]
    return np.concatenate(parts)


def _points(freedoms: tuple[Freedom, Freedom], v: Array) -> Pair:
    right, left = (
        np.array(freedom.origin) + freedom.axes @ v[columns]
        for freedom, columns in zip(freedoms, _columns(freedoms), strict=True)
    )
    return (float(right[0]), float(right[1])), (float(left[0]), float(left[1]))
