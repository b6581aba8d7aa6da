"""The judgement of a finished pair as text for a person at a terminal."""

from collections.abc import Iterator

from service.contract.inspect import InspectAnswer, InspectCheck, ResidualPower
from service.quantities import quantity
from service.report import finding_lines, foot_lines
from service.rules.rule import shown

_HEADINGS = {"pass": "PASS by {}", "review": "REVIEW by {}: a person must look", "fail": "FAIL by {}"}
_RESULTS = {"pass": "pass", "fail": "FAIL", "warn": "WARN (limit from memory)", "not_judged": "not judged"}


def inspection_report(answer: InspectAnswer) -> str:
    """Result, likely causes, what a person must see, every quantity with its limit, residual powers, what can be saved."""
    return "\n".join(_lines(answer))


def _lines(answer: InspectAnswer) -> Iterator[str]:
    reference = f"{answer.reference}: " if answer.reference else ""
    yield f"{reference}{_HEADINGS[answer.result].format(answer.standard)}"
    if answer.likely_causes:  # first: a swapped pair has a finding for each figure of both lenses
        yield from ("", "Likely causes")
        yield from (f"  {cause.message}" for cause in answer.likely_causes)
    for finding in answer.findings:
        yield ""
        yield from finding_lines(finding)
    yield from ("", "Measured against the order")
    yield from (f"  {_check(one)}" for one in answer.checks)
    residual = answer.residual
    yield from ("", "Left uncorrected")
    for name, found in (("right", residual.right), ("left", residual.left), ("right less left", residual.between_eyes)):
        if found is not None:
            yield f"  {name:16}{_residual(found)}"
    saving = answer.if_it_fails
    if saving is not None:
        yield from ("", "What can be done")
        if saving.remake:
            yield f"  For this frame, make anew: {' and '.join(saving.remake)}."
        yield from (f"  {way.message}" for way in saving.ways)
        yield from (f"  {words}" for words in saving.not_worked_out)
    yield from foot_lines(answer.assumptions, answer.cautions, answer.engine)


def _check(one: InspectCheck) -> str:
    name = f"{one.eye or 'pair':6}{quantity(one.quantity).words}: "
    ordered = "" if one.ordered is None else f", ordered {shown(one.ordered, one.unit)}"
    limit = "" if one.limit is None else f", allowed {shown(one.limit, one.unit, signed=False)}"
    either = "" if one.either_or is None else f" or {shown(one.either_or.limit, one.either_or.unit, signed=False)}"
    share = "" if one.share_of_limit is None else f", {100 * one.share_of_limit:.0f} % of it"
    several = (
        "" if one.spread is None else f" (mean of {one.readings}, {shown(one.spread, one.unit, signed=False)} apart)"
    )
    return f"{name}{shown(one.measured, one.unit)}{several}{ordered}{limit}{either}{share}: {_RESULTS[one.result]}"


def _residual(found: ResidualPower) -> str:
    return f"{found.notation}, {found.length:.2f} D as one figure"
