"""Where the lens comes nearest to the edge of its blank, and in which direction that is.

The farther a point of the outline lies from the middle of the blank, the less room it has; the tightest place is the
farthest point. Its direction is told as the wearer's side and the height of a clock's hand about the boxed centre.

Signs: seen from the front, x to the observer's right, y up, around the boxed centre. Lengths in mm, angles
counter-clockwise from +x in degrees. Room is measured along the blank's radius, so it is half of what the diameter has.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from optics_core._numeric import single_numbers
from optics_core.outline import edge_margins


@dataclass(frozen=True, slots=True)
class TightestPlace:
    """The point of the outline with the least room, the room on the radius, and its direction from the boxed centre.

    Lengths [mm]; angle counter-clockwise from +x, 0 to 360, and how far that is above (negative: below) the horizontal
    centre line, -90 to 90 [deg].
    """

    x_mm: float
    y_mm: float
    margin_mm: float
    angle_deg: float
    above_deg: float


def tightest_place(
    points: npt.ArrayLike, *, x_mm: float, y_mm: float, blank_mm: float, allowance_mm: float
) -> TightestPlace:
    """The place of an outline that comes nearest to the usable edge of its blank, or lies farthest beyond it.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline around its boxed centre. [mm]
    x_mm : float
        Middle of the blank, to the observer's right. [mm]
    y_mm : float
        Middle of the blank, upwards. [mm]
    blank_mm : float
        Blank diameter, above 0. [mm]
    allowance_mm : float
        Taken off the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    TightestPlace
        Point, room on the radius (negative where it is lacking) and direction; the first of several alike. [mm, deg]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite, or one is out of range.

    Source
    ------
    derived, the point farthest from the middle of the blank.
    """
    margins = edge_margins(points, x_mm=x_mm, y_mm=y_mm, blank_mm=blank_mm, allowance_mm=allowance_mm)
    index = int(np.argmin(margins))
    x, y = (float(part) for part in np.asarray(points, dtype=np.float64)[index])
    return TightestPlace(
        x_mm=x,
        y_mm=y,
        margin_mm=float(margins[index]),
        angle_deg=direction_deg(x_mm=x, y_mm=y),
        above_deg=math.degrees(math.atan2(y, abs(x))),
    )


def direction_deg(*, x_mm: float, y_mm: float) -> float:
    """Direction of a point from the boxed centre, counter-clockwise from +x.

    Parameters
    ----------
    x_mm : float
        The point, to the observer's right. [mm]
    y_mm : float
        The point, upwards. [mm]

    Returns
    -------
    float
        Angle in [0, 360); 0 for the boxed centre itself. [deg]

    Raises
    ------
    DomainError
        If a number is not finite, or not a single number.

    Source
    ------
    iso-8429, angles as seen from the front.
    """
    x, y = single_numbers(("x_mm", "y_mm"), x_mm, y_mm)
    angle = math.degrees(math.atan2(y + 0.0, x + 0.0)) % 360.0
    return angle if angle < 360.0 else 0.0
