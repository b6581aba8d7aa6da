"""The columns of a table of orders, and each row as the document of an order.

A row makes a document only if every cell in it was understood: a cell left out in silence would make another order.
Whether the order can be made is for the contract and the rules; here nothing is judged, and nothing is guessed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest
from typing import Any, Final, Literal, cast

from service.reading.cell_remarks import EXPECTED, TROUBLES, CellRemark, address, is_empty, said, trimmed
from service.reading.cells import Prisms, Trouble, Value, cell_value
from service.reading.column_names import Meaning, Unclear, meaning_of

Path = tuple[str, ...]

# Header remarks that keep no row from being read.
NOTES: Final = frozenset({"column-unknown", "column-for-both-eyes"})

_SPHERES: Final[tuple[Path, ...]] = (("prescription", "right", "sphere"), ("prescription", "left", "sphere"))
_WRITTEN: Final[Path] = ("prescription", "written")
_PD: Final[tuple[Path, ...]] = (("pd_mm", "both"), ("pd_mm", "right"), ("pd_mm", "left"))
# What an order cannot do without: any one of these members; how it is called; a name for its column.
_REQUIRED: Final[tuple[tuple[tuple[Path, ...], str, str], ...]] = (
    ((_SPHERES[0], _WRITTEN), "the sphere of the right eye", "R sph"),
    ((_SPHERES[1], _WRITTEN), "the sphere of the left eye", "L sph"),
    (_PD, "the PD", "PD"),
    ((("frame", "a_mm"),), "the boxed width A", "A"),
    ((("frame", "b_mm"),), "the boxed height B", "B"),
    ((("frame", "dbl_mm"),), "the distance between lenses", "DBL"),
)
_DIRECTIONS: Final = {"horizontal": ("in", "out"), "vertical": ("up", "down")}


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, what it holds, and whether it is read, kept as it is, or refused where it is filled."""

    index: int
    name: str
    use: Literal["read", "kept", "refused"]
    meaning: Meaning | None = None
    paths: tuple[Path, ...] = ()  # where its figure goes


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of a table, and what there is to say about its header."""

    columns: tuple[Column, ...]
    remarks: tuple[CellRemark, ...]

    @property
    def missing(self) -> tuple[CellRemark, ...]:
        """What is said about columns that an order cannot do without; none where rows can be read."""
        return tuple(remark for remark in self.remarks if remark.code == "column-missing")

    def cell_of(self, pointer: str, row_number: int) -> str | None:
        """The address of the cell that a JSON Pointer into the row's document speaks of, if there is one."""
        steps = tuple(pointer.split("/")[1:])
        held = [
            (len(path), column.index)
            for column in self.columns
            if column.use == "read"
            for path in column.paths
            if steps[: len(path)] == path
        ]
        return address(max(held, key=lambda one: (one[0], -one[1]))[1], row_number) if held else None


@dataclass(frozen=True, slots=True)
class RowReading:
    """One row: the document of an order, or remarks that say why there is none; neither where the row is empty."""

    document: dict[str, Any] | None
    remarks: tuple[CellRemark, ...]
    unknown: dict[str, object]


# The header.


def columns_of(header: Sequence[object], row_number: int = 1) -> Columns:
    """The columns named by a header row."""
    meanings = [meaning_of(cell) if isinstance(cell, str) else None for cell in header]
    columns: list[Column] = []
    remarks: list[CellRemark] = []
    for index, (cell, meaning) in enumerate(zip(header, meanings, strict=True)):
        twin = next((at for at, other in enumerate(meanings) if _is_twin(meaning, other) and at != index), None)
        column = _column(index, cell, meaning, is_twin=twin is not None)
        columns.append(column)
        remarks.extend(_header_remarks(column, meaning, row_number, twin))
    held = {path for column in columns for path in column.paths}
    for paths, what, name in _REQUIRED:
        if not held & set(paths):
            remarks.append(_missing_column(what, name))
    return Columns(tuple(columns), tuple(remarks))


def _is_twin(meaning: Meaning | Unclear | None, other: Meaning | Unclear | None) -> bool:
    return isinstance(meaning, Meaning) and meaning == other


def _column(index: int, cell: object, meaning: Meaning | Unclear | None, *, is_twin: bool) -> Column:
    name = " ".join(trimmed(cell).split()) if isinstance(cell, str) else said(cell)
    if isinstance(meaning, Unclear) or not name:
        return Column(index, name, "refused")
    if meaning is None:
        return Column(index, name, "kept")
    return Column(index, name, "refused" if is_twin else "read", meaning, meaning.paths)


def _header_remarks(
    column: Column, meaning: Meaning | Unclear | None, row_number: int, twin: int | None
) -> Iterator[CellRemark]:
    place, name = address(column.index, row_number), said(column.name)
    start = f'Cell {place}: the column name "{name}" was read.'
    if isinstance(meaning, Unclear):
        text = f"It names {meaning.read}. {meaning.expected} is expected. {meaning.to_do}"
        yield CellRemark(meaning.code, place, name, name, f"{start} {text}")
    elif meaning is None and column.use == "kept":
        text = "It names nothing that an order holds. The column is kept and not read. If it matters, rename it."
        yield CellRemark("column-unknown", place, name, name, f"{start} {text}")
    elif meaning is not None and twin is not None:
        text = (
            f"Cell {address(twin, row_number)} names the same figure. One column for each figure is expected. Rename or"
        )
        yield CellRemark("column-twice", place, name, name, f"{start} {text} remove one.")
    elif meaning is not None and meaning.eye_taken:
        text = f'It names no eye: the {meaning.label} is taken for both. If it is for one eye, write "right" or "left".'
        yield CellRemark("column-for-both-eyes", place, name, name, f"{start} {text}")


def _missing_column(what: str, name: str) -> CellRemark:
    instead = ' or give the whole prescription as text in a column "Prescription"' if name.endswith("sph") else ""
    text = f'No column for {what} was read in the header. An order needs it. Name its column "{name}"{instead}.'
    return CellRemark("column-missing", "", name, "", text)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# A row.


@dataclass(frozen=True, slots=True)
class _Given:
    """A value with the cell it came from."""

    meaning: Meaning
    value: Value
    column: Column
    place: str
    said: str

    def remark(self, code: str, text: str) -> CellRemark:
        name = said(self.column.name)
        message = f'Cell {self.place} (column "{name}"): "{self.said}" was read. {text}'
        return CellRemark(code, self.place, name, self.said, message)


@dataclass(slots=True)
class _Row:
    """A row while it is being read."""

    number: int
    given: dict[Path, _Given] = field(default_factory=dict)
    prisms: dict[tuple[str | None, str], list[_Given]] = field(default_factory=dict)
    filled: set[Path] = field(default_factory=set)
    remarks: list[CellRemark] = field(default_factory=list)
    unknown: dict[str, object] = field(default_factory=dict)


def order_document(columns: Columns, row: Sequence[object], row_number: int) -> RowReading:
    """The document of the order in a row, not yet validated; `row_number` is that of the sheet, beginning at 1."""
    if all(is_empty(cell) for cell in row):
        return RowReading(None, (), {})
    reading = _Row(row_number, remarks=list(columns.missing))
    for index, (column, cell) in enumerate(zip_longest(columns.columns, row)):
        if not is_empty(cell):
            _read_cell(reading, column, index, cell)
    _demand_required(reading, columns)
    _refuse_beside_text(reading)
    document = _document(reading)
    return RowReading(None if reading.remarks else document, tuple(reading.remarks), reading.unknown)


def _read_cell(reading: _Row, column: Column | None, index: int, cell: object) -> None:
    place, quoted = address(index, reading.number), said(cell)
    if column is None:
        text = "The header names no such column. Check that no decimal comma parted a figure, then name the column."
        message = f'Cell {place}: "{quoted}" was read. {text}'
        reading.remarks.append(CellRemark("cell-beyond-columns", place, "", quoted, message))
    elif column.use == "kept":
        name = (
            column.name if column.name not in reading.unknown else f"{column.name} ({address(index, reading.number)})"
        )
        reading.unknown[name] = cell
    elif column.use == "refused" or column.meaning is None:
        reading.filled.update(column.paths)
        reading.remarks.append(_refused_cell(column, place, quoted))
    else:
        reading.filled.update(column.paths)
        value = cell_value(cell, column.meaning.kind)
        if isinstance(value, Trouble):
            reading.remarks.append(_troubled_cell(column, column.meaning, place, quoted, value.code))
        elif value is not None:
            _keep(reading, _Given(column.meaning, value, column, place, quoted))


def _refused_cell(column: Column, place: str, quoted: str) -> CellRemark:
    name = said(column.name)
    if not column.name:
        text = "Its column has no name. A name that says what it holds is expected. Name the column, or empty the cell."
        return CellRemark("column-without-name", place, "", quoted, f'Cell {place}: "{quoted}" was read. {text}')
    text = "What the column holds is not clear, so it was not read. Put the name of the column right first."
    message = f'Cell {place} (column "{name}"): "{quoted}" was read. {text}'
    return CellRemark("column-not-used", place, name, quoted, message)


def _troubled_cell(column: Column, meaning: Meaning, place: str, quoted: str, code: str) -> CellRemark:
    name = said(column.name)
    read, to_do = TROUBLES[code]
    message = f'Cell {place} (column "{name}") holds {read}: "{quoted}". {EXPECTED[meaning.kind]} is expected. {to_do}'
    return CellRemark(code, place, name, quoted, message)


def _keep(reading: _Row, given: _Given) -> None:
    meaning = given.meaning
    if meaning.kind in ("prism", "base"):
        reading.prisms.setdefault((meaning.eye, meaning.slot), []).append(given)
        return
    for path in given.column.paths:
        if path in reading.given:
            text = f"Cell {reading.given[path].place} holds the same figure. One of them is expected. Empty the other."
            reading.remarks.append(given.remark("figure-twice", text))
            return
        reading.given[path] = given


def _demand_required(reading: _Row, columns: Columns) -> None:
    for paths, what, _ in _REQUIRED:
        if reading.filled.isdisjoint(paths):
            of_these = [column for column in columns.columns if not set(paths).isdisjoint(column.paths)]
            remarks = [_missing_cell(column, what, reading.number) for column in of_these[:1]]
            # A column of text stands for both eyes, and is missed once.
            reading.remarks.extend(remark for remark in remarks if remark not in reading.remarks)


def _missing_cell(column: Column, what: str, row_number: int) -> CellRemark:
    place, name = address(column.index, row_number), said(column.name)
    if _WRITTEN in column.paths:
        what = "the prescription"
    text = f'Cell {place} (column "{name}") is empty. {_capital(what)} is expected. Fill it in.'
    return CellRemark("cell-missing", place, name, "", text)


def _refuse_beside_text(reading: _Row) -> None:
    """A prescription as text stands for all of it: figures beside it would be a second one."""
    written = reading.given.get(_WRITTEN)
    if written is None:
        return
    prisms = [given for found in reading.prisms.values() for given in found]
    text = f"The prescription stands as text in cell {written.place}, which is then expected to say it all. Empty one of them."
    beside = [given for path, given in reading.given.items() if path[0] == "prescription" and path != _WRITTEN]
    reading.remarks.extend(given.remark("figure-beside-text", text) for given in dict.fromkeys([*beside, *prisms]))


# The document.


def _document(reading: _Row) -> dict[str, Any]:
    document: dict[str, Any] = {}
    for path, given in reading.given.items():
        _put(document, path, given.value)
    for eye in ("right", "left"):
        prisms = [one for found in _prisms_of(reading, eye) for one in found]
        if prisms:
            _put(
                document, ("prescription", eye, "prism"), [{"amount": amount, "base": base} for amount, base in prisms]
            )
    return document


def _put(document: dict[str, Any], path: Path, value: object) -> None:
    inner = document
    for step in path[:-1]:
        inner = inner.setdefault(step, {})
    inner[path[-1]] = value


def _prisms_of(reading: _Row, eye: str) -> Iterator[Prisms]:
    for (whose, slot), found in reading.prisms.items():
        if whose == eye:
            amount = next((given for given in found if given.meaning.kind == "prism"), None)
            base = next((given for given in found if given.meaning.kind == "base"), None)
            yield _prisms(reading, amount, base, _DIRECTIONS.get(slot, ()))


def _prisms(reading: _Row, amount: _Given | None, base: _Given | None, directions: tuple[str, ...]) -> Prisms:
    """One prism from its amount and its base, or those that the amount's cell holds with their bases."""
    if amount is None:
        if base is not None:
            text = "An amount of prism beside the base is expected. Fill it in, or empty this cell."
            reading.remarks.append(base.remark("base-without-prism", text))
        return ()
    if isinstance(amount.value, tuple):
        found = amount.value
        if base is not None:
            text = f"Cell {amount.place} says the base already. One base is expected. Empty one of them."
            reading.remarks.append(base.remark("figure-twice", text))
    elif base is None:
        if amount.value != 0:
            text = "A base beside the prism is expected: in, out, up, down, or an angle from 0 to 360. Fill it in."
            reading.remarks.append(amount.remark("prism-without-base", text))
        return ()
    else:
        found = cast(Prisms, ((amount.value, base.value),))
    for _, direction in found:
        if directions and direction not in directions:
            text = f"In this column the base {' or '.join(directions)} is expected. Check the column and the base."
            reading.remarks.append((base or amount).remark("base-not-clear", text))
    return found
