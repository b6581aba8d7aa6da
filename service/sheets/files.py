"""Opening a sheet of orders, whatever kind of file it stands in."""

from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from service.sheets.fault import MAX_COLUMNS, SheetError
from service.sheets.kinds import kind_of
from service.sheets.table import Table
from service.sheets.text_table import open_text
from service.sheets.workbook import open_workbook


@contextmanager
def opened_table(path: Path, *, sheet: str | None = None, encoding: str | None = None) -> Iterator[Table]:
    """The sheet of orders in a file. Raises SheetError, which says what is wrong with it and where."""
    kind = kind_of(path)
    if kind == "text" and sheet is not None:
        raise SheetError("--sheet was given, and a CSV file has no sheets. Leave it out.")
    if kind == "workbook" and encoding is not None:
        raise SheetError("--encoding was given, and a workbook says itself how it is written. Leave it out.")
    table: Table = open_workbook(path, sheet) if kind == "workbook" else open_text(path, encoding)
    with closing(table):
        _demand_orders(table)
        yield table


def _demand_orders(table: Table) -> None:
    header = table.header
    for merged in table.merged:
        if merged.first_row <= header.number <= merged.last_row:
            raise SheetError(
                f"cells {merged.text}, which are merged, are part of its row of column names. Each column needs a name of its "
                "own. Unmerge them and name each column."
            )
    if table.filled <= 1 + sum(any(cell is not None and cell != "" for cell in row.shown) for row in table.above):
        raise SheetError(
            f"it has column names in row {header.number} and no order below them. Fill in a row for each order."
        )
    if table.width > MAX_COLUMNS:
        raise SheetError(f"it has {table.width:,} columns. At most {MAX_COLUMNS} are expected. Remove the rest.")
