"""A batch of finished pairs: the deviations of each quantity, one after another."""

from collections.abc import Sequence
from dataclasses import dataclass

from optics_core.series import Drift, Series, drift, summary
from service.facts_judged import Judged
from service.quantities import OF_A_LENS, OF_THE_PAIR

_LEAST_CHANCE = 0.01


@dataclass(frozen=True, slots=True)
class Deviation:
    """One quantity of one pair. `number` is its place in the batch, counted from 0."""

    number: int
    judged: Judged


@dataclass(frozen=True, slots=True)
class BatchQuantity:
    """The deviations of one quantity: over all lenses, and from pair to pair (the mean of both eyes)."""

    quantity: str
    deviations: tuple[Deviation, ...]
    series: Series
    drift: Drift
    failed: int


@dataclass(frozen=True, slots=True)
class BatchFacts:
    """Every quantity that was measured on a pair of the batch."""

    quantities: tuple[BatchQuantity, ...]


def batch_facts(pairs: Sequence[Sequence[Judged]]) -> BatchFacts:
    """The quantities of a batch, in the order in which an inspection lists them."""
    found: dict[str, list[Deviation]] = {name: [] for name in (*OF_A_LENS, *OF_THE_PAIR)}
    for number, judged in enumerate(pairs):
        for one in judged:
            found[one.quantity].append(Deviation(number, one))
    measured = {name: deviations for name, deviations in found.items() if deviations}
    # Many lines looked at together: each must be the less likely to come by chance.
    most = _LEAST_CHANCE / max(1, len(measured))
    return BatchFacts(tuple(_quantity(name, deviations, most) for name, deviations in measured.items()))


def _quantity(name: str, deviations: Sequence[Deviation], most_chance: float) -> BatchQuantity:
    by_pair: dict[int, list[float]] = {}
    for one in deviations:
        by_pair.setdefault(one.number, []).append(one.judged.deviation)
    return BatchQuantity(
        quantity=name,
        deviations=tuple(deviations),
        series=summary([one.judged.deviation for one in deviations]),
        # By the place of each pair: on some it may not have been measured, and the slope is from pair to pair.
        drift=drift([summary(both).mean for both in by_pair.values()], places=list(by_pair), most_chance=most_chance),
        failed=sum(one.judged.result == "fail" for one in deviations),
    )
