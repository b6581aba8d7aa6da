"""What the reference endpoints answer: everything that the answers rest on."""

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field


@dataclass(slots=True)
class SourceReference:
    """A source: what it is, where, how good, and whether it was read."""

    id: str
    title: str
    where: str
    grade: Literal["primary", "secondary", "tertiary", "none"]
    mark: Annotated[Literal["read", "memory", "practice"], Field(description="Read, from memory, or common practice.")]


@dataclass(slots=True)
class MaterialReference:
    """A lens material under its generic name. Where sources differ, low and high give the range."""

    id: str
    name: str
    index_d: Annotated[float | None, Field(description="Refractive index at the d line.")]
    index_d_low: float | None
    index_d_high: float | None
    index_e: Annotated[float | None, Field(description="Refractive index at the e line.")]
    abbe: Annotated[float, Field(description="Abbe number.")]
    abbe_low: float
    abbe_high: float
    density_g_cm3: Annotated[float, Field(description="Density. Unit: g/cm³.", json_schema_extra={"unit": "g/cm³"})]
    density_low_g_cm3: Annotated[float, Field(description="Unit: g/cm³.", json_schema_extra={"unit": "g/cm³"})]
    density_high_g_cm3: Annotated[float, Field(description="Unit: g/cm³.", json_schema_extra={"unit": "g/cm³"})]
    impact_resistant: bool
    brittle: Annotated[bool, Field(description="Whether it breaks easily round a drilled hole.")]
    stocked_diameters_mm: Annotated[
        list[float], Field(description="Blanks in stock by the profile. Unit: mm.", json_schema_extra={"unit": "mm"})
    ]
    remark: str
    source: SourceReference
    mark: str


@dataclass(slots=True)
class Materials:
    """All materials known."""

    materials: list[MaterialReference]


@dataclass(slots=True)
class ToleranceRow:
    """One row of a tolerance table: for what, up to where, how much, and how well it is known."""

    section: Annotated[str, Field(description="Part of the table, such as sphere, cylinder, axis or prism_mounted.")]
    lens: Annotated[str | None, Field(description="Kind of lens, where the row is for one kind.")]
    quantity: Annotated[str | None, Field(description="What is limited, where the section holds several quantities.")]
    up_to: Annotated[
        dict[str, float],
        Field(
            description="Ends of the band, included; the unit is the last part of each name. The last band has none."
        ),
    ]
    limits: Annotated[
        dict[str, float], Field(description="What is allowed, either way; the unit is the last part of each name.")
    ]
    source: SourceReference
    mark: Annotated[
        Literal["read", "memory"], Field(description="Limits from memory only warn; they pass or fail no pair.")
    ]
    remark: Annotated[str | None, Field(description="What was taken where editions or sheets disagree.")]


@dataclass(slots=True)
class ToleranceTable:
    """The tolerances of one standard, by its year."""

    id: str
    standard: str
    year: Annotated[int, Field(description="Edition. Unit: year.", json_schema_extra={"unit": "year"})]
    cylinder_form: Annotated[str, Field(description="Form in which the two lenses are compared.")]
    governing_power: Annotated[str, Field(description="Power that chooses the band.")]
    least_cylinder_d: Annotated[
        float,
        Field(description="Cylinder from which the axis is judged. Unit: D.", json_schema_extra={"unit": "D"}),
    ]
    remark: Annotated[
        str | None, Field(description="What was taken where editions or standards disagree on all of it.")
    ]
    rows: list[ToleranceRow]


@dataclass(slots=True)
class Tolerances:
    """All standards that a pair can be judged by."""

    tables: list[ToleranceTable]


Scope = Literal[
    "request",
    "text",
    "fhir",
    "trace-file",
    "trace",
    "prescription",
    "order",
    "compare",
    "inspect",
    "inspect-many",
    "screen",
]


@dataclass(slots=True)
class RuleReference:
    """A rule: what it looks for, how grave it is, what it rests on, and its two texts with their blanks."""

    code: str
    severity: Literal["reject", "review", "note"]
    scope: Annotated[Scope, Field(description="What the rule looks at.")]
    about: str
    message: str
    customer_message: str
    source: SourceReference


@dataclass(slots=True)
class Rules:
    """All rules, in the order in which they are applied."""

    digest: str
    rules: list[RuleReference]


@dataclass(slots=True)
class ProfileKey:
    """One key of the profile."""

    key: str
    value: Any
    unit: str | None
    description: str
    set_by: Annotated[str, Field(description="Where the value came from.")]
    source: Annotated[SourceReference | None, Field(description="What the shipped value rests on.")]


@dataclass(slots=True)
class ProfileReference:
    """The profile in force."""

    name: str
    digest: str
    keys: list[ProfileKey]


@dataclass(slots=True)
class ProblemReference:
    """A kind of problem document."""

    code: str
    type: str
    status: int
    title: str
    description: str


@dataclass(slots=True)
class Problems:
    """All kinds of problem documents."""

    problems: list[ProblemReference]


@dataclass(slots=True)
class LimitReference:
    """A bound of the service."""

    name: str
    value: float
    unit: str
    description: str


@dataclass(slots=True)
class Limits:
    """All bounds of the service."""

    limits: list[LimitReference]


@dataclass(slots=True)
class Health:
    """Whether the service is well."""

    status: Literal["alive", "ready"]
    version: str
