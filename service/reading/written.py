"""Text in, structured prescription and remarks out."""

from dataclasses import dataclass

from service.contract.order import PrescribedEye, PrescribedPrism, StructuredPrescription
from service.reading.grammar import read_text
from service.reading.text_reading import EyeName, EyeText, PdText, Reading, Remark, Span


@dataclass(frozen=True, slots=True)
class Written:
    """A text as it was read. `prescription` is None where an eye's power cannot be told from the text.

    `spans` gives the place of each figure in the text by the JSON Pointer it has in a structured prescription.
    """

    prescription: StructuredPrescription | None
    pd: PdText | None
    remarks: tuple[Remark, ...]
    spans: dict[str, Span]


def read_written(text: str) -> Written:
    """Read a prescription as people write it."""
    reading = read_text(text)
    _remark_missing_eyes(text, reading)
    pd = reading.pd
    if (pd.right is None) != (pd.left is None) and pd.both is None:
        reading.remarks.append(Remark("pd-not-clear", pd.span, text[slice(*pd.span)]))
    return Written(
        prescription=_structured(reading),
        pd=None if (pd.right, pd.left, pd.both, pd.near) == (None, None, None, None) else pd,
        remarks=tuple(sorted(reading.remarks, key=lambda remark: remark.span)),
        spans=_spans(reading),
    )


def _remark_missing_eyes(text: str, reading: Reading) -> None:
    everything = (0, len(text))
    if reading.right is None and reading.left is None:
        reading.remarks.append(Remark("no-power-in-text", everything, text))
        return
    sides: tuple[tuple[EyeName, EyeText | None], ...] = (("right", reading.right), ("left", reading.left))
    for name, eye in sides:
        if eye is None:
            reading.remarks.append(Remark("eye-missing", everything, text, name))


def _structured(reading: Reading) -> StructuredPrescription | None:
    right, left = reading.right, reading.left
    if right is None or left is None or right.sphere is None or left.sphere is None:
        return None
    return StructuredPrescription(
        right=_eye(right, right.sphere), left=_eye(left, left.sphere), vertex_distance_mm=reading.vertex_mm
    )


def _eye(eye: EyeText, sphere: float) -> PrescribedEye:
    return PrescribedEye(
        sphere=sphere,
        cylinder=eye.cylinder,
        axis=eye.axis,
        add=eye.add,
        prism=[PrescribedPrism(amount=amount, base=base) for amount, base in eye.prism],
    )


def _spans(reading: Reading) -> dict[str, Span]:
    found = {
        f"/prescription/{eye.eye}/{member}": span
        for eye in (reading.right, reading.left)
        if eye is not None
        for member, span in eye.spans.items()
    }
    for eye in (reading.right, reading.left):
        if eye is not None:
            found[f"/prescription/{eye.eye}"] = _whole(eye)
    if reading.vertex_mm is not None:
        found["/prescription/vertex_distance_mm"] = reading.vertex_span
    return found


def _whole(eye: EyeText) -> Span:
    spans = [eye.span, *eye.spans.values()]
    return min(start for start, _ in spans), max(end for _, end in spans)
