"""Read an HL7 FHIR VisionPrescription (R4, R4B, R5: the same elements), or a Bundle that holds one.

The document is the strictly parsed JSON. Whatever could change what the lenses are is refused or said; who the people
are and when the record was made (patient, prescriber, encounter, identifiers) is no matter of the order and not read.

Source: hl7-fhir-visionprescription (R4 4.0.1, R4B 4.3.0, R5 5.0.0).
"""

import re
from dataclasses import dataclass
from datetime import date
from typing import Final

from service.contract.answer_fields import EyeName
from service.contract.order import StructuredPrescription
from service.reading.fhir_lens import Lens, lens
from service.reading.fhir_remarks import FhirReading, Remarks, look_over, named, shown

RESOURCE_TYPE: Final = "VisionPrescription"
# Two eyes, spectacles and contact lenses, and room to spare; more is not one prescription.
MAX_LENS_SPECIFICATIONS: Final = 16

_EYES: Final[tuple[EyeName, EyeName]] = ("right", "left")
_SET_ASIDE: Final = ("extension", "contained")
_KNOWN: Final = frozenset(
    (
        *_SET_ASIDE, "resourceType", "id", "meta", "implicitRules", "language", "text", "modifierExtension", "identifier",
        "status", "created", "patient", "encounter", "dateWritten", "prescriber", "lensSpecification",
    )
)  # fmt: skip
_DAY: Final = re.compile(r"(\d{4}-\d{2}-\d{2})(T\d{2}:\d{2}(:\d{2}(\.\d+)?)?(Z|[+-]\d{2}:\d{2}))?", re.ASCII)
_PART_OF_A_DAY: Final = re.compile(r"\d{4}(-(0[1-9]|1[0-2]))?", re.ASCII)


@dataclass(frozen=True, slots=True)
class _Found:
    """A resource and its place in the document."""

    resource: dict[str, object]
    at: str


def read_fhir(document: object) -> FhirReading:
    """The prescription in a FHIR document, and all that is to be said about it. Never raises."""
    remarks = Remarks()
    found = _resource(document, remarks)
    if found is None:
        return FhirReading(None, tuple(remarks.found))
    resource, at = found.resource, found.at
    look_over(resource, at, remarks, known=_KNOWN, set_aside=_SET_ASIDE)
    _look_at_implicit_rules(resource, at, remarks)
    _look_at_status(resource, at, remarks)
    _look_at_narrative(resource, at, remarks)
    issued_on = _issued_on(resource, at, remarks)
    lenses = _lenses(resource, f"{at}/lensSpecification", remarks)
    right, left = (_lens_of(eye, lenses, f"{at}/lensSpecification", remarks) for eye in _EYES)
    if remarks.is_refused or right is None or left is None or right.figures is None or left.figures is None:
        return FhirReading(None, tuple(remarks.found), at)
    figures = StructuredPrescription(right=right.figures, left=left.figures)
    prescription = figures.model_copy(update={"issued_on": issued_on})
    return FhirReading(prescription, tuple(remarks.found), at, right.at, left.at)


def _resource(document: object, remarks: Remarks) -> _Found | None:
    if isinstance(document, dict):
        kind = document.get("resourceType")
        if kind == RESOURCE_TYPE:
            return _Found(document, "")
        if kind == "Bundle":
            return _only_one_in(document, remarks)
        said = "an object without resourceType" if "resourceType" not in document else shown(kind)
    else:
        said = shown(document)
    remarks.refuse("fhir-not-a-vision-prescription", "", said)
    return None


def _only_one_in(bundle: dict[str, object], remarks: Remarks) -> _Found | None:
    _look_at_implicit_rules(bundle, "", remarks)
    entries = bundle.get("entry")
    found: list[_Found] = []
    others: list[str] = []
    for index, entry in enumerate(entries if isinstance(entries, list) else ()):
        resource = entry.get("resource") if isinstance(entry, dict) else None
        kind = resource.get("resourceType") if isinstance(resource, dict) else None
        if isinstance(resource, dict) and kind == RESOURCE_TYPE:
            found.append(_Found(resource, f"/entry/{index}/resource"))
            if "modifierExtension" in entry:
                at = f"/entry/{index}/modifierExtension"
                remarks.refuse("fhir-modifier-extension", at, shown(entry["modifierExtension"]))
        else:
            others.append(kind if isinstance(kind, str) else "an entry without a resource")
    if not found:
        remarks.refuse("fhir-bundle-holds-none", "/entry", named(others) or "no entries")
        return None
    if len(found) > 1:
        remarks.refuse("fhir-bundle-holds-several", found[1].at, str(len(found)))
        return None
    if others:
        remarks.say("fhir-set-aside", "/entry", named(others))
    return found[0]


def _look_at_implicit_rules(resource: dict[str, object], at: str, remarks: Remarks) -> None:
    if "implicitRules" in resource:
        remarks.refuse("fhir-implicit-rules", f"{at}/implicitRules", shown(resource["implicitRules"]))


def _look_at_status(resource: dict[str, object], at: str, remarks: Remarks) -> None:
    status, place = resource.get("status"), f"{at}/status"
    if "status" not in resource:
        remarks.refuse("fhir-status-missing", place, "no status")
    elif status == "draft":
        remarks.say("fhir-status-draft", place, shown(status))
    elif status != "active":
        remarks.refuse("fhir-status-not-usable", place, shown(status))


def _look_at_narrative(resource: dict[str, object], at: str, remarks: Remarks) -> None:
    """A narrative repeats the elements, unless its status says that it tells more."""
    narrative = resource.get("text")
    if isinstance(narrative, dict) and narrative.get("status") == "additional":
        remarks.say("fhir-note-to-read", f"{at}/text", 'a narrative with the status "additional"')


def _issued_on(resource: dict[str, object], at: str, remarks: Remarks) -> date | None:
    """The day of dateWritten, as it was where it was written: a time of day and its zone do not move it."""
    written, place = resource.get("dateWritten"), f"{at}/dateWritten"
    if "dateWritten" not in resource:
        remarks.say("fhir-date-missing", place, "no date")
        return None
    if isinstance(written, str):
        if _PART_OF_A_DAY.fullmatch(written):
            remarks.say("fhir-date-partial", place, shown(written))
            return None
        full = _DAY.fullmatch(written)
        day = None if full is None else _in_the_calendar(full[1])
        if day is not None:
            return day
    remarks.refuse("fhir-value-not-usable", place, shown(written), expected="a day that exists, as in 2026-06-01")
    return None


def _in_the_calendar(day: str) -> date | None:
    try:
        return date.fromisoformat(day)
    except ValueError:
        return None


def _lenses(resource: dict[str, object], at: str, remarks: Remarks) -> list[Lens] | None:
    """Every lens specification; none where they are not a list of a sensible length."""
    given = resource.get("lensSpecification", [])
    if not isinstance(given, list) or len(given) > MAX_LENS_SPECIFICATIONS:
        said = f"{len(given)} lens specifications" if isinstance(given, list) else shown(given)
        expected = f"a list of at most {MAX_LENS_SPECIFICATIONS} lens specifications"
        remarks.refuse("fhir-value-not-usable", at, said, expected=expected)
        return None
    return [lens(one, f"{at}/{index}", remarks) for index, one in enumerate(given)]


def _lens_of(eye: EyeName, lenses: list[Lens] | None, at: str, remarks: Remarks) -> Lens | None:
    """The one spectacle lens of an eye. It is not called missing where it may be one that was refused."""
    if lenses is None:
        return None
    own = [one for one in lenses if one.eye == eye and not one.is_contact]
    if len(own) > 1:
        remarks.refuse("fhir-eye-twice", f"{own[1].at}/eye", f"{len(own)} lens specifications", eye=eye)
    if not own and not any(one.eye is None or (one.is_contact and one.eye == eye) for one in lenses):
        remarks.refuse("fhir-eye-missing", at, "no lens specification", eye=eye)
    return own[0] if len(own) == 1 else None
