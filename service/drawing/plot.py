"""A batch of inspected pairs as a plot: one panel for each quantity, so that drift and outliers are seen at a glance.

Across run the pairs in their order, up runs the part of its limit that a deviation uses, with its sign: whatever the
unit, the limits are the lines at +1 and -1. All is told by form and not by colour: which eye, what fails, and what
lies so far out that it is drawn at the edge of its panel, with an arrow and its figure.

Several panels share a row where the pairs are few enough. A row is as high as its panels need, and the page as the rows.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count as counted
from typing import Final

from service.drawing.letters import ASCENT, DESCENT, LINE, broken, clean, cut, text, width
from service.drawing.page import LEAST_TITLE_MM, MARGIN_MM, TITLE_MM
from service.drawing.scene import Circle, Group, Item, Path, Pen, Scene, Text, line, rectangle
from service.values import EyeName

PAGE_MM: Final = 210.0
BETWEEN_MM: Final = 6.0
BELOW_MM: Final = 3.4
FEW_PAIRS: Final = 60
"""With more pairs than this a panel takes the whole width of the page."""
HEAD_MM: Final = 3.4
WORDS_MM: Final = 2.7
TICK_MM: Final = 2.4
TICKS_MM: Final = 1.65 * TICK_MM
"""From the frame, or the figures below it, to below the numbers of the pairs."""
FIGURE_MM: Final = 2.3
SCALE_ROOM_MM: Final = 6.0
"""For the figures beside a panel."""
UNIT_MM: Final = 7.5
"""From 0 to a limit."""
REACH: Final = 1.25
"""What lies farther out than this part of its limit is drawn here, with an arrow."""
EDGE_MM: Final = 2.9
INSET_MM: Final = 1.6
HALF_MM: Final = UNIT_MM * REACH + EDGE_MM
LEAST_MARK_MM: Final = 0.45
MOST_MARK_MM: Final = 0.9
ARROW_MM: Final = 1.0
MOST_FIGURE_ROWS: Final = 3
FRAME: Final = Pen(0.13)
LIMIT: Final = Pen(0.3, (2.2, 1.3))
ZERO: Final = Pen(0.13)
MARK: Final = Pen(0.2)
FAILED: Final = Pen(0.25)
EXPLAINED: Final = (
    "Across: the pairs in their order. Up and down: the part of its limit that a deviation uses, with its sign; "
    "the dashed lines at +1 and -1 are the limits."
)


@dataclass(frozen=True, slots=True)
class Mark:
    """One deviation: the pair's place in the sequence, from 1; its share of the limit; whose eye, or None of the pair."""

    number: int
    share: float
    eye: EyeName | None
    failed: bool


@dataclass(frozen=True, slots=True)
class Panel:
    """All deviations of one quantity, and words above them."""

    title: str
    caption: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class _Figures:
    """Figures of marks beyond the panel, in rows: at what place, in which row, what words; and those without room."""

    placed: tuple[tuple[float, int, str], ...]
    left_out: tuple[float, ...]

    @property
    def height_mm(self) -> float:
        return max((row + 1 for _, row, _ in self.placed), default=0) * FIGURE_MM * LINE


@dataclass(frozen=True, slots=True)
class _Measured:
    """A panel with its words broken into lines, and the figures above and below it."""

    panel: Panel
    title: str
    lines: tuple[str, ...]
    above: _Figures
    below: _Figures

    @property
    def head_mm(self) -> float:
        """From its upper edge to the frame."""
        return HEAD_MM * LINE + len(self.lines) * WORDS_MM * LINE + 0.8 + self.above.height_mm


@dataclass(frozen=True, slots=True)
class _Across:
    """Where the pairs lie across a panel."""

    left: float
    right: float
    count: int

    @property
    def slot_mm(self) -> float:
        return (self.right - self.left - 2.0 * INSET_MM) / self.count

    @property
    def mark_mm(self) -> float:
        """Radius of a mark: small where the pairs are many."""
        return min(max(0.2 * self.slot_mm, LEAST_MARK_MM), MOST_MARK_MM)

    def pair(self, number: int) -> float:
        return self.left + INSET_MM + (number - 0.5) * self.slot_mm

    def place(self, mark: Mark) -> float:
        """Right eyes a little to the left, left eyes to the right, as the pair is seen from the front."""
        aside = min(0.25 * self.slot_mm, 1.6 * MOST_MARK_MM)
        return self.pair(mark.number) + {"right": -aside, "left": aside, None: 0.0}[mark.eye]


def plot(title: str, description: str, panels: tuple[Panel, ...], count: int) -> Scene:
    """The page of a batch of so many pairs; ValueError where a mark is none of them or no number."""
    _demand(panels, count)
    heading = clean(title) or "Inspected pairs"
    groups, down = _head(heading, clean(description))
    columns = 2 if len(panels) > 1 and count <= FEW_PAIRS else 1
    wide = (PAGE_MM - 2.0 * MARGIN_MM - (columns - 1) * BETWEEN_MM) / columns
    numbers = counted(1)
    for first in range(0, len(panels), columns):
        row = panels[first : first + columns]
        lefts = [MARGIN_MM + index * (wide + BETWEEN_MM) for index in range(len(row))]
        across = [_Across(left + SCALE_ROOM_MM, left + wide, count) for left in lefts]
        measured = [_measured(panel, each) for panel, each in zip(row, across, strict=True)]
        middle = down + max(each.head_mm for each in measured) + HALF_MM
        for each, its_across in zip(measured, across, strict=True):
            groups += _panel(f"panel-{next(numbers)}", each, its_across, down, middle)
        down = middle + HALF_MM + max(each.below.height_mm for each in measured) + TICKS_MM + BELOW_MM
    high = down - BELOW_MM + MARGIN_MM
    return Scene(PAGE_MM, high, heading, clean(description), tuple(group for group in groups if group.items))


def _demand(panels: tuple[Panel, ...], count: int) -> None:
    if count < 1 or not panels:
        raise ValueError(f"1 pair and 1 panel or more are expected; {count} and {len(panels)} were read")
    for panel in panels:
        for mark in panel.marks:
            if not 1 <= mark.number <= count or not math.isfinite(mark.share):
                raise ValueError(f"a number from 1 to {count} and a finite share are expected of a mark; read: {mark}")


def _head(title: str, description: str) -> tuple[list[Group], float]:
    """The words and the key above all panels, and how far down they reach."""
    wide = PAGE_MM - 2.0 * MARGIN_MM
    size = TITLE_MM
    while size > LEAST_TITLE_MM and width(title, size, bold=True) > wide:
        size -= 0.2
    items: list[Item] = [text(MARGIN_MM, MARGIN_MM + 4.7, cut(title, wide, size, bold=True), size, bold=True)]
    down = MARGIN_MM + 6.5
    for words in (*broken(description, wide, WORDS_MM, most=3), *broken(EXPLAINED, wide, WORDS_MM, most=3)):
        items.append(text(MARGIN_MM, down + ASCENT * WORDS_MM, words, WORDS_MM))
        down += WORDS_MM * LINE
    down += 1.2
    key = tuple(_key(down + ASCENT * WORDS_MM))
    return [Group("plot-heading", tuple(items)), Group("plot-key", key)], down + WORDS_MM * LINE + 3.5


def _key(y: float) -> Iterator[Item]:
    """Every form with what it stands for, in one line."""
    x, level, radius = MARGIN_MM + 2.0, y - 0.35 * WORDS_MM, MOST_MARK_MM
    signs: tuple[tuple[Callable[[float], tuple[Item, ...]], str], ...] = (
        (lambda x: _form("right", x, level, radius), "right eye"),
        (lambda x: _form("left", x, level, radius), "left eye"),
        (lambda x: _form(None, x, level, radius), "the pair"),
        (lambda x: (_square(x, level, radius),), "in a square: fails"),
        (
            lambda x: (_arrow(x, level + 0.5 * ARROW_MM, -1.0),),
            "beyond the panel; the figure is the share of the limit",
        ),
    )
    for sign, words in signs:
        written = text(x + 2.2, y, words, WORDS_MM)
        yield from (*sign(x), written)
        x += 2.2 + written.width_mm + 5.0


def _measured(panel: Panel, across: _Across) -> _Measured:
    wide = across.right - across.left + SCALE_ROOM_MM
    above, below = (_figures(panel.marks, across, sign) for sign in (1.0, -1.0))
    lines = broken(clean(panel.caption), wide, WORDS_MM, most=2)
    if left_out := (*above.left_out, *below.left_out):
        farthest = _figure(max(left_out, key=abs))
        lines += broken(f"no room for the figures of {len(left_out)} more, up to {farthest}", wide, WORDS_MM, most=1)
    return _Measured(panel, cut(clean(panel.title), wide, HEAD_MM, bold=True), lines, above, below)


def _figures(marks: tuple[Mark, ...], across: _Across, sign: float) -> _Figures:
    """The figures of the marks beyond one edge; those farthest out are placed first."""
    rows: list[list[tuple[float, float]]] = [[] for _ in range(MOST_FIGURE_ROWS)]
    placed, left_out = [], []
    beyond = [mark for mark in marks if sign * mark.share > REACH]
    for mark in sorted(beyond, key=lambda mark: -abs(mark.share)):
        words = _figure(mark.share)
        half = width(words, FIGURE_MM) / 2.0
        x = min(max(across.place(mark), across.left + half), across.right - half)
        for row, taken in enumerate(rows):
            if all(x + half + 0.8 <= left or x - half - 0.8 >= right for left, right in taken):
                taken.append((x - half, x + half))
                placed.append((x, row, words))
                break
        else:
            left_out.append(mark.share)
    return _Figures(tuple(placed), tuple(left_out))


def _figure(share: float) -> str:
    if abs(share) < 99.95:
        return f"{share:+.1f}"
    return f"{share:+.0f}" if abs(share) < 1e4 else f"{share:+.0e}"


def _panel(name: str, measured: _Measured, across: _Across, top: float, middle: float) -> Iterator[Group]:
    high, low = middle - HALF_MM, middle + HALF_MM
    lines: list[Item] = [rectangle((across.left, high, across.right, low), FRAME)]
    words = list(_panel_words(measured, across, top, middle))
    for share, label in ((1.0, "+1"), (0.0, "0"), (-1.0, "-1")):
        level = middle - share * UNIT_MM
        lines.append(line(across.left, level, across.right, level, LIMIT if share else ZERO))
        words.append(text(across.left - 1.0, level + 0.35 * TICK_MM, label, TICK_MM, "end"))
    under = low + measured.below.height_mm + TICKS_MM - DESCENT * TICK_MM
    for number in _ticks(across):
        x = across.pair(number)
        lines.append(line(x, low - 1.0, x, low, FRAME))
        words.append(text(x, under, str(number), TICK_MM, "middle"))
    marks = tuple(item for mark in measured.panel.marks for item in _mark(mark, across, middle))
    yield from (
        Group(f"{name}-lines", tuple(lines)),
        Group(f"{name}-marks", marks),
        Group(f"{name}-words", tuple(words)),
    )


def _panel_words(measured: _Measured, across: _Across, top: float, middle: float) -> Iterator[Text]:
    left, down = across.left - SCALE_ROOM_MM, top
    yield text(left, down + ASCENT * HEAD_MM, measured.title, HEAD_MM, bold=True)
    down += HEAD_MM * LINE
    for words in measured.lines:
        yield text(left, down + ASCENT * WORDS_MM, words, WORDS_MM)
        down += WORDS_MM * LINE
    for x, row, words in measured.above.placed:
        yield text(x, middle - HALF_MM - (row * LINE + DESCENT) * FIGURE_MM, words, FIGURE_MM, "middle")
    for x, row, words in measured.below.placed:
        yield text(x, middle + HALF_MM + (row * LINE + ASCENT) * FIGURE_MM, words, FIGURE_MM, "middle")
    if not measured.panel.marks:
        yield text((across.left + across.right) / 2.0, middle - 0.5 * WORDS_MM, "no readings", WORDS_MM, "middle")


def _ticks(across: _Across) -> Iterator[int]:
    """The pairs that are numbered: the first, and multiples of a round step that leave room between the figures."""
    room = width(str(across.count), TICK_MM) + 1.5
    steps = (lead * 10**power for power in counted() for lead in (1, 2, 5))
    step = next(step for step in steps if step * across.slot_mm >= room or step > across.count)
    if step == 1 or (step - 1) * across.slot_mm >= room or step > across.count:
        yield 1
    yield from range(step if step > 1 else 2, across.count + 1, step)


def _mark(mark: Mark, across: _Across, middle: float) -> tuple[Item, ...]:
    x, radius = across.place(mark), across.mark_mm
    y = middle - min(max(mark.share, -REACH), REACH) * UNIT_MM
    items = list(_form(mark.eye, x, y, radius))
    if mark.failed:
        items.append(_square(x, y, radius))
    if abs(mark.share) > REACH:
        way = -math.copysign(1.0, mark.share)
        items.append(_arrow(x, y + way * (radius + 0.7), way))
    return tuple(items)


def _form(eye: EyeName | None, x: float, y: float, radius: float) -> tuple[Item, ...]:
    if eye is None:
        arm = radius * 1.3
        return (Path(((x, y - arm), (x + arm, y), (x, y + arm), (x - arm, y)), MARK, closed=True),)
    return (Circle(x, y, radius, None if eye == "right" else MARK),)


def _square(x: float, y: float, radius: float) -> Path:
    half = radius + 0.45
    return rectangle((x - half, y - half, x + half, y + half), FAILED)


def _arrow(x: float, y: float, way: float) -> Path:
    """A head that points up (-1) or down (1) the page, standing on a level."""
    return Path(((x - 0.6, y), (x + 0.6, y), (x, y + way * ARROW_MM)), None, closed=True)
