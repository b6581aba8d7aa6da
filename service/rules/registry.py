"""The one list of rules. A family's rules are found in its file, in the order in which they stand there."""

import hashlib
from collections.abc import Iterator
from functools import cache
from types import ModuleType

from optics_core.sources import sources
from service.contract.answer import Finding
from service.contract.reference import Scope
from service.facts import OrderFacts
from service.facts_batch import BatchFacts
from service.facts_inspection import InspectionFacts
from service.facts_prescription import PrescriptionFacts
from service.facts_trace import TraceFacts
from service.profile.loader import Limits
from service.reading.fhir_remarks import FhirRemark
from service.reading.text_reading import Remark
from service.reading.trace_remarks import TraceRemark
from service.rules import (
    addition,
    batch,
    blank,
    bulk,
    catalogue,
    centration,
    compare,
    dates,
    fhir,
    frame,
    inspection,
    inspection_doubts,
    near,
    placement,
    power,
    prescription,
    pupil,
    reading_part,
    request,
    stock,
    text,
    thickness,
    trace,
    trace_file,
    vertex,
    wearer,
    worn,
)
from service.rules.catalogue import ScreenFacts
from service.rules.compare import CompareFacts
from service.rules.request import RequestFacts
from service.rules.rule import Rule, findings

FAMILIES: tuple[ModuleType, ...] = (
    request,
    text,
    fhir,
    trace_file,
    prescription,
    power,
    addition,
    dates,
    vertex,
    worn,
    pupil,
    near,
    reading_part,
    frame,
    trace,
    blank,
    stock,
    placement,
    thickness,
    bulk,
    centration,
    wearer,
    compare,
    inspection,
    inspection_doubts,
    batch,
    catalogue,
)


def _rules_in(family: ModuleType) -> Iterator[Rule]:
    for value in vars(family).values():
        if isinstance(value, Rule):
            yield value
        elif isinstance(value, tuple):
            yield from (one for one in value if isinstance(one, Rule))


RULES: tuple[Rule, ...] = tuple(one for family in FAMILIES for one in _rules_in(family))
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


def text_findings(remarks: tuple[Remark, ...], limits: Limits) -> list[Finding]:
    """What was inferred, set aside or not understood in a written prescription."""
    return findings(rules_of("text"), remarks, limits, source_words())


def fhir_findings(remarks: tuple[FhirRemark, ...], limits: Limits) -> list[Finding]:
    """What was refused, taken otherwise or set aside in a FHIR document."""
    return findings(rules_of("fhir"), remarks, limits, source_words())


def trace_file_findings(remarks: tuple[TraceRemark, ...], limits: Limits) -> list[Finding]:
    """What was refused, taken or set aside in a trace file."""
    return findings(rules_of("trace-file"), remarks, limits, source_words())


def prescription_findings(facts: PrescriptionFacts, limits: Limits) -> list[Finding]:
    """Everything noticed on a prescription by itself."""
    return findings(rules_of("prescription"), facts, limits, source_words())


def order_findings(facts: OrderFacts, limits: Limits) -> list[Finding]:
    """Everything noticed on an order."""
    found = prescription_findings(facts.rx, limits)
    if facts.trace is not None:
        found += trace_findings(facts.trace, limits)
    return found + findings(rules_of("order"), facts, limits, source_words())


def trace_findings(facts: TraceFacts, limits: Limits) -> list[Finding]:
    """Everything noticed on the traced outlines of an order."""
    return findings(rules_of("trace"), facts, limits, source_words())


def compare_findings(facts: CompareFacts, limits: Limits) -> list[Finding]:
    """Everything noticed on a comparison itself."""
    return findings(rules_of("compare"), facts, limits, source_words())


def inspect_findings(facts: InspectionFacts, limits: Limits) -> list[Finding]:
    """Everything noticed on a finished pair."""
    return findings(rules_of("inspect"), facts, limits, source_words())


def batch_findings(facts: BatchFacts, limits: Limits) -> list[Finding]:
    """Everything noticed on a batch of finished pairs."""
    return findings(rules_of("inspect-many"), facts, limits, source_words())


def screen_findings(facts: ScreenFacts, limits: Limits) -> list[Finding]:
    """Everything noticed on the catalogue of a screening."""
    return findings(rules_of("screen"), facts, limits, source_words())


def gravest_first(found: list[Finding]) -> list[Finding]:
    """The same findings, gravest first, otherwise in their order."""
    return sorted(found, key=lambda finding: _GRAVITY[finding.severity])
