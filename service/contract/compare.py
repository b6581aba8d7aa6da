"""Compare: one order in every material and blank that could be taken. Request and answer.

Lengths in mm, weights in g, powers in D, prism in Δ. Every figure of a row is what POST /v1/orders/check says of the order
with the material and the blank of that row.
"""

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from service.contract.answer import Assumption, Caution, Decision, Engine, Finding
from service.contract.answer_fields import unit
from service.contract.fields import RequestModel
from service.contract.order import EXAMPLE_ORDER, Order
from service.limits import MAX_COMPARED_MATERIALS, MAX_COMPARED_ROWS

SortBy = Literal["thickest_edge", "weight", "centre", "price"]
_MONEY = "the shop's own money"

EXAMPLE_COMPARISON: dict[str, Any] = {
    "order": EXAMPLE_ORDER,
    "materials": ["hard-resin-1.50", "polycarbonate", "thiourethane-1.67"],
    "sort_by": "thickest_edge",
}


class CompareRequest(RequestModel):
    """An order that is to be compared in several materials and blanks."""

    order: Order = Field(
        description="The order, as for POST /v1/orders/check. Its material and its blank are replaced in every row; everything "
        "else of it holds in all of them, a front power and a centre thickness included."
    )
    materials: list[Annotated[str, Field(min_length=1, max_length=40)]] | None = Field(
        default=None,
        min_length=1,
        max_length=MAX_COMPARED_MATERIALS,
        description="Materials by their generic names, each compared once. Allowed: 1 to "
        f"{MAX_COMPARED_MATERIALS} names of 1 to 40 characters. Left out: those in stock, and said.",
    )
    sort_by: SortBy = Field(
        default="thickest_edge",
        description="By which figure of the pair the rows are ordered, the smallest first. Left out: thickest_edge, and said.",
    )

    model_config = ConfigDict(json_schema_extra={"examples": [EXAMPLE_COMPARISON]})


@dataclass(slots=True)
class ComparedMaterial:
    """The material of a row."""

    id: str
    name: str
    index_d: Annotated[float, unit("Refractive index at the d line.", "1")]
    abbe: Annotated[float, unit("Abbe number.", "1")]
    density_g_cm3: Annotated[float, unit("Density.", "g/cm³")]
    impact_resistant: bool


@dataclass(slots=True)
class ComparedLens:
    """One lens of a row. Null where power, place or body is not known."""

    front_power_d: Annotated[float | None, unit("Power of the front surface.", "D")]
    centre_mm: Annotated[float | None, unit("Centre thickness.", "mm")]
    thinnest_edge_mm: Annotated[float | None, unit("Edge where it is thinnest.", "mm")]
    thickest_edge_mm: Annotated[float | None, unit("Edge where it is thickest.", "mm")]
    weight_g: Annotated[float | None, unit("Weight of the edged lens.", "g")]
    shows_behind_mm: Annotated[float | None, unit("How far it stands out behind its rim; null without a depth.", "mm")]
    margin_mm: Annotated[float | None, unit("What the blank is sure to have left, on the diameter.", "mm")]
    chromatic_pd: Annotated[
        float | None,
        unit("Transverse chromatic aberration at chromatic.distance_mm from the optical centre, at its most.", "Δ"),
    ]


@dataclass(slots=True)
class ComparedPair:
    """The two lenses together. Null where one of them is not known."""

    centre_mm: Annotated[float | None, unit("The thicker centre.", "mm")]
    thickest_edge_mm: Annotated[float | None, unit("The thicker of the two thickest edges.", "mm")]
    weight_g: Annotated[float | None, unit("Weight of both.", "g")]
    price: Annotated[
        float | None, unit("Price of the two blanks, where the profile's list of finished blanks tells it.", _MONEY)
    ]


@dataclass(slots=True)
class ComparedRow:
    """The order in one material on blanks of one diameter."""

    material: ComparedMaterial
    blank_mm: Annotated[float | None, unit("Diameter of the blanks; null where none is in stock.", "mm")]
    decision: Annotated[Decision, Field(description="That of the check.")]
    excluded: Annotated[
        str | None, Field(description="Why such a pair cannot be made: the first grave finding in words; null if none.")
    ]
    right: ComparedLens
    left: ComparedLens
    pair: ComparedPair
    colour_fringes: Annotated[
        bool | None,
        Field(description="Whether the aberration of a lens is beyond chromatic.noticed_pd; null where not known."),
    ]
    impact_advice: Annotated[
        list[str], Field(description="Codes of the check's findings that advise an impact-resistant material.")
    ]
    codes: Annotated[list[str], Field(description="Codes of the check's findings graver than a note, gravest first.")]


@dataclass(slots=True)
class CompareAnswer:
    """Answer of POST /v1/lenses/compare."""

    decision: Annotated[
        Decision,
        Field(description="The mildest of the rows', or the gravest of the findings below if that is graver."),
    ]
    reference: str | None
    sorted_by: SortBy
    rows: Annotated[
        list[ComparedRow],
        Field(
            description="Those that can be made first, by the figure asked for, smallest first; then by weight, then the "
            "milder decision, then as in the profile. What is not known goes last. "
            f"At most {MAX_COMPARED_ROWS}; none where the order cannot be worked with."
        ),
    ]
    best: Annotated[
        int | None, unit("Position of the first row that is accepted, counted from 0; null if none is.", "rows")
    ]
    findings: Annotated[
        list[Finding],
        Field(description="On the comparison itself; where there are no rows also those of the check."),
    ]
    cautions: list[Caution]
    assumptions: Annotated[list[Assumption], Field(description="Those that hold for every row.")]
    engine: Engine
