"""What a rule is, and how what it notices becomes a finding."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from service.contract.answer import Finding, Remedy, Severity
from service.contract.answer_fields import EyeName
from service.contract.reference import Scope
from service.languages import customer_text
from service.profile.loader import Limits

_NOTHING: Mapping[str, str] = {}


@dataclass(frozen=True, slots=True)
class Noticed:
    """What a rule noticed: where, the two figures compared, and the words that its texts need.

    `limit_key` names the profile's key that holds the limit; `source` replaces the rule's own where it depends on
    the profile. `is_amount` says that the two figures are amounts, shown without a sign.
    """

    pointer: str
    eye: EyeName | None = None
    value: float | str | None = None
    limit: float | str | None = None
    unit: str | None = None
    limit_key: str | None = None
    limit_from: str | None = None
    source: str | None = None
    span: tuple[int, int] | None = None
    is_amount: bool = False
    remedies: list[Remedy] = field(default_factory=list)
    words: Mapping[str, str] = field(default_factory=lambda: _NOTHING)


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule: its code, its gravity, what it rests on, its two texts and the function that looks."""

    code: str
    severity: Severity
    source: str
    scope: Scope
    shop: str
    customer: str
    look: Callable[[Any, Limits], Iterable[Noticed]]

    @property
    def about(self) -> str:
        """What the rule looks for: the first sentence of its function's docstring."""
        return (self.look.__doc__ or "").strip().splitlines()[0]


def rule(
    code: str, *, severity: Severity, source: str, shop: str, customer: str, scope: Scope = "order"
) -> Callable[[Callable[[Any, Limits], Iterable[Noticed]]], Rule]:
    """Make a rule of a function.

    The texts may name {value}, {limit}, {amount} (the limit without its sign), {eye} and the words that the rule adds.
    """

    def made(look: Callable[[Any, Limits], Iterable[Noticed]]) -> Rule:
        return Rule(code, severity, source, scope, shop, customer, look)

    return made


def remark_rule(
    code: str,
    severity: Severity,
    source: str,
    about: str,
    shop: str,
    customer: str,
    *,
    scope: Scope,
    noticed: Callable[[Any], Noticed],
) -> Rule:
    """A rule that gives its gravity and words to remarks of its own code; a reading has found their places."""

    def look(remarks: Iterable[Any], _: Limits) -> Iterable[Noticed]:
        return (noticed(remark) for remark in remarks if remark.code == code)

    look.__doc__ = about
    return Rule(code, severity, source, scope, shop, customer, look)


def findings(rules: Iterable[Rule], facts: Any, limits: Limits, sources: Mapping[str, str]) -> list[Finding]:
    """Everything the rules notice, in the order of the rules. `sources` gives the words of a source by its id."""
    return [_finding(one, noticed, limits, sources) for one in rules for noticed in one.look(facts, limits)]


def _finding(one: Rule, noticed: Noticed, limits: Limits, sources: Mapping[str, str]) -> Finding:
    value, limit = shown_apart(noticed.value, noticed.limit, noticed.unit, signed=not noticed.is_amount)
    eye = f"{noticed.eye} eye" if noticed.eye else ""
    words = {"value": value, "limit": limit, "amount": limit.lstrip("+-"), "eye": eye, **noticed.words}
    origin = noticed.limit_from if noticed.limit_key is None else limits.origin(noticed.limit_key)
    return Finding(
        code=one.code,
        severity=one.severity,
        eye=noticed.eye,
        pointer=noticed.pointer,
        message=one.shop.format_map(words),
        customer_message=customer_text(limits.language, one.code, one.customer, words),
        value=noticed.value,
        limit=noticed.limit,
        unit=noticed.unit,
        source=sources[noticed.source or one.source],
        limit_from=origin,
        remedies=noticed.remedies,
        span=None if noticed.span is None else list(noticed.span),
    )


def shown_apart(
    value: float | str | None, limit: float | str | None, unit: str | None, *, signed: bool = True
) -> tuple[str, str]:
    """Two figures in words, with as many decimals as it takes to tell them apart."""
    for decimals in range(2, 10):
        first, second = shown(value, unit, decimals, signed=signed), shown(limit, unit, decimals, signed=signed)
        if first != second or value == limit:
            break
    return first, second


def shown(value: float | str | None, unit: str | None, decimals: int = 2, *, signed: bool = True) -> str:
    """A figure as the trade writes it: powers with sign and two decimals, the rest without trailing noughts."""
    if value is None or isinstance(value, str):
        return value or ""
    value = round(value, decimals) + 0.0  # without the sign of a nought
    if unit == "D":
        return f"{value:+.{decimals}f} D" if signed else f"{value:.{decimals}f} D"
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    if unit is None:
        return text
    return f"{text}{unit}" if unit == "°" else f"{text} {unit}"
