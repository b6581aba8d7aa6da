"""The centre a lens must have, so that neither its centre nor its edge is thinner than allowed.

A minus lens is ruled by its centre: everywhere else it is thicker. A plus lens is ruled by its edge at the point
farthest from the pole; of a stock plus lens that is the edge of the round blank, not of the shape cut from it. A
minus lens with ground prism is thinnest off its pole, towards the apex, and that place is then its true centre.
A thicker centre needs a hollower back to keep the back vertex power, so every place grows a little faster than the
centre does: the least centre is found in steps, and there is only one.

Signs: as in `optics_core.thickness`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from optics_core._body import (
    ABOVE_1,
    NOT_NEGATIVE,
    Axes,
    ReachError,
    axes_from,
    checked_points,
    front_at_back,
    hollow,
    profile,
    refused,
    share_of_reach,
    thicker_outwards,
    thickness,
    turned,
    unturned,
)
from optics_core._lens import LENS, checked_lens
from optics_core._numeric import ARRAY, SCALAR, Array, demand, single_numbers
from optics_core.errors import DomainError

A_DIAMETER = "A diameter above 0 mm is expected."
NO_CENTRE = "No centre thickness makes this lens reach its outline with the edge asked for."
LEAST_COUNT = 24

_MORE = (
    "index", "front_power_d", "prism_x_pd", "prism_y_pd", "x_mm", "y_mm", "least_centre_mm", "least_edge_mm",
)  # fmt: skip
_EXACT_MM = 1e-10
_ROUNDS = 60


def centre_for(
    points: npt.ArrayLike,
    *,
    sphere_d: float,
    cylinder_d: float,
    axis_deg: float | None,
    index: float,
    front_power_d: float,
    prism_x_pd: float,
    prism_y_pd: float,
    x_mm: float,
    y_mm: float,
    least_centre_mm: float,
    least_edge_mm: float,
) -> float:
    """The least thickness at the pole with which the centre and every point of the edge are thick enough.

    Three rules hold of the answer: the pole is at least `least_centre_mm`; every point of the outline is at least
    `least_edge_mm`; and where a ground prism leaves the lens thinnest at a place inside its outline, away from its
    edge, that place is at least `least_centre_mm` too. So no place is thinner than the lesser of the two, save where
    the thinnest place of a hollow lens lies between two points of its edge: a dip of 0.02 mm with -10 D at index 1.5
    and points 2.5 mm apart.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y about the boxed centre; of a stock plus lens those of its blank, see `round_blank`. [mm]
    sphere_d : float
        Back vertex power in the meridian of the axis. [D]
    cylinder_d : float
        What is added to it across the axis, of either sign. [D]
    axis_deg : float or None
        Axis; None only where the cylinder is 0. [deg]
    index : float
        Refractive index, above 1. [1]
    front_power_d : float
        Power of the spherical front. [D]
    prism_x_pd : float
        Ground prism, base towards the observer's right positive. [pd]
    prism_y_pd : float
        Ground prism, base up positive. [pd]
    x_mm : float
        Pole from the boxed centre, to the observer's right. [mm]
    y_mm : float
        Pole from the boxed centre, upwards. [mm]
    least_centre_mm : float
        Least thickness of the centre, 0 or more. [mm]
    least_edge_mm : float
        Least thickness of the edge, 0 or more. [mm]

    Returns
    -------
    float
        Least thickness at the pole, to 1e-9 mm. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range, a cylinder other than 0 has no axis, or a surface does not reach
        the outline, or the front would focus within so thick a lens.

    Source
    ------
    optiboard, loop for plus lenses in D. Meister's explanation; derived, the place off the pole.
    """
    outline = checked_points(points)
    library, sphere, cylinder, axis = checked_lens(LENS, sphere_d, cylinder_d, axis_deg)
    if library is not SCALAR:
        single_numbers(LENS, sphere_d, cylinder_d, 0.0 if axis_deg is None else axis_deg)
    glass, front, prism_x, prism_y, x, y, least_centre, least_edge = single_numbers(
        _MORE, index, front_power_d, prism_x_pd, prism_y_pd, x_mm, y_mm, least_centre_mm, least_edge_mm
    )
    demand(glass > 1.0, argument="index", rule=ABOVE_1, value=glass)
    demand(least_centre >= 0.0, argument="least_centre_mm", rule=NOT_NEGATIVE, value=least_centre)
    demand(least_edge >= 0.0, argument="least_edge_mm", rule=NOT_NEGATIVE, value=least_edge)
    sine, cosine = SCALAR.sine_and_cosine(axis)

    def axes_at(centre: float) -> Axes:
        arriving = front_at_back(front, glass, centre)
        along, across = sphere - arriving, sphere + cylinder - arriving
        return axes_from(SCALAR, glass, front, along, across, sine, cosine, centre, prism_x, prism_y)

    axes = axes_at(least_centre)
    # Short way for most minus lenses: nothing is thinner than the pole, and both surfaces are sure to reach the edge.
    if (
        least_edge <= least_centre
        and thicker_outwards(axes)
        and share_of_reach(axes, turned(outline, axes, x, y)) < 1.0
    ):
        return float(least_centre)
    axes = _with_edge(outline, axes_at, axes, x, y, least_edge)
    if prism_x or prism_y:
        axes = _without_thin_hollow(outline, axes_at, axes, x, y, least_centre)
    return float(axes.centre)


def round_blank(*, diameter_mm: float, x_mm: float, y_mm: float, count: int = 72) -> Array:
    """The edge of a round blank as points: of a stock plus lens this edge rules the centre, see `centre_for`.

    The points lie on the circle, a fixed angle apart. So the least edge thickness found from 72 of them is too great
    by less than 0.01 mm with a cylinder of 4 D at 70 mm (nothing for a sphere or an axis in fives of degrees), and
    the polygon's area, and so a volume, is too small by 0.13 %; both errors fall with the square of the count.

    Parameters
    ----------
    diameter_mm : float
        Diameter, above 0. [mm]
    x_mm : float
        Middle of the blank from the boxed centre, to the observer's right. [mm]
    y_mm : float
        Middle of the blank from the boxed centre, upwards. [mm]
    count : int
        Number of points, 24 or more. [1]

    Returns
    -------
    array of shape (count, 2)
        Points x, y about the boxed centre, counter-clockwise, starting at +x. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, points of a circle.
    """
    diameter, x, y = single_numbers(("diameter_mm", "x_mm", "y_mm"), diameter_mm, x_mm, y_mm)
    demand(diameter > 0.0, argument="diameter_mm", rule=A_DIAMETER, value=diameter)
    if isinstance(count, bool) or not isinstance(count, int) or count < LEAST_COUNT:
        raise DomainError("count", f"A whole number of {LEAST_COUNT} points or more is expected.", count)
    points: Array = _circle(count) * (diameter / 2.0) + (x, y)
    return points


def edges_on_blank(edges_mm: Array, *, x_mm: Array, y_mm: Array, diameter_mm: float) -> Array:
    """Edges of outlines without those that lie beyond the round blank: no lens is there whose edge could be thin.

    Parameters
    ----------
    edges_mm : array of shape (..., n)
        Thickness at the points of one outline or of many. [mm]
    x_mm : array of the same shape
        The points from the middle of the blank, to the observer's right. [mm]
    y_mm : array of the same shape
        The points from the middle of the blank, upwards. [mm]
    diameter_mm : float
        Diameter of the blank, above 0. [mm]

    Returns
    -------
    array of shape (..., n)
        The edges, infinite beyond the blank; of an outline that lies beyond it altogether all as they are. The very array
        that was given where nothing lies beyond. [mm]

    Raises
    ------
    DomainError
        If the diameter is not finite or not above 0.

    Source
    ------
    derived, points of a disc.
    """
    (diameter,) = single_numbers(("diameter_mm",), diameter_mm)
    demand(diameter > 0.0, argument="diameter_mm", rule=A_DIAMETER, value=diameter)
    beyond = x_mm * x_mm + y_mm * y_mm > (diameter / 2.0) ** 2
    counted = beyond & ~beyond.all(axis=-1, keepdims=True)
    return np.where(counted, np.inf, edges_mm) if counted.any() else edges_mm


@lru_cache(maxsize=8)
def _circle(count: int) -> Array:
    """Points of a circle of radius 1; what is kept cannot be changed."""
    sine, cosine = ARRAY.sine_and_cosine(np.arange(count) * (360.0 / count))
    points = np.column_stack((cosine, sine))
    points.setflags(write=False)
    return points


def _with_edge(
    outline: Array, axes_at: Callable[[float], Axes], axes: Axes, x: float, y: float, least_edge: float
) -> Axes:
    """Thickened until every point of the edge suffices: the worst point is served, then looked for again.

    Each point has its own least centre and the answer is the greatest of these; no step goes beyond it.
    """
    for _ in range(_ROUNDS):
        edge = profile(outline, axes, x, y)
        worst = int(edge.argmin())
        if edge[worst] >= least_edge - _EXACT_MM:
            return axes
        place = outline[worst].tolist()
        axes = _thickened(axes_at, axes, (place[0] - x, place[1] - y), float(edge[worst]), least_edge, place)
    raise DomainError("points", NO_CENTRE, outline)


def _without_thin_hollow(
    outline: Array, axes_at: Callable[[float], Axes], axes: Axes, x: float, y: float, least: float
) -> Axes:
    """Thickened until the thinnest place inside, if the lens has one away from its edge, suffices.

    Where the thickness is level, moving the place changes nothing at first: so the steps close in fast.
    """
    for _ in range(_ROUNDS):
        found = hollow(turned(outline, axes, x, y), axes)
        if found is None or found[0] >= least - _EXACT_MM:
            return axes
        from_pole = unturned(axes, found[1], found[2])
        axes = _thickened(axes_at, axes, from_pole, found[0], least, (x + from_pole[0], y + from_pole[1]))
    raise DomainError("points", NO_CENTRE, outline)


def _thickened(
    axes_at: Callable[[float], Axes],
    axes: Axes,
    from_pole: tuple[float, float],
    now: float,
    wanted: float,
    place: Sequence[float],
) -> Axes:
    """The lens with the wanted thickness at one place, by secants from the thickness it has now."""
    x, y = from_pole
    before, was, centre = axes.centre, now, axes.centre + (wanted - now)
    for _ in range(_ROUNDS):
        axes = axes_at(centre)
        try:
            now = thickness(SCALAR, axes, x * axes.q_x + y * axes.q_y, y * axes.q_x - x * axes.q_y)
        except ReachError as found:
            raise refused("points", found, *place) from None
        if abs(now - wanted) <= _EXACT_MM / 10.0:
            return axes
        slope = (now - was) / (centre - before)
        before, was, centre = centre, now, centre + (wanted - now) / slope
    raise DomainError("points", NO_CENTRE, tuple(place))
