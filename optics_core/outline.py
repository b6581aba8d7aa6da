# mypy: disable-error-code="no-any-return"
"""Outlines: a lens shape as a closed polygon, its sizes, and the blank it needs by plain geometry.

The distance from a point is a convex function, so along each side of a polygon it is greatest at an end: the
farthest point of a polygon is always one of its corners. Boxed sizes are read from the corners for the same
reason. These functions work on numpy arrays of n points (x, y); the last point is joined to the first by a side
of its own, without being repeated. Whether an outline is sound is asked in `optics_core.outline_checks`.

Signs: seen from the front, x to the observer's right, y up, lengths in mm; points run counter-clockwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from optics_core._boxes import demand_allowance, demand_blank, demand_ed, radius_within_box
from optics_core._numeric import ARRAY, SCALAR, Array, single_numbers
from optics_core.errors import DomainError

POINTS = "At least 3 points of 2 finite numbers each, x and y, are expected."
RADII = "At least 3 radii are expected, finite and 0 mm or more."
WITHIN_REACH = "Figures up to 1000000 mm, a kilometre, are expected in an outline."
LEAST_COUNT = 24

# Far beyond any lens, and small enough for the square of a figure to be one.
_FARTHEST_MM = 1e6
# Points no farther apart are one point, and radii no more different are equal.
_SAME_MM = 1e-9
# A direction no farther below +x than this is that of +x itself.
_SAME_DEG = 1e-9


def checked_outline(points: npt.ArrayLike) -> Array:
    """An outline as an array, once it is sure to be one.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline. [mm]

    Returns
    -------
    array of shape (n, 2)
        The same points in float64, a copy. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite or above 1e6.

    Source
    ------
    derived, fewer than 3 points enclose nothing.
    """
    try:
        outline = np.asarray(points)
    except ValueError:  # rows of different lengths
        raise DomainError("points", POINTS, points) from None
    if outline.dtype.kind not in "iuf" or outline.ndim != 2 or outline.shape[0] < 3 or outline.shape[1] != 2:
        raise DomainError("points", POINTS, points)
    outline = outline.astype(np.float64)
    if not np.isfinite(outline).all():
        raise DomainError("points", POINTS, points)
    if np.abs(outline).max() > _FARTHEST_MM:
        raise DomainError("points", WITHIN_REACH, points)
    return outline


def points_from_radii(radii_mm: npt.ArrayLike) -> Array:
    """The outline that is told by its radii at equal angles.

    Parameters
    ----------
    radii_mm : array of shape (n,)
        Distances from the origin, 0 or more, counter-clockwise as seen from the front, the first along +x. [mm]

    Returns
    -------
    array of shape (n, 2)
        Points x, y, counter-clockwise, the first on +x; exact at quarter turns. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 radii, or one is not finite, negative or above 1e6.

    Source
    ------
    derived, x = r cos t, y = r sin t with t = 360 k/n degrees.
    """
    try:
        radii = np.asarray(radii_mm)
    except ValueError:  # a list of lists of different lengths
        raise DomainError("radii_mm", RADII, radii_mm) from None
    if radii.dtype.kind not in "iuf" or radii.ndim != 1 or radii.size < 3:
        raise DomainError("radii_mm", RADII, radii_mm)
    radii = radii.astype(np.float64)
    for holds, rule in ((np.isfinite(radii) & (radii >= 0.0), RADII), (radii <= _FARTHEST_MM, WITHIN_REACH)):
        if not holds.all():
            raise DomainError("radii_mm", rule, float(radii[~holds][0]))
    sine, cosine = ARRAY.sine_and_cosine(np.arange(radii.size) * 360.0 / radii.size)
    return np.column_stack((radii * cosine, radii * sine))


def without_repeats(points: npt.ArrayLike) -> Array:
    """The outline without points that repeat the one before them, or at the end the first one.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline. [mm]

    Returns
    -------
    array of shape (m, 2)
        The points that lie more than 1e-9 mm from the one kept before them; fewer than 3 may be left. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite or above 1e6.

    Source
    ------
    derived, a side of no length has no direction.
    """
    outline = checked_outline(points)
    places = outline.tolist()
    kept = [0]
    for index, place in enumerate(places):
        if math.dist(place, places[kept[-1]]) > _SAME_MM:
            kept.append(index)
    while len(kept) > 1 and math.dist(places[kept[-1]], places[0]) <= _SAME_MM:
        kept.pop()
    return outline[kept]


def counter_clockwise(points: npt.ArrayLike) -> Array:
    """The same outline told counter-clockwise, as seen from the front.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline, in either sense. [mm]

    Returns
    -------
    array of shape (n, 2)
        The points in their order, or in the reverse one where their signed area is negative. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite or above 1e6.

    Source
    ------
    derived, the signed area of a polygon is positive when it runs counter-clockwise.
    """
    outline = checked_outline(points)
    return outline[::-1] if _signed_area(outline) < 0.0 else outline


@dataclass(frozen=True, slots=True)
class Recentred:
    """An outline around its boxed centre, and where that centre lay before. [mm]"""

    points: Array
    x_mm: float
    y_mm: float


def recentred(points: npt.ArrayLike) -> Recentred:
    """The outline moved so that its boxed centre is the origin.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline, around any origin. [mm]

    Returns
    -------
    Recentred
        The moved points, and where the boxed centre lay. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite or above 1e6.

    Source
    ------
    iso-8624, the boxed centre is the middle of the box.
    """
    outline = checked_outline(points)
    centre = _box_centre(outline)
    return Recentred(outline - centre, float(centre[0]), float(centre[1]))


def mirrored(points: npt.ArrayLike) -> Array:
    """The other eye's outline: right and left exchanged.

    The order is reversed, so that the outline keeps its sense; the side that closes it stays the side that closes it.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline around its boxed centre. [mm]

    Returns
    -------
    array of shape (n, 2)
        Points -x, y from the last to the first; mirrored again they are what was given. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite or above 1e6.

    Source
    ------
    derived, a pair of lenses is symmetrical about the bridge.
    """
    return checked_outline(points)[::-1] * (-1.0, 1.0)


def rounded_rectangle(*, a_mm: float, b_mm: float, ed_mm: float, count: int = 360) -> Array:
    """The modelled outline: a rounded rectangle with exactly these A and B, and this ED.

    Both ends of each rounded corner are points of the outline, so A and B come out exactly; the polygon lies
    within the modelled shape, and its ED falls short by less than 0.005 mm with 360 points.

    Parameters
    ----------
    a_mm : float
        Boxed width, above 0. [mm]
    b_mm : float
        Boxed height, above 0. [mm]
    ed_mm : float
        Effective diameter, from the larger boxed size to the diagonal. [mm]
    count : int
        Number of points, 24 or more. [1]

    Returns
    -------
    array of shape (count, 2)
        Points x, y around the boxed centre, counter-clockwise, starting at +x. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, the rounded rectangle of `boxing.blank_bounds`.
    """
    a, b, ed = single_numbers(("a_mm", "b_mm", "ed_mm"), a_mm, b_mm, ed_mm)
    demand_ed(SCALAR, a, b, ed)
    if isinstance(count, bool) or not isinstance(count, int) or count < LEAST_COUNT:
        raise DomainError("count", f"A whole number of {LEAST_COUNT} points or more is expected.", count)
    radius = radius_within_box(SCALAR, a, b, ed)
    p, q = a / 2.0 - radius, b / 2.0 - radius
    # From +x round: half a side, corner, side, corner, side, corner, side, corner, half a side. The outline is
    # told by the centre of the corner arc, which moves along the sides, and by the angle, which turns at corners.
    centre_x = np.array([p, p, p, -p, -p, -p, -p, p, p, p])
    centre_y = np.array([0.0, q, q, q, q, -q, -q, -q, -q, 0.0])
    angle = np.radians([0.0, 0.0, 90.0, 90.0, 180.0, 180.0, 270.0, 270.0, 360.0, 360.0])
    # Points are dealt out by length, and as many again to the corners, where the outline bends.
    corner = radius * np.pi / 2.0 + ((p + q + radius * np.pi / 2.0) if radius > 0.0 else 0.0)
    lengths = np.array([q, corner, 2.0 * p, corner, 2.0 * q, corner, 2.0 * p, corner, q])
    ends = np.rint(np.concatenate(([0.0], np.cumsum(lengths))) / lengths.sum() * count)
    step = np.arange(count)
    turn = np.interp(step, ends, angle)
    x = np.interp(step, ends, centre_x) + radius * np.cos(turn)
    y = np.interp(step, ends, centre_y) + radius * np.sin(turn)
    points = np.column_stack((x, y))
    points[0] = a / 2.0, 0.0  # on +x also where the side is too short to be dealt a point
    return points


def boxed_sizes(points: npt.ArrayLike) -> tuple[float, float, float]:
    """A, B and ED of an outline.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline. [mm]

    Returns
    -------
    tuple of three floats
        Boxed width, boxed height, and twice the longest radius from the boxed centre. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite.

    Source
    ------
    iso-8624, boxed lens system; iso-13666, effective diameter.
    """
    outline = checked_outline(points)
    a, b = np.ptp(outline, axis=0)
    return float(a), float(b), 2.0 * float(_distances(outline, *_box_centre(outline)).max())


@dataclass(frozen=True, slots=True)
class OutlineSizes:
    """Boxed sizes, ED and its direction, length round the outline and area within it. [mm, deg, mm2]"""

    a_mm: float
    b_mm: float
    ed_mm: float
    ed_angle_deg: float
    circumference_mm: float
    area_mm2: float


def outline_sizes(points: npt.ArrayLike) -> OutlineSizes:
    """The sizes of an outline.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline, which does not cross itself. [mm]

    Returns
    -------
    OutlineSizes
        A, B, ED; the direction of the point farthest from the boxed centre, counter-clockwise from +x, from 0 up to
        360 (of several as far, the smallest angle); circumference; area. [mm, deg, mm2]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite or above 1e6.

    Source
    ------
    iso-8624, boxed lens system; iso-13666, effective diameter; derived, area and circumference of a polygon.
    """
    outline = checked_outline(points)
    a, b = np.ptp(outline, axis=0)
    around = outline - _box_centre(outline)
    radii = np.hypot(around[:, 0], around[:, 1])
    # Points as far but for rounding are as far: a symmetrical shape has the same angle wherever it lay.
    far = around[radii >= radii.max() - _SAME_MM]
    angles = np.degrees(np.arctan2(far[:, 1], far[:, 0])) % 360.0
    angles[angles > 360.0 - _SAME_DEG] = 0.0
    return OutlineSizes(
        a_mm=float(a),
        b_mm=float(b),
        ed_mm=2.0 * float(radii.max()),
        ed_angle_deg=float(angles.min()),
        circumference_mm=float(np.hypot(*(np.roll(outline, -1, axis=0) - outline).T).sum()),
        area_mm2=abs(_signed_area(outline)),
    )


def farthest_distance(points: npt.ArrayLike, *, x_mm: float, y_mm: float) -> float:
    """Distance from a point to the farthest point of an outline.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline. [mm]
    x_mm : float
        The point, to the observer's right. [mm]
    y_mm : float
        The point, upwards. [mm]

    Returns
    -------
    float
        Greatest distance. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite.

    Source
    ------
    derived, the farthest point of a polygon is one of its corners.
    """
    x, y = single_numbers(("x_mm", "y_mm"), x_mm, y_mm)
    return float(_distances(checked_outline(points), x, y).max())


def minimum_blank(points: npt.ArrayLike, *, x_mm: float, y_mm: float, allowance_mm: float) -> float:
    """Least diameter of a round blank, centred on the given point, from which an outline can be cut.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline. [mm]
    x_mm : float
        Centre of the blank, to the observer's right. [mm]
    y_mm : float
        Centre of the blank, upwards. [mm]
    allowance_mm : float
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    float
        Least diameter. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite, or the allowance is negative.

    Source
    ------
    derived, twice the farthest distance, plus the allowance.
    """
    (allowance,) = single_numbers(("allowance_mm",), allowance_mm)
    demand_allowance(allowance)
    return 2.0 * farthest_distance(points, x_mm=x_mm, y_mm=y_mm) + allowance


def edge_margins(points: npt.ArrayLike, *, x_mm: float, y_mm: float, blank_mm: float, allowance_mm: float) -> Array:
    """Room between each point of an outline and the usable edge of a round blank, on the blank's radius.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline. [mm]
    x_mm : float
        Centre of the blank, to the observer's right. [mm]
    y_mm : float
        Centre of the blank, upwards. [mm]
    blank_mm : float
        Blank diameter, above 0. [mm]
    allowance_mm : float
        Taken off the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    array of shape (n,)
        Half of blank less allowance, less the distance from the blank's centre; negative beyond the edge. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, or a number is not finite or out of range.

    Source
    ------
    derived, radius of the usable circle less the distance from its centre.
    """
    x, y, blank, allowance = single_numbers(
        ("x_mm", "y_mm", "blank_mm", "allowance_mm"), x_mm, y_mm, blank_mm, allowance_mm
    )
    demand_blank(blank, allowance)
    return (blank - allowance) / 2.0 - _distances(checked_outline(points), x, y)


def _distances(outline: Array, x: Any, y: Any) -> Array:
    return np.hypot(outline[:, 0] - x, outline[:, 1] - y)


def _box_centre(outline: Array) -> Array:
    return (outline.min(axis=0) + outline.max(axis=0)) / 2.0


def _signed_area(outline: Array) -> float:
    # About a point of the outline, so that an outline far from the origin loses no digits.
    x, y = (outline - outline[0]).T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2.0
