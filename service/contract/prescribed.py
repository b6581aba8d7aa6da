"""What is answered on prescribed prism: how it could be made. Shown, never done. Lengths in mm, prism in Δ."""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from service.contract.answer_fields import unit
from service.contract.placement import Shift


@dataclass(slots=True)
class PrismParts:
    """Prism of one eye in its two parts."""

    horizontal: Annotated[float, unit("Horizontal; base in is positive.", "Δ")]
    vertical: Annotated[float, unit("Vertical; base up is positive.", "Δ")]


@dataclass(slots=True)
class EyePrescribedPrism:
    """Prescribed prism of one eye, and how far decentration would make it."""

    prism: PrismParts
    decentration_mm: Annotated[
        Shift | None,
        Field(description="Way of the optical centre from the pupil that would make it; null where there is none."),
    ]
    reason: Annotated[
        Literal["no-power", "power-not-read", "reading-part"] | None,
        Field(
            description="Why there is none. no-power: a meridian has no power, or hardly any; "
            "power-not-read: the power cannot be relied on; "
            "reading-part: it would carry the reading part away from its place."
        ),
    ]
    allowed_mm: Annotated[
        Shift | None, Field(description="As much of that way as the blank is sure to allow; null where none is known.")
    ]
    to_grind: Annotated[
        PrismParts | None, Field(description="What is left to grind with that way; null where it is not known.")
    ]


@dataclass(slots=True)
class SharedPrism:
    """The same effect for the pair, split evenly between the eyes. Prism that moves both eyes alike is not in it."""

    right: PrismParts
    left: PrismParts


@dataclass(slots=True)
class PrescribedPrismAnswer:
    """Prescribed prism of the pair."""

    right: Annotated[EyePrescribedPrism | None, Field(description="Null where this eye has none.")]
    left: EyePrescribedPrism | None
    shared: SharedPrism
