"""The form of a prescription: is it complete, and does it hang together?"""

from collections.abc import Iterator

from service.contract.answer import Remedy
from service.facts_prescription import PrescriptionFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule

# As prescriptions print them.
_PRINTED = {"sphere": "SPH", "cylinder": "CYL", "add": "ADD"}


@rule(
    "cylinder-without-axis",
    severity="reject",
    source="iso-13666",
    scope="prescription",
    shop="A cylinder of {value} was read for the {eye}, and no axis. A cylinder needs an axis between 1 and 180. "
    "Ask for the third figure of that line; do not guess it.",
    customer="The {eye} has a CYL figure but no AXIS. Please look for a number from 1 to 180 on the same line of your "
    "prescription.",
)
def cylinder_without_axis(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """A cylinder is written and its axis is not."""
    for eye in facts.eyes:
        if eye.cylinder_d != 0 and eye.axis_given is None:
            yield Noticed(f"{eye.pointer}/axis", eye.eye, value=eye.cylinder_d, unit="D")


@rule(
    "axis-out-of-range",
    severity="reject",
    source="iso-8429",
    scope="prescription",
    shop="Axis {value} was read for the {eye}. An axis lies between 1 and 180. Check the third figure of that line.",
    customer="The AXIS of the {eye} must be a number from 1 to 180. Please check it against your prescription.",
)
def axis_out_of_range(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """An axis below 0 or above 180 is written."""
    for eye in facts.eyes:
        if eye.axis_given is not None and eye.axis_deg is None:
            limit = 180.0 if eye.axis_given > 180 else 1.0
            yield Noticed(f"{eye.pointer}/axis", eye.eye, value=eye.axis_given, limit=limit, unit="°")


@rule(
    "power-out-of-reach",
    severity="reject",
    source="house",
    scope="prescription",
    shop="{value} was read for the {eye} ({member}, or sphere and cylinder together); nothing beyond {amount}, plus or "
    "minus, is taken for a power. A decimal point may be lost. Check the figure against the prescription.",
    customer="The {printed} of the {eye} is far larger than any usual figure. Please check the decimal point "
    "against your prescription.",
)
def power_out_of_reach(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """A power is so large that it must be a slip."""
    for eye in facts.eyes:
        for member, value in eye.beyond_reach:
            yield Noticed(
                f"{eye.pointer}/{member}",
                eye.eye,
                value=value,
                limit=limits.profile.power.readable_d,
                unit="D",
                limit_key="power.readable_d",
                words={"member": member, "printed": _PRINTED[member]},
            )


@rule(
    "axis-without-cylinder",
    severity="review",
    source="iso-13666",
    scope="prescription",
    shop="Axis {value} was read for the {eye}, and no cylinder. A cylinder may be lost. Ask for it, or for the word "
    "that there is none.",
    customer="The {eye} has an AXIS but no CYL figure. Please check whether your prescription shows one; if it says "
    "0.00, DS or SPH, enter 0.",
)
def axis_without_cylinder(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """An axis is written and its cylinder is not."""
    for eye in facts.eyes:
        if eye.axis_given is not None and not eye.cylinder_given:
            yield Noticed(f"{eye.pointer}/cylinder", eye.eye, value=eye.axis_given, unit="°")


@rule(
    "axis-not-whole",
    severity="review",
    source="common-practice",
    scope="prescription",
    shop="Axis {value} was read for the {eye}. An axis is written in whole degrees. Check it against the prescription.",
    customer="The AXIS of the {eye} should be a whole number. Please check it against your prescription.",
)
def axis_not_whole(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """An axis has decimals."""
    for eye in facts.eyes:
        if eye.axis_given is not None and not eye.axis_given.is_integer():
            yield Noticed(f"{eye.pointer}/axis", eye.eye, value=eye.axis_given, unit="°")


@rule(
    "power-off-step",
    severity="review",
    source="common-practice",
    scope="prescription",
    shop="A {member} of {value} was read for the {eye}. Powers go in steps of 0.25 D. Check the figure; it was not "
    "altered.",
    customer="The {printed} of the {eye} should end in .00, .25, .50 or .75. Please check it against your prescription.",
)
def power_off_step(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """A power is no multiple of a quarter or an eighth of a dioptre."""
    for eye in facts.eyes:
        for written in eye.off_step:
            if written.step == "other":
                yield Noticed(
                    f"{eye.pointer}/{written.member}",
                    eye.eye,
                    value=written.value,
                    limit=0.25,
                    unit="D",
                    words={"member": written.member, "printed": _PRINTED[written.member]},
                )


@rule(
    "cylinder-signs-differ",
    severity="review",
    source="common-practice",
    scope="prescription",
    shop="The right cylinder is {value} and the left {limit}. One prescription is written in one form, minus or plus "
    "cylinder. Ask whether a sign was lost before transposing anything.",
    customer="The CYL figures of the two eyes have different signs (+ and −). Please check both signs against your "
    "prescription.",
)
def cylinder_signs_differ(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """One eye is written in minus and the other in plus cylinder."""
    if facts.cylinder_signs_differ:
        yield Noticed(
            "/prescription/left/cylinder", value=facts.right.cylinder_d, limit=facts.left.cylinder_d, unit="D"
        )


@rule(
    "sphere-sign-may-be-lost",
    severity="review",
    source="nhanes-lensometry",
    scope="prescription",
    shop="The spheres (minus-cylinder form) have opposite signs and nearly the same amount: they differ by {value}, "
    "and up to {limit} is taken for a lost sign. Ask which sign is right.",
    customer="One eye is plus (+) and the other minus (−), with nearly the same number. Please check both signs "
    "against your prescription.",
)
def sphere_sign_may_be_lost(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """Spheres of opposite sign have nearly the same amount, as after a lost sign."""
    if facts.pair.sign_may_be_lost:
        yield Noticed(
            "/prescription/left/sphere",
            value=facts.pair.opposite_difference_d,
            limit=limits.profile.power.lost_sign_difference_d,
            unit="D",
            limit_key="power.lost_sign_difference_d",
            is_amount=True,
        )


@rule(
    "axis-zero",
    severity="note",
    source="iso-8429",
    scope="prescription",
    shop="Axis 0 was read for the {eye} and taken as 180, which is the same meridian.",
    customer="An AXIS of 0 is the same as 180 for the {eye}.",
)
def axis_zero(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """An axis of 0 is written for a cylinder."""
    for eye in facts.eyes:
        if eye.axis_given == 0 and eye.cylinder_d != 0:
            yield Noticed(
                f"{eye.pointer}/axis",
                eye.eye,
                value=0.0,
                limit=180.0,
                unit="°",
                remedies=[Remedy(f"{eye.pointer}/axis", at_least=180, at_most=180)],
            )


@rule(
    "axis-with-zero-cylinder",
    severity="note",
    source="iso-13666",
    scope="prescription",
    shop="Axis {value} was read for the {eye} with a cylinder of 0.00. A sphere has no axis; it was left aside.",
    customer="The {eye} needs no AXIS because its CYL is 0.00.",
)
def axis_with_zero_cylinder(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """An axis is written beside a cylinder of 0."""
    for eye in facts.eyes:
        # 0 and 180 are how a form is filled in for a sphere.
        if eye.axis_deg is not None and eye.axis_deg != 180 and eye.cylinder_given and eye.cylinder_d == 0:
            yield Noticed(f"{eye.pointer}/axis", eye.eye, value=eye.axis_given, unit="°")


@rule(
    "power-on-eighth",
    severity="note",
    source="nfos",
    scope="prescription",
    shop="A {member} of {value} was read for the {eye}: an eighth of a dioptre, taken as written. Stock lenses go in "
    "steps of 0.25 D.",
    customer="The {printed} of the {eye} is between two usual steps. That is possible; please make sure it is copied "
    "exactly.",
)
def power_on_eighth(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """A power is an odd eighth of a dioptre."""
    for eye in facts.eyes:
        for written in eye.off_step:
            if written.step == "eighth":
                yield Noticed(
                    f"{eye.pointer}/{written.member}",
                    eye.eye,
                    value=written.value,
                    unit="D",
                    words={"member": written.member, "printed": _PRINTED[written.member]},
                )
