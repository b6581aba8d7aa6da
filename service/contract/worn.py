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
    to_order: Annotated[
        WornPower,
        Field(
            description="Power that has this effect when tilted and wrapped, its optical centre at the pupil: a thin lens."
        ),
    ]
    to_order_traced: Annotated[
        WornPower | None,
        Field(
            description="The same traced through the lens as thick as its body says; null where the change is too small to ask "
            "about, or no such lens is found."
        ),
    ]
    to_order_lowered: Annotated[
        WornPower | None,
        Field(
            description="Power with the optical centre lowered for the tilt, so that the wrap alone is left; traced where "
            "to_order_traced is. It takes the place of to_order: one of the two, not both. Null without tilt and for "
            "progressive lenses."
        ),
    ]
    to_order_with_vertex: Annotated[
        WornPower | None,
        Field(
            description="As to_order_traced, or else to_order, the change of the vertex distance counted too; null where there "
            "is none."
        ),
    ]
    effect: Annotated[WornPower, Field(description="Effect before the eye if the wanted power is made as it is.")]
    effect_by_martin: Annotated[WornPower, Field(description="The same by Martin's formula, as it is taught.")]
    change: Annotated[
        float,
        unit(
            "Largest difference between what to order, traced where it comes near the limit, and what is wanted, in any "
            "meridian.",
            "D",
        ),
    ]
    wrap_prism: WrapPrism | None
    centre_drop_mm: Annotated[CentreDrop | None, Field(description="Null without tilt and for progressive lenses.")]


@dataclass(slots=True)
class WornAnswer:
    """The pair as worn. A change of the vertex distance is counted where the member says so, and nowhere else."""

    pantoscopic_deg: Annotated[float, unit("Pantoscopic tilt.", "°")]
    face_form_deg: Annotated[float, unit("Face form (wrap).", "°")]
    index: Annotated[float, unit("Refractive index at the d line.", "1")]
    right: Annotated[EyeWorn | None, Field(description="Null where the power cannot be relied on.")]
    left: EyeWorn | None
    centre_drop_imbalance: Annotated[
        float | None,
        unit(
            "Vertical prism between the eyes straight ahead through optical centres lowered for the tilt, right base up less "
            "left; null without tilt and for progressive lenses.",
            "Δ",
        ),
    ]


@dataclass(slots=True)
class EyeMagnification:
    """Spectacle magnification of one lens: how much larger a distant object appears."""

    shape: Annotated[float, unit("Through thickness and front surface.", "%")]
    power: Annotated[float, unit("Through the power, by the spherical equivalent.", "%")]
    total: Annotated[float, unit("Both together.", "%")]


@dataclass(slots=True)
class WidestMagnification:
    """Spectacle magnification along one meridian, the shape included."""

    meridian: Annotated[float, unit("The meridian, above 0 to 180.", "°")]
    right: Annotated[float, unit("Of the right lens.", "%")]
    left: Annotated[float, unit("Of the left lens.", "%")]
    difference: Annotated[float, unit("Right less left.", "%")]


@dataclass(slots=True)
class MagnificationAnswer:
    """Spectacle magnification of the pair."""

    vertex_mm: Annotated[float, unit("Vertex distance taken: as worn, of the refraction, or the usual one.", "mm")]
    entrance_pupil_mm: Annotated[float, unit("From the lens to the eye's entrance pupil.", "mm")]
    right: EyeMagnification
    left: EyeMagnification
    difference: Annotated[float, unit("Right less left, through the mean power alone.", "%")]
    difference_total: Annotated[float, unit("Right less left, the shape included.", "%")]
    widest: Annotated[
        WidestMagnification,
        Field(description="In the meridian in which the powers differ most; this is what is judged."),
    ]
