"""The wearer and the material: who needs a person's attention, and what protects them."""

from collections.abc import Iterator

from optics_core.materials import materials
from service.contract.answer import Remedy
from service.facts import OrderFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@rule(
    "material-not-known",
    severity="review",
    source="house",
    shop="The material {value} was read and is not known here. GET /v1/reference/materials lists the names.",
    customer="The lens material is not known to us. Please choose one from the list.",
)
def material_not_known(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The material's name is not in the table."""
    if facts.material is None:
        yield Noticed(
            "/lens/material",
            value=facts.lens.material,
            remedies=[Remedy("/lens/material", one_of=list(materials()))],
        )


@rule(
    "material-not-stocked",
    severity="review",
    source="house",
    shop="No blank in {value} is in stock. Order one, or choose a stocked material.",
    customer="This lens material is not in stock. We will check how soon we can have it.",
)
def material_not_stocked(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The profile lists no blank of the material."""
    if facts.material is not None and not facts.blank.stocked_mm:
        yield Noticed(
            "/lens/material",
            value=facts.lens.material,
            limit_key="stock",
            remedies=[Remedy("/lens/material", one_of=[row.material for row in limits.profile.stock])],
        )


@rule(
    "blank-not-stocked",
    severity="note",
    source="house",
    shop="A blank of {value} was named; in this material {limit} are in stock. Order one, or take one of these.",
    customer="We will check whether the lens blank is in stock.",
)
def blank_not_stocked(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The blank's diameter is not among those in stock."""
    blank = facts.blank
    if blank.named and blank.stocked_mm and blank.diameter_mm not in blank.stocked_mm:
        sizes = [f"{diameter:g}" for diameter in blank.stocked_mm]
        yield Noticed(
            "/lens/blank_diameter_mm",
            value=blank.diameter_mm,
            limit=", ".join(sizes) + " mm",
            unit="mm",
            limit_key="stock",
            remedies=[Remedy("/lens/blank_diameter_mm", one_of=sizes)],
        )


@rule(
    "wearer-under-age",
    severity="review",
    source="uk-unregistered-sale",
    shop="The wearer is {value} old; orders under {limit} go to a person. In some places a child's spectacles may be "
    "supplied only by or under a registered practitioner.",
    customer="Glasses for a child are checked by a person before we make them.",
)
def wearer_under_age(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The wearer is under the profile's age."""
    limit = limits.profile.wearer.person_below_age_years
    if facts.age_years is not None and facts.age_years < limit:
        yield Noticed(
            "/wearer/age_years",
            value=facts.age_years,
            limit=limit,
            unit="years",
            limit_key="wearer.person_below_age_years",
        )


@rule(
    "one-useful-eye",
    severity="review",
    source="aap-aao-eyewear",
    shop="Only the {eye} has useful sight and must be protected: advise an impact-resistant material, and protective "
    "eyewear for sport and work. {material_word}",
    customer="Because one eye sees much better, it deserves special protection. We will advise you on safe lenses.",
)
def one_useful_eye(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The wearer has one useful eye."""
    if facts.useful_eyes != "both":
        yield Noticed(
            "/wearer/useful_eyes",
            "right" if facts.useful_eyes == "right" else "left",
            value=facts.lens.material,
            remedies=[] if _resists(facts) else [_resistant()],
            words={"material_word": _material_word(facts)},
        )


@rule(
    "impact-resistant-material-advised",
    severity="note",
    source="prevent-blindness",
    shop="The wearer is {value} old; under {limit} an impact-resistant material is advised. {material_word}",
    customer="For young wearers we advise lenses that withstand knocks better.",
)
def impact_resistant_material_advised(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """A young wearer's lenses are not of an impact-resistant material."""
    limit = limits.profile.wearer.impact_below_age_years
    if facts.age_years is not None and facts.age_years < limit and not _resists(facts):
        yield Noticed(
            "/lens/material",
            value=facts.age_years,
            limit=limit,
            unit="years",
            limit_key="wearer.impact_below_age_years",
            remedies=[_resistant()],
            words={"material_word": _material_word(facts)},
        )


def _resists(facts: OrderFacts) -> bool:
    return facts.material is not None and facts.material.impact_resistant


def _resistant() -> Remedy:
    return Remedy("/lens/material", one_of=[name for name, row in materials().items() if row.impact_resistant])


def _material_word(facts: OrderFacts) -> str:
    is_resistant = "is" if _resists(facts) else "is not"
    return f"{facts.lens.material} {is_resistant} counted among them."
