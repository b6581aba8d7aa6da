"""What is answered on the outline of a lens and on where its blank sits. Lengths in mm, prism in Δ, angles in °."""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from service.contract.answer_fields import EyeName, unit


@dataclass(slots=True)
class Shift:
    """A way in the plane of the lens."""

    in_: Annotated[float, unit("Towards the nose; outward is negative.", "mm", serialization_alias="in")]
    up: Annotated[float | None, unit("Upwards; downward is negative; null where no height was given.", "mm")]


@dataclass(slots=True)
class OutlineSizes:
    """The outline that the lens is cut to: its sizes in the boxed lens system."""

    a_mm: Annotated[float, unit("Width.", "mm")]
    b_mm: Annotated[float, unit("Height.", "mm")]
    ed_mm: Annotated[float, unit("Effective diameter, from the boxed centre.", "mm")]
    ed_angle_deg: Annotated[float, unit("Direction of its longest radius, counter-clockwise from 3 o'clock.", "°")]
    circumference_mm: Annotated[float, unit("Length of the outline.", "mm")]
    area_mm2: Annotated[float, unit("Area within it.", "mm²")]
    traced: Annotated[EyeName, Field(description="Lens that was traced; the other's is its mirror image.")]


@dataclass(slots=True)
class Tightest:
    """Where the lens comes nearest to the usable edge of its blank, as placed."""

    margin_mm: Annotated[float, unit("Room on the radius, the allowance off; negative where it is lacking.", "mm")]
    side: Literal["nasal", "temporal"]
    above_deg: Annotated[float, unit("Height above the horizontal centre line, as an angle; below is negative.", "°")]
    angle_deg: Annotated[float, unit("The same direction counter-clockwise from 3 o'clock, seen from the front.", "°")]


@dataclass(slots=True)
class HalfTurn:
    """The blank as it lies and after half a turn. Margins are what is guaranteed, on the diameter."""

    margin_as_placed_mm: Annotated[float, unit("As it lies.", "mm")]
    margin_turned_mm: Annotated[float | None, unit("After half a turn; null where it must not be turned.", "mm")]
    better: Annotated[
        Literal["as_placed", "turned", "same"] | None, Field(description="Which way leaves more room; null as above.")
    ]
    gain_mm: Annotated[float, unit("By how much, on the diameter.", "mm")]
    refused: Annotated[
        Literal["reading-part", "prescribed-prism", "marked-top", "gradient-tint", "polarised"] | None,
        Field(description="Why it must not be turned; null where it may be."),
    ]


@dataclass(slots=True)
class UnwantedPrism:
    """Prism at the pupil that the prescription does not ask for."""

    horizontal: Annotated[float, unit("Horizontal; base in is positive.", "Δ")]
    vertical: Annotated[float, unit("Vertical; base up is positive.", "Δ")]


@dataclass(slots=True)
class Placed:
    """The optical centre away from the pupil, so that less blank is needed."""

    turned: Annotated[bool, Field(description="Whether the blank is turned by half a turn as well.")]
    minimum_blank_mm: Annotated[float, unit("Blank that this lens then needs, allowance included.", "mm")]
    shift_mm: Annotated[Shift, Field(description="From the pupil to the optical centre.")]
    prism: UnwantedPrism
    share_of_limit: Annotated[
        float, unit("Part of the tolerance standard's limits that the pair uses; 1 is all of it.", "1")
    ]


@dataclass(slots=True)
class Placement:
    """Where the blank could sit. It is advice: nothing is shifted or turned unless a person decides so."""

    half_turn: Annotated[HalfTurn | None, Field(description="Null where the blank's optical centre was not given.")]
    budget: Annotated[
        Placed | None,
        Field(
            description="Least blank within the pair's prism limits, both eyes solved together; null where not needed."
        ),
    ]
    budget_by_eye: Annotated[
        Placed | None, Field(description="The same with a share of the pair's limits for each eye by itself.")
    ]
    this_blank: Annotated[
        Placed | None, Field(description="With the blanks at hand: the placement that uses the least of the limits.")
    ]


@dataclass(slots=True)
class Slack:
    """Error of this eye's centration that uses up the tolerance of the pair, the other eye being exact."""

    horizontal: Annotated[float | None, unit("Sideways; null where the lens has no power there.", "mm")]
    vertical: Annotated[float | None, unit("In height; null where the lens has no power there.", "mm")]


@dataclass(slots=True)
class LargestFrame:
    """The largest frame for which a blank is sure to do for both eyes, each size by itself."""

    blank_mm: Annotated[float, unit("Largest blank in stock of this material, or else the one considered.", "mm")]
    a_mm: Annotated[
        float | None, unit("A of a frame of the same proportions, DBL and heights as they are; null if none.", "mm")
    ]
    dbl_mm: Annotated[float | None, unit("DBL, with the same lens shape; null if none.", "mm")]
    ed_mm: Annotated[float, unit("ED, with A, B and DBL as they are.", "mm")]
