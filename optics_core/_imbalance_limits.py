"""What a standard allows of the prism of a mounted pair in one direction, as one form for all standards.

An amount of prism passes. Beyond it passes what so many millimetres make of the lens's power, on top of an amount of
prism that some standards allow where prism is prescribed. Prism in prism dioptres (pd), distances in mm; sizes, for
either sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from optics_core._tolerance_rows import demand_lens_type, row_in_force
from optics_core.tolerance import LensType, tolerances

Direction: TypeAlias = Literal["horizontal", "vertical"]


@dataclass(frozen=True, slots=True)
class ImbalanceLimits:
    """Limits of the pair's prism, of the prism that is free of the distance, of the distance. [pd, pd, mm, mm]"""

    prism_pd: float
    plus_pd: float
    pair_mm: float
    each_mm: float | None  # where each eye by itself is judged
    source: str
    mark: Literal["read", "memory"]

    def left_of(self, off_mm: float, prism_pd: float) -> float:
        """What counts of a displacement that makes so much prism: the part of it that the free prism does not cover."""
        if self.plus_pd == 0.0 or prism_pd == 0.0:
            return off_mm
        return off_mm * max(0.0, 1.0 - self.plus_pd / abs(prism_pd))


def imbalance_limits(standard: str, lens: LensType, direction: Direction, prescribed_pd: float) -> ImbalanceLimits:
    """The limits in force for so much prescribed prism in that direction, of either sign."""
    table = tolerances(standard=standard)
    demand_lens_type(lens)
    row = row_in_force(table["prism_mounted"], kind={"lens": lens}, sizes={})
    pair_mm, each_mm = row[f"{direction}_mm"], row.get(f"{direction}_each_mm")
    if "prism_bands" not in table:
        return ImbalanceLimits(row[f"{direction}_pd"], 0.0, pair_mm, each_mm, row["source"], row["mark"])
    kind = {"direction": direction}
    band = row_in_force(table["prism_bands"], kind=kind, sizes={"max_prescribed_pd": prescribed_pd})
    return ImbalanceLimits(band["limit_pd"], band["plus_pd"], pair_mm, each_mm, band["source"], band["mark"])
