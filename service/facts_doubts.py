"""What makes the readings of a finished pair doubtful although each may be within its limits."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from optics_core.prism import Prism, amount_and_base
from optics_core.residual import residual_power
from optics_core.tolerance import LensType
from service.facts import OrderFacts
from service.facts_inspect_lens import NO_PRISM, LensInspection
from service.facts_inspect_pair import PairInspection, pair_inspection, pair_judged
from service.facts_judged import Judged
from service.facts_prescription import EyePower, PrescriptionFacts
from service.rounding import settled
from service.values import EyeName

_OF_CENTRES = ("horizontal_imbalance", "vertical_imbalance")


@dataclass(frozen=True, slots=True)
class FarVerification:
    """How far a verification power, or the prism stated with it, lies from the order."""

    eye: EyeName
    what: Literal["power", "prism"]
    differs: float


@dataclass(frozen=True, slots=True)
class FarCentre:
    """An optical centre far from the middle of the lens's height, where no fitting height was ordered."""

    eye: EyeName
    off_mm: float


def far_verification(stated: PrescriptionFacts, order: OrderFacts) -> Iterator[FarVerification]:
    """Both lenses whose verification power is not that of the order, with the length of the difference."""
    for own, ordered in zip(stated.eyes, order.cut.eyes, strict=True):
        if own.optics is None or ordered.optics is None or own is ordered:
            continue
        length = residual_power(ordered=ordered.optics.minus, measured=own.optics.minus).length_d
        yield FarVerification(own.eye, "power", settled(length))
        yield FarVerification(own.eye, "prism", _prism_apart(own, ordered))


def _prism_apart(one: EyePower, other: EyePower) -> float:
    first, second = one.prism or NO_PRISM, other.prism or NO_PRISM
    apart = Prism(first.x_pd - second.x_pd, first.y_pd - second.y_pd)
    return settled(amount_and_base(x_pd=apart.x_pd, y_pd=apart.y_pd)[0])


def contradicted(
    pair: PairInspection, order: OrderFacts, judged: tuple[Judged, ...], standard: str, kind: LensType
) -> Iterator[Judged]:
    """Where the prism that was read is within its limits, and the optical centres that were measured say that it is not.

    What is yielded is the judgement by the centres.
    """
    if pair.right.measured.prism is None and pair.left.measured.prism is None:
        return
    kept = {one.quantity for one in judged if one.quantity in _OF_CENTRES and one.within}
    right, left = (_without_prism(lens) for lens in (pair.right, pair.left))
    for one in pair_judged(pair_inspection(right, left, order, pair.centre_distance), standard, kind):
        if one.quantity in kept and one.within is False:
            yield one


def _without_prism(lens: LensInspection) -> LensInspection:
    return replace(lens, measured=replace(lens.measured, prism=None))


def far_centres(pair: PairInspection) -> Iterator[FarCentre]:
    """Optical centres whose height nothing in the order speaks of, with their distance from the middle of the height."""
    for lens in (pair.right, pair.left):
        if lens.place is not None and lens.place.height_mm is None and lens.height is not None:
            yield FarCentre(lens.eye, settled(abs(lens.height.mean - lens.place.b_mm / 2)))
