"""A comparison itself: what of it could not be carried out. The rows are judged by the rules of an order."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.contract.answer import Remedy
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@dataclass(frozen=True, slots=True)
class CompareFacts:
    """What was asked for and what of it could be compared. `unknown` holds places in the request, and the names there."""

    unknown: tuple[tuple[int, str], ...]
    stocked: tuple[str, ...]
    rows_wanted: int
    rows_most: int


@rule(
    "compare-material-not-known",
    severity="review",
    source="house",
    scope="compare",
    shop="The material {value} was named for the comparison and is not known here, so it was left out. "
    "GET /v1/reference/materials lists the names.",
    customer="One of the lens materials is not known to us. Please choose one from the list.",
)
def compare_material_not_known(facts: CompareFacts, _: Limits) -> Iterator[Noticed]:
    """A material that was named for a comparison is not in the table."""
    for place, name in facts.unknown:
        pointer = f"/materials/{place}"
        yield Noticed(pointer, value=name, remedies=[Remedy(pointer, one_of=list(facts.stocked))])


@rule(
    "compare-rows-left-out",
    severity="review",
    source="house",
    scope="compare",
    shop="These materials come on {value} blanks, and {limit} are compared at most: the rest, from the end of the list, was left "
    "out. Name fewer materials.",
    customer="We could not compare all of our lenses at once. Please choose fewer materials.",
)
def compare_rows_left_out(facts: CompareFacts, _: Limits) -> Iterator[Noticed]:
    """A comparison asks for more rows than are worked out at once."""
    if facts.rows_wanted > facts.rows_most:
        yield Noticed("/materials", value=float(facts.rows_wanted), limit=float(facts.rows_most))
