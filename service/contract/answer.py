"""What the service answers: plain slots dataclasses, written straight to bytes.

Lengths in mm, powers in D, prism in Δ, angles in °. Figures worked out by the service are rounded to four decimals
for display; every comparison was made on the unrounded figures, which the findings quote.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from service.contract.answer_fields import EyeName
from service.contract.answer_fields import unit as _unit
from service.contract.near import NearAnswer
from service.contract.placement import LargestFrame, OutlineSizes, Placement, Shift, Slack, Tightest
from service.contract.prescribed import PrescribedPrismAnswer
from service.contract.stock import Stock
from service.contract.thickness import ThicknessAnswer
from service.contract.worn import MagnificationAnswer, WornAnswer

Severity = Literal["reject", "review", "note"]
Decision = Literal["accept", "review", "reject"]


@dataclass(slots=True)
class Remedy:
    """A change that would take the finding away, the rest of the order being the same.

    For /frame/a_mm the change means another frame of the same proportions (B, ED and a traced outline grow and shrink with
    A), with the pupil as far above its middle.
    """

    pointer: Annotated[str, Field(description="JSON Pointer to the member of the request to change.")]
    at_least: Annotated[
        float | None,
        Field(
            description="This value and every greater one is sure to do; where the lens shape is not known, less may do too."
        ),
    ] = None
    at_most: Annotated[
        float | None,
        Field(
            description="This value and every smaller one is sure to do; where the lens shape is not known, more may do too."
        ),
    ] = None
    one_of: Annotated[list[str] | list[float] | None, Field(description="Values that do.")] = None


@dataclass(slots=True)
class Finding:
    """One thing that was noticed, with the figures compared, unrounded."""

    code: Annotated[str, Field(description="Stable code; GET /v1/reference/rules lists all.")]
    severity: Severity
    eye: Annotated[EyeName | None, Field(description="Eye concerned, where it is one.")]
    pointer: Annotated[str, Field(description="JSON Pointer to the member of the request concerned.")]
    message: Annotated[str, Field(description="For the shop.")]
    customer_message: Annotated[str, Field(description="For the person at the order form.")]
    value: Annotated[float | str | None, Field(description="Figure that was compared, unrounded.")]
    limit: Annotated[float | str | None, Field(description="Figure it was compared with, unrounded.")]
    unit: Annotated[str | None, Field(description="Unit of value and limit.")]
    source: Annotated[str, Field(description="What the rule rests on.")]
    limit_from: Annotated[str | None, Field(description="Where the limit was set: request, profile or standard.")]
    remedies: Annotated[list[Remedy], Field(description="Changes that would take the finding away, each by itself.")]
    span: Annotated[
        list[int] | None,
        Field(
            description="Start and end of the place in a written prescription, counted in characters from 0.",
            min_length=2,
            max_length=2,
        ),
    ]


@dataclass(slots=True)
class Caution:
    """A caution that stands on every answer."""

    code: str
    message: str
    source: str


@dataclass(slots=True)
class Assumption:
    """A default that was used because the request left it out."""

    pointer: Annotated[str, Field(description="JSON Pointer to the member that was left out.")]
    value: Annotated[float | str, Field(description="Value taken in its place.")]
    reason: str


@dataclass(slots=True)
class Engine:
    """What produced the answer."""

    version: str
    rules: Annotated[str, Field(description="Number of rules and digest of their list.")]
    profile: Annotated[str, Field(description="Name and digest of the profile.")]


@dataclass(slots=True)
class SpheroCylinder:
    """Sphere, cylinder and axis."""

    sphere: Annotated[float, _unit("Sphere.", "D")]
    cylinder: Annotated[float, _unit("Cylinder; 0 where there is none.", "D")]
    axis: Annotated[float | None, _unit("Axis, 1 to 180; null where there is no cylinder.", "°")]


@dataclass(slots=True)
class PowerVector:
    """Power vector after Thibos, Wheeler and Horner."""

    m: Annotated[float, _unit("Spherical equivalent.", "D")]
    j0: Annotated[float, _unit("Cross-cylinder at 180 and 90.", "D")]
    j45: Annotated[float, _unit("Cross-cylinder at 45 and 135.", "D")]


@dataclass(slots=True)
class Meridian:
    """A principal meridian."""

    axis: Annotated[float, _unit("Meridian.", "°")]
    power: Annotated[float, _unit("Power along it.", "D")]


@dataclass(slots=True)
class PrismBase:
    """Prism with its base."""

    amount: Annotated[float, _unit("Amount.", "Δ")]
    base: Annotated[float, _unit("Direction of the base, counter-clockwise as seen from the front.", "°")]


@dataclass(slots=True)
class EyeReading:
    """One eye's prescription as it was understood. Derived forms are null where a finding says they cannot be had."""

    notation: Annotated[str, Field(description="As written: sphere, cylinder, axis of three digits.")]
    minus_cylinder: SpheroCylinder | None
    plus_cylinder: SpheroCylinder | None
    spherical_equivalent: Annotated[float | None, _unit("Spherical equivalent.", "D")]
    power_vector: PowerVector | None
    meridians: Annotated[list[Meridian] | None, Field(description="Principal meridians; both alike for a sphere.")]
    add: Annotated[float | None, _unit("Reading addition.", "D")]
    prism: Annotated[PrismBase | None, Field(description="Prescribed prism, its components added.")]


@dataclass(slots=True)
class PrescriptionReading:
    """The prescription as it was understood."""

    right: EyeReading
    left: EyeReading


@dataclass(slots=True)
class MinimumBlank:
    """Bounds on the least blank diameter."""

    at_least: Annotated[float, _unit("No lens shape with these boxed sizes can do with less.", "mm")]
    expected: Annotated[float, _unit("For a modelled outline of these boxed sizes.", "mm")]
    at_most: Annotated[float, _unit("Enough for every lens shape with these boxed sizes.", "mm")]
    basis: Annotated[
        Literal["boxed", "boxed-without-ed", "trace"],
        Field(
            description="boxed: A, B, DBL and ED; boxed-without-ed: ED unknown, the box's diagonal bounds it; trace: the "
            "traced outline, and the three are one exact figure."
        ),
    ]
    allowance_mm: Annotated[float, _unit("Included for chipping and handling, on the diameter.", "mm")]
    bevel_mm: Annotated[float, _unit("Included for a bevel that stands outside the trace, all round.", "mm")]


@dataclass(slots=True)
class EyeFit:
    """How one lens sits in the frame and on its blank."""

    pd_mm: Annotated[float, _unit("PD of this eye.", "mm")]
    decentration_mm: Annotated[Shift, Field(description="From the boxed centre to the centration point.")]
    minimum_blank_mm: MinimumBlank | None
    blank_mm: Annotated[float | None, _unit("Blank considered; null where none is known.", "mm")]
    margin_mm: Annotated[float | None, _unit("What is guaranteed: blank less at_most.", "mm")]
    largest_ed_mm: Annotated[
        float | None, _unit("Largest ED for which this blank is sure to do; null with a trace.", "mm")
    ]
    outline: Annotated[OutlineSizes | None, Field(description="The traced outline; null without a trace.")]
    tightest: Annotated[Tightest | None, Field(description="Null without a trace or a blank.")]
    placement: Annotated[
        Placement | None, Field(description="Null where the blank lies as it should, for all that is known.")
    ]
    centration_slack_mm: Annotated[Slack | None, Field(description="Null where the power cannot be relied on.")]


@dataclass(slots=True)
class Fit:
    """How the pair sits in the frame."""

    frame_pd_mm: Annotated[float, _unit("Distance between the boxed centres, A + DBL.", "mm")]
    right: EyeFit | None
    left: EyeFit | None
    largest_frame: LargestFrame | None


@dataclass(slots=True)
class EyePrism:
    """Prism at one pupil if the blank keeps the optical centre from reaching it."""

    shift_mm: Annotated[
        Shift, Field(description="From the pupil to the nearest place of the optical centre, or to the one advised.")
    ]
    distance_mm: Annotated[float, _unit("Length of that way.", "mm")]
    horizontal: Annotated[float, _unit("Horizontal prism; base in is positive, base out negative.", "Δ")]
    vertical: Annotated[float | None, _unit("Vertical prism; base up is positive; null without a height.", "Δ")]


@dataclass(slots=True)
class PairPrism:
    """Prism of the pair against the tolerance standard. It passes by the prism limit or by the mm limit."""

    horizontal: Annotated[float, _unit("Sum of both eyes; base in is positive.", "Δ")]
    horizontal_limit: Annotated[float, _unit("Limit of the standard.", "Δ")]
    centres_off_pd_mm: Annotated[float, _unit("Distance of the optical centres less the PD.", "mm")]
    centres_off_pd_limit_mm: Annotated[float, _unit("Limit of the standard.", "mm")]
    vertical: Annotated[float | None, _unit("Right less left; base up is positive.", "Δ")]
    vertical_limit: Annotated[float, _unit("Limit of the standard.", "Δ")]
    centres_off_height_mm: Annotated[
        float | None,
        _unit("Heights of the optical centres, right less left, beyond those ordered; null without.", "mm"),
    ]
    centres_off_height_limit_mm: Annotated[float, _unit("Limit of the standard.", "mm")]
    standard: str


@dataclass(slots=True)
class ReadingLevel:
    """Vertical imbalance of the pair below the optical centres."""

    imbalance: Annotated[float, _unit("Amount.", "Δ")]
    level_mm: Annotated[float, _unit("Depth below the optical centres.", "mm")]


@dataclass(slots=True)
class GazePrism:
    """Prism between the eyes when both look aside from the optical centres, because the lenses differ."""

    gaze: Annotated[
        Literal["right", "left", "up", "down"], Field(description="Where both eyes look, the wearer's own side.")
    ]
    away_mm: Annotated[float, _unit("How far from the optical centres.", "mm")]
    horizontal: Annotated[float, _unit("Sum of both eyes; base in is positive.", "Δ")]
    vertical: Annotated[float, _unit("Right less left; base up is positive.", "Δ")]


@dataclass(slots=True)
class PrismAnswer:
    """Prism that the pair will have and the prescription does not ask for."""

    right: Annotated[EyePrism | None, Field(description="Null where the optical centre can sit at the pupil.")]
    left: EyePrism | None
    pair: Annotated[PairPrism | None, Field(description="Null where both optical centres can sit at the pupils.")]
    reading_level: ReadingLevel | None
    across: Annotated[
        list[GazePrism], Field(description="Across the lens, for lenses that differ noticeably in power; else empty.")
    ]
    prescribed: Annotated[PrescribedPrismAnswer | None, Field(description="Null where no prism is prescribed.")]


@dataclass(slots=True)
class EyeVertex:
    """Power that gives the same effect at the worn vertex distance. For a person to order; never applied by itself."""

    notation: str
    compensated: SpheroCylinder
    change: Annotated[float, _unit("Largest change of a principal power.", "D")]


@dataclass(slots=True)
class VertexAnswer:
    """Change of the vertex distance."""

    refracted_mm: Annotated[float, _unit("Vertex distance of the refraction.", "mm")]
    worn_mm: Annotated[float, _unit("Vertex distance as worn.", "mm")]
    right: EyeVertex | None
    left: EyeVertex | None


@dataclass(slots=True)
class FigureSpan:
    """Where a figure stands in a written prescription."""

    pointer: Annotated[str, Field(description="JSON Pointer of the figure in a structured prescription.")]
    start: Annotated[int, Field(description="First character, counted from 0.")]
    end: Annotated[int, Field(description="First character after it.")]


@dataclass(slots=True)
class PdReading:
    """PD that stands in a written prescription."""

    right: Annotated[float | None, _unit("Right eye.", "mm")]
    left: Annotated[float | None, _unit("Left eye.", "mm")]
    both: Annotated[float | None, _unit("From pupil to pupil.", "mm")]
    near: Annotated[float | None, _unit("From pupil to pupil, for near work.", "mm")]


@dataclass(slots=True)
class ReadAnswer:
    """Answer of POST /v1/prescriptions/read."""

    decision: Decision
    prescription: PrescriptionReading | None
    read_as: Annotated[
        str | None,
        Field(description="The canonical line: minus cylinder, three-digit axis. Sent as text it reads the same."),
    ]
    pd_mm: Annotated[PdReading | None, Field(description="PD found in a written prescription. Unit: mm.")]
    vertex_distance_mm: Annotated[float | None, _unit("Vertex distance of the refraction.", "mm")]
    spans: Annotated[list[FigureSpan], Field(description="Places of the figures in a written prescription.")]
    findings: list[Finding]
    cautions: list[Caution]
    assumptions: list[Assumption]
    engine: Engine


@dataclass(slots=True)
class CheckAnswer:
    """Answer of POST /v1/orders/check."""

    decision: Annotated[
        Decision, Field(description="The gravest severity found; accept where none is graver than note.")
    ]
    reference: str | None
    prescription: PrescriptionReading | None
    fit: Fit | None
    prism: PrismAnswer | None
    vertex: VertexAnswer | None
    as_worn: Annotated[WornAnswer | None, Field(description="Null where neither tilt nor wrap was given.")]
    magnification: Annotated[
        MagnificationAnswer | None, Field(description="Null where the powers are much alike, or too little is known.")
    ]
    near: Annotated[NearAnswer | None, Field(description="Null for a pair for distance without an addition.")]
    thickness: Annotated[
        ThicknessAnswer | None, Field(description="The lenses as bodies; null where power or material is not known.")
    ]
    stock: Annotated[
        Stock | None,
        Field(description="Finished blanks for the pair; null where the profile lists none in the material."),
    ]
    findings: list[Finding]
    cautions: list[Caution]
    assumptions: list[Assumption]
    engine: Engine
