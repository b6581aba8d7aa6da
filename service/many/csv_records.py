"""Records of a CSV text (RFC 4180) out of its lines: a cell in quotes may hold line breaks, so a record may take several.

The delimiter is a comma, a semicolon or a tab: the one with which the header names most of an order. What makes the
places of all later rows doubtful (a quote that is never closed, a line without end) stops the reading: to go on might
take the cells of one order for those of another.
"""

import csv
import io
import re
from collections.abc import Iterator
from typing import Final

from service import limits
from service.reading.column_names import Meaning, meaning_of
from service.web.problems import FieldError, Problem, unreadable

DELIMITERS: Final = (",", ";", "\t")
_OPENING: Final = {delimiter: re.compile(f'(?:^|{delimiter})"') for delimiter in DELIMITERS}
_NOT_UTF8: Final = re.compile("[\ud800-\udfff]")
_MOST: Final = limits.MAX_BODY_BYTES
_BYTE_ORDER_MARK: Final = "\ufeff"

Record = list[str] | Problem


def delimiter_of(header: str) -> str:
    """The delimiter of a table, from its header line."""

    def names(delimiter: str) -> tuple[int, int]:
        cells = next(csv.reader([header], delimiter=delimiter), [])
        return sum(isinstance(meaning_of(cell), Meaning) for cell in cells), len(cells)

    return max(DELIMITERS, key=names)


class Records:
    """Lines in, rows of cells out, each with its number in the spreadsheet, beginning at 1; empty rows count.

    A row that is no CSV, or no UTF-8, comes as a problem in its place. A problem that is raised ends the reading.
    """

    def __init__(self) -> None:
        self.delimiter = ""  # known from the first row that holds anything
        self.number = 0
        self._held: list[str] = []
        self._size = 0
        self._open = False

    def records_of(self, line: bytes | None) -> Iterator[tuple[int, Record]]:
        """The row that this line brings to its end. None is a line too long to be held."""
        if line is None:
            raise Problem("body-too-large", _stopped(self.number + 1, f"A row of more than {_MOST} bytes was read."))
        text = line.decode("utf-8", "surrogateescape")
        if not self.number and not self._held:
            text = text.removeprefix(_BYTE_ORDER_MARK)
        if not self.delimiter and text.strip():
            self.delimiter = delimiter_of(text.rstrip("\r"))
        self._held.append(text)
        self._size += len(line) + 1
        self._open = _open_after(text, self.delimiter, is_open=self._open)
        if self._open and self._size > _MOST:
            raise self._never_closed()
        if not self._open:
            self.number += 1
            record = "\n".join(self._held)
            self._held.clear()
            self._size = 0
            yield self.number, _cells_of(record, self.delimiter or ",", self.number)

    def end(self) -> None:
        """Raises Problem where a row is not at its end when the text is."""
        if self._open:
            raise self._never_closed()

    def _never_closed(self) -> Problem:
        what = "A quote was opened that is never closed, so where the rows after it begin is not known."
        return unreadable([FieldError("row-not-csv", _stopped(self.number + 1, what))])


def _stopped(number: int, what: str) -> str:
    return f"Row {number}: {what} No row from here on was read. Put it right and send the rows from here on again."


def _cells_of(record: str, delimiter: str, number: int) -> Record:
    if _NOT_UTF8.search(record):
        message = (
            f"Row {number}: a byte that is not UTF-8 was read. Text in UTF-8 is expected. Save the table as CSV UTF-8."
        )
        return unreadable([FieldError("not-utf8", message)])
    try:
        found = list(csv.reader(io.StringIO(record, newline=""), delimiter=delimiter, strict=True))
    except csv.Error:
        found = [[], []]
    if len(found) > 1:
        message = (
            f"Row {number}: quotes or a line break were read where none are expected. A cell that holds them stands in "
            "quotes, and a quote inside it is written twice. Put the quotes of this row right."
        )
        return unreadable([FieldError("row-not-csv", message)])
    return found[0] if found else []


def _open_after(line: str, delimiter: str, *, is_open: bool) -> bool:
    """Whether a cell in quotes goes on in the next line. Only at the start of a cell does a quote open one."""
    if '"' not in line:
        return is_open
    at = 0
    while True:
        if not is_open:
            opening = _OPENING[delimiter].search(line, at)
            if opening is None:
                return False
            at, is_open = opening.end(), True
        closing = line.find('"', at)
        if closing < 0:
            return True
        if line[closing + 1 : closing + 2] == '"':
            at = closing + 2
        else:
            at, is_open = closing + 1, False
