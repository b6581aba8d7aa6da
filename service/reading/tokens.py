"""Text to tokens, each with its place in the text.

Typographic variants (minus signs, multiplication signs, full-width digits, blanks) are mapped one character to one, so
that every place in the tokens is a place in the text as it came. The work is linear in the length of the text.
"""

import re
from dataclasses import dataclass
from typing import Final, Literal

Kind = Literal[
    "number", "sign", "word", "acuity", "date", "slash", "comma", "colon", "mark", "equals", "cell", "line", "unknown"
]


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of the text: its kind, its normal form, and where it stands."""

    kind: Kind
    text: str
    start: int
    end: int
    glued: bool

    @property
    def span(self) -> tuple[int, int]:
        """Start and end of the token in the text."""
        return self.start, self.end

    @property
    def sign(self) -> str:
        """The sign written with a number, or nothing."""
        return self.text[0] if self.kind == "number" and self.text[0] in "+-" else ""

    @property
    def digits(self) -> str:
        """A number without its sign, its comma turned into a point."""
        return self.text.lstrip("+-").replace(",", ".")

    @property
    def has_idle_nought(self) -> bool:
        """Whether a number begins with a nought too many, as after a slipped digit: 05, 05.0, 00.5."""
        return self.digits[0] == "0" and self.digits[1:2].isdigit()

    @property
    def has_two_decimals(self) -> bool:
        """Whether a number is written with two decimals or more, as powers are."""
        return len(self.digits.partition(".")[2]) > 1

    @property
    def has_point(self) -> bool:
        """Whether the number is written with a decimal point or comma."""
        return "." in self.digits


def _one_to_one() -> dict[int, str]:
    table = {ord(character): character.lower() for character in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"}
    # Full-width forms of the printable ASCII characters.
    for code in range(0x21, 0x7F):
        table[0xFEE0 + code] = chr(code).lower()
    for characters, normal in (
        ("\u2212\u2010\u2011\u2012\u2013\u2014\u2015\ufe63\u207b", "-"),  # minus, hyphens, dashes
        ("\ufe62\u207a", "+"),
        ("\u00d7\u2715\u2716\u2a2f\u2a09", "x"),  # multiplication signs
        ("\u00ba\u02da", "\u00b0"),  # ordinal and ring for the degree sign
        ("\u2206\u25b3\u0394^", "\u03b4"),  # increment, triangle, capital delta, caret: prism dioptres
        (
            "\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000"
            "\ufeff\u200b\u200c\u200d\u2060",
            " ",
        ),
        ("\u2044\u2215", "/"),
        ("\u2022\u25cf\u25aa\r\x0b\x0c\u0085\u2028\u2029", "\n"),
        ("\u00b7\u2024", "."),  # a raised point or a one-dot leader for the decimal point
    ):
        for character in characters:
            table[ord(character)] = normal
    return table


_NORMAL: Final = _one_to_one()

# A date has two like separators; an acuity is 20/... or 6/... . Neither may hang on a sign or a longer figure.
_PATTERN: Final = re.compile(
    r"""
      (?P<date>(?<![\d.,+-])(?:\d{4}(?P<s1>[-./])\d{1,2}(?P=s1)\d{1,2}|\d{1,2}(?P<s2>[-./])\d{1,2}(?P=s2)\d{4}
        |\d{1,2}/\d{1,2}/\d{2})(?![\d.,/-])
        |\b\d{1,2}(?:st|nd|rd|th)?[ ]?(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?,?[ ]?\d{4}\b
        |\b(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?[ ]?\d{1,2}(?:st|nd|rd|th)?,?[ ]\d{4}\b)
    | (?P<acuity>(?<![\d.,+-])(?:20/\d{2,3}|6/\d{1,2}(?:\.\d)?)(?:[+-]\d)?(?![\d.,/]))
    | (?P<number>[+-]?(?:\d+[.,]\d+|\d+|[.,]\d+))
    | (?P<sign>[+-])
    | (?P<word>(?:d\.\s?s|o\.\s?d|o\.\s?s|o\.\s?u|r\.\s?e|l\.\s?e|p\.\s?d|b?\.?v\.\s?d|v\.\s?a)\.?(?![a-z])
        |[a-z]+|[@*&\u00b0\u03b4])
    | (?P<slash>/) | (?P<comma>[,;]) | (?P<colon>[:.]) | (?P<mark>[()\[\]]) | (?P<equals>=) | (?P<cell>[|\t])
    | (?P<line>\n) | (?P<blank>[ ]+)
    | (?P<unknown>.)
    """,
    re.VERBOSE,
)


def tokens(text: str) -> tuple[Token, ...]:
    """The tokens of a text, blanks left out. `glued` says that a token follows the one before without a blank."""
    normal = text.translate(_NORMAL)
    found = []
    end = -1
    for match in _PATTERN.finditer(normal):
        kind = match.lastgroup
        if kind in ("s1", "s2"):
            kind = "date"
        if kind != "blank":
            found.append(_token(kind, match, glued=match.start() == end))
            end = match.end()
    return tuple(found)


def _token(kind: str | None, match: re.Match[str], *, glued: bool) -> Token:
    text = match.group()
    if kind == "word":
        text = text.replace(".", "").replace(" ", "")
    return Token(kind or "unknown", text, match.start(), match.end(), glued)  # type: ignore[arg-type]
