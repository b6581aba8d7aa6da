"""A comparison says nothing of its own: each row is what the check says of the order in that material on that blank."""

import math
from itertools import pairwise
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from order_strategies import AS_OF, EYES, Document, answer_to, changed, mirrored, orders, shipped, steady, wild_orders

from service.checking import check
from service.comparing import compare
from service.contract.answer import CheckAnswer
from service.contract.compare import CompareAnswer, ComparedRow, CompareRequest
from service.contract.order import Order

NAMES = ("hard-resin-1.50", "polycarbonate", "thiourethane-1.67", "episulphide-1.74", "crown-glass", "unheard-of")
SORTS = ("thickest_edge", "weight", "centre", "price")
GRAVITY = ("accept", "review", "reject")

named = st.lists(st.sampled_from(NAMES), min_size=1, max_size=3)
sorts = st.sampled_from(SORTS)
LISTED = [
    {
        "name": f"{material} {diameter}", "material": material, "diameter_mm": diameter, "sphere_least_d": -8,
        "sphere_most_d": 6, "cylinder_most_d": 4, "front_power_d": 4, "price": price,
    }
    for material, diameter, price in (
        ("polycarbonate", 65, 8.0), ("polycarbonate", 72, 9.5), ("thiourethane-1.67", 68, 21.0),
    )
]  # fmt: skip


@st.composite
def compared_orders(draw: st.DrawFn) -> Document:
    """Orders of every kind, also with a traced outline, a list of finished blanks, a body of their own, prism or an add."""
    order = draw(st.one_of(orders(), orders(), wild_orders()))
    frame = order["frame"]
    if draw(st.integers(0, 2)) == 0:
        turns = [2 * math.pi * place / 40 for place in range(40)]
        bulge = draw(st.sampled_from([0.0, 0.04]))
        points = [
            [frame["a_mm"] / 2 * math.cos(t) * (1 + bulge * math.sin(t)), frame["b_mm"] / 2 * math.sin(t)]
            for t in turns
        ]
        order = changed(order, "/frame/trace/right/points_mm", points)
    if draw(st.booleans()):
        order = changed(order, "/profile/blanks", LISTED)
    body = {"front_power_d": [2.0, 6.5, 9.0], "centre_thickness_mm": [1.2, 3.0], "supply": ["stock", "surfaced"]}
    for name, values in body.items():
        if draw(st.integers(0, 3)) == 0:
            order = changed(order, f"/lens/{name}", draw(st.sampled_from(values)))
    if draw(st.booleans()):
        order = changed(order, "/frame/rim_depth_mm", 2.0)
    return order


def comparison(order: Document, **more: Any) -> CompareAnswer:
    return compare(CompareRequest.model_validate({"order": order, **more}), shipped(), AS_OF)


def checked(order: Document, row: ComparedRow) -> CheckAnswer:
    """The check of the order in the material of a row, on its blank, sent by itself."""
    alone = changed(changed(order, "/lens/material", row.material.id), "/lens/blank_diameter_mm", row.blank_mm)
    return answer_to(alone)


def lens_of(answer: CheckAnswer, eye: str) -> list[float | None]:
    """Front power, centre, thinnest and thickest edge, weight, what shows behind, margin: as the check shows them."""
    body = getattr(answer.thickness, eye, None)
    fit = getattr(answer.fit, eye, None)
    edge = None if body is None else body.edge_mm
    return [
        None if body is None else body.front_power_d,
        None if body is None else body.centre_mm,
        None if edge is None else edge.thinnest.mm,
        None if edge is None else edge.thickest.mm,
        None if body is None else body.weight_g,
        None if body is None or body.shows is None else body.shows.behind_mm,
        None if fit is None else fit.margin_mm,
    ]


def lens_in(row: ComparedRow, eye: str) -> list[float | None]:
    lens = getattr(row, eye)
    return [
        lens.front_power_d, lens.centre_mm, lens.thinnest_edge_mm, lens.thickest_edge_mm, lens.weight_g,
        lens.shows_behind_mm, lens.margin_mm,
    ]  # fmt: skip


@steady(75)
@given(compared_orders(), named, sorts)
def test_each_row_is_the_check_of_the_order_with_that_material_and_blank(
    order: Document, names: list[str], sort_by: str
) -> None:
    for row in comparison(order, materials=names, sort_by=sort_by).rows:
        answer = checked(order, row)
        assert row.decision == answer.decision
        grave = [one for one in answer.findings if one.severity != "note"]
        assert row.codes == list(dict.fromkeys(one.code for one in grave))
        for eye in EYES:
            assert lens_in(row, eye) == lens_of(answer, eye)
        assert row.pair.price == (None if answer.stock is None else answer.stock.pair_price)
        rejected = [one.message for one in answer.findings if one.severity == "reject"]
        assert row.excluded == rejected[0] if rejected else row.excluded is None or "lens-body-impossible" in row.codes
        advice = {"impact-resistant-material-advised", "one-useful-eye"}
        assert set(row.impact_advice) == advice & {one.code for one in answer.findings}


@steady(75)
@given(compared_orders(), named, sorts)
def test_rows_that_can_be_made_go_first_and_by_the_figure_asked_for(
    order: Document, names: list[str], sort_by: str
) -> None:
    answer = comparison(order, materials=names, sort_by=sort_by)
    member = {"thickest_edge": "thickest_edge_mm", "weight": "weight_g", "centre": "centre_mm", "price": "price"}
    assert answer.sorted_by == sort_by
    for before, after in pairwise(answer.rows):
        assert (before.excluded is None) >= (after.excluded is None)
        if (before.excluded is None) == (after.excluded is None):
            figures = [getattr(row.pair, member[sort_by]) for row in (before, after)]
            assert figures[1] is None or (figures[0] is not None and figures[0] <= figures[1])
    accepted = [place for place, row in enumerate(answer.rows) if row.decision == "accept"]
    assert answer.best == (accepted[0] if accepted else None)
    if answer.rows:
        mildest = min(GRAVITY.index(row.decision) for row in answer.rows)
        own = max(({"note": 0, "review": 1, "reject": 2}[one.severity] for one in answer.findings), default=0)
        assert answer.decision == GRAVITY[max(mildest, own)]


@steady(50)
@given(compared_orders(), named)
def test_the_figures_of_the_pair_are_made_of_those_of_its_lenses(order: Document, names: list[str]) -> None:
    for row in comparison(order, materials=names).rows:
        lenses = (row.right, row.left)
        for member, of_both in (("centre_mm", max), ("thickest_edge_mm", max), ("weight_g", sum)):
            figures = [getattr(lens, member) for lens in lenses]
            found = getattr(row.pair, member)
            if None in figures:
                assert found is None
            else:
                assert found is not None
                assert abs(found - of_both(figures)) <= 1.01e-4


@steady(35)
@given(compared_orders(), named, sorts, st.randoms(use_true_random=False))
def test_neither_other_materials_nor_their_order_change_a_row(
    order: Document, names: list[str], sort_by: str, chance: Any
) -> None:
    """A row is worked out beside others, with which it shares work; alone it says the same."""
    together = comparison(order, materials=[*NAMES, *names], sort_by=sort_by).rows
    shuffled = list(NAMES)
    chance.shuffle(shuffled)
    assert sorted(map(repr, comparison(order, materials=shuffled).rows)) == sorted(map(repr, together))
    for name in names:
        alone = comparison(order, materials=[name], sort_by=sort_by).rows
        assert alone == [row for row in together if row.material.id == name]


@steady(35)
@given(orders(), named)
def test_mirrored_orders_have_mirrored_rows(order: Document, names: list[str]) -> None:
    def figures(row: ComparedRow, eyes: tuple[str, ...]) -> list[Any]:
        known = [*(lens_in(row, eye) for eye in eyes), *(getattr(row, eye).chromatic_pd for eye in eyes)]
        return [row.material.id, row.blank_mm, row.decision, known]

    one, two = comparison(order, materials=names), comparison(mirrored(order), materials=names)
    near = 2e-4  # the two are worked out with mirrored points, and shown with four decimals
    for before, after in zip(
        sorted((figures(row, EYES) for row in one.rows), key=lambda row: (row[0], row[1] or 0)),
        sorted((figures(row, EYES[::-1]) for row in two.rows), key=lambda row: (row[0], row[1] or 0)),
        strict=True,
    ):
        assert after[:3] == before[:3]
        for first, second in zip(_flat(before[3]), _flat(after[3]), strict=True):
            assert (first is None) == (second is None)
            assert first is None or abs(first - second) <= near


def _flat(parts: list[Any]) -> list[float | None]:
    return [one for part in parts for one in (part if isinstance(part, list) else [part])]


@steady(50)
@given(compared_orders(), named)
def test_what_is_assumed_for_the_comparison_is_assumed_in_every_row(order: Document, names: list[str]) -> None:
    answer = comparison(order, materials=names, sort_by="weight")
    every_row = [
        {(one.pointer, one.value, one.reason) for one in checked(order, row).assumptions} for row in answer.rows
    ]
    said = {(one.pointer.removeprefix("/order"), one.value, one.reason) for one in answer.assumptions}
    assert all(one.pointer.startswith("/order/") for one in answer.assumptions)
    assert said == (set.intersection(*every_row) if every_row else set())


def test_an_order_is_not_changed_by_being_compared() -> None:
    order = Order.model_validate(
        {
            "prescription": {"written": "R -2.00 L -2.25 PD 62"},
            "pd_mm": {},
            "frame": {"a_mm": 50, "b_mm": 36, "dbl_mm": 18},
        }
    )
    before = order.model_dump(), check(order, shipped(), AS_OF)
    compare(CompareRequest(order=order), shipped(), AS_OF)
    assert (order.model_dump(), check(order, shipped(), AS_OF)) == before
