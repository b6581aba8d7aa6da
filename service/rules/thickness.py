"""The lens as a body: does it exist, is it thick enough for its rim, is it too thick, and would another be thinner?"""

from collections.abc import Iterator

from service.contract.answer import Remedy
from service.facts import NEEDS_ADD, OrderFacts
from service.facts_thickness import EdgePlace, EyeThickness, InsidePlace
from service.profile.loader import Limits
from service.remedies_thickness import blank_of, smaller_blanks, thicker_centre, thinner_edges
from service.rules.rule import Noticed, rule

_SURFACED = [Remedy("/lens/supply", one_of=["surfaced"])]
_RIM = {"full": "a full rim", "grooved": "a groove", "drilled": "a drilled mount"}


@rule(
    "lens-body-impossible",
    severity="review",
    source="derived",
    shop="A lens of this power with a front of {value}{assumed} cannot be made for the {eye}: a surface is too steep to reach "
    "the edge of the lens or of its blank. Choose another front curve, a higher index, a smaller blank or frame, or have it "
    "surfaced.",
    customer="We have to check how your lenses can be made for this frame.",
)
def lens_body_impossible(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A surface of the lens does not reach its edge."""
    for body in facts.thickness:
        if body.centre_mm is None or body.thinnest is None or body.is_no_finished_blank:
            yield Noticed(
                "/lens/front_power_d",
                body.eye,
                value=body.front_power_d,
                unit="D",
                remedies=_SURFACED if body.is_no_finished_blank else [],
                words={"assumed": ", as the common rule has it," if body.front_from == "rule" else ""},
            )


@rule(
    "lens-runs-out",
    severity="reject",
    source="derived",
    shop="With a centre of {centre} the lens of the {eye} is {value} thick at its thinnest place, at {angle}: the surfaces meet "
    "before the edge. More than 0 is needed, and {limit} for {rim}. {cure}.",
    customer="We have to check how your lenses can be made for this frame.",
)
def lens_runs_out(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The lens ends in a knife edge before its rim."""
    for body in facts.thickness:
        if body.thinnest is not None and body.thinnest.edge_mm <= 0 and not body.is_no_finished_blank:
            yield _thin(facts, body, body.thinnest)


@rule(
    "lens-crossed-inside",
    severity="reject",
    source="derived",
    shop="With a centre of {centre} and the prism that is prescribed, the surfaces of the lens of the {eye} cross {away} from "
    "the pupil, away from the base: {value} is left there, and more than 0 is needed. {cure}.",
    customer="We have to check how your lenses can be made for this frame.",
)
def lens_crossed_inside(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The surfaces of a lens with prism cross within its outline."""
    for body in facts.thickness:
        # Where they cross at the edge already, another rule says so.
        runs_out = body.thinnest is None or body.thinnest.edge_mm <= 0
        if body.inside is not None and body.inside.thickness_mm <= 0 and not runs_out:
            yield _thin_inside(facts, body, body.inside, 0.0)


@rule(
    "lens-thin-inside",
    severity="review",
    source="derived",
    shop="With a centre of {centre} and the prism that is prescribed, the lens of the {eye} is {value} thick at its thinnest "
    "place, {away} from the pupil, away from the base; in this material at least {limit} is usual. {cure}.",
    customer="We have to check how thin your lenses may be.",
)
def lens_thin_inside(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A lens with prism is too thin at a place within its outline."""
    for body in facts.thickness:
        # Where the edge is the thinnest place of all, what its rim asks for is judged by another rule.
        if body.inside is not None and 0 < body.inside.thickness_mm < body.least_centre_mm:
            yield _thin_inside(facts, body, body.inside, body.least_centre_mm)


@rule(
    "edge-too-thin",
    severity="review",
    source="memory",
    shop="With a centre of {centre} the edge of the {eye} is {value} at its thinnest place, at {angle}; {rim} needs {limit}. "
    "{cure}.",
    customer="We have to check how your lenses can be made for this frame.",
)
def edge_too_thin(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The edge is too thin for its rim, groove or drilled mount."""
    for body in facts.thickness:
        # Of a lens that no finished blank gives, that is said, and not more.
        if body.is_no_finished_blank or body.thinnest is None:
            continue
        if 0 < body.thinnest.edge_mm < body.least_edge_mm:
            yield _thin(facts, body, body.thinnest)


@rule(
    "centre-too-thin",
    severity="review",
    source="memory",
    shop="A centre of {value} was ordered for the {eye}; in this material at least {limit} is usual. Thin centres bend and "
    "break. Order a thicker one, or have a person confirm it.",
    customer="We have to check how thin your lenses may be.",
)
def centre_too_thin(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The centre ordered is thinner than is usual in this material."""
    for body in facts.thickness:
        if body.centre_from == "order" and body.centre_mm is not None and body.centre_mm < body.least_centre_mm:
            yield Noticed(
                "/lens/centre_thickness_mm",
                body.eye,
                value=body.centre_mm,
                limit=body.least_centre_mm,
                unit="mm",
                remedies=[Remedy("/lens/centre_thickness_mm", at_least=body.least_centre_mm)],
            )


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
    "lower-edge-thin-with-add",
    severity="review",
    source="derived",
    shop="The addition is not in the thickness of this answer. With it the lower edge of the {eye} comes to about {value}, the "
    "power taken to rise evenly along the corridor; {rim} needs {limit}. Ask the maker of the lens for its thickness.",
    customer="We have to check how your lenses can be made for this frame.",
)
def lower_edge_thin_with_add(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The addition of a progressive lens makes the lower edge too thin."""
    for body in facts.thickness:
        lower = body.lower_edge_with_add_mm
        if lower is not None and lower < body.least_edge_mm:
            yield Noticed(
                "/lens/use",
                body.eye,
                value=lower,
                limit=body.least_edge_mm,
                unit="mm",
                limit_key=f"thickness.least_edge_{facts.rim}_mm",
                words={"rim": _RIM[facts.rim]},
            )


@rule(
    "stock-lens-cannot-have-it",
    severity="review",
    source="common-practice",
    shop="This pair was to come from {value}, and {what}.",
    customer="Your lenses have to be made to order. We will tell you how long that takes.",
)
def stock_lens_cannot_have_it(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A finished blank is named for prescribed prism or a reading part."""
    if not facts.supply_given or facts.supply != "stock":
        return
    if facts.rx.prescribed_prism or facts.lens.use in NEEDS_ADD:
        yield Noticed("/lens/supply", value="stock", remedies=_SURFACED, words={"what": _not_from_stock(facts)})


def _not_from_stock(facts: OrderFacts) -> str:
    if facts.lens.use not in NEEDS_ADD and facts.prescribed is not None and facts.prescribed.by_decentration:
        return (
            "prism is prescribed. Decentration can make all of it with this blank, which a person must decide; the thickness of "
            "this answer is that of a lens with ground prism"
        )
    what = "prism is prescribed" if facts.rx.prescribed_prism else "it has a reading part"
    return f"{what}. No finished blank has that where it belongs; have the lenses surfaced"


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
                remedies=[*smaller_blanks(facts, body, limits, limit), *_SURFACED],
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


def _thin(facts: OrderFacts, body: EyeThickness, thinnest: EdgePlace) -> Noticed:
    finished = facts.supply == "stock" and body.centre_from != "order"
    return Noticed(
        "/lens/centre_thickness_mm",
        body.eye,
        value=thinnest.edge_mm,
        limit=body.least_edge_mm,
        unit="mm",
        limit_key=f"thickness.least_edge_{facts.rim}_mm",
        remedies=[Remedy("/lens/supply", one_of=["surfaced"])] if finished else thicker_centre(facts, body),
        words={
            "cure": "A finished blank comes as it is: have the lens surfaced" if finished else "Order a thicker centre",
            "centre": f"{body.centre_mm:.2f} mm",
            "angle": f"{thinnest.angle_deg:.0f}°",
            "rim": _RIM[facts.rim],
        },
    )


def _thin_inside(facts: OrderFacts, body: EyeThickness, inside: InsidePlace, limit_mm: float) -> Noticed:
    remedies = thicker_centre(facts, body)
    cure = "Order a thicker centre" if remedies else "Have the lens looked at by whoever surfaces it"
    return Noticed(
        "/lens/centre_thickness_mm",
        body.eye,
        value=inside.thickness_mm,
        limit=limit_mm,
        unit="mm",
        remedies=remedies,
        words={"centre": f"{body.centre_mm:.2f} mm", "away": f"{inside.away_mm:.1f} mm", "cure": cure},
    )
