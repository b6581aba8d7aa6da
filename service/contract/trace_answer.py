"""What is answered on a trace file."""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from service.contract.answer import Assumption, Caution, Decision, Engine, Finding
from service.contract.answer_fields import unit
from service.contract.placement import OutlineSizes


@dataclass(slots=True)
class OutlineRead:
    """An outline in one of the two forms."""

    radii_mm: Annotated[list[float] | None, unit("Radii at equal angles; null where points were read.", "mm")]
    points_mm: Annotated[list[list[float]] | None, unit("Points x, y; null where radii were read.", "mm")]


@dataclass(slots=True)
class TraceRead:
    """The outline, to be put under frame.trace of an order."""

    right: OutlineRead | None
    left: OutlineRead | None


@dataclass(slots=True)
class TraceAnswer:
    """Answer of POST /v1/traces/read."""

    decision: Decision
    form: Annotated[
        Literal["radii", "points"] | None, Field(description="What the file holds; null if it was not read.")
    ]
    outline: Annotated[OutlineSizes | None, Field(description="Its sizes; null where it cannot be relied on.")]
    trace: Annotated[TraceRead | None, Field(description="As read, to be put under frame.trace of an order.")]
    findings: list[Finding]
    cautions: list[Caution]
    assumptions: list[Assumption]
    engine: Engine
