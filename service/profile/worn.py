"""The profile's sections on lenses as worn, on near work and on reading parts."""

from service.profile.fields import Section, limit


class WornSection(Section):
    """Lenses as worn: tilt, wrap and magnification."""

    change_matters_d: float = limit(
        "Change of power through tilt and wrap that is asked about.", unit="D", ge=0, le=2, source="common-practice"
    )
    rotation_centre_mm: float = limit(
        "From the lens to the eye's centre of rotation, at the shop's usual vertex distance.",
        unit="mm",
        ge=15,
        le=60,
        source="optiboard",
    )
    entrance_pupil_mm: float = limit(
        "From the cornea to the eye's entrance pupil.", unit="mm", ge=0, le=6, source="spectacle-magnification"
    )
    magnification_from_d: float = limit(
        "Difference of the spherical equivalents from which the magnification is worked out.",
        unit="D",
        ge=0,
        le=20,
        source="house",
    )
    drop_noted_mm: float = limit(
        "Drop of the optical centres for the tilt from which it is noted.",
        unit="mm",
        ge=0,
        le=20,
        source="common-practice",
    )
    magnification_differs_percent: float = limit(
        "Difference of the magnification between the eyes from which it is noted.",
        unit="%",
        ge=0,
        le=20,
        source="spectacle-magnification",
    )


class NearSection(Section):
    """Near work."""

    working_mm: float = limit(
        "Working distance taken where none is given.", unit="mm", ge=150, le=2000, source="common-practice"
    )
    intermediate_mm: float = limit(
        "The same for an intermediate pair.", unit="mm", ge=150, le=2000, source="common-practice"
    )
    intermediate_share: float = limit(
        "Part of the addition for an intermediate distance.", unit="1", ge=0, le=1, source="memory"
    )
    pd_differs_mm: float = limit(
        "Difference between the near PD of an eye and that of geometry beyond which it is asked about.",
        unit="mm",
        ge=0,
        le=10,
        source="optiboard",
    )


class SegmentSection(Section):
    """Segments of bifocals and trifocals."""

    least_depth_mm: float = limit(
        "Least height of lens from a bifocal segment's top down to the rim.", unit="mm", ge=0, le=40, source="memory"
    )
    trifocal_least_depth_mm: float = limit(
        "The same for a trifocal, from the top of its intermediate part.", unit="mm", ge=0, le=40, source="memory"
    )
    below_pupil_least_mm: float = limit(
        "Least way from the middle of the pupil down to the segment's top.",
        unit="mm",
        ge=0,
        le=20,
        source="common-practice",
    )
    reading_below_top_mm: float = limit(
        "From a bifocal segment's top down to where it is read through.",
        unit="mm",
        ge=0,
        le=20,
        source="common-practice",
    )
    trifocal_reading_below_top_mm: float = limit(
        "The same for a trifocal, from the top of its intermediate part.",
        unit="mm",
        ge=0,
        le=30,
        source="common-practice",
    )
    room_above_mm: float = limit(
        "Least height of lens above the segment's top.", unit="mm", ge=0, le=40, source="memory"
    )
    heights_unequal_mm: float = limit(
        "Difference of the segment heights beyond which they are asked about.",
        unit="mm",
        ge=0,
        le=20,
        source="common-practice",
    )


class ProgressiveSection(Section):
    """Progressive lenses, where an order does not give the figures of the design."""

    least_height_mm: float = limit(
        "Least fitting height of the design.", unit="mm", ge=5, le=40, source="2020plus-corridors"
    )
    corridor_mm: float = limit(
        "From the fitting point down to where the reading power is reached.",
        unit="mm",
        ge=1,
        le=30,
        source="2020plus-corridors",
    )
    near_zone_mm: float = limit(
        "Height of the near zone below that.", unit="mm", ge=0, le=20, source="2020plus-corridors"
    )
    room_above_mm: float = limit(
        "Least height of lens above the fitting point.", unit="mm", ge=0, le=40, source="memory"
    )
