"""What is answered on lenses as worn: power, prism and centre for tilt and wrap, and magnification.

Powers in D, prism in Δ, lengths in mm, angles in °.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from service.contract.answer_fields import unit


@dataclass(slots=True)
class WornPower:
    """A power with its line, which is rounded to 0.01 D and 1°."""

    notation: str
    sphere: Annotated[float, unit("Sphere.", "D")]
    cylinder: Annotated[float, unit("Cylinder; 0 where there is none.", "D")]
    axis: Annotated[float | None, unit("Axis, above 0 to 180; null where there is no cylinder.", "°")]


@dataclass(slots=True)
class WrapPrism:
    """Prism that the wrap alone makes before this eye. Shown, never added to the order."""

    induced: Annotated[float, unit("Prism that the wrap makes; base out is positive.", "Δ")]
    compensating: Annotated[float, unit("Prism that undoes it; base in is positive.", "Δ")]
    front_power_d: Annotated[float, unit("Power of the front surface that it rests on.", "D")]
    centre_mm: Annotated[float, unit("Centre thickness that it rests on.", "mm")]
    body_from: Annotated[
        Literal["thickness", "usual"],
        Field(
            description="thickness: front and centre as in the answer's thickness; usual: a front by the common rule and the "
            "least centre of the profile."
        ),
    ]


@dataclass(slots=True)
class CentreDrop:
    """How far the optical centre belongs below the pupil for this tilt. Shown, never applied."""

    exact_mm: Annotated[float, unit("So that its axis passes the eye's centre of rotation.", "mm")]
    rule_mm: Annotated[float, unit("By the common rule, 1 mm for every 2° of tilt.", "mm")]


@dataclass(slots=True)
class EyeWorn:
    """One lens as worn. Nothing of it is applied by itself: what to order is for a person to decide."""

    wanted: Annotated[WornPower, Field(description="Effect that the lens is to have before the eye.")]
    to_order: Annotated[WornPower, Field(description="Power that has this effect when tilted and wrapped.")]
    effect: Annotated[WornPower, Field(description="Effect before the eye if the wanted power is made as it is.")]
    effect_by_martin: Annotated[WornPower, Field(description="The same by Martin's formula, as it is taught.")]
    change: Annotated[float, unit("Largest difference between what to order and what is wanted, in any meridian.", "D")]
    wrap_prism: WrapPrism | None
    centre_drop_mm: Annotated[CentreDrop | None, Field(description="Null without tilt.")]


@dataclass(slots=True)
class WornAnswer:
    """The pair as worn: for the power as prescribed, a change of the vertex distance not counted."""

    pantoscopic_deg: Annotated[float, unit("Pantoscopic tilt.", "°")]
    face_form_deg: Annotated[float, unit("Face form (wrap).", "°")]
    index: Annotated[float, unit("Refractive index at the d line.", "1")]
    right: Annotated[EyeWorn | None, Field(description="Null where the power cannot be relied on.")]
    left: EyeWorn | None


@dataclass(slots=True)
class EyeMagnification:
    """Spectacle magnification of one lens: how much larger a distant object appears."""

    shape: Annotated[float, unit("Through thickness and front surface.", "%")]
    power: Annotated[float, unit("Through the power, by the spherical equivalent.", "%")]
    total: Annotated[float, unit("Both together.", "%")]


@dataclass(slots=True)
class MagnificationAnswer:
    """Spectacle magnification of the pair."""

    vertex_mm: Annotated[float, unit("Vertex distance taken: as worn, of the refraction, or the usual one.", "mm")]
    entrance_pupil_mm: Annotated[float, unit("From the lens to the eye's entrance pupil.", "mm")]
    right: EyeMagnification
    left: EyeMagnification
    difference: Annotated[float, unit("Right less left, through the power alone; this is what is judged.", "%")]
    difference_total: Annotated[float, unit("Right less left, the shape included.", "%")]
