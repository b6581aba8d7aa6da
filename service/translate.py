"""From the contract to core values: defaults are filled in here, and each one used is listed as an assumption."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from optics_core.boxing import box_diagonal, usual_ed
from optics_core.outline import points_from_radii
from service.contract.answer import Assumption
from service.contract.order import Order, PrescribedEye, StructuredPrescription
from service.contract.trace import Outline
from service.profile.loader import Limits
from service.rounding import settled
from service.translate_blank import blank_values
from service.translate_near import near_values, worn_values
from service.values import (
    NEEDS_ADD,
    BodyValues,
    EyeName,
    EyeValues,
    FrameValues,
    LensValues,
    OrderValues,
    PdValues,
    PrescriptionValues,
    TracedOutline,
    TraceValues,
)


@dataclass(frozen=True, slots=True)
class Translated:
    """An order in core values, with the defaults that were used."""

    values: OrderValues
    assumptions: tuple[Assumption, ...]


def judged_on(as_of: date | None, today: date, assumptions: list[Assumption]) -> date:
    """The day on which ages and expiries are judged."""
    if as_of is not None:
        return as_of
    assumptions.append(Assumption("/as_of", today.isoformat(), "No day was given: today (UTC) was taken."))
    return today


def prescription_values(prescription: StructuredPrescription, as_of: date) -> PrescriptionValues:
    """The prescription's figures, unaltered."""
    return PrescriptionValues(
        right=_eye_values("right", prescription.right),
        left=_eye_values("left", prescription.left),
        vertex_refracted_mm=prescription.vertex_distance_mm,
        issued_on=prescription.issued_on,
        expires_on=prescription.expires_on,
        as_of=as_of,
    )


def order_values(order: Order, prescription: StructuredPrescription, limits: Limits, today: date) -> Translated:
    """Everything the facts are made from."""
    assumptions: list[Assumption] = []
    as_of = judged_on(order.as_of, today, assumptions)
    pd = _pd_values(order, limits, assumptions)
    frame = _frame_values(order, limits, assumptions)
    height = order.fitting_height_mm
    for eye, given in (("right", height.right), ("left", height.left)):
        if given is None:
            assumptions.append(
                Assumption(
                    f"/fitting_height_mm/{eye}",
                    frame.b_mm / 2,
                    "No fitting height was given: the horizontal centre line was taken, and nothing is said of heights.",
                )
            )
    lens = _lens_values(order, limits, assumptions)
    _assume_of_wearer(order, assumptions)
    values = OrderValues(
        prescription=prescription_values(prescription, as_of),
        pd=pd,
        pd_source=order.pd_source,
        frame=frame,
        trace=_trace_values(order),
        height_right_mm=height.right,
        height_left_mm=height.left,
        lens=lens,
        blank=blank_values(order, lens, limits, assumptions),
        body=_body_values(order, prescription, lens, limits, assumptions),
        vertex_worn_mm=order.as_worn.vertex_distance_mm,
        worn=worn_values(order, assumptions),
        near=near_values(order, prescription, lens, pd, limits, assumptions),
        age_years=order.wearer.age_years,
        useful_eyes=order.wearer.useful_eyes,
    )
    return Translated(values, tuple(assumptions))


def _assume_of_wearer(order: Order, assumptions: list[Assumption]) -> None:
    if order.wearer.age_years is None:
        reason = "No age was given: the PD was judged as an adult's, and nothing is said of young wearers."
        assumptions.append(Assumption("/wearer/age_years", "adult", reason))
    if "useful_eyes" not in order.wearer.model_fields_set:
        assumptions.append(
            Assumption("/wearer/useful_eyes", "both", "Nothing was said of the sight: both eyes were taken.")
        )


def _eye_values(eye: str, given: PrescribedEye) -> EyeValues:
    return EyeValues(
        eye="right" if eye == "right" else "left",
        sphere_d=given.sphere,
        cylinder_d=given.cylinder,
        axis_deg=given.axis,
        add_d=given.add,
        prism=tuple((part.amount, part.base) for part in given.prism),
    )


def _pd_values(order: Order, limits: Limits, assumptions: list[Assumption]) -> PdValues:
    pd = order.pd_mm
    right, left = pd.right, pd.left
    # Nothing is worked out from a half that is none, or that leaves nothing.
    half_most = min(limits.profile.pd.half_most_mm, (pd.both or 0.0) - 1.0)
    if pd.both is not None:
        if right is None and left is None:
            right = left = pd.both / 2
            reason = "The PD was given for both eyes together: it was split evenly."
            assumptions.append(Assumption("/pd_mm/right", right, reason))
            assumptions.append(Assumption("/pd_mm/left", left, reason))
        elif right is None and left is not None and left <= half_most:
            right = settled(pd.both - left)
            assumptions.append(Assumption("/pd_mm/right", right, "Taken as the PD for both less that of the left eye."))
        elif left is None and right is not None and right <= half_most:
            left = settled(pd.both - right)
            assumptions.append(Assumption("/pd_mm/left", left, "Taken as the PD for both less that of the right eye."))
    near = pd.near
    near_sum = None if near is None or near.right is None or near.left is None else settled(near.right + near.left)
    return PdValues(
        given_right_mm=pd.right,
        given_left_mm=pd.left,
        given_both_mm=pd.both,
        right_mm=right,
        left_mm=left,
        near_mm=near_sum if near is None or near.both is None else near.both,
    )


def _frame_values(order: Order, limits: Limits, assumptions: list[Assumption]) -> FrameValues:
    frame = order.frame
    diagonal = box_diagonal(a_mm=frame.a_mm, b_mm=frame.b_mm)
    largest_side = max(frame.a_mm, frame.b_mm)
    rounding = limits.profile.frame.rounding_mm
    ed = frame.ed_mm
    usual = settled(usual_ed(a_mm=frame.a_mm, b_mm=frame.b_mm))
    if ed is None:
        reason = "No ED was given: the usual one for these boxed sizes was taken. The decision rests on it."
        assumptions.append(Assumption("/frame/ed_mm", round(usual, 4), reason))
    elif largest_side - rounding <= ed <= diagonal + rounding:
        # A printed size is a rounded one: within that rounding the nearest ED that can exist is used.
        ed = min(max(ed, largest_side), diagonal)
    else:
        ed = None
    return FrameValues(
        a_mm=frame.a_mm,
        b_mm=frame.b_mm,
        dbl_mm=frame.dbl_mm,
        given_ed_mm=frame.ed_mm,
        ed_mm=ed,
        usual_ed_mm=usual,
        diagonal_mm=diagonal,
        largest_side_mm=largest_side,
    )


def _lens_values(order: Order, limits: Limits, assumptions: list[Assumption]) -> LensValues:
    lens = order.lens
    material = lens.material
    if material is None:
        material = limits.profile.shop.usual_material
        assumptions.append(
            Assumption("/lens/material", material, "No material was named: the profile's usual one was taken.")
        )
    use = lens.use
    if use is None:
        use = "distance"
        assumptions.append(Assumption("/lens/use", use, "No use was named: distance was taken."))
    if order.frame.rim == "full" and "rim" not in order.frame.model_fields_set:
        assumptions.append(Assumption("/frame/rim", "full", "No kind of rim was named: a full rim was taken."))
    return LensValues(
        material=material,
        use=use,
        use_named=lens.use is not None,
        tint=lens.tint,
        polarised=lens.polarised,
        segment_given=lens.segment is not None,
        progressive_given=lens.progressive is not None,
    )


def _body_values(
    order: Order,
    prescription: StructuredPrescription,
    of_lens: LensValues,
    limits: Limits,
    assumptions: list[Assumption],
) -> BodyValues:
    lens, frame, usual = order.lens, order.frame, limits.profile.thickness
    supply = lens.supply
    if supply is None:
        supply = usual.supply
        prisms = [part for eye in (prescription.right, prescription.left) for part in eye.prism if part.amount > 0]
        if supply == "stock" and (prisms or of_lens.use in NEEDS_ADD):
            supply = "surfaced"
            reason = (
                "A finished blank has neither prescribed prism nor a reading part in place: a surfaced lens was taken."
            )
            assumptions.append(Assumption("/lens/supply", supply, reason))
    bevel = frame.bevel_from_front_mm
    if bevel is None:
        bevel = usual.bevel_from_front_mm
        if frame.rim_depth_mm is not None:
            reason = "The place of the bevel was not given: the profile's usual one was taken."
            assumptions.append(Assumption("/frame/bevel_from_front_mm", bevel, reason))
    return BodyValues(
        front_power_d=lens.front_power_d,
        centre_mm=lens.centre_thickness_mm,
        supply=supply,
        supply_given=lens.supply is not None,
        rim=frame.rim,
        rim_depth_mm=frame.rim_depth_mm,
        bevel_from_front_mm=bevel,
    )


def _trace_values(order: Order) -> TraceValues | None:
    trace = order.frame.trace
    if trace is None:
        return None
    given: tuple[tuple[EyeName, Outline | None], ...] = (("right", trace.right), ("left", trace.left))
    traced = tuple(traced_outline(eye, outline) for eye, outline in given if outline is not None)
    return TraceValues(traced, trace.size_change_mm, trace.bevel_mm, "bevel_mm" in trace.model_fields_set)


def traced_outline(eye: EyeName, outline: Outline) -> TracedOutline:
    """One lens's outline as points, whatever form it was sent in."""
    both = outline.radii_mm is not None and outline.points_mm is not None
    points: Any = None
    if not both and outline.radii_mm is not None:
        # With fewer the outline is refused anyway; three are what makes a shape.
        points = points_from_radii(outline.radii_mm) if len(outline.radii_mm) >= 3 else outline.radii_mm
    elif not both:
        points = outline.points_mm
    return TracedOutline(eye, f"/frame/trace/{eye}", points, both)
