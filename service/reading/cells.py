"""One cell of a table of orders: its address, and its value for the figure its column holds.

A spreadsheet alters what is typed into it: "10-12" becomes a date, +1.50 loses its sign. What was altered beyond doubt
is never taken for a figure. Text is read by the same tokens and figures as a written prescription; there nothing may be
inferred, so whatever the reading of a figure has to remark is trouble here.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import Final

from service.reading import words
from service.reading.cell_remarks import TROUBLES, trimmed
from service.reading.column_names import FOREIGN_UNITS, Kind
from service.reading.cursor import Cursor
from service.reading.parts import read_prism
from service.reading.text_reading import Base, EyeText
from service.reading.tokens import Token, tokens

_LONGEST_FIGURE_TEXT = 60
_LONGEST_LENGTH = 8
# No figure of an order reaches this; the number behind a date does (45,000 is in the year 2023).
_TOO_LARGE = 1000.0

Prisms = tuple[tuple[float, Base | float], ...]
Value = float | str | Prisms | None


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why a cell cannot be used, by its code."""

    code: str


def cell_value(value: object, kind: Kind) -> Value | Trouble:
    """The value of a cell that is not empty; None where it says that there is none, such as DS for a cylinder."""
    if isinstance(value, bool):
        return Trouble("cell-true-or-false")
    if isinstance(value, (date, time, timedelta)):
        if kind == "day" and isinstance(value, date):
            return value.date().isoformat() if isinstance(value, datetime) else value.isoformat()
        return Trouble("cell-became-date")
    if isinstance(value, (int, float)):
        return _from_number(value, kind)
    if not isinstance(value, str):
        return Trouble("cell-not-readable")
    text = trimmed(value)
    if text.startswith("="):
        return Trouble("cell-formula")
    if _ERROR.fullmatch(text):
        return Trouble("cell-error")
    return _WORDS[kind](text) if kind in _WORDS else _from_figure_text(text, kind)


# Numbers.


def _from_number(value: float, kind: Kind) -> Value | Trouble:
    if isinstance(value, float) and not math.isfinite(value):
        return Trouble("cell-error")
    if kind == "text":
        return _name_from_number(value)
    if kind == "day":
        return Trouble("date-is-number")
    if kind in _WORDS:
        return Trouble("number-for-word")
    if abs(value) >= _TOO_LARGE:
        return Trouble("figure-too-large")
    figure = float(value)
    if kind == "axis":
        return _whole_axis(figure)
    if kind == "prism" and figure < 0:
        return Trouble("prism-signed")
    if kind == "base" and not 0 <= figure <= 360:
        return Trouble("base-not-clear")
    return figure


def _whole_axis(figure: float) -> Value | Trouble:
    if not figure.is_integer():
        return Trouble("axis-not-whole")
    return figure if figure >= 0 else Trouble("axis-signed")


def _name_from_number(value: float) -> Value | Trouble:
    """A reference of digits comes as a number, and as 1042.0 from some readers."""
    if abs(value) >= 10**15 or value < 0 or not float(value).is_integer():
        return Trouble("number-for-word")
    return str(int(value))


# Text that is a figure.


def _from_figure_text(text: str, kind: Kind) -> Value | Trouble:
    if len(text) > _LONGEST_FIGURE_TEXT:
        return Trouble("figure-not-clear")
    cursor = Cursor(text, tokens(text))
    if cursor.done:  # nothing that could be seen
        return Trouble("figure-not-clear")
    if code := _sort_of_text(text, cursor.tokens, kind):
        return Trouble(code)
    value = _READERS[kind](cursor)
    if isinstance(value, Trouble):
        found = value
    elif cursor.remarks:
        found = Trouble(cursor.remarks[0].code)
    elif not cursor.done:
        found = Trouble("figure-not-clear")
    else:
        return value
    if kind == "base" and found.code == "figure-not-clear":
        return Trouble("base-not-clear")
    return found if found.code in TROUBLES else Trouble("figure-not-clear")


def _sort_of_text(text: str, found: tuple[Token, ...], kind: Kind) -> str:
    """The code of what is no figure at first sight: a percentage, a date, another unit, more than one figure."""
    if _LETTER_FOR_DIGIT.fullmatch(text):
        return "letter-for-digit"
    if "%" in text:
        return "cell-percentage"
    if any(token.kind == "date" for token in found) or _MONTH.search(text):
        return "cell-became-date"
    behind = [after for before, after in pairwise(found) if before.kind == "number"]
    foreign = FOREIGN_UNITS - {"in"} if kind == "prism" else FOREIGN_UNITS  # "1 in" is a prism with its base
    if any(token.text in foreign for token in behind):
        return "cell-unit"
    figures = [token for token in found if token.kind == "number"]
    return "more-than-one-figure" if len(figures) > 1 and kind != "prism" else ""


def _sphere(cursor: Cursor) -> Value | Trouble:
    if cursor.skip_words(words.PLANO):
        figure: Value | Trouble = 0.0
    else:
        figure = _power(cursor)
    cursor.skip_words(words.POWER_UNIT | words.NO_CYLINDER)
    return figure


def _cylinder(cursor: Cursor) -> Value | Trouble:
    if cursor.skip_words(words.NO_CYLINDER) or _is_lone_dash(cursor):
        return None
    if cursor.skip_words(words.PLANO):
        return 0.0
    figure = _power(cursor)
    cursor.skip_words(words.POWER_UNIT)
    return figure


def _addition(cursor: Cursor) -> Value | Trouble:
    figure = _power(cursor, sign_must_stand=False)
    cursor.skip_words(words.POWER_UNIT)
    return figure


def _power(cursor: Cursor, *, sign_must_stand: bool = True) -> Value | Trouble:
    figure = cursor.power(None, sign_must_stand=sign_must_stand)
    # A figure without a value has been remarked on, and the remark is the trouble.
    return Trouble("figure-not-clear") if figure is None else figure.value


def _axis(cursor: Cursor) -> Value | Trouble:
    if _is_lone_dash(cursor):
        return None
    cursor.skip_words(words.AXIS)
    if cursor.signed_ahead():
        return Trouble("axis-signed")
    number = cursor.plain_number()
    if number is None or len(number.digits) > _LONGEST_LENGTH:
        return Trouble("figure-not-clear")
    if number.has_point:
        return Trouble("axis-not-whole")
    cursor.skip_words(words.DEGREE)
    return _in_bounds(float(number.digits))


def _is_lone_dash(cursor: Cursor) -> bool:
    lone = len(cursor.tokens) == 1 and cursor.token.kind == "sign" and cursor.token.text == "-"
    cursor.at += lone
    return lone


def _prism(cursor: Cursor) -> Value | Trouble:
    """An amount, or one or more amounts with their bases."""
    if cursor.signed_ahead():
        return Trouble("prism-signed")
    amount = _length(cursor, words.PRISM_UNIT)
    if cursor.done and not isinstance(amount, Trouble):
        return amount
    cursor.at = 0
    cursor.remarks.clear()
    eye = EyeText("right", (0, 0))
    read_prism(cursor, eye)
    return tuple(eye.prism) if eye.prism else Trouble("figure-not-clear")


def _base(cursor: Cursor) -> Value | Trouble:
    named = cursor.skip_words(words.BASE)
    word = cursor.token.text if cursor.token.kind == "word" else ""
    if word in words.DIRECTIONS:
        return words.DIRECTIONS[cursor.take().text]
    if word in words.BASES and not named:
        return words.BASES[cursor.take().text]
    angle = _length(cursor, words.DEGREE)
    return angle if isinstance(angle, float) and angle <= 360 else Trouble("base-not-clear")


def _length(cursor: Cursor, units: frozenset[str] = words.MILLIMETRE) -> Value | Trouble:
    number = cursor.plain_number()
    if number is None or len(number.digits) > _LONGEST_LENGTH:
        return Trouble("figure-not-clear")
    cursor.skip_words(units)
    return _in_bounds(float(number.digits))


def _years(cursor: Cursor) -> Value | Trouble:
    return _length(cursor, frozenset({"years", "year", "yrs", "yr", "y"}))


def _in_bounds(figure: float) -> Value | Trouble:
    return figure if figure < _TOO_LARGE else Trouble("figure-too-large")


_READERS: Final[dict[Kind, Callable[[Cursor], Value | Trouble]]] = {
    "sphere": _sphere,
    "cylinder": _cylinder,
    "axis": _axis,
    "add": _addition,
    "prism": _prism,
    "base": _base,
    "length": _length,
    "years": _years,
}


# Text that is a word, a day or a name.


def _day(text: str) -> Value | Trouble:
    found = _ISO_DAY.fullmatch(text)
    if found is None:
        return Trouble("date-not-clear")
    try:
        return date.fromisoformat(found[1]).isoformat()
    except ValueError:
        return Trouble("date-not-clear")


def _plain(text: str) -> Value | Trouble:
    return text


def _material(text: str) -> Value | Trouble:
    """Names in the table of materials are in small letters, their parts joined by hyphens."""
    return re.sub(r"[\s_-]+", "-", text.lower())


def _choice(choices: dict[str, str]) -> Callable[[str], Value | Trouble]:
    def chosen(text: str) -> Value | Trouble:
        word = " ".join(re.findall(r"[a-z]+", text.lower()))
        return choices.get(word, Trouble("word-not-known"))

    return chosen


_RIMS: Final = {
    **dict.fromkeys(("full", "full rim", "fullrim", "full rimmed"), "full"),
    **dict.fromkeys(("grooved", "groove", "cord", "half rim", "semi rimless", "semirimless", "supra"), "grooved"),
    **dict.fromkeys(("drilled", "drill", "rimless"), "drilled"),
}
_USES: Final = {
    **{use: use for use in ("distance", "intermediate", "near", "bifocal", "trifocal", "progressive")},
    "far": "distance",
    "reading": "near",
    "varifocal": "progressive",
    "progressive addition": "progressive",
}
_EYES: Final = {
    **{eye: eye for eye in ("both", "right", "left")},
    "both eyes": "both",
    "right eye": "right",
    "left eye": "left",
}
_WORDS: Final[dict[Kind, Callable[[str], Value | Trouble]]] = {
    "day": _day,
    "rim": _choice(_RIMS),
    "use": _choice(_USES),
    "eyes": _choice(_EYES),
    "material": _material,
    "text": _plain,
}

_ERROR: Final = re.compile(
    r"#(?:REF!|VALUE!|NAME\?|N/A|DIV/0!|NUM!|NULL!|SPILL!|CALC!|FIELD!|ERROR!|#+)|Err:\d+", re.IGNORECASE
)
_MONTH: Final = re.compile(r"(?i)(?<![a-z])(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*(?![a-z])")
_LETTER_FOR_DIGIT: Final = re.compile(r"(?=.*[lIOo|])[+\-\u2212]?[0-9lIOo|]*[.,]?[0-9lIOo|]+")
_ISO_DAY: Final = re.compile(r"(\d{4}-\d{2}-\d{2})(?:[T ]00:00(?::00(?:\.0+)?)?)?", re.ASCII)
