# mypy: disable-error-code="no-any-return"
"""Modelled outlines, many at once: rounded rectangles with given A, B and ED, of 40 points each.

The same shape as `outline.rounded_rectangle`, with few points at places that matter for thickness: both ends of each
rounded corner, its point farthest from the boxed centre, four between, and three within each side. So A, B and ED
come out exactly, and a frame costs a handful of multiplications.

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
