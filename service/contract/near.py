"""What is answered on near work: near PD, powers, the reading pair, and where reading parts lie.

Powers in D, prism in Δ, lengths in mm.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from service.contract.answer_fields import EyeName, unit
from service.contract.placement import Shift
from service.contract.worn import WornPower


@dataclass(slots=True)
class NearBlank:
    """Bounds on the least blank of a single-vision pair centred for near work, its optical centre in its middle."""

    at_least: Annotated[float, unit("No lens shape with these boxed sizes can do with less.", "mm")]
    expected: Annotated[float, unit("For a modelled outline of these boxed sizes.", "mm")]
    at_most: Annotated[float, unit("Enough for every lens shape with these boxed sizes, the ED as taken.", "mm")]


@dataclass(slots=True)
class NearPd:
    """PD of one eye for near work."""

    taken_mm: Annotated[float | None, unit("As used; null where there is nothing to find it from.", "mm")]
    taken_from: Annotated[
        Literal["order", "split", "geometry"] | None,
        Field(
            description="order: given for this eye, or for both less the other; split: given for both and shared in the "
            "proportion of the distance PDs; geometry: PD x W / (W + s), W the working distance and s the way from the lens "
            "to the eye's centre of rotation."
        ),
    ]
    by_geometry_mm: Annotated[float | None, unit("By geometry, whatever was given.", "mm")]


@dataclass(slots=True)
class SegmentAnswer:
    """The segment of this eye."""

    place_mm: Annotated[
        Shift,
        Field(
            description="From the boxed centre to the middle of the segment's top. Where the near PD comes from geometry, the "
            "prism of the distance lens is counted: through a strong plus lens the eyes look further in, through minus less."
        ),
    ]
    depth_mm: Annotated[float, unit("Lens below the segment's top, down to the rim.", "mm")]
    room_above_mm: Annotated[float, unit("Lens above it, in the outline, or else in the box.", "mm")]
    image_jump: Annotated[
        float | None, unit("Jump of the image at its top, base down; null without its optical centre.", "Δ")
    ]
    blank_middle_mm: Annotated[
        Shift | None,
        Field(
            description="From the boxed centre to the blank's middle; null where its place on the blank is not known."
        ),
    ]


@dataclass(slots=True)
class ProgressiveAnswer:
    """Room for a progressive lens."""

    least_height_mm: Annotated[float, unit("Height that is wanted below the fitting point.", "mm")]
    room_below_mm: Annotated[
        float | None,
        unit(
            "Height that there is, in the outline where the near zone lies, or else in the box; null without one.", "mm"
        ),
    ]
    room_above_mm: Annotated[
        float | None, unit("Lens above the fitting point, in the outline, or else in the box; null without one.", "mm")
    ]
    spare_mm: Annotated[float | None, unit("Height that there is less what is wanted.", "mm")]


@dataclass(slots=True)
class EyeNear:
    """Near work through one lens."""

    pd: NearPd
    inset_mm: Annotated[float | None, unit("Distance PD of this eye less its near PD.", "mm")]
    total_inset_mm: Annotated[
        float | None, unit("From the boxed centre to where the eye looks for near, inwards.", "mm")
    ]
    reading: Annotated[
        WornPower | None, Field(description="Power for reading, distance + add; null without an addition.")
    ]
    intermediate: Annotated[
        WornPower | None, Field(description="Power for an intermediate distance; null without an addition.")
    ]
    pair_decentration_mm: Annotated[
        Shift | None, Field(description="Of a single-vision pair for this distance, from the boxed centre.")
    ]
    pair_minimum_blank_mm: Annotated[NearBlank | None, Field(description="Of the same pair.")]
    segment: Annotated[SegmentAnswer | None, Field(description="Null where no segment height was given.")]
    progressive: Annotated[ProgressiveAnswer | None, Field(description="Null for any other lens.")]


@dataclass(slots=True)
class NearImbalance:
    """Prism between the eyes where they look for near through lenses that are centred for distance."""

    level_mm: Annotated[
        float,
        unit(
            "Depth below the optical centres: the profile's reading level, or the way down to where the reading part is "
            "used, where that is more.",
            "mm",
        ),
    ]
    inset_mm: Annotated[float, unit("How far in each eye looks.", "mm")]
    horizontal: Annotated[float, unit("Sum of both eyes; base in is positive.", "Δ")]
    vertical: Annotated[float, unit("Right less left; base up is positive.", "Δ")]
    segments_counted: Annotated[
        bool,
        Field(
            description="Whether the prism of the segments is in these figures. It is where their heights, the fitting heights "
            "and top_to_centre_mm are given; segments alike at one height make no difference."
        ),
    ]
    slab_off: Annotated[
        EyeName | None,
        Field(description="Lens that would get a slab-off, base up; null where the imbalance asks for none."),
    ]


@dataclass(slots=True)
class NearAnswer:
    """Near work with this pair."""

    working_distance_mm: Annotated[float, unit("From the lens to what is looked at.", "mm")]
    near_pd_mm: Annotated[float | None, unit("Near PD of both eyes as used.", "mm")]
    by_geometry_mm: Annotated[float | None, unit("The same by geometry.", "mm")]
    share_of_add: Annotated[float, unit("Part of the addition for an intermediate distance.", "1")]
    right: EyeNear
    left: EyeNear
    imbalance: Annotated[
        NearImbalance | None, Field(description="Null for a pair that is centred for near, or without two powers.")
    ]
