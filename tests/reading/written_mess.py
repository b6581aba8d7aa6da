"""Texts that nobody would write, and a measure of the work a text makes."""

import sys
from collections.abc import Callable
from random import Random
from types import FrameType
from typing import Any, Final

from written_edits import ALPHABET, edited
from written_spellings import random_pair, spelling

# fmt: off
_WORDS: Final = (
    "R", "L", "OD", "OS", "OU", "right", "left", "both", "eye", "sph", "cyl", "axis", "add", "x", "@", "/", "-",
    "+", "--", "prism", "base", "in", "out", "up", "down", "BI", "BO", "2", "1.5", ".25", "-2.25", "+0.75", "10",
    "180", "PD", "63", "31/32", "NPD", "near", "int", "reading", "VD", "12", "mm", "VA", "20/20", "6/6",
    "2026-06-01", "date", "BC", "8.6", "DIA", "plano", "pl", "DS", "balance", "same", "minus", "plus", "Δ", "°",
    "pd", "|", "\t", "\n", ",", ";", ":", ".", "(", ")", "=", "000", "-225", "-25", "1O", "l0", "tint", "½", "－",
    "２", "×", "and", "&", "N5", "Rx", "SPH", "CYL", "AXIS", "ADD",
)
# fmt: on
_ODD: Final = "\x00\u200b\u202e\u0336\ud800\U0001f453\u0663\u06f2٫½²∞�\u2028\x1c\x85"
NASTY_LENGTH: Final = 2000
# One after the other until the text is full.
# fmt: off
NASTY: Final = (
    "1", "1 ", "1.", "1,", "+1", "-", "--", "- ", "/", ".", ",", ":", "(", "#", "# ", "#\n", "\n", "\t", "\r\n",
    " ", "a", "a ", "x", "x ", "R", "R ", "R\n", "R L ", "R -1 ", "R -1 L -1 ", "R -1\nL -1\n", "add ", "add 2 ",
    "R add 1 ", "near ", "int add 1 ", "pd ", "pd 60 ", "PD 31/32 ", "prism ", "prism 2 ", "2 in ", "R -1 2 in ",
    "prism 2 base ", "base ", "bi ", "vd ", "vd 12 ", "bc 8 ", "date ", "1-1-2020 ", "6/6 ", "20/20 ", "va ",
    "sph ", "cyl ", "sph cyl ", "sph cyl\n", "sph cyl axis\nR -1 -1 10\n", "same ", "minus ", "minus 1 ",
    "plus plus ", "o. ", "o.d. ", "p.d.", "°", "Δ", "1°", "1Δ", "1.1.1", "11/", "1-", "12.", "½", "eye ", "rx ",
    "and ", "distance ", "R: ", "OU ", "OU -1 2 in ", "bal ", "R bal ", "l0", "O.", "x 10 ",
    "R -1 -1 x 10 add 2 2 in 1 up VA 6/6 ", "\n\n\nadd 2 ", "R -1 -1 x\n", "R\n\n\n", "R -1\n\n\n", "PD 63 / ",
    "2 base 45 ", "prism @ ", "2 @ 45 ", "|", "| ", "sph|cyl\n", "|sph|cyl|axis|\n|r|-1|-1|10|\n",
    "sph|cyl\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n|\n", "r|", "|-1",
)
# fmt: on


def nasty(piece: str, length: int = NASTY_LENGTH) -> str:
    """A text of one piece over and over."""
    return (piece * (length // len(piece) + 1))[:length]


def random_mess(random: Random) -> str:
    """Random characters, random words, or a spelling with a number of edits."""
    kind = random.randrange(10)
    if kind < 2:
        return "".join(random.choice(ALPHABET) for _ in range(random.randint(1, 120)))
    if kind < 5:
        return random.choice((" ", "", " ")).join(random.choice(_WORDS) for _ in range(random.randint(1, 40)))
    if kind == 5:
        return "".join(random.choice(_ODD + ALPHABET) for _ in range(random.randint(1, 60)))
    if kind == 6:
        return "".join(chr(random.randrange(1, 0x3000)) for _ in range(random.randint(1, 60)))
    text = spelling(random_pair(random), random)
    for _ in range(random.randint(1, 8)):
        text = edited(text, random)[0] if len(text) > 1 else "R"
    return text


def lines_run(work: Callable[[], object], folder: str) -> int:
    """How many lines of the code in a folder are run: work counted, not timed."""
    count = 0

    def inside(_frame: FrameType, event: str, _argument: Any) -> Any:
        nonlocal count
        count += event == "line"
        return inside

    def entered(frame: FrameType, _event: str, _argument: Any) -> Any:
        return inside if folder in frame.f_code.co_filename else None

    before = sys.gettrace()
    sys.settrace(entered)
    try:
        work()
    finally:
        sys.settrace(before)
    return count
