"""What follows from an order: one frozen object, computed once, which the rules read."""

from dataclasses import dataclass, replace

from optics_core.boxing import CentreShift, centre_shift, frame_pd
from optics_core.errors import DomainError
from optics_core.materials import Material, materials
from optics_core.prism import Prism, amount_and_base, inward, pair_imbalance
from optics_core.sphero_cylinder import SpheroCylinder, principal_powers
from optics_core.tolerance import PrismLimits, mounted_prism_limits
from optics_core.vergence import vertex_changed
from service.facts_frame import LargestFrame, largest_frame
from service.facts_gaze import GazeImbalance, gaze_facts
from service.facts_kept import Kept
from service.facts_magnification import MagnificationFacts, magnification_facts
from service.facts_near import NearFacts, alone_outside, near_facts, pds_to_centre_on, powers_to_cut
from service.facts_place import EyePlace, PupilPrism, eye_place, pupil_prism
from service.facts_placement import EyePlacement, PlacementFacts
from service.facts_prescribed import PrescribedPrismFacts, prescribed_prism_facts
from service.facts_prescription import EyePower, PrescriptionFacts, prescription_facts
from service.facts_reading_part import segment_middle
from service.facts_stock import StockFacts, stock_facts, with_best_blanks
from service.facts_thickness import EyeThickness, thickness_facts
from service.facts_trace import TraceFacts
from service.facts_worn import WornFacts, worn_facts
from service.profile.loader import Limits
from service.profile.model import PupillaryDistanceRange
from service.rounding import settled
from service.values import NEAR_USES, NEEDS_ADD, BlankValues, EyeName, FrameValues, LensValues, OrderValues, PdValues

__all__ = ["NEEDS_ADD", "EyePlace", "OrderFacts", "PairCentres", "PdFacts", "VertexChange", "order_facts"]


@dataclass(frozen=True, slots=True)
class PairCentres:
    """Prism of the pair from optical centres that cannot sit at the pupils."""

    horizontal_pd: float
    vertical_pd: float
    centres_off_pd_mm: float
    centres_off_height_mm: float
    vertical_known: bool
    horizontal_over: bool
    vertical_over: bool


@dataclass(frozen=True, slots=True)
class PdError:
    """The usual error of a PD found in this way, and what this pair forgives: the smaller of the two eyes'."""

    source: str
    usual_mm: float
    limit_key: str
    forgiven_mm: float


@dataclass(frozen=True, slots=True)
class VertexChange:
    """One eye's power for the vertex distance as worn."""

    eye: EyeName
    compensated: SpheroCylinder
    change_d: float


@dataclass(frozen=True, slots=True)
class ReadingImbalance:
    """Vertical imbalance of the pair where it is read through, so far below the optical centres."""

    amount_pd: float
    level_mm: float


@dataclass(frozen=True, slots=True)
class PdFacts:
    """PD as given and as used, and what is usual at this age."""

    values: PdValues
    total_mm: float | None
    halves_differ_mm: float | None
    both_differs_mm: float | None
    both_like_one_eye: bool
    halves_like_both: tuple[EyeName, ...]
    usual: PupillaryDistanceRange


@dataclass(frozen=True, slots=True)
class OrderFacts:
    """Everything the rules read. `rx` holds the powers as written, `cut` those that the lenses are made to."""

    rx: PrescriptionFacts
    cut: PrescriptionFacts
    pd: PdFacts
    pd_error: PdError | None
    frame: FrameValues
    frame_pd_mm: float
    trace: TraceFacts | None
    places: tuple[EyePlace, ...]
    placement: PlacementFacts | None
    largest_frame: LargestFrame | None
    heights_differ_mm: float | None
    pair: PairCentres | None
    prism_limits: PrismLimits
    vertex_worn_mm: float | None
    vertex_changes: tuple[VertexChange, ...]
    worn: WornFacts | None
    magnification: MagnificationFacts | None
    near: NearFacts | None
    reading: ReadingImbalance | None
    prescribed: PrescribedPrismFacts | None
    gaze: tuple[GazeImbalance, ...]
    lens: LensValues
    material: Material | None
    blank: BlankValues
    stock: StockFacts | None
    rim: str
    supply: str
    supply_given: bool
    bevel_from_front_mm: float
    thickness: tuple[EyeThickness, ...]
    age_years: float | None
    useful_eyes: str


def order_facts(values: OrderValues, limits: Limits, kept: Kept | None = None) -> OrderFacts:
    """Work out everything that the rules on an order read. `kept` is shared by orders alike but for material and blank."""
    kept = kept or Kept()
    rx = prescription_facts(values.prescription, limits)
    cut = powers_to_cut(rx, values, limits)
    pd = _pd_facts(values, limits)
    outside = alone_outside(values, pd.usual, limits)
    pd_right, pd_left = pds_to_centre_on(values) if outside is None else (None, None)
    standard = mounted_prism_limits(
        standard=limits.profile.tolerance.standard,
        lens="progressive" if values.lens.use == "progressive" else "single_vision",
    )
    trace = None if values.trace is None else kept.trace(values.trace, values.frame)
    outlines = (None, None) if trace is None else (trace.right, trace.left)

    def placed(values: OrderValues) -> tuple[EyePlace, ...]:
        return tuple(
            eye_place(
                power,
                outline,
                pd_mm,
                height,
                values,
                limits,
                standard,
                rx.prescribed_prism,
                segment_middle(power, outline, values, limits),
            )
            for power, outline, pd_mm, height in (
                (cut.right, outlines[0], pd_right, values.height_right_mm),
                (cut.left, outlines[1], pd_left, values.height_left_mm),
            )
            if pd_mm is not None and not pd.both_like_one_eye and power.eye not in pd.halves_like_both
        )

    places = placed(values)
    stock = stock_facts(rx, cut, places, values)
    if stock is not None:
        # What blank a lens needs does not depend on the blank at hand, so that the best one is known and can be taken.
        values = with_best_blanks(values, stock)
        places = places if values.blank.named else placed(values)
    placement = None
    # A blank with a reading part goes where that part belongs; its optical centre is not what would be moved.
    if values.lens.use not in NEEDS_ADD:
        placement = kept.placement(values.blank, cut, places, standard, limits.profile.placement.one_eye_share)
        if not all(place.centre_in_reach for place in places):
            places = _with_prism(places, placement, cut, values.frame)
    right, left = values.height_right_mm, values.height_left_mm
    material = materials().get(values.lens.material)
    thickness = thickness_facts(values, cut, places, material, stock, limits)
    near = near_facts(rx, cut, values, places, outlines, outside, limits)
    changes = _vertex_changes(cut, values, near)
    return OrderFacts(
        rx=rx,
        cut=cut,
        pd=pd,
        pd_error=_pd_error(values.pd_source, places, limits),
        frame=values.frame,
        frame_pd_mm=_frame_pd(values.frame, trace),
        trace=trace,
        places=places,
        placement=placement,
        largest_frame=_largest_frame(places, values),
        heights_differ_mm=None if right is None or left is None else settled(abs(right - left)),
        pair=_pair(places, standard, placement),
        prism_limits=standard,
        vertex_worn_mm=values.vertex_worn_mm,
        vertex_changes=changes,
        worn=worn_facts(cut, values, material, limits, thickness, {one.eye: one.compensated for one in changes}),
        magnification=magnification_facts(cut, values, material, limits, thickness),
        near=near,
        reading=_reading(cut, near, limits),
        prescribed=prescribed_prism_facts(cut, values, places),
        gaze=gaze_facts(cut, limits),
        lens=values.lens,
        material=material,
        blank=values.blank,
        stock=stock,
        rim=values.body.rim,
        supply=values.body.supply,
        supply_given=values.body.supply_given,
        bevel_from_front_mm=values.body.bevel_from_front_mm,
        thickness=thickness,
        age_years=values.age_years,
        useful_eyes=values.useful_eyes,
    )


def _with_prism(
    places: tuple[EyePlace, ...], placement: PlacementFacts | None, rx: PrescriptionFacts, frame: FrameValues
) -> tuple[EyePlace, ...]:
    """The places with the prism of optical centres that the blanks keep away from the pupils."""
    advised = None if placement is None else placement.this_blank
    found = []
    for place in places:
        power = rx.of(place.eye)
        if advised is None:
            prism = pupil_prism(power, place, frame)
        else:
            at = advised.of(place.eye)
            prism = _advised_prism(place, at) if at.in_mm or at.up_mm else None
        found.append(replace(place, pupil_prism=prism))
    return tuple(found)


def _advised_prism(place: EyePlace, at: EyePlacement) -> PupilPrism:
    """What the placement makes at the pupil beyond what is prescribed."""
    prism = Prism(inward(eye=place.eye, x=at.horizontal_in_pd), at.vertical_pd)
    return PupilPrism(
        shift=centre_shift(in_mm=-at.in_mm, up_mm=-at.up_mm, reach_mm=0.0),
        prism=prism,
        horizontal_in_pd=at.horizontal_in_pd,
        amount_pd=settled(amount_and_base(x_pd=prism.x_pd, y_pd=prism.y_pd)[0]),
    )


def _frame_pd(frame: FrameValues, trace: TraceFacts | None) -> float:
    right = frame.a_mm if trace is None or trace.right is None else trace.right.frame_a_mm
    left = frame.a_mm if trace is None or trace.left is None else trace.left.frame_a_mm
    return settled(frame_pd(a_mm=(right + left) / 2, dbl_mm=frame.dbl_mm))


def _largest_frame(places: tuple[EyePlace, ...], values: OrderValues) -> LargestFrame | None:
    """With the largest blank in stock, or else the one at hand."""
    blank = values.blank.diameter_mm if values.blank.largest_mm is None else values.blank.largest_mm
    return None if blank is None or not places else largest_frame(places, values.frame, blank)


def _pd_error(source: str | None, places: tuple[EyePlace, ...], limits: Limits) -> PdError | None:
    forgiven = [place.slack.horizontal_mm for place in places if place.slack is not None]
    if source is None or not forgiven:
        return None
    pd = limits.profile.pd
    usual = {
        "self": pd.error_self_mm,
        "ruler": pd.error_ruler_mm,
        "pupillometer": pd.error_pupillometer_mm,
        "prescriber": pd.error_prescriber_mm,
    }
    return PdError(source, usual[source], f"pd.error_{source}_mm", min(forgiven))


def _pd_facts(values: OrderValues, limits: Limits) -> PdFacts:
    pd, section = values.pd, limits.profile.pd
    given = pd.given_right_mm, pd.given_left_mm
    age = section.adult_from_years if values.age_years is None else values.age_years
    usual = next((band for band in section.ranges if age < band.below_age_years), section.ranges[-1])
    halves = None if given[0] is None or given[1] is None else (given[0], given[1])
    total = None if pd.right_mm is None or pd.left_mm is None else pd.right_mm + pd.left_mm
    both = pd.given_both_mm
    if given == (None, None):
        total = both
    return PdFacts(
        values=pd,
        total_mm=None if total is None else settled(total),
        halves_differ_mm=None if halves is None else settled(abs(halves[0] - halves[1])),
        both_differs_mm=None if halves is None or both is None else settled(abs(sum(halves) - both)),
        both_like_one_eye=both is not None and both <= section.one_eye_most_mm and both < usual.least_mm,
        halves_like_both=_halves_like_both(pd, section.half_most_mm),
        usual=usual,
    )


def _halves_like_both(pd: PdValues, most_mm: float) -> tuple[EyeName, ...]:
    found: list[EyeName] = []
    if pd.given_right_mm is not None and pd.given_right_mm > most_mm:
        found.append("right")
    if pd.given_left_mm is not None and pd.given_left_mm > most_mm:
        found.append("left")
    return tuple(found)


_NONE = PupilPrism(CentreShift(0.0, 0.0, 0.0), Prism(0.0, 0.0), 0.0, 0.0)


def _pair(places: tuple[EyePlace, ...], limits: PrismLimits, placement: PlacementFacts | None) -> PairCentres | None:
    if len(places) != 2 or all(place.pupil_prism is None for place in places):
        return None
    if any(not place.centre_in_reach and place.pupil_prism is None for place in places):
        return None
    right, left = (place.pupil_prism or _NONE for place in places)
    horizontal, vertical = pair_imbalance(right=right.prism, left=left.prism)
    off_pd = -(right.shift.in_mm + left.shift.in_mm)
    off_height = right.shift.up_mm - left.shift.up_mm
    vertical_known = all(place.up_mm is not None for place in places)
    # A placement that is advised keeps within the standard, whose distances count from the place that prism asks for.
    advised = placement is not None and placement.this_blank is not None
    # The standard is met by the prism or by the distance, whichever is kinder.
    return PairCentres(
        horizontal_pd=horizontal,
        vertical_pd=vertical,
        centres_off_pd_mm=off_pd,
        centres_off_height_mm=off_height,
        vertical_known=vertical_known,
        horizontal_over=not advised and abs(horizontal) > limits.horizontal_pd and abs(off_pd) > limits.horizontal_mm,
        vertical_over=not advised
        and vertical_known
        and abs(vertical) > limits.vertical_pd
        and abs(off_height) > limits.vertical_mm,
    )


def _reading(cut: PrescriptionFacts, near: NearFacts | None, limits: Limits) -> ReadingImbalance | None:
    """Where near work is known, at the place where the eyes then look; else straight down."""
    if near is not None and near.imbalance is not None:
        return ReadingImbalance(abs(near.imbalance.base_up_pd), near.imbalance.level_mm)
    amount = cut.pair.reading_imbalance_pd
    return None if amount is None else ReadingImbalance(amount, limits.profile.prism.reading_level_mm)


def _vertex_changes(rx: PrescriptionFacts, values: OrderValues, near: NearFacts | None) -> tuple[VertexChange, ...]:
    """The powers that do the same at the vertex distance as worn.

    A lens that is looked through at something near sends on less vergence than its power, by what the near point takes; what
    it sends on is what has to reach the eye unchanged.
    """
    worn_mm = values.vertex_worn_mm
    if worn_mm is None or rx.vertex_refracted_mm is None or worn_mm == rx.vertex_refracted_mm:
        return ()
    changes = []
    for eye in rx.eyes:
        if eye.optics is None:
            continue
        taken = _taken_by_near_point(eye, values, near)
        try:
            found = vertex_changed(
                sphere_d=eye.sphere_d - taken,
                cylinder_d=eye.cylinder_d,
                axis_deg=eye.axis_deg if eye.cylinder_d else None,
                refracted_mm=rx.vertex_refracted_mm,
                worn_mm=worn_mm,
            )
        except DomainError:
            continue  # moved past its own focus: only between distances that are asked about anyway
        compensated = replace(found, sphere_d=found.sphere_d + taken)
        after = principal_powers(
            sphere_d=compensated.sphere_d, cylinder_d=compensated.cylinder_d, axis_deg=compensated.axis_deg
        )
        change = max(abs(new[1] - old[1]) for new, old in zip(after, eye.optics.meridians, strict=True))
        changes.append(VertexChange(eye.eye, compensated, change))
    return tuple(changes)


def _taken_by_near_point(eye: EyePower, values: OrderValues, near: NearFacts | None) -> float:
    """Vergence with which the light arrives at a lens for near, without its sign; 0 for a lens for distance."""
    if near is None or values.lens.use not in NEAR_USES:
        return 0.0
    if near.cut:
        return eye.add_d or 0.0
    # Without an addition the powers are taken for those of the working distance; with one they are those for distance.
    return 0.0 if near.taken_add_d is not None else 1000.0 / near.working_mm
