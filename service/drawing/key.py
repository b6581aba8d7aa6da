"""The key below a lens: every sign of the drawing with its name and figures, so that no label needs to be long.

A key has at most 12 lines below its head, and so is never higher than the check square beside it.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from service.drawing import parts, pens
from service.drawing.lens import MODELLED, axis_words
from service.drawing.letters import LINE, broken, clean, cut, text
from service.drawing.scene import Circle, Group, Item, Pen, line
from service.drawing.sheet import LensDrawing, Point
from service.values import EyeName

KEY_MM: Final = 2.6
HEAD_MM: Final = 4.0
HEAD_ROOM_MM: Final = 6.5
SIGN_MM: Final = 8.0
SIGN_ROOM_MM: Final = 9.8

Sign = Callable[[float, float], tuple[Item, ...]]


@dataclass(frozen=True, slots=True)
class Row:
    """One sign and what it stands for, broken into lines."""

    sign: Sign
    lines: tuple[str, ...]


def key_rows(lens: LensDrawing, width_mm: float) -> tuple[Row, ...]:
    """The rows of a lens's key, for a column of this width."""
    room = width_mm - SIGN_ROOM_MM
    return tuple(Row(sign, broken(words, room, KEY_MM, most=most)) for sign, words, most in _rows(lens))


def key_group(lens: LensDrawing, rows: tuple[Row, ...], x: float, y: float, width_mm: float) -> Group:
    """The key with its upper left corner at a place of the page; its head is the eye and the power."""
    head = f"{'R' if lens.eye == 'right' else 'L'}   {clean(lens.notation)}"
    items: list[Item] = [text(x, y + HEAD_MM, cut(clean(head), width_mm, HEAD_MM, bold=True), HEAD_MM, bold=True)]
    down = y + HEAD_ROOM_MM
    for row in rows:
        items += row.sign(x, down + KEY_MM * 0.62)
        for words in row.lines:
            items.append(text(x + SIGN_ROOM_MM, down + KEY_MM * 0.95, words, KEY_MM))
            down += KEY_MM * LINE
    return Group(f"{lens.eye}-key", tuple(items))


def _rows(lens: LensDrawing) -> Iterator[tuple[Sign, str, int]]:
    left, right, low, high = parts.sizes(lens)
    size = f"{right - left:.2f} x {high - low:.2f} mm"
    if lens.modelled:
        yield _stroke(pens.MODELLED), f"{' '.join(MODELLED)}, {size}", 2
    else:
        yield _stroke(pens.OUTLINE), f"outline, {size}", 2
    yield _boxed_centre, "boxed centre; the figures below are from here", 1
    yield _pupil, f"pupil {from_centre(lens.pupil, lens.eye, height_known=lens.height_known)}", 2
    if parts.together(lens.pupil, lens.optical_centre):
        yield _dot, "optical centre at the pupil", 1
    else:
        yield _dot, f"optical centre {from_centre(lens.optical_centre, lens.eye)}", 1
    yield from _blank_rows(lens)
    if lens.axis_deg is not None:
        yield _stroke(pens.AXIS), axis_words(lens.axis_deg), 1


def _blank_rows(lens: LensDrawing) -> Iterator[tuple[Sign, str, int]]:
    if lens.blank_mm is None:
        yield _nothing, "no blank given", 1
        return
    if lens.blank_middle is None:
        place = ", place not known"
    elif parts.together(lens.blank_middle, lens.optical_centre):
        place = ", middle at the optical centre"
    else:
        place = f", middle {from_centre(lens.blank_middle, lens.eye)}"
    yield _stroke(pens.BLANK), f"blank Ø {lens.blank_mm:g} mm{place}", 2
    if lens.usable_mm is not None:
        yield _stroke(pens.USABLE), f"usable Ø {lens.usable_mm:g} mm", 1
    if lens.tightest_words is not None:
        yield _tightest, f"tightest: {clean(lens.tightest_words)}", 2


def from_centre(point: Point, eye: EyeName, *, height_known: bool = True) -> str:
    """Where a point lies from the boxed centre, in the words of the trade."""
    inward = point[0] if eye == "right" else -point[0]
    across = f"{abs(inward):.2f} {'in' if inward >= 0.0 else 'out'}"
    if not height_known:
        return f"{across} mm; height not given: on the centre line"
    return f"{across}, {abs(point[1]):.2f} {'up' if point[1] >= 0.0 else 'down'} mm"


def _stroke(pen: Pen) -> Sign:
    return lambda x, y: (line(x, y, x + SIGN_MM, y, pen),)


def _nothing(x: float, y: float) -> tuple[Item, ...]:  # noqa: ARG001 (a sign is asked for by place)
    return ()


def _boxed_centre(x: float, y: float) -> tuple[Item, ...]:
    return parts.cross((x + SIGN_MM / 2.0, y), parts.CENTRE_ARM_MM, pens.CENTRE)


def _pupil(x: float, y: float) -> tuple[Item, ...]:
    middle = (x + SIGN_MM / 2.0, y)
    return (Circle(*middle, 1.0, pens.MARK), *parts.cross(middle, 1.5, pens.MARK))


def _dot(x: float, y: float) -> tuple[Item, ...]:
    return (Circle(x + SIGN_MM / 2.0, y, parts.DOT_MM, None),)


def _tightest(x: float, y: float) -> tuple[Item, ...]:
    middle = x + SIGN_MM / 2.0
    stroke = line(middle - 0.4, y, middle + 0.4, y, pens.TIGHTEST)
    return (stroke, *parts.arrow((middle - 0.4, y), (1.0, 0.0)), *parts.arrow((middle + 0.4, y), (-1.0, 0.0)))
