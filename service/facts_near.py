"""What follows for near work: near PD, powers, the reading pair, and where the reading parts lie."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from optics_core.boxing import decentration_in
from optics_core.near import accommodation_asked, intermediate_power, near_pd, reading_power, segment_inset
from optics_core.prism import inward, pair_imbalance
from optics_core.segments import gaze_imbalance, prism_through_segment, slab_off_eye
from optics_core.sphero_cylinder import SpheroCylinder, lens_forms
from service.facts_place import BlankNeeds, EyePlace, blank_needs
from service.facts_prescription import EyePower, PrescriptionFacts, pair_powers
from service.facts_reading_part import ProgressiveEye, SegmentEye, progressive_facts, segment_facts, segment_height
from service.facts_trace import EyeOutline
from service.profile.loader import Limits
from service.profile.model import PupillaryDistanceRange
from service.rounding import settled
from service.values import NEAR_USES, NEEDS_ADD, EyeName, OrderValues
from service.values_near import NearPdValues, NearValues, PdFrom, rotation_centre_mm


@dataclass(frozen=True, slots=True)
class EyeNear:
    """Near work through one lens. `pair_needs` is the blank of a single-vision pair for this distance."""

    eye: EyeName
    pd_mm: float | None
    pd_from: PdFrom | None
    by_geometry_mm: float | None
    differs_mm: float | None
    inset_mm: float | None
    total_inset_mm: float | None
    reading: SpheroCylinder | None
    intermediate: SpheroCylinder | None
    up_mm: float | None
    pair_needs: BlankNeeds | None
    segment_height_given: bool
    segment: SegmentEye | None
    progressive: ProgressiveEye | None


@dataclass(frozen=True, slots=True)
class NearImbalance:
    """Prism between the eyes where they look for near through lenses centred for distance.

    `segments_counted` tells that the prism of both segments is in it: their heights and optical centres are known.
    """

    level_mm: float
    inset_mm: float
    base_in_pd: float
    base_up_pd: float
    segments_counted: bool
    slab_off: EyeName | None


@dataclass(frozen=True, slots=True)
class NearFacts:
    """Near work with this pair.

    `cut` tells that the power to cut is the reading power, for which the fit then is. `taken_add_d` is the stronger addition,
    or the part of it for an intermediate distance; `accommodation_d` is what a working distance that was given leaves for
    that eye. `layout_known` tells that the places of the
    reading parts on their blanks are known, so that the blank figures are theirs. `alone_outside` holds the usual near PDs
    where a near PD alone is not among them: nothing is then centred by it.
    """

    working_mm: float
    working_given: bool
    cut: bool
    pd_mm: float | None
    by_geometry_mm: float | None
    halves_differ_mm: float | None
    accommodation_d: float | None
    taken_add_d: float | None
    add_for_distance_d: float
    segment_heights_differ_mm: float | None
    layout_known: bool
    alone_outside: tuple[float, float] | None
    eyes: tuple[EyeNear, EyeNear]
    imbalance: NearImbalance | None


def powers_to_cut(rx: PrescriptionFacts, values: OrderValues, limits: Limits) -> PrescriptionFacts:
    """The powers that the fit is for: those as written, or for a reading pair with an addition for each eye distance + add.

    The eyes and the pair they make are changed; form, prism and dates stay those of the prescription as written.
    """
    if values.near is None or values.lens.use != "near" or any(_adding(eye) is None for eye in rx.eyes):
        return rx
    right, left = (_for_reading(eye) for eye in rx.eyes)
    return replace(rx, right=right, left=left, eyes=(right, left), pair=pair_powers(right, left, limits))


def pds_to_centre_on(values: OrderValues) -> tuple[float | None, float | None]:
    """The PDs of right and left eye at which the optical centres belong."""
    near = values.near
    if near is None or values.lens.use not in NEAR_USES:
        return values.pd.right_mm, values.pd.left_mm
    return near.right.pd_mm, near.left.pd_mm


def alone_outside(values: OrderValues, usual: PupillaryDistanceRange, limits: Limits) -> tuple[float, float] | None:
    """The usual near PDs, where a reading pair has nothing but a near PD, and that lies outside them."""
    near = values.near
    if near is None or values.lens.use != "near" or (values.pd.right_mm is not None and values.pd.left_mm is not None):
        return None
    total = _sum(near.right.pd_mm, near.left.pd_mm)
    centre = rotation_centre_mm(values.vertex_worn_mm, limits)
    least, most = (
        settled(near_pd(pd_mm=pd, working_mm=near.working_mm, rotation_centre_mm=centre))
        for pd in (usual.least_mm, usual.most_mm)
    )
    return None if total is None or least <= total <= most else (least, most)


def near_facts(
    rx: PrescriptionFacts,
    cut: PrescriptionFacts,
    values: OrderValues,
    places: Sequence[EyePlace],
    outlines: tuple[EyeOutline | None, EyeOutline | None],
    outside: tuple[float, float] | None,
    limits: Limits,
) -> NearFacts | None:
    """Near work with this pair; None for a pair for distance without an addition."""
    near = values.near
    if near is None:
        return None
    by_eye = {place.eye: place for place in places}
    right = _eye(rx.right, near.right, near, values, by_eye.get("right"), outlines[0], limits)
    left = _eye(rx.left, near.left, near, values, by_eye.get("left"), outlines[1], limits)
    adds = [add for eye in rx.eyes if (add := _adding(eye)) is not None]
    strongest = max(adds, default=None)
    share = limits.profile.near.intermediate_share if values.lens.use == "intermediate" else 1.0
    taken = None if strongest is None else settled(share * strongest)
    return NearFacts(
        working_mm=near.working_mm,
        working_given=near.working_given,
        cut=cut is not rx,
        pd_mm=_sum(right.pd_mm, left.pd_mm),
        by_geometry_mm=_sum(right.by_geometry_mm, left.by_geometry_mm),
        halves_differ_mm=near.differs_mm,
        accommodation_d=None
        if taken is None or not near.working_given
        else settled(accommodation_asked(add_d=taken, working_mm=near.working_mm)),
        taken_add_d=taken,
        add_for_distance_d=settled(accommodation_asked(add_d=0.0, working_mm=near.working_mm)),
        segment_heights_differ_mm=None
        if right.segment is None or left.segment is None
        else settled(abs(right.segment.height_mm - left.segment.height_mm)),
        layout_known=_layout_known(values, (right, left)),
        alone_outside=outside,
        eyes=(right, left),
        imbalance=_imbalance(rx, values, near, (right, left), limits),
    )


def _eye(
    power: EyePower,
    pd: NearPdValues,
    near: NearValues,
    values: OrderValues,
    place: EyePlace | None,
    outline: EyeOutline | None,
    limits: Limits,
) -> EyeNear:
    far = values.pd.right_mm if power.eye == "right" else values.pd.left_mm
    geometry = None
    if far is not None:
        geometry = settled(
            near_pd(
                pd_mm=far,
                working_mm=near.working_mm,
                rotation_centre_mm=rotation_centre_mm(values.vertex_worn_mm, limits),
            )
        )
    total, needs = None, None
    if pd.pd_mm is not None and place is not None:
        total = settled(decentration_in(a_mm=place.a_mm, dbl_mm=values.frame.dbl_mm, pd_mm=pd.pd_mm))
        needs = blank_needs(power.eye, values.frame, outline, total, place.up_taken_mm, place.allowance_mm)
    add, share = _adding(power), limits.profile.near.intermediate_share
    lens = (power.sphere_d, power.cylinder_d, power.axis_deg if power.cylinder_d else None)
    return EyeNear(
        eye=power.eye,
        pd_mm=pd.pd_mm,
        pd_from=pd.taken_from,
        by_geometry_mm=geometry,
        differs_mm=None
        if pd.pd_mm is None or geometry is None or pd.taken_from == "geometry"
        else settled(abs(pd.pd_mm - geometry)),
        inset_mm=None if pd.pd_mm is None or far is None else settled(far - pd.pd_mm),
        total_inset_mm=total,
        reading=None
        if add is None
        else reading_power(sphere_d=lens[0], cylinder_d=lens[1], axis_deg=lens[2], add_d=add),
        intermediate=None
        if add is None
        else intermediate_power(sphere_d=lens[0], cylinder_d=lens[1], axis_deg=lens[2], add_d=add, share=share),
        up_mm=None if place is None else place.up_mm,
        pair_needs=needs,
        segment_height_given=segment_height(power.eye, near) is not None,
        segment=segment_facts(power, add, outline, values, near, limits),
        progressive=None if near.progressive is None or place is None else progressive_facts(place, pd, near, values),
    )


def _adding(eye: EyePower) -> float | None:
    """The addition, where power and addition can be relied on."""
    return eye.add_d if eye.add_d is not None and eye.add_d > 0 and eye.optics is not None else None


def _for_reading(eye: EyePower) -> EyePower:
    axis = eye.axis_deg if eye.cylinder_d else None
    reading = reading_power(sphere_d=eye.sphere_d, cylinder_d=eye.cylinder_d, axis_deg=axis, add_d=eye.add_d or 0.0)
    return replace(
        eye,
        sphere_d=reading.sphere_d,
        optics=lens_forms(sphere_d=reading.sphere_d, cylinder_d=eye.cylinder_d, axis_deg=eye.axis_deg),
    )


def _layout_known(values: OrderValues, eyes: tuple[EyeNear, EyeNear]) -> bool:
    blank = values.blank
    offsets = blank.offset_right_mm, blank.offset_left_mm
    if values.lens.use == "progressive":
        # Such a blank has its fitting point where it is stated to be; the fit then puts that point at the pupil.
        pd = values.pd
        design = None if values.near is None else values.near.progressive
        return (
            design is not None
            and design.given
            and None not in offsets
            and None not in (pd.given_right_mm, pd.given_left_mm)
            and all(eye.progressive is not None and eye.progressive.spare_mm is not None for eye in eyes)
        )
    # An optical centre that was measured on the blank may not fall to the pupil when the segment is where it belongs.
    return offsets == (None, None) and all(
        eye.segment is not None and eye.segment.blank_middle is not None for eye in eyes
    )


def _imbalance(
    rx: PrescriptionFacts, values: OrderValues, near: NearValues, eyes: tuple[EyeNear, EyeNear], limits: Limits
) -> NearImbalance | None:
    """Where both eyes look for near: so far in, and down to the profile's reading level or on into the reading part."""
    if values.lens.use in NEAR_USES or rx.right.optics is None or rx.left.optics is None:
        return None
    inset, (right, left) = 0.0, eyes
    far, taken = values.pd, _sum(right.pd_mm, left.pd_mm)
    if taken is not None and far.right_mm is not None and far.left_mm is not None:
        inset = settled(segment_inset(pd_mm=far.right_mm + far.left_mm, near_pd_mm=taken))
    level = _reading_level(values, near, eyes, limits)
    below = [None if eye.segment is None else eye.segment.centre_below_pupil_mm for eye in eyes]
    centres = [centre for centre in below if centre is not None]
    counted = len(centres) == len(eyes)
    if counted:
        one, other = (
            prism_through_segment(
                sphere_d=power.sphere_d,
                cylinder_d=power.cylinder_d,
                axis_deg=power.axis_deg if power.cylinder_d else None,
                add_d=power.add_d or 0.0,
                x_mm=inward(eye=power.eye, x=-inset),
                y_mm=level,
                segment_x_mm=0.0,
                segment_y_mm=level - centre,
            )
            for power, centre in zip(rx.eyes, centres, strict=True)
        )
        base_in, base_up = pair_imbalance(right=one, left=other)
    else:
        vectors = {"right": rx.right.optics.vector, "left": rx.left.optics.vector}
        base_in, base_up = map(float, gaze_imbalance(**vectors, x_mm=0.0, y_mm=-level, inset_mm=inset))
    up = settled(base_up)
    asks = values.lens.use in NEEDS_ADD and values.useful_eyes == "both"
    return NearImbalance(
        level_mm=level,
        inset_mm=inset,
        base_in_pd=settled(base_in),
        base_up_pd=up,
        segments_counted=counted,
        slab_off=slab_off_eye(base_up_pd=up) if asks and abs(up) >= limits.profile.prism.imbalance_unusual_pd else None,
    )


def _reading_level(values: OrderValues, near: NearValues, eyes: tuple[EyeNear, EyeNear], limits: Limits) -> float:
    """How far below the pupils the eyes look for reading: no less than the profile says."""
    levels = [limits.profile.prism.reading_level_mm]
    usual = limits.profile.segment
    below_top = usual.trifocal_reading_below_top_mm if values.lens.use == "trifocal" else usual.reading_below_top_mm
    levels += [
        eye.segment.below_pupil_mm + below_top
        for eye in eyes
        if eye.segment is not None and eye.segment.below_pupil_mm is not None
    ]
    if near.progressive is not None:
        levels.append(near.progressive.corridor_mm)
    return settled(max(levels))


def _sum(right: float | None, left: float | None) -> float | None:
    return None if right is None or left is None else settled(right + left)
