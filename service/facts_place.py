"""What follows for one lens in its frame and on its blank."""

from dataclasses import dataclass
from typing import Any, Final, Literal

from optics_core.boxing import (
    BlankBounds,
    CentreShift,
    blank_bounds,
    centre_shift,
    decentration_in,
    decentration_reachable,
    decentration_up,
    largest_ed,
)
from optics_core.clearance import TightestPlace, tightest_place
from optics_core.enclosing import nearest_centre, smallest_circle
from optics_core.outline import minimum_blank, rounded_rectangle
from optics_core.prism import Prism, amount_and_base, inward, prism_from_decentration
from optics_core.tolerance import PrismLimits, horizontal_slack, vertical_slack
from service.facts_prescription import EyePower
from service.facts_trace import EyeOutline
from service.profile.loader import Limits
from service.rounding import settled
from service.values import NEEDS_ADD, EyeName, FrameValues, OrderValues
from service.words import side

_MODELLED_POINTS: Final = 240

# Why a blank may not be turned by half a turn.
NoTurn = Literal["reading-part", "prescribed-prism", "marked-top", "gradient-tint", "polarised"]


@dataclass(frozen=True, slots=True)
class PupilPrism:
    """Prism at the pupil where the optical centre does not sit there."""

    shift: CentreShift
    prism: Prism
    horizontal_in_pd: float
    amount_pd: float


@dataclass(frozen=True, slots=True)
class HalfTurn:
    """The blank as it lies and after half a turn, where its optical centre is not in its middle.

    Margins are what is guaranteed, on the diameter. `turned` is None where a turn would change what the lens does.
    """

    refused: NoTurn | None
    as_placed_mm: float
    turned_mm: float | None
    turned_bounds: BlankBounds | None
    better: Literal["as_placed", "turned", "same"] | None
    gain_mm: float


@dataclass(frozen=True, slots=True)
class Slack:
    """Errors of centration of this eye alone that use up the tolerance of the pair; infinite without power."""

    horizontal_mm: float
    vertical_mm: float


@dataclass(frozen=True, slots=True)
class EyePlace:
    """One lens in its frame and on its blank. `up_mm` is None where no fitting height was given.

    `blank_in_mm` and `blank_up_mm` say where the middle of the blank lies as placed, from the boxed centre; it is the
    pupil's place unless the blank's optical centre lies off its middle. `bounds` and what follows from it are for the
    blank as placed; `best` and `best_sure_mm` are for the better way up, where it may be turned. `sure_blank_mm` is enough
    for every shape
    with the ED given, or else the usual one; `spare_mm` is what the blank has beyond it. `margin_mm` is what the blank
    has beyond `bounds.at_most_mm`, which for an unknown ED is enough for every shape in the box. With an outline all
    of these are one exact figure.
    """

    eye: EyeName
    pd_mm: float
    in_mm: float
    up_mm: float | None
    height_mm: float | None
    room_above_mm: float | None
    a_mm: float
    b_mm: float
    outline: EyeOutline | None
    allowance_mm: float
    blank_in_mm: float
    blank_up_mm: float
    bounds: BlankBounds
    best: BlankBounds
    sure_blank_mm: float
    best_sure_mm: float
    blank_mm: float | None
    margin_mm: float | None
    spare_mm: float | None
    best_spare_mm: float | None
    largest_ed_mm: float | None
    half_turn: HalfTurn | None
    tightest: TightestPlace | None
    least_possible_mm: float | None
    slack: Slack | None
    pupil_prism: PupilPrism | None

    @property
    def centre_in_reach(self) -> bool:
        """Whether the optical centre can sit at the pupil, the better way up."""
        return self.best_spare_mm is None or self.best_spare_mm >= 0

    @property
    def does_only_turned(self) -> bool:
        """Whether the blank is sure to do after half a turn, and as it lies is not."""
        return self.spare_mm is not None and self.spare_mm < 0 and self.centre_in_reach

    @property
    def tightest_side(self) -> Literal["nasal", "temporal"]:
        """On which side of the boxed centre the lens comes nearest to the edge of its blank."""
        return side(0.0 if self.tightest is None else inward(eye=self.eye, x=self.tightest.x_mm))

    @property
    def up_taken_mm(self) -> float:
        """Height of the pupil above the boxed centre; the centre line where no fitting height was given."""
        return 0.0 if self.up_mm is None else self.up_mm

    @property
    def offset_mm(self) -> tuple[float, float]:
        """From the middle of the blank to its optical centre, in and up, as placed."""
        return self.in_mm - self.blank_in_mm, self.up_taken_mm - self.blank_up_mm

    @property
    def better_turned(self) -> bool:
        """Whether the blank may be turned by half a turn and then leaves more room."""
        return self.half_turn is not None and self.half_turn.better == "turned"

    @property
    def better_offset_mm(self) -> tuple[float, float]:
        """The same offset, the better way up."""
        offset_in, offset_up = self.offset_mm
        return (-offset_in, -offset_up) if self.better_turned else (offset_in, offset_up)


@dataclass(frozen=True, slots=True)
class BlankNeeds:
    """Blank that is needed with its middle at one place."""

    bounds: BlankBounds
    sure_mm: float


def eye_place(
    power: EyePower,
    outline: EyeOutline | None,
    pd_mm: float,
    height_mm: float | None,
    values: OrderValues,
    limits: Limits,
    standard: PrismLimits,
    prism_prescribed: bool,
    middle: tuple[float, float] | None = None,
) -> EyePlace:
    """Where the pupil and the blank sit, what blank that needs, and what room the blank at hand leaves.

    `middle` is where the blank's middle lies, in and up from the boxed centre, where something else than the optical
    centre decides that; the optical centre is then taken to be worked where it belongs.
    """
    frame, blank = values.frame, values.blank.right_mm if power.eye == "right" else values.blank.left_mm
    a_mm, b_mm = (frame.a_mm, frame.b_mm) if outline is None else (outline.frame_a_mm, outline.frame_b_mm)
    in_mm = settled(decentration_in(a_mm=a_mm, dbl_mm=frame.dbl_mm, pd_mm=pd_mm))
    up_mm = None if height_mm is None else settled(decentration_up(b_mm=b_mm, fitting_height_mm=height_mm))
    up_taken = 0.0 if up_mm is None else up_mm
    allowance = limits.profile.blank.allowance_mm + (0.0 if outline is None else 2 * outline.bevel_mm)
    offset = values.blank.offset_right_mm if power.eye == "right" else values.blank.offset_left_mm
    if middle is not None:
        offset = None
    blank_in, blank_up = middle or (in_mm, up_taken) if offset is None else (in_mm - offset[0], up_taken - offset[1])
    needs = blank_needs(power.eye, frame, outline, blank_in, blank_up, allowance)
    best, half_turn = needs, None
    margin = spare = best_spare = most_ed = tightest = least_possible = None
    if blank is not None:
        margin, spare = settled(blank - needs.bounds.at_most_mm), settled(blank - needs.sure_mm)
        if offset is not None:
            refused = _no_turn(values, power.eye, prism_prescribed)
            turned = None
            if refused is None:
                turned = blank_needs(power.eye, frame, outline, in_mm + offset[0], up_taken + offset[1], allowance)
                best = _better(needs, turned)
            half_turn = _half_turn(refused, blank, needs, turned)
        best_spare = settled(blank - best.sure_mm)
        if outline is None:
            most_ed = settled(largest_ed(blank_mm=blank, in_mm=blank_in, up_mm=blank_up, allowance_mm=allowance))
        else:
            tightest = tightest_place(
                outline.points,
                x_mm=inward(eye=power.eye, x=blank_in),
                y_mm=blank_up,
                blank_mm=blank,
                allowance_mm=allowance,
            )
            if best_spare < 0:
                least_possible = settled(2 * smallest_circle(outline.points).radius_mm + allowance)
    return EyePlace(
        eye=power.eye,
        pd_mm=pd_mm,
        in_mm=in_mm,
        up_mm=up_mm,
        height_mm=height_mm,
        room_above_mm=None if height_mm is None else settled(b_mm - height_mm),
        a_mm=a_mm,
        b_mm=b_mm,
        outline=outline,
        allowance_mm=allowance,
        blank_in_mm=blank_in,
        blank_up_mm=blank_up,
        bounds=needs.bounds,
        best=best.bounds,
        sure_blank_mm=needs.sure_mm,
        best_sure_mm=best.sure_mm,
        blank_mm=blank,
        margin_mm=margin,
        spare_mm=spare,
        best_spare_mm=best_spare,
        largest_ed_mm=most_ed,
        half_turn=half_turn,
        tightest=tightest,
        least_possible_mm=least_possible,
        slack=_slack(power, standard),
        pupil_prism=None,
    )


def shape_points(place: EyePlace, frame: FrameValues) -> Any:
    """The lens's outline about its boxed centre: as traced, or modelled from the boxed sizes. Array of shape (n, 2), mm."""
    if place.outline is not None:
        return place.outline.points
    return rounded_rectangle(a_mm=frame.a_mm, b_mm=frame.b_mm, ed_mm=frame.taken_ed_mm, count=_MODELLED_POINTS)


def blank_needs(
    eye: EyeName, frame: FrameValues, outline: EyeOutline | None, in_mm: float, up_mm: float, allowance: float
) -> BlankNeeds:
    """The blank that a lens needs with the blank's middle so far in and up from the boxed centre."""
    if outline is not None:
        exact = settled(
            minimum_blank(outline.points, x_mm=inward(eye=eye, x=in_mm), y_mm=up_mm, allowance_mm=allowance)
        )
        return BlankNeeds(BlankBounds(exact, exact, exact), exact)
    ed_mm = frame.taken_ed_mm
    sure = blank_bounds(a_mm=frame.a_mm, b_mm=frame.b_mm, ed_mm=ed_mm, in_mm=in_mm, up_mm=up_mm, allowance_mm=allowance)
    at_most = sure.at_most_mm
    if frame.ed_mm is None:
        # The shape is unknown: what is enough for every shape follows from the box's diagonal.
        at_most = blank_bounds(
            a_mm=frame.a_mm,
            b_mm=frame.b_mm,
            ed_mm=frame.diagonal_mm,
            in_mm=in_mm,
            up_mm=up_mm,
            allowance_mm=allowance,
        ).at_most_mm
    return BlankNeeds(
        BlankBounds(settled(sure.at_least_mm), settled(sure.expected_mm), settled(at_most)), settled(sure.at_most_mm)
    )


def _better(placed: BlankNeeds, turned: BlankNeeds) -> BlankNeeds:
    """What is needed where either way up will do: each bound is the lower of the two."""
    one, other = placed.bounds, turned.bounds
    return BlankNeeds(
        BlankBounds(
            min(one.at_least_mm, other.at_least_mm),
            min(one.expected_mm, other.expected_mm),
            min(one.at_most_mm, other.at_most_mm),
        ),
        min(placed.sure_mm, turned.sure_mm),
    )


def _no_turn(values: OrderValues, eye: EyeName, prism_prescribed: bool) -> NoTurn | None:
    if values.lens.use in NEEDS_ADD:
        return "reading-part"
    if prism_prescribed:
        return "prescribed-prism"
    if eye in values.blank.top_marked:
        return "marked-top"
    if values.lens.tint == "gradient":
        return "gradient-tint"
    return "polarised" if values.lens.polarised else None


def _half_turn(refused: NoTurn | None, blank_mm: float, placed: BlankNeeds, turned: BlankNeeds | None) -> HalfTurn:
    as_placed = settled(blank_mm - placed.bounds.at_most_mm)
    if turned is None:
        return HalfTurn(refused, as_placed, None, None, None, 0.0)
    after = settled(blank_mm - turned.bounds.at_most_mm)
    gain = settled(after - as_placed)
    better: Literal["as_placed", "turned", "same"] = "same" if gain == 0 else "turned" if gain > 0 else "as_placed"
    return HalfTurn(None, as_placed, after, turned.bounds, better, abs(gain))


def _slack(power: EyePower, standard: PrismLimits) -> Slack | None:
    if power.optics is None:
        return None
    vector = power.optics.vector
    return Slack(
        horizontal_mm=horizontal_slack(limits=standard, power_d=settled(vector.m_d + vector.j0_d)),
        vertical_mm=vertical_slack(limits=standard, power_d=settled(vector.m_d - vector.j0_d)),
    )


def pupil_prism(power: EyePower, place: EyePlace, frame: FrameValues) -> PupilPrism | None:
    """Prism of the optical centre moved as near to the pupil as the blank, the better way up, is sure to allow."""
    if power.optics is None or place.blank_mm is None or place.centre_in_reach:
        return None
    offset_in, offset_up = place.better_offset_mm
    middle_in, middle_up = place.in_mm - offset_in, place.up_taken_mm - offset_up
    if place.outline is None:
        reach = decentration_reachable(
            blank_mm=place.blank_mm,
            ed_mm=frame.taken_ed_mm,
            allowance_mm=place.allowance_mm,
        )
        if reach < 0:
            return None
        shift = centre_shift(in_mm=middle_in, up_mm=middle_up, reach_mm=reach)
        return prism_of_shift(power, shift.in_mm, shift.up_mm)
    x, y = inward(eye=power.eye, x=middle_in), middle_up
    nearest = nearest_centre(
        place.outline.points, x_mm=x, y_mm=y, radius_mm=max(place.blank_mm - place.allowance_mm, 0.0) / 2
    )
    if nearest is None:
        return None
    return prism_of_shift(power, inward(eye=power.eye, x=nearest[0] - x), nearest[1] - y)


def prism_of_shift(power: EyePower, in_mm: float, up_mm: float) -> PupilPrism | None:
    """Prism at the pupil where the optical centre lies so far in and up from it."""
    if power.optics is None:
        return None
    minus = power.optics.minus
    prism = prism_from_decentration(
        sphere_d=minus.sphere_d,
        cylinder_d=minus.cylinder_d,
        axis_deg=minus.axis_deg,
        x_mm=inward(eye=power.eye, x=in_mm),
        y_mm=up_mm,
    )
    return PupilPrism(
        shift=centre_shift(in_mm=-in_mm, up_mm=-up_mm, reach_mm=0.0),
        prism=prism,
        horizontal_in_pd=inward(eye=power.eye, x=prism.x_pd),
        amount_pd=amount_and_base(x_pd=prism.x_pd, y_pd=prism.y_pd)[0],
    )
