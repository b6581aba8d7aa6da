"""The one list of rules. A family's rules are found in its file, in the order in which they stand there."""

import hashlib
from functools import cache
from types import ModuleType

from optics_core.sources import sources
from service.contract.answer import Finding
from service.facts import OrderFacts
from service.facts_prescription import PrescriptionFacts
from service.profile.loader import Limits
from service.rules import addition, blank, centration, dates, frame, power, prescription, pupil, request, vertex, wearer
from service.rules.request import RequestFacts
from service.rules.rule import Rule, Scope, findings

FAMILIES: tuple[ModuleType, ...] = (
    request,
    prescription,
    power,
    addition,
    dates,
    vertex,
    pupil,
    frame,
    blank,
    centration,
    wearer,
)
RULES: tuple[Rule, ...] = tuple(one for family in FAMILIES for one in vars(family).values() if isinstance(one, Rule))
_GRAVITY = {"reject": 0, "review": 1, "note": 2}


@cache
def rules_of(scope: Scope) -> tuple[Rule, ...]:
    """The rules of one scope, gravest first, otherwise in the order of the list."""
    return tuple(sorted((one for one in RULES if one.scope == scope), key=lambda one: _GRAVITY[one.severity]))


@cache
def source_words() -> dict[str, str]:
    """Each source in words, by its id."""
    return {name: f"{source.title} [{name}]" for name, source in sources().items()}


@cache
def digest() -> str:
    """Number of rules and digest of their list: changes when a rule's code, gravity, source or words change."""
    text = "\n".join(f"{one.code}|{one.severity}|{one.source}|{one.shop}|{one.customer}" for one in RULES)
    return f"{len(RULES)} rules ({hashlib.sha256(text.encode()).hexdigest()[:12]})"


def request_findings(facts: RequestFacts, limits: Limits) -> list[Finding]:
    """What keeps the request from being worked with."""
    return findings(rules_of("request"), facts, limits, source_words())


def prescription_findings(facts: PrescriptionFacts, limits: Limits) -> list[Finding]:
    """Everything noticed on a prescription by itself, gravest first."""
    return findings(rules_of("prescription"), facts, limits, source_words())


def order_findings(facts: OrderFacts, limits: Limits) -> list[Finding]:
    """Everything noticed on an order, gravest first."""
    found = prescription_findings(facts.rx, limits) + findings(rules_of("order"), facts, limits, source_words())
    if len(found) > 1:
        found.sort(key=lambda finding: _GRAVITY[finding.severity])
    return found
