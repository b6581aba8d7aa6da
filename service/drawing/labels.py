"""Where a label goes: as near as may be to what it names, on no other label, and across as few lines as possible.

A lens's part of the page is covered with small squares. Each square knows what line runs through it (and how bad it is
to write there) and whether a label lies on it; sums over rectangles of squares come from one running total, so every
place on the part of the page is weighed, and the best one is taken. Nothing is left to chance: the same drawing has
its labels in the same places.
"""

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from service.drawing.letters import ASCENT, LINE, text
from service.drawing.scene import Box, Circle, Path, Pen, Place, Text, line

SQUARE_MM: Final = 0.5
PAD_MM: Final = 0.7
NEAR_MM: Final = 1.6
"""A label this near to what it names needs no leader."""
STEP: Final = 2
"""Places are tried this many squares apart."""
CONSIDERED: Final = 300
"""So many of the best places are asked how their leader would run."""
ON_WORDS: Final = 10_000.0
LEADER: Final = Pen(0.13)

Grid = npt.NDArray[Any]


@dataclass(frozen=True, slots=True)
class Room:
    """A part of the page and what in it is taken, square by square."""

    box: Box
    lines: Grid
    words: Grid

    @classmethod
    def empty(cls, box: Box) -> "Room":
        """A part of the page with nothing on it."""
        shape = (int((box[3] - box[1]) / SQUARE_MM), int((box[2] - box[0]) / SQUARE_MM))
        return cls(box, np.zeros(shape), np.zeros(shape))

    def keep_off(self, item: Path | Circle, badness: float) -> None:
        """Let labels avoid a line, the more the worse."""
        places = _along(item)
        left, top, right, bottom = self.box
        inside = (places[:, 0] >= left) & (places[:, 0] < right) & (places[:, 1] >= top) & (places[:, 1] < bottom)
        row, column = self._squares(places[inside])
        self.lines[row, column] = np.maximum(self.lines[row, column], badness)

    def take(self, box: Box) -> None:
        """Let no label lie here."""
        left, top, right, bottom = box
        rows = slice(max(0, self._row(top)), max(0, self._row(bottom) + 1))
        self.words[rows, max(0, self._column(left)) : max(0, self._column(right) + 1)] = 1.0

    def label(
        self,
        words: tuple[str, ...],
        size_mm: float,
        target: Place,
        rim_mm: float,
        *,
        bold: bool = False,
        leader: bool = True,
    ) -> tuple[Path | Text, ...]:
        """The lines of a label with its leader, and their place taken; nothing where no place is free."""
        lines = [text(0.0, 0.0, each, size_mm, bold=bold) for each in words]
        width = max(each.width_mm for each in lines)
        height = size_mm * (LINE * (len(lines) - 1) + 1.21)
        corner = self._best(width, height, target, rim_mm, leader)
        if corner is None:
            return ()
        left, top = corner
        box = (left, top, left + width, top + height)
        self.take((left - PAD_MM, top - PAD_MM, left + width + PAD_MM, top + height + PAD_MM))
        first = top + ASCENT * size_mm
        written = tuple(
            Text(left, first + count * LINE * size_mm, each.words, size_mm, each.width_mm, "start", bold)
            for count, each in enumerate(lines)
        )
        lead = _leader(box, target, rim_mm) if leader else None
        if lead is None:
            return written
        self.keep_off(lead, 4.0)
        return (lead, *written)

    def _best(self, width: float, height: float, target: Place, rim_mm: float, leader: bool) -> Place | None:
        """The upper left corner of the place with the least to say against it."""
        wide, high = (math.ceil((size + 2.0 * PAD_MM) / SQUARE_MM) + 1 for size in (width, height))
        against = _sums(self.lines + ON_WORDS * self.words, wide, high)[::STEP, ::STEP]
        if against.size == 0:
            return None
        left = self.box[0] + PAD_MM + STEP * SQUARE_MM * np.arange(against.shape[1])
        top = self.box[1] + PAD_MM + STEP * SQUARE_MM * np.arange(against.shape[0])
        near_x = np.clip(target[0], left, left + width)[np.newaxis, :]
        near_y = np.clip(target[1], top, top + height)[:, np.newaxis]
        cost = np.hypot(near_x - target[0], near_y - target[1]) + against
        # All that are as good as the last one considered are considered too: no tie is left to the way of sorting.
        last = min(CONSIDERED, cost.size) - 1
        row, column = np.nonzero(cost <= np.partition(cost, last, axis=None)[last])
        total = cost[row, column]
        if leader:
            ends = np.column_stack((near_x[0, column], near_y[row, 0]))
            total = total + self._against_leader(ends, target, rim_mm)
        best = int(np.argmin(total))
        if total[best] >= ON_WORDS:
            return None
        return float(left[column[best]]), float(top[row[best]])

    def _against_leader(self, ends: Grid, target: Place, rim_mm: float) -> Grid:
        """What there is to say against leaders from the target to each of these ends."""
        steps = np.linspace(0.0, 1.0, 40)[np.newaxis, :, np.newaxis]
        places = np.array(target) + steps * (ends[:, np.newaxis, :] - np.array(target))
        away = np.hypot(*np.moveaxis(places - np.array(target), -1, 0))
        row, column = self._squares(places.reshape(-1, 2))
        lines = self.lines[row, column].reshape(away.shape)
        words = self.words[row, column].reshape(away.shape)
        outside = away > rim_mm + SQUARE_MM
        crossed = (outside * (0.6 * lines + ON_WORDS * words)).sum(axis=1)
        return np.where(away[:, -1] - rim_mm > NEAR_MM, crossed, 0.0)

    def _squares(self, places: Grid) -> tuple[Grid, Grid]:
        row = np.floor((places[:, 1] - self.box[1]) / SQUARE_MM).astype(int)
        column = np.floor((places[:, 0] - self.box[0]) / SQUARE_MM).astype(int)
        return np.clip(row, 0, self.lines.shape[0] - 1), np.clip(column, 0, self.lines.shape[1] - 1)

    def _row(self, y: float) -> int:
        return math.floor((y - self.box[1]) / SQUARE_MM)

    def _column(self, x: float) -> int:
        return math.floor((x - self.box[0]) / SQUARE_MM)


def _sums(grid: Grid, wide: int, high: int) -> Grid:
    """Sum over every rectangle of so many squares, by its upper left square."""
    total = np.zeros((grid.shape[0] + 1, grid.shape[1] + 1))
    total[1:, 1:] = grid.cumsum(axis=0).cumsum(axis=1)
    if high >= total.shape[0] or wide >= total.shape[1]:
        return np.zeros((0, 0))
    found: Grid = total[high:, wide:] - total[:-high, wide:] - total[high:, :-wide] + total[:-high, :-wide]
    return found


def _along(item: Path | Circle) -> Grid:
    """Places along a line, closer together than the squares are wide."""
    if isinstance(item, Circle):
        turn = np.linspace(0.0, 2.0 * np.pi, max(12, math.ceil(item.radius_mm * 26.0)))
        return np.column_stack((item.x + item.radius_mm * np.cos(turn), item.y + item.radius_mm * np.sin(turn)))
    corners = np.array((*item.points, item.points[0]) if item.closed else item.points)
    gone = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))))
    step = np.linspace(0.0, gone[-1], max(2, math.ceil(gone[-1] * 4.0)))
    return np.column_stack((np.interp(step, gone, corners[:, 0]), np.interp(step, gone, corners[:, 1])))


def _leader(box: Box, target: Place, rim_mm: float) -> Path | None:
    """A thin line from the rim of what is named to its label; none where they are close together."""
    left, top, right, bottom = box
    x, y = min(max(target[0], left), right), min(max(target[1], top), bottom)
    away = math.hypot(x - target[0], y - target[1])
    if away - rim_mm <= NEAR_MM:
        return None
    dx, dy = (x - target[0]) / away, (y - target[1]) / away
    return line(target[0] + rim_mm * dx, target[1] + rim_mm * dy, x - 0.5 * dx, y - 0.5 * dy, LEADER)
