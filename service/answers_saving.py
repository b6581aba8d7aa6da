"""From what can be saved of a pair that failed to the answer, in words."""

from typing import Final

from service.contract.inspect import IfItFails, WayToSave
from service.facts_saving import SavingFacts, Way
from service.rounding import for_display

_CAUTION: Final = " A person decides, and the pair is inspected anew."
_MODELLED: Final = " The shape was modelled from the boxed sizes: trace the lens first."


def if_it_fails(facts: SavingFacts) -> IfItFails:
    """What can be done with a pair that failed."""
    return IfItFails(
        remake=list(facts.remake), ways=[_way(one) for one in facts.ways], not_worked_out=list(facts.not_worked_out)
    )


def _way(one: Way) -> WayToSave:
    return WayToSave(
        kind=one.kind,
        eye=one.eye,
        a_mm=None if one.frame is None else for_display(one.frame.a_mm),
        b_mm=None if one.frame is None else for_display(one.frame.b_mm),
        dbl_mm=None if one.frame is None else for_display(one.frame.dbl_mm),
        turn_deg=for_display(one.turn_deg) if one.kind != "exchange" else None,
        open_order=None if one.open_order is None else one.open_order.number,
        for_eye=one.for_eye,
        message=_words(one) + (_MODELLED if one.modelled else "") + _CAUTION,
    )


def _words(one: Way) -> str:
    frame = one.frame
    size = "" if frame is None else f"up to A {frame.a_mm:.1f}, B {frame.b_mm:.1f} mm with a DBL of {frame.dbl_mm:g} mm"
    way_round = "counter-clockwise" if one.turn_deg > 0 else "clockwise"
    turned = f", turned by {abs(one.turn_deg):.1f}° {way_round} as seen from the front" if one.turn_deg else ""
    if one.kind == "re-edge":
        how = turned or ", as it lies"
        return f"Both lenses can be cut again for a frame of the same proportions {size}; the {one.eye} one{how}."
    if one.kind == "turn":
        return (
            f"After half a turn the {one.eye} lens can be cut again for a frame of the same proportions {size}. The other lens "
            "would have to be cut for it too."
        )
    if one.kind == "exchange":
        return (
            "If the lenses do sit on the wrong sides, each can be cut again for the other side, in a frame of the same "
            f"proportions {size}."
        )
    order = one.open_order
    name = "" if order is None else f"open order number {order.number + 1}"
    name += f", {order.reference}" if order is not None and order.reference else ""
    return f"The {one.eye} lens has the power and the size for the {one.for_eye} eye of {name}{turned}."
