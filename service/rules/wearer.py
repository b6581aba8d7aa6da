"""The wearer and the material: who needs a person's attention, and what protects them."""

from collections.abc import Iterator

from optics_core.materials import materials
from service.contract.answer import Remedy
from service.facts import OrderFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule
from service.stocked import stocked_materials


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
            remedies=[Remedy("/lens/material", one_of=list(stocked_materials(limits.profile)))],
        )


@rule(
    "material-brittle-for-drilling",
    severity="review",
    source="common-practice",
    shop="A drilled mount was ordered in {value}, which breaks easily round the holes. Choose a tougher material or another "
    "mount, or ask the wearer first.",
    customer="This lens material is delicate in a rimless frame. The shop will advise you.",
)
def material_brittle_for_drilling(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The material breaks easily round the holes of a drilled mount."""
    if facts.rim != "drilled" or facts.material is None or not facts.material.brittle:
        return
    tough = [
        name for name in stocked_materials(limits.profile) if name in materials() and not materials()[name].brittle
    ]
    yield Noticed(
        "/lens/material",
        value=facts.lens.material,
        remedies=[Remedy("/lens/material", one_of=tough)] if tough else [],
    )


@rule(
    "blank-not-stocked",
    severity="note",
    source="house",
    shop="A blank of {value} was named; in this material {sizes} mm are in stock. Order one, or take one of these.",
    customer="We will check whether the right lens is in stock.",
)
def blank_not_stocked(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The blank's diameter is not among those in stock."""
    blank = facts.blank
    if blank.named and blank.stocked_mm and blank.diameter_mm not in blank.stocked_mm:
        yield Noticed(
            "/lens/blank_diameter_mm",
            value=blank.diameter_mm,
            limit=max(blank.stocked_mm),
            unit="mm",
            limit_key="blanks" if blank.listed else "stock",
            remedies=[Remedy("/lens/blank_diameter_mm", one_of=list(blank.stocked_mm))],
            words={"sizes": ", ".join(f"{diameter:g}" for diameter in blank.stocked_mm)},
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
            words={"material_word": _material_word(facts)},
        )


@rule(
    "impact-resistant-material-advised",
    severity="note",
    source="prevent-blindness",
    shop="{who}: an impact-resistant material is advised. {material_word}",
    customer="We advise lenses that withstand knocks better.",
)
def impact_resistant_material_advised(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The lenses of a young or one-eyed wearer are not of an impact-resistant material."""
    limit = limits.profile.wearer.impact_below_age_years
    is_young = facts.age_years is not None and facts.age_years < limit
    if _resists(facts) or not (is_young or facts.useful_eyes != "both"):
        return
    who = (
        f"The wearer is {facts.age_years:g} years old, under {limit:g}"
        if is_young
        else f"Only the {facts.useful_eyes} eye has useful sight"
    )
    yield Noticed(
        "/lens/material",
        value=facts.age_years if is_young else facts.useful_eyes,
        limit=limit if is_young else None,
        unit="years" if is_young else None,
        limit_key="wearer.impact_below_age_years" if is_young else None,
        remedies=[_resistant()],
        words={"who": who, "material_word": _material_word(facts)},
    )


def _resists(facts: OrderFacts) -> bool:
    return facts.material is not None and facts.material.impact_resistant


def _resistant() -> Remedy:
    return Remedy("/lens/material", one_of=[name for name, row in materials().items() if row.impact_resistant])


def _material_word(facts: OrderFacts) -> str:
    is_resistant = "is" if _resists(facts) else "is not"
    return f"{facts.lens.material} {is_resistant} counted among them."
