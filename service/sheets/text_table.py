"""Reading a CSV file: its characters, what parts its cells, its rows one by one.

A wrong character is never taken in silence: the file is UTF-8, or says what it is by its first bytes, or the person says.
"""

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Final

from service.many.csv_safe import safe_cell
from service.reading.cell_remarks import address, is_empty
from service.sheets.fault import CELL_CHARACTERS, MAX_COLUMNS, MAX_ROWS, MAX_ROWS_ABOVE, SheetError, too_many_rows
from service.sheets.table import Header, Merged, SheetRow, TextStyle, columns_read, header_in, header_of, no_header

ENCODINGS: Final = ("utf-8", "utf-16", "cp1252")
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, ""),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_DELIMITERS: Final = (",", ";", "\t")
_SAMPLE: Final = 1 << 18
_CHUNK: Final = 1 << 18
# The line with which some programs say what parts the cells; it is no row of the sheet.
_SAID: Final = re.compile(r"\"?sep=(.)\"?\r?\n", re.IGNORECASE)
_POINT: Final = re.compile(r"[+-]?\d*\.\d+")
_COMMA: Final = re.compile(r"[+-]?\d*,\d+")


@dataclass(frozen=True, slots=True)
class TextTable:
    """A CSV file, as a Table."""

    path: Path
    encoding: str
    style: TextStyle
    header: Header
    above: Sequence[SheetRow]
    filled: int
    width: int
    last_row: int
    said_first: bool

    @property
    def name(self) -> str:
        """A CSV file has one sheet, without a name."""
        return ""

    @property
    def merged(self) -> Sequence[Merged]:
        """There are none."""
        return ()

    def close(self) -> None:
        """Nothing is open but while rows are read."""

    def rows(self) -> Iterator[SheetRow]:
        """The rows below the header."""
        with _opened(self.path, self.encoding, said_first=self.said_first) as stream:
            records = enumerate(_records(stream, self.style.delimiter), start=1)
            for number, cells in islice(records, self.header.number, self.last_row):
                yield _row(number, cells)


def open_text(path: Path, encoding: str | None) -> TextTable:
    """A CSV file, looked through once. `encoding` is what the person says of it. Raises SheetError."""
    encoding = _encoding(path, encoding)
    with path.open(encoding=encoding, errors="replace", newline="") as opened:
        sample = opened.read(_SAMPLE)
    said_first = _SAID.match(sample)
    if said_first:
        sample = sample[said_first.end() :]
    delimiter, top = _sniffed(sample, said_first[1] if said_first else None)
    _demand_characters(path, encoding, delimiter)
    header = header_in(top)
    if header is None:
        raise no_header(top, "it")
    filled, width, last_row = _measures(path, encoding, delimiter, said_first=said_first is not None)
    above = [_row(number, cells) for number, cells in enumerate(top[: header.number - 1], start=1)]
    style = TextStyle(delimiter, _has_decimal_commas(sample, delimiter))
    return TextTable(path, encoding, style, header, above, filled, width, last_row, said_first is not None)


def _row(number: int, cells: Sequence[str]) -> SheetRow:
    # An apostrophe that keeps a cell from being run as a formula is no part of it, here as in a spreadsheet program.
    shown = [cell[1:] if cell[:1] == "'" and safe_cell(cell[1:]) == cell else cell for cell in cells]
    return SheetRow(number, shown, shown, (None,) * len(shown))


# Characters.


def _encoding(path: Path, asked: str | None) -> str:
    with path.open("rb") as opened:
        start = opened.read(4)
    for mark, encoding in _MARKS:
        if start.startswith(mark):
            if not encoding:
                raise SheetError("it is written in UTF-32. Save it as CSV in UTF-8.")
            return encoding
    return asked or "utf-8"


def _demand_characters(path: Path, encoding: str, delimiter: str) -> None:
    decoder = codecs.getincrementaldecoder(encoding)("strict")
    try:
        with path.open("rb") as opened:
            while chunk := opened.read(_CHUNK):
                if "\0" in decoder.decode(chunk):
                    raise _not_text(encoding)
            decoder.decode(b"", True)
    except UnicodeDecodeError:
        place = _place_of_fault(path, encoding, delimiter)
        name = "UTF-8" if encoding.startswith("utf-8") else encoding.upper()
        raise SheetError(
            f"cell {place} holds bytes that are no {name}, so that its characters are not known. Save the file as CSV in UTF-8, "
            "or say what it is with --encoding, such as --encoding cp1252 for a file of Windows in Western Europe."
        ) from None
    except UnicodeError:
        raise _not_text(encoding) from None


def _not_text(encoding: str) -> SheetError:
    return SheetError(f"it is no text in {encoding.upper()}: it holds zero bytes. Save it as CSV in UTF-8.")


def _place_of_fault(path: Path, encoding: str, delimiter: str) -> str:
    with path.open(encoding=encoding, errors="replace", newline="") as opened:
        for number, cells in enumerate(csv.reader(opened, delimiter=delimiter), start=1):
            for at, cell in enumerate(cells):
                if "\ufffd" in cell:
                    return address(at, number)
    return "at the end"


# Cells and rows.


@contextmanager
def _opened(path: Path, encoding: str, *, said_first: bool) -> Iterator[io.TextIOWrapper]:
    with path.open(encoding=encoding, newline="") as opened:
        if said_first:
            opened.readline()
        yield opened


def _records(stream: io.TextIOBase, delimiter: str) -> Iterator[list[str]]:
    """The rows of a file; a quote that is not closed would swallow all rows behind it, and is refused."""
    number = 0
    try:
        for cells in csv.reader(stream, delimiter=delimiter, strict=True):
            number += 1
            yield cells
    except csv.Error:
        raise SheetError(
            f"row {number + 1} cannot be parted into cells: a quotation mark is not closed, stands within a cell without being "
            "doubled, or the cell is very long. Put the quotation marks of that row right."
        ) from None


def _sniffed(sample: str, said: str | None) -> tuple[str, list[list[str]]]:
    """What parts the cells, and the first rows: the mark by which a row of names can be read, else most names."""
    tops = {one: _top_of(sample, one) for one in ([said] if said else _DELIMITERS)}
    return max(tops.items(), key=lambda one: _names_read(one[1]))


def _top_of(sample: str, delimiter: str) -> list[list[str]]:
    try:
        return list(islice(csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter), MAX_ROWS_ABOVE))
    except csv.Error:
        return []


def _names_read(rows: Sequence[Sequence[str]]) -> tuple[bool, int, int]:
    short = [cells for cells in rows if len(cells) <= MAX_COLUMNS]
    header = header_in(short)
    most = max((columns_read(header_of(1, cells)) for cells in short), default=0)
    return header is not None, most, max((len(cells) for cells in rows), default=0)


def _measures(path: Path, encoding: str, delimiter: str, *, said_first: bool) -> tuple[int, int, int]:
    """Rows that hold anything, columns, and the last row that holds anything."""
    filled = width = last = 0
    with _opened(path, encoding, said_first=said_first) as stream:
        for number, cells in enumerate(_records(stream, delimiter), start=1):
            held = [at for at, cell in enumerate(cells) if not is_empty(cell)]
            if not held:
                continue
            filled, width, last = filled + 1, max(width, held[-1] + 1), number
            if filled > MAX_ROWS:
                raise too_many_rows()
            if width > MAX_COLUMNS:
                raise SheetError(f"row {number} has {width:,} cells. At most {MAX_COLUMNS} are expected.")
            for at in held:
                if len(cells[at]) > CELL_CHARACTERS:
                    place = address(at, number)
                    raise SheetError(
                        f"cell {place} holds {len(cells[at]):,} characters. At most {CELL_CHARACTERS:,} are expected. Perhaps a "
                        "quotation mark before it is not closed."
                    )
    return filled, width, last


def _has_decimal_commas(sample: str, delimiter: str) -> bool:
    """Whether the file writes its figures with a comma; where it does both or neither, a point."""
    if delimiter == ",":
        return False
    found: Counter[str] = Counter()
    for cells in islice(csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter), 200):
        for cell in cells:
            found["point"] += _POINT.fullmatch(cell.strip()) is not None
            found["comma"] += _COMMA.fullmatch(cell.strip()) is not None
    return found["comma"] > 0 and found["point"] == 0
