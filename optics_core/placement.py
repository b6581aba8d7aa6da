# mypy: disable-error-code="no-any-return"
"""Placement: where the optical centre of one lens may sit, and where it needs the least blank.

The blank is laid so that its optical centre comes before the pupil, or beside it by what the prescribed prism
asks. With the optical centre at d the pupil looks through e = F (d - pupil) / 10 - prescribed of prism that nobody
wanted, F being the power matrix. As long as e, or the distance from the exact place, stays within bounds, d may be
moved so that a smaller blank will do: the blank's middle lies at d less the offset of its optical centre, and it
must reach the farthest point of the outline from there.

The bounds are two strips across the plane, one for each dimension, that overlap in a parallelogram, in a strip (a
principal power of 0 asks nothing along its meridian) or in the whole plane. The square of the farthest distance is
d squared plus the largest of many linear functions, so that there is one best place: the centre of the smallest
circle where the bounds allow it, a place on their border if not. Along a straight border the same holds in one
dimension, and the best place is found exactly (`optics_core._border`).

Signs: seen from the front, x to the observer's right, y up, origin at the boxed centre; lengths in mm, prism in
prism dioptres (pd), its base vector pointing to the base. Offsets: optical centre less the blank's middle.
"""

from __future__ import annotations

import math
from dataclasses import KW_ONLY, dataclass
from typing import Any, Literal, TypeAlias

import numpy as np

from optics_core._border import Row, Strip, border, nearest_to_farthest, strips_of
from optics_core._boxes import demand_allowance, demand_blank
from optics_core._lens import AN_AXIS, matrix_parts
from optics_core._nearest import Point
from optics_core._numeric import SCALAR, Array, demand, single_numbers
from optics_core.enclosing import Circle, checked_points, smallest_circle
from optics_core.errors import DomainError
from optics_core.outline import minimum_blank
from optics_core.prism import decentration_for_prism

Criterion: TypeAlias = Literal["prism", "distance"]

# A figure this much smaller than the one beside it is what rounding leaves of 0.
_ROUNDING = 1e-12
_LAST_DIGIT = math.ulp(1.0)


@dataclass(frozen=True, slots=True, eq=False)
class EyeTask:
    """One lens to be placed: outline, pupil, power, prescribed prism, where the blank's optical centre lies.

    `points` is an array of shape (n, 2) about the boxed centre [mm]; the power is in [D, D, deg], with an axis of
    None only where the cylinder is 0; the prescribed prism is a base vector [pd]; the offset is the optical centre
    less the blank's geometric middle, 0 where it was not measured [mm].
    """

    points: Any
    _: KW_ONLY
    pupil_x_mm: float
    pupil_y_mm: float
    sphere_d: float
    cylinder_d: float
    axis_deg: float | None
    prism_x_pd: float = 0.0
    prism_y_pd: float = 0.0
    offset_x_mm: float = 0.0
    offset_y_mm: float = 0.0

    def __post_init__(self) -> None:
        cloud = checked_points(self.points)
        cloud.setflags(write=False)
        object.__setattr__(self, "points", cloud)
        names = tuple(name for name in self.__slots__ if name not in ("points", "axis_deg"))
        for name, value in zip(names, single_numbers(names, *(getattr(self, name) for name in names)), strict=True):
            object.__setattr__(self, name, value)
        if self.axis_deg is not None:
            object.__setattr__(self, "axis_deg", single_numbers(("axis_deg",), self.axis_deg)[0])
        elif self.cylinder_d != 0.0:
            raise DomainError("axis_deg", AN_AXIS, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """How far one lens may err in each dimension: by unwanted prism [pd] or by distance from the exact place [mm]."""

    horizontal: float
    vertical: float
    horizontal_by: Criterion
    vertical_by: Criterion

    def __post_init__(self) -> None:
        for name in ("horizontal", "vertical"):
            (limit,) = single_numbers((name,), getattr(self, name))
            demand(limit >= 0.0, argument=name, rule="A limit of 0 or more is expected.", value=limit)
            object.__setattr__(self, name, limit)
        for name in ("horizontal_by", "vertical_by"):
            if getattr(self, name) not in ("prism", "distance"):
                raise DomainError(name, "Either prism or distance is expected.", getattr(self, name))


@dataclass(frozen=True, slots=True)
class Place:
    """Where the optical centre sits [mm], the least blank there with its allowance [mm], the unwanted prism [pd]."""

    x_mm: float
    y_mm: float
    blank_mm: float
    prism_x_pd: float
    prism_y_pd: float


@dataclass(frozen=True, slots=True)
class HalfTurn:
    """What is left of a blank's diameter as it lies, and turned by half a turn; negative is lacking. [mm]"""

    as_placed_mm: float
    turned_mm: float


@dataclass(frozen=True, slots=True)
class PreparedTask:
    """A task made ready for the search: all that does not depend on the bounds.

    `cloud` holds the points as seen from the blank's middle when the optical centre is the origin; `base` is the
    exact place or, if there is none, the one that leaves the least unwanted prism; `circle` is the smallest one of
    the cloud. Moves are counted from the base, so that the exact place has no prism to the last digit.
    """

    cloud: Array
    circle: Circle
    base: Point
    is_exact: bool
    prism_rows: tuple[Row, Row]

    @classmethod
    def of(cls, task: EyeTask) -> PreparedTask:
        cloud = task.points + np.array([task.offset_x_mm, task.offset_y_mm])
        base, left_over = _least_prism(task)
        axis = 0.0 if task.axis_deg is None else task.axis_deg
        xx, xy, yy = matrix_parts(SCALAR, task.sphere_d, task.cylinder_d, axis)
        rows = Row(xx / 10.0, xy / 10.0, left_over[0]), Row(xy / 10.0, yy / 10.0, left_over[1])
        return cls(cloud, smallest_circle(cloud), base, left_over == (0.0, 0.0), rows)

    def place(self, point: Point, allowance: float) -> Place:
        """What comes of an optical centre there."""
        move = self.move_to(point)
        e_x, e_y = (row.of(move) + 0.0 for row in self.prism_rows)
        return Place(*point, 2.0 * math.sqrt(self.squared_reach(point)) + allowance, e_x, e_y)

    def move_to(self, point: Point) -> Point:
        return point[0] - self.base[0], point[1] - self.base[1]

    def squared_reach(self, point: Point) -> float:
        """Square of the distance to the farthest point of the cloud."""
        return float(((self.cloud[:, 0] - point[0]) ** 2 + (self.cloud[:, 1] - point[1]) ** 2).max())

    def rows(self, horizontal_by: Criterion, vertical_by: Criterion) -> tuple[Row, Row] | None:
        """What is bounded in each dimension; None if a distance is meant and there is nothing to count it from."""
        by = (horizontal_by, vertical_by)
        if "distance" in by and not self.is_exact:
            return None
        distances = Row(1.0, 0.0, 0.0), Row(0.0, 1.0, 0.0)
        horizontal, vertical = (self.prism_rows[k] if by[k] == "prism" else distances[k] for k in (0, 1))
        return horizontal, vertical

    def slack(self, row: Row) -> float:
        """What the last digits of a place can change in a row; limits are drawn in by it, to be kept when judged again."""
        slope = abs(row.x) + abs(row.y)
        size = max(abs(self.base[0]), abs(self.base[1]), float(np.abs(self.cloud).max()))
        return 16.0 * _LAST_DIGIT * (size * slope + abs(row.at_base)) if slope > 0.0 else 0.0

    def least_blank_point(self, strips: tuple[Strip, Strip]) -> Point | None:
        """The place within the strips that needs the least blank."""
        free = self.circle.x_mm, self.circle.y_mm
        if all(abs(strip.row.of(self.move_to(free))) <= strip.limit for strip in strips):
            return free
        # The exact place stands first: it is kept where moving gains nothing.
        places = [self.base] if self.is_exact else []
        places.extend(nearest_to_farthest(self.cloud, self.base, line) for line in border(strips))
        return min(places, key=self.squared_reach, default=None)


def exact_centre(task: EyeTask) -> Point | None:
    """Where the optical centre leaves no unwanted prism: the pupil, or beside it by what the prescribed prism asks.

    Where a principal power is 0, only prism along the other meridian can be made; of the many places that make
    it, the one nearest to the pupil is meant.

    Parameters
    ----------
    task : EyeTask
        The lens.

    Returns
    -------
    tuple of two floats, or None
        The place [mm]; None if decentration cannot make the prescribed prism.

    Raises
    ------
    DomainError
        Never: an EyeTask is checked when it is built.

    Source
    ------
    long-1976, d = F^-1 p; derived, the place nearest to the pupil where a principal power is 0.
    """
    base, left_over = _least_prism(task)
    return base if left_over == (0.0, 0.0) else None


def place_at(task: EyeTask, *, x_mm: float, y_mm: float, allowance_mm: float) -> Place:
    """What comes of an optical centre at a given place: the least blank and the unwanted prism.

    Parameters
    ----------
    task : EyeTask
        The lens.
    x_mm : float
        Optical centre, to the observer's right. [mm]
    y_mm : float
        Optical centre, upwards. [mm]
    allowance_mm : float
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    Place
        The place, the least blank with its allowance [mm], the unwanted prism [pd].

    Raises
    ------
    DomainError
        If a number is not finite, or the allowance is negative.

    Source
    ------
    long-1976, p = F d; derived, twice the farthest distance from the blank's middle, plus the allowance.
    """
    x, y, allowance = single_numbers(("x_mm", "y_mm", "allowance_mm"), x_mm, y_mm, allowance_mm)
    demand_allowance(allowance)
    return PreparedTask.of(task).place((x, y), allowance)


def least_blank_place(task: EyeTask, *, bounds: Bounds, allowance_mm: float) -> Place | None:
    """The place of the optical centre within the bounds that needs the least blank.

    Bounds of 0 in both dimensions ask for the exact place, also where other places would leave no prism either.

    Parameters
    ----------
    task : EyeTask
        The lens.
    bounds : Bounds
        Limit and criterion of each dimension.
    allowance_mm : float
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    Place, or None
        The place, the least blank with its allowance [mm], the unwanted prism [pd]; None if no place is within the
        bounds, or a distance is bounded and there is no exact place to count it from.

    Raises
    ------
    DomainError
        If the allowance is not a finite number of 0 or more.

    Source
    ------
    derived, the convex problem and its solution on the border as told above; long-1976, p = F d.
    """
    (allowance,) = single_numbers(("allowance_mm",), allowance_mm)
    demand_allowance(allowance)
    prepared = PreparedTask.of(task)
    rows = prepared.rows(bounds.horizontal_by, bounds.vertical_by)
    if rows is None:
        return None
    if bounds.horizontal == bounds.vertical == 0.0:
        return prepared.place(prepared.base, allowance) if prepared.is_exact else None
    strips = strips_of(rows, (bounds.horizontal, bounds.vertical), (prepared.slack(rows[0]), prepared.slack(rows[1])))
    point = prepared.least_blank_point(strips)
    return None if point is None else prepared.place(point, allowance)


def half_turn_margins(
    points: Any,
    *,
    x_mm: float,
    y_mm: float,
    offset_x_mm: float,
    offset_y_mm: float,
    blank_mm: float,
    allowance_mm: float,
) -> HalfTurn:
    """What a blank leaves as it lies and turned by half a turn about its optical centre.

    A half turn changes nothing of sphere, cylinder and axis, but carries the blank's middle to the other side of
    the optical centre.

    Parameters
    ----------
    points : array of shape (n, 2)
        Outline, 3 points or more. [mm]
    x_mm : float
        Optical centre, to the observer's right. [mm]
    y_mm : float
        Optical centre, upwards. [mm]
    offset_x_mm : float
        Optical centre less the blank's middle as it lies, to the observer's right. [mm]
    offset_y_mm : float
        The same, upwards. [mm]
    blank_mm : float
        Diameter of the blank. [mm]
    allowance_mm : float
        Taken off the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    HalfTurn
        Blank less need, on the diameter, as it lies and turned. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite, the blank is not above 0 or the allowance below.

    Source
    ------
    derived, the blank's middle at the optical centre less the offset, and plus the offset when turned.
    """
    names = ("x_mm", "y_mm", "offset_x_mm", "offset_y_mm", "blank_mm", "allowance_mm")
    x, y, off_x, off_y, blank, allowance = single_numbers(
        names, x_mm, y_mm, offset_x_mm, offset_y_mm, blank_mm, allowance_mm
    )
    demand_blank(blank, allowance)
    as_placed, turned = (
        blank - minimum_blank(points, x_mm=x - side * off_x, y_mm=y - side * off_y, allowance_mm=allowance)
        for side in (1.0, -1.0)
    )
    return HalfTurn(as_placed, turned)


def _least_prism(task: EyeTask) -> tuple[Point, Point]:
    """The place that leaves the least unwanted prism (of several the nearest to the pupil), and what it leaves."""
    x, y = task.prism_x_pd, task.prism_y_pd
    left_over = (0.0, 0.0)
    shift = (0.0, 0.0)
    along, across = task.sphere_d, task.sphere_d + task.cylinder_d
    weaker, stronger = sorted((along, across), key=abs)
    if x == y == 0.0:
        pass
    elif abs(weaker) > _ROUNDING * abs(stronger):
        shift = decentration_for_prism(
            sphere_d=task.sphere_d, cylinder_d=task.cylinder_d, axis_deg=task.axis_deg, x_pd=x, y_pd=y
        )
    elif stronger == 0.0:
        left_over = (-x, -y)
    else:
        # Only prism along the meridian that has power can be made: as a sphere of that power would make it.
        axis = 0.0 if task.axis_deg is None else task.axis_deg
        sine, cosine = SCALAR.sine_and_cosine(axis if stronger == along else axis + 90.0)
        part = x * cosine + y * sine
        made = part * cosine, part * sine
        shift = decentration_for_prism(sphere_d=stronger, cylinder_d=0.0, axis_deg=None, x_pd=made[0], y_pd=made[1])
        if abs(y * cosine - x * sine) > _ROUNDING * math.hypot(x, y):
            left_over = made[0] - x, made[1] - y
    return (task.pupil_x_mm + shift[0], task.pupil_y_mm + shift[1]), left_over
