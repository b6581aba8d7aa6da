"""Where the figures come from: one list of sources, each with an id that tables, formulas and rules cite.

A source says how good it is (`grade`: primary is the law, the standard, the paper or the data themselves) and
how it is known here (`mark`): "read" when the figure was read in it, "memory" when it is recalled, "practice"
when there is no paper behind it. There is no physics and no sign convention here.
"""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from types import MappingProxyType
from typing import Any, Literal

from optics_core.errors import DomainError


@dataclass(frozen=True, slots=True)
class Source:
    """One source: what it is, where it is, how good it is and how it is known here."""

    id: str
    title: str
    where: str
    grade: Literal["primary", "secondary", "tertiary", "none"]
    mark: Literal["read", "memory", "practice"]


def table(name: str) -> dict[str, Any]:
    """A table of this package as it stands in its file.

    Parameters
    ----------
    name : str
        File name within `tables`.

    Returns
    -------
    dict
        The table's contents.

    Raises
    ------
    FileNotFoundError
        If there is no such table.

    Source
    ------
    tables/sources.toml, and each row of the other tables names its own.
    """
    return tomllib.loads(resources.files(__package__).joinpath("tables", name).read_text(encoding="utf-8"))


@functools.cache
def sources() -> Mapping[str, Source]:
    """All sources by id, in the order of the table.

    Parameters
    ----------
    None

    Returns
    -------
    mapping of str to Source
        Read-only.

    Raises
    ------
    None

    Source
    ------
    tables/sources.toml.
    """
    rows = table("sources.toml")["source"]
    return MappingProxyType({row["id"]: Source(**row) for row in rows})


def source(id: str) -> Source:  # noqa: A002 - the word the table and the callers use
    """One source by its id.

    Parameters
    ----------
    id : str
        Id in tables/sources.toml.

    Returns
    -------
    Source
        The source.

    Raises
    ------
    DomainError
        If there is no source of that id.

    Source
    ------
    tables/sources.toml.
    """
    if not isinstance(id, str) or id not in sources():
        raise DomainError("id", "An id of tables/sources.toml is expected.", id)
    return sources()[id]
