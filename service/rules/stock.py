"""The shop's list of finished blanks: does one come in the power, is one large enough, do the two go together?"""

from collections.abc import Iterator

from service.contract.answer import Remedy
from service.facts import OrderFacts
from service.facts_stock import EyeStock
from service.notation import line, power
from service.profile.blanks import FinishedBlank
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule
from service.stocked import power_reasons

BLANK = "/lens/blank_diameter_mm"


@rule(
    "no-blank-can-make-power",
    severity="review",
    source="house",
    shop="No finished blank in {material} comes in {value} for the {eye}. The nearest, {name}, comes in {limit}. Have the lens "
    "surfaced, order a blank, or choose another material.",
    customer="Your lens for the {eye} has to be made to order. We will tell you how long that takes.",
)
def no_blank_can_make_power(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """No row of the list in this material comes in the power. Lenses that must be surfaced anyway are left to other rules."""
    for eye in _eyes(facts):
        if eye.nearest is None or eye.must_be_surfaced or (facts.supply_given and facts.supply == "surfaced"):
            continue
        others = _materials_with(eye, limits)
        yield Noticed(
            eye.pointer,
            eye.eye,
            value=line(eye.sphere_d, eye.cylinder_d, eye.axis_deg),
            limit=_range(eye.nearest),
            limit_key="blanks",
            remedies=[Remedy("/lens/material", one_of=others)] if others else [],
            words={"name": eye.nearest.name, "material": facts.lens.material},
        )


@rule(
    "blank-not-stocked-in-power",
    severity="note",
    source="house",
    shop="A blank of {value} was named; finished blanks with the power of the {eye} are in stock in {sizes} mm only. Order one, "
    "or take one of these.",
    customer="We will check whether the right lens is in stock.",
)
def blank_not_stocked_in_power(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The list has the named diameter, and has the power, but not together."""
    blank = facts.blank
    if not blank.named or blank.diameter_mm not in blank.stocked_mm:
        return
    for eye in _eyes(facts):
        if eye.in_power_mm and blank.diameter_mm not in eye.in_power_mm:
            yield Noticed(
                BLANK,
                eye.eye,
                value=blank.diameter_mm,
                limit=max(eye.in_power_mm),
                unit="mm",
                limit_key="blanks",
                remedies=[Remedy(BLANK, one_of=list(eye.in_power_mm))],
                words={"sizes": ", ".join(f"{diameter:g}" for diameter in eye.in_power_mm)},
            )


@rule(
    "larger-blank-in-stock",
    severity="note",
    source="house",
    shop="The blank of {value} is not sure to do for the {eye}, which needs {limit}; in stock with this power, {name} of {size} "
    "is. Take it instead.",
    customer="The shop has a larger lens that suits this frame.",
)
def larger_blank_in_stock(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The named blank is short, and a larger one of the list comes in the power and is sure to do."""
    named = facts.blank.diameter_mm if facts.blank.named else None
    for eye in _eyes(facts):
        if named is None or eye.needed_mm is None or named >= eye.needed_mm or not eye.sure:
            continue
        yield Noticed(
            BLANK,
            eye.eye,
            value=named,
            limit=eye.needed_mm,
            unit="mm",
            limit_key="blank.allowance_mm",
            remedies=[Remedy(BLANK, one_of=sorted({row.diameter_mm for row in eye.sure}))],
            words={"name": eye.sure[0].name, "size": f"{eye.sure[0].diameter_mm:g} mm"},
        )


@rule(
    "no-stocked-blank-large-enough",
    severity="note",
    source="house",
    shop="The largest finished blank in stock with the power of the {eye} is {value}; {limit} is sure to do. Order a larger one, "
    "have the lens surfaced, or take a smaller frame.",
    customer="We will check whether a lens large enough for this frame can be had.",
)
def no_stocked_blank_large_enough(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """No blank that comes in the power is sure to do."""
    for eye in _eyes(facts):
        if eye.needed_mm is not None and eye.in_power_mm and not eye.sure:
            yield Noticed(
                BLANK,
                eye.eye,
                value=max(eye.in_power_mm),
                limit=eye.needed_mm,
                unit="mm",
                limit_key="blank.allowance_mm",
            )


@rule(
    "base-curves-differ",
    severity="review",
    source="common-practice",
    shop="The best blanks, {right} and {left}, have front surfaces (base curves) that differ by {value}; beyond {limit} the two "
    "lenses look unlike and enlarge unlike. Order a blank to match, or have one lens surfaced.",
    customer="We have to find two lenses that look alike. We will check what is in stock.",
)
def base_curves_differ(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The front surfaces of the two best blanks differ, and no pair that fits is more alike."""
    found, limit = facts.stock, limits.profile.blank.bases_differ_d
    if found is None or found.bases_apart_d is None or found.bases_apart_d <= limit:
        return
    names: dict[str, str] = {one.eye: one.best.row.name for one in found.eyes if one.best is not None}
    yield Noticed(
        "/lens",
        value=found.bases_apart_d,
        limit=limit,
        unit="D",
        limit_key="blank.bases_differ_d",
        is_amount=True,
        words=names,
    )


@rule(
    "base-curve-not-known",
    severity="review",
    source="common-practice",
    shop="The best blanks are {right} and {left}; of one of them the list gives no front surface (base curve), so that whether "
    "the two match is not known. Look at the blanks, or complete the list.",
    customer="We have to check that your two lenses will look alike.",
)
def base_curve_not_known(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """Of the two best blanks only one is listed with its front surface."""
    found = facts.stock
    if found is None:
        return
    best = {one.eye: one.best.row for one in found.eyes if one.best is not None}
    fronts = [row.front_power_d is None for row in best.values()]
    if len(fronts) == 2 and fronts[0] != fronts[1]:
        yield Noticed("/lens", words={eye: row.name for eye, row in best.items()})


def _eyes(facts: OrderFacts) -> tuple[EyeStock, ...]:
    return () if facts.stock is None else facts.stock.eyes


def _materials_with(eye: EyeStock, limits: Limits) -> list[str]:
    """Materials in which the list has a blank with this power."""
    rows = (row for row in limits.profile.blanks if not power_reasons(row, eye.sphere_d, eye.cylinder_d))
    return list(dict.fromkeys(row.material for row in rows))


def _range(row: FinishedBlank) -> str:
    """In which powers a blank comes, in words."""
    cylinder = f"cylinder to {power(-row.cylinder_most_d)} D" if row.cylinder_most_d > 0 else "no cylinder"
    text = f"sphere {power(row.sphere_least_d)} to {power(row.sphere_most_d)} D, {cylinder}"
    if row.total_least_d is not None:
        text += f", total from {power(row.total_least_d)} D"
    if row.total_most_d is not None:
        text += f", total to {power(row.total_most_d)} D"
    return f"{text}, in steps of {row.step_d:g} D"
