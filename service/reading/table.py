"""Tables: a header row that names the columns, and a row for each eye.

Where the cells are parted by tabs or bars each cell is read by its column, and an empty one is empty. Otherwise a row is
read like any line, and a figure left over after the axis goes to the next column that is named.
"""

from dataclasses import dataclass

from service.reading import words
from service.reading.cursor import Cursor
from service.reading.text_reading import EyeName, EyeText, Reading
from service.reading.tokens import Token


@dataclass(frozen=True, slots=True)
class _Cell:
    """The tokens between two cell marks."""

    first: int
    last: int


def header_is_ahead(cursor: Cursor) -> bool:
    """Whether this line names columns that are parted by tabs or bars."""
    return any(token.kind == "cell" for token in _line_tokens(cursor)) and _names_columns(cursor)


def plain_header_is_ahead(cursor: Cursor) -> bool:
    """Whether this line names columns that are parted by blanks only."""
    return not any(token.kind == "cell" for token in _line_tokens(cursor)) and _names_columns(cursor)


def read_plain_header(cursor: Cursor) -> None:
    """The rows below are read like any line; a figure after the axis is the add where the header ends with it."""
    names = [words.HEADER[token.text] for token in _line_tokens(cursor) if token.kind == "word"]
    cursor.add_column = names.index("add") == names.index("axis") + 1 if {"add", "axis"} <= set(names) else False
    _leave_line(cursor)


def _names_columns(cursor: Cursor) -> bool:
    line = _line_tokens(cursor)
    names = {words.HEADER.get(token.text) for token in line if token.kind == "word"}
    if None in names or not {"sphere", "cylinder"} <= names:
        return False
    return all(token.kind in ("word", "cell", "colon", "slash", "comma") for token in line)


def read_table(cursor: Cursor, reading: Reading) -> None:
    """The header row, then every row that follows it and has cells."""
    header = [_name(cursor, cell) for cell in _cells(cursor)]
    _leave_line(cursor)
    while not cursor.done and any(token.kind == "cell" for token in _line_tokens(cursor)):
        _read_row(cursor, reading, header)
        _leave_line(cursor)


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
    return cells


def _name(cursor: Cursor, cell: _Cell) -> str:
    names = [words.HEADER[token.text] for token in cursor.tokens[cell.first : cell.last] if token.kind == "word"]
    return names[0] if len(names) == 1 else ""


def _read_row(cursor: Cursor, reading: Reading, header: list[str]) -> None:
    cells = _cells(cursor)
    whole = (cursor.tokens[cells[0].first].start, cursor.ahead(len(_line_tokens(cursor)) - 1).end)
    inner = [_inside(cursor, cell) for cell in cells]
    eye = _eye_of_row(cursor, reading, header, inner, whole)
    if len(inner) != len(header):
        cursor.remark("table-row-not-clear", whole, eye=eye.eye)
    else:
        for name, part in zip(header, inner, strict=True):
            if part.tokens:
                _read_cell(cursor, eye, name, part)
    if eye.sphere is None and "sphere" not in eye.spans and not eye.is_balance:
        cursor.remark("sphere-not-found", whole, eye=eye.eye)
    there = reading.right if eye.eye == "right" else reading.left
    if there is not None:
        cursor.remark("eye-read-twice", eye.span, eye=eye.eye)
    elif eye.eye == "right":
        reading.right = eye
    else:
        reading.left = eye


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


def _read_cell(cursor: Cursor, eye: EyeText, name: str, cell: Cursor) -> None:
    start = cell.at
    if name in ("sphere", "cylinder", "add"):
        _read_power_cell(eye, name, cell)
    elif name == "axis":
        _read_axis_cell(eye, cell)
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
    if number is None or number.has_point:
        return
    cell.skip_words(words.DEGREE)
    axis = int(number.digits)
    if axis > 180:
        cell.remark("axis-beyond-180", number.span, eye=eye.eye, value=float(axis))
        return
    if axis == 0:
        cell.remark("axis-zero-in-text", number.span, eye=eye.eye, value=0.0)
    eye.axis, eye.spans["axis"] = float(axis), number.span


def _give(eye: EyeText, name: str, value: float | None, span: tuple[int, int]) -> None:
    setattr(eye, name, value)
    eye.spans[name] = span
