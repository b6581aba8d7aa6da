"""Words on a page: what is kept of them, how wide they are, where they break.

Words come from outside and may hold anything. Control and direction marks are taken out, and a few signs that the
PDF's built-in letters lack are spelt with letters, in both files alike.

Widths are those of Helvetica and Helvetica-Bold (Adobe Core 14 font metrics), which the PDF uses and the SVG is fitted
to; a test compares them with the metrics of the library that writes the PDF.
"""

import re
import unicodedata
from typing import Final

from service.drawing.scene import Anchor, Box, Text

ASCENT: Final = 0.95
DESCENT: Final = 0.26
"""How far letters of any usual typeface reach above and below the line they stand on, as a share of their size."""
LINE: Final = 1.3
"""From one line to the next, as a share of the size."""
MORE: Final = "…"

# Difference signs, minus, and what else a note may hold that the 8-bit letters lack.
SPELT: Final = {"Δ": "pd", "∆": "pd", "−": "-", "‐": "-", "‑": "-", "≥": ">=", "≤": "<=", "≈": "~", "⌀": "Ø", "′": "'"}

# In thousandths of the size, for the 224 letters of code page 1252 from the blank (32) on.
HELVETICA: Final = """
278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 278
584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 667 944
667 667 611 278 278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 556 333 500
278 556 500 722 500 500 500 334 260 334 584 350 556 350 222 556 333 1000 556 556 333 1000 667 333 1000 350 611 350
350 222 222 333 333 350 556 1000 333 1000 500 333 944 350 500 667 278 333 556 556 556 556 260 556 333 737 370 556
584 333 737 333 400 584 333 333 333 556 537 278 333 333 365 556 834 834 834 611 667 667 667 667 667 667 1000 722
667 667 667 667 278 278 278 278 722 722 778 778 778 778 778 584 778 722 722 722 722 667 667 611 556 556 556 556
556 556 889 500 556 556 556 556 278 278 278 278 556 556 556 556 556 556 556 584 611 556 556 556 556 500 556 500
"""
HELVETICA_BOLD: Final = """
278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 333 333
584 584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 667 778 722 667 611 722 667 944
667 667 611 333 278 333 584 556 333 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 611 611 389 556
333 611 556 778 556 556 500 389 280 389 584 350 556 350 278 556 500 1000 556 556 333 1000 667 333 1000 350 611 350
350 278 278 500 500 350 556 1000 333 1000 556 333 944 350 500 667 278 333 556 556 556 556 280 556 333 737 370 556
584 333 737 333 400 584 333 333 333 611 556 278 333 333 365 556 834 834 834 611 722 722 722 722 722 722 1000 722
667 667 667 667 278 278 278 278 722 722 778 778 778 778 778 584 778 722 722 722 722 667 667 611 556 556 556 556
556 556 889 556 556 556 556 556 278 278 278 278 611 611 611 611 611 611 611 584 611 611 611 611 611 556 611 556
"""
WIDTHS: Final = {False: tuple(map(int, HELVETICA.split())), True: tuple(map(int, HELVETICA_BOLD.split()))}


def clean(words: str) -> str:
    """The words without control and direction marks; blanks in a row stay apart."""
    kept = "".join(_kept(letter) for letter in unicodedata.normalize("NFC", words)).strip()
    # A blank that does not break keeps figures apart that are set apart by more than one.
    return re.sub("  +", "\u00a0 ", kept)


def eight_bit(words: str) -> str:
    """The words as the PDF's built-in letters can show them, a question mark for what they lack."""
    return words.encode("cp1252", "replace").decode("cp1252")


def width(words: str, size_mm: float, *, bold: bool = False) -> float:
    """How wide a line of words is, in mm."""
    return sum(_share(letter, bold) for letter in words) * size_mm / 1000.0


def text(x: float, y: float, words: str, size_mm: float, anchor: Anchor = "start", *, bold: bool = False) -> Text:
    """A line of words, measured."""
    return Text(x, y, words, size_mm, width(words, size_mm, bold=bold), anchor, bold)


def text_box(line: Text) -> Box:
    """What a line of words takes up on the page."""
    left = line.x - line.width_mm * {"start": 0.0, "middle": 0.5, "end": 1.0}[line.anchor]
    return left, line.y - ASCENT * line.size_mm, left + line.width_mm, line.y + DESCENT * line.size_mm


def cut(words: str, room_mm: float, size_mm: float, *, bold: bool = False) -> str:
    """The words, or as many letters as there is room for and a sign that there were more."""
    if width(words, size_mm, bold=bold) <= room_mm:
        return words
    return words[: _fitting(words, room_mm - width(MORE, size_mm, bold=bold), size_mm, bold)].rstrip() + MORE


def broken(words: str, room_mm: float, size_mm: float, *, most: int, bold: bool = False) -> tuple[str, ...]:
    """The words in lines no wider than the room; what `most` lines cannot hold is cut, visibly."""
    lines: list[str] = []
    rest = words
    while rest and len(lines) < most - 1 and width(rest, size_mm, bold=bold) > room_mm:
        fitting = max(1, _fitting(rest, room_mm, size_mm, bold))
        blank = rest.rfind(" ", 1, fitting + 1)
        lines.append(rest[: blank if blank > 0 else fitting].rstrip())
        rest = rest[blank if blank > 0 else fitting :].lstrip()
    return (*lines, cut(rest, room_mm, size_mm, bold=bold)) if rest else tuple(lines)


def _kept(letter: str) -> str:
    if letter in SPELT:
        return SPELT[letter]
    kind = unicodedata.category(letter)
    if kind in ("Cc", "Zs", "Zl", "Zp"):
        return " "
    if kind == "Cf":  # joiners, soft hyphens and marks that turn the direction of writing
        return ""
    # Half of a pair, not a letter at all, or for private use: no file could say what is meant.
    return "?" if kind in ("Cs", "Cn", "Co") else letter


def _share(letter: str, bold: bool) -> int:
    try:
        code = letter.encode("cp1252")[0]
    except UnicodeEncodeError:
        if unicodedata.combining(letter):
            return 0
        return 1000 if unicodedata.east_asian_width(letter) in "WF" else 700
    return WIDTHS[bold][code - 32]


def _fitting(words: str, room_mm: float, size_mm: float, bold: bool) -> int:
    """How many letters from the start there is room for."""
    room = room_mm * 1000.0 / size_mm
    for count, letter in enumerate(words):
        room -= _share(letter, bold)
        if room < 0.0:
            return count
    return len(words)
