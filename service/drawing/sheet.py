"""What is to be drawn: one or two lenses with their figures, the words around them, and the page.

Each lens lies in a plane seen from the front, x to the observer's right, y up, origin at the boxed centre, in mm.
"""

from dataclasses import dataclass
from typing import Literal

from service.values import EyeName

Page = Literal["a4", "letter"]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class LensDrawing:
    """One lens: its outline, its points, and the blank it is to be cut from."""

    eye: EyeName
    outline: tuple[Point, ...]
    modelled: bool
    notation: str
    axis_deg: float | None
    pupil: Point
    optical_centre: Point
    height_known: bool
    blank_mm: float | None
    blank_middle: Point | None
    usable_mm: float | None
    tightest: Point | None
    tightest_words: str | None
    tightest_margin_mm: float | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page: the right lens is drawn on the observer's left, as it sits in the frame seen from the front."""

    page: Page
    title: str
    subtitle: str
    lenses: tuple[LensDrawing, ...]
    notes: tuple[str, ...]


class TooLargeError(ValueError):
    """The drawing does not fit the page at true size, and it is never shrunk."""

    def __init__(
        self, what: str, direction: Literal["width", "height"], needed_mm: float, available_mm: float, remedy: str
    ) -> None:
        super().__init__(what, direction, needed_mm, available_mm, remedy)
        self.what = what
        self.direction = direction
        self.needed_mm = needed_mm
        self.available_mm = available_mm
        self.remedy = remedy

    def __str__(self) -> str:
        return (
            f"{self.what} {self.needed_mm:.1f} mm of {self.direction} at true size, and the page has room for "
            f"{self.available_mm:.1f} mm. The drawing is never shrunk. {self.remedy}"
        ).rstrip()
