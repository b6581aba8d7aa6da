"""Where a prescription comes from: fields of its own, a text or a FHIR document that must be read first."""

from dataclasses import dataclass, replace

from service.contract.answer import Finding
from service.contract.order import (
    FhirPrescription,
    Prescription,
    PupillaryDistance,
    StructuredPrescription,
)
from service.reading.fhir_read import read_fhir
from service.reading.fhir_remarks import FhirReading
from service.reading.text_reading import PdText, Remark
from service.reading.written import Written, read_written

FHIR_POINTER = "/prescription/fhir"
_IN_TEXT = ("/prescription/right", "/prescription/left", "/prescription/vertex_distance_mm")


@dataclass(frozen=True, slots=True)
class PrescriptionSource:
    """A prescription in figures, if it could be had, and the text it was read from, if it came as one."""

    structured: StructuredPrescription | None
    written: Written | None = None
    text: str = ""
    fhir: FhirReading | None = None

    def placed(self, finding: Finding) -> Finding:
        """A finding on a figure, moved to the place of that figure in the text or the document."""
        if self.fhir is not None and finding.pointer.startswith("/prescription"):
            return replace(finding, pointer=FHIR_POINTER + self.fhir.place_of(finding.pointer), remedies=[])
        if self.written is None or not finding.pointer.startswith(_IN_TEXT):
            return finding
        span = self.written.spans.get(finding.pointer) or self.written.spans.get(finding.pointer.rpartition("/")[0])
        return replace(finding, pointer="/prescription/written", span=None if span is None else list(span), remedies=[])

    def with_pd_judged(self, pd: PupillaryDistance, rounding_mm: float) -> "PrescriptionSource":
        """The same source, with a remark if the order's PD is another than that in the text."""
        if self.written is None or self.written.pd is None:
            return self
        text = self.written.pd
        pairs = ((pd.right, text.right), (pd.left, text.left), (_total(pd), _total(text)))
        if all(one is None or other is None or abs(one - other) <= rounding_mm for one, other in pairs):
            return self
        remark = Remark("pd-differs-from-text", text.span, self.text[slice(*text.span)])
        return replace(self, written=replace(self.written, remarks=(*self.written.remarks, remark)))


def _total(pd: PupillaryDistance | PdText) -> float | None:
    if pd.both is not None:
        return pd.both
    return None if pd.right is None or pd.left is None else pd.right + pd.left


def prescription_of(prescription: Prescription) -> PrescriptionSource:
    """The prescription of a request, read if it is a text or a FHIR document."""
    if isinstance(prescription, StructuredPrescription):
        return PrescriptionSource(prescription)
    if isinstance(prescription, FhirPrescription):
        reading = read_fhir(prescription.fhir)
        return PrescriptionSource(reading.prescription, fhir=reading)
    written = read_written(prescription.written)
    structured = written.prescription
    if structured is not None:
        days = {"issued_on": prescription.issued_on, "expires_on": prescription.expires_on}
        structured = structured.model_copy(update=days)
    return PrescriptionSource(structured, written, prescription.written)
