"""The bench sheet over the web: the type that is asked for, with headers that let a browser do nothing else; an order is
never refused for being a bad one."""

import base64
import hashlib
import json
import re
from typing import Any

import jsonschema_rs
import pytest
from service_calls import example
from starlette.testclient import TestClient
from web_toys import JSON, problem_of

SHEET, CHECK = "/v1/bench/sheet", "/v1/orders/check"
HTML, PDF = "text/html", "application/pdf"
Document = dict[str, Any]
NOT_UNDERSTOOD = example(prescription={"written": "as last time"})
REJECTED = example(lens__blank_diameter_mm=50)
ORDERS = {
    "accepted": example(),
    "rejected": REJECTED,
    "not-understood": NOT_UNDERSTOOD,
    "wrong-profile": example(profile={"frame": {"a_least_mm": 90}}),
    "no-pd": example(pd_mm={}),
    "unknown-material": example(lens__material="amber"),
    "intermediate": example(lens__use="intermediate", prescription__right__add=2, prescription__left__add=2),
    "odd": example(
        prescription__right={"sphere": 9, "cylinder": 4.5, "axis": 0, "add": 2, "prism": [{"amount": 3, "base": 200}]},
        frame={"a_mm": 60, "b_mm": 40, "dbl_mm": 20, "rim": "drilled"},
        lens={"blank_diameter_mm": 78, "use": "bifocal", "segment": {}},
        profile={"tolerance": {"standard": "iso-21987-2017"}},
    ),
}
every_order = pytest.mark.parametrize("name", ORDERS)


def ask(service: TestClient, order: Document, accept: str | None = None, **more: object) -> Any:
    headers = JSON if accept is None else {**JSON, "Accept": accept}
    return service.post(SHEET, content=json.dumps({"order": order, **more}), headers=headers)


def sheet(service: TestClient, order: Document) -> Document:
    response = ask(service, order)
    assert response.status_code == 200
    document: Document = response.json()
    return document


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        (None, "application/json"),
        ("*/*", "application/json"),
        ("application/json", "application/json"),
        (HTML, HTML),
        ("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", HTML),
        (PDF, PDF),
        (f"{PDF}, {HTML};q=0.9", PDF),
    ],
)
def test_the_type_that_is_liked_best_is_sent(service: TestClient, accept: str | None, kind: str) -> None:
    response = ask(service, example(), accept)
    assert response.status_code == 200
    assert response.headers["content-type"].partition(";")[0] == kind
    start = {"application/json": b'{"decision"', HTML: b"<!doctype html>", PDF: b"%PDF-"}[kind]
    assert response.content.startswith(start)
    assert response.headers["cache-control"] == "no-store"


def test_a_type_that_there_is_not_is_refused_with_those_there_are(service: TestClient) -> None:
    problem = problem_of(ask(service, example(), "image/png"), "not-acceptable")
    assert problem["status"] == 406
    for kind in ("application/json", HTML, PDF):
        assert kind in problem["detail"]


@every_order
def test_the_answer_holds_what_the_schema_says_and_what_the_check_says(service: TestClient, name: str) -> None:
    published = service.get("/openapi.json").json()
    schema = {"$ref": "#/components/schemas/BenchSheet", "components": published["components"]}
    answer = sheet(service, ORDERS[name])
    jsonschema_rs.Draft202012Validator(schema).validate(answer)
    checked = service.post(CHECK, content=json.dumps(ORDERS[name]), headers=JSON).json()
    for part in ("decision", "reference", "findings", "cautions", "assumptions", "engine"):
        assert answer[part] == checked[part]


@every_order
@pytest.mark.parametrize("size", ["a4", "letter"])
def test_every_order_that_can_be_read_has_a_page(service: TestClient, name: str, size: str) -> None:
    for kind in (HTML, PDF):
        assert ask(service, ORDERS[name], kind, page=size).status_code == 200


def test_a_rejected_order_says_do_not_cut_on_its_page(service: TestClient) -> None:
    assert sheet(service, REJECTED)["decision"] == "reject"
    page = ask(service, REJECTED, HTML).text
    assert "REJECT: DO NOT CUT" in page
    assert "REJECT" not in ask(service, example(), HTML).text


def test_an_order_that_cannot_be_worked_with_is_answered_with_its_findings(service: TestClient) -> None:
    answer = sheet(service, NOT_UNDERSTOOD)
    assert answer["right"] is answer["left"] is answer["pair"] is answer["edging"] is None
    assert answer["checklist"] == []
    assert answer["findings"]
    assert "DO NOT CUT" in ask(service, NOT_UNDERSTOOD, HTML).text


def test_one_policy_names_the_one_style_of_the_page_by_its_digest(service: TestClient) -> None:
    for size in ("a4", "letter"):
        response = ask(service, example(), HTML, page=size)
        styles = re.findall(r"<style>(.*?)</style>", response.text, re.DOTALL)
        assert len(styles) == 1
        digest = base64.b64encode(hashlib.sha256(styles[0].encode()).digest()).decode()
        assert response.headers.get_list("content-security-policy") == [
            f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        ]
        assert not re.search(
            r"<script|<link|<img|src=|href=|style=|url\(|@import|http(?!://www\.w3\.org/2000/svg)", response.text
        )
        for name, value in (
            ("x-content-type-options", "nosniff"),
            ("referrer-policy", "no-referrer"),
            ("cross-origin-resource-policy", "same-origin"),
        ):
            assert response.headers.get_list(name) == [value]


@pytest.mark.parametrize("kind", ["application/json", PDF])
def test_other_types_keep_the_policy_of_data(service: TestClient, kind: str) -> None:
    policy = ask(service, example(), kind).headers.get_list("content-security-policy")
    assert policy == ["default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"]


def test_words_from_the_request_are_escaped(service: TestClient) -> None:
    hostile = "</title></style><script>alert(1)</script>\"'&\u0000\u202e"
    page = ask(service, example(reference=hostile), HTML).text
    assert "<script" not in page
    assert page.count("</style>") == 1
    assert page.count("</title>") == 1
    assert "&lt;script&gt;" in page
    assert "\u202e" not in page
    assert "\u0000" not in page
    assert sheet(service, example(reference=hostile))["reference"] == hostile


def test_the_digest_is_that_of_the_order_and_not_of_the_page(service: TestClient) -> None:
    first = sheet(service, example())["order_digest"]
    assert re.fullmatch("[0-9a-f]{64}", first)
    assert ask(service, example(), page="letter").json()["order_digest"] == first
    assert sheet(service, dict(reversed(example().items())))["order_digest"] == first
    assert sheet(service, example(reference="W-1043"))["order_digest"] != first
    assert f"{first[:4]} {first[4:8]} {first[8:12]}" in ask(service, example(), HTML).text


@pytest.mark.parametrize("kind", ["application/json", HTML, PDF])
def test_the_same_request_gives_the_same_bytes(service: TestClient, kind: str) -> None:
    assert ask(service, REJECTED, kind).content == ask(service, REJECTED, kind).content


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"order": example(), "page": "a3"}, "/page"),
        ({"order": example(), "size": "a4"}, "/size"),
        ({"page": "a4"}, "/order"),
        ({"order": example(frame__a_mm="54")}, "/order/frame/a_mm"),
    ],
)
def test_a_request_that_cannot_be_read_is_told_with_its_place(
    service: TestClient, body: Document, pointer: str
) -> None:
    for kind in (HTML, "application/json"):
        response = service.post(SHEET, content=json.dumps(body), headers={**JSON, "Accept": kind})
        assert [fault["pointer"] for fault in problem_of(response, "unreadable-request")["errors"]] == [pointer]


def test_the_published_contract_names_all_three_types(service: TestClient) -> None:
    answers = service.get("/openapi.json").json()["paths"][SHEET]["post"]["responses"]
    assert sorted(answers["200"]["content"]) == sorted(["application/json", HTML, PDF])
    assert {"406", "408", "413", "415", "422", "503"} <= answers.keys()
