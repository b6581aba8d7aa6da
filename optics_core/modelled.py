# mypy: disable-error-code="no-any-return"
"""Modelled outlines, many at once: rounded rectangles with given A, B and ED, of 40 points each, or 44 about a pole.

The same shape as `outline.rounded_rectangle`, with few points at places that matter for thickness: both ends of each
rounded corner, its point farthest from the boxed centre, four between, and three within each side. So A, B and ED
come out exactly, and a frame costs a handful of multiplications. A minus lens may be thinnest where a side comes nearest to
its pole: for that a fourth point on each side can be added, at the foot of the perpendicular from there.

Signs: seen from the front, x to the observer's right, y up, around the boxed centre, counter-clockwise; lengths in mm.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from optics_core._boxes import demand_ed, radius_within_box
from optics_core._numeric import SCALAR, Array, Numbers, numbers

# The farthest point of a corner stands in the direction of the corner's centre. The angles of the seven points of its arc
# are weighted from that direction and a quarter turn; then come the three places within half a side, as parts of it.
_OF_DIRECTION = np.array([0.0, 1.0 / 3.0, 2.0 / 3.0, 1.0, 2.0 / 3.0, 1.0 / 3.0, 0.0])
_OF_QUARTER_TURN = np.array([0.0, 0.0, 0.0, 0.0, 1.0 / 3.0, 2.0 / 3.0, 1.0]) * (np.pi / 2.0)
_WITHIN_SIDE = np.array([0.5, 0.0, -0.5])
# Round the outline: which of the ten places of the first quarter, and the sign of each coordinate. The seven of the arc
# are followed by the three within the side; those of the upper side have their y, those of the right side their x, on it.
_ARC, _SIDE = np.arange(7), np.arange(7, 10)
_X_PLACE = np.concatenate((_ARC, _SIDE, _ARC[::-1], np.full(3, 0), _ARC, _SIDE, _ARC[::-1], np.full(3, 0)))
_Y_PLACE = np.concatenate((_ARC, np.full(3, 6), _ARC[::-1], _SIDE, _ARC, np.full(3, 6), _ARC[::-1], _SIDE))
_X_SIGN = np.repeat([1.0, 1.0, -1.0, -1.0, -1.0, -1.0, 1.0, 1.0], [7, 3, 7, 3, 7, 3, 7, 3])
_Y_SIGN = np.repeat([1.0, 1.0, 1.0, 1.0, -1.0, -1.0, -1.0, -1.0], [7, 3, 7, 3, 7, 3, 7, 3])
# The same with a fourth point after the three of each side, and where the four of each side then stand.
_WITH_FOURTH = np.insert(np.arange(40), [10, 20, 30, 40], [9, 19, 29, 39])
_UPPER, _LEFT, _LOWER, _RIGHT = slice(7, 11), slice(18, 22), slice(29, 33), slice(40, 44)


def modelled_outlines(*, a_mm: Numbers, b_mm: Numbers, ed_mm: Numbers) -> tuple[Array, Array]:
    """Points of the rounded rectangles with exactly these A, B and ED.

    Parameters
    ----------
    a_mm : float or array
        Boxed width, above 0. [mm]
    b_mm : float or array
        Boxed height, above 0. [mm]
    ed_mm : float or array
        Effective diameter, from the larger boxed size to the diagonal. [mm]

    Returns
    -------
    tuple of two arrays of shape (..., 40)
        x and y of the points, counter-clockwise, the last axis along the outline. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, the rounded rectangle of `boxing.blank_bounds`.
    """
    library, a, b, ed = numbers(("a_mm", "b_mm", "ed_mm"), a_mm, b_mm, ed_mm)
    demand_ed(library, a, b, ed)
    return _of_one_frame(a, b, ed) if library is SCALAR else _outlines(library, a, b, ed)


def with_feet(x_mm: Array, y_mm: Array, *, pole_x_mm: Numbers, pole_y_mm: Numbers) -> tuple[Array, Array]:
    """The same outlines with one more point on each side, the one nearest to the pole of a lens.

    Parameters
    ----------
    x_mm : array of shape (..., 40)
        x of outlines as `modelled_outlines` gives them. [mm]
    y_mm : array of shape (..., 40)
        y of the same points. [mm]
    pole_x_mm : float, or array of shape (...)
        Pole of each lens from the boxed centre, to the observer's right. [mm]
    pole_y_mm : float, or array of shape (...)
        The same, upwards. [mm]

    Returns
    -------
    tuple of two arrays of shape (..., 44)
        x and y of the points, counter-clockwise; twice the same where a foot falls on a point, or a side has no length. [mm]

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    derived, the point of a straight line nearest to a place.
    """
    library, pole_x, pole_y = numbers(("pole_x_mm", "pole_y_mm"), pole_x_mm, pole_y_mm)
    x, y = x_mm[..., _WITH_FOURTH], y_mm[..., _WITH_FOURTH]
    # The first point within a side lies half way from its middle to its end.
    across = _four_places(library, 2.0 * x_mm[..., 7], pole_x)
    x[..., _UPPER], x[..., _LOWER] = across, across[..., ::-1]
    upright = _four_places(library, 2.0 * y_mm[..., 17], pole_y)
    y[..., _LEFT], y[..., _RIGHT] = upright, upright[..., ::-1]
    return x, y


def _four_places(library: Any, half: Any, pole: Any) -> Array:
    """From the end of a side with the greater coordinate on: both quarters, the middle, and the foot."""
    if library is SCALAR and half.ndim == 0:  # a single outline: many times faster so
        end = half.item()
        foot = library.maximum(-end, library.minimum(end, pole))
        return np.array(sorted((0.5 * end, 0.0, -0.5 * end, foot), reverse=True))
    foot = np.maximum(-half, np.minimum(half, pole))
    places = np.stack((0.5 * half, np.zeros_like(half), -0.5 * half, foot), axis=-1)
    places.sort(axis=-1)
    return places[..., ::-1]


@lru_cache(maxsize=1024)
def _of_one_frame(a: float, b: float, ed: float) -> tuple[Array, Array]:
    """Orders for the same frames come again and again; what is kept cannot be changed."""
    x, y = _outlines(SCALAR, a, b, ed)
    x.setflags(write=False)
    y.setflags(write=False)
    return x, y


def _outlines(library: Any, a: Any, b: Any, ed: Any) -> tuple[Array, Array]:
    radius = np.asarray(radius_within_box(library, a, b, ed))[..., None]
    p, q = np.asarray(a / 2.0)[..., None] - radius, np.asarray(b / 2.0)[..., None] - radius
    turn = np.arctan2(q, p) * _OF_DIRECTION + _OF_QUARTER_TURN
    arc_x, arc_y = p + radius * np.cos(turn), q + radius * np.sin(turn)
    x = np.concatenate((arc_x, p * _WITHIN_SIDE), axis=-1)
    y = np.concatenate((arc_y, q * _WITHIN_SIDE), axis=-1)
    return x[..., _X_PLACE] * _X_SIGN, y[..., _Y_PLACE] * _Y_SIGN
