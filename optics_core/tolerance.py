# mypy: disable-error-code="no-any-return"
"""Tolerances: how far a finished pair may differ from its order, by standard and year.

The prism a pair asks of the two eyes may err by so many prism dioptres, or by what a misplacement of so many
millimetres makes of the lens's power; whichever allows more governs. That reproduces the printed bands, which
change from the one to the other at a switch power, and has no step there.

Prism in prism dioptres (pd), lengths in mm. A limit is a size: it holds for either sign of the error and of the
power. Millimetres are for the pair: a limit for each eye counts twice horizontally.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from types import MappingProxyType
from typing import Any, Literal, TypeAlias, get_args

from optics_core._numeric import Number, numbers
from optics_core.errors import DomainError
from optics_core.sources import table

# What rounding leaves of a power that is none.
_NO_POWER_D = 1e-9

LensType: TypeAlias = Literal["single_vision", "progressive"]


@dataclass(frozen=True, slots=True)
class PrismLimits:
    """Limits of prism imbalance of a mounted pair. Prism [pd], misplacement of the pair [mm], switch power [D]."""

    standard: str
    horizontal_pd: float
    horizontal_mm: float
    horizontal_switch_d: float
    vertical_pd: float
    vertical_mm: float
    vertical_switch_d: float
    source: str
    mark: Literal["read", "memory"]


def standards() -> tuple[str, ...]:
    """Ids of the standards that have a table here, in alphabetical order.

    Parameters
    ----------
    None

    Returns
    -------
    tuple of str
        Ids such as "ansi-z80.1-2015".

    Raises
    ------
    None

    Source
    ------
    tables/tolerances_<standard>_<year>.toml.
    """
    return tuple(_tables())


def tolerances(*, standard: str) -> Mapping[str, Any]:
    """The whole table of one standard: sphere, cylinder, axis, add, prism, segments; each row names its source.

    Parameters
    ----------
    standard : str
        One of `standards()`.

    Returns
    -------
    mapping
        Sections as they stand in the file, not to be changed; powers [D], angles [deg], prism [pd], lengths [mm].

    Raises
    ------
    DomainError
        If there is no table for that standard.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, each row by itself.
    """
    if not isinstance(standard, str) or standard not in _tables():
        raise DomainError("standard", f"One of {', '.join(_tables())} is expected.", standard)
    return _tables()[standard]


def mounted_prism_limits(*, standard: str, lens: LensType) -> PrismLimits:
    """Limits of the prism imbalance of a mounted pair, for prescribed prism of up to 2 pd.

    Parameters
    ----------
    standard : str
        One of `standards()`.
    lens : "single_vision" or "progressive"
        Kind of lens; multifocals count as single vision.

    Returns
    -------
    PrismLimits
        Prism [pd], misplacement of the pair [mm], switch power [D], source and how it is known.

    Raises
    ------
    DomainError
        If there is no table for that standard, or the kind of lens is neither of the two.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, section prism_mounted.
    """
    if lens not in get_args(LensType):
        raise DomainError("lens", "Either single_vision or progressive is expected.", lens)
    tolerances(standard=standard)
    return _prism_limits(standard, lens)


@functools.cache
def _prism_limits(standard: str, lens: LensType) -> PrismLimits:
    row = next(row for row in _tables()[standard]["prism_mounted"] if row["lens"] == lens)
    return PrismLimits(
        standard=standard,
        horizontal_pd=row["horizontal_pd"],
        horizontal_mm=row["horizontal_mm"],
        horizontal_switch_d=row["horizontal_switch_d"],
        vertical_pd=row["vertical_pd"],
        vertical_mm=row["vertical_mm"],
        vertical_switch_d=row["vertical_switch_d"],
        source=row["source"],
        mark=row["mark"],
    )


def horizontal_limit(*, limits: PrismLimits, power_d: Number) -> Number:
    """Horizontal prism imbalance allowed for a pair: the larger of the prism and the millimetre criterion.

    Parameters
    ----------
    limits : PrismLimits
        From `mounted_prism_limits`. [pd, mm, D]
    power_d : float or array
        Power in the horizontal meridian, of either sign. [D]

    Returns
    -------
    float or array
        Limit of the pair's horizontal imbalance, 0 or more. [pd]

    Raises
    ------
    DomainError
        If the power is not finite.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, section prism_mounted; long-1976, prism of a misplacement, p = F d / 10.
    """
    library, power = numbers(("power_d",), power_d)
    return library.maximum(limits.horizontal_pd, abs(power) * limits.horizontal_mm / 10.0)


def vertical_limit(*, limits: PrismLimits, power_d: Number) -> Number:
    """Vertical prism imbalance allowed for a pair: the larger of the prism and the millimetre criterion.

    Parameters
    ----------
    limits : PrismLimits
        From `mounted_prism_limits`. [pd, mm, D]
    power_d : float or array
        Power in the vertical meridian, of either sign. [D]

    Returns
    -------
    float or array
        Limit of the pair's vertical imbalance, 0 or more. [pd]

    Raises
    ------
    DomainError
        If the power is not finite.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, section prism_mounted; long-1976, prism of a misplacement, p = F d / 10.
    """
    library, power = numbers(("power_d",), power_d)
    return library.maximum(limits.vertical_pd, abs(power) * limits.vertical_mm / 10.0)


def horizontal_slack(*, limits: PrismLimits, power_d: Number) -> Number:
    """Horizontal error of one eye's centration that uses up the tolerance of the pair, the other eye being exact.

    Parameters
    ----------
    limits : PrismLimits
        From `mounted_prism_limits`. [pd, mm, D]
    power_d : float or array
        Power in the horizontal meridian, of either sign. [D]

    Returns
    -------
    float or array
        Error; infinite where the lens has no power in that meridian. [mm]

    Raises
    ------
    DomainError
        If the power is not finite.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, section prism_mounted; long-1976, prism of a misplacement, p = F d / 10.
    """
    return _slack(limits.horizontal_pd, limits.horizontal_mm, power_d)


def vertical_slack(*, limits: PrismLimits, power_d: Number) -> Number:
    """Vertical error of one eye's centration that uses up the tolerance of the pair, the other eye being exact.

    Parameters
    ----------
    limits : PrismLimits
        From `mounted_prism_limits`. [pd, mm, D]
    power_d : float or array
        Power in the vertical meridian, of either sign. [D]

    Returns
    -------
    float or array
        Error; infinite where the lens has no power in that meridian. [mm]

    Raises
    ------
    DomainError
        If the power is not finite.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, section prism_mounted; long-1976, prism of a misplacement, p = F d / 10.
    """
    return _slack(limits.vertical_pd, limits.vertical_mm, power_d)


def _slack(limit_pd: float, limit_mm: float, power_d: Any) -> Any:
    """The kinder of the two criteria; a power below any that can be made is none."""
    library, power = numbers(("power_d",), power_d)
    size = abs(power)
    weak = size < _NO_POWER_D
    return library.where(weak, math.inf, library.maximum(10.0 * limit_pd / library.where(weak, 1.0, size), limit_mm))


@functools.cache
def _tables() -> Mapping[str, Mapping[str, Any]]:
    folder = resources.files(__package__).joinpath("tables")
    names = sorted(file.name for file in folder.iterdir() if file.name.startswith("tolerances_"))
    read = [table(name) for name in names]
    return MappingProxyType({contents["id"]: MappingProxyType(contents) for contents in read})
