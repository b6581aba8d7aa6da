"""How a request is read and refused, seen from outside, on an application of toys.

The numbers in brackets are those of the list in the house style of what this stack gets wrong unless told otherwise.
"""

import asyncio
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.datastructures import DefaultPlaceholder
from fastapi.routing import APIRoute, iter_route_contexts
from starlette.testclient import TestClient
from web_toys import JSON, SECRET, answer_to, application, check, problem_of

from service import limits
from service.web import body
from service.web.problems import MEDIA_TYPE


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(application()) as client:
        yield client


# Reading.


def test_a_plain_body_is_read(client: TestClient) -> None:
    response = check(client, '{"sphere": -2.25}')
    assert (response.status_code, response.json()) == (200, {"decision": "accept", "sphere": -2.25})


def test_a_duplicate_member_is_refused(client: TestClient) -> None:  # (1)
    document = problem_of(check(client, '{"sphere": -2.25, "sphere": 2.25}'), "unreadable-request")
    assert [(e["code"], e["pointer"]) for e in document["errors"]] == [("duplicate-member", "/sphere")]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_a_number_that_is_not_finite_is_refused_and_not_sent_back(client: TestClient, number: str) -> None:  # (2)
    response = check(client, f'{{"sphere": {number}}}')
    document = problem_of(response, "unreadable-request")
    assert response.status_code == 422
    assert [(e["code"], e["pointer"]) for e in document["errors"]] == [("number-not-finite", "/sphere")]
    assert "1e999" not in response.text


@pytest.mark.parametrize("value", ["true", '"-2.25"', '"010"', "null"])
def test_what_is_not_a_number_is_not_taken_for_one(client: TestClient, value: str) -> None:  # (3)
    document = problem_of(check(client, f'{{"sphere": {value}}}'), "unreadable-request")
    assert [(e["code"], e["pointer"]) for e in document["errors"]] == [("not-a-number", "/sphere")]


def test_a_pointer_leads_to_the_fault_and_its_unit_is_told(client: TestClient) -> None:  # (4)
    document = problem_of(check(client, '{"sphere": 31, "axs": 1}'), "unreadable-request")
    assert [(e["code"], e["pointer"]) for e in document["errors"]] == [
        ("too-large", "/sphere"),
        ("member-unknown", "/axs"),
    ]
    assert "At most 30 D" in document["errors"][0]["message"]
    assert "Did you mean `axis`?" in document["errors"][1]["message"]


def test_text_that_is_not_json_is_told_by_line_and_column(client: TestClient) -> None:  # (4)
    document = problem_of(check(client, '{\n "sphere": -2,25}'), "unreadable-request")
    (fault,) = document["errors"]
    assert (fault["code"], fault["line"], fault["column"]) == ("json-syntax", 2, 15)
    assert "pointer" not in fault


def test_nothing_that_was_sent_is_sent_back(client: TestClient) -> None:
    for content in (f'{{"sphere": "{SECRET}"}}', f'{{"sphere": {SECRET}}}', f'"{SECRET}"', f'["{SECRET}"]'):
        assert SECRET not in check(client, content).text


@pytest.mark.parametrize("content", ["", "null", "[]", "5"])
def test_a_body_that_is_missing_or_of_another_kind_is_told(client: TestClient, content: str) -> None:
    document = problem_of(check(client, content), "unreadable-request")
    assert [e["pointer"] for e in document["errors"]] == [""]


def test_no_body_and_no_type_is_told_as_a_missing_body(client: TestClient) -> None:
    document = problem_of(client.post("/v1/eyes/check"), "unreadable-request")
    assert document["errors"][0]["code"] == "body-missing"


def test_a_parameter_that_cannot_be_read_is_named(client: TestClient) -> None:
    response = client.get("/v1/eyes/right", params={"sphere": SECRET})
    document = problem_of(response, "unreadable-request")
    assert [(e["code"], e["parameter"]) for e in document["errors"]] == [("not-a-number", "sphere")]
    assert SECRET not in response.text


# Types and sizes. (5)


@pytest.mark.parametrize(
    "headers",
    [
        {"Content-Type": "text/plain"},
        {"Content-Type": "application/x-www-form-urlencoded"},
        {"Content-Type": "application/json; charset=latin-1"},
        {"Content-Type": "text/json"},
        {"Content-Type": "nonsense"},
        {"Content-Type": ""},
        {**JSON, "Content-Encoding": "gzip"},
    ],
)
def test_a_body_of_another_type_is_refused(client: TestClient, headers: dict[str, str]) -> None:
    response = check(client, '{"sphere": -2.25}', headers)
    assert response.status_code == 415
    problem_of(response, "unsupported-media-type")


def test_a_body_without_a_type_is_refused() -> None:
    status, _, document = asyncio.run(
        answer_to(application(), body=b'{"sphere": 1}', headers=[(b"content-length", b"13")])
    )
    assert (status, document["type"]) == (415, "/v1/reference/problems#unsupported-media-type")


@pytest.mark.parametrize(
    "content_type",
    ["application/json; charset=utf-8", "application/json;charset=UTF-8", "Application/JSON", "application/ld+json"],
)
def test_every_way_to_announce_json_in_utf8_is_taken(client: TestClient, content_type: str) -> None:
    headers = {"Content-Type": content_type, "Content-Encoding": "identity"}
    assert check(client, '{"sphere": -2.25}', headers).status_code == 200


def test_a_body_is_taken_up_to_its_bound_and_refused_beyond(client: TestClient) -> None:
    at_bound = b'{"sphere": 1' + b" " * (limits.MAX_BODY_BYTES - 13) + b"}"
    assert len(at_bound) == limits.MAX_BODY_BYTES
    assert check(client, at_bound).status_code == 200
    response = check(client, at_bound + b" ")
    assert response.status_code == 413
    assert response.headers["connection"] == "close"
    problem_of(response, "body-too-large")


def test_a_body_sent_in_parts_is_bounded_while_it_arrives(client: TestClient) -> None:
    sent = 0

    def parts() -> Iterator[bytes]:
        nonlocal sent
        for _ in range(100):
            sent += 1
            yield b" " * 16_384

    response = client.post("/v1/eyes/check", content=parts(), headers=JSON)
    assert response.status_code == 413
    problem_of(response, "body-too-large")


def test_what_is_announced_as_too_large_is_refused_unread() -> None:
    async def receive() -> dict[str, Any]:
        raise AssertionError("the body must not be read")

    for announced in (b"262145", b"9" * 5000):
        headers = [(b"content-type", b"application/json"), (b"content-length", announced)]
        status, _, _ = asyncio.run(answer_to(application(), headers=headers, receive=receive))
        assert status == 413


def test_a_wrong_type_is_refused_unread() -> None:
    async def receive() -> dict[str, Any]:
        raise AssertionError("the body must not be read")

    status, _, _ = asyncio.run(answer_to(application(), headers=[(b"content-type", b"text/csv")], receive=receive))
    assert status == 415


def test_a_body_that_stops_arriving_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(body.bounded_body.__kwdefaults__, "seconds", 0.01)
    first = [{"type": "http.request", "body": b'{"sphere"', "more_body": True}]

    async def receive() -> dict[str, Any]:
        if first:
            return first.pop()
        await asyncio.Event().wait()
        raise AssertionError

    headers = [(b"content-type", b"application/json")]
    status, sent, document = asyncio.run(answer_to(application(), headers=headers, receive=receive))
    assert (status, document["type"]) == (408, "/v1/reference/problems#request-timeout")
    assert (b"connection", b"close") in sent


def test_a_caller_that_hangs_up_is_no_failure_of_the_service() -> None:
    async def receive() -> dict[str, Any]:
        return {"type": "http.disconnect"}

    status, _, _ = asyncio.run(
        answer_to(application(), headers=[(b"content-type", b"application/json")], receive=receive)
    )
    assert status == 408


def test_an_address_that_is_too_long_is_refused(client: TestClient) -> None:
    assert client.get("/v1/eyes/x?" + "y" * 8000).status_code == 200
    response = client.get("/v1/eyes/x?" + "y" * limits.MAX_URL_BYTES)
    assert response.status_code == 414
    problem_of(response, "uri-too-long")


# Paths and methods. (5)


@pytest.mark.parametrize("path", ["/nowhere", "/v1", "/v1/eyes/check/", "/docs/", "/docs/static/__init__.py"])
def test_an_unknown_path_is_a_problem(client: TestClient, path: str) -> None:
    response = client.get(path, follow_redirects=False)
    assert response.status_code == 404
    assert problem_of(response, "not-found")["instance"] == path


@pytest.mark.parametrize("method", ["POST", "DELETE", "PATCH", "TRACE", "BREW"])
def test_another_method_is_a_problem_that_names_all_methods_of_the_path(client: TestClient, method: str) -> None:
    response = client.request(method, "/v1/eyes/right")
    assert response.status_code == 405
    assert response.headers["allow"] == "GET, HEAD, PUT, OPTIONS"
    problem_of(response, "method-not-allowed")


def test_every_method_that_allow_names_is_taken(client: TestClient) -> None:
    for path in ("/v1/eyes/right", "/v1/healthz", "/healthz", "/docs", "/openapi.json"):
        allow = client.request("BREW", path).headers["allow"].split(", ")
        for method in allow:
            assert client.request(method, path).status_code in (200, 204), (path, method)


def test_options_names_the_methods(client: TestClient) -> None:
    response = client.options("/v1/eyes/check")
    assert (response.status_code, response.content) == (204, b"")
    # The path of the other route takes the word "check" as a name.
    assert response.headers["allow"] == "GET, HEAD, POST, PUT, OPTIONS"


def test_head_answers_as_get_does_without_the_body(client: TestClient) -> None:
    got, head = client.get("/v1/eyes/right"), client.head("/v1/eyes/right")
    assert head.status_code == 200
    assert head.content == b""
    assert head.headers["content-length"] == got.headers["content-length"] == str(len(got.content))


# The published schema, and the fast way out. (8)


def test_the_schema_has_problems_under_their_own_media_type_and_no_page(client: TestClient) -> None:
    document = client.get("/openapi.json").json()
    responses = document["paths"]["/v1/eyes/check"]["post"]["responses"]
    assert list(responses["422"]["content"]) == [MEDIA_TYPE]
    assert list(responses["503"]["content"]) == [MEDIA_TYPE]
    assert list(responses["200"]["content"]) == ["application/json"]
    assert not [path for path in document["paths"] if path.startswith(("/docs", "/favicon"))]
    assert "head" not in document["paths"]["/v1/eyes/{name}"]
    assert client.get("/openapi.json").json() == document


def test_answers_leave_by_the_fast_way() -> None:
    """The framework writes a declared answer straight to bytes only where no class of response is named."""
    app = application()
    routes = [context for context in iter_route_contexts(app.routes) if isinstance(context.original_route, APIRoute)]
    assert len(routes) > 5
    for context in routes:
        assert isinstance(context.response_class, DefaultPlaceholder)
        assert asyncio.iscoroutinefunction(context.endpoint)
