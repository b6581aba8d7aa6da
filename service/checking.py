"""The main job: an order in, an answer out. No web here, so that the command line and others can call it."""

from collections.abc import Iterable
from datetime import date
from functools import cache
from importlib.metadata import version

from service import answers
from service.cautions import CAUTIONS
from service.contract.answer import Assumption, Caution, CheckAnswer, Decision, Engine, Finding, ReadAnswer
from service.contract.order import Order, ReadRequest, WrittenPrescription
from service.facts import order_facts
from service.facts_prescription import prescription_facts
from service.profile.loader import Limits, ProfileError, overridden
from service.profile.model import ProfileOverride
from service.rules.registry import digest, order_findings, prescription_findings, request_findings, source_words
from service.rules.request import RequestFacts
from service.translate import judged_on, order_values, prescription_values


def check(order: Order, limits: Limits, today: date) -> CheckAnswer:
    """Check an order. `today` is the day taken where the order names none."""
    limits, fault = _with_overrides(limits, order.profile)
    prescription = order.prescription
    if isinstance(prescription, WrittenPrescription) or fault is not None:
        return _check_answer(order, limits, _not_workable(isinstance(prescription, WrittenPrescription), fault, limits))
    translated = order_values(order, prescription, limits, today)
    facts = order_facts(translated.values, limits)
    found = order_findings(facts, limits)
    return CheckAnswer(
        decision=decision(found),
        reference=order.reference,
        prescription=answers.prescription(facts.rx),
        fit=answers.fit(facts),
        prism=answers.prism(facts, limits),
        vertex=answers.vertex(facts),
        findings=found,
        cautions=cautions(limits),
        assumptions=list(translated.assumptions),
        engine=engine(limits),
    )


def read(request: ReadRequest, limits: Limits, today: date) -> ReadAnswer:
    """Read a prescription by itself."""
    limits, fault = _with_overrides(limits, request.profile)
    prescription = request.prescription
    if isinstance(prescription, WrittenPrescription) or fault is not None:
        found = _not_workable(isinstance(prescription, WrittenPrescription), fault, limits)
        return ReadAnswer(decision(found), None, None, found, cautions(limits), [], engine(limits))
    assumptions: list[Assumption] = []
    facts = prescription_facts(prescription_values(prescription, judged_on(request.as_of, today, assumptions)), limits)
    found = prescription_findings(facts, limits)
    return ReadAnswer(
        decision=decision(found),
        prescription=answers.prescription(facts),
        read_as=answers.read_as(facts),
        findings=found,
        cautions=cautions(limits),
        assumptions=assumptions,
        engine=engine(limits),
    )


def decision(found: Iterable[Finding]) -> Decision:
    """The gravest severity found; nothing graver than a note is acceptance."""
    severities = {finding.severity for finding in found}
    if "reject" in severities:
        return "reject"
    return "review" if "review" in severities else "accept"


def cautions(limits: Limits) -> list[Caution]:
    """The cautions that the profile chooses."""
    words = source_words()
    chosen = (CAUTIONS[code] for code in limits.profile.cautions.codes)
    return [Caution(text.code, text.message, words[text.source]) for text in chosen]


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


def _not_workable(is_written: bool, fault: str | None, limits: Limits) -> list[Finding]:
    return request_findings(RequestFacts(is_written=is_written, profile_fault=fault), limits)


def _check_answer(order: Order, limits: Limits, found: list[Finding]) -> CheckAnswer:
    return CheckAnswer(
        decision=decision(found),
        reference=order.reference,
        prescription=None,
        fit=None,
        prism=None,
        vertex=None,
        findings=found,
        cautions=cautions(limits),
        assumptions=[],
        engine=engine(limits),
    )
