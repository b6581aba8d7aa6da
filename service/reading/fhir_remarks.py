"""What was read from an HL7 FHIR document, and remarks on what was refused, taken otherwise or set aside."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from typing import Final

from service.contract.answer_fields import EyeName
from service.contract.order import StructuredPrescription

# A longer text is quoted by its beginning, a longer list by its first names.
_LONGEST_QUOTE: Final = 40
_MOST_NAMES: Final = 5
# The strict parser lets no longer number through; Python will not even write out a very long one.
_LONGEST_NUMBER: Final = 10**40


@dataclass(frozen=True, slots=True)
class FhirRemark:
    """One thing to say about a place in the document; `code` is that of a rule.

    `pointer` is a JSON Pointer (RFC 6901) into the document as received; it resolves, or its parent does where an
    element is missing. `said` is what was read there, `expected` what should stand there, `taken` what was taken.
    """

    code: str
    pointer: str
    said: str
    eye: EyeName | None = None
    value: float | None = None
    expected: str = ""
    taken: float | None = None


@dataclass(frozen=True, slots=True)
class FhirReading:
    """A prescription with the places of its parts in the document; none where anything was refused."""

    prescription: StructuredPrescription | None
    remarks: tuple[FhirRemark, ...]
    at: str = ""
    right_at: str = ""
    left_at: str = ""

    def place_of(self, pointer: str) -> str:
        """Where in the document a member of the order stands: /prescription/right/axis, say.

        The elements of an eye have the same names in both. What FHIR has no element for is placed at the resource.
        """
        for ours, there in (
            ("/prescription/right", self.right_at),
            ("/prescription/left", self.left_at),
            ("/prescription/issued_on", f"{self.at}/dateWritten"),
        ):
            if pointer == ours or pointer.startswith(f"{ours}/"):
                return there + pointer.removeprefix(ours)
        return self.at


@dataclass(slots=True)
class Remarks:
    """Remarks while a document is being read."""

    found: list[FhirRemark] = field(default_factory=list)
    is_refused: bool = False

    def refuse(self, code: str, pointer: str, said: str, *, eye: EyeName | None = None, expected: str = "") -> None:
        """Something keeps the prescription from being taken."""
        self.is_refused = True
        self.found.append(FhirRemark(code, pointer, said, eye, expected=expected))

    def say(
        self,
        code: str,
        pointer: str,
        said: str,
        *,
        eye: EyeName | None = None,
        value: float | None = None,
        taken: float | None = None,
    ) -> None:
        """Something is to be said of a prescription that can be taken."""
        self.found.append(FhirRemark(code, pointer, said, eye, value, taken=taken))


def shown(value: object) -> str:
    """A value as it is quoted in a sentence. It is never written out deeper than one level."""
    if isinstance(value, str):
        return f'"{_shortened(value)}"'
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, int):
        return str(value) if abs(value) < _LONGEST_NUMBER else "a very long number"
    if isinstance(value, float):
        return f"{value:g}"
    return "an object" if isinstance(value, dict) else "a list"


def named(names: Iterable[str]) -> str:
    """A few names in a row, each once; the rest are counted."""
    once = [_shortened(name) for name in dict.fromkeys(names)]
    more = len(once) - _MOST_NAMES
    row = ", ".join(once[:_MOST_NAMES])
    return f"{row} and {more} more" if more > 0 else row


def look_over(
    node: dict[str, object],
    at: str,
    remarks: Remarks,
    *,
    known: Collection[str],
    set_aside: Collection[str],
    eye: EyeName | None = None,
) -> None:
    """Remark on what changes the meaning of an element, on unknown names, and on known ones that are not used."""
    if "modifierExtension" in node:
        remarks.refuse("fhir-modifier-extension", f"{at}/modifierExtension", shown(node["modifierExtension"]), eye=eye)
    # In FHIR, _name beside name holds the extensions of a plain value.
    unknown = [name for name in node if name.removeprefix("_") not in known]
    if unknown:
        remarks.refuse("fhir-element-unknown", at, named(unknown), eye=eye)
    aside = [name for name in node if name in set_aside or (name.startswith("_") and name[1:] in node)]
    if aside:
        remarks.say("fhir-set-aside", at, named(aside), eye=eye)


def _shortened(text: str) -> str:
    # Blanks of any kind would spoil a sentence; what is cut off need not be looked at.
    plain = " ".join(text[: 4 * _LONGEST_QUOTE].split())
    return plain if len(plain) <= _LONGEST_QUOTE else f"{plain[:_LONGEST_QUOTE]}…"
