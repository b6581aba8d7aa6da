"""Every example is answered as saved, by the web and by the command line, and shows what its note claims."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from example_cases import CONTRACT, FOLDER, Example, answer, client, contract, examples
from starlette.testclient import TestClient

from service.__main__ import main

EXAMPLES = tuple(examples())
ORDERS = tuple(example for example in EXAMPLES if example.path == "/v1/orders/check" and example.status == 200)
READABLE = tuple(example for example in EXAMPLES if example.status == 200 and not example.is_drawing)
DATED = tuple(example for example in READABLE if example.path != "/v1/traces/read")
DRAWINGS = tuple(example for example in EXAMPLES if example.is_drawing)
UNREADABLE = tuple(example for example in EXAMPLES if example.status == 422)
CLAIMS = {"Accepted": "accept", "Review": "review", "Rejected": "reject", "Unreadable": None, "Batch": None}
RESULTS = {"Passed": "pass", "Review": "review", "Failed": "fail"}
EXIT_CODES = {"accept": 0, "review": 1, "reject": 2}
GROUPS = (
    "batches",
    "compare",
    "drawings",
    "inspections",
    "order_form",
    "prescriptions",
    "screen",
    "sheets",
    "spreadsheets",
    "streams",
    "traces",
    "unreadable",
    "workbooks",
)
TESTS = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def service() -> Iterator[TestClient]:
    with client() as running:
        yield running


@pytest.fixture(autouse=True)
def shipped_profile(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("BENCHGATE_PROFILE", raising=False)


def saved(example: Example) -> Any:
    return json.loads(example.saved.read_text("utf-8"))


def codes(example: Example) -> set[str]:
    return {finding["code"] for finding in saved(example)["findings"]}


@pytest.mark.parametrize("example", EXAMPLES, ids=str)
def test_an_example_is_answered_as_saved(service: TestClient, example: Example) -> None:
    assert answer(service, example) == example.saved.read_text("utf-8")


@pytest.mark.parametrize("example", [*READABLE, *UNREADABLE], ids=str)
def test_an_example_shows_what_its_note_claims(example: Example) -> None:
    claim, colon, _ = example.note.partition(":")
    assert colon
    if "result" in saved(example):
        assert saved(example)["result"] == RESULTS[claim]
    else:
        assert saved(example).get("decision") == CLAIMS[claim]


@pytest.mark.parametrize("example", DRAWINGS, ids=str)
def test_a_drawing_shows_the_order_that_its_request_names(example: Example) -> None:
    request = json.loads(example.request)
    drawn = example.saved.read_text("utf-8")
    assert request["order"]["reference"] in drawn
    assert "as_of" in request["order"]
    for eye in ("right", "left"):
        assert (f'id="{eye}-outline"' in drawn) == (request.get("lenses", "both") in ("both", eye))


@pytest.mark.parametrize("example", DATED, ids=str)
def test_an_example_names_its_day_so_that_its_answer_stays(example: Example) -> None:
    request = json.loads(example.request)
    orders = [pair["ordered"] for pair in request.get("pairs", ())] or [
        request.get("order", request.get("ordered", request))
    ]
    assert all("as_of" in order for order in orders)
    assert not [taken for taken in saved(example).get("assumptions", ()) if taken["pointer"].endswith("/as_of")]


@pytest.mark.parametrize("example", ORDERS, ids=str)
def test_the_command_line_gives_the_same_answer_and_its_exit_code(
    example: Example, capsys: pytest.CaptureFixture[str]
) -> None:
    request = str(example.folder / "request.json")
    assert main(["check", request, "--json"]) == EXIT_CODES[saved(example)["decision"]]
    assert json.loads(capsys.readouterr().out) == saved(example)


@pytest.mark.parametrize("example", ORDERS, ids=str)
def test_the_report_for_a_person_tells_what_the_answer_holds(
    example: Example, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = saved(example)
    main(["check", str(example.folder / "request.json")])
    report = capsys.readouterr().out
    assert all(finding["message"] in report for finding in answer["findings"])
    for heading, part in (
        ("Lenses as bodies", "thickness"),
        ("As worn", "as_worn"),
        ("Near, at", "near"),
        ("From the list of finished blanks", "stock"),
        ("For the same effect at", "vertex"),
    ):
        assert (heading in report) == (answer[part] is not None), heading
    assert not re.search(r"None|nan|\{|\}", report)
    for eye in ("right", "left"):
        worn, body = ((answer[part] or {}).get(eye) for part in ("as_worn", "thickness"))
        if worn is not None:
            order = worn["to_order_traced"] or worn["to_order"]
            assert f"to order {order['notation']}, a change of {worn['change']:.2f} D. Not applied." in report
            lowered = worn["to_order_lowered"]
            assert lowered is None or f"or {lowered['notation']} with the optical centre moved for the tilt" in report
        if body is not None and body["inside"] is not None:
            assert f"{body['inside']['mm']:.2f} mm at its thinnest place inside" in report


def test_the_saved_contract_is_that_of_the_service(service: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    kept = CONTRACT.read_text("utf-8")
    assert contract(service) == json.loads(kept)
    assert main(["openapi"]) == 0
    assert capsys.readouterr().out == kept


def test_each_folder_holds_a_request_an_answer_and_a_note() -> None:
    folders = {folder for folder in FOLDER.rglob("*") if folder.is_dir()}
    groups = {FOLDER / name for name in GROUPS}
    assert folders - groups == {example.folder for example in EXAMPLES}
    for example in EXAMPLES:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", example.folder.name)
        assert {file.name for file in example.folder.iterdir()} == {"request.json", "note.md", example.answer_file}


def test_the_orders_have_references_of_their_own() -> None:
    references = [json.loads(example.request)["reference"] for example in ORDERS]
    assert all(re.fullmatch(r"W-1\d{3}", reference) for reference in references)
    assert len(set(references)) == len(references) >= 16


def test_every_rule_stands_in_an_example_or_has_a_test_of_its_own(service: TestClient) -> None:
    listed = {rule["code"] for rule in service.get("/v1/reference/rules").json()["rules"]}
    in_examples = set().union(*(codes(example) for example in READABLE))
    folders = [(TESTS / "rules", "test_*.py"), (TESTS / "reading", "test_*.py"), (TESTS / "reading", "*.toml")]
    files = (file for folder, names in folders for file in folder.glob(names))
    tested = "\n".join(file.read_text("utf-8") for file in files)
    only_tested = sorted(listed - in_examples)
    print(f"{len(in_examples)} of {len(listed)} rules stand in examples. Those that do not:", *only_tested, sep="\n  ")
    assert in_examples <= listed
    assert [code for code in only_tested if f'"{code}"' not in tested] == []
