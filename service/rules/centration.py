"""Centration: how far the pupil sits from the middle of the lens, and prism that the wearer did not order."""

from collections.abc import Iterator

from service.facts import NEEDS_ADD, EyePlace, OrderFacts, ReadingImbalance
from service.profile.loader import Limits
from service.remedies import larger_blank_than, narrower_frame, wider_frame
from service.rules.rule import Noticed, rule
from service.words import named


@rule(
    "decentration-outward",
    severity="review",
    source="ansur2",
    shop="The pupil of the {eye} sits {value} outward of the boxed centre; up to {limit} is usual. The frame is narrow "
    "for this PD: choose a wider one, or check the PD.",
    customer="This frame is narrow for your eyes. A wider one would suit better.",
)
def decentration_outward(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The pupil sits clearly outward of the boxed centre."""
    limit = limits.profile.fit.out_unusual_mm
    for place in facts.places:
        if -place.in_mm > limit:
            yield Noticed(
                "/pd_mm",
                place.eye,
                value=-place.in_mm,
                limit=limit,
                unit="mm",
                limit_key="fit.out_unusual_mm",
                remedies=wider_frame(facts, place, limits, limit),
            )


@rule(
    "decentration-large",
    severity="review",
    source="ansur2",
    shop="The pupil of the {eye} sits {value} inward of the boxed centre; up to {limit} is usual. The frame is wide for "
    "this PD: choose a narrower one, or check the PD.",
    customer="This frame is wide for your eyes. A narrower one would suit better.",
)
def decentration_large(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The pupil sits far inward of the boxed centre."""
    limit = limits.profile.fit.in_unusual_mm
    for place in facts.places:
        if place.in_mm > limit:
            yield _inward(facts, place, limits, limit, "fit.in_unusual_mm")


@rule(
    "decentration-noticeable",
    severity="note",
    source="ansur2",
    shop="The pupil of the {eye} sits {value} inward of the boxed centre, more than {limit}. Expect a thicker outer edge "
    "in a minus lens.",
    customer="The lens of your {eye} will be thicker on one side.",
)
def decentration_noticeable(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The pupil sits noticeably inward of the boxed centre."""
    fit = limits.profile.fit
    for place in facts.places:
        if fit.in_noted_mm < place.in_mm <= fit.in_unusual_mm:
            yield _inward(facts, place, limits, fit.in_noted_mm, "fit.in_noted_mm")


@rule(
    "prism-at-pupil",
    severity="note",
    source="long-1976",
    shop="If this blank is used for the {eye} as it is sure to fit, the optical centre stops {shift} short of the pupil and "
    "makes {value} of prism there.",
    customer="With this frame the lens cannot be centred exactly before your {eye}.",
)
def prism_at_pupil(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The blank keeps the optical centre away from the pupil, which makes prism."""
    for place in facts.places:
        prism = place.pupil_prism
        if prism is not None and prism.amount_pd > 0:
            yield Noticed(
                "/lens/blank_diameter_mm",
                place.eye,
                value=prism.amount_pd,
                unit="Δ",
                # With prescribed prism the blanks are placed for both eyes at once, which one blank does not decide.
                remedies=[] if facts.rx.prescribed_prism else larger_blank_than(place.best_sure_mm),
                words={"shift": f"{prism.shift.distance_mm:.2f} mm"},
            )


@rule(
    "horizontal-prism-over-tolerance",
    severity="review",
    source="ansi-z80.1-2015",
    shop="With this blank the pair would have {value} of horizontal prism, more than {limit}, and its optical centres "
    "{off}, by {standard}. Take a larger blank or a smaller frame.",
    customer="These lenses could not be centred well enough in this frame. A smaller frame would help.",
)
def horizontal_prism_over_tolerance(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """Horizontal prism of the pair exceeds the standard, by prism and by distance."""
    pair, standard = facts.pair, facts.prism_limits
    if pair is None or not pair.horizontal_over:
        return
    yield Noticed(
        "/lens/blank_diameter_mm",
        value=abs(pair.horizontal_pd),
        limit=standard.horizontal_pd,
        unit="Δ",
        limit_from=limits.origin("tolerance.standard"),
        source=standard.source,
        remedies=larger_blank_than(max(place.best_sure_mm for place in facts.places)),
        words={
            "off": f"{abs(pair.centres_off_pd_mm):.2f} mm off the PD, more than {standard.horizontal_mm:g} mm",
            "standard": named(standard),
        },
    )


@rule(
    "vertical-prism-over-tolerance",
    severity="review",
    source="ansi-z80.1-2015",
    shop="With this blank the pair would have {value} of vertical prism, more than {limit}, and its optical centres "
    "{off}, by {standard}. Take a larger blank or a smaller frame.",
    customer="These lenses could not be centred well enough in this frame. A smaller frame would help.",
)
def vertical_prism_over_tolerance(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """Vertical prism of the pair exceeds the standard, by prism and by distance."""
    pair, standard = facts.pair, facts.prism_limits
    if pair is None or not pair.vertical_over:
        return
    yield Noticed(
        "/lens/blank_diameter_mm",
        value=abs(pair.vertical_pd),
        limit=standard.vertical_pd,
        unit="Δ",
        limit_from=limits.origin("tolerance.standard"),
        source=standard.source,
        remedies=larger_blank_than(max(place.best_sure_mm for place in facts.places)),
        words={
            "off": f"{abs(pair.centres_off_height_mm):.2f} mm apart in height beyond the order, more than "
            f"{standard.vertical_mm:g} mm",
            "standard": named(standard),
        },
    )


@rule(
    "vertical-imbalance-when-reading",
    severity="review",
    source="2020-slab-off",
    shop="Looking {level} below the optical centres the eyes meet a vertical imbalance of {value}; from {limit} a slab-off "
    "or separate reading glasses are usually considered. Ask the prescriber.",
    customer="With lenses this different, reading through the lower part can be uncomfortable. The shop will advise you.",
)
def vertical_imbalance_when_reading(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """A pair with a reading part makes a large vertical imbalance at the reading level."""
    reading, limit = facts.reading, limits.profile.prism.imbalance_unusual_pd
    if reading is None or facts.useful_eyes != "both":
        return
    if reading.amount_pd >= limit and facts.lens.use in NEEDS_ADD:
        yield _imbalance(reading, limit, "prism.imbalance_unusual_pd")


@rule(
    "vertical-imbalance",
    severity="note",
    source="nhanes-lensometry",
    shop="Looking {level} below the optical centres the eyes meet a vertical imbalance of {value}; beyond {limit} it is "
    "uncommon. Ask how the wearer got on with such a pair.",
    customer="Looking through the lower part of these lenses may feel uneven at first.",
)
def vertical_imbalance(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The eyes meet different vertical prism below the optical centres."""
    reading, prism = facts.reading, limits.profile.prism
    if reading is None or facts.useful_eyes != "both" or reading.amount_pd <= prism.imbalance_noted_pd:
        return
    if facts.lens.use not in NEEDS_ADD or reading.amount_pd < prism.imbalance_unusual_pd:
        yield _imbalance(reading, prism.imbalance_noted_pd, "prism.imbalance_noted_pd")


@rule(
    "prescribed-prism-not-in-fit",
    severity="review",
    source="house",
    shop="Prism is prescribed ({value} right, {limit} left). The margins of this answer leave it out: a person must "
    "decide how it is made, and what blank that needs.",
    customer="Your prescription has prism. The shop will work out how your lenses are made.",
)
def prescribed_prism_not_in_fit(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """Prism is prescribed; how it is made changes the blank that is needed."""
    if facts.rx.prescribed_prism:
        yield Noticed(
            "/prescription", value=facts.rx.right.prism_amount_pd, limit=facts.rx.left.prism_amount_pd, unit="Δ"
        )


def _inward(facts: OrderFacts, place: EyePlace, limits: Limits, limit_mm: float, key: str) -> Noticed:
    return Noticed(
        "/pd_mm",
        place.eye,
        value=place.in_mm,
        limit=limit_mm,
        unit="mm",
        limit_key=key,
        remedies=narrower_frame(facts, place, limits, limit_mm),
    )


def _imbalance(reading: ReadingImbalance, limit_pd: float, key: str) -> Noticed:
    return Noticed(
        "/prescription",
        value=reading.amount_pd,
        limit=limit_pd,
        unit="Δ",
        limit_key=key,
        words={"level": f"{reading.level_mm:g} mm"},
    )
