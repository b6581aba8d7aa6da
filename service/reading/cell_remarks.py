"""What is said about a cell of a table: its address, what stands there, what was expected, what to do."""

from dataclasses import dataclass
from datetime import date, time
from typing import Final

from service.reading.column_names import Kind

_LONGEST_SAID = 40


@dataclass(frozen=True, slots=True)
class CellRemark:
    """One thing to say about a cell; `said` is what stands there, cut to 40 characters."""

    code: str
    address: str
    column: str
    said: str
    message: str


def address(index: int, row_number: int) -> str:
    """The address of a cell from the place of its column, beginning at 0: (2, 7) is C7."""
    letters, rest = "", index + 1
    while rest:
        rest, letter = divmod(rest - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return f"{letters}{row_number}"


def is_empty(value: object) -> bool:
    """Whether a cell holds nothing but blanks."""
    return value is None or (isinstance(value, str) and not trimmed(value))


def trimmed(text: str) -> str:
    """A text without blanks, and marks that cannot be seen, at its ends."""
    return text.strip().strip("\ufeff\u200b\u200e\u200f").strip()


def said(value: object) -> str:
    """What stands in a cell, on one line and cut to 40 characters."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int):
        return str(int(value)) if abs(value) < 10**15 else "a number of more than 15 digits"
    if isinstance(value, float):
        return repr(float(value))
    if isinstance(value, (date, time)):
        return value.isoformat()[:_LONGEST_SAID]
    if not isinstance(value, str):
        return "a value of another kind"
    # More than is shown is never looked at: a cell may be very long.
    shown = "".join(c if c.isprintable() else " " for c in trimmed(value[: 4 * _LONGEST_SAID]))
    shown = " ".join(shown.split())
    return shown if len(shown) <= _LONGEST_SAID else f"{shown[: _LONGEST_SAID - 1]}…"


# What is expected in a cell of each kind, and what was read and is to be done for each kind of trouble.
EXPECTED: Final[dict[Kind, str]] = {
    "sphere": "A sphere with its sign, such as -2.25 or +1.50,",
    "cylinder": "A cylinder with its sign, such as -0.75, or DS where there is none,",
    "axis": "An axis, a whole number from 1 to 180,",
    "add": "An addition in D, such as +2.00,",
    "prism": "An amount of prism in Δ without a sign, such as 1.5,",
    "base": "The base of the prism: in, out, up, down, or an angle from 0 to 360,",
    "length": "A length in mm, such as 54.5,",
    "years": "An age in years",
    "day": "A day, as a date cell or as text in the form 2026-06-01,",
    "rim": "Full, grooved or drilled",
    "use": "Distance, intermediate, near, bifocal, trifocal or progressive",
    "eyes": "Both, right or left",
    "material": "The generic name of a material, such as polycarbonate,",
    "text": "Text",
}
_RETYPE: Final = "Format the column as text, then type the figure again as it was written."
TROUBLES: Final[dict[str, tuple[str, str]]] = {
    "cell-became-date": ("a date or a time", _RETYPE),
    "cell-true-or-false": ("the value true or false", _RETYPE),
    "cell-not-readable": ("a value that is neither text, number nor date", _RETYPE),
    "cell-percentage": ("a percentage", _RETYPE),
    "cell-error": ("an error of the spreadsheet", "Put the formula right, or type the value."),
    "cell-formula": ("a formula without its value", "Save the sheet with its values, or type the value."),
    "cell-unit": ("another unit", "Convert the figure and write it without a unit."),
    "date-is-number": ("a number", "Format the cell as a date, or type year, month and day."),
    "date-not-clear": (
        "text that may be read as more than one day, or as none",
        "Write year, month and day in that order, in figures.",
    ),
    "number-for-word": ("a number", "Write the name in words; a reference of figures goes in as text."),
    "word-not-known": ("a word that is not known here", "Write one of these."),
    "figure-too-large": (
        "a number of 1,000 or more",
        "If it was a date or a fraction, format the column as text and type the figure again.",
    ),
    "figure-not-clear": ("text that is not one figure", "Write the figure by itself."),
    "more-than-one-figure": ("more than one figure", "Give each figure a cell of its own."),
    "letter-for-digit": ("a letter within a figure", "Replace the letter (l for 1, O for 0) with the digit."),
    "power-unsigned": ("a power without a sign", "Look it up on the prescription and write + or - before it."),
    "hundredths-without-point": ("a power without a decimal point", "Write it with two decimals."),
    "power-without-point": ("a power without a decimal point", "Write it with two decimals."),
    "whole-dioptres": ("a power without a decimal point", "Write it with two decimals."),
    "sign-apart": ("a sign that stands apart from its figure", "Write the sign next to the figure."),
    "sign-doubled": ("two signs before one figure", "Write one sign."),
    "axis-signed": ("an axis with a sign", "Look it up on the prescription and write it without a sign."),
    "axis-not-whole": ("an axis that is not whole", "Look it up on the prescription and write it without decimals."),
    "prism-signed": ("a prism with a sign", "Write the amount without a sign, and the base in its own column."),
    "base-not-clear": ("what is not one base", "Write one of these."),
}
