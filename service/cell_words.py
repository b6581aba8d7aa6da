"""The words of the figures that a cell can ask for, by what they are of: a power, a frame, a pair."""

from typing import Any, Final

from service.cell_parameters import Parameter, choice, number
from service.contract.order import (
    AsWorn,
    FittingHeight,
    Frame,
    Lens,
    PrescribedEye,
    PrescribedPrism,
    PupillaryDistance,
    StructuredPrescription,
    Wearer,
)
from service.values import EyeName

EYES: Final[tuple[EyeName, EyeName]] = ("right", "left")


def _both(pointer: str) -> tuple[str, str]:
    """The member of both eyes, {} standing for the eye."""
    return pointer.format("right"), pointer.format("left")


EYE: Final = choice("eye", "Which eye it is for; without it both are alike.", EYES)
POWER: Final = (
    number("sph", "Sphere.", PrescribedEye, "sphere", *_both("/prescription/{}/sphere"), required=True),
    number("cyl", "Cylinder, in either form.", PrescribedEye, "cylinder", *_both("/prescription/{}/cylinder")),
    number("axis", "Axis of the cylinder.", PrescribedEye, "axis", *_both("/prescription/{}/axis")),
)
POWER_PART: Final = choice("part", "Which figure; left out: the whole line.", ("line", "sph", "cyl", "axis"))
PD: Final = number(
    "pd",
    "PD of this eye, from the middle of the bridge.",
    PupillaryDistance,
    "right",
    *_both("/pd_mm/{}"),
    required=True,
)
A: Final = number("a", "Boxed width A.", Frame, "a_mm", "/frame/a_mm", required=True)
B: Final = number("b", "Boxed height B.", Frame, "b_mm", "/frame/b_mm", required=True)
DBL: Final = number("dbl", "Distance between lenses.", Frame, "dbl_mm", "/frame/dbl_mm", required=True)
ED: Final = number("ed", "Effective diameter; left out: not known.", Frame, "ed_mm", "/frame/ed_mm")
HEIGHT: Final = number(
    "height", "Fitting height; left out: the centre line.", FittingHeight, "right", *_both("/fitting_height_mm/{}")
)
B_FOR_HEIGHT: Final = number("b", "Boxed height B; needed with `height`.", Frame, "b_mm", "/frame/b_mm")


def _of_eye(letter: str, eye: EyeName) -> tuple[Parameter, ...]:
    """The words of one eye of a pair."""
    at = f"/prescription/{eye}"
    prism = []
    for place, ending in ((0, ""), (1, "2")):
        another = "A second part of the prism" if place else "Prescribed prism"
        prism += [
            number(
                f"{letter}prism{ending}",
                f"{another}, {eye} eye.",
                PrescribedPrism,
                "amount",
                f"{at}/prism/{place}/amount",
            ),
            Parameter(
                f"{letter}base{ending}",
                f"Its base, {eye} eye: a word or an angle.",
                "base",
                (f"{at}/prism/{place}/base",),
            ),
        ]
    return (
        number(f"{letter}sph", f"Sphere, {eye} eye.", PrescribedEye, "sphere", f"{at}/sphere", required=True),
        number(f"{letter}cyl", f"Cylinder, {eye} eye.", PrescribedEye, "cylinder", f"{at}/cylinder"),
        number(f"{letter}axis", f"Axis, {eye} eye.", PrescribedEye, "axis", f"{at}/axis"),
        number(f"{letter}add", f"Reading addition, {eye} eye.", PrescribedEye, "add", f"{at}/add"),
        *prism,
        number(f"{letter}pd", f"PD of the {eye} eye.", PupillaryDistance, eye, f"/pd_mm/{eye}"),
        number(f"{letter}height", f"Fitting height, {eye} eye.", FittingHeight, eye, f"/fitting_height_mm/{eye}"),
    )


def _choices(model: Any, member: str) -> tuple[str, ...]:
    """The words that a member of the contract may be."""
    schema = model.model_json_schema()["properties"][member]
    return tuple(next(one for one in (schema, *schema.get("anyOf", ())) if "enum" in one)["enum"])


PAIR: Final = (
    *_of_eye("r", "right"),
    *_of_eye("l", "left"),
    number("pd", "PD for both eyes together.", PupillaryDistance, "both", "/pd_mm/both"),
    choice("pd_from", "How the PD was found.", ("self", "ruler", "pupillometer", "prescriber"), "/pd_source"),
    A,
    B,
    DBL,
    ED,
    choice("rim", "How the lens is held.", _choices(Frame, "rim"), "/frame/rim"),
    Parameter("material", "Material by its generic name.", "id", ("/lens/material",)),
    choice("use", "What the pair is for.", _choices(Lens, "use"), "/lens/use"),
    number("blank", "Diameter of the round blank.", Lens, "blank_diameter_mm", "/lens/blank_diameter_mm"),
    number(
        "vd", "Vertex distance of the refraction.", StructuredPrescription, "vertex_distance_mm",
        "/prescription/vertex_distance_mm",
    ),
    number("worn_vd", "Vertex distance as worn.", AsWorn, "vertex_distance_mm", "/as_worn/vertex_distance_mm"),
    number("age", "Age of the wearer.", Wearer, "age_years", "/wearer/age_years"),
    choice("eyes", "Which eyes have useful sight.", _choices(Wearer, "useful_eyes"), "/wearer/useful_eyes"),
    Parameter("issued", "Day the prescription was issued.", "day", ("/prescription/issued_on",)),
    Parameter("expires", "Day the prescription expires.", "day", ("/prescription/expires_on",)),
    Parameter("as_of", "Day on which ages and expiries are judged; left out: today (UTC).", "day", ("/as_of",)),
)  # fmt: skip
