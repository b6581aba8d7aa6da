"""Write a prescription as an HL7 FHIR VisionPrescription (R4, R4B, R5: the same elements).

The document says no more than is known. We are not the prescriber, so its status is draft unless the caller knows
better; patient and prescriber, which FHIR requires, say that they were not given; a prescription without a day gets no
day made up, but FHIR's own word for an unknown value. Powers are written as they stand, cylinder in the form given.

Source: hl7-fhir-visionprescription (R4 4.0.1, R4B 4.3.0, R5 5.0.0).
"""

from collections.abc import Sequence
from datetime import date
from typing import Any, Final, Literal

from optics_core.prism import base_angle, combined, inward, prism_from_base
from service.contract.answer_fields import EyeName
from service.contract.order import PrescribedEye, StructuredPrescription
from service.reading.fhir_lens import PRODUCT_SYSTEM, SPECTACLE_LENS
from service.reading.fhir_read import RESOURCE_TYPE

NOT_GIVEN_PATIENT: Final = "The order does not say who the patient is"
NOT_GIVEN_PRESCRIBER: Final = "The order does not say who the prescriber is"

_WITHOUT_VALUE: Final = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"
# Far finer than any prism is ground; it keeps the rounding of sines and of sums out of the document.
_PRISM_DECIMALS: Final = 6


class NotWritableError(ValueError):
    """FHIR has no way to write this prescription; `sentences` say why."""

    def __init__(self, sentences: Sequence[str]) -> None:
        super().__init__(" ".join(sentences))
        self.sentences = tuple(sentences)


def fhir_document(
    prescription: StructuredPrescription,
    *,
    as_of: date,
    status: Literal["draft", "active"] = "draft",
    notes: Sequence[str] = (),
) -> dict[str, Any]:
    """The prescription as a FHIR document. `as_of` is the day on which it is made; notes go with the right lens.

    Raises `NotWritableError` where `not_writable` has something to say.
    """
    sentences = not_writable(prescription)
    if sentences:
        raise NotWritableError(sentences)
    right = _lens_specification("right", prescription.right)
    if notes:
        right["note"] = [{"text": note} for note in notes]
    return {
        "resourceType": RESOURCE_TYPE,
        "status": status,
        "created": as_of.isoformat(),
        "patient": {"display": NOT_GIVEN_PATIENT},
        **_date_written(prescription.issued_on),
        "prescriber": {"display": NOT_GIVEN_PRESCRIBER},
        "lensSpecification": [right, _lens_specification("left", prescription.left)],
    }


def not_writable(prescription: StructuredPrescription) -> list[str]:
    """Why FHIR cannot hold this prescription. Nothing is rounded or left out to make it fit."""
    sentences = []
    for eye, given in (("right", prescription.right), ("left", prescription.left)):
        axis = given.axis
        if axis is not None and not axis.is_integer():
            sentences.append(
                f"Axis {axis:g} was read for the {eye} eye. FHIR holds an axis in whole degrees only. "
                "Ask for the whole figure; it was not rounded."
            )
        elif axis is not None and not 0 <= axis <= 180:
            sentences.append(
                f"Axis {axis:g} was read for the {eye} eye. An axis lies between 1 and 180. "
                "Check the figure; it was not written to FHIR."
            )
    return sentences


def not_carried(
    prescription: StructuredPrescription,
    *,
    pd: bool = False,
    frame: bool = False,
    fitting_height: bool = False,
    lens: bool = False,
) -> list[str]:
    """What the document does not hold, or holds in another form: a sentence each. The flags tell what else was given."""
    lost = []
    if prescription.vertex_distance_mm is not None:
        lost.append(f"the vertex distance of {prescription.vertex_distance_mm:g} mm")
    if prescription.expires_on is not None:
        lost.append(f"the day of expiry, {prescription.expires_on}")
    given_beside = (
        (pd, "the pupillary distance"),
        (fitting_height, "the fitting heights"),
        (frame, "the frame"),
        (lens, "the lens material and the blank"),
    )
    lost += [what for was_given, what in given_beside if was_given]
    sentences = [f"FHIR has no element for {what}. Send it beside the document." for what in lost]
    for eye, given in (("right", prescription.right), ("left", prescription.left)):
        if any(not isinstance(part.base, str) for part in given.prism):
            sentences.append(
                f"The prism of the {eye} eye has its base at an angle. FHIR holds in, out, up and down only: it was "
                "resolved into a horizontal and a vertical part of the same effect."
            )
    if prescription.issued_on is None:
        sentences.append("No day of issue was given. The document says that the date is unknown.")
    return sentences


def _date_written(issued_on: date | None) -> dict[str, Any]:
    """A required element without a value says why, in place of a day that nobody wrote."""
    if issued_on is not None:
        return {"dateWritten": issued_on.isoformat()}
    return {"_dateWritten": {"extension": [{"url": _WITHOUT_VALUE, "valueCode": "unknown"}]}}


def _lens_specification(eye: EyeName, given: PrescribedEye) -> dict[str, Any]:
    specification: dict[str, Any] = {
        "product": {"coding": [{"system": PRODUCT_SYSTEM, "code": SPECTACLE_LENS}]},
        "eye": eye,
        "sphere": given.sphere,
    }
    if given.cylinder is not None:
        specification["cylinder"] = given.cylinder
    if given.axis is not None:
        specification["axis"] = int(given.axis)
    prism = _prism(eye, given)
    if prism:
        specification["prism"] = prism
    if given.add is not None:
        specification["add"] = given.add
    return specification


def _prism(eye: EyeName, given: PrescribedEye) -> list[dict[str, Any]]:
    """All prism of an eye as at most one horizontal and one vertical component."""
    whole = combined(
        prism_from_base(
            amount_pd=part.amount,
            base_deg=base_angle(eye=eye, base=part.base) if isinstance(part.base, str) else part.base,
        )
        for part in given.prism
    )
    components = (
        (round(inward(eye=eye, x=whole.x_pd), _PRISM_DECIMALS), "in", "out"),
        (round(whole.y_pd, _PRISM_DECIMALS), "up", "down"),
    )
    return [
        {"amount": abs(amount), "base": positive if amount > 0 else negative}
        for amount, positive, negative in components
        if amount != 0
    ]
