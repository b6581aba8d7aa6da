"""The workbook: the user's sheet with our columns at its right, a sheet of findings, a sheet on what it rests on."""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from service.many.columns_out import OUR_COLUMNS, UNREADABLE
from service.many.columns_out import Cell as Value
from service.sheets.fault import SHEET_ROWS
from service.sheets.outcome import NOTE_COLUMNS, Outcome
from service.sheets.table import SheetRow
from service.sheets.writers import POWERS, About, Layout, typed
from service.sheets.xlsx import PLAIN, Book, Cell, Sheet, Style

# Fill and ink of each word: the word stands in the cell too, for who does not see the colour.
_WORDS: Final = {
    "accept": Style(bold=True, fill="E2F2E4", ink="14532D"),
    "review": Style(bold=True, fill="FFF1C9", ink="6B4500"),
    "reject": Style(bold=True, fill="F9D9D6", ink="8A1C13"),
    UNREADABLE: Style(bold=True, fill="E6DDF4", ink="4A2A7B"),
}
_HEAD: Final = Style(bold=True, wrapped=True)
_HEAD_HEIGHT: Final = 62.0  # our names take up to four lines
_POWER: Final = Style("+0.00;-0.00;0.00")
_FORMS: Final = (("(D)", Style("+0.000;-0.000;0.000")), ("(mm)", Style("0.00")))
_WIDTHS: Final = {"decision": 13, "read": 22, "(D)": 15, "(mm)": 15, "first finding": 70, "all findings": 50}
_NOTE_WIDTHS: Final = (7, 9, 14, 11, 28, 7, 90, 60, 12, 12, 7, 30, 40)
_FINDINGS: Final = "Findings"
_ABOUT: Final = "About"


class WorkbookWriter:
    """Writes the sheets side by side, to the file once they are whole."""

    def __init__(self, path: Path, layout: Layout, title: str) -> None:
        self._layout, self._book = layout, Book(path)
        header = layout.header
        self._names = [header.cells[at] if at < len(header.cells) else None for at in layout.kept]
        title = "Orders" if title.strip().casefold() in ("", _FINDINGS.casefold(), _ABOUT.casefold()) else title
        self._sheet = self._book.sheet(title, self._widths(), frozen_rows=header.number)
        self._notes = self._sheet_of_notes()
        self._styles: dict[str, Style] = {}
        self._ours = [next((form for end, form in _FORMS if end in name), PLAIN) for name in OUR_COLUMNS]

    def top(self, above: Sequence[SheetRow], notes: Sequence[list[Value]]) -> None:
        """What stands above the header, the header, and what there is to say about it."""
        for row in above:
            self.row(row, None)
        self._pad(self._layout.header.number)
        self._sheet.append([(name, _HEAD) for name in (*self._names, *OUR_COLUMNS)], height=_HEAD_HEIGHT)
        for note in notes:
            self._note(self._layout.header.number, note)

    def row(self, row: SheetRow, outcome: Outcome | None) -> None:
        """A row with its outcome."""
        self._pad(row.number)
        cells = [self._mine(at, value, form) for at, value, form in self._layout.of_row(row)]
        if outcome is not None:
            cells.append(_coloured(outcome.cells[0]))
            cells.extend(zip(outcome.cells[1:], self._ours[1:], strict=True))
        self._sheet.append(cells)
        for note in () if outcome is None else outcome.notes:
            self._note(row.number, note)

    def close(self, about: About) -> None:
        """Write the end."""
        self._sheet.filter(self._layout.header.number, len(self._names) + len(OUR_COLUMNS))
        sheet = self._book.sheet(_ABOUT, (24, 110))
        for name, value in (*about.facts, *(("Caution", caution) for caution in about.cautions)):
            sheet.append([(name, _HEAD), (value, PLAIN)])
        self._book.save(about.day)

    def drop(self) -> None:
        """Give up."""
        self._book.drop()

    def _widths(self) -> list[float]:
        kinds, kept = self._layout.kinds, self._layout.kept
        least = [12 if kinds.get(at) == "day" else 9 for at in kept]
        mine = [min(max(len(str(name or "")) + 2, width), 30) for name, width in zip(self._names, least, strict=True)]
        ours = [next(width for part, width in _WIDTHS.items() if part in name) for name in OUR_COLUMNS]
        return [*mine, *ours]

    def _sheet_of_notes(self) -> Sheet:
        sheet = self._book.sheet(_FINDINGS, _NOTE_WIDTHS, frozen_rows=1)
        sheet.append([(name, _HEAD) for name in NOTE_COLUMNS])
        return sheet

    def _note(self, number: int, note: list[Value]) -> None:
        if self._notes.rows >= SHEET_ROWS:
            self._notes = self._sheet_of_notes()
        place, reference, severity, *others = note
        before: list[Cell] = [(number, PLAIN), (place, PLAIN), (reference, PLAIN), _coloured(severity)]
        self._notes.append([*before, *((value, PLAIN) for value in others)])

    def _mine(self, at: int, value: object, form: str | None) -> Cell:
        kind = self._layout.kinds.get(at)
        read = typed(value, kind)
        if read is not value and kind in POWERS:
            return read, _POWER
        if form is None or form == "General":
            return read, PLAIN
        return read, self._styles.setdefault(form, Style(form))

    def _pad(self, number: int) -> None:
        while self._sheet.rows < number - 1:
            self._sheet.append([])


def _coloured(word: Value) -> Cell:
    return word, _WORDS.get(str(word), PLAIN)
