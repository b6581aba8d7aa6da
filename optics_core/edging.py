"""How a lens is usually edged: the edge that its rim asks for, and how its material is cut and finished.

A full rim holds the lens by a bevel in a groove, a cord by a groove in the lens, a drilled mount by holes; what shows is
polished, and what is sharp is blunted by a safety bevel. What the wheel needs depends on the material: glass is ground
with diamond and always wet, most resins wet, polycarbonate melts rather than chips and is roughed dry. All of this is the
custom of the trade and nothing of it is measured: there is no formula here and no sign convention.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from optics_core.errors import DomainError
from optics_core.sources import table

Wet = Literal["yes", "little", "finish-only", "always"]


@dataclass(frozen=True, slots=True)
class RimPractice:
    """The edge that a kind of rim usually asks for."""

    id: str
    edge: str
    safety_bevel: str
    finish: str
    source: str
    mark: Literal["practice"]


@dataclass(frozen=True, slots=True)
class FamilyPractice:
    """How the materials of one family are usually cut and drilled. `wet` tells when water or coolant is used."""

    id: str
    name: str
    materials: tuple[str, ...]
    cutting: str
    wet: Wet
    drilling: str
    source: str
    mark: Literal["practice"]

    @property
    def is_glass(self) -> bool:
        """Whether it is glass, which is tested and handled by rules of its own."""
        return self.id == "glass"


@dataclass(frozen=True, slots=True)
class EdgingPractice:
    """What is usual for one material in one kind of rim."""

    rim: RimPractice
    family: FamilyPractice


def edging_practice(*, material: str, rim: str) -> EdgingPractice:
    """Usual edge, cutting and finish of a lens.

    Parameters
    ----------
    material : str
        Id of a material in tables/materials.toml.
    rim : "full", "grooved" or "drilled"
        How the lens is held.

    Returns
    -------
    EdgingPractice
        What is usual, in words, each part with its source.

    Raises
    ------
    DomainError
        If the material or the rim is not in the table.

    Source
    ------
    tables/edging.toml, each row names its own.
    """
    families, rims = _families(), _rims()
    if not isinstance(material, str) or material not in families:
        raise DomainError("material", "An id of tables/materials.toml is expected.", material)
    if not isinstance(rim, str) or rim not in rims:
        raise DomainError("rim", f"One of {', '.join(rims)} is expected.", rim)
    return EdgingPractice(rims[rim], families[material])


@functools.cache
def _rims() -> Mapping[str, RimPractice]:
    return MappingProxyType({row["id"]: RimPractice(**row) for row in table("edging.toml")["rim"]})


@functools.cache
def _families() -> Mapping[str, FamilyPractice]:
    """The family of each material by the material's id."""
    rows = [FamilyPractice(**(row | {"materials": tuple(row["materials"])})) for row in table("edging.toml")["family"]]
    return MappingProxyType({material: row for row in rows for material in row.materials})
