"""What lies in the drawer: the diameters of a material, and which finished blanks come in a power.

The shop's list of finished blanks goes before the plain diameters, as far as it has rows in the material.
"""

from typing import Literal

from service.profile.blanks import FinishedBlank
from service.profile.model import Profile

# Why a blank does not come in a power.
PowerReason = Literal["sphere-out-of-range", "cylinder-out-of-range", "total-out-of-range", "off-the-step"]
# Lists are written in decimals; what is nearer than this is the same power.
_SAME_POWER_D = 1e-6


def listed_blanks(profile: Profile, material: str) -> tuple[FinishedBlank, ...]:
    """The rows of the shop's list in a material, in their order."""
    if not profile.blanks:
        return ()
    return tuple(row for row in profile.blanks if row.material == material)


def stocked_diameters(profile: Profile, material: str) -> tuple[float, ...]:
    """The diameters in stock in a material."""
    rows = listed_blanks(profile, material)
    if rows:
        return tuple(sorted({row.diameter_mm for row in rows}))
    return next((tuple(blanks.diameters_mm) for blanks in profile.stock if blanks.material == material), ())


def stocked_materials(profile: Profile) -> tuple[str, ...]:
    """The materials in stock, each once: those with plain diameters first."""
    names = [blanks.material for blanks in profile.stock] + [row.material for row in profile.blanks]
    return tuple(dict.fromkeys(names))


def power_reasons(row: FinishedBlank, sphere_d: float, cylinder_d: float) -> tuple[PowerReason, ...]:
    """Why the blank does not come in a power given in minus-cylinder form; nothing where it does."""
    found: list[PowerReason] = []
    if _outside(sphere_d, row.sphere_least_d, row.sphere_most_d) > _SAME_POWER_D:
        found.append("sphere-out-of-range")
    if -cylinder_d > row.cylinder_most_d + _SAME_POWER_D:
        found.append("cylinder-out-of-range")
    if _outside(sphere_d + cylinder_d, row.total_least_d, row.total_most_d) > _SAME_POWER_D:
        found.append("total-out-of-range")
    if _off_step(sphere_d, row.step_d) or _off_step(cylinder_d, row.step_d):
        found.append("off-the-step")
    return tuple(found)


def out_of_range_d(row: FinishedBlank, sphere_d: float, cylinder_d: float) -> float:
    """By how much a power lies outside the ranges of a blank: sphere, cylinder and total together."""
    return (
        _outside(sphere_d, row.sphere_least_d, row.sphere_most_d)
        + _outside(-cylinder_d, None, row.cylinder_most_d)
        + _outside(sphere_d + cylinder_d, row.total_least_d, row.total_most_d)
    )


def _outside(value: float, least: float | None, most: float | None) -> float:
    below = 0.0 if least is None else least - value
    above = 0.0 if most is None else value - most
    return max(below, above, 0.0)


def _off_step(value: float, step: float) -> bool:
    steps = value / step
    return abs(steps - round(steps)) * step > _SAME_POWER_D
