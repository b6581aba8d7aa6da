"""What holds of every answer, whatever the order: its order, its figures, its pointers, what it assumed."""

import json
import math
import re
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from order_strategies import GRAVITY, Document, answer_to, changed, orders, shipped, steady, wild_orders, without
from pydantic import TypeAdapter

from service.contract.answer import CheckAnswer, Finding
from service.contract.order import EXAMPLE_ORDER, Order
from service.rules.registry import RULES

WRITER = TypeAdapter(CheckAnswer)
SCHEMA = Order.model_json_schema()
TEMPLATES = {one.code: f"{one.shop} {one.customer}" for one in RULES}
# A figure that stands by itself: not the 801.410 of a law, the Z80.1-2015 of a standard or the 1.50 of a material.
FIGURE = re.compile(r"(?<![\w./-])[+-]?\d+(?:\.\d+)?(?![\w/-])(?!\.\d)")


def plain(answer: CheckAnswer) -> Any:
    return json.loads(WRITER.dump_json(answer, by_alias=True))


def leaves(node: object) -> Iterator[object]:
    if isinstance(node, dict):
        for value in node.values():
            yield from leaves(value)
    elif isinstance(node, list | tuple):
        for value in node:
            yield from leaves(value)
    else:
        yield node


@steady(300)
@given(st.one_of(orders(), wild_orders()))
def test_findings_stand_gravest_first_and_the_gravest_decides(order: Document) -> None:
    answer = answer_to(order)
    gravities = [{"reject": 2, "review": 1, "note": 0}[one.severity] for one in answer.findings]
    assert gravities == sorted(gravities, reverse=True)
    assert GRAVITY[answer.decision] == max(gravities, default=0)


@steady(300)
@given(wild_orders())
def test_every_figure_of_an_answer_is_a_finite_number(order: Document) -> None:
    answer = answer_to(order)
    figures = [leaf for leaf in leaves(WRITER.dump_python(answer)) if isinstance(leaf, float)]
    assert figures
    assert all(math.isfinite(figure) for figure in figures)
    text = json.dumps(plain(answer), allow_nan=False)
    assert not re.search(r"\b(?:nan|inf|None)\b", text.replace(json.dumps(order.get("reference")), ""))


@steady(200)
@given(orders())
def test_every_figure_in_a_message_is_a_figure_of_the_answer_the_order_or_the_profile(order: Document) -> None:
    answer = answer_to(order)
    around = [float(one) for one in leaves([plain(answer), order, shipped().profile.model_dump()]) if is_number(one)]
    for finding in answer.findings:
        known = [*around, *figures_in(TEMPLATES[finding.code])]
        for text in (finding.message, finding.customer_message):
            for written in FIGURE.findall(text):
                assert any(says(written, figure) for figure in known), (finding.code, written, text)


def is_number(leaf: object) -> bool:
    return isinstance(leaf, int | float) and not isinstance(leaf, bool)


def figures_in(text: str) -> list[float]:
    return [float(written) for written in FIGURE.findall(text)]


def says(written: str, figure: float) -> bool:
    """Whether a figure, rounded as the words are, is what the words say; the words may leave out the sign."""
    decimals = len(written.partition(".")[2])
    half = 0.5 * 10**-decimals + 1e-9
    value = float(written)
    return abs(figure - value) <= half or abs(abs(figure) - abs(value)) <= half


@steady(300)
@given(orders())
def test_the_figures_that_a_finding_compares_stand_in_its_message(order: Document) -> None:
    for finding in answer_to(order).findings:
        template = next(one.shop for one in RULES if one.code == finding.code)
        for name, value in (("{value}", finding.value), ("{limit}", finding.limit)):
            if name in template and is_number(value):
                assert isinstance(value, int | float)
                assert any(says(written, value) for written in FIGURE.findall(finding.message)), finding
            elif name in template:
                assert isinstance(value, str), finding
                assert value in finding.message, finding


@steady(200)
@given(st.one_of(orders(), wild_orders()))
def test_every_pointer_leads_to_a_member_that_the_contract_knows(order: Document) -> None:
    answer = answer_to(order)
    for finding in answer.findings:
        for pointer in (finding.pointer, *(remedy.pointer for remedy in finding.remedies)):
            assert_known(pointer, order, finding)
    for taken in answer.assumptions:
        assert_known(taken.pointer, order, taken)
        assert not resolves(taken.pointer, order), taken


def assert_known(pointer: str, order: Document, told: object) -> None:
    """The schema knows the whole way, and as far as the order goes it resolves there, or its parent is lacking too."""
    steps = pointer.removeprefix("/").split("/")
    nodes: list[dict[str, Any]] = [SCHEMA]
    for step in steps:
        nodes = [
            inner["properties"][step]
            for node in nodes
            for inner in branches(node)
            if step in inner.get("properties", {})
        ]
        assert nodes, (pointer, told)
    parent: Any = order
    for step in steps[:-1]:
        if not isinstance(parent, dict) or step not in parent:
            return
        parent = parent[step]
    assert isinstance(parent, dict), (pointer, told)


def branches(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield node
    if "$ref" in node:
        yield from branches(SCHEMA["$defs"][node["$ref"].rsplit("/", 1)[-1]])
    for key in ("anyOf", "oneOf", "allOf"):
        for branch in node.get(key, ()):
            yield from branches(branch)


def resolves(pointer: str, document: Document) -> bool:
    node: Any = document
    for step in pointer.removeprefix("/").split("/"):
        if not isinstance(node, dict) or step not in node:
            return False
        node = node[step]
    return True


# What is assumed, by the member that is left out.
ASSUMED = {
    "/as_of": "/as_of",
    "/frame/ed_mm": "/frame/ed_mm",
    "/frame/rim": "/frame/rim",
    "/fitting_height_mm/right": "/fitting_height_mm/right",
    "/fitting_height_mm/left": "/fitting_height_mm/left",
    "/lens/material": "/lens/material",
    "/lens/use": "/lens/use",
    "/lens/blank_diameter_mm": "/lens/blank_diameter_mm",
    "/wearer/age_years": "/wearer/age_years",
    "/wearer/useful_eyes": "/wearer/useful_eyes",
}
NOT_ASSUMED = [
    "/reference",
    "/prescription/vertex_distance_mm",
    "/prescription/issued_on",
]


def test_an_order_with_every_optional_member_rests_on_no_assumption() -> None:
    assert answer_to(EXAMPLE_ORDER).assumptions == []


@steady(200)
@given(st.sets(st.sampled_from([*ASSUMED, *NOT_ASSUMED])))
def test_assumptions_list_exactly_what_was_left_out(left_out: set[str]) -> None:
    order = EXAMPLE_ORDER
    for pointer in left_out:
        order = without(order, pointer)
    taken = answer_to(order).assumptions
    assert sorted(one.pointer for one in taken) == sorted(ASSUMED[one] for one in left_out if one in ASSUMED)
    assert all(one.reason.endswith(".") for one in taken)


@pytest.mark.parametrize(
    ("pd", "assumed"),
    [
        ({"both": 63.0}, {"/pd_mm/right": 31.5, "/pd_mm/left": 31.5}),
        ({"both": 63.0, "right": 31.0}, {"/pd_mm/left": 32.0}),
        ({"both": 63.0, "left": 31.0}, {"/pd_mm/right": 32.0}),
        ({"both": 63.0, "right": 31.0, "left": 32.0}, {}),
        ({"right": 31.0, "left": 32.0}, {}),
        ({"right": 31.0}, {}),
    ],
)
def test_a_pupil_distance_is_shared_out_and_said(pd: dict[str, float], assumed: dict[str, float]) -> None:
    answer = answer_to({**EXAMPLE_ORDER, "pd_mm": pd})
    assert {one.pointer: one.value for one in answer.assumptions} == assumed


@steady(100)
@given(orders(), st.sampled_from(sorted(ASSUMED)))
def test_naming_what_was_assumed_changes_no_figure(order: Document, pointer: str) -> None:
    answer = answer_to(without(order, pointer) if resolves(pointer, order) else order)
    for taken in answer.assumptions:
        # A usual ED is not the same as a measured one, and heights taken for granted are not spoken of.
        if taken.pointer.startswith(("/lens", "/frame/rim", "/pd_mm", "/as_of")):
            base = without(order, pointer) if resolves(pointer, order) else order
            named = answer_to(changed(base, taken.pointer, taken.value))
            assert (named.fit, named.prism, named.prescription) == (answer.fit, answer.prism, answer.prescription)


@steady(300)
@given(orders())
def test_findings_tell_what_they_rest_on_in_whole_sentences(order: Document) -> None:
    for finding in answer_to(order).findings:
        assert_well_told(finding)


def assert_well_told(finding: Finding) -> None:
    assert finding.code in TEMPLATES
    assert re.search(r"\[[a-z0-9.-]+\]$", finding.source), finding.source
    for text in (finding.message, finding.customer_message):
        assert text == text.strip()
        assert text.endswith((".", "?")), text
        assert "{" not in text
        assert "  " not in text
        assert not re.search(r"\binvalid\b", text, re.IGNORECASE)
    if isinstance(finding.value, int | float) and isinstance(finding.limit, int | float):
        assert finding.unit is not None, finding
