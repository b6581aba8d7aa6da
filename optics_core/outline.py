# mypy: disable-error-code="no-any-return"
"""Outlines: a lens shape as a closed polygon, and the blank it needs by plain geometry.

The distance from a point is a convex function, so along each side of a polygon it is greatest at an end: the
farthest point of a polygon is always one of its corners. Boxed sizes are read from the corners for the same
reason. These functions work on numpy arrays of n points (x, y).

Signs: seen from the front, x to the observer's right, y up, lengths in mm; points run counter-clockwise.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from optics_core._boxes import demand_allowance, demand_ed, radius_within_box
from optics_core._numeric import SCALAR, Array, single_numbers
from optics_core.errors import DomainError

POINTS = "At least 3 points of 2 finite numbers each, x and y, are expected."
LEAST_COUNT = 24


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
    outline = _checked(points)
    low, high = outline.min(axis=0), outline.max(axis=0)
    centre = (low + high) / 2.0
    a, b = high - low
    return float(a), float(b), 2.0 * _farthest(outline, centre[0], centre[1])


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
    return _farthest(_checked(points), x, y)


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


def _farthest(outline: Array, x: Any, y: Any) -> float:
    return float(np.hypot(outline[:, 0] - x, outline[:, 1] - y).max())


def _checked(points: npt.ArrayLike) -> Array:
    try:
        outline = np.asarray(points)
    except ValueError:  # rows of different lengths
        raise DomainError("points", POINTS, points) from None
    if outline.dtype.kind not in "iuf" or outline.ndim != 2 or outline.shape[0] < 3 or outline.shape[1] != 2:
        raise DomainError("points", POINTS, points)
    outline = outline.astype(np.float64)
    if not np.isfinite(outline).all():
        raise DomainError("points", POINTS, points)
    return outline
