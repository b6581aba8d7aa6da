"""What the modules on lenses as worn share: ranges, and tilt and wrap as one turn of a lens before the eye.

Pantoscopic tilt is positive when the lower rim is nearer the face, face form (wrap) when the temporal side is
nearer the head; `nasal` is +1 for the right lens and -1 for the left. Angles in degrees, lengths in mm. A power is
told here as a vector (M, J0, J45); the physics stands in `optics_core.as_worn`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

from optics_core._lens import SpheroCylinder, quarter_turned, within_half_turn
from optics_core._numeric import demand

ABOVE_1 = "A refractive index above 1 is expected."
AN_ANGLE = "An angle between -90 and 90 degrees, both ends left out, is expected."
FRONT_IN_REACH = "The front must not focus within the lens: (thickness / index) x front power is below 1."
NOT_NEGATIVE = "A length of 0 mm or more is expected."

# A cylinder this much smaller than the power is what rounding leaves of none.
_ROUNDING = 1e-14

Vector: TypeAlias = tuple[Any, Any, Any]


@dataclass(frozen=True, slots=True)
class Turn:
    """Tilt and wrap as one turn: its angle, and twice the angle of its axis on the lens and before the eye."""

    sine: Any
    cosine: Any
    on_lens: tuple[Any, Any]
    before_eye: tuple[Any, Any]


def demand_index(index: Any) -> None:
    """Without a step of the index nothing is refracted."""
    demand(index > 1.0, argument="index", rule=ABOVE_1, value=index)


def demand_angle(argument: str, angle: Any) -> None:
    """A lens seen edge on is no lens."""
    demand(abs(angle) < 90.0, argument=argument, rule=AN_ANGLE, value=angle)


def demand_thickness(argument: str, thickness: Any) -> None:
    """0 stands for a thin lens."""
    demand(thickness >= 0.0, argument=argument, rule=NOT_NEGATIVE, value=thickness)


def weakened_front(front: Any, thickness: Any, index: Any) -> Any:
    """1 - (t/n) F1: what is left of the front's focal distance, as a part, when the light reaches the back."""
    left = 1.0 - thickness / (1000.0 * index) * front
    demand(left > 0.0, argument="front_power_d", rule=FRONT_IN_REACH, value=front)
    return left


def checked_turn(library: Any, tilt: Any, wrap: Any, index: Any, nasal: float) -> Turn:
    """One turn from two, after the checks: the lens's normal before the eye, the line of sight on the lens."""
    demand_index(index)
    demand_angle("pantoscopic_deg", tilt)
    demand_angle("face_form_deg", wrap)
    sine_tilt, cosine_tilt = library.sine_and_cosine(tilt)
    sine_wrap, cosine_wrap = library.sine_and_cosine(wrap)
    sine_wrap = nasal * sine_wrap
    return Turn(
        sine=library.hypot(sine_wrap * cosine_tilt, sine_tilt),
        cosine=cosine_tilt * cosine_wrap,
        on_lens=_twice_the_axis(library, sine_wrap * cosine_tilt, sine_tilt),
        before_eye=_twice_the_axis(library, sine_wrap, sine_tilt * cosine_wrap),
    )


def _twice_the_axis(library: Any, x: Any, y: Any) -> tuple[Any, Any]:
    """Cosine and sine of twice the angle of a turn's axis, which is square to the direction (x, y) it leans in."""
    length = library.hypot(x, y)
    # Without a turn any axis will do, but an axis it must be.
    y = library.where(length > 0.0, y, 1.0)
    length = library.where(length > 0.0, length, 1.0)
    x, y = x / length, y / length
    return (y - x) * (y + x), -2.0 * x * y


def worn(vector: Vector, turn: Turn, factor: Any) -> Vector:
    """From the lens to its effect before the eye."""
    factors = (factor, factor / turn.cosine**2, factor / turn.cosine)
    return _multiplied(vector, factors, turn.on_lens, turn.before_eye)


def unworn(vector: Vector, turn: Turn, factor: Any) -> Vector:
    """From the effect before the eye to the lens."""
    factors = (1.0 / factor, turn.cosine**2 / factor, turn.cosine / factor)
    return _multiplied(vector, factors, turn.before_eye, turn.on_lens)


def _multiplied(vector: Vector, factors: Vector, told: tuple[Any, Any], wanted: tuple[Any, Any]) -> Vector:
    """A power vector multiplied along the turn's axis, across it and between; told from one axis, wanted to another."""
    mean, j0, j45 = vector
    straight, oblique = j0 * told[0] + j45 * told[1], j45 * told[0] - j0 * told[1]
    along, across = (mean + straight) * factors[0], (mean - straight) * factors[1]
    straight, oblique = (along - across) / 2.0, oblique * factors[2]
    return (
        (along + across) / 2.0,
        straight * wanted[0] - oblique * wanted[1],
        straight * wanted[1] + oblique * wanted[0],
    )


def written(library: Any, vector: Vector, given: Vector, turn: Turn) -> SpheroCylinder:
    """The power vector with the sign of the cylinder given; without a turn the lens given, to the last digit."""
    sphere, cylinder, axis = given
    mean, j0, j45 = vector
    half = library.hypot(j0, j45)
    half = library.where(half > _ROUNDING * (abs(mean) + abs(cylinder)), half, 0.0)
    minus_axis = within_half_turn(library, library.degrees(library.atan2(j45, j0)) / 2.0)
    plus = cylinder > 0.0
    sign = library.where(plus, 1.0, -1.0)
    unturned = turn.sine == 0.0
    new_cylinder = library.where(unturned, cylinder, sign * 2.0 * half) + 0.0
    new_axis = library.where(plus, quarter_turned(library, minus_axis), minus_axis)
    new_axis = library.where(unturned, within_half_turn(library, axis), new_axis)
    return SpheroCylinder(
        library.where(unturned, sphere, mean - sign * half) + 0.0,
        new_cylinder,
        library.only(new_cylinder != 0.0, new_axis),
    )
