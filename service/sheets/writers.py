"""What both kinds of output share, and the CSV file.

The rows stand where they stood: row 12 of the output is row 12 of the input, so that an address holds for both.
"""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import IO, Final, Protocol

from service.many.columns_out import OUR_COLUMNS, Cell
from service.many.csv_safe import safe_cell
from service.reading.cells import cell_value
from service.reading.column_names import Kind
from service.sheets.outcome import Outcome
from service.sheets.table import Header, SheetRow, TextStyle

POWERS: Final = frozenset({"sphere", "cylinder", "add"})
FIGURES: Final = POWERS | {"axis", "length", "years"}


@dataclass(frozen=True, slots=True)
class About:
    """What the output says of itself: the day it is of, pairs of a name and a value, and the cautions."""

    day: date
    facts: Sequence[tuple[str, Cell]]
    cautions: Sequence[str]


class Writer(Protocol):
    """Takes the rows one by one, each higher than the one before."""

    def top(self, above: Sequence[SheetRow], notes: Sequence[list[Cell]]) -> None:
        """What stands above the header, the header, and what there is to say about it."""

    def row(self, row: SheetRow, outcome: Outcome | None) -> None:
        """A row with its outcome; None where it is empty."""

    def close(self, about: About) -> None:
        """Write the end. The output is whole only then."""

    def drop(self) -> None:
        """Give up what is open; there will be no end."""


class Layout:
    """Which of the user's columns stand where, and what each holds."""

    def __init__(self, header: Header, width: int) -> None:
        self.header = header
        self.width = max(width, len(header.cells))
        self.kept = [at for at in range(self.width) if at not in header.ours]
        self.kinds: dict[int, Kind] = {
            column.index: column.meaning.kind
            for column in header.columns.columns
            if column.use == "read" and column.meaning is not None
        }

    def of_row(self, row: SheetRow) -> list[tuple[int, object, str | None]]:
        """The user's cells of a row: place in the input, what stands there, how it is displayed."""
        return [(at, row.shown[at], row.formats[at]) if at < len(row.shown) else (at, None, None) for at in self.kept]


class TextWriter:
    """A CSV file: the user's columns, and ours at their right."""

    def __init__(self, path: Path, layout: Layout, style: TextStyle) -> None:
        self._layout, self._style = layout, style
        self._file: IO[str] = path.open("w", encoding=style.encoding, newline="")
        self._writer = csv.writer(self._file, delimiter=style.delimiter)
        self._written = 0

    def top(self, above: Sequence[SheetRow], notes: Sequence[list[Cell]]) -> None:  # noqa: ARG002
        """What stands above the header, and the header; notes have no place here."""
        for row in above:
            self.row(row, None)
        header = self._layout.header
        self._pad(header.number)
        cells = [header.cells[at] if at < len(header.cells) else None for at in self._layout.kept]
        self._put([*(self._text(cell) for cell in cells), *OUR_COLUMNS])

    def row(self, row: SheetRow, outcome: Outcome | None) -> None:
        """A row with its outcome."""
        self._pad(row.number)
        mine = [self._text(value, self._layout.kinds.get(at)) for at, value, _ in self._layout.of_row(row)]
        ours = [] if outcome is None else [self._text(cell) for cell in outcome.cells]
        self._put([*mine, *ours])

    def close(self, about: About) -> None:  # noqa: ARG002
        """Write the end; what the output rests on has no place here."""
        self._file.close()

    def drop(self) -> None:
        """Give up."""
        self._file.close()

    def _pad(self, number: int) -> None:
        while self._written < number - 1:
            self._put([])

    def _put(self, cells: Sequence[str]) -> None:
        self._writer.writerow(cells)
        self._written += 1

    def _text(self, value: object, kind: str | None = None) -> str:
        if value is None:
            return ""
        if isinstance(value, bool):
            return "TRUE" if value else "FALSE"
        if isinstance(value, (int, float)):
            # A power without its sign is not read again: in text it may have lost it.
            text = f"{value:+}" if kind in POWERS and value > 0 else repr(value)
            return text.replace(".", ",") if self._style.decimal_comma else text
        if isinstance(value, datetime) and value.time() == time():
            return value.date().isoformat()
        return safe_cell(value.isoformat() if isinstance(value, (date, time)) else str(value))


def typed(value: object, kind: Kind | None) -> object:
    """A cell of text as the figure or the day that was read from it; as it is where its column holds neither."""
    if not isinstance(value, str) or kind is None or not (kind in FIGURES or kind == "day"):
        return value
    read = cell_value(value, kind)
    if kind == "day":
        return date.fromisoformat(read) if isinstance(read, str) else value
    return read if isinstance(read, float) else value
