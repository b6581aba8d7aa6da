"""A finished pair against its order: what is beyond its limits, what could not be judged, and what a person should see."""

from collections.abc import Iterator

from service.facts_inspection import InspectionFacts, Judged, residual_words
from service.profile.loader import Limits
from service.quantities import quantity
from service.rules.rule import Noticed, rule, shown, shown_apart

MEASURED_AGAIN = "Your glasses are being measured again before they are sent."


def _limit_words(one: Judged) -> str:
    """The limit, or the two of which either passes."""
    limit = shown_apart(abs(one.deviation), one.limit, one.unit, signed=False)[1]
    if one.other is None:
        return f"{limit} is allowed"
    other = shown_apart(abs(one.other.deviation), one.other.limit, one.other.unit, signed=False)[1]
    return f"{limit} or, in the other reckoning, {other} is allowed"


def _apart_words(one: Judged) -> str:
    """How far it is off, with as many decimals as it takes to tell that from the limit."""
    apart = shown_apart(abs(one.deviation), one.limit, one.unit, signed=False)[0]
    if one.other is None:
        return apart
    return f"{apart} ({shown_apart(abs(one.other.deviation), one.other.limit, one.other.unit, signed=False)[0]})"


def _what(one: Judged) -> str:
    """The quantity, and whose lens it is of."""
    lens = f"{one.eye} lens, " if one.eye else ""
    return f"{lens}{quantity(one.quantity).words}".capitalize()


def _beyond(one: Judged, facts: InspectionFacts) -> Noticed:
    ordered = "" if one.ordered is None else f", ordered {shown(one.ordered, one.unit)}"
    return Noticed(
        one.pointer,
        one.eye,
        value=abs(one.deviation),
        limit=one.limit,
        unit=one.unit,
        is_amount=True,
        source=one.source,
        words={
            "what": _what(one),
            "figures": f"measured {shown(one.measured, one.unit)}{ordered}",
            "apart": _apart_words(one),
            "allowed": _limit_words(one),
            "standard": facts.standard_words,
        },
    )


@rule(
    "beyond-tolerance",
    severity="reject",
    source="ansi-z80.1-2015",
    scope="inspect",
    shop="{what}: {figures}. That is {apart} off; {allowed} by {standard}. Measure again; if it stays so, the pair does not "
    "pass.",
    customer="Your glasses are not yet as exact as they should be, so we are working on them again.",
)
def beyond_tolerance(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """A quantity of the finished pair is beyond a limit of the standard."""
    for one in facts.judged:
        if one.result == "fail":
            yield _beyond(one, facts)


@rule(
    "lenses-off-alike",
    severity="review",
    source="house",
    scope="inspect",
    shop="The {direction} prism of the {eye} alone is {value} off; {allowed} by {standard} for the two lenses together. The "
    "other lens makes up for it, so that the pair keeps to its limit, and both eyes are led the same way. Let a person decide.",
    customer=MEASURED_AGAIN,
)
def lenses_off_alike(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """One lens is off by more than the pair may be, and the other makes up for it."""
    for one in facts.off_alike:
        alone = one.alone
        allowed = shown_apart(abs(alone.prism_pd), alone.limit_pd, "Δ", signed=False)[1]
        if alone.off_mm is not None:
            allowed += f", or {shown(alone.limit_mm, 'mm', signed=False)},"
        yield Noticed(
            one.pointer,
            one.eye,
            value=abs(alone.prism_pd),
            limit=alone.limit_pd,
            unit="Δ",
            is_amount=True,
            words={
                "direction": alone.direction,
                "allowed": f"{allowed} is allowed",
                "standard": facts.standard_words,
            },
        )


@rule(
    "sheet-of-another-order",
    severity="review",
    source="house",
    scope="inspect",
    shop="The code on the bench sheet is that of another order, or the order was changed after the sheet was printed. Find the "
    "right sheet before this pair is judged.",
    customer=MEASURED_AGAIN,
)
def sheet_of_another_order(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """The digest on the bench sheet is not that of the order."""
    if facts.digest_differs:
        yield Noticed("/sheet_digest")


@rule(
    "inspected-order-rejected",
    severity="review",
    source="house",
    scope="inspect",
    shop="The order itself is rejected by the check. Settle that first: a pair that is like such an order need not be right.",
    customer="There is a question about your order. We will get in touch.",
)
def inspected_order_rejected(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """The check rejects the order that a finished pair is held against."""
    if facts.ordered_decision == "reject":
        yield Noticed("/ordered")


@rule(
    "verification-power-unusable",
    severity="review",
    source="house",
    scope="inspect",
    shop="The verification power of the {eye} cannot be read: its cylinder has no axis between 1 and 180, or a figure is out of "
    "reach. Copy it anew from the maker's slip.",
    customer=MEASURED_AGAIN,
)
def verification_power_unusable(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """The verification power that the maker states cannot be used."""
    for eye in facts.verification_faults:
        yield Noticed(f"/verification/{eye}", eye)


@rule(
    "beyond-recalled-tolerance",
    severity="review",
    source="memory",
    scope="inspect",
    shop="{what}: {figures}. That is {apart} off, and {allowed} by {standard} as it is recalled here; the table itself was not "
    "read, so this neither passes nor fails the pair. Look the limit up in the standard.",
    customer=MEASURED_AGAIN,
)
def beyond_recalled_tolerance(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """A quantity of the finished pair is beyond a limit that is known from memory only."""
    for one in facts.judged:
        if one.result == "warn":
            yield _beyond(one, facts)


@rule(
    "not-measured",
    severity="review",
    source="house",
    scope="inspect",
    shop="{what} was not measured, or cannot be held against this order. The pair cannot pass without it.{how}",
    customer=MEASURED_AGAIN,
)
def not_measured(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """Something that belongs to an inspection was not measured."""
    for one in facts.missing:
        lens = f"{one.eye} lens: " if one.eye else ""
        yield Noticed(
            one.pointer, one.eye, words={"what": f"{lens}{one.words}".capitalize(), "how": f" {one.how}".rstrip()}
        )


@rule(
    "readings-apart",
    severity="review",
    source="house",
    scope="inspect",
    shop="{what}: the repeated readings lie {value} apart, and only {limit} is allowed between lens and order. Their mean says "
    "little; measure again.",
    customer=MEASURED_AGAIN,
)
def readings_apart(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """Repeated readings differ by more than the limit that they are to be held against."""
    for one in facts.judged:
        if one.spread_share is not None and one.spread_share > 1:
            yield Noticed(
                one.pointer,
                one.eye,
                value=one.spread,
                limit=one.limit,
                unit=one.unit,
                is_amount=True,
                source=one.source,
                words={"what": _what(one)},
            )


@rule(
    "reading-without-sphere",
    severity="review",
    source="house",
    scope="inspect",
    shop="A cylinder or an axis was read for the {eye}, and no sphere. Write down all three figures of one reading.",
    customer=MEASURED_AGAIN,
)
def reading_without_sphere(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """A measured cylinder or axis stands without a sphere."""
    yield from _faulty(facts, "sphere-missing")


@rule(
    "reading-without-axis",
    severity="review",
    source="house",
    scope="inspect",
    shop="A cylinder was read for the {eye}, and no axis. Without it the power cannot be compared; write down the axis too.",
    customer=MEASURED_AGAIN,
)
def reading_without_axis(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """A measured cylinder has no axis."""
    yield from _faulty(facts, "axis-missing")


@rule(
    "reading-axis-out-of-range",
    severity="review",
    source="iso-8429",
    scope="inspect",
    shop="Axis {value} was read for the {eye}. An axis lies between 0 and 180. Check the figure.",
    customer=MEASURED_AGAIN,
)
def reading_axis_out_of_range(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """A measured axis lies outside 0 to 180."""
    yield from _faulty(facts, "axis-range")


@rule(
    "readings-do-not-pair",
    severity="review",
    source="house",
    scope="inspect",
    shop="The repeated readings of the {eye} do not belong together: sphere, cylinder and axis need the same number of figures, "
    "or one figure that holds for all.",
    customer=MEASURED_AGAIN,
)
def readings_do_not_pair(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """Repeated readings of sphere, cylinder and axis differ in number."""
    yield from _faulty(facts, "counts-differ")


def _faulty(facts: InspectionFacts, kind: str) -> Iterator[Noticed]:
    for fault in facts.faults:
        if fault.kind == kind:
            yield Noticed(fault.pointer, fault.eye, value=fault.value, unit=None if fault.value is None else "°")


@rule(
    "power-by-recalled-limits-only",
    severity="review",
    source="memory",
    scope="inspect",
    shop="The power of the {eye} is within the limits of {standard} as they are recalled here, and none of them was read. That "
    "passes no lens. Look the limits up in the standard, or inspect by another one.",
    customer=MEASURED_AGAIN,
)
def power_by_recalled_limits_only(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """No power of a lens was held against a limit that was read, and the lens is not exact."""
    for eye in facts.by_recalled_limits_only:
        yield Noticed("/standard", eye, words={"standard": facts.standard_words})


@rule(
    "limits-recalled",
    severity="note",
    source="memory",
    scope="inspect",
    shop="These were held against limits of {standard} that are recalled and were not read: {what}. They are within them, which "
    "is no proof that they pass. Look the limits up in the standard.",
    customer="Your glasses were measured before they are sent.",
)
def limits_recalled(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """Some quantities are within limits that are known from memory only."""
    recalled = dict.fromkeys(
        quantity(one.quantity).words for one in facts.judged if one.mark == "memory" and one.result == "not_judged"
    )
    if recalled:
        yield Noticed("/standard", words={"standard": facts.standard_words, "what": ", ".join(recalled)})


@rule(
    "residual-power",
    severity="note",
    source="thibos-1997",
    scope="inspect",
    shop="All that is off in the power of the {eye} together leaves {power} uncorrected, {value} as one figure; it is told from "
    "{limit} on. Each figure may be within its own limit and the sum still be noticed.",
    customer="Your glasses were measured before they are sent.",
)
def residual_power(facts: InspectionFacts, limits: Limits) -> Iterator[Noticed]:
    """What is off in the power of one lens reaches a noticeable size together."""
    limit = limits.profile.inspection.residual_noted_d
    for eye, left_over in facts.residuals:
        if left_over.length_d >= limit:
            yield Noticed(
                f"/measured/{eye}",
                eye,
                value=left_over.length_d,
                limit=limit,
                unit="D",
                is_amount=True,
                limit_key="inspection.residual_noted_d",
                words={"power": residual_words(left_over)},
            )


@rule(
    "residuals-opposed",
    severity="note",
    source="thibos-1997",
    scope="inspect",
    shop="The two lenses are off in power differently, by {value} between them ({power}, right less left), told from "
    "{limit} on. The eyes then work against each other although each lens may be within its limits.",
    customer="Your glasses were measured before they are sent.",
)
def residuals_opposed(facts: InspectionFacts, limits: Limits) -> Iterator[Noticed]:
    """What is off in the powers of the two lenses differs noticeably."""
    limit, between = limits.profile.inspection.between_eyes_noted_d, facts.residual_between
    if between is not None and between.length_d >= limit:
        yield Noticed(
            "/measured",
            value=between.length_d,
            limit=limit,
            unit="D",
            is_amount=True,
            limit_key="inspection.between_eyes_noted_d",
            words={"power": residual_words(between)},
        )
