"""What follows from an order: one frozen object, computed once, which the rules read."""

from dataclasses import dataclass

from optics_core.boxing import (
    BlankBounds,
    CentreShift,
    blank_bounds,
    centre_shift,
    decentration_in,
    decentration_reachable,
    decentration_up,
    frame_pd,
    largest_ed,
)
from optics_core.materials import Material, materials
from optics_core.prism import Prism, amount_and_base, inward, pair_imbalance, prism_from_decentration
from optics_core.sphero_cylinder import SpheroCylinder, principal_powers
from optics_core.tolerance import PrismLimits, mounted_prism_limits
from optics_core.vergence import vertex_changed
from service.facts_prescription import EyePower, PrescriptionFacts, prescription_facts
from service.profile.loader import Limits
from service.profile.model import PupillaryDistanceRange
from service.rounding import settled
from service.values import BlankValues, EyeName, FrameValues, LensValues, OrderValues, PdValues

NEEDS_ADD = frozenset({"bifocal", "trifocal", "progressive"})


@dataclass(frozen=True, slots=True)
class PupilPrism:
    """Prism at the pupil where the blank keeps the optical centre away from it."""

    shift: CentreShift
    prism: Prism
    horizontal_in_pd: float
    amount_pd: float


@dataclass(frozen=True, slots=True)
class EyePlace:
    """One lens in its frame and on its blank. `up_mm` is None where no fitting height was given.

    `sure_blank_mm` is enough for every shape with the ED given, or else the usual one; `spare_mm` is what the blank
    has beyond it. `margin_mm` is what the blank has beyond `bounds.at_most_mm`, which for an unknown ED is enough
    for every shape in the box.
    """

    eye: EyeName
    pd_mm: float
    in_mm: float
    up_mm: float | None
    height_mm: float | None
    room_above_mm: float | None
    bounds: BlankBounds
    sure_blank_mm: float
    blank_mm: float | None
    margin_mm: float | None
    spare_mm: float | None
    largest_ed_mm: float | None
    centre_in_reach: bool
    pupil_prism: PupilPrism | None


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
class VertexChange:
    """One eye's power for the vertex distance as worn."""

    eye: EyeName
    compensated: SpheroCylinder
    change_d: float


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
    """Everything the rules read."""

    rx: PrescriptionFacts
    pd: PdFacts
    frame: FrameValues
    frame_pd_mm: float
    places: tuple[EyePlace, ...]
    heights_differ_mm: float | None
    pair: PairCentres | None
    prism_limits: PrismLimits
    vertex_worn_mm: float | None
    vertex_changes: tuple[VertexChange, ...]
    lens: LensValues
    material: Material | None
    blank: BlankValues
    age_years: float | None
    useful_eyes: str


def order_facts(values: OrderValues, limits: Limits) -> OrderFacts:
    """Work out everything that the rules on an order read."""
    rx = prescription_facts(values.prescription, limits)
    pd = _pd_facts(values, limits)
    places = tuple(
        _place(power, pd_mm, height, values, limits)
        for power, pd_mm, height in (
            (rx.right, values.pd.right_mm, values.height_right_mm),
            (rx.left, values.pd.left_mm, values.height_left_mm),
        )
        if pd_mm is not None and not pd.both_like_one_eye and power.eye not in pd.halves_like_both
    )
    right, left = values.height_right_mm, values.height_left_mm
    standard = mounted_prism_limits(
        standard=limits.profile.tolerance.standard,
        lens="progressive" if values.lens.use == "progressive" else "single_vision",
    )
    return OrderFacts(
        rx=rx,
        pd=pd,
        frame=values.frame,
        frame_pd_mm=frame_pd(a_mm=values.frame.a_mm, dbl_mm=values.frame.dbl_mm),
        places=places,
        heights_differ_mm=None if right is None or left is None else settled(abs(right - left)),
        pair=_pair(places, standard),
        prism_limits=standard,
        vertex_worn_mm=values.vertex_worn_mm,
        vertex_changes=_vertex_changes(rx, values.vertex_worn_mm),
        lens=values.lens,
        material=materials().get(values.lens.material),
        blank=values.blank,
        age_years=values.age_years,
        useful_eyes=values.useful_eyes,
    )


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


def _place(power: EyePower, pd_mm: float, height_mm: float | None, values: OrderValues, limits: Limits) -> EyePlace:
    frame, blank, allowance = values.frame, values.blank.diameter_mm, limits.profile.blank.allowance_mm
    in_mm = settled(decentration_in(a_mm=frame.a_mm, dbl_mm=frame.dbl_mm, pd_mm=pd_mm))
    up_mm = None if height_mm is None else settled(decentration_up(b_mm=frame.b_mm, fitting_height_mm=height_mm))
    up_taken = 0.0 if up_mm is None else up_mm
    ed_mm = frame.usual_ed_mm if frame.ed_mm is None else frame.ed_mm
    sure = blank_bounds(
        a_mm=frame.a_mm, b_mm=frame.b_mm, ed_mm=ed_mm, in_mm=in_mm, up_mm=up_taken, allowance_mm=allowance
    )
    at_most = sure.at_most_mm
    if frame.ed_mm is None:
        # The shape is unknown: what is enough for every shape follows from the box's diagonal.
        at_most = blank_bounds(
            a_mm=frame.a_mm,
            b_mm=frame.b_mm,
            ed_mm=frame.diagonal_mm,
            in_mm=in_mm,
            up_mm=up_taken,
            allowance_mm=allowance,
        ).at_most_mm
    bounds = BlankBounds(settled(sure.at_least_mm), settled(sure.expected_mm), settled(at_most))
    margin = spare = most_ed = prism = None
    if blank is not None:
        margin, spare = settled(blank - bounds.at_most_mm), settled(blank - sure.at_most_mm)
        most_ed = settled(largest_ed(blank_mm=blank, in_mm=in_mm, up_mm=up_taken, allowance_mm=allowance))
        if spare < 0:
            prism = _pupil_prism(
                power,
                in_mm,
                up_taken,
                decentration_reachable(blank_mm=blank, ed_mm=ed_mm, allowance_mm=allowance),
            )
    return EyePlace(
        eye=power.eye,
        pd_mm=pd_mm,
        in_mm=in_mm,
        up_mm=up_mm,
        height_mm=height_mm,
        room_above_mm=None if height_mm is None else settled(frame.b_mm - height_mm),
        bounds=bounds,
        sure_blank_mm=settled(sure.at_most_mm),
        blank_mm=blank,
        margin_mm=margin,
        spare_mm=spare,
        largest_ed_mm=most_ed,
        centre_in_reach=spare is None or spare >= 0,
        pupil_prism=prism,
    )


def _pupil_prism(power: EyePower, in_mm: float, up_mm: float, reach_mm: float) -> PupilPrism | None:
    """The optical centre goes as far towards the pupil as the blank is sure to allow; the rest is prism."""
    if power.optics is None or reach_mm < 0:
        return None
    shift = centre_shift(in_mm=in_mm, up_mm=up_mm, reach_mm=reach_mm)
    minus = power.optics.minus
    prism = prism_from_decentration(
        sphere_d=minus.sphere_d,
        cylinder_d=minus.cylinder_d,
        axis_deg=minus.axis_deg,
        x_mm=inward(eye=power.eye, x=shift.in_mm),
        y_mm=shift.up_mm,
    )
    return PupilPrism(
        shift=shift,
        prism=prism,
        horizontal_in_pd=inward(eye=power.eye, x=prism.x_pd),
        amount_pd=amount_and_base(x_pd=prism.x_pd, y_pd=prism.y_pd)[0],
    )


_NONE = PupilPrism(CentreShift(0.0, 0.0, 0.0), Prism(0.0, 0.0), 0.0, 0.0)


def _pair(places: tuple[EyePlace, ...], limits: PrismLimits) -> PairCentres | None:
    if len(places) != 2 or all(place.pupil_prism is None for place in places):
        return None
    if any(not place.centre_in_reach and place.pupil_prism is None for place in places):
        return None
    right, left = (place.pupil_prism or _NONE for place in places)
    horizontal, vertical = pair_imbalance(right=right.prism, left=left.prism)
    off_pd = -(right.shift.in_mm + left.shift.in_mm)
    off_height = right.shift.up_mm - left.shift.up_mm
    vertical_known = all(place.up_mm is not None for place in places)
    # The standard is met by the prism or by the distance, whichever is kinder.
    return PairCentres(
        horizontal_pd=horizontal,
        vertical_pd=vertical,
        centres_off_pd_mm=off_pd,
        centres_off_height_mm=off_height,
        vertical_known=vertical_known,
        horizontal_over=abs(horizontal) > limits.horizontal_pd and abs(off_pd) > limits.horizontal_mm,
        vertical_over=vertical_known and abs(vertical) > limits.vertical_pd and abs(off_height) > limits.vertical_mm,
    )


def _vertex_changes(rx: PrescriptionFacts, worn_mm: float | None) -> tuple[VertexChange, ...]:
    if worn_mm is None or rx.vertex_refracted_mm is None or worn_mm == rx.vertex_refracted_mm:
        return ()
    changes = []
    for eye in rx.eyes:
        if eye.optics is None:
            continue
        compensated = vertex_changed(
            sphere_d=eye.sphere_d,
            cylinder_d=eye.cylinder_d,
            axis_deg=eye.axis_deg if eye.cylinder_d else None,
            refracted_mm=rx.vertex_refracted_mm,
            worn_mm=worn_mm,
        )
        after = principal_powers(
            sphere_d=compensated.sphere_d, cylinder_d=compensated.cylinder_d, axis_deg=compensated.axis_deg
        )
        change = max(abs(new[1] - old[1]) for new, old in zip(after, eye.optics.meridians, strict=True))
        changes.append(VertexChange(eye.eye, compensated, change))
    return tuple(changes)
