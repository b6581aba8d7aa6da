"""The bench sheet: what is asked for, and what is set, read and checked at the bench. Lengths in mm, powers in D, prism in Δ."""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from service.contract.answer import Assumption, Caution, Decision, Engine, Finding, SpheroCylinder
from service.contract.answer_fields import unit
from service.contract.fields import RequestModel
from service.contract.near import SegmentAnswer
from service.contract.order import EXAMPLE_ORDER, Order
from service.contract.placement import Shift, Tightest, UnwantedPrism
from service.contract.prescribed import PrismParts

PowerFrom = Literal["prescription", "distance-plus-add", "not-settled"]


class SheetRequest(RequestModel):
    """A bench sheet of an order: one page for the pair."""

    order: Order = Field(description="The order, as for POST /v1/orders/check.")
    page: Literal["a4", "letter"] = Field(
        default="a4", description="Size of the page, upright. It does not matter where JSON is asked for."
    )

    model_config = ConfigDict(json_schema_extra={"examples": [{"order": EXAMPLE_ORDER, "page": "a4"}]})


@dataclass(slots=True)
class LensmeterReading:
    """What a lensmeter shows in one form: the second reading less the first is the cylinder."""

    first: Annotated[float, unit("Reading that is focused first: the sphere of this form.", "D")]
    second: Annotated[float | None, unit("The other principal power; null for a sphere, which has one reading.", "D")]
    axis: Annotated[float | None, unit("Axis of this form, 1 to 180; null for a sphere.", "°")]


@dataclass(slots=True)
class LensmeterForms:
    """The same lens read in either form."""

    minus: Annotated[LensmeterReading, Field(description="The more plus reading first.")]
    plus: Annotated[LensmeterReading, Field(description="The less plus reading first.")]


@dataclass(slots=True)
class CutSize:
    """The size that the lens is cut to, in the boxed lens system."""

    a_mm: Annotated[float, unit("Width.", "mm")]
    b_mm: Annotated[float, unit("Height.", "mm")]
    circumference_mm: Annotated[float | None, unit("Length of the outline; null without a trace.", "mm")]
    basis: Annotated[
        Literal["trace", "boxed"], Field(description="trace: of the traced outline as cut; boxed: as stated.")
    ]


@dataclass(slots=True)
class SheetBlank:
    """The blank chosen and the room that it leaves, on the diameter, the allowance off."""

    diameter_mm: Annotated[float, unit("Diameter of the round uncut lens.", "mm")]
    chosen_by: Annotated[
        Literal["order", "shop"],
        Field(description="order: named there; shop: the list's or the profile's, as assumed."),
    ]
    row: Annotated[str | None, Field(description="Name of the row of the shop's list; null where none is settled.")]
    needed_mm: Annotated[float, unit("Blank that is sure to do, with the ED given or else the usual one.", "mm")]
    margin_mm: Annotated[float, unit("Blank less that.", "mm")]
    guaranteed_margin_mm: Annotated[float, unit("The same for every lens shape with these boxed sizes.", "mm")]
    middle_mm: Annotated[Shift, Field(description="From the boxed centre to the blank's middle, as ordered.")]
    tightest: Annotated[Tightest | None, Field(description="Null without a trace.")]


@dataclass(slots=True)
class PlacementAdvice:
    """Where the check advises to put the blank otherwise than ordered; for a person to decide."""

    turned: Annotated[bool, Field(description="Whether to turn the blank by half a turn.")]
    shift_mm: Annotated[Shift, Field(description="From the pupil to the optical centre.")]
    prism: Annotated[UnwantedPrism | None, Field(description="What the shift makes at the pupil; null without one.")]
    margin_mm: Annotated[float | None, unit("Blank less what is needed then; null where it is not known.", "mm")]


@dataclass(slots=True)
class EdgeSeen:
    """An edge thickness and where it is."""

    mm: Annotated[float, unit("Edge thickness.", "mm")]
    side: Literal["nasal", "temporal"]
    above_deg: Annotated[float, unit("Height above the horizontal centre line, as an angle; below is negative.", "°")]


@dataclass(slots=True)
class ExpectedBody:
    """The lens as it is expected to come out. Null where no such body exists."""

    front_power_d: Annotated[float, unit("Power of the front surface.", "D")]
    centre_mm: Annotated[float | None, unit("Centre thickness.", "mm")]
    thinnest: EdgeSeen | None
    thickest: EdgeSeen | None
    lower_edge_with_add_mm: Annotated[
        float | None, unit("Lower edge of a progressive lens with its addition, by a model. Else null.", "mm")
    ]
    weight_g: Annotated[float | None, unit("Weight of the edged lens.", "g")]
    basis: Annotated[Literal["trace", "modelled"], Field(description="Outline that it rests on.")]


@dataclass(slots=True)
class EyeSheet:
    """One lens: what is set, what is read. What is not known is null."""

    prescribed: Annotated[str, Field(description="As written: sphere, cylinder, axis of three digits.")]
    notation: Annotated[
        str | None, Field(description="The power that is cut, in the form as written; null where it is not settled.")
    ]
    power_from: Annotated[
        PowerFrom,
        Field(
            description="distance-plus-add: the reading power of a reading pair; not-settled: a near or intermediate pair "
            "whose power a person decides on, or figures that cannot be relied on."
        ),
    ]
    minus_cylinder: SpheroCylinder | None
    plus_cylinder: SpheroCylinder | None
    lensmeter: LensmeterForms | None
    add: Annotated[float | None, unit("Addition of the reading part; null where it has none.", "D")]
    prism: Annotated[
        PrismParts | None, Field(description="Prism to be seen at the reference point; null where none is prescribed.")
    ]
    pd_mm: Annotated[float | None, unit("From the middle of the bridge to the centration point.", "mm")]
    pd_for: Annotated[Literal["distance", "near"], Field(description="near: of a pair for near or intermediate work.")]
    height_mm: Annotated[
        float | None,
        unit("Centration point above the lowest tangent of the lens shape; null where none was given.", "mm"),
    ]
    decentration_mm: Annotated[
        Shift | None, Field(description="From the boxed centre to the centration point; null without a PD.")
    ]
    near_pd_mm: Annotated[float | None, unit("Near PD of a lens with a reading part. Else null.", "mm")]
    segment: Annotated[SegmentAnswer | None, Field(description="Null where no segment height was given.")]
    size: CutSize
    blank: Annotated[SheetBlank | None, Field(description="Null where no blank or no place for it is known.")]
    advice: Annotated[PlacementAdvice | None, Field(description="Null where the blank lies as it should.")]
    no_half_turn: Annotated[
        Literal["reading-part", "prescribed-prism", "marked-top", "gradient-tint", "polarised"] | None,
        Field(
            description="Why the blank must not be turned by half a turn; null where it may be, or where the place of its "
            "optical centre was not given."
        ),
    ]
    body: Annotated[ExpectedBody | None, Field(description="Null where power, place or material is not settled.")]


@dataclass(slots=True)
class SheetMaterial:
    """The material of both lenses."""

    id: str
    name: str
    index_d: Annotated[float, unit("Refractive index at the d line.", "1")]


@dataclass(slots=True)
class SheetPair:
    """What belongs to both lenses."""

    a_mm: Annotated[float, unit("Horizontal boxed lens size, as stated.", "mm")]
    b_mm: Annotated[float, unit("Vertical boxed lens size, as stated.", "mm")]
    dbl_mm: Annotated[float, unit("Distance between lenses.", "mm")]
    ed_mm: Annotated[float | None, unit("Effective diameter; null where none, or an impossible one, was given.", "mm")]
    frame_pd_mm: Annotated[float, unit("Distance between the boxed centres.", "mm")]
    centres_apart_mm: Annotated[
        float | None, unit("Distance between the centration points of both lenses; null where one is not known.", "mm")
    ]
    rim: Literal["full", "grooved", "drilled"]
    rim_depth_mm: Annotated[float | None, unit("Depth of the rim, front to back; null where not given.", "mm")]
    material: Annotated[SheetMaterial | None, Field(description="Null where the material is not in the list.")]
    use: Literal["distance", "intermediate", "near", "bifocal", "trifocal", "progressive"]
    tint: Literal["none", "even", "gradient"]
    polarised: bool
    tolerance_standard: Annotated[str, Field(description="Standard whose limits hold for the mounted pair.")]


@dataclass(slots=True)
class Edging:
    """How such a lens is usually edged: common practice, no source. The maker's own instructions come first."""

    family: Annotated[str, Field(description="Family of the material.")]
    edge: str
    safety_bevel: str
    finish: str
    cutting: str
    drilling: Annotated[str | None, Field(description="Null where the rim asks for no holes.")]
    source: Annotated[str, Field(description="What it rests on.")]
    mark: Annotated[Literal["practice"], Field(description="practice: custom of the trade.")]


@dataclass(slots=True)
class ChecklistItem:
    """One thing to do, to measure or to beware of."""

    code: str
    words: str
    source: Annotated[str, Field(description="What it rests on.")]


@dataclass(slots=True)
class BenchSheet:
    """Answer of POST /v1/bench/sheet as JSON. The sheet for printing shows the same."""

    decision: Annotated[Decision, Field(description="As of POST /v1/orders/check. A rejected order is not to be cut.")]
    reference: str | None
    order_digest: Annotated[
        str,
        Field(
            description="SHA-256 of the order as canonical JSON in UTF-8: the members as sent, null ones left out, names "
            "sorted, no blanks, numbers by value. The code on the sheet holds benchgate:order:sha256: and this.",
            pattern="^[0-9a-f]{64}$",
        ),
    ]
    right: Annotated[EyeSheet | None, Field(description="Null where the order could not be worked with.")]
    left: Annotated[EyeSheet | None, Field(description="Null where the order could not be worked with.")]
    pair: Annotated[SheetPair | None, Field(description="Null where the order could not be worked with.")]
    edging: Annotated[Edging | None, Field(description="Null where the material is not known.")]
    checklist: Annotated[
        list[ChecklistItem], Field(description="In the order of the work; empty where there is nothing to cut.")
    ]
    cautions: list[Caution]
    findings: list[Finding]
    assumptions: list[Assumption]
    engine: Engine
