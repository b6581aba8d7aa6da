"""Tables: a header row that names the columns, and a row for each eye.

Where the cells are parted by tabs or bars each cell is read by its column, and an empty one is empty. Otherwise a row is
read like any line, and a figure left over after the axis goes to the next column that is named.
"""

from dataclasses import dataclass

from service.reading import words
from service.reading.cursor import Cursor
from service.reading.parts import prism_is_ahead, read_prism, read_pupillary
from service.reading.power import keep_eye, remark_zero_with_axis, take_marked_axis
from service.reading.text_reading import EyeName, EyeText, Reading
from service.reading.tokens import Token

_POWERS = ("sphere", "cylinder", "axis", "add")


@dataclass(frozen=True, slots=True)
class _Cell:
    """The tokens between two cell marks."""

    first: int
    last: int


def header_is_ahead(cursor: Cursor) -> bool:
    """Whether this line names columns that are parted by tabs or bars."""
    return any(token.kind == "cell" for token in _line_tokens(cursor)) and bool(_powers_named(cursor))


def plain_header_is_ahead(cursor: Cursor) -> bool:
    """Whether this line names columns that are parted by blanks only."""
    if any(token.kind == "cell" for token in _line_tokens(cursor)):
        return False
    # Rows are read like any line, so the columns must stand in the usual order.
    powers = _powers_named(cursor)
    return powers == [name for name in _POWERS if name in powers] and bool(powers)


def read_plain_header(cursor: Cursor) -> None:
    """The rows below are read like any line; a figure after the axis is the add where the header ends with it."""
    names = [words.HEADER[token.text] for token in _line_tokens(cursor) if token.kind == "word"]
    cursor.add_column = names.index("add") == names.index("axis") + 1 if {"add", "axis"} <= set(names) else False
    _leave_line(cursor)


def _powers_named(cursor: Cursor) -> list[str]:
    """The power columns that a header line names, each once; none if this is no header line."""
    line = _line_tokens(cursor)
    names = [words.HEADER.get(token.text, "") for token in line if token.kind == "word"]
    powers = [name for name in names if name in _POWERS]
    if "" in names or not {"sphere", "cylinder"} <= set(powers) or len(powers) != len(set(powers)):
        return []
    return powers if all(token.kind in ("word", "cell", "colon", "slash", "comma") for token in line) else []


def read_table(cursor: Cursor, reading: Reading) -> None:
    """The header row, then every row that follows it and begins like one."""
    header = [_name(cursor, cell) for cell in _cells(cursor)]
    _leave_line(cursor)
    while not cursor.done and _row_is_ahead(cursor):
        if any(token.kind not in ("cell", "sign", "colon") for token in _line_tokens(cursor)):
            _read_row(cursor, reading, header)
        _leave_line(cursor)


def _row_is_ahead(cursor: Cursor) -> bool:
    line = _line_tokens(cursor)
    first = next((token for token in line if token.kind != "cell"), None)
    if first is None or not any(token.kind == "cell" for token in line):
        return False
    return first.kind in ("number", "sign") or first.text in words.EYES or first.text in words.PLANO


def _line_tokens(cursor: Cursor) -> tuple[Token, ...]:
    end = cursor.at
    while end < len(cursor.tokens) and cursor.tokens[end].kind != "line":
        end += 1
    return cursor.tokens[cursor.at : end]


def _leave_line(cursor: Cursor) -> None:
    cursor.at += len(_line_tokens(cursor))
    cursor.skip_kinds("line")


def _cells(cursor: Cursor) -> list[_Cell]:
    cells, first = [], cursor.at
    end = cursor.at + len(_line_tokens(cursor))
    for at in range(cursor.at, end):
        if cursor.tokens[at].kind == "cell":
            cells.append(_Cell(first, at))
            first = at + 1
    cells.append(_Cell(first, end))
    # Bars may stand at the outer edges too.
    if cursor.tokens[cursor.at].text == "|" and cursor.tokens[end - 1].text == "|":
        cells = cells[1:-1]
    return cells


def _name(cursor: Cursor, cell: _Cell) -> str:
    names = [words.HEADER[token.text] for token in cursor.tokens[cell.first : cell.last] if token.kind == "word"]
    return names[0] if len(names) == 1 else ""


def _read_row(cursor: Cursor, reading: Reading, header: list[str]) -> None:
    cells = _cells(cursor)
    whole = (cursor.token.start, cursor.ahead(len(_line_tokens(cursor)) - 1).end)
    inner = [_inside(cursor, cell) for cell in cells]
    eye = _eye_of_row(cursor, reading, header, inner, whole)
    if len(inner) != len(header):
        cursor.remark("table-row-not-clear", whole, eye=eye.eye)
    else:
        for name, part in zip(header, inner, strict=True):
            if part.tokens:
                _read_cell(cursor, reading, eye, name, part)
    if eye.sphere is None and "sphere" not in eye.spans and not eye.is_balance:
        cursor.remark("sphere-not-found", whole, eye=eye.eye)
    keep_eye(cursor, reading, eye)


def _inside(cursor: Cursor, cell: _Cell) -> Cursor:
    return Cursor(cursor.text, cursor.tokens[cell.first : cell.last], remarks=cursor.remarks)


def _eye_of_row(
    cursor: Cursor, reading: Reading, header: list[str], inner: list[Cursor], whole: tuple[int, int]
) -> EyeText:
    label = inner[0]
    if label.tokens and label.is_word(words.RIGHT | words.LEFT):
        token = label.take()
        label.skip_words(words.WITHOUT_MEANING)
        label.skip_kinds("colon")
        if header[0] != "eye" and header[0]:
            header.insert(0, "")  # the column of the labels has no name
        name: EyeName = "right" if token.text in words.RIGHT else "left"
        return EyeText(name, token.span)
    name = "right" if reading.right is None else "left"
    cursor.remark("eye-not-labelled", whole, eye=name, taken=name)
    return EyeText(name, whole)


def _read_cell(cursor: Cursor, reading: Reading, eye: EyeText, name: str, cell: Cursor) -> None:
    start = cell.at
    if name in ("sphere", "cylinder", "add"):
        _read_power_cell(eye, name, cell)
        remark_zero_with_axis(cell, eye)
    elif name == "axis":
        _read_axis_cell(eye, cell)
        remark_zero_with_axis(cell, eye)
    elif name == "prism":
        if prism_is_ahead(cell):
            read_prism(cell, eye)
    elif name == "pd" and not cell.done:
        read_pupillary(cell, reading, eye, named=False)
    elif name == "acuity" and not cell.done:
        cursor.remark("acuity-set-aside", (cell.tokens[start].start, cell.tokens[-1].end), eye=eye.eye)
        return
    if not cell.done:
        cursor.remark("text-left-over", (cell.token.start, cell.tokens[-1].end), eye=eye.eye)


def _read_power_cell(eye: EyeText, name: str, cell: Cursor) -> None:
    span = cell.token.span
    if name != "add" and (cell.skip_words(words.PLANO) or (name == "cylinder" and cell.skip_words(words.NO_CYLINDER))):
        _give(eye, name, 0.0, span)
    elif name == "sphere" and cell.skip_words(words.BALANCE):
        eye.is_balance = True
        cell.remark("balance-lens", span, eye=eye.eye)
    elif name == "cylinder" and len(cell.tokens) == 1 and cell.token.kind == "sign":
        cell.take()  # a dash for "none"
    else:
        figure = cell.power(eye.eye, sign_must_stand=name != "add")
        if figure is not None:
            _give(eye, name, figure.value, figure.span)
            cell.skip_words(words.POWER_UNIT | words.NO_CYLINDER)


def _read_axis_cell(eye: EyeText, cell: Cursor) -> None:
    if len(cell.tokens) == 1 and cell.token.kind == "sign":
        cell.take()
        return
    cell.skip_words(words.AXIS)
    number = cell.plain_number(eye.eye)
    if number is not None:
        take_marked_axis(cell, eye, number)


def _give(eye: EyeText, name: str, value: float | None, span: tuple[int, int]) -> None:
    setattr(eye, name, value)
    eye.spans[name] = span
