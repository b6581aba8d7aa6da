"""From facts to the answer on prescribed prism. Figures are rounded for display."""

from service.contract.placement import Shift
from service.contract.prescribed import EyePrescribedPrism, PrescribedPrismAnswer, PrismParts, SharedPrism
from service.facts_prescribed import EyePrescribedPrism as PrescribedEye
from service.facts_prescribed import Parts, PrescribedPrismFacts
from service.rounding import for_display


def prescribed_prism(facts: PrescribedPrismFacts | None) -> PrescribedPrismAnswer | None:
    """How the prescribed prism of the pair could be made."""
    if facts is None:
        return None
    eyes = {eye.eye: _eye(eye) for eye in facts.eyes}
    return PrescribedPrismAnswer(
        right=eyes.get("right"),
        left=eyes.get("left"),
        shared=SharedPrism(_parts(facts.shared_right), _parts(facts.shared_left)),
    )


def _eye(eye: PrescribedEye) -> EyePrescribedPrism:
    return EyePrescribedPrism(
        prism=_parts(eye.prism),
        decentration_mm=_way(eye.way_mm),
        reason=eye.reason,
        allowed_mm=_way(eye.allowed_mm),
        to_grind=None if eye.to_grind is None else _parts(eye.to_grind),
    )


def _parts(parts: Parts) -> PrismParts:
    return PrismParts(for_display(parts.base_in_pd), for_display(parts.base_up_pd))


def _way(way_mm: tuple[float, float] | None) -> Shift | None:
    return None if way_mm is None else Shift(for_display(way_mm[0]), for_display(way_mm[1]))
