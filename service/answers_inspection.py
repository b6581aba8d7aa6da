"""From the facts of an inspection to its answer. Figures are rounded here, for display."""

from typing import Final

from optics_core.likely_causes import Cause
from optics_core.residual import Residual
from service.contract.inspect import InspectCheck, LikelyCause, OtherCriterion, ResidualPower, Residuals
from service.facts_inspection import InspectionFacts, residual_words
from service.facts_judged import Judged
from service.rounding import for_display, shown_if_any
from service.rules.registry import source_words

_CAUSES: Final = {
    "lenses-swapped": "The readings fit the order with right and left exchanged. Look which lens sits on which side, and whether "
    "the readings were written down on the right side.",
    "axis-off-by-90": "The {eye} lens fits with its axis a quarter turn on. Look whether the axis was read at the other "
    "meridian, or the lens was set 90° off.",
    "axis-mirrored": "The {eye} lens fits with its axis mirrored. Look whether it was read, or blocked, from the wrong side.",
    "sphere-sign": "The {eye} lens fits with the sign of its sphere turned. Look whether a sign was lost in writing, or the "
    "wrong lens was taken.",
    "cylinder-sign": "The {eye} lens fits with the sign of its cylinder turned. Look whether plus and minus cylinder were mixed "
    "up in writing or in ordering.",
    "both-signs": "The {eye} lens fits with the signs of sphere and cylinder turned. Look whether the signs were lost in "
    "writing, or the wrong lens was taken.",
    "lens-upside-down": "The prism of the {eye} lens fits with its base turned round. Look whether the lens sits upside down.",
}

_NOT_ALL: Final = " That explains most of the error, not all."


def checks(facts: InspectionFacts) -> list[InspectCheck]:
    """Every quantity that was compared."""
    return [check(one) for one in facts.judged]


def check(one: Judged) -> InspectCheck:
    """One quantity."""
    return InspectCheck(
        eye=one.eye,
        quantity=one.quantity,
        ordered=shown_if_any(one.ordered),
        measured=for_display(one.measured),
        deviation=for_display(one.deviation),
        limit=shown_if_any(one.limit),
        unit=one.unit,
        result=one.result,
        share_of_limit=shown_if_any(one.share),
        either_or=None
        if one.other is None
        else OtherCriterion(for_display(one.other.deviation), for_display(one.other.limit), one.other.unit),
        source=None if one.source is None else source_words()[one.source],
        mark=one.mark,
        readings=one.count,
        spread=shown_if_any(one.spread),
    )


def residuals(facts: InspectionFacts) -> Residuals:
    """What the errors of power do to the wearer."""
    by_eye = {eye: _residual(found) for eye, found in facts.residuals}
    between = facts.residual_between
    return Residuals(by_eye.get("right"), by_eye.get("left"), None if between is None else _residual(between))


def causes(facts: InspectionFacts) -> list[LikelyCause]:
    """Mistakes that would explain the readings."""
    return [_cause(one) for one in facts.causes]


def _residual(found: Residual) -> ResidualPower:
    power = found.power
    return ResidualPower(
        notation=residual_words(found),
        sphere=for_display(power.sphere_d),
        cylinder=for_display(power.cylinder_d),
        axis=shown_if_any(power.axis_deg),
        length=for_display(found.length_d),
    )


def _cause(one: Cause) -> LikelyCause:
    in_prism = one.before_d is None
    before, after = (one.before_pd, one.after_pd) if in_prism else (one.before_d, one.after_d)
    return LikelyCause(
        code=one.code,
        eye=one.eye,
        explains=one.explains,
        before=for_display(before or 0.0),
        after=for_display(after or 0.0),
        unit="Δ" if in_prism else "D",
        message=_CAUSES[one.code].format(eye=one.eye) + (_NOT_ALL if one.explains == "most" else ""),
    )
