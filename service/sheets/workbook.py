"""Reading a workbook (.xlsx), one row at a time, so that the memory it takes does not grow with its rows.

What a person sees in a cell and what the file holds may differ; nothing is read as a figure that the person did not see
as one: a formula without a value, a value that waits to be worked out anew, a percentage, a date.
"""

import re
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final
from xml.parsers import expat

from service.reading.cell_remarks import said
from service.sheets.fault import CELL_CHARACTERS, MAX_ROWS_ABOVE, MAX_SHEETS, SheetError, no_extra
from service.sheets.kinds import damaged
from service.sheets.scan import Scan, scan
from service.sheets.table import Header, Merged, SheetRow, TextStyle, header_in, no_header

if TYPE_CHECKING:
    from openpyxl.workbook.workbook import Workbook

_NOT_SHOWN: Final = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]|_.')


@dataclass(slots=True)
class WorkbookTable:
    """One sheet of a workbook, as a Table."""

    workbook: "Workbook"
    sheet: Any
    header: Header
    above: Sequence[SheetRow]
    found: Scan

    @property
    def name(self) -> str:
        """Name of the sheet."""
        return str(self.sheet.title)

    @property
    def width(self) -> int:
        """Columns up to the last that holds anything."""
        return self.found.width

    @property
    def filled(self) -> int:
        """Rows that hold anything."""
        return self.found.filled

    @property
    def merged(self) -> Sequence[Merged]:
        """Merged cells."""
        return self.found.merged

    @property
    def style(self) -> TextStyle | None:
        """None: this is no CSV file."""
        return None

    def close(self) -> None:
        """Close the file."""
        self.workbook.close()

    def rows(self) -> Iterator[SheetRow]:
        """The rows below the header."""
        return _rows(self.sheet, self.found, self.header.number, self.found.last_row)


def open_workbook(path: Path, sheet: str | None) -> WorkbookTable:
    """The sheet of a workbook that holds the orders. Raises SheetError."""
    try:
        import openpyxl
    except ImportError:
        raise no_extra("read") from None
    with _fault_of_the_file():
        # The other parts of a workbook are not wanted: no links are followed, no macro is kept.
        workbook = openpyxl.load_workbook(path, read_only=True, data_only=True, keep_links=False)
        try:
            with zipfile.ZipFile(path) as archive:
                return _chosen(workbook, archive, sheet)
        except BaseException:
            workbook.close()
            raise


def _chosen(workbook: "Workbook", archive: zipfile.ZipFile, wanted: str | None) -> WorkbookTable:
    stale = _is_stale(archive)
    sheets = [sheet for sheet in workbook.worksheets if wanted is not None or sheet.sheet_state == "visible"][
        :MAX_SHEETS
    ]
    if wanted is not None:
        named = [sheet for sheet in sheets if sheet.title == wanted]
        if not named:
            raise SheetError(f'it has no sheet "{wanted}". Its sheets are {_listed(sheets)}.')
        sheets = named
    tops = [_top(archive, sheet) for sheet in sheets]
    headers = [header_in(top) for top in tops]
    with_orders = [(one, header) for one, header in zip(sheets, headers, strict=True) if header]
    if len(with_orders) > 1:
        names = _listed([one for one, _ in with_orders])
        raise SheetError(
            f"{len(with_orders)} of its sheets hold orders: {names}. Say which is meant with --sheet NAME."
        )
    if not with_orders:
        told = [str(no_header(top, f'the sheet "{said(one.title)}"')) for one, top in zip(sheets, tops, strict=True)]
        raise SheetError("\n".join(told[:3]) or "it has no sheet that can be seen.")
    chosen, header = with_orders[0]
    with _opened(archive, chosen) as stream:
        found = scan(stream, stale=stale)
    above = [*_rows(chosen, found, 0, header.number - 1)]
    return WorkbookTable(workbook, chosen, header, above, found)


def _listed(sheets: Sequence[Any]) -> str:
    return ", ".join(f'"{said(sheet.title)}"' for sheet in sheets[:10]) + (", …" if len(sheets) > 10 else "")


def _top(archive: zipfile.ZipFile, sheet: Any) -> list[list[object]]:
    # The pass comes before the reader: a false address of a cell would make it fill up memory.
    with _opened(archive, sheet) as stream:
        found = scan(stream, stale=False, rows=MAX_ROWS_ABOVE)
    if not found.filled:
        return []
    sheet.reset_dimensions()  # what a file says of its own size is often wrong, and would cut it off
    rows = sheet.iter_rows(max_row=found.last_row, max_col=found.width, values_only=True)
    return [[_decoded(value) for value in row] for row in islice(rows, found.last_row)]


def _opened(archive: zipfile.ZipFile, sheet: Any) -> Any:
    return archive.open(sheet._worksheet_path)


def _rows(sheet: Any, found: Scan, after: int, last: int) -> Iterator[SheetRow]:
    if last <= after:
        return
    columns = max(found.width, 1)
    rows = sheet.iter_rows(min_row=after + 1, max_row=last, max_col=columns)
    with _fault_of_the_file():
        number = after
        for cells in rows:
            number += 1
            yield _row(number, cells, found.formulas.get(number))
        if number != last:
            raise damaged()


def _row(number: int, cells: Sequence[Any], formulas: dict[int, str] | None) -> SheetRow:
    """A row; `formulas` are those without a value, by column."""
    shown = [_decoded(cell.value) for cell in cells]
    formats: list[str | None] = [None] * len(shown)
    percentages: dict[int, str] = {}
    for at, value in enumerate(shown):
        if isinstance(value, str):
            if len(value) > CELL_CHARACTERS:
                raise damaged()
        elif value is not None and not isinstance(value, bool):
            form = formats[at] = str(cells[at].number_format)
            if isinstance(value, (int, float)) and "%" in form and _is_percentage(form):
                percentages[at] = f"{100 * value:g}%"
    for column, formula in (formulas or {}).items():
        shown[column - 1], formats[column - 1] = formula, None
        percentages.pop(column - 1, None)
    values = [percentages.get(at, value) for at, value in enumerate(shown)] if percentages else shown
    return SheetRow(number, values, shown, formats)


def _decoded(value: object) -> object:
    """Text as a person sees it: the form writes some characters, such as a carriage return, as `_x000D_`."""
    if not isinstance(value, str) or "_x" not in value:
        return value
    from openpyxl.utils.escape import unescape

    # By UTF-16, so that two halves of a character become one.
    return unescape(value).encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _is_percentage(number_format: str) -> bool:
    return "%" in _NOT_SHOWN.sub("", number_format)


def _is_stale(archive: zipfile.ZipFile) -> bool:
    """Whether the workbook asks for its formulas to be worked out when it is opened: their values are then not known.

    Programs that write a workbook without working it out say so; some of them put 0 for every value.
    """
    found: list[dict[str, str]] = []

    def start(tag: str, attributes: dict[str, str]) -> None:
        if tag.rpartition(":")[2] == "calcPr":
            found.append(attributes)

    for name in archive.namelist():
        if name.endswith("workbook.xml"):
            parser = expat.ParserCreate()
            parser.StartElementHandler = start
            parser.Parse(archive.read(name), True)
    return any(
        one.get("fullCalcOnLoad") in ("1", "true") or one.get("calcCompleted") in ("0", "false") for one in found
    )


@contextmanager
def _fault_of_the_file() -> Iterator[None]:
    """Whatever a library stumbles over is the file's fault: it was opened and is no workbook as it should be."""
    try:
        yield
    except SheetError:
        raise
    except Exception:
        raise damaged() from None
