"""From an order to the sheet that shows its lenses on their blanks. No web here; the command line calls it too."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from optics_core.clearance import tightest_place
from optics_core.prism import inward
from service.checking import Checked, checked_order
from service.contract.answer import CheckAnswer
from service.contract.bench import DrawingRequest
from service.drawing.sheet import LensDrawing, Sheet
from service.facts import NEEDS_ADD, OrderFacts
from service.facts_place import EyePlace, shape_points
from service.facts_prescription import EyePower
from service.notation import line
from service.profile.loader import Limits
from service.rounding import for_display
from service.words import height, in_and_up, side

_HEADINGS = {
    "accept": "Accept.",
    "review": "Review: a person must look before this is cut.",
    "reject": "Reject: do not cut.",
}


class NotDrawableError(ValueError):
    """There is no lens to draw; `answer` holds the findings that say why."""

    def __init__(self, sentence: str, answer: CheckAnswer) -> None:
        super().__init__(sentence)
        self.answer = answer


@dataclass(frozen=True, slots=True)
class Drawn:
    """The sheet, and the check that it rests on."""

    sheet: Sheet
    answer: CheckAnswer


def drawing(request: DrawingRequest, limits: Limits, today: date) -> Drawn:
    """The sheet of an order. Raises NotDrawableError if no lens that was asked for can be placed."""
    checked = checked_order(request.order, limits, today)
    facts, limits = checked.facts, checked.limits  # the order's overrides hold for what is advised, too
    wanted = ("right", "left") if request.lenses == "both" else (request.lenses,)
    if facts is None:
        raise NotDrawableError("The order could not be worked with, so there is nothing to draw.", checked.answer)
    lenses = tuple(_lens(place, facts, request.placement, limits) for place in facts.places if place.eye in wanted)
    if not lenses:
        raise NotDrawableError("No pupil of the lenses asked for could be placed.", checked.answer)
    return Drawn(_sheet(request, checked, facts, lenses, limits), checked.answer)


def _sheet(
    request: DrawingRequest, checked: Checked, facts: OrderFacts, lenses: tuple[LensDrawing, ...], limits: Limits
) -> Sheet:
    frame, answer = facts.frame, checked.answer
    # Sizes as traced where there is a trace; the first lens drawn stands for the frame.
    first = next(place for place in facts.places if place.eye == lenses[0].eye)
    drawn = [place for place in facts.places if any(place.eye == lens.eye for lens in lenses)]
    codes = [finding.code for finding in answer.findings if finding.severity != "note"]
    decision = _HEADINGS[answer.decision] + (f" {', '.join(dict.fromkeys(codes))}" if codes else "")
    return Sheet(
        page=request.page,
        title=request.order.reference or "Lens layout",
        subtitle=f"A {_size(first.a_mm)}  B {_size(first.b_mm)}  DBL {frame.dbl_mm:g} mm, frame PD {_size(facts.frame_pd_mm)} mm",
        lenses=lenses,
        notes=(
            decision,
            *_not_drawn(request, lenses),
            *_not_shown(facts),
            *_advice(request.placement, drawn, facts, limits),
            "Not a prescription or medical advice. Read the finished pair on a lensmeter before it is handed over.",
            f"benchgate {answer.engine.version}; {answer.engine.rules}; profile: {answer.engine.profile}",
        ),
    )


def _not_drawn(request: DrawingRequest, lenses: tuple[LensDrawing, ...]) -> tuple[str, ...]:
    if request.lenses != "both" or len(lenses) == 2:
        return ()
    other = "left" if lenses[0].eye == "right" else "right"
    return (f"The {other} lens is not drawn: its pupil could not be placed.",)


def _heading(power: EyePower, *, with_add: bool) -> str:
    """The power as it is cut, with what the outline does not show; an addition that is part of it is not said again."""
    add = "" if power.add_d is None or not with_add else f" add {power.add_d:+.2f}"
    prism = "" if power.prism is None else f" prism {power.prism_amount_pd:g} base {power.prism_base_deg:g}"
    return f"{line(power.sphere_d, power.cylinder_d, power.axis_given)}{add}{prism}"


def _not_shown(facts: OrderFacts) -> tuple[str, ...]:
    """What belongs to the pair and is not in the drawing."""
    notes = []
    if facts.lens.use == "progressive":
        notes.append("Progressive: the pupil stands for the fitting point; the design's own marks are not drawn.")
    elif facts.lens.use in NEEDS_ADD:
        notes.append(
            f"A {facts.lens.use} pair: the segments are not drawn; see the answer of the check for their place."
        )
    if facts.rx.prescribed_prism:
        notes.append("Prism is prescribed: where the optical centres belong is not settled by this drawing.")
    return tuple(notes)


def _size(mm: float) -> str:
    return f"{round(mm, 2):g}"


def _advice(placement: str, drawn: list[EyePlace], facts: OrderFacts, limits: Limits) -> tuple[str, ...]:
    if placement != "advised":
        return ()
    moved = [f"{place.eye} {how}" for place in drawn if (how := _how_moved(place, facts, limits)) is not None]
    if not moved:
        return ("No other placement is advised.",)
    return (f"Drawn as advised, for a person to decide: {'; '.join(moved)}.",)


def _how_moved(place: EyePlace, facts: OrderFacts, limits: Limits) -> str | None:
    at = advised(place, facts, limits)
    moves = ["blank turned by half a turn"] if at.turned else []
    if at.in_mm or at.up_mm:
        moves.append(f"optical centre {in_and_up(at.in_mm, at.up_mm, 'mm')} from the pupil")
    return ", ".join(moves) or None


@dataclass(frozen=True, slots=True)
class Advised:
    """What the check advises about one blank: to turn it by half a turn, and how far to shift its optical centre."""

    turned: bool
    in_mm: float
    up_mm: float


def advised(place: EyePlace, facts: OrderFacts, limits: Limits) -> Advised:
    """Whether to turn the blank, and how far in and up of the pupil to put its optical centre."""
    if facts.placement is not None and facts.placement.this_blank is not None:
        at = facts.placement.this_blank.of(place.eye)
        # With prescribed prism and blanks that are ample the place is that of the prism, which a person decides on.
        short = any(not one.centre_in_reach for one in facts.places)
        if short and (at.in_mm or at.up_mm):
            return Advised(at.turned, at.in_mm, at.up_mm)
    turn = place.half_turn
    gains = turn is not None and turn.gain_mm >= limits.profile.placement.turn_gain_mm
    return Advised(place.better_turned and (place.does_only_turned or gains), 0.0, 0.0)


def _lens(
    place: EyePlace, facts: OrderFacts, placement: Literal["as_ordered", "advised"], limits: Limits
) -> LensDrawing:
    power = facts.cut.of(place.eye)
    frame = facts.frame
    points = shape_points(place, frame)
    centre_in, centre_up = place.in_mm, place.up_taken_mm
    offset_in, offset_up = place.offset_mm
    if placement == "advised":
        at = advised(place, facts, limits)
        centre_in, centre_up = centre_in + at.in_mm, centre_up + at.up_mm
        if at.turned:
            offset_in, offset_up = -offset_in, -offset_up
    middle = (inward(eye=place.eye, x=centre_in - offset_in), centre_up - offset_up)
    tightest = None
    if place.blank_mm is not None:
        tightest = tightest_place(
            points, x_mm=middle[0], y_mm=middle[1], blank_mm=place.blank_mm, allowance_mm=place.allowance_mm
        )
    words, margin = None, 0.0
    if tightest is not None:
        # Shifted as advised a lens just touches: what rounding leaves of that is no lack.
        margin = for_display(tightest.margin_mm)
        words = f"{margin:.2f} mm, {side(inward(eye=place.eye, x=tightest.x_mm))}, {height(tightest.above_deg)}"
    return LensDrawing(
        eye=place.eye,
        outline=tuple((float(x), float(y)) for x, y in points),
        modelled=place.outline is None,
        notation=_heading(power, with_add=facts.cut is facts.rx),
        axis_deg=power.axis_deg if power.optics is not None and power.cylinder_d else None,
        pupil=(inward(eye=place.eye, x=place.in_mm), place.up_taken_mm),
        optical_centre=(inward(eye=place.eye, x=centre_in), centre_up),
        height_known=place.up_mm is not None,
        blank_mm=place.blank_mm,
        blank_middle=None if place.blank_mm is None else middle,
        usable_mm=None if place.blank_mm is None else place.blank_mm - place.allowance_mm,
        tightest=None if tightest is None else (tightest.x_mm, tightest.y_mm),
        tightest_words=words,
        tightest_margin_mm=None if tightest is None else margin,
    )
