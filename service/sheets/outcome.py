"""What there is to say about one row: our cells beside it, and its findings, each with the cell it speaks of."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from service.many.columns_out import UNREADABLE, Cell, our_cells, unread_cells
from service.reading.cell_remarks import CellRemark, address, is_empty
from service.reading.columns import order_document
from service.sheets.table import Header, Merged, SheetRow
from service.web.problems import FieldError, Problem

WORDS: Final = ("accept", "review", "reject", UNREADABLE)
# The columns of the sheet of findings, which are the members of a Note behind the number of its row.
NOTE_COLUMNS: Final = (
    "Row", "Cell", "Reference", "Severity", "Finding", "Eye", "What was noticed", "For the customer", "Value", "Limit", "Unit",
    "Limit set by", "Source",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Outcome:
    """One row answered. Each note is a row of the sheet of findings, without the row's number."""

    cells: list[Cell]
    notes: list[list[Cell]]

    @property
    def word(self) -> str:
        """The decision, or that the row could not be read."""
        return str(self.cells[0])


@dataclass(frozen=True, slots=True)
class Asked:
    """What a row asks: an order as a document, or why there is none; neither where the row is empty."""

    document: dict[str, Any] | None
    remarks: Sequence[CellRemark]


class Reader:
    """Reads the rows of one table, each lower than the one before."""

    def __init__(self, header: Header, merged: Iterable[Merged]) -> None:
        self._header, self._columns, self._ours = header, header.columns, header.ours
        self._merged = _in_the_way(header, merged)
        self._begun: list[tuple[Merged, CellRemark]] = []

    def asked(self, row: SheetRow) -> Asked:
        """What a row asks."""
        if all(is_empty(cell) or at in self._ours for at, cell in enumerate(row.values)):
            return Asked(None, ())
        reading = order_document(self._columns, row.values, row.number)
        merged = self._merged_in(row.number)
        return Asked(None if merged else reading.document, (*merged, *reading.remarks))

    def unread(self, row: SheetRow, remarks: Iterable[CellRemark]) -> Outcome:
        """The outcome of a row whose cells could not be read."""
        told = list(remarks)
        notes = [_note(one.address, self._reference(row), UNREADABLE, one.code, one.message) for one in told]
        return Outcome(unread_cells(told[0].message, [one.code for one in told]), notes)

    def refused(self, row: SheetRow, problem: Problem) -> Outcome:
        """The outcome of a row whose order is not one that the contract allows."""
        faults = problem.errors or (FieldError(problem.kind.code, problem.detail),)
        return self.unreadable(row, [(fault.pointer, fault.code, fault.message) for fault in faults])

    def unreadable(self, row: SheetRow, faults: Iterable[tuple[str | None, str, str]]) -> Outcome:
        """The same from pointer, code and message of each fault."""
        remarks = []
        for pointer, code, message in faults:
            place = "" if pointer is None else self._columns.cell_of(pointer, row.number) or ""
            remarks.append(CellRemark(code, place, "", "", f"Cell {place}: {message}" if place else message))
        return self.unread(row, remarks)

    def checked(self, row: SheetRow, answer: Any) -> Outcome:
        """The outcome of a row that was checked: `answer` as it is made here, or as the client has it from a service."""
        notes = [self._finding(one, answer.reference, row.number) for one in answer.findings]
        return Outcome(our_cells(answer), notes)

    def _merged_in(self, number: int) -> list[CellRemark]:
        while self._merged and self._merged[-1][0].first_row <= number:
            self._begun.append(self._merged.pop())
        self._begun = [one for one in self._begun if one[0].last_row >= number]
        return [remark for _, remark in self._begun]

    def _finding(self, one: Any, reference: Cell, number: int) -> list[Cell]:
        place = self._columns.cell_of(one.pointer or "", number)
        said = [one.severity, one.code, one.eye, one.message, one.customer_message]
        return [place, reference, *said, one.value, one.limit, one.unit, one.limit_from, one.source]

    def _reference(self, row: SheetRow) -> Cell:
        """What stands in the column of references, whether it can be read or not."""
        for column in self._columns.columns:
            if column.use == "read" and column.paths == (("reference",),) and column.index < len(row.shown):
                held = row.shown[column.index]
                return None if held is None else str(held)
        return None


def header_notes(header: Header) -> Iterator[list[Cell]]:
    """What there is to say about the names of the columns."""
    for remark in header.notes:
        yield _note(remark.address, None, "note", remark.code, remark.message)


def _note(place: str, reference: Cell, severity: str, code: str, message: str) -> list[Cell]:
    return [place or None, reference, severity, code, None, message, None, None, None, None, None, None]


def _in_the_way(header: Header, merged: Iterable[Merged]) -> list[tuple[Merged, CellRemark]]:
    """Merged cells that reach into a column that counts, and what is said of them; the highest last."""
    counts = {column.index + 1 for column in header.columns.columns if column.use != "kept"}
    found = [one for one in merged if not counts.isdisjoint(range(one.first_column, one.last_column + 1))]
    return [(one, _remark(one)) for one in sorted(found, key=lambda one: one.first_row, reverse=True)]


def _remark(one: Merged) -> CellRemark:
    corner = address(one.first_column - 1, one.first_row)
    message = (
        f"Cells {one.text} are merged, so that only {corner} holds a value. A cell of its own for each figure is expected. "
        "Unmerge them and fill in each cell."
    )
    return CellRemark("cells-merged", one.text, "", "", message)
