"""Answers as objects, made from whatever JSON came: a newer service may say more, and an older one less.

A member that is not known here is kept in `more`; one that is missing is None, or an empty tuple. Texts such as codes and
decisions are taken as they are. `document` is the answer as it was received. Lengths in mm, powers in D, angles in °.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

Json = Mapping[str, Any]
T = TypeVar("T", bound="Tolerant")


@dataclass(frozen=True)
class Tolerant:
    """What every part of an answer has."""

    more: Json = field(default_factory=dict, repr=False, kw_only=True)
    document: Json = field(default_factory=dict, repr=False, compare=False, kw_only=True)


@dataclass(frozen=True)
class Remedy(Tolerant):
    """A change that would take a finding away."""

    pointer: str | None = None
    at_least: float | None = None
    at_most: float | None = None
    one_of: tuple[Any, ...] = ()


@dataclass(frozen=True)
class Finding(Tolerant):
    """One thing that was noticed."""

    code: str | None = None
    severity: str | None = None
    eye: str | None = None
    pointer: str | None = None
    message: str | None = None
    customer_message: str | None = None
    value: Any = None
    limit: Any = None
    unit: str | None = None
    source: str | None = None
    limit_from: str | None = None
    remedies: tuple[Remedy, ...] = ()
    span: tuple[Any, ...] = ()


@dataclass(frozen=True)
class Caution(Tolerant):
    """A caution that stands on every answer."""

    code: str | None = None
    message: str | None = None
    source: str | None = None


@dataclass(frozen=True)
class Assumption(Tolerant):
    """A default that was used."""

    pointer: str | None = None
    value: Any = None
    reason: str | None = None


@dataclass(frozen=True)
class Engine(Tolerant):
    """What produced the answer."""

    version: str | None = None
    rules: str | None = None
    profile: str | None = None


@dataclass(frozen=True)
class EyeReading(Tolerant):
    """One eye's prescription as it was understood; its other forms stand in `more`."""

    notation: str | None = None
    spherical_equivalent: float | None = None
    add: float | None = None


@dataclass(frozen=True)
class Prescription(Tolerant):
    """The prescription as it was understood."""

    right: EyeReading | None = None
    left: EyeReading | None = None


@dataclass(frozen=True)
class Decentration(Tolerant):
    """From the boxed centre to the pupil. `in_` is the member `in`, a word of the language."""

    in_: float | None = None
    up: float | None = None


@dataclass(frozen=True)
class Blank(Tolerant):
    """Bounds on the least blank diameter."""

    at_least: float | None = None
    expected: float | None = None
    at_most: float | None = None
    basis: str | None = None


@dataclass(frozen=True)
class EyeFit(Tolerant):
    """How one lens sits in the frame and on its blank; placement, slack and outline stand in `more`."""

    pd_mm: float | None = None
    decentration_mm: Decentration | None = None
    minimum_blank_mm: Blank | None = None
    blank_mm: float | None = None
    margin_mm: float | None = None


@dataclass(frozen=True)
class Fit(Tolerant):
    """How the pair sits in the frame."""

    frame_pd_mm: float | None = None
    right: EyeFit | None = None
    left: EyeFit | None = None


@dataclass(frozen=True)
class Answer(Tolerant):
    """What all answers have. `request_id` names the request in the log of the service."""

    findings: tuple[Finding, ...] = ()
    cautions: tuple[Caution, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    engine: Engine | None = None
    request_id: str = field(default="", kw_only=True)


@dataclass(frozen=True)
class CheckAnswer(Answer):
    """Answer of a check; prism, thickness, near work, stock and the rest stand in `more`."""

    decision: str | None = None
    reference: str | None = None
    prescription: Prescription | None = None
    fit: Fit | None = None


@dataclass(frozen=True)
class ReadAnswer(Answer):
    """Answer of the reading of a prescription."""

    decision: str | None = None
    prescription: Prescription | None = None
    read_as: str | None = None


@dataclass(frozen=True)
class CompareAnswer(Answer):
    """Answer of a comparison; its rows as they came."""

    decision: str | None = None
    rows: tuple[Any, ...] = ()


@dataclass(frozen=True)
class InspectAnswer(Answer):
    """Answer of an inspection; its checks as they came."""

    result: str | None = None
    checks: tuple[Any, ...] = ()


@dataclass(frozen=True)
class Fault(Tolerant):
    """One fault of a request."""

    code: str | None = None
    message: str | None = None
    pointer: str | None = None
    parameter: str | None = None
    line: int | None = None
    column: int | None = None


@dataclass(frozen=True)
class Problem(Tolerant):
    """Why there is no answer (RFC 9457)."""

    type: str | None = None
    title: str | None = None
    status: int | None = None
    detail: str | None = None
    instance: str | None = None
    request_id: str = ""
    errors: tuple[Fault, ...] = ()

    @property
    def decision(self) -> str:
        """What stands in place of a decision where an order could not be read."""
        return "unreadable"

    @property
    def findings(self) -> tuple[Fault, ...]:
        """The faults, so that answers and problems can be listed alike."""
        return self.errors

    @property
    def code(self) -> str:
        """The kind of problem, as in "unreadable-request"."""
        return (self.type or "").rpartition("#")[2]


def built(kind: type[T], document: Json, **more: Any) -> T:
    """An object of that kind from a JSON object, whatever else it holds and whatever it lacks."""
    known = _members(kind)  # type: ignore[arg-type]
    members = {
        known[name][0]: _value(known[name][1], value)
        for name, value in document.items()
        if name in known and value is not None
    }
    unknown = {name: value for name, value in document.items() if name not in known}
    return kind(**{**members, **more}, more=unknown, document=document)


@cache
def _members(kind: Any) -> dict[str, tuple[str, Any]]:
    """Name in JSON to the name of the field and its type."""
    hints = get_type_hints(kind)
    return {
        one.name.removesuffix("_"): (one.name, hints[one.name])
        for one in fields(kind)
        if one.name not in ("more", "document")
    }


def _value(hint: Any, value: Any) -> Any:
    """A value as its field has it; where it is of another kind than was known here, as it came."""
    if get_origin(hint) in (Union, UnionType):
        hint = next(choice for choice in get_args(hint) if choice is not type(None))
    if get_origin(hint) is tuple:
        inner = get_args(hint)[0]
        return tuple(_value(inner, one) for one in value) if isinstance(value, list) else (value,)
    if isinstance(hint, type) and issubclass(hint, Tolerant) and isinstance(value, Mapping):
        return built(hint, value)
    return value
