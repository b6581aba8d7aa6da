"""Cautions that stand on every answer; the profile chooses which."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CautionText:
    """A caution: its code, its words, and the source they rest on."""

    code: str
    message: str
    source: str


def _texts(*cautions: CautionText) -> dict[str, CautionText]:
    return {caution.code: caution for caution in cautions}


CAUTIONS = _texts(
    CautionText(
        code="not-medical-advice",
        message="This is a check of an order. It is not a prescription, an eye examination or medical advice.",
        source="house",
    ),
    CautionText(
        code="law-and-prescriber-first",
        message="The prescriber's word and the law of the place of sale come before this answer; supply spectacles only "
        "under the supervision that law asks for.",
        source="house",
    ),
    CautionText(
        code="not-safety-eyewear",
        message="Dress lenses in a dress frame are not safety eyewear. Safety eyewear needs both lens and frame tested and "
        "marked to a safety standard.",
        source="ansi-z87.1-2020",
    ),
    CautionText(
        code="impact-resistance",
        message="In the USA the finished lenses must be impact resistant as 21 CFR 801.410 asks, with records kept; other "
        "countries have rules of their own. Impact resistant does not mean unbreakable.",
        source="21-cfr-801.410",
    ),
    CautionText(
        code="verify-before-dispensing",
        message="Read the finished pair on a lensmeter and measure its centres against the prescription before it is handed "
        "over.",
        source="uk-unregistered-sale",
    ),
    CautionText(
        code="uk-supply",
        message="In the United Kingdom spectacles for a person under 16, or registered sight impaired, are supplied only by "
        "or under a registered optometrist, dispensing optician or medical practitioner.",
        source="uk-opticians-act",
    ),
)
