"""Lenses as worn: does tilt or wrap change what they do, and do both eyes see things alike in size?"""

from collections.abc import Iterator

from optics_core.sphero_cylinder import SpheroCylinder
from optics_core.tolerance import PrismLimits
from service.facts import OrderFacts
from service.facts_worn import EyeWorn, WornFacts
from service.notation import whole_degree_line
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule
from service.words import named


@rule(
    "as-worn-power-differs",
    severity="review",
    source="derived",
    shop="Worn with a tilt of {tilt} and a face form of {wrap}, the lens of the {eye} does not have the effect of {wanted}. "
    "With its optical centre at the pupil the power would have to change by {value}, {limit} or more, to {to_order}{basis}. "
    "{instead}{together}Nothing was changed: ask the prescriber or a qualified person.",
    customer="Because of the way this frame sits, the power of the {eye} may have to be adapted. The shop will check it.",
)
def as_worn_power_differs(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """Tilt and wrap change the effect of a lens noticeably."""
    worn, limit = facts.worn, limits.profile.worn.change_matters_d
    if worn is None:
        return
    for eye in worn.eyes:
        if eye.change_d >= limit and eye.change_d > 0:
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
                    "wanted": _wanted(facts, eye),
                    "to_order": _line(eye.traced or eye.to_order),
                    "basis": _basis(eye),
                    "instead": _instead(worn, eye),
                    "together": _together(eye),
                },
            )


@rule(
    "wrap-prism-over-tolerance",
    severity="review",
    source="ansi-z80.1-2015",
    shop="The face form of {wrap} alone makes {value} of base-{made} prism for the pair, more than the {limit} that {standard} "
    "allows. Base-{undone} prism of that amount would undo it. Nothing was changed: ask the prescriber or a qualified person.",
    customer="This frame is strongly curved. The shop will check how your lenses are made for it.",
)
def wrap_prism_over_tolerance(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """Wrap alone makes more prism for the pair than the tolerance standard allows."""
    worn, standard = facts.worn, facts.prism_limits
    if worn is None or worn.pair_wrap_out_pd is None or abs(worn.pair_wrap_out_pd) <= standard.horizontal_pd:
        return
    made, undone = ("out", "in") if worn.pair_wrap_out_pd > 0 else ("in", "out")
    yield Noticed(
        "/as_worn/face_form_deg",
        value=abs(worn.pair_wrap_out_pd),
        limit=standard.horizontal_pd,
        unit="Δ",
        limit_from=limits.origin("tolerance.standard"),
        source=standard.source,
        words={"wrap": f"{worn.face_form_deg:g}°", "standard": named(standard), "made": made, "undone": undone},
    )


@rule(
    "centres-drop-with-tilt",
    severity="note",
    source="common-practice",
    shop="With a tilt of {tilt} the optical centres belong {value} below the pupils (by the rule of 1 mm for 2°, {rule}); from "
    "{limit} it is noted. The fit of this answer leaves them at the pupils. {unequal}Lower centres take the place of a change of "
    "power for the tilt: take one of the two, not both.",
    customer="The shop will set your lenses to the tilt of the frame.",
)
def centres_drop_with_tilt(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """Pantoscopic tilt asks for lower optical centres, but not of a progressive lens, whose fitting point stays at the pupil."""
    worn, limit = facts.worn, limits.profile.worn.drop_noted_mm
    if worn is None or worn.drop_mm is None or worn.ruled_drop_mm is None or worn.drop_mm < limit:
        return
    yield Noticed(
        "/as_worn/pantoscopic_deg",
        value=worn.drop_mm,
        limit=limit,
        unit="mm",
        limit_key="worn.drop_noted_mm",
        words={
            "tilt": f"{worn.pantoscopic_deg:g}°",
            "rule": f"{worn.ruled_drop_mm:g} mm",
            "unequal": _unequal(worn, facts.prism_limits) if facts.useful_eyes == "both" else "",
        },
    )


@rule(
    "magnification-differs",
    severity="note",
    source="spectacle-magnification",
    shop="The lenses magnify unlike: {right} right and {left} left along {meridian}, where they differ most, {value} apart; from "
    "{limit} the eyes may find it hard to work together. Like front curves, a thinner lens or a shorter vertex distance "
    "make it less.",
    customer="With lenses this different, things may look a little larger to one eye than to the other at first.",
)
def magnification_differs(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The lenses magnify so unlike in some meridian that it can hinder the eyes from working together."""
    found, limit = facts.magnification, limits.profile.worn.magnification_differs_percent
    if found is None or facts.useful_eyes != "both" or abs(found.widest.difference_percent) < limit:
        return
    yield Noticed(
        "/prescription",
        value=abs(found.widest.difference_percent),
        limit=limit,
        unit="%",
        limit_key="worn.magnification_differs_percent",
        words={
            "right": _percent(found.widest.right_percent),
            "left": _percent(found.widest.left_percent),
            "meridian": f"{found.widest.meridian_deg:.0f}°",
        },
    )


def _wanted(facts: OrderFacts, eye: EyeWorn) -> str:
    return "the power as written" if facts.cut is facts.rx else f"the power to cut, {_line(eye.wanted)}"


def _line(power: SpheroCylinder) -> str:
    return whole_degree_line(power.sphere_d, power.cylinder_d, power.axis_deg)


def _basis(eye: EyeWorn) -> str:
    if eye.traced is None:
        return " (a thin lens)"
    return f" (traced for a front of {eye.body.front_power_d:+.2f} D and a centre of {eye.body.centre_mm:.2f} mm)"


def _instead(worn: WornFacts, eye: EyeWorn) -> str:
    """What lowering the optical centre for the tilt does in its place."""
    if eye.lowered is None:
        return ""
    lowered = _line(eye.lowered)
    power = "it would stay about as it is" if lowered == _line(eye.wanted) else f"it would be about {lowered}"
    way = "lowered" if worn.pantoscopic_deg > 0 else "raised"
    return f"With the optical centre {way} for the tilt {power}: take one of the two, not both. "


def _together(eye: EyeWorn) -> str:
    if eye.with_vertex is None:
        return ""
    power = _line(eye.with_vertex)
    return f"The change of the vertex distance is not in these; with it, and the centre at the pupil, the power is {power}. "


def _unequal(worn: WornFacts, standard: PrismLimits) -> str:
    imbalance = worn.drop_imbalance_pd
    if imbalance is None or abs(imbalance) <= standard.vertical_pd:
        return ""
    return (
        f"Lowered so, these unequal lenses make {abs(imbalance):.2f} Δ of vertical prism between the eyes straight ahead, more "
        f"than {named(standard)} allows: ask before lowering them. "
    )


def _percent(value: float) -> str:
    return f"{round(value, 2) + 0.0:+.2f} %"
