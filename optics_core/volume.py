# mypy: disable-error-code="no-any-return"
"""Volume and weight of a lens cut to an outline.

The volume is the thickness summed over the outline: a prism over the outline's area for the centre, less or more
what the two sags and the wedge take or add. The outline is taken apart into triangles, each with its tip at the pole
and one side of the outline opposite; a triangle that is run through clockwise counts negative, so outlines that bend
inwards and poles outside need no care. From the tip outwards a sag depends on the square of the distance only, so
it is summed at fixed points of that square (Gauss), and likewise along the side; the wedge has a closed form.

Signs: as in `optics_core.thickness`. The outline counts with straight sides between its points.
"""

from __future__ import annotations

import functools

import numpy as np
import numpy.typing as npt

from optics_core._body import (
    Axes,
    ReachError,
    axes_of,
    checked_points,
    farthest_squared,
    profile,
    refused,
    share_of_reach,
    single_lens,
    spherical,
    thicker_outwards,
    toric,
    turned,
)
from optics_core._numeric import ARRAY, SCALAR, Array, Number, demand, numbers, single_numbers
from optics_core.thickness import LensBody

CROSSED = "The centre must be thick enough for the outline: the surfaces may not cross before the edge."
NOT_NEGATIVE = "A volume of 0 mm3 or more is expected."
A_DENSITY = "A density above 0 g/cm3 is expected."

# Points from the tip to the side, by (c h)^2 of the most curved surface at the farthest point: up to where they do.
_TIP_TO_SIDE = ((0.5, 4), (0.8, 6), (0.95, 10), (float("inf"), 24))
# Points along each side, by the square of the longest side in mm2.
_ALONG_SIDE = ((25.0, 2), (225.0, 4), (float("inf"), 8))


def lens_volume(points: npt.ArrayLike, body: LensBody, *, x_mm: float, y_mm: float) -> float:
    """Volume of the lens within an outline.

    The error is below 1e-6 of the volume for the polygon given, while (c h)^2 <= 0.95 for the most curved surface and
    the farthest point (c curvature, h distance from the pole), and below 1e-4 up to half a ball. A smooth shape drawn
    with 72 points loses about 0.1 % to the straight sides between them. Points may run either way round.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline about the boxed centre. [mm]
    body : LensBody
        One lens, at no point of the outline thinner than 0.
    x_mm : float
        Its pole from the boxed centre, to the observer's right. [mm]
    y_mm : float
        Its pole from the boxed centre, upwards. [mm]

    Returns
    -------
    float
        Volume. [mm3]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite, a surface does not reach the outline, or the
        surfaces cross before they reach it.

    Source
    ------
    derived, the thickness summed over the outline.
    """
    x, y = single_numbers(("x_mm", "y_mm"), x_mm, y_mm)
    outline, axes = checked_points(points), axes_of(SCALAR, single_lens(body))
    corners = turned(outline, axes, x, y)
    reach = share_of_reach(axes, corners)
    if reach >= 1.0 or not thicker_outwards(axes):
        edge = profile(outline, axes, x, y)
        demand(edge >= 0.0, argument="points", rule=CROSSED, value=edge)
    sides = np.concatenate((corners[:, 1:], corners[:, :1]), axis=1) - corners
    turns = corners[0] * sides[1] - corners[1] * sides[0]  # twice the signed area of each triangle
    try:
        sags = _sags(axes, corners, sides, turns, reach)
    except ReachError as found:
        raise refused("points", found, outline[:, 0], outline[:, 1]) from None
    volume = axes.centre * float(turns.sum()) / 2.0 + sags
    if axes.wedge_q or axes.wedge_p:
        moment = (2.0 * corners + sides) @ turns / 6.0  # area times the mean of each triangle's corners, one being 0
        volume += axes.wedge_q * float(moment[0]) + axes.wedge_p * float(moment[1])
    return abs(volume)


def lens_weight(*, volume_mm3: Number, density_g_cm3: Number) -> Number:
    """Weight of a volume, of so many grams to 1000 mm3.

    Parameters
    ----------
    volume_mm3 : float or array
        Volume, 0 or more. [mm3]
    density_g_cm3 : float or array
        Density of the material, above 0. [g/cm3]

    Returns
    -------
    float or array
        Weight. [g]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, volume times density.
    """
    _, volume, density = numbers(("volume_mm3", "density_g_cm3"), volume_mm3, density_g_cm3)
    demand(volume >= 0.0, argument="volume_mm3", rule=NOT_NEGATIVE, value=volume)
    demand(density > 0.0, argument="density_g_cm3", rule=A_DENSITY, value=density)
    return volume * density / 1000.0


def _sags(axes: Axes, corners: Array, sides: Array, turns: Array, reach: float) -> float:
    """Back sag less front sag, summed over the triangles.

    A place is s (corner + v side) with s from 0 at the tip and v from 0 at the corner; the area element is
    turns x s ds dv, and s ds is half of d(s^2).
    """
    along, weight_along = _gauss(_enough(_ALONG_SIDE, farthest_squared(sides)))
    outwards, weight_outwards = _gauss(_enough(_TIP_TO_SIDE, reach))
    q = corners[0] + along[:, None] * sides[0]
    p = corners[1] + along[:, None] * sides[1]
    spread = outwards[:, None, None]
    q_squared, p_squared = spread * (q * q), spread * (p * p)
    back = toric(ARRAY, axes.steep, axes.flat, q_squared, p_squared)
    front = spherical(ARRAY, axes.front, q_squared + p_squared)
    return float(weight_outwards @ ((back - front) @ turns) @ weight_along) / 2.0


def _enough(steps: tuple[tuple[float, int], ...], measure: float) -> int:
    return next(count for most, count in steps if measure <= most)


@functools.cache
def _gauss(count: int) -> tuple[Array, Array]:
    """Points and weights on 0 to 1 that sum every polynomial of degree 2 count - 1 exactly."""
    points, weights = np.polynomial.legendre.leggauss(count)
    return (points + 1.0) / 2.0, weights / 2.0
