"""One lens specification of a FHIR VisionPrescription: which eye, what product, what figures.

FHIR makes every figure optional and uses other elements for contact lenses. So nothing is taken for granted here: no
sphere is no plano, a contact lens is no spectacle lens, and a figure that is said to exist but is not given is asked for.
"""

from dataclasses import dataclass
from typing import Any, Final, cast, get_args

from optics_core.prism import Base
from optics_core.sphero_cylinder import normal_axis
from service import limits
from service.contract.answer_fields import EyeName
from service.contract.order import PrescribedEye, PrescribedPrism
from service.reading.fhir_remarks import Remarks, look_over, named, shown

PRODUCT_SYSTEM: Final = "http://terminology.hl7.org/CodeSystem/ex-visionprescriptionproduct"
SPECTACLE_LENS: Final = "lens"

_FIGURES: Final = ("sphere", "cylinder", "axis", "add")
# FHIR defines these for contact lenses only.
_OF_CONTACT_LENSES: Final = ("power", "backCurve", "diameter")
_SET_ASIDE: Final = ("extension", "duration", "color", "brand")
_KNOWN: Final = frozenset(
    (*_FIGURES, *_OF_CONTACT_LENSES, *_SET_ASIDE, "id", "modifierExtension", "product", "eye", "prism", "note")
)
_KNOWN_OF_PRISM: Final = frozenset(("id", "extension", "modifierExtension", "amount", "base"))
_BASES: Final = get_args(Base)
# FHIR lets an axis run from -180 to 180.
_LEAST_AXIS: Final = -180.0
# More codings or notes than these say nothing about a lens.
_MOST_LOOKED_AT: Final = 20


@dataclass(frozen=True, slots=True)
class Lens:
    """What one lens specification says. Figures are None where something was refused."""

    at: str
    eye: EyeName | None
    is_contact: bool
    figures: PrescribedEye | None


def lens(node: object, at: str, remarks: Remarks) -> Lens:
    """Read one lens specification that stands at a place of the document."""
    if not isinstance(node, dict):
        remarks.refuse("fhir-value-not-usable", at, shown(node), expected="an object")
        return Lens(at, None, False, None)
    eye = _eye(node, at, remarks)
    contact = _contact_lens(node, at)
    if contact is not None:
        remarks.refuse("fhir-contact-lens", *contact, eye=eye)
        return Lens(at, eye, True, None)
    look_over(node, at, remarks, known=_KNOWN, set_aside=_SET_ASIDE, eye=eye)
    _look_at_product(node, at, eye, remarks)
    _look_at_notes(node, at, eye, remarks)
    return Lens(at, eye, False, _figures(node, at, eye, remarks))


def _eye(node: dict[str, object], at: str, remarks: Remarks) -> EyeName | None:
    eye = node.get("eye")
    if eye == "right" or eye == "left":
        return eye
    said = shown(eye) if "eye" in node else "nothing"
    remarks.refuse("fhir-value-not-usable", f"{at}/eye", said, expected='"right" or "left"')
    return None


def _contact_lens(node: dict[str, object], at: str) -> tuple[str, str] | None:
    """The place and the words that make this a contact lens."""
    for code in _product_words(node):
        if "contact" in code.casefold():
            return f"{at}/product", shown(code)
    for name in _OF_CONTACT_LENSES:
        if name in node:
            return f"{at}/{name}", f"{name} {shown(node[name])}"
        if f"_{name}" in node:
            return f"{at}/_{name}", name
    return None


def _product_words(node: dict[str, object]) -> list[str]:
    """Every code and word that names the product."""
    product = node.get("product")
    if not isinstance(product, dict):
        return []
    words = [product.get("text")]
    for coding in _codings(product):
        words += [coding.get("code"), coding.get("display")]
    return [word for word in words if isinstance(word, str)]


def _codings(product: dict[str, object]) -> list[dict[str, object]]:
    given = product.get("coding")
    return [one for one in given if isinstance(one, dict)] if isinstance(given, list) else []


def _look_at_product(node: dict[str, object], at: str, eye: EyeName | None, remarks: Remarks) -> None:
    product = node.get("product")
    codings = _codings(product) if isinstance(product, dict) else []
    words, place = _product_words(node), f"{at}/product"
    if not any(one.get("system") == PRODUCT_SYSTEM and one.get("code") == SPECTACLE_LENS for one in codings):
        remarks.say("fhir-product-unknown", place, shown(words[0]) if words else "no product", eye=eye)
        return
    more = [word for word in words if word.casefold() != SPECTACLE_LENS]
    if more:
        remarks.say("fhir-set-aside", place, named(more), eye=eye)


def _look_at_notes(node: dict[str, object], at: str, eye: EyeName | None, remarks: Remarks) -> None:
    if "note" not in node:
        return
    notes = node["note"]
    given = notes[:_MOST_LOOKED_AT] if isinstance(notes, list) else []
    texts = [one.get("text") for one in given if isinstance(one, dict)]
    text = " / ".join(one for one in texts if isinstance(one, str))
    remarks.say("fhir-note-to-read", f"{at}/note", shown(text) if text else shown(notes), eye=eye)


def _figures(node: dict[str, object], at: str, eye: EyeName | None, remarks: Remarks) -> PrescribedEye | None:
    if "sphere" not in node:
        remarks.refuse("fhir-sphere-missing", f"{at}/sphere", "no sphere", eye=eye)
    for name in ("cylinder", "axis", "add"):
        if name not in node and f"_{name}" in node:
            remarks.refuse("fhir-figure-withheld", f"{at}/_{name}", name, eye=eye)
    sphere, cylinder, axis, add = (_number(node, name, at, PrescribedEye, eye, remarks) for name in _FIGURES)
    prism = _prisms(node, at, eye, remarks)
    if sphere is None or remarks.is_refused:
        return None
    return PrescribedEye(sphere=sphere, cylinder=cylinder, axis=_axis(axis, at, eye, remarks), add=add, prism=prism)


def _number(
    node: dict[str, object],
    name: str,
    at: str,
    model: type[PrescribedEye] | type[PrescribedPrism],
    eye: EyeName | None,
    remarks: Remarks,
) -> float | None:
    """A figure within the bounds of the contract; none where it is absent or refused."""
    if name not in node:
        return None
    value = node[name]
    least, most = _bounds(model, name)
    if isinstance(value, int | float) and not isinstance(value, bool) and least <= value <= most:
        return float(value)
    expected = f"a number from {least:g} to {most:g}"
    remarks.refuse("fhir-value-not-usable", f"{at}/{name}", shown(value), eye=eye, expected=expected)
    return None


def _bounds(model: type[PrescribedEye] | type[PrescribedPrism], name: str) -> tuple[float, float]:
    """Least and most of a figure, as the contract has them."""
    constraints: list[Any] = model.model_fields[name].metadata
    least = next(one.ge for one in constraints if hasattr(one, "ge"))
    most = next(one.le for one in constraints if hasattr(one, "le"))
    return float(least), float(most)


def _axis(axis: float | None, at: str, eye: EyeName | None, remarks: Remarks) -> float | None:
    """The axis as written; a negative one as the same meridian above 0. What is out of range is left to the rules."""
    if axis is None or not _LEAST_AXIS <= axis < 0:
        return axis
    taken = float(normal_axis(axis_deg=axis))
    remarks.say("fhir-axis-negative", f"{at}/axis", shown(axis), eye=eye, value=axis, taken=taken)
    return taken


def _prisms(node: dict[str, object], at: str, eye: EyeName | None, remarks: Remarks) -> list[PrescribedPrism]:
    if "prism" not in node:
        return []
    given = node["prism"]
    if not isinstance(given, list) or len(given) > limits.MAX_PRISMS_PER_EYE:
        said = f"{len(given)} components" if isinstance(given, list) else shown(given)
        expected = f"a list of at most {limits.MAX_PRISMS_PER_EYE} components"
        remarks.refuse("fhir-value-not-usable", f"{at}/prism", said, eye=eye, expected=expected)
        return []
    read = [_prism(one, f"{at}/prism/{index}", eye, remarks) for index, one in enumerate(given)]
    return [one for one in read if one is not None]


def _prism(node: object, at: str, eye: EyeName | None, remarks: Remarks) -> PrescribedPrism | None:
    if not isinstance(node, dict):
        remarks.refuse("fhir-value-not-usable", at, shown(node), eye=eye, expected="an object with amount and base")
        return None
    look_over(node, at, remarks, known=_KNOWN_OF_PRISM, set_aside=("extension",), eye=eye)
    amount = _number(node, "amount", at, PrescribedPrism, eye, remarks)
    if "amount" not in node:
        remarks.refuse("fhir-value-not-usable", f"{at}/amount", "nothing", eye=eye, expected="the amount of the prism")
    base = node.get("base")
    if "base" not in node:
        said = "a prism" if amount is None else f"a prism of {amount:g}"
        remarks.refuse("fhir-prism-without-base", f"{at}/base", said, eye=eye)
    elif base not in _BASES:
        expected = '"in", "out", "up" or "down"'
        remarks.refuse("fhir-value-not-usable", f"{at}/base", shown(base), eye=eye, expected=expected)
    elif amount is not None:
        return PrescribedPrism(amount=amount, base=cast(Base, base))
    return None
