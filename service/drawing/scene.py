"""What a page consists of: lines, circles and words, in millimetres, x to the right and y down from the upper left corner.

Both files, SVG and PDF, are written from this one list.
"""

from dataclasses import dataclass
from typing import Literal

Anchor = Literal["start", "middle", "end"]
Place = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""


@dataclass(frozen=True, slots=True)
class Pen:
    """A black line of some width, whole or in dashes (drawn, left out, drawn, ...)."""

    width_mm: float
    dashes_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Path:
    """A line through points; closed, it goes back to the first. Without a pen it is filled with black."""

    points: tuple[Place, ...]
    pen: Pen | None
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle; without a pen it is filled with black."""

    x: float
    y: float
    radius_mm: float
    pen: Pen | None


@dataclass(frozen=True, slots=True)
class Text:
    """One line of words; y is that of the line the letters stand on, x that of its start, middle or end."""

    x: float
    y: float
    words: str
    size_mm: float
    width_mm: float
    anchor: Anchor = "start"
    bold: bool = False


Item = Path | Circle | Text


@dataclass(frozen=True, slots=True)
class Group:
    """Items that belong together, under a name that is unique on the page."""

    name: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Scene:
    """A page with everything on it, in the order of drawing."""

    width_mm: float
    height_mm: float
    title: str
    description: str
    groups: tuple[Group, ...]


def line(x1: float, y1: float, x2: float, y2: float, pen: Pen) -> Path:
    """A straight line."""
    return Path(((x1, y1), (x2, y2)), pen)


def rectangle(box: Box, pen: Pen) -> Path:
    """The four sides of a box."""
    left, top, right, bottom = box
    return Path(((left, top), (right, top), (right, bottom), (left, bottom)), pen, closed=True)
