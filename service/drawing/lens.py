"""One lens on the page: its parts, each a named group, with labels set where they hide nothing."""

from typing import Final

from service.drawing import parts
from service.drawing.labels import Room
from service.drawing.parts import At
from service.drawing.scene import Box, Group, Item, Place, Text
from service.drawing.sheet import LensDrawing, Point

LABEL_MM: Final = 2.8
SIDE_MM: Final = 3.4
LETTER_MM: Final = 11.0
MODELLED: Final = ("modelled outline,", "not for laying on")

# How bad it is to write across a line of each part, as millimetres of way per half millimetre of line.
BADNESS: Final = {
    "outline": 8.0,
    "box": 0.8,
    "centre-line": 0.8,
    "boxed-centre": 6.0,
    "blank": 6.0,
    "usable": 6.0,
    "axis": 1.0,
    "pupil": 6.0,
    "optical-centre": 6.0,
    "tightest": 6.0,
}


def lens_groups(lens: LensDrawing, at: At, cell: Box, letter_level: float) -> tuple[Group, ...]:
    """The groups of one lens in its part of the page, the eye's letter at a level that both lenses share.

    A label without a free place is left to the key below.
    """
    drawn: dict[str, tuple[Item, ...]] = {
        "centre-line": parts.level(lens, at),
        "box": parts.box(lens, at),
        "blank": parts.blank(lens, at),
        "usable": parts.usable(lens, at),
        "axis": parts.axis(lens, at),
        "outline": parts.outline(lens, at),
        "boxed-centre": parts.centre(at),
        "pupil": parts.pupil(lens, at),
        "optical-centre": parts.optical_centre(lens, at),
        "tightest": parts.tightest(lens, at),
    }
    room = Room.empty(cell)
    for part, items in drawn.items():
        for item in items:
            if not isinstance(item, Text):
                room.keep_off(item, BADNESS[part])
    sides = _sides(lens, at, room, letter_level)
    for part, words, target, rim in _labels(lens, at):
        drawn[part] += room.label(words, LABEL_MM, target, rim)
    groups = {**drawn, "sides": sides}
    return tuple(Group(f"{lens.eye}-{part}", items) for part, items in groups.items() if items)


def _sides(lens: LensDrawing, at: At, room: Room, letter_level: float) -> tuple[Item, ...]:
    """The eye's letter in the temporal upper corner, and the words nasal and temporal beside the lens."""
    left, _, right, _ = parts.extent(lens)
    temporal, nasal = (left, right) if lens.eye == "right" else (right, left)
    letter = ("R" if lens.eye == "right" else "L",)
    return (
        *room.label(letter, LETTER_MM, (at.x + temporal, letter_level), 0.0, bold=True, leader=False),
        *room.label(("temporal",), SIDE_MM, (at.x + temporal, at.y), 0.0, leader=False),
        *room.label(("nasal",), SIDE_MM, (at.x + nasal, at.y), 0.0, leader=False),
    )


def _labels(lens: LensDrawing, at: At) -> list[tuple[str, tuple[str, ...], Place, float]]:
    """Part, words, what they name, and how far its mark reaches; what matters most is placed first."""
    inward = 1.0 if lens.eye == "right" else -1.0
    left, right, low, high = parts.sizes(lens)
    found: list[tuple[str, tuple[str, ...], Point, float]] = []
    if parts.together(lens.pupil, lens.optical_centre):
        found.append(("pupil", ("pupil, optical centre",), lens.pupil, parts.PUPIL_ARM_MM))
    else:
        found.append(("pupil", ("pupil",), lens.pupil, parts.PUPIL_ARM_MM))
        found.append(("optical-centre", ("optical centre",), lens.optical_centre, parts.DOT_MM))
    if lens.modelled:
        found.append(("outline", MODELLED, ((left + right) / 2.0, low), 0.0))
    if (ends := parts.tightest_ends(lens)) is not None:
        point, edge, _ = ends
        if lens.tightest_margin_mm is not None:
            lacking = "lacks " if lens.tightest_margin_mm < 0.0 else ""
            words = f"{lacking}{abs(lens.tightest_margin_mm):.2f} mm"
            found.append(("tightest", (words,), _between(point, edge), 1.0))
    if (axis := parts.axis_ends(lens)) is not None and lens.axis_deg is not None:
        found.append(("axis", (axis_words(lens.axis_deg),), axis[0], 0.0))
    if (circle := parts.blank_circle(lens)) is not None:
        (x, y), radius = circle
        sizes = [f"blank Ø {radius * 2.0:g} mm"]
        if parts.usable(lens, at):
            sizes.append(f"usable Ø {lens.usable_mm:g} mm")
        found.append(("blank", tuple(sizes), (x + inward * radius * 0.7071, y + radius * 0.7071), 0.0))
    found.append(("boxed-centre", ("boxed centre",), (0.0, 0.0), parts.CENTRE_ARM_MM))
    found.append(("box", (f"A {round(right - left, 2):g}",), ((left + right) / 2.0, high), 0.0))
    found.append(("box", (f"B {round(high - low, 2):g}",), (right if inward > 0.0 else left, high * 0.5), 0.0))
    return [(part, words, at.place(target), rim) for part, words, target, rim in found]


def axis_words(axis_deg: float) -> str:
    """The axis as it is written on a prescription, with three figures."""
    return f"axis {axis_deg:03.0f}" if float(axis_deg).is_integer() else f"axis {axis_deg:g}"


def _between(one: Point, other: Point) -> Point:
    return (one[0] + other[0]) / 2.0, (one[1] + other[1]) / 2.0
