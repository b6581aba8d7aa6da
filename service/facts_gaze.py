"""Prism between the eyes across the lens, where the two lenses differ in power: both eyes look to one side, up or down."""

from dataclasses import dataclass
from typing import Final, Literal

from optics_core.segments import gaze_imbalance
from service.facts_prescription import PrescriptionFacts
from service.profile.loader import Limits
from service.rounding import settled

Gaze = Literal["right", "left", "up", "down"]
# The wearer's right is the observer's left.
_WAYS: Final[tuple[tuple[Gaze, float, float], ...]] = (
    ("right", -1.0, 0.0),
    ("left", 1.0, 0.0),
    ("up", 0.0, 1.0),
    ("down", 0.0, -1.0),
)


@dataclass(frozen=True, slots=True)
class GazeImbalance:
    """What the pair asks of both eyes together when they look so far aside: base in of both, right less left base up."""

    gaze: Gaze
    away_mm: float
    horizontal_pd: float
    vertical_pd: float


def gaze_facts(rx: PrescriptionFacts, limits: Limits) -> tuple[GazeImbalance, ...]:
    """In the four directions; nothing for lenses that are much alike."""
    right, left = rx.right.optics, rx.left.optics
    widest = rx.pair.widest
    if right is None or left is None or widest is None or abs(widest[1]) < limits.profile.power.difference_noted_d:
        return ()
    away = limits.profile.prism.reading_level_mm
    found = []
    for gaze, x, y in _WAYS:
        horizontal, vertical = gaze_imbalance(right=right.vector, left=left.vector, x_mm=x * away, y_mm=y * away)
        found.append(GazeImbalance(gaze, away, settled(float(horizontal)), settled(float(vertical))))
    return tuple(found)
