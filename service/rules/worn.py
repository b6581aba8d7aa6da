"""Lenses as worn: does tilt or wrap change what they do, and do both eyes see things alike in size?"""

from collections.abc import Iterator

from service.facts import OrderFacts
from service.notation import whole_degree_line
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@rule(
    "as-worn-power-differs",
    severity="review",
    source="derived",
    shop="Worn with a tilt of {tilt} and a face form of {wrap}, the lens of the {eye} does not have the effect of the "
    "power as written; for that the power would have to change by {value}, {limit} or more, to {to_order}. Nothing was "
    "changed: ask the prescriber or a qualified person.",
    customer="Because of the way this frame sits, the power of the {eye} may have to be adapted. The shop will check it.",
)
def as_worn_power_differs(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """Tilt and wrap change the effect of a lens noticeably."""
    worn, limit = facts.worn, limits.profile.worn.change_matters_d
    if worn is None:
        return
    for eye in worn.eyes:
        if eye.change_d >= limit and eye.change_d > 0:
            power = eye.to_order
            yield Noticed(
                "/as_worn",
                eye.eye,
                value=eye.change_d,
                limit=limit,
                unit="D",
                limit_key="worn.change_matters_d",
                is_amount=True,
                words={
                    "tilt": f"{worn.pantoscopic_deg:g}°",
                    "wrap": f"{worn.face_form_deg:g}°",
                    "to_order": whole_degree_line(power.sphere_d, power.cylinder_d, power.axis_deg),
                },
            )


@rule(
    "magnification-differs",
    severity="note",
    source="spectacle-magnification",
    shop="The lenses magnify unlike: {right} right and {left} left, {value} apart through their powers; from {limit} the eyes "
    "may find it hard to work together. Like front curves, a thinner lens or a shorter vertex distance make it less.",
    customer="With lenses this different, things may look a little larger to one eye than to the other at first.",
)
def magnification_differs(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The lenses magnify so unlike that it can hinder the eyes from working together."""
    found, limit = facts.magnification, limits.profile.worn.magnification_differs_percent
    if found is None or facts.useful_eyes != "both" or abs(found.difference_percent) < limit:
        return
    yield Noticed(
        "/prescription",
        value=abs(found.difference_percent),
        limit=limit,
        unit="%",
        limit_key="worn.magnification_differs_percent",
        words={"right": _percent(found.right_percent), "left": _percent(found.left_percent)},
    )


def _percent(value: float) -> str:
    return f"{value:+.2f} %"
