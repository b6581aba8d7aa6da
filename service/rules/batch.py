"""A batch of finished pairs: whether a deviation grows from pair to pair, or all pairs lie off to one side."""

from collections.abc import Iterator

from service.facts_batch import BatchFacts
from service.profile.loader import Limits
from service.quantities import quantity
from service.rules.rule import Noticed, rule, shown


@rule(
    "deviation-drifts",
    severity="note",
    source="derived",
    scope="inspect-many",
    shop="The {what} drifts by {value} from pair to pair, more than chance explains. Look at the machine: a wheel that wears, a "
    "block or a lensmeter that has moved.",
    customer="Your glasses were measured before they are sent.",
)
def deviation_drifts(facts: BatchFacts, _: Limits) -> Iterator[Noticed]:
    """A deviation grows or falls from pair to pair by more than chance explains."""
    for one in facts.quantities:
        if one.drift.notable and one.drift.per_step is not None:
            what = quantity(one.quantity)
            slope = shown(one.drift.per_step, what.unit, 3)
            yield Noticed(
                "/pairs", value=one.drift.per_step, unit=what.unit, words={"what": what.words, "value": slope}
            )
