"""What is done, measured and minded at the bench, in the order of the work. Words only: every figure comes from the facts."""

from dataclasses import dataclass
from typing import Final

from optics_core.edging import EdgingPractice
from service.facts import NEEDS_ADD, OrderFacts
from service.words import named


@dataclass(frozen=True, slots=True)
class CheckText:
    """One line of the checklist: its code, its words, and the id of what it rests on."""

    code: str
    words: str
    source: str


_FIT: Final = {
    "full": "Fit in the rim without force or play, in steps of ± 0.1 mm; screws closed, no gap, no strain.",
    "grooved": "Fit in the cord without force or play, in steps of ± 0.1 mm; the cord lies in the groove all round.",
    "drilled": "Fit in the mount without force or play, in steps of ± 0.1 mm; washers in place, screws not tight.",
}
_DUST: Final = {
    "yes": "Dust: hand finishing and drilling leave it dry; extraction and a mask.",
    "little": "Dust: cut with extraction on and a mask; wipe it up, do not blow it away.",
    "finish-only": "Dust: dry roughing makes much of it; extraction and a mask; wipe it up, do not blow it away.",
    "always": "Dust: never grind glass dry, its dust harms the lungs; wipe up wet what has dried.",
}


def checklist(facts: OrderFacts, practice: EdgingPractice | None, centres_apart_mm: float | None) -> list[CheckText]:
    """The checklist for a pair."""
    return [
        CheckText(
            code="markings",
            words="Before edging: right and left told apart; optical centre, axis and top marked; no fault in the surfaces.",
            source="common-practice",
        ),
        *_reading_part(facts),
        CheckText(
            code="safety-bevel",
            words="Safety bevel even all round; no sharp edge, no chips, flakes or cracks.",
            source="common-practice",
        ),
        CheckText(code="fit-in-rim", words=_FIT[facts.rim], source="common-practice"),
        CheckText(
            code="power-and-axis",
            words="Power, axis and prism read on a lensmeter after edging and after mounting, as above; limits of "
            f"{named(facts.prism_limits)}.",
            source=facts.prism_limits.source,
        ),
        _centre_distance(facts, centres_apart_mm),
        _heights(facts),
        _impact(practice),
        CheckText(
            code="alignment",
            words="Standard alignment: temples level, four-point touch on a flat table, lenses in one plane.",
            source="common-practice",
        ),
        CheckText(
            code="cleaning",
            words="Cleaning: marks off with what the maker allows; rinse off grinding dust before wiping.",
            source="common-practice",
        ),
        CheckText(
            code="dust",
            words=_DUST["little" if practice is None else practice.family.wet],
            source="common-practice",
        ),
        CheckText(
            code="coolant",
            words="Coolant: gloves; change it when foul, keep it off the floor, wash hands before eating.",
            source="common-practice",
        ),
        *_glass(practice),
        CheckText(
            code="sharp-edges",
            words="Sharp edges: eye protection at the wheel; gloves for unbevelled lenses and offcuts.",
            source="common-practice",
        ),
    ]


def _reading_part(facts: OrderFacts) -> list[CheckText]:
    if facts.lens.use not in NEEDS_ADD:
        return []
    part = (
        "fitting crosses at the pupils, marks level"
        if facts.lens.use == "progressive"
        else "segment tops level, equally high unless ordered otherwise"
    )
    words = f"Reading part: {part}; addition read on both lenses."
    return [CheckText(code="reading-part", words=words, source="common-practice")]


def _centre_distance(facts: OrderFacts, apart_mm: float | None) -> CheckText:
    limits = facts.prism_limits
    wanted = "not known, measure the PD first" if apart_mm is None else f"{apart_mm:.2f} mm wanted"
    what = "reference points" if facts.rx.prescribed_prism else "optical centres"
    return CheckText(
        "centre-distance",
        f"Distance between {what}: {wanted}. For the pair off by at most {limits.horizontal_mm:g} mm or "
        f"{limits.horizontal_pd:g} Δ, whichever is kinder.",
        limits.source,
    )


def _heights(facts: OrderFacts) -> CheckText:
    limits = facts.prism_limits
    known = len(facts.places) == 2 and all(place.height_mm is not None for place in facts.places)
    wanted = "as above" if known else "not all given: measure and write them down"
    return CheckText(
        "heights",
        f"Heights: {wanted}. Between the eyes off by at most {limits.vertical_mm:g} mm or {limits.vertical_pd:g} Δ, whichever "
        "is kinder.",
        limits.source,
    )


def _impact(practice: EdgingPractice | None) -> CheckText:
    """The rule of one country, told as that; it sets no thickness, and none is claimed from it."""
    glass = "each finished glass lens by itself, after edging and before mounting"
    plastic = "of plastic lenses a sample of each batch (from memory): note the batch"
    which = f"{glass}; {plastic}"
    if practice is not None:
        which = glass if practice.family.is_glass else plastic
    return CheckText(
        code="impact-resistance",
        words=f"Impact test, where US law applies (21 CFR 801.410): {which}. Record method, result, sale; keep 3 years (from "
        "memory). Elsewhere see local law.",
        source="21-cfr-801.410",
    )


def _glass(practice: EdgingPractice | None) -> list[CheckText]:
    if practice is not None and not practice.family.is_glass:
        return []
    words = "Glass: splinters fly; eye protection, gloves, always wet, a bin for broken glass."
    return [CheckText(code="glass", words=words, source="common-practice")]
