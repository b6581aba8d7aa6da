"""How prescribed prism could be made: by decentration as far as the blank allows, the rest ground. Shown, never done."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from optics_core.errors import DomainError
from optics_core.prism import Prism, decentration_for_prism, inward, prism_from_decentration, shared_between_eyes
from service.facts_place import EyePlace, blank_needs
from service.facts_prescription import EyePower, PrescriptionFacts
from service.rounding import settled
from service.values import NEEDS_ADD, EyeName, OrderValues

NoDecentration = Literal["no-power", "power-not-read", "reading-part"]

# A way longer than this is none: the meridian has hardly any power.
_FARTHEST_MM = 1000.0
# Halvings of the way: what is left is far below anything that can be measured.
_HALVINGS = 30
_NO_PRISM = Prism(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Parts:
    """Prism of one eye: base in and base up are positive."""

    base_in_pd: float
    base_up_pd: float


@dataclass(frozen=True, slots=True)
class EyePrescribedPrism:
    """Prescribed prism of one eye. Ways are of the optical centre from the pupil, in and up."""

    eye: EyeName
    prism: Parts
    way_mm: tuple[float, float] | None
    reason: NoDecentration | None
    allowed_mm: tuple[float, float] | None
    to_grind: Parts | None


@dataclass(frozen=True, slots=True)
class PrescribedPrismFacts:
    """Prescribed prism of the pair, and the same effect split evenly."""

    eyes: tuple[EyePrescribedPrism, ...]
    shared_right: Parts
    shared_left: Parts

    @property
    def by_decentration(self) -> bool:
        """Whether the blanks allow decentration enough for all of it, so that nothing is left to grind."""
        return all(eye.to_grind is not None and eye.to_grind == Parts(0.0, 0.0) for eye in self.eyes)


def prescribed_prism_facts(
    rx: PrescriptionFacts, values: OrderValues, places: Sequence[EyePlace]
) -> PrescribedPrismFacts | None:
    """How the prescribed prism could be made; None where none is prescribed."""
    if not rx.prescribed_prism:
        return None
    by_eye = {place.eye: place for place in places}
    right, left = shared_between_eyes(right=rx.right.prism or _NO_PRISM, left=rx.left.prism or _NO_PRISM)
    return PrescribedPrismFacts(
        eyes=tuple(_eye(eye, eye.prism, values, by_eye.get(eye.eye)) for eye in rx.eyes if eye.prism is not None),
        shared_right=_parts("right", right),
        shared_left=_parts("left", left),
    )


def _eye(power: EyePower, prism: Prism, values: OrderValues, place: EyePlace | None) -> EyePrescribedPrism:
    way, reason = _way(power, prism, values)
    allowed = None
    if place is not None and place.blank_mm is not None:
        allowed = (0.0, 0.0) if way is None else _allowed(place, way, values)
    return EyePrescribedPrism(
        eye=power.eye,
        prism=_parts(power.eye, prism),
        way_mm=None if way is None else _inward(power.eye, way),
        reason=reason,
        allowed_mm=None if allowed is None else _inward(power.eye, allowed),
        to_grind=None if allowed is None else _left(power, prism, allowed),
    )


def _way(
    power: EyePower, prism: Prism, values: OrderValues
) -> tuple[tuple[float, float] | None, NoDecentration | None]:
    if power.optics is None:
        return None, "power-not-read"
    if values.lens.use in NEEDS_ADD:
        return None, "reading-part"
    minus = power.optics.minus
    try:
        way = decentration_for_prism(
            sphere_d=minus.sphere_d,
            cylinder_d=minus.cylinder_d,
            axis_deg=minus.axis_deg,
            x_pd=prism.x_pd,
            y_pd=prism.y_pd,
        )
    except DomainError:
        return None, "no-power"
    return (way, None) if max(abs(part) for part in way) <= _FARTHEST_MM else (None, "no-power")


def _allowed(place: EyePlace, way: tuple[float, float], values: OrderValues) -> tuple[float, float]:
    """The longest part of the way at whose end the blank is still sure to do; the blank goes with its centre."""
    part = 1.0 if _does(place, way, 1.0, values) else 0.0
    # The blank that is needed is convex along the way: where it is least, it does if it does anywhere, and from there on
    # what does, does all the way.
    low = 0.0 if part or _does(place, way, 0.0, values) else _least_needed(place, way, values)
    if part == 0.0 and _does(place, way, low, values):
        part, step = low, (1.0 - low) / 2.0
        for _ in range(_HALVINGS):
            part = part + step if _does(place, way, part + step, values) else part
            step /= 2.0
    return part * way[0], part * way[1]


def _least_needed(place: EyePlace, way: tuple[float, float], values: OrderValues) -> float:
    """The part of the way at whose end the least blank is needed, by cutting a third off again and again."""
    low, high = 0.0, 1.0
    for _ in range(2 * _HALVINGS):
        one, other = low + (high - low) / 3.0, high - (high - low) / 3.0
        if _needed(place, way, one, values) <= _needed(place, way, other, values):
            high = other
        else:
            low = one
    return (low + high) / 2.0


def _does(place: EyePlace, way: tuple[float, float], part: float, values: OrderValues) -> bool:
    return place.blank_mm is not None and _needed(place, way, part, values) <= place.blank_mm


def _needed(place: EyePlace, way: tuple[float, float], part: float, values: OrderValues) -> float:
    return blank_needs(
        place.eye,
        values.frame,
        place.outline,
        place.blank_in_mm + inward(eye=place.eye, x=part * way[0]),
        place.blank_up_mm + part * way[1],
        place.allowance_mm,
    ).sure_mm


def _left(power: EyePower, prism: Prism, moved: tuple[float, float]) -> Parts:
    """What is prescribed less what the decentration makes."""
    made = _NO_PRISM
    if power.optics is not None:
        minus = power.optics.minus
        made = prism_from_decentration(
            sphere_d=minus.sphere_d,
            cylinder_d=minus.cylinder_d,
            axis_deg=minus.axis_deg,
            x_mm=moved[0],
            y_mm=moved[1],
        )
    return _parts(power.eye, Prism(prism.x_pd - made.x_pd, prism.y_pd - made.y_pd))


def _parts(eye: EyeName, prism: Prism) -> Parts:
    return Parts(settled(inward(eye=eye, x=prism.x_pd)), settled(prism.y_pd))


def _inward(eye: EyeName, way: tuple[float, float]) -> tuple[float, float]:
    return settled(inward(eye=eye, x=way[0])), settled(way[1])
