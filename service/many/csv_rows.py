"""A table of orders as CSV, row by row: the orders in it, and the same rows with our columns at their right.

Row numbers are those of a spreadsheet: the first row is 1, empty ones count, and a row with a line break in a cell is
one row.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from service.documents import order_of
from service.many.answering import Answered, Row
from service.many.columns_out import OUR_COLUMNS, Cell, header_to_read, is_ours, our_cells, unread_cells
from service.many.csv_safe import safe_cell
from service.reading.cell_remarks import address
from service.reading.columns import NOTES, Columns, columns_of, order_document
from service.web.problems import FieldError, Problem, unreadable

# What stands in place of a decision in a last row that says why no more were checked.
STOPPED: Final = "stopped"


class Table:
    """The columns of a table, and what is read and written with them. Raises Problem if no order can be read by them."""

    def __init__(self, header: Sequence[str], row_number: int) -> None:
        self._header = tuple(header)
        self.columns: Columns = columns_of(header_to_read(header), row_number)
        self._kept = [at for at, cell in enumerate(header) if not is_ours(cell)]
        self._ours = {address(at, row_number) for at, cell in enumerate(header) if is_ours(cell)}
        if self.columns.missing:
            raise unreadable([FieldError(remark.code, remark.message) for remark in self.columns.remarks])

    @property
    def notes(self) -> list[str]:
        """What a person should know of the header; it keeps no row from being read. Our own columns are not told."""
        told = [remark for remark in self.columns.remarks if remark.code in NOTES and remark.address not in self._ours]
        return [remark.message for remark in told]

    def row(self, cells: Sequence[str], row_number: int) -> Row | None:
        """The order in a row, or why there is none; None where the row is empty."""
        mine = [cell for at, cell in enumerate(cells) if at >= len(self._header) or not is_ours(self._header[at])]
        if not any(cell.strip() for cell in mine):
            return None
        reading = order_document(self.columns, cells, row_number)
        if reading.document is None:
            return unreadable([FieldError(remark.code, remark.message) for remark in reading.remarks])
        try:
            return order_of(reading.document)
        except Problem as problem:
            return unreadable([self._with_cell(fault, row_number) for fault in problem.errors])

    def _with_cell(self, fault: FieldError, row_number: int) -> FieldError:
        place = None if fault.pointer is None else self.columns.cell_of(fault.pointer, row_number)
        return fault if place is None else replace(fault, message=f"Cell {place}: {fault.message}")

    def header_out(self) -> list[str]:
        """The user's names in their order, then ours."""
        return [*(self._header[at] for at in self._kept), *OUR_COLUMNS]

    def row_out(self, cells: Sequence[str], ours: Iterable[Cell]) -> list[Cell]:
        """The user's cells in their order, then ours. Cells beyond the header are told of and not repeated."""
        return [*(cells[at] if at < len(cells) else "" for at in self._kept), *ours]

    def last_row(self, problem: Problem) -> list[Cell]:
        """A row that says why no more rows follow."""
        _, *others = unread_cells(problem.detail, [problem.kind.code])
        return self.row_out([], [STOPPED, *others])


def cells_for(one: Answered) -> list[Cell]:
    """Our cells for the answer to a row."""
    if one.answer is not None:
        return our_cells(one.answer)
    problem = one.problem or Problem("internal-error")
    faults = problem.errors
    return unread_cells(
        faults[0].message if faults else problem.detail, [f.code for f in faults] or [problem.kind.code]
    )


def csv_row(cells: Iterable[Cell], delimiter: str) -> bytes:
    """A row as it is written: safe to open in a spreadsheet, figures as plain numbers with a point."""
    text = io.StringIO()
    written = ["" if cell is None else safe_cell(cell) if isinstance(cell, str) else repr(cell) for cell in cells]
    csv.writer(text, delimiter=delimiter).writerow(written)
    return text.getvalue().encode("utf-8")
