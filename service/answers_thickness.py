"""From facts to the answer's thickness. Figures are rounded here, for display."""

from service.contract.answer import Assumption
from service.contract.thickness import (
    EdgeAt,
    EdgeThickness,
    EyeThicknessAnswer,
    InsideAt,
    RoundOrGround,
    Showing,
    ThicknessAnswer,
)
from service.facts import OrderFacts
from service.facts_thickness import EdgePlace, EyeThickness
from service.rounding import for_display, shown_if_any


def thickness(facts: OrderFacts, *, with_profile: bool) -> ThicknessAnswer | None:
    """Both lenses as bodies; None where nothing is known of them."""
    if not facts.thickness:
        return None
    eyes = {one.eye: _eye(one, with_profile) for one in facts.thickness}
    return ThicknessAnswer(eyes.get("right"), eyes.get("left"))


def assumed_supply(facts: OrderFacts) -> list[Assumption]:
    """The way of supply that was taken, where it makes the lenses thicker, or such as no blank can be."""
    if facts.supply_given or facts.supply != "stock":
        return []
    rim_asks = facts.rim != "full" and bool(facts.thickness)
    if not rim_asks and all(body.stock_centre_mm is body.surfaced_centre_mm is None for body in facts.thickness):
        return []
    reason = "Nothing was said of how the lens is supplied: the profile's usual way was taken."
    return [Assumption("/lens/supply", "stock", reason)]


def _eye(found: EyeThickness, with_profile: bool) -> EyeThicknessAnswer:
    edge = None
    if found.thinnest is not None and found.thickest is not None:
        edge = EdgeThickness(_at(found.thinnest), _at(found.thickest))
    return EyeThicknessAnswer(
        centre_mm=shown_if_any(found.centre_mm),
        inside=None
        if found.inside is None
        else InsideAt(for_display(found.inside.thickness_mm), for_display(found.inside.away_mm)),
        edge_mm=edge,
        profile_mm=[_at(place) for place in found.edges] if with_profile and edge is not None else None,
        weight_g=shown_if_any(found.weight_g),
        front_power_d=for_display(found.front_power_d),
        front_from=found.front_from,
        centre_from=found.centre_from,
        lower_edge_with_add_mm=shown_if_any(found.lower_edge_with_add_mm),
        least_centre_mm=found.least_centre_mm,
        least_edge_mm=found.least_edge_mm,
        basis=found.basis,
        round_or_ground=_round(found),
        shows=None
        if found.shows_front_mm is None or found.shows_behind_mm is None
        else Showing(for_display(found.shows_front_mm), for_display(found.shows_behind_mm)),
    )


def _round(found: EyeThickness) -> RoundOrGround | None:
    if found.stock_centre_mm is None and found.surfaced_centre_mm is None:
        return None
    return RoundOrGround(
        shown_if_any(found.stock_centre_mm), shown_if_any(found.surfaced_centre_mm), shown_if_any(found.stock_adds_mm)
    )


def _at(place: EdgePlace) -> EdgeAt:
    return EdgeAt(for_display(place.edge_mm), for_display(place.angle_deg))
