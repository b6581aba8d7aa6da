"""The lens in its frame as one sees it: is it thicker than it need be, what shows, and is its bevel where it can be?"""

from collections.abc import Iterator

from service.facts import OrderFacts
from service.profile.loader import Limits
from service.remedies_thickness import blank_of, smaller_blanks, surfaced, thinner_edges
from service.rules.rule import Noticed, rule


@rule(
    "edge-thick-for-drilling",
    severity="review",
    source="2020mag-rimless",
    shop="The edge of the {eye} is {value} at its thickest place, at {angle}; for drilling up to {limit} is usual. Choose a "
    "thinner lens or another mount.",
    customer="These lenses would be thick for a rimless frame. The shop will advise you.",
)
def edge_thick_for_drilling(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The edge is thicker than is usual for a drilled mount."""
    if facts.rim == "drilled":
        limit = limits.profile.thickness.most_edge_drilled_mm
        yield from _thicker_than(limit, facts, limits, "thickness.most_edge_drilled_mm")


@rule(
    "edge-unusually-thick",
    severity="review",
    source="common-practice",
    shop="The edge of the {eye} is {value} at its thickest place, at {angle}; beyond {limit} a pair is heavy, shows, and may not "
    "go into the frame. Ask the wearer before it is made, or choose a higher index or a smaller frame.",
    customer="Your lenses would be very thick in this frame. The shop will advise you.",
)
def edge_unusually_thick(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The edge is thicker than is usual for any frame."""
    if facts.rim != "drilled":
        yield from _thicker_than(limits.profile.thickness.edge_unusual_mm, facts, limits, "thickness.edge_unusual_mm")


@rule(
    "edge-thick",
    severity="note",
    source="common-practice",
    shop="The edge of the {eye} is {value} at its thickest place, at {angle}, more than {limit}. A higher index, a smaller frame "
    "or one in which the eye sits nearer the middle makes it thinner.",
    customer="Your lenses will be thick at the edge in this frame. A thinner material or a smaller frame would help.",
)
def edge_thick(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The edge is thick. In a drilled mount a rule of its own speaks, and beyond what is usual another."""
    if facts.rim != "drilled":
        usual = limits.profile.thickness
        yield from _thicker_than(
            usual.edge_noted_mm, facts, limits, "thickness.edge_noted_mm", most_mm=usual.edge_unusual_mm
        )


@rule(
    "lens-shows-behind-rim",
    severity="note",
    source="common-practice",
    shop="At its thickest place the lens of the {eye} stands {value} out behind the rim, more than {limit}; {front} in front. "
    "Move the bevel, or choose a thinner lens or a deeper rim.",
    customer="The edge of your lenses will be seen from the side in this frame.",
)
def lens_shows_behind_rim(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The lens stands out behind its rim."""
    limit = limits.profile.thickness.shows_noted_mm
    for body in facts.thickness:
        if body.shows_behind_mm is not None and body.shows_behind_mm > limit:
            yield Noticed(
                "/frame/rim_depth_mm",
                body.eye,
                value=body.shows_behind_mm,
                limit=limit,
                unit="mm",
                limit_key="thickness.shows_noted_mm",
                words={"front": f"{body.shows_front_mm:.2f} mm"},
            )


@rule(
    "lens-shows-in-front",
    severity="note",
    source="common-practice",
    shop="At its thickest place the lens of the {eye} stands {value} out in front of the rim, more than {limit}. Move the bevel "
    "forward, or choose a thinner lens or a deeper rim.",
    customer="The edge of your lenses will be seen from the front in this frame.",
)
def lens_shows_in_front(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The lens stands out in front of its rim."""
    limit = limits.profile.thickness.shows_noted_mm
    for body in facts.thickness:
        if body.shows_front_mm is not None and body.shows_front_mm > limit:
            yield Noticed(
                "/frame/bevel_from_front_mm",
                body.eye,
                value=body.shows_front_mm,
                limit=limit,
                unit="mm",
                limit_key="thickness.shows_noted_mm",
            )


@rule(
    "bevel-off-edge",
    severity="review",
    source="derived",
    shop="The tip of the bevel was to lie {value} behind the front; the edge of the {eye} is {limit} at its thinnest place, at "
    "{angle}, so that there it would lie behind the lens. Put the bevel further forward, or let it follow the edge.",
    customer="We have to check how your lenses are held in this frame.",
)
def bevel_off_edge(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The bevel is placed behind the back of the lens at its thinnest place."""
    for body in facts.thickness:
        thinnest = body.thinnest
        if body.shows_front_mm is None or thinnest is None or thinnest.edge_mm <= 0:
            continue
        if facts.bevel_from_front_mm > thinnest.edge_mm:
            yield Noticed(
                "/frame/bevel_from_front_mm",
                body.eye,
                value=facts.bevel_from_front_mm,
                limit=thinnest.edge_mm,
                unit="mm",
                words={"angle": f"{thinnest.angle_deg:.0f}°"},
            )


@rule(
    "centre-thick",
    severity="note",
    source="common-practice",
    shop="The lens of the {eye} has a centre of {value}, more than {limit}, with a front of {front}. A higher index{less} "
    "or a smaller frame makes it thinner.",
    customer="Your lenses will be thick in the middle. A thinner material or a smaller frame would help.",
)
def centre_thick(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The centre is thick."""
    limit = limits.profile.thickness.centre_noted_mm
    for body in facts.thickness:
        if body.centre_mm is not None and body.centre_mm > limit:
            yield Noticed(
                "/lens/material",
                body.eye,
                value=body.centre_mm,
                limit=limit,
                unit="mm",
                limit_key="thickness.centre_noted_mm",
                words={
                    "front": f"{body.front_power_d:+.2f} D{' (by the common rule)' if body.front_from == 'rule' else ''}",
                    "less": ", a smaller blank, a lens surfaced for this frame"
                    if body.stock_adds_mm is not None
                    else "",
                },
            )


@rule(
    "stock-lens-thicker",
    severity="note",
    source="common-practice",
    shop="From a round blank of {blank} the lens of the {eye} has a centre {value} thicker than one ground for this frame, "
    "{limit} or more. A smaller blank that still covers the lens, or a surfaced lens, is thinner and lighter.",
    customer="A lens made for this very frame would be thinner. The shop can tell you the price.",
)
def stock_lens_thicker(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The round blank makes a plus lens thicker than the frame asks for."""
    limit = limits.profile.thickness.stock_thicker_mm
    for body in facts.thickness:
        adds = body.stock_adds_mm
        if adds is not None and adds >= limit:
            yield Noticed(
                "/lens/blank_diameter_mm",
                body.eye,
                value=adds,
                limit=limit,
                unit="mm",
                limit_key="thickness.stock_thicker_mm",
                remedies=[*smaller_blanks(facts, body, limits, limit), *surfaced()],
                words={"blank": f"{blank_of(facts, body):g} mm"},
            )


@rule(
    "safety-bevel-advised",
    severity="note",
    source="memory",
    shop="Edges without a full rim chip and cut: put a safety bevel of 0.2 to 0.5 mm at 45° on front and back.",
    customer="The edges of your lenses will be smoothed.",
)
def safety_bevel_advised(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The lens has no full rim to guard its edge."""
    if facts.rim != "full":
        yield Noticed("/frame/rim")


def _thicker_than(
    limit_mm: float, facts: OrderFacts, limits: Limits, key: str, *, most_mm: float | None = None
) -> Iterator[Noticed]:
    """Each lens whose thickest edge is beyond the limit, and up to `most_mm`, where another rule begins to speak."""
    for body in facts.thickness:
        thickest = body.thickest
        if thickest is None or thickest.edge_mm <= limit_mm or (most_mm is not None and thickest.edge_mm > most_mm):
            continue
        yield Noticed(
            "/frame/rim" if facts.rim == "drilled" else "/lens/material",
            body.eye,
            value=thickest.edge_mm,
            limit=limit_mm,
            unit="mm",
            limit_key=key,
            remedies=thinner_edges(facts, body, limits, limit_mm),
            words={"angle": f"{thickest.angle_deg:.0f}°"},
        )
