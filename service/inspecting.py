"""Finished pairs against their orders. No web here, so that the command line and others can call it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from service import answers_inspection
from service.answers_saving import if_it_fails
from service.checking import ReadyOrder, cautions, decision, engine, found_within, judged, ready_order
from service.contract.answer import Assumption, Decision, Finding
from service.contract.inspect import InspectAnswer, InspectRequest, Result, Standard
from service.contract.order import PrescribedEye, StructuredPrescription
from service.facts import OrderFacts
from service.facts_inspection import InspectionFacts, inspection_facts
from service.facts_measured import measured_pair
from service.facts_prescription import EyePower, PrescriptionFacts, prescription_facts
from service.facts_saving import OpenOrder, saving_facts
from service.notation import line
from service.order_digest import order_digest
from service.profile.loader import Limits
from service.rules.registry import gravest_first, inspect_findings
from service.translate import prescription_values
from service.translate_measured import pair_readings
from service.values import EyeName

_IN_ORDER: Final = "/ordered"


@dataclass(frozen=True, slots=True)
class Inspected:
    """What an inspection found, before it is written as an answer."""

    ready: ReadyOrder
    order: OrderFacts | None
    ordered_decision: Decision
    facts: InspectionFacts
    findings: list[Finding]
    assumptions: list[Assumption]
    standard: Standard
    digest: str

    @property
    def result(self) -> Result:
        """Fail for a quantity beyond a limit that was read; review where a person must look; else pass."""
        if any(one.result == "fail" for one in self.facts.judged):
            return "fail"
        return "pass" if decision(self.findings) == "accept" else "review"


def inspect(request: InspectRequest, limits: Limits, today: date) -> InspectAnswer:
    """Judge a finished pair. `today` is the day taken where the order names none."""
    found = inspected(request, limits, today)
    saving = None
    if found.result == "fail" and found.order is not None:
        others = [_open_order(number, request, limits, today) for number in range(len(request.open_orders))]
        saving = if_it_fails(saving_facts(found.facts, found.order, others, found.ready.limits))
    return InspectAnswer(
        result=found.result,
        reference=request.ordered.reference,
        standard=found.standard,
        ordered_decision=found.ordered_decision,
        order_digest=found.digest,
        checks=answers_inspection.checks(found.facts),
        residual=answers_inspection.residuals(found.facts),
        likely_causes=answers_inspection.causes(found.facts),
        if_it_fails=saving,
        findings=found.findings,
        cautions=cautions(found.ready.limits),
        assumptions=found.assumptions,
        engine=engine(found.ready.limits),
    )


def inspected(request: InspectRequest, limits: Limits, today: date) -> Inspected:
    """Everything that an inspection finds, but for what may be saved of a pair that fails."""
    ready = ready_order(request.ordered, limits)
    limits = ready.limits
    result = judged(ready, today)
    standard = request.standard or limits.profile.tolerance.standard
    digest = order_digest(request.ordered)
    ordered, faulty = _powers_to_read(request, result.facts, limits)
    facts = inspection_facts(
        result.facts,
        ordered,
        measured_pair(pair_readings(request.measured)),
        standard=standard,
        ordered_decision=decision(result.findings),
        digest_differs=request.sheet_digest not in (None, digest),
        ordered_codes=tuple(dict.fromkeys(one.code for one in result.findings if one.severity == "review")),
        verification_faults=faulty,
    )
    found = inspect_findings(facts, limits)
    if result.facts is None:
        # Without an order that can be worked with, what keeps it from being so must not go unsaid.
        found = gravest_first([*found, *(found_within(one, _IN_ORDER) for one in result.findings)])
    return Inspected(
        ready=ready,
        order=result.facts,
        ordered_decision=decision(result.findings),
        facts=facts,
        findings=found,
        assumptions=_assumed(request, facts, result.assumptions),
        standard=standard,
        digest=digest,
    )


def _powers_to_read(
    request: InspectRequest, order: OrderFacts | None, limits: Limits
) -> tuple[PrescriptionFacts | None, tuple[EyeName, ...]]:
    """The powers that the readings are held against, and the eyes whose verification power cannot be used."""
    given = request.verification
    if order is None:
        return None, ()
    cut = _powers_known(order)
    if given.right is None and given.left is None:
        return cut, ()
    stand_in = PrescribedEye(sphere=0.0)
    stated = StructuredPrescription(right=given.right or stand_in, left=given.left or stand_in)
    facts = prescription_facts(prescription_values(stated, order.rx.as_of), limits)
    right = cut.right if given.right is None else _with_order(facts.right, cut.right)
    left = cut.left if given.left is None else _with_order(facts.left, cut.left)
    faulty = tuple(eye.eye for eye, own in ((right, given.right), (left, given.left)) if own and eye.optics is None)
    return replace(order.cut, right=right, left=left, eyes=(right, left)), faulty


def _powers_known(order: OrderFacts) -> PrescriptionFacts:
    """The powers to be made; none where the order has additions and does not say what they make of a pair for near.

    Without any addition the powers are taken as written: the check asks whether they are for that distance.
    """
    cut = order.cut
    follows = order.lens.use not in ("near", "intermediate") or (order.near is not None and order.near.cut)
    if follows or all(eye.add_d is None for eye in order.rx.eyes):
        return cut
    right, left = (replace(eye, optics=None) for eye in cut.eyes)
    return replace(cut, right=right, left=left, eyes=(right, left))


def _with_order(stated: EyePower, ordered: EyePower) -> EyePower:
    """The verification power; what it does not state of addition and prism stays as ordered."""
    if stated.prism is None:
        stated = replace(stated, prism=ordered.prism)
    return stated if stated.add_d is not None else replace(stated, add_d=ordered.add_d)


def _open_order(number: int, request: InspectRequest, limits: Limits, today: date) -> OpenOrder:
    """An order in which a lens might be used; one that the check rejects is left to a person, as are powers not settled."""
    order = request.open_orders[number]
    found = judged(ready_order(order, limits), today)
    facts = None if found.facts is None or decision(found.findings) == "reject" else found.facts
    return OpenOrder(number, order.reference, None if facts is None else replace(facts, cut=_powers_known(facts)))


def _assumed(request: InspectRequest, facts: InspectionFacts, of_order: Sequence[Assumption]) -> list[Assumption]:
    found = []
    if request.standard is None:
        reason = "No standard was named: that of the profile was taken."
        found.append(Assumption("/standard", facts.standard, reason))
    for eye, stated in (("right", request.verification.right), ("left", request.verification.left)):
        if stated is not None:
            reason = (
                "This lens was held against the verification power that was sent, and not against the power ordered."
            )
            shown = line(stated.sphere, stated.cylinder, stated.axis) + (", with prism" if stated.prism else "")
            found.append(Assumption(f"/verification/{eye}", shown, reason))
    for lens in (facts.pair.right, facts.pair.left) if facts.pair is not None else ():
        if lens.measured.power is not None and not lens.measured.cylinder_found:
            reason = "A sphere was read, and no cylinder: none was taken to be there."
            found.append(Assumption(f"/measured/{lens.eye}/cylinder", 0.0, reason))
    if facts.pair is not None and facts.pair.heights_assumed:
        reason = "No fitting heights were ordered for both eyes: the optical centres were expected at the same height."
        found.append(Assumption("/ordered/fitting_height_mm", "the same for both", reason))
    wanted = ("/pd_mm", "/lens/use", "/as_of")
    return found + [replace(one, pointer=_IN_ORDER + one.pointer) for one in of_order if one.pointer.startswith(wanted)]
