"""In which language customers are spoken to, by the Accept-Language header (RFC 9110, 12.4.2 and 12.5.4; RFC 4647, 3.4)."""

import json
from typing import Any

import pytest
from service_calls import example
from starlette.testclient import TestClient

from service.web.accept import preferred_language

OFFERED = ("en", "es")
NO_AXIS = example(prescription__right={"sphere": -2.25, "cylinder": -0.75})
ENGLISH = "The right eye has a CYL figure but no AXIS."
SPANISH = "El ojo derecho tiene una cifra CIL, pero no un EJE."
JSON = {"Content-Type": "application/json"}


@pytest.mark.parametrize(
    ("accepted", "chosen"),
    [
        ("", "en"),
        ("  ", "en"),
        ("en", "en"),
        ("es", "es"),
        ("ES", "es"),
        ("es-MX", "es"),
        ("es-419", "es"),
        ("es-Latn-MX", "es"),
        ("es-MX,es;q=0.9,en;q=0.8", "es"),
        ("en-GB,en;q=0.9,es;q=0.8", "en"),
        ("en;q=0.8, es", "es"),
        ("de, fr;q=0.9", "en"),
        ("de, es;q=0.1", "es"),
        # Of several alike the one named first.
        ("es, en", "es"),
        ("en, es", "en"),
        ("fr, es;q=0.5, en;q=0.5", "es"),
        # A star is what is not named.
        ("*", "en"),
        ("de, *;q=0.5", "en"),
        ("en;q=0.2, *;q=0.5", "es"),
        ("es;q=0.5, *", "en"),
        # A weight of 0 refuses; its own weight counts before that of a narrower name.
        ("es;q=0", "en"),
        ("es-MX, es;q=0", "en"),
        ("es-MX;q=0, es", "es"),
        ("en;q=0, es;q=0.1", "es"),
        ("en;q=0", "en"),
        ("*;q=0", "en"),
        # What cannot be read counts for nothing.
        ("es;q=abc", "en"),
        ("es;q=-1, en;q=0.1", "en"),
        ("español", "en"),
        ("est, e, ess-MX", "en"),
        (", ;q=1,,", "en"),
        (", ".join(["de;q=0.5"] * 5000 + ["es"]), "es"),
    ],
)
def test_the_language_liked_best_is_spoken(accepted: str, chosen: str) -> None:
    assert preferred_language(accepted, OFFERED) == chosen


def _sent(service: TestClient, address: str, body: dict[str, Any], accepted: str | None) -> Any:
    headers = JSON if accepted is None else {**JSON, "Accept-Language": accepted}
    return service.post(address, content=json.dumps(body), headers=headers)


CALLS: dict[str, dict[str, Any]] = {
    "/v1/orders/check": NO_AXIS,
    "/v1/prescriptions/read": {"prescription": NO_AXIS["prescription"]},
    "/v1/lenses/compare": {"order": NO_AXIS, "materials": ["polycarbonate", "glass of no kind"]},
    "/v1/bench/inspect": {"ordered": NO_AXIS, "measured": {"right": {"sphere": -2.25}, "left": {"sphere": -2.5}}},
    "/v1/bench/inspect-many": {
        "pairs": [{"ordered": NO_AXIS, "measured": {"right": {"sphere": -2.25}, "left": {"sphere": -2.5}}}]
    },
    "/v1/traces/read": {"text": "nothing of a trace"},
}


def _customer_messages(document: Any) -> list[str]:
    if isinstance(document, list):
        return [text for part in document for text in _customer_messages(part)]
    if not isinstance(document, dict):
        return []
    own = [document["customer_message"]] if "customer_message" in document else []
    return own + [text for part in document.values() for text in _customer_messages(part)]


def _without_texts(document: Any) -> Any:
    """The document without what is said to customers."""
    if isinstance(document, list):
        return [_without_texts(part) for part in document]
    if not isinstance(document, dict):
        return document
    left_out = ("customer_message", "cautions")
    return {name: _without_texts(part) for name, part in document.items() if name not in left_out}


@pytest.mark.parametrize("address", CALLS)
def test_every_answer_with_findings_speaks_the_language_and_says_which(service: TestClient, address: str) -> None:
    plain, spanish = (_sent(service, address, CALLS[address], accepted) for accepted in (None, "es-MX, en;q=0.3"))
    assert (plain.status_code, spanish.status_code) == (200, 200)
    assert (plain.headers["content-language"], spanish.headers["content-language"]) == ("en", "es")
    assert "Accept-Language" in plain.headers["vary"]
    assert "Accept-Language" in spanish.headers["vary"]
    before, after = _customer_messages(plain.json()), _customer_messages(spanish.json())
    assert len(before) == len(after) > 0
    assert not set(before) & set(after)
    # Decisions, figures, the shop's texts and their order do not depend on the language.
    assert _without_texts(plain.json()) == _without_texts(spanish.json())
    assert [one["code"] for one in plain.json()["cautions"]] == [one["code"] for one in spanish.json()["cautions"]]
    assert plain.json()["cautions"] != spanish.json()["cautions"]


def test_the_customer_is_told_in_spanish(service: TestClient) -> None:
    for accepted, said in ((None, ENGLISH), ("fr", ENGLISH), ("es-AR", SPANISH)):
        texts = _customer_messages(_sent(service, "/v1/orders/check", NO_AXIS, accepted).json())
        assert [text for text in texts if text.startswith(said)], accepted


def test_several_lines_of_the_header_are_one_list(service: TestClient) -> None:
    headers = [("Content-Type", "application/json"), ("Accept-Language", "en;q=0.1"), ("Accept-Language", "es")]
    answer = service.post("/v1/orders/check", content=json.dumps(NO_AXIS), headers=headers)
    assert answer.headers["content-language"] == "es"


def test_the_published_contract_names_the_header(service: TestClient) -> None:
    paths = service.get("/openapi.json").json()["paths"]
    for address in CALLS:
        names = [one["name"] for one in paths[address]["post"]["parameters"]]
        assert names == ["Accept-Language"]


def test_every_row_of_many_orders_speaks_the_language(service: TestClient) -> None:
    headers = {"Accept-Language": "es"}
    listed = service.post("/v1/orders/check-many", json={"orders": [NO_AXIS, NO_AXIS]}, headers=headers)
    assert listed.headers["content-language"] == "es"
    lines = service.post(
        "/v1/orders/check-many",
        content=f"{json.dumps(NO_AXIS)}\n",
        headers={**headers, "Content-Type": "application/x-ndjson"},
    )
    assert lines.headers["content-language"] == "es"
    answers = [row["answer"] for row in listed.json()["answers"]] + [json.loads(lines.text.splitlines()[0])["answer"]]
    assert len(answers) == 3
    for answer in answers:
        assert SPANISH in str([finding["customer_message"] for finding in answer["findings"]])
