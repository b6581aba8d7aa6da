"""A first pass over the XML of one sheet, for what the streaming reader of workbooks does not tell.

Where the last row ends; which cells are merged; which formulas stand there without a value (the reader takes such a cell
for an empty one); and whether rows stand out of order (it would pass them over). The pass holds nothing but these.
"""

from dataclasses import dataclass, field
from typing import IO, Final
from xml.parsers import expat

from service.reading.cell_remarks import address
from service.sheets.fault import MAX_ROWS, SHEET_COLUMNS, SHEET_ROWS, SheetError, too_many_rows
from service.sheets.kinds import damaged
from service.sheets.table import Merged

_CHUNK: Final = 1 << 18
_MAX_FORMULAS: Final = 20_000
_MAX_MERGED: Final = 20_000
_FORMULA_SHOWN: Final = 100
_STRICT: Final = "http://purl.oclc.org/ooxml"


@dataclass(slots=True)
class Scan:
    """What was found: places are counted from 1."""

    last_row: int = 0
    filled: int = 0
    width: int = 0
    merged: list[Merged] = field(default_factory=list)
    # Formulas without a value, by row, then by column.
    formulas: dict[int, dict[int, str]] = field(default_factory=dict)


class _EnoughError(Exception):
    """The rows that were wanted have been passed."""


def scan(stream: IO[bytes], *, stale: bool, rows: int | None = None) -> Scan:
    """Look through the XML of a sheet, or through its first rows.

    `stale` says that the workbook asks for its formulas to be worked out anew, so that no value of one counts.
    Raises SheetError where it cannot be relied on.
    """
    pass_over = _Pass(stale, rows)
    try:
        while chunk := stream.read(_CHUNK):
            pass_over.parser.Parse(chunk, False)
        pass_over.parser.Parse(b"", True)
    except _EnoughError:
        pass
    except (expat.ExpatError, ValueError):
        raise damaged() from None
    return pass_over.found


class _Pass:
    """The handlers of the pass, and where it stands."""

    def __init__(self, stale: bool, rows: int | None) -> None:
        self.found = Scan()
        self._stale, self._rows = stale, rows
        self._row = self._column = self._counted = self._formulas = 0
        self._formula: list[str] | None = None
        self._value: list[str] = []
        self._text_result = False
        self.parser = expat.ParserCreate()
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.StartDoctypeDeclHandler = self._doctype

    def _doctype(self, *_: object) -> None:
        raise damaged()

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(":")[2]
        if name == "c":
            self._start_cell(attributes)
        elif name in ("v", "is"):
            self._fill()
            if self._formula is not None:
                self.parser.CharacterDataHandler = self._value.append
        elif name == "f":
            self._fill()
            self._formula = []
            self.parser.CharacterDataHandler = self._formula.append
        elif name == "row":
            self._start_row(attributes)
        elif name == "mergeCell":
            self._merge(attributes.get("ref", ""))
        elif name == "worksheet" and any(value.startswith(_STRICT) for value in attributes.values()):
            raise SheetError('it was saved as "Strict Open XML". Save it as an ordinary Excel workbook (.xlsx).')

    def _end(self, tag: str) -> None:
        name = tag.rpartition(":")[2]
        if name in ("f", "v"):
            self.parser.CharacterDataHandler = None
        elif name == "c" and self._formula is not None:
            self._end_formula("".join(self._formula))

    def _start_row(self, attributes: dict[str, str]) -> None:
        number = int(attributes.get("r", self._row + 1))
        if not self._row < number <= SHEET_ROWS:
            raise damaged()
        if self._rows is not None and number > self._rows:
            raise _EnoughError
        self._row, self._column = number, 0

    def _start_cell(self, attributes: dict[str, str]) -> None:
        column = _column_of(attributes["r"], self._row) if "r" in attributes else self._column + 1
        if not self._column < column <= SHEET_COLUMNS:
            raise damaged()
        self._column = column
        self._formula, self._value = None, []
        self._text_result = attributes.get("t") == "str"

    def _fill(self) -> None:
        found = self.found
        found.width = max(found.width, self._column)
        if self._counted != self._row:
            self._counted = found.last_row = self._row
            found.filled += 1
            if found.filled > MAX_ROWS:
                raise too_many_rows()

    def _end_formula(self, formula: str) -> None:
        # The value of a formula may be an empty text; that is said by its type.
        is_worked_out = not self._stale and (self._text_result or "".join(self._value).strip() != "")
        if is_worked_out:
            return
        self._formulas += 1
        if self._formulas > _MAX_FORMULAS:
            row, columns = next(iter(self.found.formulas.items()))
            place = address(next(iter(columns)) - 1, row)
            raise SheetError(
                f"more than {_MAX_FORMULAS:,} of its cells hold formulas without their values; {place} is the first. Open it "
                "in a spreadsheet program and save it again, so that the values stand in it."
            )
        self.found.formulas.setdefault(self._row, {})[self._column] = f"={formula[:_FORMULA_SHOWN]}"

    def _merge(self, reference: str) -> None:
        first, _, last = reference.partition(":")
        corners = [_corner(first), _corner(last or first)]
        (top, left), (bottom, right) = corners
        if len(self.found.merged) >= _MAX_MERGED:
            raise SheetError(f"more than {_MAX_MERGED:,} places of it are merged. Unmerge its cells.")
        self.found.merged.append(Merged(top, bottom, left, right, reference))


def _column_of(reference: str, row: int) -> int:
    found, column = _corner(reference)
    if found != row:
        raise damaged()
    return column


def _corner(reference: str) -> tuple[int, int]:
    letters = reference.rstrip("0123456789")
    if not (0 < len(letters) <= 3 and letters.isascii() and letters.isalpha() and letters.isupper()):
        raise damaged()
    column = 0
    for letter in letters:
        column = 26 * column + ord(letter) - ord("A") + 1
    return int(reference[len(letters) :]), column
