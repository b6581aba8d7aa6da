"""From facts to the answer on lenses as worn and on their magnification. Figures are rounded for display."""

from collections.abc import Mapping

from optics_core.magnification import Magnification
from optics_core.sphero_cylinder import SpheroCylinder
from service.contract.worn import (
    CentreDrop,
    EyeMagnification,
    EyeWorn,
    MagnificationAnswer,
    WidestMagnification,
    WornAnswer,
    WornPower,
    WrapPrism,
)
from service.facts_magnification import MagnificationFacts
from service.facts_worn import EyeWorn as WornEye
from service.facts_worn import WornFacts
from service.notation import whole_degree_line
from service.rounding import for_display, shown_if_any


def as_worn(facts: WornFacts | None) -> WornAnswer | None:
    """The pair as worn."""
    if facts is None:
        return None
    eyes: Mapping[str, EyeWorn] = {eye.eye: _eye(eye, facts) for eye in facts.eyes}
    return WornAnswer(
        pantoscopic_deg=facts.pantoscopic_deg,
        face_form_deg=facts.face_form_deg,
        index=facts.index,
        right=eyes.get("right"),
        left=eyes.get("left"),
        centre_drop_imbalance=shown_if_any(facts.drop_imbalance_pd),
    )


def _eye(eye: WornEye, facts: WornFacts) -> EyeWorn:
    drop, rule, out = facts.drop_mm, facts.ruled_drop_mm, eye.wrap_out_pd
    return EyeWorn(
        wanted=worn_power(eye.wanted),
        to_order=worn_power(eye.to_order),
        to_order_traced=None if eye.traced is None else worn_power(eye.traced),
        to_order_lowered=None if eye.lowered is None else worn_power(eye.lowered),
        to_order_with_vertex=None if eye.with_vertex is None else worn_power(eye.with_vertex),
        effect=worn_power(eye.effect),
        effect_by_martin=worn_power(eye.effect_by_martin),
        change=for_display(eye.change_d),
        wrap_prism=None
        if out is None
        else WrapPrism(
            induced=for_display(out),
            # What is out before this eye is undone by as much in.
            compensating=for_display(out),
            front_power_d=for_display(eye.body.front_power_d),
            centre_mm=for_display(eye.body.centre_mm),
            body_from=eye.body.taken_from,
        ),
        centre_drop_mm=None if drop is None or rule is None else CentreDrop(for_display(drop), for_display(rule)),
    )


def worn_power(power: SpheroCylinder) -> WornPower:
    """A worked-out power with its line."""
    return WornPower(
        notation=whole_degree_line(power.sphere_d, power.cylinder_d, power.axis_deg),
        sphere=for_display(power.sphere_d),
        cylinder=for_display(power.cylinder_d),
        axis=None if power.axis_deg is None else for_display(power.axis_deg),
    )


def magnification(facts: MagnificationFacts | None) -> MagnificationAnswer | None:
    """Magnification of the pair."""
    if facts is None:
        return None
    return MagnificationAnswer(
        vertex_mm=facts.vertex_mm,
        entrance_pupil_mm=facts.entrance_pupil_mm,
        right=_magnification(facts.right),
        left=_magnification(facts.left),
        difference=for_display(facts.difference_percent),
        difference_total=for_display(facts.difference_total_percent),
        widest=WidestMagnification(
            meridian=for_display(facts.widest.meridian_deg),
            right=for_display(facts.widest.right_percent),
            left=for_display(facts.widest.left_percent),
            difference=for_display(facts.widest.difference_percent),
        ),
    )


def _magnification(found: Magnification) -> EyeMagnification:
    return EyeMagnification(_percent(found.shape), _percent(found.power), _percent(found.total))


def _percent(factor: float) -> float:
    return for_display(100.0 * (factor - 1.0))
