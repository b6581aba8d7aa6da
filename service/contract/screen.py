"""Screen: one wearer against a catalogue of frames. Request and answer.

Lengths in mm, weights in g. Every figure of a row is what POST /v1/orders/check says of the order with that frame.
"""

from copy import deepcopy
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import ConfigDict, Field, create_model

from service.contract.answer import Assumption, Caution, Decision, Engine, Finding, Severity
from service.contract.answer_fields import unit
from service.contract.fields import RequestModel, number
from service.contract.order import EXAMPLE_ORDER, LARGEST_A_MM, LARGEST_DBL_MM, Order
from service.limits import MAX_CATALOGUE_CHARACTERS, MAX_SCREENED_FRAMES

Rim = Literal["full", "grooved", "drilled"]
ScreenSort = Literal["score", "margin", "minimum_blank", "thickest_edge", "weight", "catalogue"]
SCORE_FORMULA = (
    "100 - 4 D - 3 E - 0.5 W - 5 max(0, 2 - S), less 20 where a person must look, and not below 0; D the larger decentration "
    "to the side in mm, E the thickest edge in mm, W the weight of both lenses in g, S what the blank has to spare in mm. Null "
    "for a frame that is rejected or has a figure that is not known. Common practice, no source: it orders frames for one wearer "
    "and says nothing of wearers or lenses."
)


if TYPE_CHECKING:
    OrderWithoutFrame = Order
else:
    OrderWithoutFrame = create_model(
        "OrderWithoutFrame",
        __base__=RequestModel,
        __doc__="An order but for its frame.",
        **{name: (field.annotation, deepcopy(field)) for name, field in Order.model_fields.items() if name != "frame"},
    )


class CatalogueFrame(RequestModel):
    """One frame of a catalogue, in the boxed lens system."""

    id: str = Field(min_length=1, max_length=100, description="The shop's own name of the frame, returned as sent. "
        "Allowed: 1 to 100 characters.")  # fmt: skip
    a_mm: float = number("Horizontal boxed lens size A.", unit="mm", ge=10, le=LARGEST_A_MM)
    b_mm: float = number("Vertical boxed lens size B.", unit="mm", ge=5, le=120)
    dbl_mm: float = number("Distance between lenses (DBL).", unit="mm", ge=0, le=LARGEST_DBL_MM)
    ed_mm: float | None = number(
        "Effective diameter (ED). Left out: the usual one for these boxed sizes.", unit="mm", ge=5, le=170, default=None
    )
    rim: Rim = Field(
        default="full", description="How the lens is held: full rim, grooved (cord), or drilled (rimless)."
    )


class Range(RequestModel):
    """From and to, both included; either may be left out."""

    at_least: float | None = number("Smallest value kept.", unit="mm", ge=0, le=1000, default=None)
    at_most: float | None = number("Largest value kept.", unit="mm", ge=0, le=1000, default=None)


class ScreenFilters(RequestModel):
    """Which frames are kept. What is left out keeps them all; a figure that is not known is not kept by a bound on it."""

    decisions: list[Decision] = Field(
        default=["accept", "review"], min_length=1, max_length=3, description="Decisions that are kept."
    )
    rims: list[Rim] | None = Field(default=None, min_length=1, max_length=3, description="Kinds of rim that are kept.")
    a_mm: Range | None = Field(default=None, description="A. Unit: mm.")
    b_mm: Range | None = Field(default=None, description="B. Unit: mm.")
    dbl_mm: Range | None = Field(default=None, description="DBL. Unit: mm.")
    margin_at_least_mm: float | None = number("Least margin kept.", unit="mm", ge=-200, le=200, default=None)
    thickest_edge_at_most_mm: float | None = number("Thickest edge kept.", unit="mm", ge=0, le=100, default=None)
    weight_at_most_g: float | None = number(
        "Greatest weight of both lenses kept.", unit="g", ge=0, le=1000, default=None
    )


EXAMPLE_FRAMES: list[dict[str, Any]] = [
    {"id": "round-46", "a_mm": 46, "b_mm": 41, "dbl_mm": 21, "ed_mm": 48},
    {"id": "narrow-52", "a_mm": 52, "b_mm": 32, "dbl_mm": 18},
    {"id": "wide-60", "a_mm": 60, "b_mm": 45, "dbl_mm": 18, "ed_mm": 66},
    {"id": "rimless-54", "a_mm": 54, "b_mm": 36, "dbl_mm": 17, "rim": "drilled"},
]
EXAMPLE_SCREENING: dict[str, Any] = {
    "order": {name: value for name, value in EXAMPLE_ORDER.items() if name not in ("frame", "fitting_height_mm")},
    "frames": EXAMPLE_FRAMES,
    "top": 3,
}


class ScreenRequest(RequestModel):
    """One wearer, and the frames to be looked through."""

    order: OrderWithoutFrame = Field(
        description="The order, as for POST /v1/orders/check, without its frame. Fitting heights, if given, are those in every "
        "frame."
    )
    frames: list[CatalogueFrame] | None = Field(
        default=None,
        min_length=1,
        max_length=MAX_SCREENED_FRAMES,
        description=f"The frames. Allowed: 1 to {MAX_SCREENED_FRAMES} frames. Left out: those of frames_csv, or else of the "
        "catalogue that the profile names.",
    )
    frames_csv: str | None = Field(
        default=None,
        min_length=1,
        max_length=MAX_CATALOGUE_CHARACTERS,
        description="The frames as CSV with a header: id, a_mm, b_mm, dbl_mm, and if they are known ed_mm and rim. Unit: "
        f"characters. Allowed: 1 to {MAX_CATALOGUE_CHARACTERS} characters.",
    )
    filters: ScreenFilters = Field(default=ScreenFilters(), description="Which frames are kept.")
    sort_by: ScreenSort = Field(
        default="score",
        description="score and margin: the greatest first; minimum_blank, thickest_edge and weight: the smallest first; "
        "catalogue: as they came. What is not known goes last.",
    )
    top: int = Field(
        default=50,
        ge=1,
        le=MAX_SCREENED_FRAMES,
        description=f"How many frames are listed at most. Unit: frames. Allowed: 1 to {MAX_SCREENED_FRAMES}.",
        json_schema_extra={"unit": "frames"},
    )

    model_config = ConfigDict(json_schema_extra={"examples": [EXAMPLE_SCREENING]})


@dataclass(slots=True)
class ScreenedFrame:
    """One frame for this wearer. Null where power, pupil or blank is not known."""

    id: str
    index: Annotated[int, unit("Position in the catalogue, counted from 0.", "frames")]
    decision: Annotated[Decision, Field(description="That of the check.")]
    decentration_in_mm: Annotated[float | None, unit("The larger decentration to the side, inward positive.", "mm")]
    minimum_blank_mm: Annotated[
        float | None, unit("Least blank expected for a modelled outline, of the lens that needs more.", "mm")
    ]
    margin_mm: Annotated[float | None, unit("What the blank is sure to have left, of the lens with less.", "mm")]
    spare_mm: Annotated[
        float | None,
        unit("The same with the ED given, or else the usual one: the decision rests on it.", "mm"),
    ]
    thickest_edge_mm: Annotated[float | None, unit("The thicker of the two thickest edges.", "mm")]
    weight_g: Annotated[float | None, unit("Weight of both lenses.", "g")]
    score: Annotated[float | None, Field(description="By score_formula.")]
    codes: Annotated[
        list[str],
        Field(
            description="Codes of the findings on this frame that are graver than a note, in the order of the rules."
        ),
    ]


@dataclass(slots=True)
class ScreenReason:
    """Why frames fall out: a finding that frames have."""

    code: str
    severity: Severity
    frames: Annotated[int, unit("How many frames of the catalogue have it.", "frames")]


@dataclass(slots=True)
class ScreenCounts:
    """How the catalogue divides."""

    frames: Annotated[int, unit("All.", "frames")]
    accept: Annotated[int, unit("Accepted.", "frames")]
    review: Annotated[int, unit("For a person to look at.", "frames")]
    reject: Annotated[int, unit("Rejected.", "frames")]
    kept: Annotated[int, unit("Kept by the filters.", "frames")]


@dataclass(slots=True)
class ScreenAnswer:
    """Answer of POST /v1/frames/screen."""

    decision: Annotated[
        Decision, Field(description="The mildest of the frames that are kept; reject where there is none.")
    ]
    reference: str | None
    sorted_by: ScreenSort
    score_formula: str
    counts: ScreenCounts
    reasons: Annotated[list[ScreenReason], Field(description="The most frequent first.")]
    frames: list[ScreenedFrame]
    findings: Annotated[list[Finding], Field(description="Those that hold whatever the frame.")]
    cautions: list[Caution]
    assumptions: list[Assumption]
    engine: Engine
