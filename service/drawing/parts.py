"""The parts of one lens as lines on the page, at true size.

A lens's own coordinates have y up and the origin at the boxed centre; `At` carries them to the page, whose y runs down.
"""

import math
from dataclasses import dataclass
from typing import Final

from service.drawing import pens
from service.drawing.scene import Box, Circle, Item, Path, Pen, Place, line, rectangle
from service.drawing.sheet import LensDrawing, Point

PUPIL_MM: Final = 2.0
PUPIL_ARM_MM: Final = 3.0
CENTRE_ARM_MM: Final = 1.5
DOT_MM: Final = 0.6
BEYOND_MM: Final = 2.0
"""How far the axis and the centre line reach beyond the blank, to be seen beside a blank laid on the sheet."""
AXIS_END_MM: Final = 3.0
ARROW_MM: Final = 3.5
SAME_MM: Final = 0.005
"""Points nearer to each other than this are one point to the eye."""


@dataclass(frozen=True, slots=True)
class At:
    """Where on the page a lens's boxed centre lies."""

    x: float
    y: float

    def place(self, point: Point) -> Place:
        """A point of the lens, on the page."""
        return self.x + point[0], self.y - point[1]


def together(one: Point, other: Point) -> bool:
    """Whether two points are one to the eye."""
    return math.dist(one, other) < SAME_MM


def sizes(lens: LensDrawing) -> tuple[float, float, float, float]:
    """Left, right, lower and upper bound of the outline, in the lens's coordinates."""
    across, up = [x for x, _ in lens.outline], [y for _, y in lens.outline]
    return min(across), max(across), min(up), max(up)


def blank_circle(lens: LensDrawing) -> tuple[Point, float] | None:
    """Middle and radius of the blank, where both are known."""
    if lens.blank_mm is None or lens.blank_middle is None:
        return None
    return lens.blank_middle, lens.blank_mm / 2.0


def outline(lens: LensDrawing, at: At) -> tuple[Item, ...]:
    """The shape to be cut."""
    pen = pens.MODELLED if lens.modelled else pens.OUTLINE
    return (Path(tuple(at.place(point) for point in lens.outline), pen, closed=True),)


def box(lens: LensDrawing, at: At) -> tuple[Item, ...]:
    """The box around the outline."""
    left, right, low, high = sizes(lens)
    return (rectangle((*at.place((left, high)), *at.place((right, low))), pens.BOX),)


def level(lens: LensDrawing, at: At) -> tuple[Item, ...]:
    """The horizontal centre line, a little beyond everything that is level with it."""
    left, right, _, _ = sizes(lens)
    if (circle := blank_circle(lens)) is not None:
        (middle, _), radius = circle
        left, right = min(left, middle - radius), max(right, middle + radius)
    return (line(*at.place((left - BEYOND_MM, 0.0)), *at.place((right + BEYOND_MM, 0.0)), pens.LEVEL),)


def centre(at: At) -> tuple[Item, ...]:
    """The boxed centre: a small upright cross."""
    return cross((at.x, at.y), CENTRE_ARM_MM, pens.CENTRE)


def pupil(lens: LensDrawing, at: At) -> tuple[Item, ...]:
    """The centration point: a circle with a cross."""
    place = at.place(lens.pupil)
    return (Circle(*place, PUPIL_MM, pens.MARK), *cross(place, PUPIL_ARM_MM, pens.MARK))


def optical_centre(lens: LensDrawing, at: At) -> tuple[Item, ...]:
    """Where the optical centre would sit: a dot."""
    return (Circle(*at.place(lens.optical_centre), DOT_MM, None),)


def blank(lens: LensDrawing, at: At) -> tuple[Item, ...]:
    """The rim of the uncut blank."""
    circle = blank_circle(lens)
    return () if circle is None else (Circle(*at.place(circle[0]), circle[1], pens.BLANK),)


def usable(lens: LensDrawing, at: At) -> tuple[Item, ...]:
    """The edge of what may be used of the blank."""
    if lens.blank_middle is None or lens.usable_mm is None or lens.usable_mm <= 0.0:
        return ()
    return (Circle(*at.place(lens.blank_middle), lens.usable_mm / 2.0, pens.USABLE),)


def axis_ends(lens: LensDrawing) -> tuple[Point, Point] | None:
    """Both ends of the axis line in the lens's coordinates, that on the side of the axis figure (0 to 180) first."""
    if lens.axis_deg is None:
        return None
    x, y = lens.optical_centre
    (middle_x, middle_y), radius = blank_circle(lens) or ((0.0, 0.0), max(math.hypot(*p) for p in lens.outline))
    from_x, from_y = x - middle_x, y - middle_y
    radius = max(radius, math.hypot(from_x, from_y)) + BEYOND_MM
    turn = math.radians(lens.axis_deg)
    across, up = math.cos(turn), math.sin(turn)
    # Where the line through the optical centre leaves a circle just beyond the blank.
    half = from_x * across + from_y * up
    root = math.sqrt(half * half + radius * radius - from_x * from_x - from_y * from_y)
    ahead, back = root - half, root + half
    return (x + ahead * across, y + ahead * up), (x - back * across, y - back * up)


def axis(lens: LensDrawing, at: At) -> tuple[Item, ...]:
    """The axis line through the optical centre, its two ends strong."""
    ends = axis_ends(lens)
    if ends is None:
        return ()
    first, last = (at.place(end) for end in ends)
    across, down = _direction(first, last)
    strong = (
        line(*end, end[0] + way * AXIS_END_MM * across, end[1] + way * AXIS_END_MM * down, pens.AXIS_END)
        for end, way in ((first, 1.0), (last, -1.0))
    )
    return (line(*first, *last, pens.AXIS), *strong)


def tightest_ends(lens: LensDrawing) -> tuple[Point, Point, Point] | None:
    """The tightest outline point, the place on the usable edge beside it, and the way outward from the blank's middle."""
    if lens.tightest is None or lens.blank_middle is None or lens.usable_mm is None:
        return None
    if together(lens.tightest, lens.blank_middle):
        return None
    way = _direction(lens.blank_middle, lens.tightest)
    reach = lens.usable_mm / 2.0
    return lens.tightest, (lens.blank_middle[0] + reach * way[0], lens.blank_middle[1] + reach * way[1]), way


def tightest(lens: LensDrawing, at: At) -> tuple[Item, ...]:
    """The room at the tightest place: a strong stroke, with arrows from inside and outside, as it may be very short."""
    ends = tightest_ends(lens)
    if ends is None or lens.blank_middle is None:
        return ()
    *both, (across, up) = ends
    inner, outer = sorted(both, key=lambda end: math.dist(end, lens.blank_middle or end))
    stroke = line(*at.place(both[0]), *at.place(both[1]), pens.TIGHTEST)
    return (stroke, *arrow(at.place(inner), (across, -up)), *arrow(at.place(outer), (-across, up)))


def extent(lens: LensDrawing) -> Box:
    """What the lines of a lens take up, on a page with its boxed centre at the origin: left, top, right, bottom."""
    at = At(0.0, 0.0)
    makers = (outline, level, pupil, optical_centre, blank, usable, axis, tightest)
    bounds = [item_box(item) for maker in makers for item in maker(lens, at)]
    return (
        min(left for left, _, _, _ in bounds),
        min(top for _, top, _, _ in bounds),
        max(right for _, _, right, _ in bounds),
        max(bottom for _, _, _, bottom in bounds),
    )


def item_box(item: Item) -> Box:
    """What a line or circle takes up, not counting the width of its stroke."""
    if isinstance(item, Circle):
        return (item.x - item.radius_mm, item.y - item.radius_mm, item.x + item.radius_mm, item.y + item.radius_mm)
    if isinstance(item, Path):
        across, down = [x for x, _ in item.points], [y for _, y in item.points]
        return min(across), min(down), max(across), max(down)
    raise TypeError("words have a box of their own: letters.text_box")


def _direction(start: Point, end: Point) -> Point:
    away = math.dist(start, end)
    return (end[0] - start[0]) / away, (end[1] - start[1]) / away


def cross(place: Place, arm_mm: float, pen: Pen) -> tuple[Item, ...]:
    x, y = place
    return line(x - arm_mm, y, x + arm_mm, y, pen), line(x, y - arm_mm, x, y + arm_mm, pen)


def arrow(tip: Place, way: Place) -> tuple[Item, ...]:
    """An arrow that ends at the tip, coming the way given."""
    (x, y), (across, down) = tip, way
    back_x, back_y = x - 1.6 * across, y - 1.6 * down
    head = Path(
        ((x, y), (back_x - 0.45 * down, back_y + 0.45 * across), (back_x + 0.45 * down, back_y - 0.45 * across)),
        None,
        closed=True,
    )
    return line(back_x, back_y, x - ARROW_MM * across, y - ARROW_MM * down, pens.ARROW), head
