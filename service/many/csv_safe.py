"""Cells of a CSV file that no spreadsheet takes for a formula.

A program that opens a CSV file runs what begins like a formula, whoever wrote it. An apostrophe before it makes it text
(CWE-1236 names this way; common practice). A plain number stays as it is, sign and all: nothing in it can be run.
"""

import re
from typing import Final

# Full-width signs too: some programs read them as the plain ones (common practice, no source).
_STARTS_FORMULA: Final = frozenset("=+-@＝＋－＠")
_BREAKS: Final = frozenset("\t\r\n")
_PLAIN_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)")


def safe_cell(text: str) -> str:
    """The text as a cell may hold it: with an apostrophe before it where a spreadsheet would run it.

    Blanks before the first sign are looked past, since some programs do the same. Done twice it changes nothing more.
    """
    if text[:1] in _BREAKS:
        return f"'{text}"
    # A byte order mark or a mark of direction cannot be seen and is no protection.
    first = text.lstrip().lstrip("\ufeff\u200b\u200e\u200f").lstrip()
    if first[:1] in _STARTS_FORMULA and not _PLAIN_NUMBER.fullmatch(text):
        return f"'{text}"
    return text
