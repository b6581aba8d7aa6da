"""The main job: an order in, an answer out. No web here, so that the command line and others can call it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from importlib.metadata import version
from typing import Any

from service import answers, answers_fit, answers_near, answers_stock, answers_thickness, answers_worn
from service.cautions import CAUTIONS
from service.contract.answer import Assumption, Caution, CheckAnswer, Decision, Engine, Finding, ReadAnswer
from service.contract.order import NearPupillaryDistance, Order, PupillaryDistance, ReadRequest
from service.facts import OrderFacts, order_facts
from service.facts_kept import Kept
from service.facts_prescription import prescription_facts
from service.languages import caution_text
from service.prescription_source import FHIR_POINTER, PrescriptionSource, prescription_of
from service.profile.loader import Limits, ProfileError, overridden
from service.profile.model import ProfileOverride
from service.reading.fhir_write import NotWritableError, fhir_document, not_carried
from service.rules.registry import (
    digest,
    fhir_findings,
    gravest_first,
    order_findings,
    prescription_findings,
    request_findings,
    source_words,
    text_findings,
)
from service.rules.request import RequestFacts
from service.translate import judged_on, order_values, prescription_values


@dataclass(frozen=True, slots=True)
class ReadyOrder:
    """An order whose prescription was read and whose overrides are in force, as far as that could be done."""

    order: Order
    source: PrescriptionSource
    limits: Limits
    fault: str | None
    assumed: tuple[Assumption, ...]

    @property
    def workable(self) -> bool:
        """Whether there is anything to judge."""
        return self.source.structured is not None and self.fault is None


@dataclass(frozen=True, slots=True)
class Judged:
    """What the rules say of an order, gravest first. `facts` is None where it could not be worked with."""

    facts: OrderFacts | None
    findings: list[Finding]
    assumptions: list[Assumption]


@dataclass(frozen=True, slots=True)
class Checked:
    """An answer, the facts that it rests on, None where the order could not be worked with, and the limits in force for it."""

    answer: CheckAnswer
    facts: OrderFacts | None
    limits: Limits


def check(order: Order, limits: Limits, today: date) -> CheckAnswer:
    """Check an order. `today` is the day taken where the order names none."""
    return checked_order(order, limits, today).answer


def ready_order(order: Order, limits: Limits) -> ReadyOrder:
    """An order made ready to be judged."""
    limits, fault = _with_overrides(limits, order.profile)
    source = prescription_of(order.prescription).with_pd_judged(order.pd_mm, limits.profile.pd.sum_differs_mm)
    order, assumed = _with_pd_of_text(order, source)
    return ReadyOrder(order, source, limits, fault, tuple(assumed))


def judged(ready: ReadyOrder, today: date, kept: Kept | None = None) -> Judged:
    """What the rules say of an order. `kept` is shared by orders alike but for material and blank."""
    structured, limits = ready.source.structured, ready.limits
    if structured is None or ready.fault is not None:
        return Judged(None, _not_workable(ready.source, ready.fault, limits), [])
    translated = order_values(ready.order, structured, limits, today)
    facts = order_facts(translated.values, limits, kept)
    assumed = answers_fit.settled_assumptions([*ready.assumed, *translated.assumptions], facts)
    assumptions = [*assumed, *answers_stock.assumed_blanks(facts), *answers_thickness.assumed_supply(facts)]
    return Judged(facts, _found(ready.source, order_findings(facts, limits), limits), assumptions)


def checked_order(order: Order, limits: Limits, today: date) -> Checked:
    """The same, with the facts beside it."""
    ready = ready_order(order, limits)
    limits, result = ready.limits, judged(ready, today)
    facts, found, assumptions = result.facts, result.findings, result.assumptions
    answer = CheckAnswer(
        decision=decision(found),
        reference=order.reference,
        prescription=None if facts is None else answers.prescription(facts.rx),
        fit=None if facts is None else answers_fit.fit(facts),
        prism=None if facts is None else answers.prism(facts),
        vertex=None if facts is None else answers.vertex(facts),
        as_worn=None if facts is None else answers_worn.as_worn(facts.worn),
        magnification=None if facts is None else answers_worn.magnification(facts.magnification),
        near=None if facts is None else answers_near.near(facts.near, limits),
        thickness=None if facts is None else answers_thickness.thickness(facts, with_profile=order.edge_profile),
        stock=None if facts is None else answers_stock.stock(facts),
        findings=found,
        cautions=cautions(limits),
        assumptions=assumptions,
        engine=engine(limits),
    )
    return Checked(answer, facts, limits)


def read(request: ReadRequest, limits: Limits, today: date) -> ReadAnswer:
    """Read a prescription by itself."""
    limits, fault = _with_overrides(limits, request.profile)
    source = prescription_of(request.prescription)
    assumptions: list[Assumption] = []
    facts = None
    if source.structured is None or fault is not None:
        found = _not_workable(source, fault, limits)
    else:
        as_of = judged_on(request.as_of, today, assumptions)
        facts = prescription_facts(prescription_values(source.structured, as_of), limits)
        found = _found(source, prescription_findings(facts, limits), limits)
    decided = decision(found)
    return ReadAnswer(
        decision=decided,
        prescription=None if facts is None else answers.prescription(facts),
        # A text that was not understood has no canonical line.
        read_as=None if facts is None or decided == "reject" else answers.read_as(facts, source.structured),
        pd_mm=answers.pd(source.written),
        vertex_distance_mm=None if source.structured is None else source.structured.vertex_distance_mm,
        spans=answers.spans(source.written),
        findings=found,
        cautions=cautions(limits),
        assumptions=assumptions,
        engine=engine(limits),
    )


def as_fhir(request: ReadRequest, answer: ReadAnswer, today: date) -> dict[str, Any]:
    """The prescription of a request as a FHIR document, with notes on what is doubtful and what FHIR does not hold.

    Raises NotWritableError, saying why, if there is no prescription or FHIR cannot hold it.
    """
    source = prescription_of(request.prescription)
    if source.structured is None:
        raise NotWritableError(["The prescription was not understood. Ask for application/json to see the findings."])
    notes = not_carried(source.structured, pd=source.written is not None and source.written.pd is not None)
    doubts = [finding.message for finding in answer.findings if finding.severity == "review"]
    return fhir_document(source.structured, as_of=request.as_of or today, notes=doubts + notes)


def decision(found: Iterable[Finding]) -> Decision:
    """The gravest severity found; nothing graver than a note is acceptance."""
    severities = {finding.severity for finding in found}
    if "reject" in severities:
        return "reject"
    return "review" if "review" in severities else "accept"


def found_within(found: Finding, place: str) -> Finding:
    """A finding on an order, with its places as they are in a request that holds the order at `place`, a JSON Pointer."""
    remedies = [replace(remedy, pointer=place + remedy.pointer) for remedy in found.remedies]
    return replace(found, pointer=place + found.pointer, remedies=remedies)


def cautions(limits: Limits) -> list[Caution]:
    """The cautions that the profile chooses."""
    words = source_words()
    chosen = (CAUTIONS[code] for code in limits.profile.cautions.codes)
    return [
        Caution(text.code, caution_text(limits.language, text.code, text.message), words[text.source])
        for text in chosen
    ]


def engine(limits: Limits) -> Engine:
    """What produced the answer."""
    return Engine(version=own_version(), rules=digest(), profile=limits.label)


@cache
def own_version() -> str:
    """The version of this installation."""
    return version("benchgate")


def _with_overrides(limits: Limits, override: ProfileOverride | None) -> tuple[Limits, str | None]:
    try:
        return overridden(limits, override), None
    except ProfileError as error:
        return limits, str(error)


def _with_pd_of_text(order: Order, source: PrescriptionSource) -> tuple[Order, list[Assumption]]:
    """An order whose PD stands in the written prescription only."""
    if source.written is None or source.written.pd is None or order.pd_mm.model_fields_set:
        return order, []
    text = source.written.pd
    near = None if text.near is None else NearPupillaryDistance(both=text.near)
    taken = PupillaryDistance(right=text.right, left=text.left, both=text.both, near=near)
    assumed = Assumption("/pd_mm", source.text[slice(*text.span)], "The PD was taken from the written prescription.")
    return order.model_copy(update={"pd_mm": taken}), [assumed]


def _found(source: PrescriptionSource, found: list[Finding], limits: Limits) -> list[Finding]:
    return gravest_first(_said_of_source(source, limits) + [source.placed(finding) for finding in found])


def _not_workable(source: PrescriptionSource, fault: str | None, limits: Limits) -> list[Finding]:
    found = request_findings(RequestFacts(profile_fault=fault), limits)
    return gravest_first(found + _said_of_source(source, limits))


def _said_of_source(source: PrescriptionSource, limits: Limits) -> list[Finding]:
    if source.fhir is not None:
        found = fhir_findings(source.fhir.remarks, limits)
        return [replace(finding, pointer=FHIR_POINTER + finding.pointer) for finding in found]
    return [] if source.written is None else text_findings(source.written.remarks, limits)
