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
from service.reading.trace_remarks import REMARKS
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


def with_trace(order: Order, text: str, eye: EyeName) -> tuple[Order, list[str]]:
    """The order with the outline of a trace file in place of any that it had, and what is worth knowing of the file.

    The bevel and the size change of the order stay. Raises TraceFileError if the file cannot be read, or only with a doubt
    that a person must settle.
    """
    reading = trace_from(text)
    told = [(REMARKS[one.code][0] == "note", REMARKS[one.code][1].format_map(one.words)) for one in reading.remarks]
    notes = [sentence for is_note, sentence in told if is_note]
    if reading.form is None or len(notes) < len(told):
        raise TraceFileError("\n".join(sentence for is_note, sentence in told if not is_note))
    radii, points = _figures(reading)
    outline = Outline(radii_mm=radii, points_mm=points)
    before = order.frame.trace or Trace()
    trace = before.model_copy(
        update={"right": outline if eye == "right" else None, "left": outline if eye == "left" else None}
    )
    return order.model_copy(update={"frame": order.frame.model_copy(update={"trace": trace})}), notes


def _figures(reading: TraceReading) -> tuple[list[float] | None, list[list[float]] | None]:
    """The radii or the points that were read; None for the other."""
    if reading.form == "radii":
        return list(reading.radii_mm), None
    return None, [list(point) for point in reading.points_mm]


def _facts(reading: TraceReading, eye: EyeName) -> TraceFacts | None:
    if reading.form is None:
        return None
    radii, points = _figures(reading)
    outline = traced_outline(eye, Outline.model_construct(radii_mm=radii, points_mm=points))
    return trace_facts(TraceValues((outline,), 0.0, 0.0, bevel_given=True), None)


def _trace(reading: TraceReading, eye: EyeName) -> TraceRead | None:
    if reading.form is None:
        return None
    outline = OutlineRead(*_figures(reading))
    return TraceRead(right=outline if eye == "right" else None, left=outline if eye == "left" else None)
