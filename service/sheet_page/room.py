"""How much room the page has, and what its words take of it.

The PDF is written in Helvetica, whose widths are known. A browser takes what typefaces the machine has, and one that is
wider must not push the page over its end: words are counted as wider than Helvetica's by a share that covers the widest
usual face (DejaVu Sans, measured on the words of the sheet: up to 1.15, bold up to 1.24). Sizes in mm.
"""

from collections.abc import Iterable
from typing import Final, Literal

from service.drawing.letters import broken, clean, eight_bit

PageSize = Literal["a4", "letter"]

PAGES_MM: Final[dict[PageSize, tuple[float, float]]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN_MM: Final = 8.0
# Read at arm's length: 8 points, 2.82 mm, are the least.
TEXT_MM: Final = 2.83
LINE_MM: Final = 3.4
FIGURE_MM: Final = 3.0
FIGURE_LINE_MM: Final = 3.55
POWER_MM: Final = 3.7
POWER_LINE_MM: Final = 4.4
ROW_MM: Final = 0.4
"""What a row of a table takes beyond its lines."""
HEADING_MM: Final = 3.4
HEADING_LINE_MM: Final = 3.8
HEADING_ABOVE_MM: Final = 0.9
HEADING_ROOM_MM: Final = 5.0
TITLE_MM: Final = 4.6
TITLE_LINE_MM: Final = 5.8
# A long reference is better read small than not at all.
SMALL_TITLE_MM: Final = 3.0
SMALL_TITLE_LINE_MM: Final = 3.7
VERDICT_MM: Final = {"accept": 4.6, "review": 4.6, "reject": 7.2}
VERDICT_ROOM_MM: Final = {"accept": 6.4, "review": 6.4, "reject": 9.6}
VERDICT_BELOW_MM: Final = 1.0
VERDICT_INSET_MM: Final = 2.0
"""From the box round a rejection to its words."""
VERDICT_PEN_MM: Final = 0.8
CODE_MM: Final = 27.0
GAP_MM: Final = 3.0
LABEL_MM: Final = 37.0
NAME_MM: Final = 38.0
"""What the words "Bench sheet" take before the reference."""
BOX_MM: Final = 5.0
"""What a box to tick, or a bullet, takes before the words."""
TICK_MM: Final = 2.8
TICK_DOWN_MM: Final = 0.3
TICK_PEN_MM: Final = 0.25
BULLET_MM: Final = 1.5
HEAD_LABEL_MM: Final = 17.0
EDGE_LABEL_MM: Final = 24.0
RULE_MM: Final = 0.1
CELL_MM: Final = 0.9
"""From the rule beside a cell to its words."""
CELL_SIDES_MM: Final = 2.0
"""What both sides of a cell take of its width, rules included."""
# What the browser's own rounding and letters of other faces may take.
_SPARE_MM: Final = 4.0
_WIDER: Final = {False: 1.16, True: 1.25}
MOST_LINES: Final = 99


def width_mm(page: PageSize) -> float:
    """Room from the left to the right margin."""
    return PAGES_MM[page][0] - 2.0 * MARGIN_MM


def height_mm(page: PageSize) -> float:
    """Room from the upper to the lower margin that words may count on."""
    return PAGES_MM[page][1] - 2.0 * MARGIN_MM - _SPARE_MM


def eye_column_mm(page: PageSize) -> float:
    """Width of each eye's column."""
    return (width_mm(page) - LABEL_MM) / 2.0


def plain(words: str) -> str:
    """Words as both files show them: no control marks; prism dioptres spelt out, as "pd" would be taken for the PD."""
    return clean(words.replace("Δ", "prism dioptres").replace("∆", "prism dioptres"))


def lines(words: str, room_mm: float, size_mm: float, *, bold: bool = False) -> int:
    """How many lines the words take at most, in either file."""
    room = room_mm / _WIDER[bold]
    return max(1, *(len(broken(form, room, size_mm, most=MOST_LINES, bold=bold)) for form in (words, eight_bit(words))))


def tallest(cells: Iterable[tuple[str, float]], size_mm: float, *, bold: bool = False) -> int:
    """Lines of the cell of a row that needs most; each with its width."""
    return max(lines(words, room - CELL_SIDES_MM, size_mm, bold=bold) for words, room in cells)


def shortened(words: str, room_mm: float, size_mm: float, *, most: int, bold: bool = False) -> str:
    """The words, cut visibly if they need more than so many lines."""
    if lines(words, room_mm, size_mm, bold=bold) <= most:
        return words
    kept = len(words)
    while kept > 0 and lines(f"{words[:kept]}…", room_mm, size_mm, bold=bold) > most:
        kept = kept * 9 // 10
    return f"{words[:kept].rstrip()}…"
