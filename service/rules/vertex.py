"""Vertex distance: does the power still hold at the distance at which the pair is worn?"""

from collections.abc import Iterator

from service.contract.answer import Remedy
from service.facts import OrderFacts
from service.facts_prescription import PrescriptionFacts
from service.notation import rounded_line, whole_degree_line
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule
from service.values import EyeName


@rule(
    "vertex-change-matters",
    severity="review",
    source="vertex-far-point",
    shop="Worn at {worn} instead of {refracted}, the lens of the {eye} changes its effect by {value}, {limit} or more. The "
    "same effect is had with {compensated}{worn_too}. Nothing was changed: ask the prescriber or a qualified person.",
    customer="Because these lenses are strong, the distance to your eyes matters. The shop will check the power.",
)
def vertex_change_matters(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The vertex distance as worn changes the effect of a strong lens noticeably."""
    vertex = limits.profile.vertex
    if facts.cut.pair.strongest_d < vertex.matters_from_d:
        return
    for change in facts.vertex_changes:
        if change.change_d >= vertex.change_matters_d:
            power = change.compensated
            yield Noticed(
                "/as_worn/vertex_distance_mm",
                change.eye,
                value=change.change_d,
                limit=vertex.change_matters_d,
                unit="D",
                limit_key="vertex.change_matters_d",
                is_amount=True,
                words={
                    "worn": f"{facts.vertex_worn_mm:g} mm",
                    "refracted": f"{facts.rx.vertex_refracted_mm:g} mm",
                    "compensated": rounded_line(power.sphere_d, power.cylinder_d, power.axis_deg),
                    "worn_too": _worn_too(facts, change.eye),
                },
            )


@rule(
    "vertex-distance-unusual",
    severity="review",
    source="2020mag",
    scope="prescription",
    shop="A vertex distance of {value} was read; the usual range ends at {limit}. Check it.",
    customer="The vertex distance is unusual. Please check it against your prescription.",
)
def vertex_distance_unusual(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """The vertex distance of the refraction lies outside the usual range."""
    yield from _unusual(facts.vertex_refracted_mm, "/prescription/vertex_distance_mm", limits)


@rule(
    "vertex-distance-as-worn-unusual",
    severity="review",
    source="2020mag",
    shop="A vertex distance as worn of {value} was read; the usual range ends at {limit}. Check it.",
    customer="The distance between your eyes and the glasses is unusual. Please check it.",
)
def vertex_distance_as_worn_unusual(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The vertex distance as worn lies outside the usual range."""
    yield from _unusual(facts.vertex_worn_mm, "/as_worn/vertex_distance_mm", limits)


@rule(
    "vertex-distance-not-known",
    severity="note",
    source="vertex-practice",
    shop="A meridian of {value} was read; from {amount}, plus or minus, the vertex distance matters, and {lacking} was not "
    "given. {usual} is usual. Ask for it.",
    customer="These lenses are strong. If your prescription shows a vertex distance (VD or BVD), please enter it; the "
    "shop will measure how far the glasses sit from your eyes.",
)
def vertex_distance_not_known(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """A strong lens is ordered and a vertex distance is not known."""
    vertex = limits.profile.vertex
    if facts.cut.pair.strongest_d < vertex.matters_from_d:
        return
    if facts.rx.vertex_refracted_mm is None:
        pointer, lacking = "/prescription/vertex_distance_mm", "that of the refraction"
    elif facts.vertex_worn_mm is None:
        pointer, lacking = "/as_worn/vertex_distance_mm", "that of the pair as worn"
    else:
        return
    yield Noticed(
        pointer,
        value=facts.cut.pair.strongest_meridian_d,
        limit=vertex.matters_from_d,
        unit="D",
        limit_key="vertex.matters_from_d",
        words={
            "lacking": lacking,
            "usual": f"{limits.profile.shop.usual_vertex_mm:g} mm",
        },
    )


def _worn_too(facts: OrderFacts, eye: EyeName) -> str:
    """The power with tilt and wrap counted as well."""
    worn = None if facts.worn is None else next((one for one in facts.worn.eyes if one.eye == eye), None)
    if worn is None or worn.with_vertex is None:
        return ""
    power = worn.with_vertex
    line = whole_degree_line(power.sphere_d, power.cylinder_d, power.axis_deg)
    return f"; with tilt and face form counted too, and the optical centre at the pupil, {line}"


def _unusual(distance_mm: float | None, pointer: str, limits: Limits) -> Iterator[Noticed]:
    vertex = limits.profile.vertex
    if distance_mm is None or vertex.least_mm <= distance_mm <= vertex.most_mm:
        return
    low = distance_mm < vertex.least_mm
    yield Noticed(
        pointer,
        value=distance_mm,
        limit=vertex.least_mm if low else vertex.most_mm,
        unit="mm",
        limit_key="vertex.least_mm" if low else "vertex.most_mm",
        remedies=[Remedy(pointer, at_least=vertex.least_mm, at_most=vertex.most_mm)],
    )
