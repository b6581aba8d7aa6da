"""What was measured on a finished pair: the readings that are held against the order.

Every figure may be one reading or a list of repeated ones; the mean is judged, and the spread is told.
"""

from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeAlias

from pydantic import Discriminator, Field, Tag

from service.contract.fields import RequestModel
from service.limits import MAX_PRISMS_PER_EYE, MAX_READINGS


def _one_or_many(value: object) -> str:
    return "many" if isinstance(value, list) else "one"


def _readings(ge: float, le: float) -> Any:
    """The type of a measured figure: one reading, or several of the same thing."""
    one = Annotated[float, Field(ge=ge, le=le)]
    many = Annotated[list[one], Field(min_length=1, max_length=MAX_READINGS)]
    return Annotated[Annotated[one, Tag("one")] | Annotated[many, Tag("many")], Discriminator(_one_or_many)]


def _measured(description: str, *, unit: str, ge: float, le: float, default: Any = None) -> Any:
    """A measured figure's description, which ends with its unit and bounds."""
    text = f"{description} Unit: {unit}. Allowed: {ge:g} to {le:g}, or a list of 1 to {MAX_READINGS} such readings."
    return Field(default=default, description=text, json_schema_extra={"unit": unit})


Readings: TypeAlias = float | list[float]

if TYPE_CHECKING:
    Power: TypeAlias = Readings
    Angle: TypeAlias = Readings
    Add: TypeAlias = Readings
    Amount: TypeAlias = Readings
    Distance: TypeAlias = Readings
    Height: TypeAlias = Readings
    Tilt: TypeAlias = Readings
    Thickness: TypeAlias = Readings
    Curve: TypeAlias = Readings
else:
    Power = _readings(-1000, 1000)
    Angle = _readings(-1000, 1000)
    Add = _readings(-100, 100)
    Amount = _readings(0, 100)
    Distance = _readings(0, 400)
    Height = _readings(0, 120)
    Tilt = _readings(-90, 90)
    Thickness = _readings(0, 60)
    Curve = _readings(-30, 30)


class MeasuredPrism(RequestModel):
    """One component of the prism that was read at the reference point."""

    amount: Amount = _measured("Amount of the prism.", unit="Δ", ge=0, le=100, default=...)
    base: Literal["in", "out", "up", "down"] | Annotated[float, Field(ge=0, le=360)] = Field(
        description="Direction of the base: in, out, up, down, or an angle, counter-clockwise as seen from the "
        "front. Unit: ° where a number. Allowed: 0 to 360.",
        json_schema_extra={"unit": "°"},
    )


class MeasuredEye(RequestModel):
    """What was measured on one lens. What was not measured is left out."""

    sphere: Power | None = _measured("Sphere as read.", unit="D", ge=-1000, le=1000)
    cylinder: Power | None = _measured(
        "Cylinder as read, in minus or plus form. Left out beside a sphere: none was found.",
        unit="D",
        ge=-1000,
        le=1000,
    )
    axis: Angle | None = _measured("Axis as read, standard notation, 0 to 180.", unit="°", ge=-1000, le=1000)
    add: Add | None = _measured("Reading addition as read.", unit="D", ge=-100, le=100)
    prism: list[MeasuredPrism] | None = Field(
        default=None,
        max_length=MAX_PRISMS_PER_EYE,
        description="Prism read at the reference point (the pupil's place on the lens, or the maker's mark), a component "
        f"each; an empty list: none was found. Unit: Δ. Allowed: at most {MAX_PRISMS_PER_EYE} components.",
    )
    segment_height_mm: Height | None = _measured(
        "Height of the segment's top above the lowest tangent of the lens shape.", unit="mm", ge=0, le=120
    )
    segment_from_bridge_mm: Distance | None = _measured(
        "Middle of the segment's top from the middle of the bridge.", unit="mm", ge=0, le=400
    )
    segment_tilt_deg: Tilt | None = _measured("Tilt of the segment's top; 0 is level.", unit="°", ge=-90, le=90)
    fitting_point_height_mm: Height | None = _measured(
        "Height of a progressive lens's fitting point above the lowest tangent of the lens shape.",
        unit="mm",
        ge=0,
        le=120,
    )
    fitting_point_from_bridge_mm: Distance | None = _measured(
        "Fitting point of a progressive lens from the middle of the bridge.", unit="mm", ge=0, le=400
    )
    marks_tilt_deg: Tilt | None = _measured(
        "Tilt of the line through the alignment marks of a progressive lens; 0 is level.", unit="°", ge=-90, le=90
    )
    centre_thickness_mm: Thickness | None = _measured("Thickness at the reference point.", unit="mm", ge=0, le=60)
    front_power_d: Curve | None = _measured("Power of the front surface (base curve).", unit="D", ge=-30, le=30)
    warpage_d: Curve | None = _measured(
        "Cylinder that the mounting has put into the front surface.", unit="D", ge=-30, le=30
    )


class MeasuredFromBridge(RequestModel):
    """Optical centres from the middle of the bridge."""

    right: Distance | None = _measured("Right lens.", unit="mm", ge=0, le=400)
    left: Distance | None = _measured("Left lens.", unit="mm", ge=0, le=400)


class MeasuredHeights(RequestModel):
    """Optical centres above the lowest tangent of the lens shape."""

    right: Height | None = _measured("Right lens.", unit="mm", ge=0, le=120)
    left: Height | None = _measured("Left lens.", unit="mm", ge=0, le=120)


class Measured(RequestModel):
    """What was measured on the finished pair. What was not measured is left out, and said to be missing."""

    right: MeasuredEye = Field(default=MeasuredEye(), description="The right lens.")
    left: MeasuredEye = Field(default=MeasuredEye(), description="The left lens.")
    optical_centre_distance_mm: Distance | None = _measured(
        "Distance between the two optical centres.", unit="mm", ge=0, le=400
    )
    optical_centre_from_bridge_mm: MeasuredFromBridge = Field(
        default=MeasuredFromBridge(),
        description="Each optical centre from the middle of the bridge; goes before the distance between them. Unit: mm.",
    )
    optical_centre_height_mm: MeasuredHeights = Field(
        default=MeasuredHeights(), description="Heights of the optical centres. Unit: mm."
    )
