"""Lines of a trace file to columns of numbers: what parts the columns, and what marks the decimals.

Both are decided for the file as a whole, never line by line. Each pair of separator and decimal mark that the file allows
is tried on all of it; only where exactly one reads every line, or all that do read the same numbers, is it read.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from service import limits
from service.reading.cell_remarks import trimmed
from service.reading.trace_names import Header, header_of
from service.reading.trace_remarks import TraceRemark, quoted, trace_remark

Mark = Literal[".", ","]
Line = tuple[int, str]
_Row = tuple[int, list[str]]

# Far more than an outline has; the bound keeps the work small.
MOST_LINES: Final = 5 * limits.MAX_TRACE_POINTS

# One character to one: minus signs and hyphens, and blanks that do not look different.
_PLAIN: Final = str.maketrans(
    dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\ufe63\uff0d", "-")
    | dict.fromkeys("\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000", " ")
)
# A decimal comma stands between digits: at the end of a figure a comma is a separator.
_NUMBERS: Final[dict[Mark, re.Pattern[str]]] = {
    ".": re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"),
    ",": re.compile(r"[+-]?[0-9]+(?:,[0-9]+)?(?:[eE][+-]?[0-9]+)?"),
}


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of a table that are read, as numbers, and the line of each row; or the faults that stand against it.

    Without a header every column is read; with one, those that it names, in the order of `header.quantities`.
    """

    lines: tuple[int, ...]
    columns: tuple[tuple[float, ...], ...]
    header: Header | None
    faults: tuple[TraceRemark, ...] = ()


def plain_number(text: str, mark: Mark = ".") -> float | None:
    """The number written with this decimal mark, maybe infinite; None where it is not one clear number."""
    if len(text) > limits.MAX_NUMBER_CHARACTERS or not _NUMBERS[mark].fullmatch(text):
        return None
    return float(text.replace(",", "."))


def columns_in(text: str) -> Columns:
    """The columns of numbers in a text."""
    lines = _lines(text)
    if not lines:
        return Columns((), (), None, (trace_remark("trace-file-empty"),))
    if len(lines) > MOST_LINES:
        what = "lines, not counting comments"
        return Columns((), (), None, (trace_remark("trace-file-too-much", limit=f"{MOST_LINES:,}", what=what),))
    readings = _readings(lines)
    tried = [_columns(lines, separator, mark) for separator, mark in readings]
    sound = [columns for columns in tried if not columns.faults]
    if any(columns.columns != sound[0].columns for columns in sound):
        number, line = next(((number, line) for number, line in lines if "," in line), lines[0])
        return Columns((), (), None, (trace_remark("trace-file-comma-not-clear", number, said=quoted(line)),))
    if sound:
        return sound[0]
    # The faults that help are those of the reading that knows the header, and then of the one that meets the fewest.
    best = min(range(len(tried)), key=lambda at: (_has_faulty_header(tried[at]), len(tried[at].faults)))
    faults = tuple(_of_mark(fault, readings[best][1]) for fault in tried[best].faults)
    return Columns((), (), None, faults)


def _has_faulty_header(columns: Columns) -> bool:
    return columns.header is not None and bool(columns.header.faults)


def _of_mark(fault: TraceRemark, mark: Mark) -> TraceRemark:
    """The fault, or what is said of a number that would be clear with the other decimal mark.

    The mark is the one that most numbers have, so this number is at odds with others.
    """
    said = fault.words.get("said", "")
    if fault.code != "trace-file-number-not-clear" or plain_number(said, "," if mark == "." else ".") is None:
        return fault
    others, its = ("a decimal point", "a decimal comma") if mark == "." else ("a decimal comma", "a decimal point")
    return trace_remark("trace-file-decimal-mark-not-clear", fault.line, said=said, its=its, others=others)


def _lines(text: str) -> list[Line]:
    """The lines that are neither blank nor comments, with their numbers."""
    lines = enumerate(text.translate(_PLAIN).split("\n"), start=1)
    return [(number, line) for number, line in lines if (seen := trimmed(line)) and not seen.startswith(("#", "//"))]


def _readings(lines: Sequence[Line]) -> list[tuple[str | None, Mark]]:
    """The separators and decimal marks that may be meant; None parts the columns at blanks, or is a file of one column."""
    marks: tuple[Mark, ...] = (".", ",")
    separators = [*(mark for mark in ";|\t" if any(mark in line for _, line in lines)), None]
    readings: list[tuple[str | None, Mark]] = [(separator, mark) for separator in separators for mark in marks]
    # A comma cannot be both.
    return [(",", "."), *readings] if any("," in line for _, line in lines) else readings


def _cells(line: str, separator: str | None) -> list[str]:
    """The cells of a line without blanks, quotation marks, and empty cells at the end."""
    # A unit in brackets belongs to the name before it: radius (mm).
    parts = line.replace(" (", "(").replace(" [", "[").split() if separator is None else line.split(separator)
    cells = [_bare(part) for part in parts]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _bare(cell: str) -> str:
    plain = trimmed(cell)
    return trimmed(plain[1:-1]) if len(plain) > 1 and plain[0] == plain[-1] == '"' else plain


def _rows(lines: Sequence[Line], separator: str | None) -> list[_Row]:
    """The rows that hold anything, without the empty cells that stand before the first column of all of them."""
    split = [(number, _cells(line, separator)) for number, line in lines]
    rows = [(number, cells) for number, cells in split if cells]
    idle = min((next(at for at, cell in enumerate(cells) if cell) for _, cells in rows), default=0)
    return [(number, cells[idle:]) for number, cells in rows]


def _columns(lines: Sequence[Line], separator: str | None, mark: Mark) -> Columns:
    rows = _rows(lines, separator)
    if not rows:  # separators and nothing between them
        return Columns((), (), None, (trace_remark("trace-file-empty"),))
    first, names = rows[0]
    header = header_of(names, first) if _is_header(names) else None
    faults: list[TraceRemark] = []
    if header is not None:
        if header.faults:
            return Columns((), (), header, header.faults)
        rows = rows[1:]
        used = header.columns
    else:
        used = tuple(range(len(names)))
        faults = [_unnamed(first, len(names))] if len(names) > 2 else []
    # A last cell may be empty where a header says which column it is, and separators show which one it is.
    may_be_short = header is not None and separator is not None
    read = []
    for number, cells in rows:
        if len(cells) > len(names) or (len(cells) < len(names) and not may_be_short):
            counts = {"count": str(len(cells)), "expected": str(len(names)), "first": str(first)}
            faults.append(trace_remark("trace-file-row-differs", number, **counts))
        elif len(used) <= 2:  # of more without names none is read
            found = [_figure(cells, at, number, mark) for at in used]
            faults.extend(figure for figure in found if isinstance(figure, TraceRemark))
            read.append([figure for figure in found if not isinstance(figure, TraceRemark)])
    if faults:
        return Columns((), (), header, tuple(faults))
    return Columns(tuple(number for number, _ in rows), tuple(zip(*read, strict=True)), header)


def _is_header(cells: Sequence[str]) -> bool:
    return any(cell[:1].isalpha() for cell in cells) and not any(
        plain_number(cell, mark) is not None for cell in cells for mark in _NUMBERS
    )


def _unnamed(line: int, count: int) -> TraceRemark:
    return trace_remark("trace-file-columns-not-clear", line, count=str(count), first=str(line))


def _figure(cells: Sequence[str], at: int, line: int, mark: Mark) -> float | TraceRemark:
    """The number in a cell, or what is said of it."""
    cell = cells[at] if at < len(cells) else ""
    if not cell:
        return trace_remark("trace-file-cell-empty", line, column=str(at + 1))
    figure = plain_number(cell, mark)
    if figure is None:
        return trace_remark("trace-file-number-not-clear", line, said=quoted(cell))
    if not math.isfinite(figure):
        return trace_remark("trace-file-number-not-finite", line, said=quoted(cell))
    return figure
