"""Sheets to draw, and what is read back from the files: nothing here uses the code that draws.

All lenses are invented. Random ones are plausible: boxed sizes, decentrations and blanks of everyday orders.
"""

import math
import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any, Literal

from service.drawing.sheet import LensDrawing, Point, Sheet

Eye = Literal["right", "left"]


def superellipse(a_mm: float, b_mm: float, power: float = 2.6, count: int = 240) -> tuple[Point, ...]:
    """A lens-like outline with exactly these boxed sizes, counter-clockwise from +x."""
    points = []
    for step in range(count):
        turn = 2.0 * math.pi * step / count
        c, s = math.cos(turn), math.sin(turn)
        x = math.copysign(abs(c) ** (2.0 / power), c) * a_mm / 2.0
        y = math.copysign(abs(s) ** (2.0 / power), s) * b_mm / 2.0
        points.append((x, y))
    return tuple(points)


def lens(
    eye: Eye = "right",
    *,
    a_mm: float = 54.0,
    b_mm: float = 40.0,
    inward_mm: float = 4.5,
    up_mm: float = 2.0,
    blank_mm: float | None = 70.0,
    axis_deg: float | None = 10.0,
    **changes: Any,
) -> LensDrawing:
    """One lens of an everyday order, with the blank centred on the optical centre."""
    side = 1.0 if eye == "right" else -1.0
    outline = superellipse(a_mm, b_mm)
    pupil = (side * inward_mm, up_mm)
    notation = "-2.25 DS" if axis_deg is None else f"-2.25 -0.75 x {axis_deg:03.0f}"
    drawn = LensDrawing(
        eye=eye,
        outline=outline,
        modelled=False,
        notation=notation,
        axis_deg=axis_deg,
        pupil=pupil,
        optical_centre=pupil,
        height_known=True,
        blank_mm=None,
        blank_middle=None,
        usable_mm=None,
        tightest=None,
        tightest_words=None,
        tightest_margin_mm=None,
    )
    drawn = replace(drawn, **changes)
    return drawn if blank_mm is None else on_blank(drawn, blank_mm, drawn.blank_middle or drawn.optical_centre)


def on_blank(drawn: LensDrawing, blank_mm: float, middle: Point, allowance_mm: float = 2.0) -> LensDrawing:
    """The lens on a blank, with its tightest place found by looking at every point."""
    far = max(drawn.outline, key=lambda point: math.dist(point, middle))
    usable = blank_mm - allowance_mm
    margin = usable / 2.0 - math.dist(far, middle)
    nasal = (far[0] > 0.0) == (drawn.eye == "right")
    turn = math.degrees(math.atan2(abs(far[1]), abs(far[0])))
    words = (
        f"{margin:.2f} mm, {'nasal' if nasal else 'temporal'}, "
        f"{turn:.0f}° {'above' if far[1] >= 0.0 else 'below'} the centre line"
    )
    return replace(
        drawn,
        blank_mm=blank_mm,
        blank_middle=middle,
        usable_mm=usable,
        tightest=far,
        tightest_words=words,
        tightest_margin_mm=margin,
    )


def sheet(*lenses: LensDrawing, page: Literal["a4", "letter"] = "a4", **changes: Any) -> Sheet:
    """A sheet as the service fills it."""
    drawn = Sheet(
        page=page,
        title="W-1042",
        subtitle="A 54  B 40  DBL 18 mm, frame PD 72 mm",
        lenses=lenses or (lens("right"), lens("left", axis_deg=170.0, inward_mm=4.0)),
        notes=(
            "ACCEPT",
            "Shape of the lens from the tracer's file, 240 points.",
            "The decision is that of a programme: whoever cuts the lens checks the figures against the order.",
        ),
    )
    return replace(drawn, **changes)


def random_lens(rng: random.Random, eye: Eye) -> LensDrawing:
    """A plausible lens: any everyday frame, any axis, blank large enough or not, centre on the pupil or moved."""
    a_mm = rng.uniform(40.0, 62.0)
    b_mm = rng.uniform(24.0, min(a_mm, 52.0))
    side = 1.0 if eye == "right" else -1.0
    outline = superellipse(a_mm, b_mm, rng.uniform(1.8, 5.0), rng.choice([24, 90, 400]))
    height_known = rng.random() < 0.8
    pupil = (side * rng.uniform(-2.0, 7.0), rng.uniform(-3.0, 6.0) if height_known else 0.0)
    moved = rng.random() < 0.4
    centre = (pupil[0] - side * rng.uniform(0.2, 3.0), pupil[1] + rng.uniform(-1.0, 1.0)) if moved else pupil
    whole = rng.randint(1, 180)
    drawn = lens(
        eye,
        blank_mm=None,
        axis_deg=rng.choice([None, float(whole), whole - 0.5]),
        outline=outline,
        pupil=pupil,
        optical_centre=centre,
        modelled=rng.random() < 0.3,
        height_known=height_known,
    )
    if rng.random() < 0.15:
        return drawn
    reach = max(math.dist(point, centre) for point in outline)
    blank = min(80.0, max(50.0, round(2.0 * reach + rng.uniform(-4.0, 12.0))))
    shift = (rng.uniform(-2.0, 2.0), rng.uniform(-2.0, 2.0)) if rng.random() < 0.3 else (0.0, 0.0)
    return on_blank(drawn, blank, (centre[0] + shift[0], centre[1] + shift[1]))


def crowded(eye: Eye) -> LensDrawing:
    """Everything there is to say, on the largest blank that fits."""
    side = 1.0 if eye == "right" else -1.0
    drawn = lens(
        eye,
        blank_mm=None,
        modelled=True,
        height_known=False,
        up_mm=0.0,
        axis_deg=92.5,
        optical_centre=(side * 2.0, 0.0),
        blank_middle=(side * 1.0, -0.4),
        notation="-12.25 -10.75 x 092.5 " * 3,
    )
    words = "a place that takes many words to tell, temporal, below the centre line, where the lens is thin " * 3
    return replace(on_blank(drawn, 120.0, (side * 1.0, -0.4)), tightest_words=words)


CASES: dict[str, Callable[[], Sheet]] = {
    "everyday": sheet,
    "letter": lambda: sheet(page="letter"),
    "one-lens": lambda: sheet(lens("left", axis_deg=90.0)),
    "modelled": lambda: sheet(
        lens("right", modelled=True, height_known=False, up_mm=0.0),
        lens("left", modelled=True, height_known=False, up_mm=0.0, axis_deg=180.0),
    ),
    "no-blank": lambda: sheet(lens("right", blank_mm=None), lens("left", blank_mm=None, axis_deg=45.0)),
    "no-axis": lambda: sheet(lens("right", axis_deg=None), lens("left", axis_deg=None)),
    "lacking": lambda: sheet(lens("right", blank_mm=60.0), lens("left", blank_mm=60.0, axis_deg=135.0), page="letter"),
    "centre-moved": lambda: sheet(
        lens("right", optical_centre=(3.2, 1.6), blank_middle=(3.2, 1.6), axis_deg=90.0),
        lens("left", optical_centre=(-3.0, 1.8), blank_middle=(-1.0, 1.8), axis_deg=92.0),
    ),
    "blanks-of-80": lambda: sheet(
        lens("right", blank_mm=80.0, a_mm=60.0, b_mm=50.0, axis_deg=180.0),
        lens("left", blank_mm=80.0, a_mm=60.0, b_mm=50.0, axis_deg=90.0),
    ),
    "blanks-of-120": lambda: sheet(
        lens("right", blank_mm=120.0), lens("left", blank_mm=120.0, axis_deg=90.0), page="letter"
    ),
    "blanks-of-120-a4": lambda: sheet(
        lens("right", blank_mm=120.0, axis_deg=90.0), lens("left", blank_mm=120.0, axis_deg=45.0)
    ),
    "on-the-boxed-centre": lambda: sheet(
        lens("right", inward_mm=0.0, up_mm=0.0, axis_deg=180.0), lens("left", inward_mm=0.0, up_mm=0.0, axis_deg=90.0)
    ),
    "crowded": lambda: sheet(*(crowded(eye) for eye in ("right", "left"))),
}
