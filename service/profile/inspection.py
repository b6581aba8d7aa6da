"""What a shop may tune about the inspection of finished pairs."""

from service.profile.fields import Section, limit


class InspectionSection(Section):
    """Inspection of finished pairs, beside the limits of the standard."""

    residual_noted_d: float = limit(
        "Errors of power of one lens together, as the length of a power vector, from which they are told.",
        unit="D",
        ge=0,
        le=2,
        source="common-practice",
    )
    between_eyes_noted_d: float = limit(
        "Difference of the errors of the two lenses, as the length of a power vector, from which it is told.",
        unit="D",
        ge=0,
        le=2,
        source="common-practice",
    )
    re_edge_margin_mm: float = limit(
        "What is ground off all round, on the radius, where a finished lens is cut again: the old bevel or groove.",
        unit="mm",
        ge=0,
        le=3,
        source="common-practice",
    )
    verification_differs_d: float = limit(
        "Difference between a verification power and the order, as the length of a power vector, from which a person looks.",
        unit="D",
        ge=0,
        le=10,
        source="common-practice",
    )
    verification_prism_differs_pd: float = limit(
        "Difference between the prism stated with a verification power and that ordered, from which a person looks.",
        unit="Δ",
        ge=0,
        le=20,
        source="common-practice",
    )
    centre_off_middle_mm: float = limit(
        "Distance of an optical centre from the middle of the lens's height from which a person looks where no fitting height "
        "was ordered.",
        unit="mm",
        ge=0,
        le=40,
        source="common-practice",
    )
