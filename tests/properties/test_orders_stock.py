"""The shop's list of finished blanks: who fits depends on nothing but the row and the lens, and the pair is the best there is.

The best pair is looked for here a second time, by trying every two rows.
"""

from itertools import product
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from order_strategies import EYES, Document, answer_to, changed, mirrored, orders, steady, transposed

from service.contract.stock import EyeBlanks, Stock

RANK = {"sure": 0, "maybe": 1, "no": 2}
MATERIAL = "polycarbonate"

quarters = st.integers(-40, 24).map(lambda n: n / 4)
# Few values each, so that much is alike and ties are common.
rows = st.fixed_dictionaries(
    {
        "material": st.sampled_from([MATERIAL, MATERIAL, MATERIAL, "crown-glass"]),
        "diameter_mm": st.sampled_from([55, 60, 65, 70, 75, 80]),
        "sphere_least_d": st.sampled_from([-20, -8, -2]),
        "sphere_most_d": st.sampled_from([0, 4, 12]),
        "cylinder_most_d": st.sampled_from([0, 2, 4, 8]),
    },
    optional={
        "front_power_d": st.sampled_from([0.5, 2, 4, 4.2, 6]),
        "step_d": st.sampled_from([0.125, 0.25]),
        "total_least_d": st.sampled_from([-20, -6]),
        "total_most_d": st.sampled_from([0, 12]),
        "price": st.sampled_from([0, 4.5, 9]),
        "top_marked": st.booleans(),
    },
)
lists = st.lists(rows, min_size=1, max_size=9).map(
    lambda found: [{"name": f"row {place}", **one} for place, one in enumerate(found)]
)


@st.composite
def listed_orders(draw: st.DrawFn) -> Document:
    """Orders, the milder powers more often, with a list of finished blanks."""
    order = changed(draw(orders()), "/profile/blanks", draw(lists))
    order.setdefault("lens", {})["material"] = MATERIAL
    if draw(st.booleans()):
        order["lens"]["use"] = "distance"
    for eye in EYES:
        if draw(st.integers(0, 3)):
            order["prescription"][eye] = {"sphere": draw(st.integers(-12, 8)) / 4}
    return order


def stock_of(order: Document) -> Stock | None:
    return answer_to(order).stock


def eyes(stock: Stock | None) -> list[EyeBlanks | None]:
    return [None, None] if stock is None else [stock.right, stock.left]


def fits(eye: EyeBlanks | None) -> dict[str, tuple[str, tuple[str, ...]]]:
    return {} if eye is None else {one.name: (one.fits, tuple(one.reasons)) for one in eye.candidates}


def listed(order: Document) -> dict[str, dict[str, Any]]:
    return {one["name"]: one for one in order["profile"]["blanks"]}


@steady(150)
@given(listed_orders(), st.randoms(use_true_random=False))
def test_the_order_of_the_rows_does_not_change_who_fits(order: Document, chance: Any) -> None:
    shuffled = list(order["profile"]["blanks"])
    chance.shuffle(shuffled)
    one, two = answer_to(order), answer_to(changed(order, "/profile/blanks", shuffled))
    assert [fits(eye) for eye in eyes(two.stock)] == [fits(eye) for eye in eyes(one.stock)]
    assert two.decision == one.decision
    if one.stock is not None and two.stock is not None:
        assert two.stock.pair_price == one.stock.pair_price


@steady(150)
@given(listed_orders())
def test_transposed_prescriptions_get_the_same_blanks(order: Document) -> None:
    rx = order["prescription"]
    other = changed(order, "/prescription", {**rx, **{eye: transposed(rx[eye]) for eye in EYES}})
    one, two = answer_to(order), answer_to(other)
    assert (two.stock, two.assumptions) == (one.stock, one.assumptions)


@steady(150)
@given(listed_orders())
def test_mirrored_orders_get_mirrored_blanks(order: Document) -> None:
    one, two = stock_of(order), stock_of(mirrored(order))
    assert eyes(two) == eyes(one)[::-1]
    if one is not None and two is not None:
        assert two.pair_price == one.pair_price


@steady(150)
@given(listed_orders(), st.sampled_from([0.1, 1, 5, 20]))
def test_a_larger_row_of_the_same_kind_never_fits_less(order: Document, more_mm: float) -> None:
    larger = [{**one, "diameter_mm": one["diameter_mm"] + more_mm} for one in order["profile"]["blanks"]]
    for before, after in zip(
        eyes(stock_of(order)), eyes(stock_of(changed(order, "/profile/blanks", larger))), strict=True
    ):
        found = fits(after)
        for name, (fit, _) in fits(before).items():
            assert RANK[found[name][0]] <= RANK[fit]


@steady(150)
@given(listed_orders(), st.sampled_from([0.25, 1, 3]))
def test_a_row_with_a_wider_range_never_fits_less(order: Document, more_d: float) -> None:
    wider = [
        {
            **one,
            "sphere_least_d": one["sphere_least_d"] - more_d,
            "sphere_most_d": one["sphere_most_d"] + more_d,
            "cylinder_most_d": one["cylinder_most_d"] + more_d,
        }
        for one in order["profile"]["blanks"]
    ]
    for before, after in zip(
        eyes(stock_of(order)), eyes(stock_of(changed(order, "/profile/blanks", wider))), strict=True
    ):
        found = fits(after)
        for name, (fit, _) in fits(before).items():
            assert RANK[found[name][0]] <= RANK[fit]


@steady(400)
@given(listed_orders())
def test_no_two_rows_make_a_better_pair_than_the_best(order: Document) -> None:
    stock = stock_of(order)
    named = order["lens"].get("blank_diameter_mm")
    known = listed(order)
    considered = [
        [
            one
            for one in ([] if eye is None else eye.candidates)
            if one.fits != "no" and named in (None, one.diameter_mm)
        ]
        for eye in eyes(stock)
    ]
    best = [None if eye is None else eye.best for eye in eyes(stock)]
    assert [one is not None for one in best] == [bool(some) for some in considered]
    if None in best:
        return
    chosen = {
        (right.name, left.name): badness(known[right.name], known[left.name], right.fits, left.fits)
        for right, left in product(*considered)
    }
    assert chosen[best[0], best[1]] == min(chosen.values())  # type: ignore[index]


def badness(right: dict[str, Any], left: dict[str, Any], right_fits: str, left_fits: str) -> tuple[float, ...]:
    """What counts, in turn: fit, whether the front surfaces can be compared, how they differ, size, prices not known, price."""
    fronts = [one["front_power_d"] for one in (right, left) if "front_power_d" in one]
    prices = [one["price"] for one in (right, left) if "price" in one]
    sizes = [
        one["diameter_mm"] if fit == "sure" else -one["diameter_mm"]
        for one, fit in ((right, right_fits), (left, left_fits))
    ]
    apart = round(abs(fronts[0] - fronts[1]), 9) if len(fronts) == 2 else 0.0
    return RANK[right_fits] + RANK[left_fits], len(fronts) == 1, apart, sum(sizes), 2 - len(prices), sum(prices)


@steady(250)
@given(listed_orders())
def test_a_blank_left_out_is_the_best_or_else_the_largest_that_comes_in_the_power(order: Document) -> None:
    order["lens"].pop("blank_diameter_mm", None)
    answer = answer_to(order)
    if answer.stock is None:
        return
    taken = [one for one in answer.assumptions if one.pointer == "/lens/blank_diameter_mm"]
    known = listed(order)
    everything = [one["diameter_mm"] for one in known.values() if one["material"] == MATERIAL]
    not_made = {
        *("sphere-out-of-range", "cylinder-out-of-range", "total-out-of-range", "off-the-step"),
        "surfaced-only",
    }
    for eye, found in zip(EYES, eyes(answer.stock), strict=True):
        in_power = [known[name]["diameter_mm"] for name, (_, why) in fits(found).items() if not not_made & set(why)]
        best = None if found is None else found.diameter_mm
        expected = best or max(in_power or everything)
        (assumed,) = taken if len(taken) == 1 else [one for one in taken if f"for the {eye} eye" in one.reason]
        assert assumed.value == expected
        fit = getattr(answer.fit, eye)
        assert fit is None or fit.blank_mm == expected


@steady(150)
@given(listed_orders())
def test_what_is_sure_by_the_list_is_not_doubted_by_the_rules_on_blanks(order: Document) -> None:
    for eye, found in zip(EYES, eyes(stock_of(order)), strict=True):
        if found is None or found.best is None or found.candidates[0].fits != "sure":
            continue
        doubts = answer_to(changed(order, "/lens/blank_diameter_mm", found.candidates[0].diameter_mm)).findings
        assert [
            one.code
            for one in doubts
            if one.eye == eye and one.severity != "note" and one.code.startswith(("blank-too", "blank-may"))
        ] == []
