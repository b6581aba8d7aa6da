"""Lens materials: refractive index, dispersion and density by generic name.

The index sets the curves and so the thickness, the density the weight, and the Abbe number (higher is better)
the coloured fringes seen through prism. Indices are at the d line (587.56 nm) and the e line (546.07 nm): the
same material is quoted by either, so never compare across. Ranges span what is sold under one generic name; a
shop's own lens data should replace them. Where only a range is known, the single value is its middle.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from optics_core.sources import table


@dataclass(frozen=True, slots=True)
class Material:
    """One generic material. Index and Abbe number [1], density [g/cm3], UV cut-off [nm] or None if not known.

    `brittle` tells that it breaks easily round a drilled hole.
    """

    id: str
    name: str
    index_d: float
    index_d_low: float
    index_d_high: float
    index_e: float
    abbe_low: float
    abbe: float
    abbe_high: float
    density_low_g_cm3: float
    density_g_cm3: float
    density_high_g_cm3: float
    uv_cutoff_nm_low: float | None
    uv_cutoff_nm_high: float | None
    impact_resistant: bool
    brittle: bool
    source: str
    mark: Literal["read", "memory"]
    remark: str


@functools.cache
def materials() -> Mapping[str, Material]:
    """All materials by id, in the order of the table.

    Parameters
    ----------
    None

    Returns
    -------
    mapping of str to Material
        Read-only.

    Raises
    ------
    None

    Source
    ------
    tables/materials.toml, each row names its own.
    """
    rows = table("materials.toml")["material"]
    unknown = {"uv_cutoff_nm_low": None, "uv_cutoff_nm_high": None, "brittle": False}
    return MappingProxyType({row["id"]: Material(**(unknown | row)) for row in rows})
