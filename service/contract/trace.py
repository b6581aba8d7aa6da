"""The lens shape as a tracer measured it."""

from typing import Annotated, Any

from pydantic import ConfigDict, Field

from service.contract.fields import RequestModel, number
from service.limits import MAX_TRACE_POINTS

LARGEST_RADIUS_MM = 150.0

_Radius = Annotated[float, Field(ge=0, le=LARGEST_RADIUS_MM)]
_Coordinate = Annotated[float, Field(ge=-LARGEST_RADIUS_MM, le=LARGEST_RADIUS_MM)]
_Point = Annotated[list[_Coordinate], Field(min_length=2, max_length=2)]

# An invented shape, a little fuller below and towards the temple; 36 radii of the right lens.
EXAMPLE_RADII: list[float] = [
    26.9, 26.8, 26.6, 26.0, 24.8, 23.5, 22.2, 21.1, 20.3, 19.8, 19.8, 20.1, 20.8, 21.9, 23.2, 24.7, 25.7, 26.4,
    26.8, 27.4, 27.7, 27.1, 25.7, 23.9, 22.2, 20.9, 20.1, 19.9, 20.3, 21.3, 22.7, 24.4, 26.2, 27.4, 27.8, 27.4,
]  # fmt: skip


def _in_mm(description: str) -> dict[str, Any]:
    return {"description": description, "json_schema_extra": {"unit": "mm"}}


class Outline(RequestModel):
    """One lens's outline, seen from the front: either radii or points."""

    radii_mm: list[_Radius] | None = Field(
        default=None,
        max_length=MAX_TRACE_POINTS,
        **_in_mm(
            "Radii at equal angles, counter-clockwise as seen from the front, beginning at 3 o'clock (the observer's "
            f"right). Unit: mm. Allowed: at most {MAX_TRACE_POINTS} values from 0 to {LARGEST_RADIUS_MM:g}; 24 or more "
            "are needed."
        ),
    )
    points_mm: list[_Point] | None = Field(
        default=None,
        max_length=MAX_TRACE_POINTS,
        **_in_mm(
            "Points x, y round the outline, x to the observer's right, y up. Unit: mm. Allowed: at most "
            f"{MAX_TRACE_POINTS} points of two values from {-LARGEST_RADIUS_MM:g} to {LARGEST_RADIUS_MM:g}; 24 or more "
            "are needed."
        ),
    )

    model_config = ConfigDict(json_schema_extra={"examples": [{"radii_mm": list(EXAMPLE_RADII)}]})


class Trace(RequestModel):
    """The outlines of the frame. One lens's serves both, mirrored, where only one is given."""

    right: Outline | None = Field(default=None, description="Outline of the right lens.")
    left: Outline | None = Field(default=None, description="Outline of the left lens.")
    size_change_mm: float = number(
        "How much larger (or smaller, negative) than traced the lens is cut, all round.",
        unit="mm",
        ge=-2,
        le=2,
        default=0.0,
    )
    bevel_mm: float = number(
        "How far the tip of the bevel stands outside the traced outline; 0 where the bottom of the groove was traced.",
        unit="mm",
        ge=0,
        le=3,
        default=0.0,
    )
