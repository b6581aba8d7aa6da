"""The shop's list of finished blanks: what each row is, in which powers it comes, and when the list contradicts itself.

A finished blank is a round lens with both surfaces done; it is only cut to shape. A row stands for all the powers of one
kind and diameter. Powers are in minus-cylinder form; the total is sphere + cylinder, the power least plus.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Sequence

from pydantic import Field

from service.profile.fields import Section, limit

MOST_ROWS = 500


class FinishedBlank(Section):
    """Finished blanks of one kind and diameter. Powers in minus-cylinder form."""

    name: str = Field(
        min_length=1,
        max_length=60,
        description="The shop's own name for these blanks, each name once. Allowed: 1 to 60 characters.",
        json_schema_extra={"source": "house"},
    )
    material: str = Field(
        min_length=1,
        max_length=40,
        description="Material by its generic name. Allowed: 1 to 40 characters.",
        json_schema_extra={"source": "house"},
    )
    diameter_mm: float = limit("Diameter.", unit="mm", ge=20, le=120, source="common-practice")
    front_power_d: float | None = limit(
        "Power of the front surface (base curve). Left out: not known.",
        unit="D",
        ge=-10,
        le=30,
        source="common-practice",
        default=None,
    )
    sphere_least_d: float = limit("Lowest sphere in stock.", unit="D", ge=-40, le=40, source="common-practice")
    sphere_most_d: float = limit("Highest sphere in stock.", unit="D", ge=-40, le=40, source="common-practice")
    cylinder_most_d: float = limit(
        "Largest amount of the minus cylinder in stock; 0 for spheres only.",
        unit="D",
        ge=0,
        le=20,
        source="common-practice",
    )
    step_d: float = limit(
        "Step of spheres and cylinders, counted from 0.",
        unit="D",
        ge=0.01,
        le=1,
        source="common-practice",
        default=0.25,
    )
    total_least_d: float | None = limit(
        "Lowest sum of sphere and minus cylinder in stock. Left out: no such limit.",
        unit="D",
        ge=-60,
        le=40,
        source="common-practice",
        default=None,
    )
    total_most_d: float | None = limit(
        "Highest sum of sphere and minus cylinder in stock. Left out: no such limit.",
        unit="D",
        ge=-60,
        le=40,
        source="common-practice",
        default=None,
    )
    price: float | None = limit(
        "Price of one blank. Left out: not known.",
        unit="the shop's own money",
        ge=0,
        le=1_000_000,
        source="house",
        default=None,
    )
    centre_mm: float | None = limit(
        "Centre thickness of plus blanks. Left out: not known.",
        unit="mm",
        ge=0.5,
        le=40,
        source="common-practice",
        default=None,
    )
    top_marked: bool = Field(
        default=False,
        description="Whether the blank has a marked top (some aspheric and atoric designs); it may not be turned then.",
        json_schema_extra={"source": "common-practice"},
    )


def blank_faults(rows: Sequence[FinishedBlank], known: Collection[str]) -> Iterator[str]:
    """What no single key of a row shows, a sentence each. `known` holds the names of the materials."""
    for position, row in enumerate(rows):
        key = f"the key blanks.{position}"
        if row.material not in known:
            yield f"{key}.material names {row.material!r}, which is not a known material."
        if row.sphere_least_d > row.sphere_most_d:
            yield f"{key}.sphere_least_d ({row.sphere_least_d:g}) is larger than sphere_most_d ({row.sphere_most_d:g})."
        least, most = row.total_least_d, row.total_most_d
        if least is not None and most is not None and least > most:
            yield f"{key}.total_least_d ({least:g}) is larger than total_most_d ({most:g})."
    for name, count in Counter(row.name for row in rows).items():
        if count > 1:
            yield f"the key blanks lists the name {name!r} twice."
