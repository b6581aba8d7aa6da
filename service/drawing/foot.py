"""The foot of the sheet: what proves that a print is true to size, and the notes.

The check square and the scale bar are drawn by the same rule as the lenses, so a print in which they measure 50 mm is
true throughout.
"""

from typing import Final

from service.drawing import pens
from service.drawing.letters import LINE, MORE, broken, clean, text
from service.drawing.scene import Group, Item, line, rectangle

SQUARE_MM: Final = 50.0
SQUARE_WORDS: Final = ("This square is 50 mm wide", "and high when printed", "at 100 % (no scaling)")
FRONT_WORDS: Final = "Seen from the front"
BAR_MM: Final = 50.0
BAR_ROOM_MM: Final = 13.0
TICK_MM: Final = 10.0
NOTE_MM: Final = 2.7
NOTE_LINE_MM: Final = NOTE_MM * LINE
BETWEEN_MM: Final = 1.0
MOST_LINES: Final = 60
"""More than any page has room for."""


def check_square(x: float, y: float) -> Group:
    """The square to hold a ruler to, its upper left corner at a place of the page."""
    size = 3.0
    first = y + (SQUARE_MM - size * LINE * len(SQUARE_WORDS)) / 2.0 + size * 0.95
    middle = x + SQUARE_MM / 2.0
    words = tuple(
        text(middle, first + size * LINE * count, each, size, "middle") for count, each in enumerate(SQUARE_WORDS)
    )
    return Group("check-square", (rectangle((x, y, x + SQUARE_MM, y + SQUARE_MM), pens.SQUARE), *words))


def scale_bar(x: float, bottom: float) -> Group:
    """50 mm with a stroke every 10 mm, and from where the lenses are seen; it ends at the bottom given."""
    level = bottom - 5.0
    items: list[Item] = [
        text(x, level - 4.2, FRONT_WORDS, 3.2, bold=True),
        line(x, level, x + BAR_MM, level, pens.RULE),
    ]
    for count in range(round(BAR_MM / TICK_MM) + 1):
        place = x + count * TICK_MM
        items.append(line(place, level - 2.0, place, level, pens.RULE))
        last = count * TICK_MM == BAR_MM
        words = f"{count * TICK_MM:g} mm" if last else f"{count * TICK_MM:g}"
        items.append(text(place, level + 3.4, words, 2.6, "middle" if count else "start"))
    return Group("scale-bar", tuple(items))


def note_lines(notes: tuple[str, ...], width_mm: float, room_mm: float) -> tuple[tuple[str, ...], ...]:
    """The notes in lines for a column; where there are too many, the last line says how many are left out."""
    kept = [words for words in map(clean, notes) if words]
    written: list[tuple[str, ...]] = []
    for count, note in enumerate(kept):
        after = len(kept) - count - 1
        # Room for one line more is kept back as long as there may be notes to leave out.
        left = room_mm - notes_height(tuple(written)) - (NOTE_LINE_MM + BETWEEN_MM if after else 0.0)
        lines = broken(note, width_mm, NOTE_MM, most=MOST_LINES)
        if len(lines) * NOTE_LINE_MM > left:
            missing = f"{after + 1} more {'notes' if after else 'note'}"
            written.append((f"{MORE} and {missing}: see the answer",))
            break
        written.append(lines)
    return tuple(written)


def notes_height(lines: tuple[tuple[str, ...], ...]) -> float:
    """How far down the notes reach, in mm."""
    return sum(len(note) * NOTE_LINE_MM + BETWEEN_MM for note in lines)


def notes_group(lines: tuple[tuple[str, ...], ...], x: float, y: float) -> Group:
    """The notes below each other, from an upper left corner down."""
    items: list[Item] = []
    for note in lines:
        for words in note:
            items.append(text(x, y + NOTE_MM * 0.95, words, NOTE_MM))
            y += NOTE_LINE_MM
        y += BETWEEN_MM
    return Group("notes", tuple(items))
