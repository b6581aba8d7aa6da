"""Readings of a finished pair in core terms: what was read, one figure or several, unaltered."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.values import Base, EyeName

Readings = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class LensReadings:
    """One lens. What was not measured has no readings; `prism` is None where it was not looked for.

    `others` holds every further quantity that was measured, by the name of its member.
    """

    eye: EyeName
    pointer: str
    spheres_d: Readings
    cylinders_d: Readings
    axes_deg: Readings
    prism: tuple[tuple[Readings, Base | float], ...] | None
    others: Mapping[str, Readings]


@dataclass(frozen=True, slots=True)
class PairReadings:
    """The finished pair."""

    right: LensReadings
    left: LensReadings
    centre_distances_mm: Readings
    right_from_bridge_mm: Readings
    left_from_bridge_mm: Readings
    right_heights_mm: Readings
    left_heights_mm: Readings
