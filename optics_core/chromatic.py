# mypy: disable-error-code="no-any-return"
"""Transverse chromatic aberration: the coloured fringes that a lens makes away from its optical centre.

Away from its optical centre a lens acts like a prism, and a prism bends blue light more than red. The Abbe number says by
how little: the prism for the blue and for the red end of the spectrum (F and C lines) differ by the prism itself over
the Abbe number. So it is the prism that fringes, and a material of low Abbe number that lets it.

Signs: the aberration has the sign of the prism it comes of, and is in prism dioptres (pd) as the prism is. Distances in
mm, from the optical centre, without sign. Thin lenses and small angles.
"""

from __future__ import annotations

from optics_core._numeric import Number, demand, numbers

_SPREAD_NAMES = ("prism_pd", "abbe")
_PRISM_NAMES = ("sphere_d", "cylinder_d", "distance_mm")


def transverse_chromatic_aberration(*, prism_pd: Number, abbe: Number) -> Number:
    """How far apart prism lays the ends of the spectrum: prism over Abbe number.

    Parameters
    ----------
    prism_pd : float or array
        Prism at the point looked through, of either sign. [pd]
    abbe : float or array
        Abbe number of the material, above 0. [1]

    Returns
    -------
    float or array
        Angle between the ends of the spectrum. [pd]

    Raises
    ------
    DomainError
        If a number is not finite, or the Abbe number is not above 0.

    Source
    ------
    memory, prism / V; derived, a thin prism bends by (n - 1) times its angle, so blue and red differ by the prism / V.
    """
    _, prism, number = numbers(_SPREAD_NAMES, prism_pd, abbe)
    demand(number > 0.0, argument="abbe", rule="An Abbe number is above 0.", value=number)
    return prism / number


def strongest_prism(*, sphere_d: Number, cylinder_d: Number, distance_mm: Number) -> Number:
    """The most prism that a lens has at a distance from its optical centre, whatever the direction.

    By Prentice's rule with a cylinder, p = F d / 10, which is longest along the meridian of the stronger principal power:
    the axis turns that meridian and does not change the amount.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    distance_mm : float or array
        Distance from the optical centre, 0 or more. [mm]

    Returns
    -------
    float or array
        Amount, without sign. [pd]

    Raises
    ------
    DomainError
        If a number is not finite, or the distance is below 0.

    Source
    ------
    derived, the norm of the power matrix is its larger principal power; long-1976, p = F d.
    """
    library, sphere, cylinder, distance = numbers(_PRISM_NAMES, sphere_d, cylinder_d, distance_mm)
    demand(distance >= 0.0, argument="distance_mm", rule="A distance is 0 or more.", value=distance)
    return library.maximum(abs(sphere), abs(sphere + cylinder)) * distance / 10.0
