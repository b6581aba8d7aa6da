"""The profile's section on coloured fringes."""

from service.profile.fields import Section, limit


class ChromaticSection(Section):
    """Coloured fringes away from the optical centre."""

    distance_mm: float = limit(
        "Distance from the optical centre at which they are judged.", unit="mm", ge=0, le=40, source="common-practice"
    )
    noticed_pd: float = limit(
        "Transverse chromatic aberration beyond which they are noticed.", unit="Δ", ge=0, le=5, source="memory"
    )
