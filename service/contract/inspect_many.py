"""Inspect many: a batch of finished pairs, each judged by itself, and what they have in common. Request and answer."""

from copy import deepcopy
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import ConfigDict, Field

from service.contract.answer import Caution, Engine, Finding
from service.contract.answer_fields import unit
from service.contract.fields import RequestModel
from service.contract.inspect import EXAMPLE_INSPECTION, InspectCheck, InspectRequest, LikelyCause, Result
from service.limits import MAX_INSPECTED_PAIRS


def _example() -> dict[str, Any]:
    first, second = deepcopy(EXAMPLE_INSPECTION), deepcopy(EXAMPLE_INSPECTION)
    second["ordered"]["reference"] = "W-1043"
    second["measured"]["left"] = {"sphere": -2.55, "cylinder": -0.50, "axis": 171}
    return {"pairs": [first, second]}


EXAMPLE_BATCH: dict[str, Any] = _example()


class InspectManyRequest(RequestModel):
    """Finished pairs, in the order in which they were made."""

    pairs: list[InspectRequest] = Field(
        min_length=1,
        max_length=MAX_INSPECTED_PAIRS,
        description="The pairs, each as for POST /v1/bench/inspect, in the order in which they were made. Allowed: 1 to "
        f"{MAX_INSPECTED_PAIRS} pairs.",
    )

    model_config = ConfigDict(json_schema_extra={"examples": [EXAMPLE_BATCH]})


@dataclass(slots=True)
class InspectedPair:
    """One pair of the batch. What may save a pair that failed is told by POST /v1/bench/inspect."""

    index: Annotated[int, unit("Position in the request, counted from 0.", "pairs")]
    reference: str | None
    result: Result
    checks: list[InspectCheck]
    likely_causes: list[LikelyCause]
    findings: list[Finding]


@dataclass(slots=True)
class Drift:
    """Whether a deviation grows from pair to pair: the slope of the straight line that fits best."""

    per_pair: Annotated[float, Field(description="Change from one pair to the next, in the unit of the quantity.")]
    standard_error: Annotated[float, Field(description="Standard error of that change.")]
    beyond_chance: Annotated[
        bool, Field(description="Whether so steep a line would come by chance in fewer than 1 of 100 such batches.")
    ]


@dataclass(slots=True)
class QuantitySummary:
    """The deviations of one quantity over the batch, right and left lenses together; figures in its own unit."""

    quantity: str
    unit: str
    count: Annotated[int, unit("Number of lenses or pairs on which it was measured.", "lenses or pairs")]
    failed: Annotated[int, unit("How many of them are beyond a limit that was read.", "lenses or pairs")]
    mean: Annotated[float, Field(description="Mean deviation, measured less ordered.")]
    standard_deviation: Annotated[float | None, Field(description="Spread of the deviations; null for one.")]
    least: float
    greatest: float
    drift: Annotated[Drift | None, Field(description="Over the sequence of pairs; null for fewer than three pairs.")]


@dataclass(slots=True)
class InspectManyAnswer:
    """Answer of POST /v1/bench/inspect-many."""

    count: Annotated[int, unit("Number of pairs.", "pairs")]
    passed: Annotated[int, unit("Number that passed.", "pairs")]
    review: Annotated[int, unit("Number that a person must look at.", "pairs")]
    failed: Annotated[int, unit("Number that failed.", "pairs")]
    pairs: list[InspectedPair]
    summary: list[QuantitySummary]
    findings: Annotated[list[Finding], Field(description="On the batch as a whole.")]
    cautions: list[Caution]
    engine: Engine
