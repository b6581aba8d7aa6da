"""What stands between us and the library that writes workbooks: rows one after the other, text that stays text, names that
every program takes.

The library keeps one row of each sheet in memory and the rows before it in files, which stand beside the output while it is
written: rows are added to several sheets in turn, and memory does not grow with them.
"""

import math
import re
import shutil
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any, Final

import xlsxwriter
from xlsxwriter.exceptions import FileCreateError

from service.sheets.fault import CELL_CHARACTERS

_OPTIONS: Final = {
    "constant_memory": True,
    "in_memory": False,
    # What a person typed is never run, followed or counted.
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "use_zip64": True,
}
_TITLE_CHARACTERS: Final = 31
_NOT_IN_TITLES: Final = re.compile(r"[\[\]:*?/\\\x00-\x1f]")
# Characters that XML 1.0 cannot hold. The library writes some of them in a way that not every program reads.
_NOT_IN_XML: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_BREAKS: Final = re.compile(r"\r\n?")
# Before this day spreadsheet programs do not agree on the number of a day.
_FIRST_SAFE_DAY: Final = datetime(1900, 3, 1)
# Forms that are known by their number: the programs show such days and times as the person's country has them.
_NUMBERED: Final[dict[str, str | int]] = {"mm-dd-yy": 14, "m/d/yy h:mm": 22}


@dataclass(frozen=True, slots=True)
class Style:
    """How a cell looks."""

    form: str = "General"
    bold: bool = False
    wrapped: bool = False
    fill: str | None = None
    ink: str | None = None


PLAIN: Final = Style()
Cell = tuple[object, Style]


class Book:
    """A workbook while it is being written."""

    def __init__(self, path: Path) -> None:
        self._rows = path.with_name(f"{path.name}.rows")
        # Left over where a run was killed, which is told to go on by the same command.
        shutil.rmtree(self._rows, ignore_errors=True)
        self._rows.mkdir()
        self._book = xlsxwriter.Workbook(path, {**_OPTIONS, "tmpdir": str(self._rows)})
        self._formats: dict[Style, Any] = {PLAIN: None}
        self._titles: set[str] = set()

    def sheet(self, title: str, widths: Sequence[float], *, frozen_rows: int = 0) -> "Sheet":
        """A new sheet. A title that is not free, or that no program takes, is changed."""
        plain = _cut(_NOT_IN_XML.sub("", _NOT_IN_TITLES.sub(" ", title)).strip(" '"), _TITLE_CHARACTERS)
        plain = plain.rstrip(" '") or "Sheet"
        free, number = plain, 2
        while free.casefold() in self._titles:
            ending = f" {number}"
            free, number = _cut(plain, _TITLE_CHARACTERS - len(ending)) + ending, number + 1
        self._titles.add(free.casefold())
        made = self._book.add_worksheet(free)
        for at, width in enumerate(widths):
            made.set_column(at, at, width)
        if frozen_rows:
            made.freeze_panes(frozen_rows, 0)
        return Sheet(made, self._format)

    def save(self, day: date) -> None:
        """Write the file, as one of this day: the same cells give the same bytes."""
        self._book.set_properties({"created": datetime(day.year, day.month, day.day)})
        try:
            self._book.close()
        except FileCreateError as error:
            raise error.args[0] from None  # the OSError that it was
        shutil.rmtree(self._rows, ignore_errors=True)

    def drop(self) -> None:
        """Give up what is open. The library has no way to say so but to write the file."""
        for sheet in self._book.worksheets():
            sheet.row_data_fh.close()
        shutil.rmtree(self._rows, ignore_errors=True)

    def _format(self, style: Style) -> Any:
        if style not in self._formats:
            looks: dict[str, Any] = {"num_format": _NUMBERED.get(style.form, style.form), "bold": style.bold}
            if style.wrapped:
                looks |= {"text_wrap": True, "valign": "top"}
            if style.fill is not None:
                looks["bg_color"] = f"#{style.fill}"
            if style.ink is not None:
                looks["font_color"] = f"#{style.ink}"
            self._formats[style] = self._book.add_format(looks)
        return self._formats[style]


class Sheet:
    """One sheet: its rows are written as they come."""

    def __init__(self, made: Any, form: Any) -> None:
        self._made, self._format = made, form
        self.rows = 0

    @property
    def title(self) -> str:
        """The name it was given."""
        return str(self._made.get_name())

    def append(self, cells: Sequence[Cell], *, height: float | None = None) -> None:
        """The next row."""
        if height is not None:
            self._made.set_row(self.rows, height)
        for at, (value, style) in enumerate(cells):
            if value is not None:
                self._write(at, value, style)
        self.rows += 1

    def filter(self, header: int, columns: int) -> None:
        """Let the rows below the header, a row counted from 1, be chosen by what stands in their columns."""
        self._made.autofilter(header - 1, 0, self.rows - 1, columns - 1)

    def _write(self, at: int, value: object, style: Style) -> None:
        if isinstance(value, bool):
            self._made.write_boolean(self.rows, at, value, self._format(style))
        elif isinstance(value, (int, float)) and math.isfinite(value):
            self._made.write_number(self.rows, at, value, self._format(style))
        elif isinstance(value, (date, time, timedelta)) and not _is_early(value):
            shown = replace(style, form=_usual_form(value)) if style.form == "General" else style
            self._made.write_datetime(self.rows, at, value, self._format(shown))
        else:
            text = value.isoformat() if isinstance(value, date) else str(value)
            self._text(at, _NOT_IN_XML.sub("\ufffd", _BREAKS.sub("\n", _cut(text, CELL_CHARACTERS))), style)

    def _text(self, at: int, text: str, style: Style) -> None:
        if text.startswith("<r>") and text.endswith("</r>"):
            # The library would take it for its own XML of a text in several fonts, and write it as it stands.
            looks = [] if style is PLAIN else [self._format(style)]
            self._made.write_rich_string(self.rows, at, text[0], text[1], text[2:], *looks)
        else:
            self._made.write_string(self.rows, at, text, self._format(style))


def _cut(text: str, most: int) -> str:
    """A text cut to a length, counted as the programs do: in units of UTF-16."""
    if len(text) <= most // 2:
        return text
    return text.encode("utf-16-le", "surrogatepass")[: 2 * most].decode("utf-16-le", "ignore")


def _is_early(value: date | time | timedelta) -> bool:
    if isinstance(value, datetime):
        return value < _FIRST_SAFE_DAY
    return isinstance(value, date) and value < _FIRST_SAFE_DAY.date()


def _usual_form(value: date | time | timedelta) -> str:
    """How a day or a time is shown where nothing else is said."""
    if isinstance(value, timedelta):
        return "[h]:mm:ss"
    if isinstance(value, time):
        return "hh:mm:ss"
    is_whole = not isinstance(value, datetime) or value.time() == time()
    return "yyyy-mm-dd" if is_whole else "yyyy-mm-dd hh:mm:ss"
