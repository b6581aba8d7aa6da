# mypy: disable-error-code="no-any-return"
"""Surfaces of a lens: how far they fall away from the plane that touches their vertex (sag).

A surface of power F on glass of index n is curved by F / (1000 (n - 1)) per millimetre. Curvature is used and not
the radius, so that a flat surface is an ordinary one, of curvature 0. A sphere of radius r falls by
r - sqrt(r^2 - h^2) at height h; a toric surface has a circle in each of two principal meridians, at right angles.

Which torus? Either circle may be swung about an axis through the centre of the other, and the two surfaces differ
between the meridians. Here the more curved circle is swung about an axis through the centre of the less curved
one: the outside of a tyre (for curvatures of opposite signs the waist of a pulley). Not taken: the less curved
circle swung about the centre of the more curved one (barrel), and a circle in every meridian with that meridian's
curvature, which is no torus. All three agree in both principal meridians. Halfway between them the tyre is the
shallowest. With a cylinder of 4 D and 35 mm from the vertex, by how much, in mm:

    back, D          index   than the barrel   than the circle in every meridian
    -4 and -8         1.50        0.12               0.02
    -6 and -10        1.50        0.29               0.07
    -8 and -12        1.67        0.18               0.05
    -8 and -12        1.50        0.67               0.19
    -10 and -14       1.50        2.04               0.70   (there the surface is nearly half a ball)

Signs: a sag is positive where the surface falls away from its vertex plane in the direction of the light, towards
the eye. Curvatures are positive for the usual meniscus on both surfaces: a bulging front of power F has
F / (1000 (n - 1)), a hollow back of power F2 (negative) has -F2 / (1000 (n - 1)). Then for every place
edge + front sag = centre + back sag. Axes as in `optics_core.sphero_cylinder`; x to the observer's right, y up.
"""

from __future__ import annotations

from optics_core._body import ABOVE_1, ReachError, curvature, refused, spherical, steep_first, toric
from optics_core._numeric import Number, demand, numbers

_TORIC = ("along_per_mm", "across_per_mm", "axis_deg", "x_mm", "y_mm")


def surface_curvature(*, power_d: Number, index: Number) -> Number:
    """Curvature of a surface from its power: F / (1000 (n - 1)); 0 where it is flat.

    Parameters
    ----------
    power_d : float or array
        Power of the surface, converging positive. [D]
    index : float or array
        Refractive index of the material, above 1. [1]

    Returns
    -------
    float or array
        Curvature with the sign of the power: positive for a bulging front; for a back take the opposite. [1/mm]

    Raises
    ------
    DomainError
        If a number is not finite, or the index is not above 1.

    Source
    ------
    jalie-lens-talk, radius 523/F for index 1.523 in the worked example of May-June 2023 p. 112.
    """
    _, power, glass = numbers(("power_d", "index"), power_d, index)
    demand(glass > 1.0, argument="index", rule=ABOVE_1, value=glass)
    return curvature(power, glass)


def spherical_sag(*, curvature_per_mm: Number, height_mm: Number) -> Number:
    """Sag of a sphere, c h^2 / (1 + sqrt(1 - c^2 h^2)): r - sqrt(r^2 - h^2) without its loss of digits.

    Parameters
    ----------
    curvature_per_mm : float or array
        Curvature, the inverse of the radius in [mm]; positive for the usual meniscus, 0 is flat. [1/mm]
    height_mm : float or array
        Distance from the vertex, square to the lens's axis; its sign does not matter. [mm]

    Returns
    -------
    float or array
        Sag, with the sign of the curvature. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, or the sphere does not reach so far (its radius is shorter than the height).

    Source
    ------
    jalie-lens-talk, May-June 2023 p. 112, sag of a lens of 40 mm.
    """
    library, curve, height = numbers(("curvature_per_mm", "height_mm"), curvature_per_mm, height_mm)
    try:
        return spherical(library, curve, height * height)
    except ReachError as found:
        raise refused("height_mm", found, height) from None


def toric_sag(*, along_per_mm: Number, across_per_mm: Number, axis_deg: Number, x_mm: Number, y_mm: Number) -> Number:
    """Sag of a torus: the more curved circle swung about an axis through the centre of the less curved one (tyre).

    Exact everywhere, a circle in both principal meridians, and the sphere where the curvatures are equal. Between
    equal and opposite curvatures the positive circle is the one that is swung.

    Parameters
    ----------
    along_per_mm : float or array
        Curvature in the meridian of the axis, the inverse of the radius in [mm]; as for a sphere. [1/mm]
    across_per_mm : float or array
        Curvature in the meridian across the axis, likewise from [mm]. [1/mm]
    axis_deg : float or array
        Direction of the first meridian. [deg]
    x_mm : float or array
        Place from the vertex, to the observer's right. [mm]
    y_mm : float or array
        Place from the vertex, upwards. [mm]

    Returns
    -------
    float or array
        Sag. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, or the surface does not reach the place.

    Source
    ------
    derived, a circle swung about an axis; common-practice, the tyre is the form usually meant by a toric lens.
    """
    library, along, across, axis, x, y = numbers(_TORIC, along_per_mm, across_per_mm, axis_deg, x_mm, y_mm)
    sine, cosine = library.sine_and_cosine(axis)
    turned, steep, flat = steep_first(library, along, across)
    in_meridian, across_it = x * cosine + y * sine, y * cosine - x * sine
    q, p = library.where(turned, across_it, in_meridian), library.where(turned, in_meridian, across_it)
    try:
        return toric(library, steep, flat, q * q, p * p)
    except ReachError as found:
        raise refused("x_mm, y_mm", found, x, y) from None
