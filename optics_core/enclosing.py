# mypy: disable-error-code="no-any-return"
"""Enclosing circles: the smallest round piece a shape can be cut from, and the nearest place for a larger one.

A circle encloses a polygon when it encloses its corners, so that a shape is a cloud of points here. The smallest
enclosing circle is held by two or three of them. Seen the other way round, a circle of a given radius encloses the
cloud when its centre lies in every disc of that radius about a point; these discs have a convex part in common,
and the place in it that lies nearest to a wanted one is held by one disc or by two.

Both searches go the same way: solve for the few points that hold, add the worst of the others, solve again. What
is sought (the radius here, the distance in `optics_core._nearest`) grows with each step, so that the search ends.

Signs: seen from the front, x to the observer's right, y up, lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from optics_core._boxes import NOT_NEGATIVE
from optics_core._nearest import Point, nearest_place
from optics_core._numeric import Array, demand, single_numbers
from optics_core.errors import DomainError

POINTS = "At least 1 point of 2 finite numbers each, x and y, is expected."

# What rounding may add to a distance, as a part of it: a point no farther out than that lies on the circle.
_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle by its centre and radius. [mm]"""

    x_mm: float
    y_mm: float
    radius_mm: float


def checked_points(points: npt.ArrayLike) -> Array:
    """A cloud of points as an array, once it is sure to be one.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y; one is enough. [mm]

    Returns
    -------
    array of shape (n, 2)
        The same points in float64, a copy. [mm]

    Raises
    ------
    DomainError
        If there is no point, a row has not two numbers, or a number is not finite.

    Source
    ------
    derived, what the other functions here rest on.
    """
    try:
        cloud = np.asarray(points)
    except ValueError:  # rows of different lengths
        raise DomainError("points", POINTS, points) from None
    if cloud.dtype.kind not in "iuf" or cloud.ndim != 2 or cloud.shape[0] < 1 or cloud.shape[1] != 2:
        raise DomainError("points", POINTS, points)
    cloud = cloud.astype(np.float64)
    if not np.isfinite(cloud).all():
        raise DomainError("points", POINTS, points)
    return cloud


def smallest_circle(points: npt.ArrayLike) -> Circle:
    """The smallest circle that encloses every point.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y; one is enough. [mm]

    Returns
    -------
    Circle
        Centre and radius; the circle of one point has radius 0. [mm]

    Raises
    ------
    DomainError
        If there is no point, or a number is not finite.

    Source
    ------
    derived, the smallest circle is held by two points or by three.
    """
    cloud = checked_points(points)
    # About the middle of the box, so that a cloud far from the origin loses no digits.
    middle_x, middle_y = ((cloud.min(axis=0) + cloud.max(axis=0)) / 2.0).tolist()
    x, y = cloud[:, 0] - middle_x, cloud[:, 1] - middle_y
    centre, radius = (0.0, 0.0), -1.0
    holding: tuple[Point, ...] = ()
    while True:
        squared = (x - centre[0]) ** 2 + (y - centre[1]) ** 2
        worst = int(squared.argmax())
        reach = math.sqrt(squared[worst])
        if radius >= 0.0 and reach <= radius * (1.0 + _ROUNDING):
            break
        larger, its_radius, its_points = _circle_of_few((*holding, (float(x[worst]), float(y[worst]))))
        if its_radius <= radius:  # all that is left is rounding
            break
        centre, radius, holding = larger, its_radius, its_points
    return Circle(middle_x + centre[0], middle_y + centre[1], reach)


def nearest_centre(points: npt.ArrayLike, *, x_mm: float, y_mm: float, radius_mm: float) -> Point | None:
    """The place nearest to a wanted one from which every point lies within the radius.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y; one is enough. [mm]
    x_mm : float
        The wanted place, to the observer's right. [mm]
    y_mm : float
        The wanted place, upwards. [mm]
    radius_mm : float
        Greatest distance from that place to a point, 0 or more. [mm]

    Returns
    -------
    tuple of two floats, or None
        The place [mm], the wanted one itself where that will do; None if the radius is smaller than that of the
        smallest circle. Every point lies within the radius but for rounding.

    Raises
    ------
    DomainError
        If there is no point, a number is not finite, or the radius is negative.

    Source
    ------
    derived, the nearest point of a common part of discs lies on the border of one disc or where two borders cross.
    """
    wanted_x, wanted_y, radius = single_numbers(("x_mm", "y_mm", "radius_mm"), x_mm, y_mm, radius_mm)
    demand(radius >= 0.0, argument="radius_mm", rule=NOT_NEGATIVE, value=radius)
    cloud = checked_points(points)
    place = nearest_place(cloud[:, 0] - wanted_x, cloud[:, 1] - wanted_y, radius)
    if place is not None:
        return wanted_x + place[0], wanted_y + place[1]
    # Three discs had no part in common, or all but none: then the smallest circle decides.
    circle = smallest_circle(cloud)
    return (circle.x_mm, circle.y_mm) if circle.radius_mm <= radius * (1.0 + _ROUNDING) else None


def _circle_of_few(points: tuple[Point, ...]) -> tuple[Point, float, tuple[Point, ...]]:
    """The smallest circle of at most four points, and those that hold it: every pair and three are tried."""
    if len(points) == 1:
        return points[0], 0.0, points
    tried: list[tuple[Point, tuple[Point, ...]]] = []
    for one, other in combinations(points, 2):
        tried.append((((one[0] + other[0]) / 2.0, (one[1] + other[1]) / 2.0), (one, other)))
    for three in combinations(points, 3):
        tried.extend((centre, three) for centre in _circumcentre(*three))
    reaches = [max(math.dist(centre, point) for point in points) for centre, _ in tried]
    least = min(range(len(tried)), key=reaches.__getitem__)
    return tried[least][0], reaches[least], tried[least][1]


def _circumcentre(one: Point, two: Point, three: Point) -> Iterator[Point]:
    """The one place as far from all three; none where they stand in line."""
    bx, by, cx, cy = two[0] - one[0], two[1] - one[1], three[0] - one[0], three[1] - one[1]
    double_area = 2.0 * (bx * cy - by * cx)
    if double_area != 0.0:
        b, c = bx * bx + by * by, cx * cx + cy * cy
        yield one[0] + (cy * b - by * c) / double_area, one[1] + (bx * c - cx * b) / double_area
