"""Where the blank sits: would half a turn or a small shift make it do, and how wrong may the PD be?"""

from collections.abc import Iterator
from typing import Final

from service.facts import EyePlace, OrderFacts
from service.profile.loader import Limits
from service.remedies import larger_blank_than, smaller_frame
from service.rules.rule import Noticed, rule
from service.words import in_and_up, named

BLANK: Final = "/lens/blank_diameter_mm"
_TURN_REFUSED: Final = {
    "reading-part": "it has a reading part",
    "prescribed-prism": "prism is prescribed",
    "marked-top": "the blank has a marked top",
    "gradient-tint": "its tint is a gradient",
    "polarised": "it is polarised",
}
_NOWHERE: Final = "the lens is larger than the blank wherever it is placed"
_NOT_WITHIN_LIMITS: Final = (
    "no placement within the prism limits of the tolerance standard does with less than the blank has"
)
_OTHER_UNKNOWN: Final = "the other lens could not be placed, and the limits are for the pair"
_POWER_UNKNOWN: Final = "a power cannot be relied on"
_FOUND_BY: Final = {
    "self": "by the wearer",
    "ruler": "with a ruler",
    "pupillometer": "with a pupillometer",
    "prescriber": "by the prescriber",
}


def _traced_and_short(facts: OrderFacts) -> Iterator[EyePlace]:
    """Traced lenses that the blank does not cover with the optical centre at the pupil, the better way up."""
    yield from (place for place in facts.places if place.outline is not None and not place.centre_in_reach)


@rule(
    "blank-too-small-for-outline",
    severity="reject",
    source="derived",
    shop="The blank of {value} cannot give the traced lens of the {eye}: with the optical centre at the pupil {limit} is "
    "needed, the allowance included, and {elsewhere}. Take a larger blank or a smaller frame.",
    customer="This frame is too wide for lenses that suit your eyes. A smaller frame will do.",
)
def blank_too_small_for_outline(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """A traced lens cannot be cut from the blank within the limits of prism."""
    placement = facts.placement
    if placement is not None and placement.this_blank is not None:
        return
    for place in _traced_and_short(facts):
        # With prescribed prism the centre need not sit at the pupil; that goes to a person unless no place does.
        hopeless = place.least_possible_mm is not None and (place.blank_mm or 0.0) < place.least_possible_mm
        if hopeless or (placement is not None and not facts.rx.prescribed_prism):
            yield Noticed(
                BLANK,
                place.eye,
                value=place.blank_mm,
                limit=place.best.at_least_mm,
                unit="mm",
                limit_key="blank.allowance_mm",
                remedies=larger_blank_than(place.best.at_most_mm) + smaller_frame(facts, place, limits),
                words={"elsewhere": _NOWHERE if hopeless else _NOT_WITHIN_LIMITS},
            )


@rule(
    "blank-too-small-for-prescribed-prism",
    severity="review",
    source="long-1976",
    shop="Prism is prescribed. Made by decentration it would need a blank of {limit} for the {eye}, within the prism limits "
    "of the tolerance standard; the blank has {value}. Have the prism ground, or take a larger blank.",
    customer="Your prescription has prism. The shop will work out how your lenses are made.",
)
def blank_too_small_for_prescribed_prism(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The blank is too small for a traced lens whose prescribed prism is made by decentration."""
    placement = facts.placement
    if placement is None or placement.this_blank is not None or not facts.rx.prescribed_prism:
        return
    for place in facts.places:
        least = placement.least_blank
        needed = None if least is None else least.of(place.eye).minimum_blank_mm
        if needed is not None and place.blank_mm is not None and place.blank_mm < needed:
            yield Noticed(
                BLANK,
                place.eye,
                value=place.blank_mm,
                limit=needed,
                unit="mm",
                remedies=larger_blank_than(needed),
            )


@rule(
    "blank-too-small-at-pupil",
    severity="review",
    source="derived",
    shop="The blank of {value} does not cover the traced lens of the {eye} with the optical centre at the pupil, where {limit} "
    "is needed. Whether a shift within the prism limits would make it do cannot be said: {unknown}. Complete the order, take a "
    "larger blank or a smaller frame.",
    customer="We have to check whether this frame can be made with your lenses.",
)
def blank_too_small_at_pupil(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """A traced lens cannot be cut at the pupil, and too little is known to look for another place."""
    if facts.placement is not None:
        return
    for place in _traced_and_short(facts):
        if place.least_possible_mm is not None and (place.blank_mm or 0.0) >= place.least_possible_mm:
            both_placed = len(facts.places) == 2 and all(one.outline is not None for one in facts.places)
            yield Noticed(
                BLANK,
                place.eye,
                value=place.blank_mm,
                limit=place.best.at_least_mm,
                unit="mm",
                limit_key="blank.allowance_mm",
                remedies=larger_blank_than(place.best.at_most_mm) + smaller_frame(facts, place, limits),
                words={"unknown": _POWER_UNKNOWN if both_placed else _OTHER_UNKNOWN},
            )


@rule(
    "blank-does-only-shifted",
    severity="review",
    source="derived",
    shop="The blank of {value} covers the traced lens of the {eye} only if{turned} its optical centre sits {shift} from the "
    "pupil, not at it, where {limit} would be needed. That makes {prism} there and uses {share} of what {standard} allows the "
    "pair. Decide whether to shift, or take a larger blank.",
    customer="We have to check whether this frame can be made with your lenses.",
)
def blank_does_only_shifted(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """A traced lens can be cut from the blank with its optical centre off the pupil, within the limits of prism."""
    placement = facts.placement
    if placement is None or placement.this_blank is None:
        return
    advised = placement.this_blank
    standard = facts.prism_limits
    for place in _traced_and_short(facts):
        at = advised.of(place.eye)
        yield Noticed(
            BLANK,
            place.eye,
            value=place.blank_mm,
            limit=place.best.at_most_mm,
            unit="mm",
            source=standard.source,
            limit_from=limits.origin("tolerance.standard"),
            remedies=larger_blank_than(place.best.at_most_mm) + smaller_frame(facts, place, limits),
            words={
                "turned": " the blank is turned by half a turn and" if at.turned else "",
                "shift": in_and_up(at.in_mm, at.up_mm, "mm"),
                "prism": in_and_up(at.horizontal_in_pd, at.vertical_pd, "Δ base"),
                "share": f"{advised.share_of_limit:.0%}",
                "standard": named(standard),
            },
        )


@rule(
    "blank-does-only-turned",
    severity="review",
    source="derived",
    shop="As it lies, the blank of {value} is not sure to cover the lens of the {eye}, which needs {limit}; after half a turn "
    "it is{usual}, with {spare} to spare on the diameter. A single-vision lens without prism reads the same either way up. "
    "Turn it before blocking.",
    customer="We have to check whether this frame can be made with your lenses.",
)
def blank_does_only_turned(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The blank does only after half a turn."""
    for place in facts.places:
        if place.does_only_turned:
            yield Noticed(
                BLANK,
                place.eye,
                value=place.blank_mm,
                limit=place.sure_blank_mm,
                unit="mm",
                words={
                    "spare": f"{place.best_spare_mm:.2f} mm",
                    "usual": " with the usual ED" if facts.frame.ed_mm is None and place.outline is None else "",
                },
            )


@rule(
    "half-turn-gains-room",
    severity="note",
    source="derived",
    shop="Turned by half a turn, the blank of the {eye} gains {value} of room on the diameter; from {limit} it is worth it. A "
    "single-vision lens without prism reads the same either way up.",
    customer="The shop can place your lens a little better.",
)
def half_turn_gains_room(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """Half a turn of the blank gains room."""
    limit = limits.profile.placement.turn_gain_mm
    for place in facts.places:
        turn = place.half_turn
        if turn is None or turn.better != "turned" or turn.gain_mm < limit:
            continue
        if place.does_only_turned:
            continue  # said already, and more gravely
        yield Noticed(
            f"/lens/blank/centre_offset_mm/{place.eye}",
            place.eye,
            value=turn.gain_mm,
            limit=limit,
            unit="mm",
            limit_key="placement.turn_gain_mm",
        )


@rule(
    "half-turn-not-allowed",
    severity="note",
    source="common-practice",
    shop="The blank of the {eye} must not be turned by half a turn to gain room: {why}.",
    customer="The shop will place your lens as its marks ask.",
)
def half_turn_not_allowed(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A half turn would change what the lens does."""
    for place in facts.places:
        if place.half_turn is not None and place.half_turn.refused is not None:
            yield Noticed(
                f"/lens/blank/centre_offset_mm/{place.eye}",
                place.eye,
                words={"why": _TURN_REFUSED[place.half_turn.refused]},
            )


@rule(
    "pd-error-uses-up-tolerance",
    severity="review",
    source="ansi-z80.1-2015",
    shop="The PD was found {how}, which is usually right to {limit}; with this power being {value} out uses up all that "
    "{standard} allows. Have the PD measured again before cutting.",
    customer="Your lenses are strong, so the distance between your pupils has to be exact. Please have it measured.",
)
def pd_error_uses_up_tolerance(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A PD found in this way is often further out than this pair forgives."""
    error, standard = facts.pd_error, facts.prism_limits
    if error is None or error.forgiven_mm >= error.usual_mm:
        return
    yield Noticed(
        "/pd_source",
        value=error.forgiven_mm,
        limit=error.usual_mm,
        unit="mm",
        limit_key=error.limit_key,
        source=standard.source,
        words={"how": _FOUND_BY[error.source], "standard": named(standard)},
    )
