"""Reading additions, and whether they suit what the pair is for."""

from collections.abc import Iterator

from service.contract.answer import Remedy
from service.facts import NEEDS_ADD, OrderFacts
from service.facts_prescription import PrescriptionFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@rule(
    "lens-use-needs-add",
    severity="reject",
    source="iso-13666",
    shop="A {value} pair was ordered and no reading addition was read for the {eye}. Ask for the ADD, or for another "
    "use.",
    customer="A {value} lens needs an ADD for the {eye}. Please look for it on your prescription, or choose another "
    "kind of lens.",
)
def lens_use_needs_add(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A lens with a reading part is ordered and there is no addition."""
    if facts.lens.use in NEEDS_ADD and facts.rx.right.add_d is None and facts.rx.left.add_d is None:
        for eye in facts.rx.eyes:
            yield Noticed(
                f"{eye.pointer}/add",
                eye.eye,
                value=facts.lens.use,
                remedies=[Remedy("/lens/use", one_of=["distance", "intermediate", "near"])],
            )


@rule(
    "near-use-without-add",
    severity="review",
    source="common-practice",
    shop="A pair for {value} use was ordered and no addition was read. Ask whether the powers are already those for that "
    "distance; they were taken as written, and the fit was worked out with the PD for {distance}.",
    customer="You chose glasses for near or intermediate work, and there is no ADD. Is the prescription already meant "
    "for that distance?",
)
def near_use_without_add(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """Near or intermediate single vision is ordered and there is no addition."""
    if facts.near is None or facts.lens.use not in ("near", "intermediate"):
        return
    if facts.rx.right.add_d is None and facts.rx.left.add_d is None:
        yield Noticed("/lens/use", value=facts.lens.use, words={"distance": f"{facts.near.working_mm:g} mm"})


@rule(
    "near-power-to-confirm",
    severity="review",
    source="nfos",
    shop="A pair for {value} use was ordered from powers with an addition. The power to cut is not the distance power; work "
    "out the power for that distance and confirm it. The fit of this answer is for the powers as written and the PD for "
    "{distance}.",
    customer="For glasses for near or intermediate work, our staff will work out the power from your prescription.",
)
def near_power_to_confirm(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """Near or intermediate single vision is ordered with an addition, and the power to cut does not follow from it."""
    near = facts.near
    if near is None or near.cut or facts.lens.use not in ("near", "intermediate"):
        return
    if facts.rx.right.add_d is not None or facts.rx.left.add_d is not None:
        yield Noticed("/lens/use", value=facts.lens.use, words={"distance": f"{near.working_mm:g} mm"})


@rule(
    "multifocal-layout-not-checked",
    severity="review",
    source="house",
    shop="A {value} pair was ordered. Its reading part has a place of its own on the blank, which this answer does not know: "
    "the blank figures hold for a lens whose optical centre sits in the middle of its blank. Check them, and the "
    "fitting heights, against the lens's own layout chart.",
    customer="For this kind of lens a person checks that the reading part fits into the frame.",
)
def multifocal_layout_not_checked(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A lens with a reading part is ordered; where that part sits on the blank is not known."""
    if facts.lens.use in NEEDS_ADD and (facts.near is None or not facts.near.layout_known):
        yield Noticed("/lens/use", value=facts.lens.use)


@rule(
    "use-not-named-with-add",
    severity="review",
    source="common-practice",
    shop="An addition of {value} was read and the order does not say what the pair is for. Distance was assumed; ask.",
    customer="Your prescription has an ADD. Please say whether the glasses are for distance, for reading, or for both.",
)
def use_not_named_with_add(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """There is an addition and the order does not name the use."""
    if not facts.lens.use_named:
        for eye in facts.rx.eyes:
            if eye.add_d is not None:
                yield Noticed(
                    "/lens/use",
                    value=eye.add_d,
                    unit="D",
                    remedies=[Remedy("/lens/use", one_of=["distance", "near", "bifocal", "progressive"])],
                )
                return


@rule(
    "add-not-used",
    severity="note",
    source="common-practice",
    shop="An addition of {value} was read for the {eye}; a pair for distance does not use it.",
    customer="The ADD is not used in glasses for distance only.",
)
def add_not_used(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """There is an addition and the pair is for distance."""
    if facts.lens.use_named and facts.lens.use == "distance":
        for eye in facts.rx.eyes:
            if eye.add_d is not None:
                yield Noticed(f"{eye.pointer}/add", eye.eye, value=eye.add_d, unit="D")


@rule(
    "add-unusual",
    severity="review",
    source="common-practice",
    scope="prescription",
    shop="An addition of {value} was read for the {eye}; the usual range ends at {limit}. Check it; a sphere or a "
    "prism may stand in its place.",
    customer="The ADD of the {eye} is outside the usual range. Please check it against your prescription.",
)
def add_unusual(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """An addition lies outside the usual range."""
    section = limits.profile.add
    for eye in facts.eyes:
        if eye.add_d is None:
            continue
        if eye.add_d < section.least_d:
            limit, key = section.least_d, "add.least_d"
        elif eye.add_d > section.most_d:
            limit, key = section.most_d, "add.most_d"
        else:
            continue
        yield Noticed(f"{eye.pointer}/add", eye.eye, value=eye.add_d, limit=limit, unit="D", limit_key=key)


@rule(
    "add-on-one-eye",
    severity="review",
    source="common-practice",
    scope="prescription",
    shop="An addition of {value} was read for one eye only. Ask whether it holds for both; none was filled in.",
    customer="There is an ADD for one eye only. Please check whether it is meant for both eyes.",
)
def add_on_one_eye(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """One eye has an addition and the other has none."""
    right, left = facts.right, facts.left
    if (right.add_d is None) != (left.add_d is None):
        lacking = right if right.add_d is None else left
        given = left.add_d if right.add_d is None else right.add_d
        yield Noticed(f"{lacking.pointer}/add", lacking.eye, value=given, unit="D")


@rule(
    "adds-unequal",
    severity="review",
    source="common-practice",
    scope="prescription",
    shop="The additions differ: {value} right and {limit} left. They are usually equal. Confirm both.",
    customer="The ADD is not the same for both eyes. Please check both against your prescription.",
)
def adds_unequal(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """The eyes have different additions."""
    right, left = facts.right.add_d, facts.left.add_d
    if right is not None and left is not None and right != left:
        yield Noticed("/prescription/left/add", value=right, limit=left, unit="D")
