"""A batch of finished pairs: each judged by itself, and what their deviations have in common. No web here."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from service import answers_inspection
from service.checking import cautions, engine, found_within
from service.contract.inspect_many import Drift, InspectedPair, InspectManyAnswer, InspectManyRequest, QuantitySummary
from service.facts_batch import BatchFacts, BatchQuantity, batch_facts
from service.inspecting import Inspected, inspected
from service.profile.loader import Limits
from service.quantities import quantity
from service.rounding import for_display, shown_if_any
from service.rules.registry import batch_findings


@dataclass(frozen=True, slots=True)
class Batch:
    """The pairs as they were judged, and their quantities over the sequence."""

    pairs: tuple[Inspected, ...]
    facts: BatchFacts


def inspect_many(request: InspectManyRequest, limits: Limits, today: date) -> InspectManyAnswer:
    """Judge every pair of a batch, and sum them up."""
    batch = batch_of(request, limits, today)
    counted = Counter(one.result for one in batch.pairs)
    return InspectManyAnswer(
        count=len(batch.pairs),
        passed=counted["pass"],
        review=counted["review"],
        failed=counted["fail"],
        pairs=list(_pairs(batch.pairs)),
        summary=[_summary(one) for one in batch.facts.quantities],
        findings=batch_findings(batch.facts, limits),
        cautions=cautions(limits),
        engine=engine(limits),
    )


def batch_of(request: InspectManyRequest, limits: Limits, today: date) -> Batch:
    """The pairs of a batch, judged."""
    pairs = tuple(inspected(one, limits, today) for one in request.pairs)
    return Batch(pairs, batch_facts([one.facts.judged for one in pairs]))


def _pairs(pairs: Sequence[Inspected]) -> Iterator[InspectedPair]:
    for index, one in enumerate(pairs):
        yield InspectedPair(
            index=index,
            reference=one.ready.order.reference,
            result=one.result,
            checks=answers_inspection.checks(one.facts),
            likely_causes=answers_inspection.causes(one.facts),
            findings=[found_within(found, f"/pairs/{index}") for found in one.findings],
        )


def _summary(one: BatchQuantity) -> QuantitySummary:
    series, drift = one.series, one.drift
    return QuantitySummary(
        quantity=one.quantity,
        unit=quantity(one.quantity).unit,
        count=series.count,
        failed=one.failed,
        mean=for_display(series.mean),
        standard_deviation=shown_if_any(series.spread),
        least=for_display(series.least),
        greatest=for_display(series.greatest),
        drift=None
        if drift.per_step is None or drift.standard_error is None
        else Drift(for_display(drift.per_step), for_display(drift.standard_error), drift.notable),
    )
