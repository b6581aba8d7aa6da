"""A sheet of orders as it is read: its header, what stands above it, and its rows one by one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, Protocol

from service.many.columns_out import header_to_read, is_ours
from service.reading.cell_remarks import CellRemark, is_empty, said
from service.reading.columns import Columns, columns_of
from service.sheets.fault import MAX_COLUMNS, SheetError

_LONGEST_LIST: Final = 8


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One row. `values` is what the reader is to see, `shown` what stands in the file, `formats` how it is displayed."""

    number: int
    values: Sequence[object]
    shown: Sequence[object]
    formats: Sequence[str | None]


@dataclass(frozen=True, slots=True)
class Header:
    """The row with the names of the columns."""

    number: int
    cells: Sequence[object]
    columns: Columns

    @property
    def ours(self) -> frozenset[int]:
        """The places of columns that an earlier check has added."""
        return frozenset(at for at, cell in enumerate(self.cells) if is_ours(cell))

    @property
    def notes(self) -> list[CellRemark]:
        """What there is to say about the names, those of our own columns left out."""
        ours = {self.columns.columns[at].name for at in self.ours}
        return [
            remark for remark in self.columns.remarks if remark.code != "column-unknown" or remark.column not in ours
        ]


@dataclass(frozen=True, slots=True)
class Merged:
    """Cells that are merged into one, by the places of their corners, counted from 1."""

    first_row: int
    last_row: int
    first_column: int
    last_column: int
    text: str


class Table(Protocol):
    """What both readers give."""

    @property
    def name(self) -> str:
        """Name of the sheet; empty for a CSV file."""

    @property
    def header(self) -> Header:
        """The row of names."""

    @property
    def above(self) -> Sequence[SheetRow]:
        """What stands above it, in rows from the first on."""

    @property
    def width(self) -> int:
        """Columns up to the last that holds anything."""

    @property
    def filled(self) -> int:
        """Rows that hold anything, the header and what is above it included."""

    @property
    def merged(self) -> Sequence[Merged]:
        """Merged cells."""

    @property
    def style(self) -> "TextStyle | None":
        """How a CSV file is written; None for a workbook."""

    def rows(self) -> Iterator[SheetRow]:
        """The rows below the header, each with its number, to the last that holds anything."""

    def close(self) -> None:
        """Close the file."""


@dataclass(frozen=True, slots=True)
class TextStyle:
    """How a CSV file parts its cells and writes its figures."""

    delimiter: str = ","
    decimal_comma: bool = False
    encoding: str = field(default="utf-8-sig", compare=False)


def header_in(rows: Sequence[Sequence[object]]) -> Header | None:
    """The first row that names what an order cannot do without, if there is one."""
    found = (header_of(number, cells) for number, cells in enumerate(rows, start=1) if _holds_names(cells))
    return next((header for header in found if not header.columns.missing), None)


def header_of(number: int, cells: Sequence[object]) -> Header:
    """A row as a row of names."""
    kept = list(cells)
    while kept and is_empty(kept[-1]):
        kept.pop()
    if len(kept) > MAX_COLUMNS:
        raise SheetError(
            f"row {number} has {len(kept):,} columns. At most {MAX_COLUMNS} are expected. Remove the rest."
        )
    return Header(number, tuple(kept), columns_of(header_to_read(kept), number))


def no_header(rows: Sequence[Sequence[object]], where: str) -> SheetError:
    """The fault of a sheet without a row of names: of the row that comes nearest, what is missing."""
    headers = [header_of(number, cells) for number, cells in enumerate(rows, start=1) if _holds_names(cells)]
    if not headers:
        usual = "R sph, L sph, PD, A, B, DBL"
        return SheetError(f"{where} has no row of column names at its top. Name the columns, such as {usual}.")
    nearest = max(headers, key=columns_read)
    names = [said(cell) for cell in nearest.cells if not is_empty(cell)]
    quoted = ", ".join(f'"{name}"' for name in names[:_LONGEST_LIST]) + (", …" if len(names) > _LONGEST_LIST else "")
    faults = [remark.message for remark in nearest.columns.remarks if remark.code not in ("column-unknown",)]
    return SheetError(
        f"{where} has no row with the names of all columns that an order needs. Row {nearest.number} comes nearest and reads "
        + "\n  ".join([f"{quoted}:", *faults])
    )


def columns_read(header: Header) -> int:
    """How many columns of a header are read."""
    return sum(column.use == "read" for column in header.columns.columns)


def _holds_names(cells: Sequence[object]) -> bool:
    return any(isinstance(cell, str) and not is_empty(cell) for cell in cells)
