"""Inspect: a finished pair held against its order by a named standard. Request and answer.

Powers in D, axes and tilts in °, prism in Δ, lengths in mm. Deviations are measured less ordered.
"""

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from service.contract.answer import Assumption, Caution, Decision, Engine, Finding
from service.contract.answer_fields import EyeName, unit
from service.contract.fields import RequestModel
from service.contract.measured import Measured
from service.contract.order import EXAMPLE_ORDER, Order, PrescribedEye
from service.limits import MAX_OPEN_ORDERS

Standard = Literal["ansi-z80.1-2015", "iso-21987-2017"]
Result = Literal["pass", "review", "fail"]
CheckResult = Literal["pass", "fail", "warn", "not_judged"]

EXAMPLE_MEASURED: dict[str, Any] = {
    "right": {"sphere": -2.31, "cylinder": -0.70, "axis": 12},
    "left": {"sphere": [-2.52, -2.50], "cylinder": [-0.55, -0.52], "axis": [164, 165]},
    "optical_centre_distance_mm": 64.5,
    "optical_centre_height_mm": {"right": 22, "left": 21.5},
}
EXAMPLE_INSPECTION: dict[str, Any] = {
    "ordered": EXAMPLE_ORDER,
    "measured": EXAMPLE_MEASURED,
    "standard": "ansi-z80.1-2015",
}


class VerificationPower(RequestModel):
    """What the maker of the lenses says a lensmeter should read, where that is not the power ordered."""

    right: PrescribedEye | None = Field(default=None, description="The right lens. Left out: the power ordered.")
    left: PrescribedEye | None = Field(default=None, description="The left lens. Left out: the power ordered.")


class InspectRequest(RequestModel):
    """A finished pair that is to be judged."""

    ordered: Order = Field(description="The order, as for POST /v1/orders/check.")
    measured: Measured = Field(description="What was measured on the finished pair.")
    standard: Standard | None = Field(
        default=None,
        description="Tolerance standard and year. Left out: that of the profile, and said.",
    )
    verification: VerificationPower = Field(
        default=VerificationPower(),
        description="Verification power stated by the maker (lenses compensated for how they are worn). The bands and the "
        "comparison then use it in place of the power ordered.",
    )
    open_orders: list[Order] = Field(
        default=[],
        max_length=MAX_OPEN_ORDERS,
        description="Other orders still to be made, in which a lens that fails here might be used. Allowed: at most "
        f"{MAX_OPEN_ORDERS} orders.",
    )
    sheet_digest: str | None = Field(
        default=None,
        min_length=64,
        max_length=64,
        pattern="^[0-9a-f]{64}$",
        description="Digest of the order from the code on its bench sheet, to make sure that sheet and order belong "
        "together. Allowed: 64 characters 0-9 and a-f.",
    )

    model_config = ConfigDict(json_schema_extra={"examples": [EXAMPLE_INSPECTION]})


@dataclass(slots=True)
class OtherCriterion:
    """The second criterion of a tolerance that is met by prism or by distance."""

    deviation: Annotated[float, Field(description="Measured less ordered.")]
    limit: float
    unit: str


@dataclass(slots=True)
class InspectCheck:
    """One quantity: ordered, measured, how far apart, and how far apart it may be."""

    eye: Annotated[EyeName | None, Field(description="Null where the quantity is the pair's.")]
    quantity: Annotated[str, Field(description="Stable name of the quantity.")]
    ordered: Annotated[float | None, Field(description="As ordered, in the form that the standard compares.")]
    measured: Annotated[float, Field(description="As measured, in the same form; the mean of repeated readings.")]
    deviation: Annotated[float, Field(description="Measured less ordered; of an axis the smaller turn.")]
    limit: Annotated[float | None, Field(description="Largest deviation allowed; null where the standard sets none.")]
    unit: str
    result: Annotated[
        CheckResult,
        Field(
            description="warn: beyond a limit that is only recalled. not_judged: there is no limit, or it is only recalled "
            "and kept."
        ),
    ]
    share_of_limit: Annotated[float | None, unit("Part of the limit that is used; 1 is all of it.", "1")]
    either_or: Annotated[
        OtherCriterion | None,
        Field(description="The other criterion, where the standard has two of which either passes."),
    ]
    source: Annotated[str | None, Field(description="Where the limit was found.")]
    mark: Annotated[
        Literal["read", "memory"] | None, Field(description="Whether the limit was read there or is from memory.")
    ]
    readings: Annotated[int, unit("Number of readings that the measured figure is the mean of.", "readings")]
    spread: Annotated[float | None, Field(description="Greatest less least of repeated readings; null for one.")]


@dataclass(slots=True)
class ResidualPower:
    """The lens that would have to be added to get from what was measured to what was ordered."""

    notation: Annotated[str, Field(description="Sphere, cylinder and axis in minus-cylinder form.")]
    sphere: Annotated[float, unit("Sphere.", "D")]
    cylinder: Annotated[float, unit("Cylinder, 0 or less.", "D")]
    axis: Annotated[float | None, unit("Axis; null where there is no cylinder.", "°")]
    length: Annotated[
        float, unit("Length of its power vector, the root of M² + J0² + J45²: one figure for the whole error.", "D")
    ]


@dataclass(slots=True)
class Residuals:
    """What the errors of power do to the wearer."""

    right: ResidualPower | None
    left: ResidualPower | None
    between_eyes: Annotated[
        ResidualPower | None, Field(description="Right less left: what the two errors do to each other.")
    ]


@dataclass(slots=True)
class LikelyCause:
    """A mistake that, undone, would bring the readings within their limits or much nearer."""

    code: Literal[
        "lenses-swapped",
        "axis-off-by-90",
        "axis-mirrored",
        "sphere-sign",
        "cylinder-sign",
        "both-signs",
        "lens-upside-down",
    ]
    eye: Annotated[EyeName | None, Field(description="Null where it is about the pair.")]
    explains: Annotated[
        Literal["all", "most"],
        Field(
            description="all: with the mistake undone everything there is within its limits; most: it comes much nearer."
        ),
    ]
    before: Annotated[float, Field(description="Size of the error as measured.")]
    after: Annotated[float, Field(description="Size of the error with the mistake undone.")]
    unit: str
    message: Annotated[str, Field(description="What it would mean and how to make sure.")]


@dataclass(slots=True)
class WayToSave:
    """Something that may save a lens of a pair that failed. A person decides."""

    kind: Annotated[
        Literal["re-edge", "turn", "exchange", "other-order"],
        Field(
            description="re-edge: cut again into a smaller frame; turn: the same after half a turn; exchange: each lens cut "
            "again for the other side; other-order: use it in one of the open orders."
        ),
    ]
    eye: Annotated[EyeName | None, Field(description="The lens; null where both are meant.")]
    a_mm: Annotated[float | None, unit("Largest A of a frame of the same proportions for which it can be cut.", "mm")]
    b_mm: Annotated[float | None, unit("The B that belongs to it.", "mm")]
    dbl_mm: Annotated[float | None, unit("The DBL that belongs to it.", "mm")]
    turn_deg: Annotated[
        float | None, unit("How far the lens is turned, counter-clockwise as seen from the front.", "°")
    ]
    open_order: Annotated[int | None, unit("Position in open_orders, counted from 0.", "orders")]
    for_eye: Annotated[EyeName | None, Field(description="The eye of that order.")]
    message: str


@dataclass(slots=True)
class IfItFails:
    """What can be done with a pair that failed."""

    remake: Annotated[
        list[EyeName],
        Field(description="Lenses that have to be made anew if the pair is to have this frame, for all that is known."),
    ]
    ways: list[WayToSave]
    not_worked_out: Annotated[list[str], Field(description="What could not be worked out, and why.")]


@dataclass(slots=True)
class InspectAnswer:
    """Answer of POST /v1/bench/inspect."""

    result: Annotated[
        Result,
        Field(
            description="fail: a quantity is beyond a limit that was read. review: a person must look (something was not "
            "measured, or is beyond a limit that is only recalled). pass: neither."
        ),
    ]
    reference: str | None
    standard: Standard
    ordered_decision: Annotated[Decision, Field(description="What the check says of the order itself.")]
    order_digest: Annotated[str, Field(description="SHA-256 of the order, as on its bench sheet.")]
    checks: Annotated[list[InspectCheck], Field(description="Right lens, left lens, pair.")]
    residual: Residuals
    likely_causes: list[LikelyCause]
    if_it_fails: Annotated[IfItFails | None, Field(description="Null where nothing failed.")]
    findings: list[Finding]
    cautions: list[Caution]
    assumptions: list[Assumption]
    engine: Engine
