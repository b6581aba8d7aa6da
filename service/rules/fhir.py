"""What was refused, taken otherwise or set aside in a FHIR document: a rule for each kind of remark.

The reading itself (`service.reading.fhir_read`) finds the places; the rules give them their gravity and their words. They
are alike but for these, so they stand here as a table.
"""

from service.contract.answer import Severity
from service.reading.fhir_remarks import FhirRemark
from service.rules.rule import Noticed, Rule, remark_rule

_FHIR = "hl7-fhir-visionprescription"
_HOUSE = "house"


def _rule(code: str, severity: Severity, source: str, about: str, shop: str, customer: str) -> Rule:
    return remark_rule(code, severity, source, about, shop, customer, scope="fhir", noticed=_noticed)


def _noticed(remark: FhirRemark) -> Noticed:
    return Noticed(
        remark.pointer,
        remark.eye,
        value=remark.value,
        limit=remark.taken,
        unit=None if remark.value is None else "°",
        words={
            "said": remark.said,
            "expected": remark.expected,
            "place": remark.pointer or "the top of the document",
            "whose": f"the {remark.eye} eye" if remark.eye else "one eye",
        },
    )


FHIR_RULES: tuple[Rule, ...] = (
    _rule(
        "fhir-not-a-vision-prescription",
        "reject",
        _FHIR,
        "The document is no FHIR vision prescription.",
        "The document is {said}. A FHIR vision prescription (R4, R4B or R5) is expected, or a bundle that holds one. "
        "Send that resource.",
        "What was sent is not a prescription for glasses. Please ask for the prescription itself.",
    ),
    _rule(
        "fhir-bundle-holds-none",
        "reject",
        _FHIR,
        "A bundle without a vision prescription.",
        "The bundle holds {said}, and no vision prescription. Exactly one is expected among its entries. Add it, or "
        "send it by itself.",
        "No prescription for glasses was found in what was sent. Please ask for the prescription itself.",
    ),
    _rule(
        "fhir-bundle-holds-several",
        "reject",
        _HOUSE,
        "A bundle with more than one vision prescription.",
        "The bundle holds {said} vision prescriptions. Exactly one is expected, and none was chosen. Send the one that "
        "is to be made, by itself.",
        "More than one prescription was sent. Please say which one your glasses are to be made from.",
    ),
    _rule(
        "fhir-status-missing",
        "reject",
        _FHIR,
        "A prescription without a status.",
        "No status was read. FHIR requires one, since a prescription may be cancelled. Send status, as the prescriber's "
        "record has it.",
        "It is not clear whether this prescription still holds. Please ask whoever wrote it.",
    ),
    _rule(
        "fhir-status-not-usable",
        "reject",
        _FHIR,
        "A prescription that was cancelled or withdrawn, or whose status is not known.",
        "The status is {said}. Only an active prescription is made up. Ask the prescriber for the one that holds.",
        "This prescription is marked as one that no longer holds. Please ask whoever wrote it for the current one.",
    ),
    _rule(
        "fhir-modifier-extension",
        "reject",
        _FHIR,
        "An extension that changes the meaning of what it stands in.",
        "A modifier extension was read at {place}. It can turn the meaning of the figures, and it is not known here. "
        "Send the prescription without it, or in fields of their own, once a person has read it.",
        "The prescription has a special mark that we cannot read. Please ask whoever wrote it what it means.",
    ),
    _rule(
        "fhir-implicit-rules",
        "reject",
        _FHIR,
        "Rules of its own under which the document is to be read.",
        "The document is to be read under rules of its own ({said}), which are not known here. Send it without "
        "implicit rules.",
        "The prescription was sent in a special form that we cannot read. Please ask whoever sent it for a plain copy.",
    ),
    _rule(
        "fhir-element-unknown",
        "reject",
        _FHIR,
        "An element that a FHIR vision prescription does not have.",
        "At {place} was read: {said}. A FHIR vision prescription (R4, R4B, R5) has no such element there; a figure may "
        "be misspelt. Spell it as FHIR does, or leave it out.",
        "One part of the prescription that was sent has a name we do not know. Please ask whoever sent it to check it.",
    ),
    _rule(
        "fhir-contact-lens",
        "reject",
        _FHIR,
        "A contact lens.",
        "A contact lens was read for {whose}: {said}. Its power is not that of a spectacle lens, and nothing was taken "
        "from it. Ask for the spectacle prescription and send that alone.",
        "This is a prescription for contact lenses. Glasses need a prescription of their own; please ask for it.",
    ),
    _rule(
        "fhir-eye-missing",
        "reject",
        _HOUSE,
        "An eye without a lens specification.",
        "No lens specification was read for the {eye}. One for each eye is expected. Ask for it; if the eye needs no "
        "power, send a sphere of 0.",
        "The prescription says nothing for the {eye}. Please ask whoever wrote it.",
    ),
    _rule(
        "fhir-eye-twice",
        "reject",
        _HOUSE,
        "Two lens specifications for one eye.",
        "For the {eye}, {said} were read. Exactly one is expected, and none was chosen. Send those of one pair by "
        "themselves.",
        "The prescription says two things for the {eye}. Please ask which of them your glasses are to be made from.",
    ),
    _rule(
        "fhir-sphere-missing",
        "reject",
        _HOUSE,
        "A lens specification without a sphere.",
        "No sphere was read for {whose}. FHIR does not require it, and it was not taken for plano. Ask for the figure; "
        "send 0 if plano is meant.",
        "The SPH figure is missing for {whose}. Please ask whoever wrote the prescription.",
    ),
    _rule(
        "fhir-figure-withheld",
        "reject",
        _FHIR,
        "A figure that has extensions and no value.",
        "For {whose} the {said} has an extension and no value: it may exist and not be told. Ask for the figure, or "
        "leave the element out if there is none.",
        "A figure is left open for {whose}. Please ask whoever wrote the prescription.",
    ),
    _rule(
        "fhir-prism-without-base",
        "reject",
        _FHIR,
        "A prism without a base direction.",
        "For {whose}, {said} was read, and no base. A prism needs its base: in, out, up or down. Ask for it; do not "
        "guess it.",
        "A prism is written for {whose} without its direction (in, out, up or down). Please ask whoever wrote the "
        "prescription.",
    ),
    _rule(
        "fhir-value-not-usable",
        "reject",
        _FHIR,
        "A value of another kind or size than FHIR or this service takes.",
        "At {place} was read: {said}. Expected is {expected}. Send it so, as the prescription has it.",
        "One figure of the prescription that was sent cannot be read. Please ask whoever sent it to check it.",
    ),
    _rule(
        "fhir-status-draft",
        "review",
        _FHIR,
        "A prescription that is marked as a draft.",
        "The status is {said}: nobody has signed this prescription yet. Ask the prescriber whether it holds.",
        "This prescription is marked as a draft. The shop will ask whether it is final.",
    ),
    _rule(
        "fhir-product-unknown",
        "review",
        _FHIR,
        "A product that is not FHIR's word for a spectacle lens.",
        'The product for {whose} is {said}. FHIR\'s example code "lens" is expected for a spectacle lens. The figures '
        "were read as those of one; make sure that they are.",
        "It is not clear whether the prescription is for glasses. The shop will check.",
    ),
    _rule(
        "fhir-axis-negative",
        "review",
        _FHIR,
        "A negative axis, which FHIR permits.",
        "Axis {value} was read for {whose}. FHIR permits −180 to 180; it was taken as {limit}, the same direction. "
        "Check it against the prescription: the sign may be a slip.",
        "The AXIS of {whose} was sent with a minus sign. Please check it against your prescription: it is a number from "
        "1 to 180.",
    ),
    _rule(
        "fhir-note-to-read",
        "review",
        _HOUSE,
        "Free text that may say more than the figures.",
        "A note was read at {place}: {said}. Notes are not interpreted here. Read it before the lenses are ordered.",
        "There is a note on the prescription. The shop will read it.",
    ),
    _rule(
        "fhir-date-missing",
        "note",
        _FHIR,
        "A prescription without the day it was written.",
        "No day was read in dateWritten, so the age of the prescription was not judged. Send the day if it is known.",
        "The prescription does not say when it was written. Please make sure that it still holds.",
    ),
    _rule(
        "fhir-date-partial",
        "note",
        _FHIR,
        "A date without a day.",
        "In dateWritten {said} was read. Only a full day is judged, and none was made up: the age of the prescription "
        "was not judged. Send the full day if it is known.",
        "The prescription gives only part of its date. Please make sure that it still holds.",
    ),
    _rule(
        "fhir-set-aside",
        "note",
        _FHIR,
        "Known elements that are not used here.",
        "At {place} stands what is not used here and was set aside: {said}. See whether the order needs any of it.",
        "Some details on the prescription are not needed for the figures. The shop will look at them.",
    ),
)
