"""Where a prescription comes from: fields of its own, or a text that must be read first."""

from dataclasses import dataclass, replace

from service.contract.answer import Finding
from service.contract.order import Prescription, PupillaryDistance, StructuredPrescription, WrittenPrescription
from service.reading.text_reading import PdText, Remark
from service.reading.written import Written, read_written

_IN_TEXT = ("/prescription/right", "/prescription/left", "/prescription/vertex_distance_mm")


@dataclass(frozen=True, slots=True)
class PrescriptionSource:
    """A prescription in figures, if it could be had, and the text it was read from, if it came as one."""

    structured: StructuredPrescription | None
    written: Written | None = None
    text: str = ""
    remarks: tuple[Remark, ...] = ()

    def placed(self, finding: Finding) -> Finding:
        """A finding on a figure, moved to the place of that figure in the text."""
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
        return replace(self, remarks=(*self.remarks, remark))


def _total(pd: PupillaryDistance | PdText) -> float | None:
    if pd.both is not None:
        return pd.both
    return None if pd.right is None or pd.left is None else pd.right + pd.left


def prescription_of(prescription: Prescription) -> PrescriptionSource:
    """The prescription of a request, read if it is written."""
    if not isinstance(prescription, WrittenPrescription):
        return PrescriptionSource(prescription)
    written = read_written(prescription.written)
    structured = written.prescription
    if structured is not None:
        days = {"issued_on": prescription.issued_on, "expires_on": prescription.expires_on}
        structured = structured.model_copy(update=days)
    return PrescriptionSource(structured, written, prescription.written, written.remarks)
