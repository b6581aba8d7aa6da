"""The reading part of a lens as a shop orders it: segments, and what the design of a progressive lens asks for."""

from pydantic import Field

from service.contract.fields import RequestModel, number


class SegmentHeight(RequestModel):
    """Height of the segment's top above the lowest tangent of the lens shape."""

    right: float | None = number("Right eye.", unit="mm", ge=0, le=120, default=None)
    left: float | None = number("Left eye.", unit="mm", ge=0, le=120, default=None)


class Segment(RequestModel):
    """The segment of a bifocal or trifocal."""

    height_mm: SegmentHeight = Field(
        default=SegmentHeight(),
        description="Heights of the segments' tops. Unit: mm. Left out: nothing is worked out for them, and a person is "
        "asked.",
    )
    blank_inset_mm: float | None = number(
        "On the blank: middle of the segment's top from the blank's middle, towards the nose.",
        unit="mm",
        ge=-30,
        le=30,
        default=None,
    )
    blank_drop_mm: float | None = number(
        "On the blank: the segment's top below the blank's middle; negative above it.",
        unit="mm",
        ge=-30,
        le=30,
        default=None,
    )
    top_to_centre_mm: float | None = number(
        "From the segment's top down to its own optical centre.", unit="mm", ge=0, le=40, default=None
    )


class Progressive(RequestModel):
    """What the design of a progressive lens asks for, as its maker states it."""

    corridor_mm: float | None = number(
        "From the fitting point down to where the reading power is reached. Left out: the profile's usual one, or what "
        "the design's least height leaves for it, is assumed, and said.",
        unit="mm",
        ge=0,
        le=30,
        default=None,
    )
    least_height_mm: float | None = number(
        "Least fitting height of the design. Left out: corridor and near zone together, or the profile's usual one, "
        "and said.",
        unit="mm",
        ge=5,
        le=40,
        default=None,
    )
    near_zone_mm: float | None = number(
        "Height wanted for the near zone below the corridor. Left out: the profile's usual one is assumed where it is "
        "used, and said.",
        unit="mm",
        ge=0,
        le=20,
        default=None,
    )
