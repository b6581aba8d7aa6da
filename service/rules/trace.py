"""The traced outline: can it be relied on, and does it belong to this frame?"""

from collections.abc import Iterator
from typing import Final

from service.facts_trace import CheckedTrace, TraceFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule

TRACE: Final = "/frame/trace"
_CUSTOMER: Final = "We have to measure the shape of this frame again."
_SIZES: Final = {"a_mm": "A", "b_mm": "B", "ed_mm": "ED"}


def _faulty(facts: TraceFacts, fault: str) -> Iterator[CheckedTrace]:
    yield from (checked for checked in facts.checked if checked.fault == fault)


def _sound(facts: TraceFacts) -> Iterator[CheckedTrace]:
    yield from (checked for checked in facts.checked if checked.fault is None)


@rule(
    "trace-without-outline",
    severity="review",
    source="house",
    scope="trace",
    shop="A trace was announced and holds no outline. Send the radii or the points of at least one lens, or leave the trace "
    "out.",
    customer=_CUSTOMER,
)
def trace_without_outline(facts: TraceFacts, _: Limits) -> Iterator[Noticed]:
    """A trace holds no outline."""
    if not facts.checked:
        yield Noticed(TRACE)
    for checked in _faulty(facts, "no-outline"):
        yield Noticed(checked.pointer, checked.eye)


@rule(
    "trace-in-two-forms",
    severity="reject",
    source="house",
    scope="trace",
    shop="Radii and points were both sent for the {eye}, and they may differ. Send one of them; the trace was left aside.",
    customer=_CUSTOMER,
)
def trace_in_two_forms(facts: TraceFacts, _: Limits) -> Iterator[Noticed]:
    """An outline is given as radii and as points."""
    for checked in _faulty(facts, "two-outlines"):
        yield Noticed(checked.pointer, checked.eye)


@rule(
    "trace-too-coarse",
    severity="reject",
    source="house",
    scope="trace",
    shop="The outline of the {eye} has {value}, repeated ones not counted; at least {limit} tell a shape. Trace again "
    "with more points; the trace was left aside.",
    customer=_CUSTOMER,
)
def trace_too_coarse(facts: TraceFacts, _: Limits) -> Iterator[Noticed]:
    """An outline has too few points."""
    for checked in _faulty(facts, "too-few-points"):
        yield Noticed(
            checked.pointer, checked.eye, value=float(checked.count), limit=float(checked.least_count), unit="points"
        )


@rule(
    "trace-crosses-itself",
    severity="reject",
    source="derived",
    scope="trace",
    shop="The outline of the {eye} crosses or touches itself between points {first} and {second}, counted from 0. Points "
    "may be out of order, or the tracer slipped. Trace again; the trace was left aside.",
    customer=_CUSTOMER,
)
def trace_crosses_itself(facts: TraceFacts, _: Limits) -> Iterator[Noticed]:
    """An outline crosses itself."""
    for checked in _faulty(facts, "crosses-itself"):
        first, second = checked.crossing or (0, 0)
        yield Noticed(checked.pointer, checked.eye, words={"first": str(first), "second": str(second)})


@rule(
    "trace-misses-its-centre",
    severity="reject",
    source="iso-8624",
    scope="trace",
    shop="The outline of the {eye} does not go round the middle of its own box, as every lens shape does. Part of it may "
    "be missing. Trace again; the trace was left aside.",
    customer=_CUSTOMER,
)
def trace_misses_its_centre(facts: TraceFacts, _: Limits) -> Iterator[Noticed]:
    """An outline does not enclose its boxed centre."""
    for checked in _faulty(facts, "centre-outside"):
        yield Noticed(checked.pointer, checked.eye)


@rule(
    "trace-cannot-be-resized",
    severity="reject",
    source="derived",
    scope="trace",
    shop="The outline of the {eye} cannot be changed by {value} all round: nothing, or more than one piece, would be left. "
    "Make the change smaller; the trace was left aside.",
    customer=_CUSTOMER,
)
def trace_cannot_be_resized(facts: TraceFacts, _: Limits) -> Iterator[Noticed]:
    """The size change asked for leaves no single shape."""
    for checked in _faulty(facts, "cannot-be-resized"):
        yield Noticed(f"{TRACE}/size_change_mm", checked.eye, value=facts.size_change_mm, unit="mm")


@rule(
    "trace-open",
    severity="review",
    source="house",
    scope="trace",
    shop="The outline of the {eye} is open: from its last point to its first are {value}, while {limit} would be much "
    "beside its other sides. It was closed with a straight line. Check the trace.",
    customer=_CUSTOMER,
)
def trace_open(facts: TraceFacts, limits: Limits) -> Iterator[Noticed]:
    """An outline does not come back to where it began."""
    times = limits.profile.trace.gap_times
    for checked in _sound(facts):
        gap = checked.gap
        if gap is not None and gap.closing_mm > times * gap.longest_other_mm:
            yield Noticed(
                checked.pointer,
                checked.eye,
                value=gap.closing_mm,
                limit=times * gap.longest_other_mm,
                unit="mm",
                limit_key="trace.gap_times",
            )


@rule(
    "trace-spike",
    severity="review",
    source="house",
    scope="trace",
    shop="The outline of the {eye} turns by {value} at point {point}, counted from 0; up to "
    "{limit} is a corner. The tracer may have slipped. Check the trace.",
    customer=_CUSTOMER,
)
def trace_spike(facts: TraceFacts, limits: Limits) -> Iterator[Noticed]:
    """An outline turns back on itself at one point."""
    limit = limits.profile.trace.spike_deg
    for checked in _sound(facts):
        turn = checked.turn
        if turn is not None and turn.degrees > limit:
            yield Noticed(
                checked.pointer,
                checked.eye,
                value=turn.degrees,
                limit=limit,
                unit="°",
                limit_key="trace.spike_deg",
                words={"point": str(turn.index)},
            )


@rule(
    "trace-differs-from-frame",
    severity="review",
    source="iso-8624",
    scope="trace",
    shop="{size} was traced as {value} for the {eye}; the order says {stated}, which is {apart} apart, more than {limit}. "
    "The trace may belong to another frame. The traced sizes were used.",
    customer="The frame's sizes do not agree with its measured shape. The shop will check them.",
)
def trace_differs_from_frame(facts: TraceFacts, limits: Limits) -> Iterator[Noticed]:
    """The traced sizes are not those of the order."""
    limit = limits.profile.trace.box_differs_mm
    for checked in _sound(facts):
        for size in checked.differences:
            if size.apart_mm > limit:
                yield Noticed(
                    f"/frame/{size.key}",
                    checked.eye,
                    value=size.traced_mm,
                    limit=limit,
                    unit="mm",
                    limit_key="trace.box_differs_mm",
                    words={
                        "size": _SIZES[size.key],
                        "stated": f"{size.stated_mm:g} mm",
                        "apart": f"{size.apart_mm:.2f} mm",
                    },
                )


@rule(
    "traces-of-eyes-differ",
    severity="review",
    source="house",
    scope="trace",
    shop="{size} was traced as {right} on the right and {left} on the left, {value} apart, more than {limit}. The lenses of "
    "a frame mirror each other. Trace again.",
    customer=_CUSTOMER,
)
def traces_of_eyes_differ(facts: TraceFacts, limits: Limits) -> Iterator[Noticed]:
    """The two traced lenses are not of one size."""
    limit = limits.profile.trace.eyes_differ_mm
    for size in facts.differences_of_eyes:
        if size.apart_mm > limit:
            yield Noticed(
                TRACE,
                value=size.apart_mm,
                limit=limit,
                unit="mm",
                limit_key="trace.eyes_differ_mm",
                words={
                    "size": _SIZES[size.key],
                    "right": f"{size.stated_mm:.2f} mm",
                    "left": f"{size.traced_mm:.2f} mm",
                },
            )


@rule(
    "trace-off-centre",
    severity="note",
    source="iso-8624",
    scope="trace",
    shop="The origin of the trace for the {eye} lies {value} from the middle of its box, more than {limit}. The outline was "
    "moved there: all distances are from the boxed centre.",
    customer="The measured shape of this frame was centred.",
)
def trace_off_centre(facts: TraceFacts, limits: Limits) -> Iterator[Noticed]:
    """The trace was not made about the boxed centre."""
    limit = limits.profile.trace.off_centre_mm
    for checked in _sound(facts):
        if checked.off_centre_mm > limit:
            yield Noticed(
                checked.pointer,
                checked.eye,
                value=checked.off_centre_mm,
                limit=limit,
                unit="mm",
                limit_key="trace.off_centre_mm",
            )
