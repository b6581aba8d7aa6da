"""Our columns say what the answer says, as figures where it has figures, and are never read as an order."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter

from service.checking import check
from service.client.answers import CheckAnswer as ClientAnswer
from service.client.answers import built
from service.contract.answer import CheckAnswer
from service.contract.order import EXAMPLE_ORDER
from service.documents import order_of
from service.many.columns_out import OUR_COLUMNS, header_to_read, is_ours, our_cells, unread_cells
from service.profile.loader import load
from service.reading.column_names import meaning_of
from service.reading.columns import columns_of, order_document

EXAMPLES = Path(__file__).resolve().parents[2] / "openapi_examples"
HEADER = ["R sph", "L sph", "PD", "A", "B", "DBL"]


def answer(order: dict[str, Any] | None = None) -> CheckAnswer:
    return check(order_of(order or EXAMPLE_ORDER), load(None), date(2026, 11, 25))


def cells(order: dict[str, Any] | None = None) -> dict[str, Any]:
    return dict(zip(OUR_COLUMNS, our_cells(answer(order)), strict=True))


@pytest.mark.parametrize("name", ["everyday-pair", "blank-may-be-too-small", "axis-200", "cylinder-without-axis"])
def test_the_cells_are_the_same_from_an_answer_its_document_and_the_client(name: str) -> None:
    found = answer(json.loads((EXAMPLES / name / "request.json").read_text("utf-8")))
    document = json.loads(TypeAdapter(CheckAnswer).dump_json(found, by_alias=True))
    assert our_cells(found) == our_cells(document) == our_cells(built(ClientAnswer, document))  # type: ignore[arg-type]


def test_each_cell_is_what_the_answer_says() -> None:
    found, document = cells(), json.loads(TypeAdapter(CheckAnswer).dump_json(answer(), by_alias=True))
    for eye in ("right", "left"):
        reading, fit = document["prescription"][eye], document["fit"][eye]
        assert found[f"benchgate: {eye} as read"] == reading["notation"]
        assert found[f"benchgate: {eye} spherical equivalent (D)"] == reading["spherical_equivalent"]
        assert found[f"benchgate: {eye} decentration in (mm)"] == fit["decentration_mm"]["in"]
        assert found[f"benchgate: {eye} decentration up (mm)"] == fit["decentration_mm"]["up"]
        assert found[f"benchgate: {eye} least blank (mm)"] == fit["minimum_blank_mm"]["expected"]
        assert found[f"benchgate: {eye} margin (mm)"] == fit["margin_mm"]
    assert found["benchgate: decision"] == document["decision"]


def test_the_first_finding_is_the_gravest_and_all_codes_are_named() -> None:
    small = {**EXAMPLE_ORDER, "lens": {**EXAMPLE_ORDER["lens"], "blank_diameter_mm": 60}}
    found, said = cells(small), answer(small).findings
    assert found["benchgate: decision"] == "reject"
    assert found["benchgate: first finding"] == said[0].message
    assert said[0].severity == "reject"
    assert set(str(found["benchgate: all findings"]).split(", ")) == {one.code for one in said}


def test_figures_are_figures_and_what_is_not_known_is_empty() -> None:
    found = cells({**EXAMPLE_ORDER, "prescription": {"written": "this says nothing"}})
    assert found["benchgate: decision"] == "reject"
    figures = [name for name in OUR_COLUMNS if name.endswith(")")]
    assert len(figures) == 10
    assert all(found[name] is None for name in figures)
    assert all(isinstance(cells()[name], float) for name in figures)


def test_a_row_that_is_not_readable_has_the_reason_and_no_figure() -> None:
    found = dict(
        zip(OUR_COLUMNS, unread_cells("Cell B4 holds …", ["power-unsigned", "power-unsigned", "x"]), strict=True)
    )
    told = {name.removeprefix("benchgate: "): cell for name, cell in found.items() if cell is not None}
    assert told == {
        "decision": "unreadable", "first finding": "Cell B4 holds …", "all findings": "power-unsigned, x",
    }  # fmt: skip


def test_a_checked_table_is_read_as_it_was_before() -> None:
    row = ["-2.25", "-2.50", "63", "54", "40", "18"]
    columns = columns_of(header_to_read([*HEADER, *OUR_COLUMNS]))
    again = order_document(columns, [*row, *(str(cell) for cell in our_cells(answer()))], 2)
    assert again.document == order_document(columns_of(HEADER), row, 2).document
    assert again.remarks == ()
    # Bare, some of our names would be taken for columns of an order that are not clear.
    assert any(meaning_of(name) is not None for name in OUR_COLUMNS)


@pytest.mark.parametrize("name", [None, 5, "decision", "my benchgate: decision"])
def test_other_names_are_not_ours(name: object) -> None:
    assert not is_ours(name)
    assert all(is_ours(f" {ours.upper()} ") for ours in OUR_COLUMNS)
