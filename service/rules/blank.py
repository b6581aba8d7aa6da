"""The blank: is it sure to cover the lens shape, may it, or can it not?"""

from collections.abc import Iterator

from service.facts import EyePlace, OrderFacts
from service.profile.loader import Limits
from service.remedies import larger_blank_than, smaller_frame
from service.rules.rule import Noticed, rule

BLANK = "/lens/blank_diameter_mm"


@rule(
    "blank-too-small",
    severity="reject",
    source="boxed-bounds",
    shop="The blank of {value} cannot give the lens of the {eye}{turned}: every shape with these boxed sizes needs at least "
    "{limit}, the optical centre at the pupil and the allowance included. Take a larger blank or a smaller frame.",
    customer="This frame is too wide for lenses that suit your eyes. A smaller frame will do.",
)
def blank_too_small(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """No lens shape with these boxed sizes can be cut from the blank."""
    for place in facts.places:
        if place.outline is None and place.blank_mm is not None and place.blank_mm < place.best.at_least_mm:
            yield _short(facts, place, limits, place.best.at_least_mm)


@rule(
    "blank-may-be-too-small",
    severity="review",
    source="boxed-bounds",
    shop="The blank of {value} may be too small for the {eye}{turned}: depending on the lens shape up to {limit} is needed. "
    "Trace the frame, take a larger blank, or a smaller frame.",
    customer="We have to check whether this frame can be made with your lenses.",
)
def blank_may_be_too_small(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """Some shapes with these boxed sizes and ED can be cut from the blank and some cannot."""
    if facts.frame.ed_mm is None:
        return
    for place in facts.places:
        blank = place.blank_mm
        if place.outline is None and blank is not None and place.best.at_least_mm <= blank < place.best.at_most_mm:
            yield _short(facts, place, limits, place.best.at_most_mm)


@rule(
    "blank-may-be-too-small-without-ed",
    severity="review",
    source="boxed-bounds",
    shop="The blank is sure to do for the {eye} as long as the ED is no more than {value}; the usual ED of such a box is "
    "{limit}. Measure the ED or trace the frame, take a larger blank, or a smaller frame.",
    customer="We have to check whether this frame can be made with your lenses.",
)
def blank_may_be_too_small_without_ed(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The ED is not known, and with the usual one the blank is not sure to do."""
    if facts.frame.ed_mm is not None:
        return
    for place in facts.places:
        blank, most_ed = place.blank_mm, place.largest_ed_mm
        if place.outline is not None or blank is None or most_ed is None or blank < place.best.at_least_mm:
            continue
        if not place.centre_in_reach:
            yield Noticed(
                BLANK,
                place.eye,
                value=most_ed,
                limit=facts.frame.usual_ed_mm,
                unit="mm",
                remedies=larger_blank_than(place.best_sure_mm) + smaller_frame(facts, place, limits),
            )


@rule(
    "blank-close-to-limit",
    severity="note",
    source="common-practice",
    shop="{which} the blank is sure to do for the {eye}, with {value} to spare on the diameter; below {limit} is close. Centre "
    "and block with care.",
    customer="This frame just fits your lenses.",
)
def blank_close_to_limit(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The blank does, with little to spare."""
    limit = limits.profile.blank.close_margin_mm
    boxed = "With the usual ED" if facts.frame.ed_mm is None else "With this ED"
    for place in facts.places:
        spare = place.spare_mm
        words = {"which": boxed if place.outline is None else "With this outline"}
        if spare is not None and 0 <= spare < limit:
            yield Noticed(
                BLANK, place.eye, value=spare, limit=limit, unit="mm", limit_key="blank.close_margin_mm", words=words
            )


@rule(
    "blank-rests-on-usual-ed",
    severity="note",
    source="boxed-bounds",
    shop="The ED is not known. The blank is sure to do for the {eye} as long as the ED is no more than {value}; the usual ED of "
    "such a box is {limit}.",
    customer="The frame's longest measure was not given; the shop will confirm it.",
)
def blank_rests_on_usual_ed(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The ED is not known; with the usual one the blank is sure to do, with the box's diagonal it is not."""
    if facts.frame.ed_mm is not None:
        return
    for place in facts.places:
        margin, most_ed = place.margin_mm, place.largest_ed_mm
        if margin is not None and most_ed is not None and margin < 0 and most_ed >= facts.frame.usual_ed_mm:
            yield Noticed(BLANK, place.eye, value=most_ed, limit=facts.frame.usual_ed_mm, unit="mm")


def _short(facts: OrderFacts, place: EyePlace, limits: Limits, needed_mm: float) -> Noticed:
    return Noticed(
        BLANK,
        place.eye,
        value=place.blank_mm,
        limit=needed_mm,
        unit="mm",
        limit_key="blank.allowance_mm",
        remedies=larger_blank_than(place.best_sure_mm) + smaller_frame(facts, place, limits),
        words={"turned": ", even turned by half a turn" if place.better_turned else ""},
    )
