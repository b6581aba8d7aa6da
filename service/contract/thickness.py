"""What is answered on the lenses as bodies. Lengths in mm, weights in g, angles in °."""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from service.contract.answer_fields import unit


@dataclass(slots=True)
class EdgeAt:
    """An edge thickness and where it is."""

    mm: Annotated[float, unit("Thickness along the lens's axis.", "mm")]
    angle_deg: Annotated[
        float, unit("Direction from the boxed centre, counter-clockwise from 3 o'clock, seen from the front.", "°")
    ]


@dataclass(slots=True)
class EdgeThickness:
    """The edge all round."""

    thinnest: EdgeAt
    thickest: EdgeAt


@dataclass(slots=True)
class InsideAt:
    """The thinnest place of a lens, away from its edge."""

    mm: Annotated[float, unit("Thickness there; below 0 the surfaces cross.", "mm")]
    away_mm: Annotated[float, unit("How far it lies from the pupil, away from the base of the prism.", "mm")]


@dataclass(slots=True)
class Showing:
    """How far the lens stands out of its rim where its edge is thickest."""

    front_mm: Annotated[float, unit("In front of the rim.", "mm")]
    behind_mm: Annotated[float, unit("Behind the rim.", "mm")]


@dataclass(slots=True)
class RoundOrGround:
    """A lens that the diameter of its blank makes thicker: as it comes from stock, and ground for this frame."""

    stock_centre_mm: Annotated[float | None, unit("Centre of a finished blank of that diameter; null if none.", "mm")]
    surfaced_centre_mm: Annotated[float | None, unit("Centre if ground for this outline; null if none.", "mm")]
    difference_mm: Annotated[float | None, unit("What the round blank adds.", "mm")]


@dataclass(slots=True)
class EyeThicknessAnswer:
    """One lens as a body: spherical front, toric back, the pole at the pupil, without any addition. Null where there is none."""

    centre_mm: Annotated[float | None, unit("Centre thickness.", "mm")]
    inside: Annotated[
        InsideAt | None,
        Field(
            description="Where prism is ground, the centre was given, and the lens is thinnest inside; null for any other lens."
        ),
    ]
    edge_mm: Annotated[
        EdgeThickness | None,
        Field(description="Of a finished round blank the thinnest edge is looked for where the outline lies on it."),
    ]
    profile_mm: Annotated[list[EdgeAt] | None, Field(description="The edge all round; null unless asked for.")]
    weight_g: Annotated[float | None, unit("Weight of the edged lens.", "g")]
    front_power_d: Annotated[float, unit("Power of the front surface.", "D")]
    front_from: Annotated[
        Literal["order", "stock", "rule"],
        Field(description="Where it comes from; rule: SE + 6, or SE / 2 + 6 for minus, within 0.5 to 12 D."),
    ]
    centre_from: Annotated[
        Literal["order", "stock", "rule"],
        Field(description="stock: of the finished blank; rule: the least that centre and edge allow."),
    ]
    lower_edge_with_add_mm: Annotated[
        float | None,
        unit(
            "Lower edge of a progressive lens with its addition, by a model; it is no part of the rest. Else null.",
            "mm",
        ),
    ]
    least_centre_mm: Annotated[float, unit("Least centre of this material.", "mm")]
    least_edge_mm: Annotated[float, unit("Least edge for this rim.", "mm")]
    basis: Annotated[Literal["trace", "modelled"], Field(description="Outline that it rests on.")]
    round_or_ground: Annotated[
        RoundOrGround | None, Field(description="Null where the blank's diameter does not matter.")
    ]
    shows: Annotated[Showing | None, Field(description="Null without a rim depth.")]


@dataclass(slots=True)
class ThicknessAnswer:
    """Both lenses as bodies."""

    right: EyeThicknessAnswer | None
    left: EyeThicknessAnswer | None
