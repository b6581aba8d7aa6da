"""A trace file in, an outline out. No web here, so that the command line can call it too."""

from dataclasses import replace
from typing import Final

from service.answers_fit import outline_answer
from service.checking import cautions, decision, engine
from service.contract.bench import TraceFile
from service.contract.order import Order
from service.contract.trace import Outline, Trace
from service.contract.trace_answer import OutlineRead, TraceAnswer, TraceRead
from service.facts_trace import TraceFacts, trace_facts
from service.profile.loader import Limits
from service.reading.trace_files import TraceReading, trace_from
from service.reading.trace_remarks import REMARKS, TraceRemark
from service.rules.registry import gravest_first, trace_file_findings, trace_findings
from service.translate import traced_outline
from service.values import EyeName, TraceValues

_TEXT: Final = "/text"


def read_trace(request: TraceFile, limits: Limits) -> TraceAnswer:
    """The outline in a trace file, its sizes, and what is doubtful about it."""
    reading = trace_from(request.text)
    found = trace_file_findings(reading.remarks, limits)
    facts = _facts(reading, request.eye)
    outline = None
    if facts is not None:
        found += [replace(finding, pointer=_TEXT) for finding in trace_findings(facts, limits)]
        outline = facts.right if request.eye == "right" else facts.left
    found = gravest_first(found)
    return TraceAnswer(
        decision=decision(found),
        form=reading.form,
        outline=None if outline is None else outline_answer(outline),
        trace=_trace(reading, request.eye),
        findings=found,
        cautions=cautions(limits),
        assumptions=[],
        engine=engine(limits),
    )


class TraceFileError(ValueError):
    """A trace file that cannot be read; the text holds what the findings say, a line each."""


def with_trace(order: Order, text: str, eye: EyeName) -> Order:
    """The order with the outline of a trace file in place of any that it had; its bevel and size change stay.

    Raises TraceFileError if the file cannot be read, or only with a doubt that a person must settle.
    """
    reading = trace_from(text)
    doubts = [REMARKS[remark.code][1].format_map(remark.words) for remark in reading.remarks if _is_doubt(remark)]
    if reading.form is None or doubts:
        raise TraceFileError("\n".join(doubts))
    outline = Outline(
        radii_mm=list(reading.radii_mm) if reading.form == "radii" else None,
        points_mm=[list(point) for point in reading.points_mm] if reading.form == "points" else None,
    )
    before = order.frame.trace or Trace()
    trace = before.model_copy(
        update={"right": outline if eye == "right" else None, "left": outline if eye == "left" else None}
    )
    return order.model_copy(update={"frame": order.frame.model_copy(update={"trace": trace})})


def trace_notes(text: str) -> list[str]:
    """What is worth knowing of a trace file that can be read."""
    remarks = trace_from(text).remarks
    return [REMARKS[one.code][1].format_map(one.words) for one in remarks if REMARKS[one.code][0] == "note"]


def _is_doubt(remark: TraceRemark) -> bool:
    return REMARKS[remark.code][0] != "note"


def _facts(reading: TraceReading, eye: EyeName) -> TraceFacts | None:
    if reading.form is None:
        return None
    radii = list(reading.radii_mm) if reading.form == "radii" else None
    points = [list(point) for point in reading.points_mm] if reading.form == "points" else None
    outline = traced_outline(eye, Outline.model_construct(radii_mm=radii, points_mm=points))
    return trace_facts(TraceValues((outline,), 0.0, 0.0, bevel_given=True), None)


def _trace(reading: TraceReading, eye: EyeName) -> TraceRead | None:
    if reading.form is None:
        return None
    outline = OutlineRead(
        radii_mm=list(reading.radii_mm) if reading.form == "radii" else None,
        points_mm=[list(point) for point in reading.points_mm] if reading.form == "points" else None,
    )
    return TraceRead(right=outline if eye == "right" else None, left=outline if eye == "left" else None)
