"""From facts to the answer's fit: how the pair sits in the frame and on its blanks. Figures are rounded for display."""

from math import isinf

from service.contract.answer import Assumption, EyeFit, Fit, MinimumBlank
from service.contract.placement import (
    HalfTurn,
    LargestFrame,
    OutlineSizes,
    Placed,
    Placement,
    Shift,
    Slack,
    Tightest,
    UnwantedPrism,
)
from service.facts import OrderFacts
from service.facts_place import EyePlace
from service.facts_placement import PairPlacement
from service.facts_trace import EyeOutline
from service.rounding import for_display, shown_if_any


def fit(facts: OrderFacts) -> Fit:
    """How the pair sits in the frame and on its blanks."""
    places = {place.eye: _fit(place, facts) for place in facts.places}
    return Fit(for_display(facts.frame_pd_mm), places.get("right"), places.get("left"), _largest(facts))


def settled_assumptions(assumed: list[Assumption], facts: OrderFacts) -> list[Assumption]:
    """The assumptions that hold once the traced outlines are known, with those that rest on them."""
    trace = facts.trace
    if trace is None or (trace.right is None and trace.left is None):
        return assumed
    if trace.right is not None and trace.left is not None:
        # The outlines have an ED of their own.
        assumed = [one for one in assumed if one.pointer != "/frame/ed_mm"]
    mirrored = []
    for eye, other in ((trace.right, "right"), (trace.left, "left")):
        if eye is not None and eye.traced != other:
            reason = f"Only the {eye.traced} lens was traced: its mirror image was taken."
            mirrored.append(Assumption(f"/frame/trace/{other}", "mirrored", reason))
    if not trace.bevel_given:
        reason = "The outline was taken as that of the groove's bottom, which the tip of the bevel reaches."
        mirrored.append(Assumption("/frame/trace/bevel_mm", 0.0, reason))
    return [*assumed, *mirrored]


def _fit(place: EyePlace, facts: OrderFacts) -> EyeFit:
    return EyeFit(
        pd_mm=for_display(place.pd_mm),
        decentration_mm=Shift(for_display(place.in_mm), None if place.up_mm is None else for_display(place.up_mm)),
        minimum_blank_mm=_blank(place, facts),
        blank_mm=place.blank_mm,
        margin_mm=shown_if_any(place.margin_mm),
        largest_ed_mm=shown_if_any(place.largest_ed_mm),
        outline=_outline(place),
        tightest=_tightest(place),
        placement=_placement(place, facts),
        centration_slack_mm=_slack(place),
    )


def _blank(place: EyePlace, facts: OrderFacts) -> MinimumBlank:
    bounds, bevel = place.bounds, 0.0 if place.outline is None else place.outline.bevel_mm
    return MinimumBlank(
        at_least=for_display(bounds.at_least_mm),
        expected=for_display(bounds.expected_mm),
        at_most=for_display(bounds.at_most_mm),
        basis="trace" if place.outline is not None else "boxed-without-ed" if facts.frame.ed_mm is None else "boxed",
        allowance_mm=for_display(place.allowance_mm - 2 * bevel),
        bevel_mm=bevel,
    )


def _outline(place: EyePlace) -> OutlineSizes | None:
    return None if place.outline is None else outline_answer(place.outline)


def outline_answer(outline: EyeOutline) -> OutlineSizes:
    """The sizes of an outline."""
    sizes = outline.sizes
    return OutlineSizes(
        a_mm=for_display(sizes.a_mm),
        b_mm=for_display(sizes.b_mm),
        ed_mm=for_display(sizes.ed_mm),
        ed_angle_deg=for_display(sizes.ed_angle_deg),
        circumference_mm=for_display(sizes.circumference_mm),
        area_mm2=for_display(sizes.area_mm2),
        traced=outline.traced,
    )


def _tightest(place: EyePlace) -> Tightest | None:
    found = place.tightest
    if found is None:
        return None
    return Tightest(
        margin_mm=for_display(found.margin_mm),
        side=place.tightest_side,
        above_deg=for_display(found.above_deg),
        angle_deg=for_display(found.angle_deg),
    )


def _placement(place: EyePlace, facts: OrderFacts) -> Placement | None:
    turn, found = place.half_turn, facts.placement
    if turn is None and found is None:
        return None
    return Placement(
        half_turn=None
        if turn is None
        else HalfTurn(
            margin_as_placed_mm=for_display(turn.as_placed_mm),
            margin_turned_mm=shown_if_any(turn.turned_mm),
            better=turn.better,
            gain_mm=for_display(turn.gain_mm),
            refused=turn.refused,
        ),
        budget=None if found is None else _placed(found.least_blank, place),
        budget_by_eye=None if found is None else _placed(found.by_eye, place),
        this_blank=None if found is None else _placed(found.this_blank, place),
    )


def _placed(pair: PairPlacement | None, place: EyePlace) -> Placed | None:
    if pair is None:
        return None
    at = pair.of(place.eye)
    return Placed(
        turned=at.turned,
        minimum_blank_mm=for_display(at.minimum_blank_mm),
        shift_mm=Shift(for_display(at.in_mm), for_display(at.up_mm)),
        prism=UnwantedPrism(for_display(at.horizontal_in_pd), for_display(at.vertical_pd)),
        share_of_limit=for_display(pair.share_of_limit),
    )


def _slack(place: EyePlace) -> Slack | None:
    if place.slack is None:
        return None
    return Slack(
        *(None if isinf(mm) else for_display(mm) for mm in (place.slack.horizontal_mm, place.slack.vertical_mm))
    )


def _largest(facts: OrderFacts) -> LargestFrame | None:
    found = facts.largest_frame
    if found is None:
        return None
    return LargestFrame(
        blank_mm=found.blank_mm,
        a_mm=shown_if_any(found.a_mm),
        dbl_mm=shown_if_any(found.dbl_mm),
        ed_mm=for_display(found.ed_mm),
    )
