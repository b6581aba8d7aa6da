"""From facts to the answer on near work. Figures are rounded for display."""

from optics_core.segments import Place
from service.answers_worn import worn_power
from service.contract.near import (
    EyeNear,
    NearAnswer,
    NearBlank,
    NearImbalance,
    NearPd,
    ProgressiveAnswer,
    SegmentAnswer,
)
from service.contract.placement import Shift
from service.facts_near import EyeNear as NearEye
from service.facts_near import NearFacts
from service.facts_reading_part import ProgressiveEye, SegmentEye
from service.profile.loader import Limits
from service.rounding import for_display, shown_if_any


def near(facts: NearFacts | None, limits: Limits) -> NearAnswer | None:
    """Near work with this pair."""
    if facts is None:
        return None
    right, left = facts.eyes
    found = facts.imbalance
    return NearAnswer(
        working_distance_mm=facts.working_mm,
        near_pd_mm=shown_if_any(facts.pd_mm),
        by_geometry_mm=shown_if_any(facts.by_geometry_mm),
        share_of_add=limits.profile.near.intermediate_share,
        right=_eye(right),
        left=_eye(left),
        imbalance=None
        if found is None
        else NearImbalance(
            level_mm=found.level_mm,
            inset_mm=for_display(found.inset_mm),
            horizontal=for_display(found.base_in_pd),
            vertical=for_display(found.base_up_pd),
            segments_counted=found.segments_counted,
            slab_off=found.slab_off,
        ),
    )


def _eye(eye: NearEye) -> EyeNear:
    needs, total = eye.pair_needs, eye.total_inset_mm
    return EyeNear(
        pd=NearPd(shown_if_any(eye.pd_mm), eye.pd_from, shown_if_any(eye.by_geometry_mm)),
        inset_mm=shown_if_any(eye.inset_mm),
        total_inset_mm=shown_if_any(total),
        reading=None if eye.reading is None else worn_power(eye.reading),
        intermediate=None if eye.intermediate is None else worn_power(eye.intermediate),
        pair_decentration_mm=None if total is None else Shift(for_display(total), shown_if_any(eye.up_mm)),
        pair_minimum_blank_mm=None
        if needs is None
        else NearBlank(
            for_display(needs.bounds.at_least_mm), for_display(needs.bounds.expected_mm), for_display(needs.sure_mm)
        ),
        segment=None if eye.segment is None else _segment(eye.segment),
        progressive=None if eye.progressive is None else _progressive(eye.progressive),
    )


def _segment(segment: SegmentEye) -> SegmentAnswer:
    return SegmentAnswer(
        place_mm=_place(segment.place),
        depth_mm=for_display(segment.depth_mm),
        room_above_mm=for_display(segment.room_above_mm),
        image_jump=shown_if_any(segment.image_jump_pd),
        blank_middle_mm=None if segment.blank_middle is None else _place(segment.blank_middle),
    )


def _progressive(room: ProgressiveEye) -> ProgressiveAnswer:
    return ProgressiveAnswer(
        least_height_mm=for_display(room.least_height_mm),
        room_below_mm=shown_if_any(room.room_below_mm),
        room_above_mm=shown_if_any(room.room_above_mm),
        spare_mm=shown_if_any(room.spare_mm),
    )


def _place(place: Place) -> Shift:
    return Shift(for_display(place.in_mm), for_display(place.up_mm))
