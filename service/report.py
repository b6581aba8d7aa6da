"""An answer as text for a person at a terminal."""

from collections.abc import Iterator
from typing import Any

from service.contract.answer import (
    Assumption,
    Caution,
    CheckAnswer,
    Engine,
    EyeFit,
    EyeReading,
    Finding,
    ReadAnswer,
    Remedy,
)
from service.contract.near import EyeNear
from service.contract.thickness import EyeThicknessAnswer
from service.web.problems import FieldError
from service.words import height

_OUTLINES = {"trace": "traced", "modelled": "modelled"}
_HEADINGS = {"accept": "ACCEPT", "review": "REVIEW: a person must look", "reject": "REJECT"}


def report(answer: CheckAnswer | ReadAnswer) -> str:
    """Decision, reasons with figures and sources, the prescription as read, the fit, assumptions, cautions."""
    return "\n".join(_lines(answer))


def fault_report(detail: str, faults: tuple[FieldError, ...]) -> str:
    """Why an order could not be read, a line for each fault."""
    if not faults:
        return detail
    return "\n".join(_fault(fault) for fault in faults)


def _lines(answer: CheckAnswer | ReadAnswer) -> Iterator[str]:
    reference = f"{answer.reference}: " if isinstance(answer, CheckAnswer) and answer.reference else ""
    yield f"{reference}{_HEADINGS[answer.decision]}"
    for finding in answer.findings:
        yield ""
        yield from finding_lines(finding)
    if read := [*_read_lines(answer)]:
        yield from ("", "Read as", *read)
    if isinstance(answer, CheckAnswer):
        yield from _fit_lines(answer)
    elif answer.read_as is not None:
        yield from ("", f"Canonical line: {answer.read_as}")
    yield from foot_lines(answer.assumptions, answer.cautions, answer.engine)


def foot_lines(assumptions: list[Assumption], cautions: list[Caution], engine: Engine) -> Iterator[str]:
    """What every report ends with: assumptions, cautions, and what made it."""
    if assumptions:
        yield ""
        yield "Assumed"
        yield from (f"  {taken.pointer} = {_assumed(taken.value)}  {taken.reason}" for taken in assumptions)
    yield ""
    yield "Cautions"
    yield from (f"  {caution.message}" for caution in cautions)
    yield ""
    yield f"benchgate {engine.version}; {engine.rules}; profile: {engine.profile}"


def _read_lines(answer: CheckAnswer | ReadAnswer) -> Iterator[str]:
    if answer.prescription is not None:
        yield from (f"  {name:6}{_eye(eye)}" for name, eye in _both(answer.prescription))
    if isinstance(answer, CheckAnswer):
        return  # an order holds its own PD; one taken from its text is told as assumed
    pd = answer.pd_mm
    if pd is not None:
        given = (("right", pd.right), ("left", pd.left), ("both", pd.both), ("near", pd.near))
        yield f"  {'PD':6}{', '.join(f'{name} {_plain(mm)} mm' for name, mm in given if mm is not None)}"
    if answer.vertex_distance_mm is not None:
        yield f"  vertex distance {_plain(answer.vertex_distance_mm)} mm"


def _fit_lines(answer: CheckAnswer) -> Iterator[str]:
    if answer.fit is not None and (answer.fit.right or answer.fit.left):
        yield from ("", f"Fit (frame PD {round(answer.fit.frame_pd_mm, 2):g} mm)")
        yield from (f"  {name:6}{_fit(fit)}" for name, fit in _both(answer.fit) if fit is not None)
    if answer.thickness is not None and (answer.thickness.right or answer.thickness.left):
        yield from ("", "Lenses as bodies")
        yield from (f"  {name:6}{_body(body)}" for name, body in _both(answer.thickness) if body is not None)
    if answer.as_worn is not None:
        yield from ("", f"As worn (tilt {answer.as_worn.pantoscopic_deg:g}°, wrap {answer.as_worn.face_form_deg:g}°)")
        for name, worn in _both(answer.as_worn):
            if worn is not None:
                order = worn.to_order if worn.to_order_traced is None else worn.to_order_traced
                yield f"  {name:6}to order {order.notation}, a change of {worn.change:.2f} D. Not applied."
                if worn.to_order_lowered is not None:
                    lowered = worn.to_order_lowered.notation
                    yield f"        or {lowered} with the optical centre moved for the tilt: one of the two"
                if worn.wrap_prism is not None:
                    prism = worn.wrap_prism
                    made, undone = ("out", "in") if prism.induced >= 0 else ("in", "out")
                    amount = f"{abs(prism.induced):.2f} Δ base"
                    yield f"        the wrap makes {amount} {made}, undone by as much base {undone}"
                if worn.centre_drop_mm is not None:
                    drop = worn.centre_drop_mm
                    yield f"        optical centre {drop.exact_mm:.1f} mm below the pupil for the tilt"
    if answer.near is not None:
        yield from ("", f"Near, at {answer.near.working_distance_mm:g} mm")
        yield from (f"  {name:6}{_near(near)}" for name, near in _both(answer.near) if near is not None)
    if answer.stock is not None:
        yield from ("", "From the list of finished blanks")
        for name, stock in _both(answer.stock):
            if stock is not None:
                yield f"  {name:6}{'none makes it' if stock.best is None else stock.best}"
    if answer.vertex is not None:
        distances = f"{answer.vertex.worn_mm:g} mm (refracted at {answer.vertex.refracted_mm:g} mm)"
        yield from ("", f"For the same effect at {distances}")
        for name, worn in _both(answer.vertex):
            if worn is not None:
                yield f"  {name:6}{worn.notation}, a change of {worn.change:.2f} D. Not applied."


def _both(pair: Any) -> tuple[tuple[str, Any], tuple[str, Any]]:
    return ("right", pair.right), ("left", pair.left)


def finding_lines(finding: Finding) -> Iterator[str]:
    """One finding: what it is, where, what would help, what it rests on."""
    yield f"[{finding.severity}] {finding.code}  {finding.pointer}"
    yield f"  {finding.message}"
    if finding.remedies:
        yield f"  One of these would do: {'; '.join(_remedy(remedy) for remedy in finding.remedies)}."
    limit = f"; limit: {finding.limit_from}" if finding.limit_from else ""
    yield f"  Source: {finding.source}{limit}"


def _remedy(remedy: Remedy) -> str:
    if remedy.one_of is not None:
        return f"{remedy.pointer} one of {', '.join(_plain(choice) for choice in remedy.one_of)}"
    least, most = remedy.at_least, remedy.at_most
    if least is not None and least == most:
        return f"{remedy.pointer} = {least:g}"
    bounds = [f"≥ {least:g}" if least is not None else "", f"≤ {most:g}" if most is not None else ""]
    return f"{remedy.pointer} {' and '.join(bound for bound in bounds if bound)}"


def _eye(eye: EyeReading) -> str:
    minus = "" if eye.minus_cylinder is None else f"   spherical equivalent {eye.spherical_equivalent:+.3f} D"
    add = "" if eye.add is None else f"   add {eye.add:+.2f}"
    prism = "" if eye.prism is None else f"   prism {eye.prism.amount:g} Δ base {eye.prism.base:g}°"
    return f"{eye.notation}{add}{prism}{minus}"


def _fit(fit: EyeFit) -> str:
    shift = fit.decentration_mm
    sideways = f"{abs(shift.in_):.2f} {'in' if shift.in_ >= 0 else 'out'}"
    upward = "" if shift.up is None else f", {abs(shift.up):.2f} {'up' if shift.up >= 0 else 'down'}"
    text = f"decentration {sideways}{upward} mm"
    if fit.minimum_blank_mm is not None:
        blank = fit.minimum_blank_mm
        if blank.basis == "trace":
            text += f"; blank needed {blank.expected:.2f} mm by the trace"
        else:
            text += f"; blank needed {blank.at_least:.2f} to {blank.at_most:.2f} mm (expected {blank.expected:.2f})"
    if fit.blank_mm is not None and fit.margin_mm is not None:
        text += f"; blank {fit.blank_mm:g} mm, guaranteed margin {fit.margin_mm:.2f} mm"
    if fit.tightest is not None:
        tight = fit.tightest
        text += f"; tightest {tight.margin_mm:.2f} mm on the radius, {tight.side}, {height(tight.above_deg)}"
    return text


def _body(body: EyeThicknessAnswer) -> str:
    if body.centre_mm is None or body.edge_mm is None:
        return "no such lens"
    thin, thick = body.edge_mm.thinnest, body.edge_mm.thickest
    text = (
        f"centre {body.centre_mm:.2f} mm, edge {thin.mm:.2f} to {thick.mm:.2f} mm (thickest at {thick.angle_deg:.0f}°)"
    )
    if body.inside is not None:
        text += f", {body.inside.mm:.2f} mm at its thinnest place inside"
    weight = "" if body.weight_g is None else f", {body.weight_g:.1f} g"
    shows = "" if body.shows is None else f", {body.shows.behind_mm:.2f} mm behind the rim"
    return f"{text}{weight}{shows}; front {body.front_power_d:+.2f} D; {_OUTLINES[body.basis]} outline"


def _near(near: EyeNear) -> str:
    parts = [] if near.pd.taken_mm is None else [f"near PD {near.pd.taken_mm:.2f} mm"]
    if near.reading is not None:
        parts.append(f"reading {near.reading.notation}")
    return ", ".join(parts) or "nothing known"


def _fault(fault: FieldError) -> str:
    if fault.line is not None:  # the message names line and column itself
        return fault.message
    return f"{fault.pointer or '/'}  {fault.message}"


def _assumed(value: float | str) -> str:
    """A figure to two decimals, as the findings tell it: a usual ED or a near PD that was worked out has more."""
    return _plain(value if isinstance(value, str) else round(value, 2))


def _plain(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:g}"
