"""Where the blanks could sit instead, if they do not cover the outlines with the optical centres at the pupils."""

from dataclasses import dataclass

from optics_core.pair_placement import (
    PairLimits,
    PairPlace,
    by_eye_least_blank,
    pair_least_blank,
    pair_least_share,
)

from optics_core.placement import EyeTask, Place, exact_centre
from optics_core.prism import inward
from optics_core.tolerance import PrismLimits
from service.facts_place import EyePlace
from service.facts_prescription import EyePower, PrescriptionFacts
from service.rounding import settled
from service.values import EyeName


@dataclass(frozen=True, slots=True)
class EyePlacement:
    """One optical centre away from its pupil: how far, what blank that needs, what prism it makes that is not ordered."""

    in_mm: float
    up_mm: float
    minimum_blank_mm: float
    horizontal_in_pd: float
    vertical_pd: float


@dataclass(frozen=True, slots=True)
class PairPlacement:
    """Both eyes, and the greatest part of a limit of the tolerance standard that they use."""

    right: EyePlacement
    left: EyePlacement
    minimum_blank_mm: float
    share_of_limit: float


@dataclass(frozen=True, slots=True)
class PlacementFacts:
    """Placements of both blanks within the tolerance standard.

    `least_blank` needs the smallest blanks, both eyes solved together; `by_eye` the same with a part of each limit for
    each eye by itself; `this_blank` uses the least part of the limits with the blanks at hand, None where they do not
    do within the limits. `by_decentration` tells whether what is prescribed can be made by decentration at all.
    """

    least_blank: PairPlacement | None
    by_eye: PairPlacement | None
    this_blank: PairPlacement | None
    by_decentration: bool


def placement_facts(
    rx: PrescriptionFacts, places: tuple[EyePlace, ...], standard: PrismLimits, one_eye_share: float
) -> PlacementFacts | None:
    """Where the blanks could sit; None where they need not move, or too little is known."""
    if len(places) != 2 or any(place.outline is None or place.blank_mm is None for place in places):
        return None
    if all(place.centre_in_reach for place in places) and not rx.prescribed_prism:
        return None
    right_place, left_place = places
    right, left = _task(rx.right, right_place), _task(rx.left, left_place)
    if right is None or left is None or right_place.blank_mm is None or left_place.blank_mm is None:
        return None
    limits = PairLimits(
        horizontal_pd=standard.horizontal_pd,
        horizontal_mm=standard.horizontal_mm,
        vertical_pd=standard.vertical_pd,
        vertical_mm=standard.vertical_mm,
    )
    # The allowances differ only if the bevels do, and one trace holds both.
    allowance = max(place.allowance_mm for place in places)
    least = pair_least_blank(right, left, limits=limits, allowance_mm=allowance)
    by_eye = by_eye_least_blank(right, left, limits=limits, share=one_eye_share, allowance_mm=allowance)
    this = pair_least_share(
        right,
        left,
        limits=limits,
        allowance_mm=allowance,
        right_blank_mm=right_place.blank_mm,
        left_blank_mm=left_place.blank_mm,
    )
    return PlacementFacts(
        least_blank=_pair(least, right, left),
        by_eye=_pair(by_eye, right, left),
        this_blank=_pair(this, right, left),
        by_decentration=exact_centre(right) is not None and exact_centre(left) is not None,
    )


def _task(power: EyePower, place: EyePlace) -> EyeTask | None:
    if power.optics is None or place.outline is None:
        return None
    minus, prism = power.optics.minus, power.prism
    offset_in, offset_up = place.better_offset_mm
    return EyeTask(
        points=place.outline.points,
        pupil_x_mm=inward(eye=place.eye, x=place.in_mm),
        pupil_y_mm=place.up_taken_mm,
        sphere_d=minus.sphere_d,
        cylinder_d=minus.cylinder_d,
        axis_deg=minus.axis_deg,
        prism_x_pd=0.0 if prism is None else prism.x_pd,
        prism_y_pd=0.0 if prism is None else prism.y_pd,
        offset_x_mm=inward(eye=place.eye, x=offset_in),
        offset_y_mm=offset_up,
    )


def _pair(found: PairPlace | None, right: EyeTask, left: EyeTask) -> PairPlacement | None:
    if found is None:
        return None
    return PairPlacement(
        right=_eye("right", found.right, right),
        left=_eye("left", found.left, left),
        minimum_blank_mm=settled(found.blank_mm),
        share_of_limit=settled(found.share_of_limit),
    )


def _eye(eye: EyeName, place: Place, task: EyeTask) -> EyePlacement:
    return EyePlacement(
        in_mm=settled(inward(eye=eye, x=place.x_mm - task.pupil_x_mm)),
        up_mm=settled(place.y_mm - task.pupil_y_mm),
        minimum_blank_mm=settled(place.blank_mm),
        horizontal_in_pd=settled(inward(eye=eye, x=place.prism_x_pd)),
        vertical_pd=settled(place.prism_y_pd),
    )
