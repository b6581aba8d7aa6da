"""What follows from a traced outline: is it sound, what are its sizes, does it agree with the frame as stated?"""

from dataclasses import dataclass, replace
from typing import Any, Literal

from optics_core.boxing import centre_shift
from optics_core.errors import DomainError
from optics_core.outline import (
    LEAST_COUNT,
    OutlineSizes,
    counter_clockwise,
    mirrored,
    outline_sizes,
    recentred,
    without_repeats,
)
from optics_core.outline_checks import Gap, Turn, closing_gap, encloses, first_crossing, sharpest_turn
from optics_core.outline_offset import offset_outline
from service.rounding import settled
from service.values import EyeName, FrameValues, TracedOutline, TraceValues

# What keeps an outline from being used, in the order in which it is looked for.
Fault = Literal["no-outline", "two-outlines", "too-few-points", "crosses-itself", "centre-outside", "cannot-be-resized"]


@dataclass(frozen=True, slots=True)
class SizeDifference:
    """A size of the frame as stated and as traced."""

    key: Literal["a_mm", "b_mm", "ed_mm"]
    stated_mm: float
    traced_mm: float
    apart_mm: float


@dataclass(frozen=True, slots=True)
class CheckedTrace:
    """One outline as it was sent and what the checks say. Figures that a fault leaves without meaning are None."""

    eye: EyeName
    pointer: str
    count: int
    least_count: int
    fault: Fault | None
    crossing: tuple[int, int] | None
    off_centre_mm: float
    turn: Turn | None
    gap: Gap | None
    differences: tuple[SizeDifference, ...]


@dataclass(frozen=True, slots=True)
class EyeOutline:
    """The outline that one lens is cut to, around its boxed centre, counter-clockwise as seen from the front.

    `points` is an array of shape (n, 2) in mm, `sizes` are those of the lens as cut, which is larger all round by the size
    change than the frame as traced: `frame_points`, `frame_a_mm` and `frame_b_mm`, from which the wearer's eyes are
    measured. `traced` is the eye whose trace it comes from: mirrored where it is the other's. `bevel_mm` is how far the tip
    of the bevel stands outside it.
    """

    points: Any
    sizes: OutlineSizes
    frame_points: Any
    size_change_mm: float
    frame_a_mm: float
    frame_b_mm: float
    traced: EyeName
    bevel_mm: float


@dataclass(frozen=True, slots=True)
class TraceFacts:
    """The traces of an order, and the outlines that can be relied on."""

    checked: tuple[CheckedTrace, ...]
    right: EyeOutline | None
    left: EyeOutline | None
    size_change_mm: float
    bevel_given: bool
    differences_of_eyes: tuple[SizeDifference, ...]


def trace_facts(values: TraceValues, frame: FrameValues | None) -> TraceFacts:
    """Check every outline that was sent and make the one that each lens is cut to. `frame` holds the sizes as stated."""
    looked_at = [_checked(traced, values, frame) for traced in values.outlines]
    sound = {checked.eye: outline for checked, outline in looked_at}
    # One eye's outline serves both; a trace that was sent and is no good is not replaced in silence.
    right = sound["right"] if "right" in sound else _mirror(sound.get("left"))
    left = sound["left"] if "left" in sound else _mirror(sound.get("right"))
    both = right is not None and left is not None and right.traced != left.traced
    return TraceFacts(
        checked=tuple(checked for checked, _ in looked_at),
        right=right,
        left=left,
        size_change_mm=values.size_change_mm,
        bevel_given=values.bevel_given,
        differences_of_eyes=_differences(right.sizes, left.sizes) if both and right and left else (),
    )


def _mirror(outline: EyeOutline | None) -> EyeOutline | None:
    if outline is None:
        return None
    points = mirrored(outline.points)
    return replace(outline, points=points, sizes=outline_sizes(points), frame_points=mirrored(outline.frame_points))


def _checked(
    traced: TracedOutline, values: TraceValues, frame: FrameValues | None
) -> tuple[CheckedTrace, EyeOutline | None]:
    def faulty(fault: Fault, count: int, **known: Any) -> tuple[CheckedTrace, None]:
        figures = {"crossing": None, "off_centre_mm": 0.0, "turn": None, "gap": None, "differences": ()} | known
        return CheckedTrace(traced.eye, traced.pointer, count, LEAST_COUNT, fault, **figures), None

    if traced.points is None:
        return faulty("two-outlines" if traced.both_forms else "no-outline", 0)
    if len(traced.points) < LEAST_COUNT:
        return faulty("too-few-points", len(traced.points))
    distinct = without_repeats(traced.points)
    count = len(distinct)
    if count < LEAST_COUNT:
        return faulty("too-few-points", count)
    crossing = first_crossing(distinct)
    if crossing is not None:
        first, second = (_as_sent(traced.points, distinct[index]) for index in crossing)
        return faulty("crosses-itself", count, crossing=(first, second))
    moved = recentred(counter_clockwise(distinct))
    off_centre = settled(centre_shift(in_mm=moved.x_mm, up_mm=moved.y_mm, reach_mm=0.0).distance_mm)
    if not encloses(moved.points, x_mm=0.0, y_mm=0.0):
        return faulty("centre-outside", count, off_centre_mm=off_centre)
    as_traced, cut = outline_sizes(moved.points), moved.points
    if values.size_change_mm:
        try:
            cut = offset_outline(moved.points, by_mm=values.size_change_mm)
        except DomainError:
            return faulty("cannot-be-resized", count, off_centre_mm=off_centre)
    checked = CheckedTrace(
        eye=traced.eye,
        pointer=traced.pointer,
        count=count,
        least_count=LEAST_COUNT,
        fault=None,
        crossing=None,
        off_centre_mm=off_centre,
        turn=_turn_as_sent(traced.points, distinct),
        gap=closing_gap(distinct),
        differences=() if frame is None else _stated_and_traced(frame, as_traced),
    )
    sizes = as_traced if cut is moved.points else outline_sizes(cut)
    return checked, EyeOutline(
        points=cut,
        sizes=sizes,
        frame_points=moved.points,
        size_change_mm=values.size_change_mm,
        frame_a_mm=as_traced.a_mm,
        frame_b_mm=as_traced.b_mm,
        traced=traced.eye,
        bevel_mm=values.bevel_mm,
    )


def _turn_as_sent(sent: Any, distinct: Any) -> Turn:
    turn = sharpest_turn(distinct)
    return replace(turn, index=_as_sent(sent, distinct[turn.index]))


def _as_sent(sent: Any, point: Any) -> int:
    """Number of a point in the outline as it was sent; of one that is repeated, the last before the outline goes on."""
    x, y = point
    number = next(index for index, (sent_x, sent_y) in enumerate(sent) if sent_x == x and sent_y == y)
    while number + 1 < len(sent) and sent[number + 1][0] == x and sent[number + 1][1] == y:
        number += 1
    return number


def _stated_and_traced(frame: FrameValues, sizes: OutlineSizes) -> tuple[SizeDifference, ...]:
    stated = [
        SizeDifference("a_mm", frame.a_mm, sizes.a_mm, settled(abs(frame.a_mm - sizes.a_mm))),
        SizeDifference("b_mm", frame.b_mm, sizes.b_mm, settled(abs(frame.b_mm - sizes.b_mm))),
    ]
    if frame.given_ed_mm is not None:
        apart = settled(abs(frame.given_ed_mm - sizes.ed_mm))
        stated.append(SizeDifference("ed_mm", frame.given_ed_mm, sizes.ed_mm, apart))
    return tuple(stated)


def _differences(right: OutlineSizes, left: OutlineSizes) -> tuple[SizeDifference, ...]:
    return (
        SizeDifference("a_mm", right.a_mm, left.a_mm, settled(abs(right.a_mm - left.a_mm))),
        SizeDifference("b_mm", right.b_mm, left.b_mm, settled(abs(right.b_mm - left.b_mm))),
    )
