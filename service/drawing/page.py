"""From what is to be drawn to the page: heading, lenses side by side at true size, and the foot.

The lenses take the room they need, and are never shrunk; the foot takes what its words need, and gives way down to the
height of the check square. What cannot be placed is refused with the sizes.
"""

import math
from typing import Final

from service.drawing import pens
from service.drawing.foot import BAR_ROOM_MM, SQUARE_MM, check_square, note_lines, notes_group, notes_height, scale_bar
from service.drawing.key import key_group, key_rows
from service.drawing.lens import lens_groups
from service.drawing.letters import clean, cut, text, width
from service.drawing.parts import At, extent
from service.drawing.scene import Box, Group, Scene, line
from service.drawing.sheet import LensDrawing, Page, Sheet, TooLargeError

PAGES_MM: Final[dict[Page, tuple[float, float]]] = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
MARGIN_MM: Final = 10.0
HEADING_MM: Final = 12.0
FOOT_GAP_MM: Final = 2.0
LEAST_FOOT_MM: Final = SQUARE_MM + FOOT_GAP_MM
BETWEEN_MM: Final = 4.0
TITLE_MM: Final = 5.0
LEAST_TITLE_MM: Final = 2.6
SUBTITLE_MM: Final = 3.2
KEY_SHARE: Final = 0.54
"""A lens's key takes this much of its half of the foot; the rest is for the check square, or for the notes."""
NO_TITLE: Final = "Lens layout"
KIND: Final = "Lens layout at true size"


def scene(sheet: Sheet) -> Scene:
    """The page of a sheet, or TooLargeError where it does not fit at true size."""
    lenses = _demanded(sheet.lenses)
    page_width, page_height = PAGES_MM[sheet.page]
    left, right = MARGIN_MM, page_width - MARGIN_MM
    top, bottom = MARGIN_MM + HEADING_MM, page_height - MARGIN_MM
    extents = [extent(lens) for lens in lenses]
    _demand_room(lenses, extents, right - left, bottom - top - LEAST_FOOT_MM)
    tallest = _tallest(extents)
    foot_top, foot = _foot(sheet, lenses, (left, top + tallest, right, bottom))
    drawn = _lenses(lenses, extents, (left, top, right, foot_top - FOOT_GAP_MM / 2.0))
    title = clean(sheet.title) or NO_TITLE
    eyes = " and ".join(f"the {lens.eye} lens" for lens in lenses)
    return Scene(
        page_width,
        page_height,
        title,
        f"{eyes[0].upper()}{eyes[1:]} at true size, seen from the front. {clean(sheet.subtitle)}".strip(),
        (_heading(sheet, title, left, right), *drawn, *foot),
    )


def _demanded(lenses: tuple[LensDrawing, ...]) -> tuple[LensDrawing, ...]:
    eyes = [lens.eye for lens in lenses]
    if not 1 <= len(eyes) <= 2 or len(set(eyes)) != len(eyes):
        raise ValueError(f"one lens, or a right and a left one, are expected; these were read: {eyes}")
    for lens in lenses:
        points = (*lens.outline, lens.pupil, lens.optical_centre, lens.blank_middle, lens.tightest)
        figures = [lens.axis_deg, lens.blank_mm, lens.usable_mm, *(each for point in points if point for each in point)]
        if len(lens.outline) < 3 or not all(math.isfinite(each) for each in figures if each is not None):
            raise ValueError(
                f"3 points of the outline or more, and finite figures, are expected of the {lens.eye} lens"
            )
    return tuple(sorted(lenses, key=lambda lens: lens.eye == "left"))


def _tallest(extents: list[Box]) -> float:
    return max(bottom - top for _, top, _, bottom in extents)


def _demand_room(lenses: tuple[LensDrawing, ...], extents: list[Box], wide: float, high: float) -> None:
    pair = len(lenses) == 2
    needed = sum(right - left for left, _, right, _ in extents) + BETWEEN_MM * (len(lenses) - 1)
    subject = "The two lenses with their blanks take" if pair else f"The {lenses[0].eye} lens with its blank takes"
    if needed > wide:
        remedy = "Draw each lens on a sheet of its own." if pair else ""
        raise TooLargeError(subject, "width", needed, wide, remedy)
    if _tallest(extents) > high:
        raise TooLargeError(subject, "height", _tallest(extents), high, "")


def _lenses(lenses: tuple[LensDrawing, ...], extents: list[Box], room: Box) -> list[Group]:
    """The lenses side by side, what is spare shared out evenly."""
    left, top, right, bottom = room
    spare = right - left - BETWEEN_MM * (len(lenses) - 1) - sum(box[2] - box[0] for box in extents)
    groups: list[Group] = []
    for lens, own, level in zip(lenses, extents, _levels(extents, top, bottom), strict=True):
        cell_right = left + own[2] - own[0] + spare / len(lenses)
        at = At(left + spare / len(lenses) / 2.0 - own[0], level)
        groups += lens_groups(lens, at, (left, top, cell_right, bottom), level + min(box[1] for box in extents))
        left = cell_right + BETWEEN_MM
    return groups


def _levels(extents: list[Box], top: float, bottom: float) -> list[float]:
    """How far down the page each boxed centre lies: level with the other where the page is high enough."""
    above, below = min(box[1] for box in extents), max(box[3] for box in extents)
    if below - above <= bottom - top:
        return [(top + bottom - above - below) / 2.0] * len(extents)
    return [(top + bottom - box[1] - box[3]) / 2.0 for box in extents]


def _heading(sheet: Sheet, title: str, left: float, right: float) -> Group:
    size = TITLE_MM
    # A long reference is better read small than not at all.
    while size > LEAST_TITLE_MM and width(title, size, bold=True) > right - left:
        size -= 0.2
    kind = text(right, MARGIN_MM + 9.4, KIND, SUBTITLE_MM, "end")
    subtitle = cut(clean(sheet.subtitle), right - left - kind.width_mm - BETWEEN_MM, SUBTITLE_MM)
    rule = MARGIN_MM + HEADING_MM - 1.0
    return Group(
        "heading",
        (
            text(left, MARGIN_MM + 4.7, cut(title, right - left, size, bold=True), size, bold=True),
            *([text(left, MARGIN_MM + 9.4, subtitle, SUBTITLE_MM)] if subtitle else []),
            kind,
            line(left, rule, right, rule, pens.RULE),
        ),
    )


def _foot(sheet: Sheet, lenses: tuple[LensDrawing, ...], room: Box) -> tuple[float, tuple[Group, ...]]:
    """Where the foot begins, and its groups: a key below each lens, the check square, notes and scale bar."""
    left, top, right, bottom = room
    half = (right - left) / 2.0
    key_width = half * KEY_SHARE
    keys = [key_rows(lens, key_width) for lens in lenses]
    square_left = left + key_width + BETWEEN_MM
    after_square = square_left + SQUARE_MM + BETWEEN_MM
    notes_left = after_square if len(lenses) == 1 else left + half + key_width + BETWEEN_MM
    most = bottom - top - FOOT_GAP_MM
    notes = note_lines(sheet.notes, right - notes_left, most - BAR_ROOM_MM)
    height = min(most, max(SQUARE_MM, notes_height(notes) + BAR_ROOM_MM))
    foot_top = bottom - height - FOOT_GAP_MM
    down = foot_top + FOOT_GAP_MM
    groups = [
        key_group(lens, rows, left + half * count, down, key_width)
        for count, (lens, rows) in enumerate(zip(lenses, keys, strict=True))
    ]
    groups += [check_square(square_left, bottom - SQUARE_MM), notes_group(notes, notes_left, down)]
    groups += [scale_bar(notes_left, bottom), Group("foot", (line(left, foot_top, right, foot_top, pens.RULE),))]
    return foot_top, tuple(group for group in groups if group.items)
