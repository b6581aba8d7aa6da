"""The digest says whether two orders are one: the same for every way to write an order, another for every other order."""

import copy
import hashlib
import json
import random
from typing import Any

import pytest
from sheet_cases import CASES, example

from service.contract.order import EXAMPLE_ORDER, Order
from service.documents import order_from
from service.order_digest import code_text, in_groups, order_digest

SMALL: dict[str, Any] = {
    "prescription": {"right": {"sphere": -2.25}, "left": {"sphere": 1, "cylinder": 0.5, "axis": 90}},
    "pd_mm": {"both": 63},
    "frame": {"a_mm": 54, "b_mm": 40, "dbl_mm": 18},
    "reference": "Ä1",
}  # fmt: skip


def digest(order: Any) -> str:
    return order_digest(order_from((order if isinstance(order, str) else json.dumps(order)).encode()))


def test_it_is_the_sha_256_of_the_canonical_text_written_out_by_hand() -> None:
    text = (
        '{"frame":{"a_mm":54,"b_mm":40,"dbl_mm":18},"pd_mm":{"both":63},"prescription":{"left":{"axis":90,"cylinder":0.5,'
        '"sphere":1},"right":{"sphere":-2.25}},"reference":"Ä1"}'
    )
    assert digest(SMALL) == hashlib.sha256(text.encode()).hexdigest()


def shuffled(node: Any, rng: random.Random) -> Any:
    if isinstance(node, dict):
        names = list(node)
        rng.shuffle(names)
        return {name: shuffled(node[name], rng) for name in names}
    return [shuffled(part, rng) for part in node] if isinstance(node, list) else node


@pytest.mark.parametrize("name", CASES)
def test_the_order_of_the_members_does_not_matter(name: str) -> None:
    rng = random.Random(5)
    for _ in range(5):
        assert digest(shuffled(CASES[name], rng)) == digest(CASES[name])


@pytest.mark.parametrize("written", ["1", "1.0", "1.00", "1e0", "10e-1"])
def test_how_a_number_is_written_does_not_matter(written: str) -> None:
    text = json.dumps(SMALL).replace('"sphere": 1,', f'"sphere": {written},')
    assert f'"sphere": {written},' in text
    assert digest(text) == digest(SMALL)


def test_blanks_and_escapes_do_not_matter() -> None:
    assert digest(json.dumps(SMALL, indent=7, ensure_ascii=False)) == digest(json.dumps(SMALL, ensure_ascii=True))


def test_a_member_that_is_null_is_one_that_was_left_out() -> None:
    with_nulls = {**SMALL, "pd_source": None, "frame": {**SMALL["frame"], "ed_mm": None}}
    assert digest(with_nulls) == digest(SMALL)


def test_numbers_within_a_fhir_document_are_taken_by_value_too() -> None:
    orders = [
        {**EXAMPLE_ORDER, "prescription": {"fhir": {"resourceType": "VisionPrescription", "x": value}}}
        for value in (1, 1.0, True, -0.0, 0, 2)
    ]
    one, also, true, minus_nothing, nothing, two = (digest(order) for order in orders)
    assert one == also
    assert minus_nothing == nothing
    assert len({one, true, nothing, two}) == 4


CHANGES: list[tuple[str, Any]] = [
    ("reference", "W-1043"), ("as_of", "2026-11-26"), ("edge_profile", False), ("edge_profile", True),
    ("pd_source", "ruler"), ("profile", {"blank": {"allowance_mm": 2.0}}), ("as_worn", {}), ("reference", None),
]  # fmt: skip


def test_every_other_order_has_another_digest() -> None:
    orders = [EXAMPLE_ORDER, *({**EXAMPLE_ORDER, name: value} for name, value in CHANGES)]
    for path in (("prescription", "left", "axis"), ("frame", "a_mm"), ("pd_mm", "right")):
        order = copy.deepcopy(EXAMPLE_ORDER)
        node = order
        for part in path[:-1]:
            node = node[part]
        node[path[-1]] += 0.001 if path[-1] != "axis" else 1
        orders.append(order)
    left = EXAMPLE_ORDER | {
        "prescription": {**EXAMPLE_ORDER["prescription"], "right": EXAMPLE_ORDER["prescription"]["left"]}
    }
    digests = [digest(order) for order in [*orders, left]]
    assert len(set(digests)) == len(digests)


def test_what_was_sent_counts_and_not_what_it_was_filled_in_with() -> None:
    order = Order.model_validate(EXAMPLE_ORDER)
    assert order_digest(order) == order_digest(order.model_copy())
    assert order_digest(order) != order_digest(order.model_copy(update={"edge_profile": False}))


def test_a_trace_counts_point_by_point() -> None:
    traced = example("traced-frame")
    radii = traced["frame"]["trace"]["right"]["radii_mm"]
    moved = copy.deepcopy(traced)
    moved["frame"]["trace"]["right"]["radii_mm"] = [*radii[1:], radii[0]]
    assert digest(traced) != digest(moved)


def test_a_code_holds_the_digest_and_nothing_of_the_order() -> None:
    found = digest(EXAMPLE_ORDER)
    assert code_text(found) == f"benchgate:order:sha256:{found}"
    assert in_groups(found).replace(" ", "") == found[:12]
    assert EXAMPLE_ORDER["reference"] not in code_text(found)
