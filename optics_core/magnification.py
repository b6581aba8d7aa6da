# mypy: disable-error-code="no-any-return"
"""Spectacle magnification: how much larger a distant object appears through a lens than without it.

Two factors, and their product. The shape factor 1 / (1 - (t/n) F1) comes of the thickness and the front curve and is
there even in a lens without power; the power factor 1 / (1 - h Fv) comes of the lens standing h before the eye's
entrance pupil. A minus lens makes smaller, a plus lens larger. What can trouble the pair is the difference between
the eyes.

Signs: converging power is positive, distances in the direction of the light. Paraxial, one meridian at a time. The
distance runs to the entrance pupil, which lies some 3 mm behind the cornea; some teach 1.5 mm.
"""

from __future__ import annotations

from dataclasses import dataclass

from optics_core._numeric import Numbers, demand, numbers
from optics_core._tilt import demand_index, demand_thickness, weakened_front

FOCUS_BEHIND_THE_PUPIL = "The lens must not focus before the eye's pupil: distance (in metres) x power is below 1."

_NAMES = ("front_power_d", "thickness_mm", "index", "back_vertex_power_d", "entrance_pupil_mm")


@dataclass(frozen=True, slots=True)
class Magnification:
    """Factors by which things appear larger: of the shape, of the power, and of both together. [1]"""

    shape: float
    power: float
    total: float


def spectacle_magnification(
    *,
    front_power_d: Numbers,
    thickness_mm: Numbers,
    index: Numbers,
    back_vertex_power_d: Numbers,
    entrance_pupil_mm: Numbers,
) -> Magnification:
    """Shape factor 1 / (1 - (t/n) F1), power factor 1 / (1 - h Fv), and their product.

    Parameters
    ----------
    front_power_d : float or array
        Power of the front surface. [D]
    thickness_mm : float or array
        Centre thickness, 0 or more; 0 for a thin lens. [mm]
    index : float or array
        Refractive index, above 1. [1]
    back_vertex_power_d : float or array
        Back vertex power in the meridian asked about. [D]
    entrance_pupil_mm : float or array
        From the back vertex to the eye's entrance pupil, 0 or more. [mm]

    Returns
    -------
    Magnification
        The three factors; 1 is no change. [1]

    Raises
    ------
    DomainError
        If a number is not finite or out of range, or the light is focused within the lens or before the pupil.

    Source
    ------
    derived, ray transfer from the front to the pupil; memory, W. F. Long 1992 and the teaching texts, same form.
    """
    _, front, thickness, ratio, power, distance = numbers(
        _NAMES, front_power_d, thickness_mm, index, back_vertex_power_d, entrance_pupil_mm
    )
    demand_thickness("thickness_mm", thickness)
    demand_index(ratio)
    demand_thickness("entrance_pupil_mm", distance)
    shape = 1.0 / weakened_front(front, thickness, ratio)
    left = 1.0 - distance / 1000.0 * power
    demand(left > 0.0, argument="back_vertex_power_d", rule=FOCUS_BEHIND_THE_PUPIL, value=power)
    return Magnification(shape, 1.0 / left, shape / left)


def magnification_difference(*, right: Magnification, left: Magnification) -> float:
    """How much larger the right eye sees than the left, each in percent of the view without a lens.

    Parameters
    ----------
    right : Magnification
        Of the right lens. [1]
    left : Magnification
        Of the left lens. [1]

    Returns
    -------
    float or array
        Right less left. [%]

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    common-practice, the difference of the two percentages, not their ratio.
    """
    _, in_right, in_left = numbers(("right_total", "left_total"), right.total, left.total)
    return 100.0 * (in_right - in_left)
