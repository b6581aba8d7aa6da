"""Doubts about an inspection: each reading may be within its limits, and still something does not fit together."""

from collections.abc import Iterator

from service.facts_inspection import InspectionFacts
from service.profile.loader import Limits
from service.quantities import quantity
from service.rules.inspection import MEASURED_AGAIN
from service.rules.rule import Noticed, rule


@rule(
    "verification-power-far-from-order",
    severity="review",
    source="common-practice",
    scope="inspect",
    shop="The verification power stated for the {eye} lies {value} from the order as one figure; from {limit} on a person makes "
    "sure that it is from the slip of these very lenses. The readings are held against it, and no more against the order.",
    customer=MEASURED_AGAIN,
)
def verification_power_far_from_order(facts: InspectionFacts, limits: Limits) -> Iterator[Noticed]:
    """The verification power lies farther from the order than wearing can explain."""
    limit = limits.profile.inspection.verification_differs_d
    for one in facts.far_verification:
        if one.what == "power" and one.differs >= limit:
            yield Noticed(
                f"/verification/{one.eye}",
                one.eye,
                value=one.differs,
                limit=limit,
                unit="D",
                is_amount=True,
                limit_key="inspection.verification_differs_d",
            )


@rule(
    "verification-prism-far-from-order",
    severity="review",
    source="common-practice",
    scope="inspect",
    shop="The prism stated with the verification power of the {eye} lies {value} from what is ordered; from {limit} on a person "
    "makes sure that it is from the slip of these very lenses.",
    customer=MEASURED_AGAIN,
)
def verification_prism_far_from_order(facts: InspectionFacts, limits: Limits) -> Iterator[Noticed]:
    """The prism stated with the verification power lies farther from the order than wearing can explain."""
    limit = limits.profile.inspection.verification_prism_differs_pd
    for one in facts.far_verification:
        if one.what == "prism" and one.differs >= limit:
            yield Noticed(
                f"/verification/{one.eye}/prism",
                one.eye,
                value=one.differs,
                limit=limit,
                unit="Δ",
                is_amount=True,
                limit_key="inspection.verification_prism_differs_pd",
            )


@rule(
    "readings-contradict",
    severity="review",
    source="house",
    scope="inspect",
    shop="The {what} was read within its limits at the reference points; by the optical centres that were measured it would be "
    "{value} off, where {limit} is allowed. One of the two readings is not right. Measure both again.",
    customer=MEASURED_AGAIN,
)
def readings_contradict(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """Prism that was read and optical centres that were measured do not belong to the same lenses."""
    for one in facts.contradicted:
        yield Noticed(
            one.pointer,
            value=abs(one.deviation),
            limit=one.limit,
            unit=one.unit,
            is_amount=True,
            words={"what": quantity(one.quantity).words},
        )


@rule(
    "centre-far-from-middle",
    severity="review",
    source="common-practice",
    scope="inspect",
    shop="No fitting height was ordered, and the optical centre of the {eye} lies {value} from the middle of the lens's height; "
    "from {limit} on a person looks. Both centres equally high says nothing of where the eyes are.",
    customer=MEASURED_AGAIN,
)
def centre_far_from_middle(facts: InspectionFacts, limits: Limits) -> Iterator[Noticed]:
    """An optical centre lies far from the middle of the height, and no fitting height was ordered."""
    limit = limits.profile.inspection.centre_off_middle_mm
    for one in facts.far_centres:
        if one.off_mm >= limit:
            yield Noticed(
                f"/measured/optical_centre_height_mm/{one.eye}",
                one.eye,
                value=one.off_mm,
                limit=limit,
                unit="mm",
                limit_key="inspection.centre_off_middle_mm",
            )


@rule(
    "inspected-order-under-review",
    severity="note",
    source="house",
    scope="inspect",
    shop="The check asks for a person about the order itself ({codes}). This inspection says only whether the pair is like its "
    "order. Make sure that these questions were answered.",
    customer="Your glasses were measured before they are sent.",
)
def inspected_order_under_review(facts: InspectionFacts, _: Limits) -> Iterator[Noticed]:
    """The check has questions about the order that a finished pair is held against."""
    if facts.ordered_decision == "review":
        yield Noticed("/ordered", words={"codes": ", ".join(facts.ordered_codes)})
