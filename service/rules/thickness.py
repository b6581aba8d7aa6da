"""The lens as a body: does it exist, and is it thick enough for its rim and its material?"""

from collections.abc import Iterator

from service.contract.answer import Remedy
from service.facts import NEEDS_ADD, OrderFacts
from service.facts_thickness import EdgePlace, EyeThickness, InsidePlace
from service.profile.loader import Limits
from service.remedies_thickness import surfaced, thicker_centre
from service.rules.rule import Noticed, rule

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
                remedies=surfaced() if body.is_no_finished_blank else [],
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
        yield Noticed("/lens/supply", value="stock", remedies=surfaced(), words={"what": _not_from_stock(facts)})


def _not_from_stock(facts: OrderFacts) -> str:
    if facts.lens.use not in NEEDS_ADD and facts.prescribed is not None and facts.prescribed.by_decentration:
        return (
            "prism is prescribed. Decentration can make all of it with this blank, which a person must decide; the thickness of "
            "this answer is that of a lens with ground prism"
        )
    what = "prism is prescribed" if facts.rx.prescribed_prism else "it has a reading part"
    return f"{what}. No finished blank has that where it belongs; have the lenses surfaced"


def _thin(facts: OrderFacts, body: EyeThickness, thinnest: EdgePlace) -> Noticed:
    finished = facts.supply == "stock" and body.centre_from != "order"
    return Noticed(
        "/lens/centre_thickness_mm",
        body.eye,
        value=thinnest.edge_mm,
        limit=body.least_edge_mm,
        unit="mm",
        limit_key=f"thickness.least_edge_{facts.rim}_mm",
        remedies=surfaced() if finished else thicker_centre(facts, body),
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
