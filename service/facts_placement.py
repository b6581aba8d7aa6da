"""Where the blanks could sit instead, if they do not cover the outlines with the optical centres at the pupils."""

from dataclasses import dataclass
from itertools import product
from typing import Any

from optics_core.pair_placement import (
    PairPlace,
    by_eye_least_blank,
    pair_least_blank,
    pair_least_share,
    pair_limits,
)
from optics_core.placement import EyeTask, Place
from optics_core.prism import Prism, inward
from optics_core.sphero_cylinder import SpheroCylinder
from optics_core.tolerance import PrismLimits
from service.facts_place import EyePlace
from service.facts_prescription import PrescriptionFacts
from service.rounding import settled
from service.values import EyeName


@dataclass(frozen=True, slots=True)
class EyePlacement:
    """One optical centre away from its pupil: how far, what blank that needs, what prism it makes that is not ordered.

    `turned` tells whether the blank is turned by half a turn as well.
    """

    turned: bool
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

    def of(self, eye: EyeName) -> EyePlacement:
        """That of one eye."""
        return self.right if eye == "right" else self.left


@dataclass(frozen=True, slots=True)
class PlacementFacts:
    """Placements of both blanks within the tolerance standard.

    `least_blank` needs the smallest blanks, both eyes solved together; `by_eye` the same with a part of each limit for
    each eye by itself; `this_blank` uses the least part of the limits with the blanks at hand, None where they do not
    do within the limits.
    """

    least_blank: PairPlacement | None
    by_eye: PairPlacement | None
    this_blank: PairPlacement | None


def placement_facts(
    rx: PrescriptionFacts, places: tuple[EyePlace, ...], standard: PrismLimits, one_eye_share: float
) -> PlacementFacts | None:
    """Where the blanks could sit; None where they need not move, or too little is known."""
    if len(places) != 2 or (all(place.centre_in_reach for place in places) and not rx.prescribed_prism):
        return None
    right_place, left_place = places
    right_mm, left_mm = right_place.blank_mm, left_place.blank_mm
    if right_place.outline is None or left_place.outline is None or right_mm is None or left_mm is None:
        return None
    if rx.right.optics is None or rx.left.optics is None:
        return None
    limits = pair_limits(standard)
    right_points, left_points = right_place.outline.points, left_place.outline.points
    right_power, left_power = rx.right.optics.minus, rx.left.optics.minus
    ways = [
        _PlacedPair(
            _task(right_points, right_power, rx.right.prism, right_place, one),
            _task(left_points, left_power, rx.left.prism, left_place, other),
            one,
            other,
        )
        for one, other in product(_ways_up(right_place), _ways_up(left_place))
    ]
    # The allowances differ only if the bevels do, and one trace holds both.
    allowance = max(place.allowance_mm for place in places)
    least, by_eye, this = [], [], []
    for way in ways:
        right, left = way.right, way.left
        found = pair_least_blank(right, left, limits=limits, allowance_mm=allowance)
        least.append(_pair(found, way))
        found = by_eye_least_blank(right, left, limits=limits, share=one_eye_share, allowance_mm=allowance)
        by_eye.append(_pair(found, way))
        found = pair_least_share(
            right, left, limits=limits, allowance_mm=allowance, right_blank_mm=right_mm, left_blank_mm=left_mm
        )
        this.append(_pair(found, way))
    return PlacementFacts(
        least_blank=min(filter(None, least), key=lambda pair: pair.minimum_blank_mm, default=None),
        by_eye=min(filter(None, by_eye), key=lambda pair: pair.minimum_blank_mm, default=None),
        this_blank=min(filter(None, this), key=lambda pair: pair.share_of_limit, default=None),
    )


@dataclass(frozen=True, slots=True)
class _PlacedPair:
    """Both lenses to be placed, each blank one way up."""

    right: EyeTask
    left: EyeTask
    right_turned: bool
    left_turned: bool


def _ways_up(place: EyePlace) -> tuple[bool, ...]:
    """Whether the blank is turned: of ways that come to the same the first is taken, the one with more room."""
    turn = place.half_turn
    if turn is None or turn.refused is not None:
        return (False,)
    return (place.better_turned, not place.better_turned)


def _task(points: Any, power: SpheroCylinder, prism: Prism | None, place: EyePlace, turned: bool) -> EyeTask:
    offset_in, offset_up = place.offset_mm
    sign = -1.0 if turned else 1.0
    return EyeTask(
        points=points,
        pupil_x_mm=inward(eye=place.eye, x=place.in_mm),
        pupil_y_mm=place.up_taken_mm,
        # A power far below any that can be made is none: it would ask for a centre out of the world.
        sphere_d=settled(power.sphere_d),
        cylinder_d=settled(power.cylinder_d),
        axis_deg=power.axis_deg if settled(power.cylinder_d) else None,
        prism_x_pd=0.0 if prism is None else settled(prism.x_pd),
        prism_y_pd=0.0 if prism is None else settled(prism.y_pd),
        offset_x_mm=sign * inward(eye=place.eye, x=offset_in),
        offset_y_mm=sign * offset_up,
    )


def _pair(found: PairPlace | None, way: _PlacedPair) -> PairPlacement | None:
    if found is None:
        return None
    return PairPlacement(
        right=_eye("right", found.right, way.right, way.right_turned),
        left=_eye("left", found.left, way.left, way.left_turned),
        minimum_blank_mm=settled(found.blank_mm),
        share_of_limit=settled(found.share_of_limit),
    )


def _eye(eye: EyeName, place: Place, task: EyeTask, turned: bool) -> EyePlacement:
    return EyePlacement(
        turned=turned,
        in_mm=settled(inward(eye=eye, x=place.x_mm - task.pupil_x_mm)),
        up_mm=settled(place.y_mm - task.pupil_y_mm),
        minimum_blank_mm=settled(place.blank_mm),
        horizontal_in_pd=settled(inward(eye=eye, x=place.prism_x_pd)),
        vertical_pd=settled(place.prism_y_pd),
    )
