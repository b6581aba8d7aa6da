"""What the shop's list of finished blanks has for an order: answers."""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from service.contract.answer_fields import unit as _unit

_MONEY = "the shop's own money"


@dataclass(slots=True)
class BlankCandidate:
    """A row of the list held against one lens."""

    name: Annotated[str, Field(description="The shop's own name for these blanks.")]
    diameter_mm: Annotated[float, _unit("Its diameter.", "mm")]
    fits: Annotated[
        Literal["sure", "maybe", "no"],
        Field(
            description="sure: it comes in the power and covers the lens, with the ED given or else the usual one; maybe: it "
            "comes in the power, and whether it covers the lens depends on the shape or is not known."
        ),
    ]
    reasons: Annotated[
        list[
            Literal[
                "sphere-out-of-range",
                "cylinder-out-of-range",
                "total-out-of-range",
                "off-the-step",
                "surfaced-only",
                "too-small",
                "may-be-too-small",
                "place-not-known",
            ]
        ],
        Field(
            description="What speaks against it, all of it. surfaced-only: prism is prescribed or the lens has a reading part; "
            "place-not-known: the PD of this eye cannot be relied on."
        ),
    ]


@dataclass(slots=True)
class EyeBlanks:
    """What the list has for one lens. The figures are those of the best row."""

    best: Annotated[
        str | None,
        Field(
            description="Name of the best row, or null where none fits: sure before maybe, then the pair with front surfaces "
            "most alike, the smallest diameter, the lowest price, the order of the list. If the order names a diameter, only "
            "rows of that diameter."
        ),
    ]
    front_power_d: Annotated[float | None, _unit("Power of its front surface.", "D")]
    diameter_mm: Annotated[float | None, _unit("Its diameter.", "mm")]
    centre_mm: Annotated[float | None, _unit("Its centre thickness, if the list tells it.", "mm")]
    price: Annotated[float | None, _unit("Its price, if the list tells it.", _MONEY)]
    candidates: Annotated[list[BlankCandidate], Field(description="Rows of the material, best first, twenty at most.")]
    not_shown: Annotated[int, _unit("How many rows there are beyond these.", "rows")]


@dataclass(slots=True)
class Stock:
    """What the shop's list of finished blanks has for the pair."""

    right: Annotated[EyeBlanks | None, Field(description="Null where the power to cut is not settled.")]
    left: Annotated[EyeBlanks | None, Field(description="Null where the power to cut is not settled.")]
    pair_price: Annotated[float | None, _unit("Price of the two best; null where one is not known.", _MONEY)]
