"""Powers that exist but are rare enough to ask about. The limits are set from real spectacles."""

from collections.abc import Iterator

from service.facts_prescription import PrescriptionFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@rule(
    "sphere-unusual",
    severity="review",
    source="nhanes-lensometry",
    scope="prescription",
    shop="A meridian of {value} was read for the {eye}; beyond {limit} is rare. Confirm it with the prescription.",
    customer="The lens of the {eye} is unusually strong. Please check the number and its sign against your prescription.",
)
def sphere_unusual(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """The strongest meridian lies outside the usual range."""
    power = limits.profile.power
    for eye in facts.eyes:
        if eye.optics is None:
            continue
        for meridian_d in sorted((power_d for _, power_d in eye.optics.meridians), key=abs, reverse=True):
            if meridian_d > power.sphere_most_d:
                limit, key = power.sphere_most_d, "power.sphere_most_d"
            elif meridian_d < power.sphere_least_d:
                limit, key = power.sphere_least_d, "power.sphere_least_d"
            else:
                continue
            yield Noticed(f"{eye.pointer}/sphere", eye.eye, value=meridian_d, limit=limit, unit="D", limit_key=key)
            break


@rule(
    "cylinder-unusual",
    severity="review",
    source="nhanes-lensometry",
    scope="prescription",
    shop="A cylinder of {value} was read for the {eye}; beyond {amount}, plus or minus, is rare. Confirm it with the "
    "prescription.",
    customer="The CYL of the {eye} is unusually high. Please check it against your prescription.",
)
def cylinder_unusual(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """The cylinder is larger than almost any."""
    limit = limits.profile.power.cylinder_unusual_d
    for eye in facts.eyes:
        if abs(eye.cylinder_d) > limit:
            yield Noticed(
                f"{eye.pointer}/cylinder",
                eye.eye,
                value=eye.cylinder_d,
                limit=limit,
                unit="D",
                limit_key="power.cylinder_unusual_d",
            )


@rule(
    "cylinder-large",
    severity="note",
    source="nhanes-lensometry",
    scope="prescription",
    shop="A cylinder of {value} was read for the {eye}; beyond {amount}, plus or minus, is uncommon and often outside "
    "the range of stock lenses.",
    customer="The CYL of the {eye} is high. The lens may have to be made to order.",
)
def cylinder_large(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """The cylinder is uncommonly large."""
    power = limits.profile.power
    for eye in facts.eyes:
        if power.cylinder_large_d < abs(eye.cylinder_d) <= power.cylinder_unusual_d:
            yield Noticed(
                f"{eye.pointer}/cylinder",
                eye.eye,
                value=eye.cylinder_d,
                limit=power.cylinder_large_d,
                unit="D",
                limit_key="power.cylinder_large_d",
            )


@rule(
    "anisometropia-unusual",
    severity="review",
    source="nhanes-lensometry",
    scope="prescription",
    shop="The spherical equivalents differ by {value}; from {limit} it is rare. Confirm both eyes, and whether the "
    "wearer has worn such a pair.",
    customer="The two eyes are very different. Please check both lines against your prescription.",
)
def anisometropia_unusual(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """The eyes differ more than almost any."""
    limit = limits.profile.power.difference_unusual_d
    difference = facts.pair.difference_d
    if difference is not None and difference >= limit:
        yield Noticed(
            "/prescription",
            value=difference,
            limit=limit,
            unit="D",
            limit_key="power.difference_unusual_d",
            is_amount=True,
        )


@rule(
    "anisometropia",
    severity="note",
    source="nhanes-lensometry",
    scope="prescription",
    shop="The spherical equivalents differ by {value}, {limit} or more: expect unequal image sizes and prism away from "
    "the optical centres.",
    customer="The two eyes differ noticeably. New glasses may take some getting used to.",
)
def anisometropia(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """The eyes differ noticeably."""
    power, difference = limits.profile.power, facts.pair.difference_d
    if difference is not None and power.difference_noted_d <= difference < power.difference_unusual_d:
        yield Noticed(
            "/prescription",
            value=difference,
            limit=power.difference_noted_d,
            unit="D",
            limit_key="power.difference_noted_d",
            is_amount=True,
        )


@rule(
    "spheres-of-opposite-sign",
    severity="note",
    source="nhanes-lensometry",
    scope="prescription",
    shop="The spheres (minus-cylinder form) are {value} and {limit}: opposite signs. About 4 in 100 real pairs are so; "
    "a glance at both signs is enough.",
    customer="One eye is plus (+) and the other minus (−). That is possible; please make sure that both signs are "
    "copied exactly.",
)
def spheres_of_opposite_sign(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """One eye is plus and the other minus."""
    if facts.pair.opposite_spheres is not None and not facts.pair.sign_may_be_lost:
        right, left = facts.pair.opposite_spheres
        yield Noticed("/prescription", value=right, limit=left, unit="D")


@rule(
    "prism-unusual",
    severity="review",
    source="common-practice",
    scope="prescription",
    shop="Prism of {value} was read for the {eye}; beyond {limit} is rare. Confirm amount and base with the prescriber.",
    customer="The prism of the {eye} is unusually large. Please check it against your prescription.",
)
def prism_unusual(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """Prescribed prism is unusually large."""
    limit = limits.profile.prism.unusual_pd
    for eye in facts.eyes:
        if eye.prism_amount_pd > limit:
            yield Noticed(
                f"{eye.pointer}/prism",
                eye.eye,
                value=eye.prism_amount_pd,
                limit=limit,
                unit="Δ",
                limit_key="prism.unusual_pd",
            )


@rule(
    "prism-vertical-bases-agree",
    severity="review",
    source="common-practice",
    scope="prescription",
    shop="Vertical prism has the base the same way in both eyes: {value} right and {limit} left, up positive. Up "
    "against up cancels; a pair is usually up in one eye and down in the other. Confirm with the prescriber.",
    customer="The prism points the same way (up or down) in both eyes, which is unusual. Please check UP and DOWN "
    "against your prescription.",
)
def prism_vertical_bases_agree(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """Vertical prism of both eyes has its base the same way and so cancels."""
    right, left = facts.right.prism, facts.left.prism
    if facts.prism_vertical_agree and right is not None and left is not None:
        yield Noticed("/prescription/left/prism", value=right.y_pd, limit=left.y_pd, unit="Δ")


@rule(
    "prism-bases-cancel",
    severity="review",
    source="common-practice",
    scope="prescription",
    shop="Prism of the {eye} has opposite bases, which cancel; {value} is left. One of them may be a slip. Confirm "
    "with the prescriber.",
    customer="The prism of the {eye} points in two opposite directions. Please check it against your prescription.",
)
def prism_bases_cancel(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """Prism of one eye is written with opposite bases."""
    for eye in facts.eyes:
        if eye.prism_bases_cancel:
            yield Noticed(f"{eye.pointer}/prism", eye.eye, value=eye.prism_amount_pd, unit="Δ")
