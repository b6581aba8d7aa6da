"""From the contract to core values: tilt and wrap, near work and reading parts. Defaults used are listed as assumptions."""

from optics_core.near import near_pd
from service.contract.answer import Assumption
from service.contract.order import NearPupillaryDistance, Order, StructuredPrescription
from service.profile.loader import Limits
from service.rounding import settled
from service.values import LensValues, PdValues
from service.values_near import (
    NearPdValues,
    NearValues,
    PdFrom,
    ProgressiveValues,
    SegmentValues,
    WornValues,
    rotation_centre_mm,
)

SEGMENTED = frozenset({"bifocal", "trifocal"})

_NOTHING_GIVEN = NearPupillaryDistance()
# A PD below this is none: nothing is worked out from what leaves less.
_LEAST_PD_MM = 1.0


def worn_values(order: Order, assumptions: list[Assumption]) -> WornValues | None:
    """Tilt and wrap; None where neither was given."""
    worn = order.as_worn
    if worn.pantoscopic_deg is None and worn.face_form_deg is None:
        return None
    if worn.pantoscopic_deg is None:
        reason = "No pantoscopic tilt was given beside the face form: none was taken."
        assumptions.append(Assumption("/as_worn/pantoscopic_deg", 0.0, reason))
    if worn.face_form_deg is None:
        reason = "No face form was given beside the pantoscopic tilt: none was taken."
        assumptions.append(Assumption("/as_worn/face_form_deg", 0.0, reason))
    return WornValues(worn.pantoscopic_deg or 0.0, worn.face_form_deg or 0.0)


def near_values(
    order: Order,
    prescription: StructuredPrescription,
    lens: LensValues,
    pd: PdValues,
    limits: Limits,
    assumptions: list[Assumption],
) -> NearValues | None:
    """What near work needs; None for a pair for distance without an addition."""
    if lens.use == "distance" and not prescription.right.add and not prescription.left.add:
        return None
    working, usual = order.as_worn.working_distance_mm, limits.profile.near
    given = working is not None
    if working is None:
        working = usual.intermediate_mm if lens.use == "intermediate" else usual.working_mm
        reason = "No working distance was given: the profile's usual one was taken."
        assumptions.append(Assumption("/as_worn/working_distance_mm", working, reason))
    # A near PD that was measured is that of reading, not of an intermediate distance.
    measured = order.pd_mm.near if lens.use != "intermediate" else None
    centre = rotation_centre_mm(order.as_worn.vertex_distance_mm, limits)
    right, left = _near_pds(measured or _NOTHING_GIVEN, pd, working, centre)
    _assume_near_pds((right, left), assumptions, intermediate=lens.use == "intermediate")
    if order.pd_mm.near is not None and measured is None and right.pd_mm is not None and left.pd_mm is not None:
        reason = "The near PD given is that of reading; for the intermediate distance it was worked out from the distance PD."
        assumptions.append(Assumption("/pd_mm/near", settled(right.pd_mm + left.pd_mm), reason))
    return NearValues(
        working_mm=working,
        working_given=given,
        right=right,
        left=left,
        differs_mm=_differs(measured, right, left),
        segment=_segment(order) if lens.use in SEGMENTED else None,
        progressive=_progressive(order, limits, assumptions) if lens.use == "progressive" else None,
    )


def _near_pds(
    near: NearPupillaryDistance, pd: PdValues, working_mm: float, centre_mm: float
) -> tuple[NearPdValues, NearPdValues]:
    right, left = near.right, near.left
    come_from: list[PdFrom | None] = ["order", "order"]
    if near.both is not None and (right is None) != (left is None):
        half = left if right is None else right
        other = None if half is None or near.both - half < _LEAST_PD_MM else settled(near.both - half)
        right, left = (other, left) if right is None else (right, other)
    elif near.both is not None and right is None and pd.right_mm is not None and pd.left_mm is not None:
        share = pd.right_mm / (pd.right_mm + pd.left_mm)
        right, left = settled(near.both * share), settled(near.both * (1.0 - share))
        come_from = ["split", "split"]
    elif near.both is not None and right is None and pd.right_mm is None and pd.left_mm is None:
        right = left = near.both / 2
        come_from = ["split", "split"]
    found: list[float | None] = [right, left]
    for position, far in enumerate((pd.right_mm, pd.left_mm)):
        if found[position] is None and far is not None:
            found[position] = settled(near_pd(pd_mm=far, working_mm=working_mm, rotation_centre_mm=centre_mm))
            come_from[position] = "geometry"
        elif found[position] is None:
            come_from[position] = None
    return NearPdValues("right", found[0], come_from[0]), NearPdValues("left", found[1], come_from[1])


def _assume_near_pds(
    found: tuple[NearPdValues, NearPdValues], assumptions: list[Assumption], *, intermediate: bool
) -> None:
    for near in found:
        # For an intermediate distance there is no member that could have been left out.
        if near.pd_mm is None or near.taken_from == "order" or intermediate:
            continue
        reason = (
            "The near PD was given for both eyes together: it was split in the proportion of the distance PDs, or else evenly."
            if near.taken_from == "split"
            else "No near PD was given for this eye: it was worked out from the distance PD and the working distance."
        )
        assumptions.append(Assumption(f"/pd_mm/near/{near.eye}", near.pd_mm, reason))


def _differs(given: NearPupillaryDistance | None, right: NearPdValues, left: NearPdValues) -> float | None:
    """By how far the halves, as used, are away from the near PD for both."""
    if given is None or given.both is None or right.pd_mm is None or left.pd_mm is None:
        return None
    return settled(abs(right.pd_mm + left.pd_mm - given.both))


def _segment(order: Order) -> SegmentValues | None:
    given = order.lens.segment
    if given is None:
        return SegmentValues(None, None, None, None, None)
    return SegmentValues(
        height_right_mm=given.height_mm.right,
        height_left_mm=given.height_mm.left,
        blank_in_mm=given.blank_inset_mm,
        blank_drop_mm=given.blank_drop_mm,
        top_to_centre_mm=given.top_to_centre_mm,
    )


def _progressive(order: Order, limits: Limits, assumptions: list[Assumption]) -> ProgressiveValues:
    """The height that is wanted: the least that the design asks for, or corridor and near zone, or the profile's."""
    given, usual = order.lens.progressive, limits.profile.progressive
    least, corridor, zone = (
        (None, None, None) if given is None else (given.least_height_mm, given.corridor_mm, given.near_zone_mm)
    )
    by_parts = least is None and (corridor is not None or zone is not None)
    if corridor is None:
        # A design's least height holds its corridor and a near zone.
        corridor = usual.corridor_mm if least is None else min(usual.corridor_mm, max(least - usual.near_zone_mm, 1.0))
        reason = (
            "No corridor was given: the profile's usual one was taken, or what the design's least height leaves for it."
        )
        assumptions.append(Assumption("/lens/progressive/corridor_mm", corridor, reason))
    if by_parts:
        if zone is None:
            zone = usual.near_zone_mm
            reason = "No height of the near zone was given: the profile's usual one was taken."
            assumptions.append(Assumption("/lens/progressive/near_zone_mm", zone, reason))
        return ProgressiveValues(settled(corridor + zone), given=True, corridor_mm=corridor)
    if least is not None:
        return ProgressiveValues(least, given=True, corridor_mm=corridor)
    reason = "No least fitting height of the design was given: the profile's usual one was taken."
    assumptions.append(Assumption("/lens/progressive/least_height_mm", usual.least_height_mm, reason))
    return ProgressiveValues(usual.least_height_mm, given=False, corridor_mm=corridor)
