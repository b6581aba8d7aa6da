"""What the real service says to bodies of another size or type, other addresses and methods, and to too many at once.

The numbers in brackets are those of the list in the house style of what this stack gets wrong unless told otherwise.
"""

import asyncio
import json
from typing import Any

import pytest
from service_calls import CHECK, TEXT, faults, send
from starlette.testclient import TestClient
from web_toys import JSON, answer_to, problem_of

from service import limits
from service.app import create_app
from service.settings import Settings

# Sizes, types, addresses, methods. (5)


def test_a_body_is_taken_up_to_its_bound_and_refused_beyond(service: TestClient) -> None:
    at_bound = TEXT.ljust(limits.MAX_BODY_BYTES)
    assert send(service, at_bound).status_code == 200
    response = send(service, at_bound + " ")
    assert response.status_code == 413
    problem_of(response, "body-too-large")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("[" * 17 + "]" * 17, "too-deep"),
        (json.dumps({"reference": "x" * 2001}), "string-too-long"),
        (json.dumps({"reference": [0] * 20_000}), "too-many-values"),
        ('{"frame": {"a_mm": 5' + "0" * 40 + "}}", "number-too-long"),
    ],
)
def test_a_body_beyond_a_bound_of_its_form_is_refused(service: TestClient, text: str, code: str) -> None:
    response = send(service, text)
    assert response.status_code == 422
    assert code in [found for found, _ in faults(response)]


@pytest.mark.parametrize(
    "kind", ["text/plain", "application/x-www-form-urlencoded", "application/json; charset=latin-1"]
)
def test_a_body_of_another_type_is_refused(service: TestClient, kind: str) -> None:
    response = send(service, TEXT, {"Content-Type": kind})
    assert response.status_code == 415
    problem_of(response, "unsupported-media-type")


@pytest.mark.parametrize("path", ["/v1/orders", "/v1/orders/check/", "/v1/orders/checks", "/v2/orders/check", "//"])
def test_an_unknown_path_is_told(service: TestClient, path: str) -> None:
    response = service.post(f"http://testserver{path}", content=TEXT, headers=JSON)
    assert response.status_code == 404
    problem_of(response, "not-found")


@pytest.mark.parametrize(
    ("path", "allowed"),
    [
        (CHECK, {"POST", "OPTIONS"}),
        ("/v1/prescriptions/read", {"POST", "OPTIONS"}),
        ("/v1/reference/rules", {"GET", "HEAD", "OPTIONS"}),
        ("/healthz", {"GET", "HEAD", "OPTIONS"}),
        ("/", {"GET", "HEAD", "OPTIONS"}),
    ],
)
def test_allow_names_the_methods_that_are_answered_and_no_others(
    service: TestClient, path: str, allowed: set[str]
) -> None:
    for method in ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"):
        response = service.request(method, path)
        if method in allowed:
            assert response.status_code != 405, method
        else:
            assert response.status_code == 405, method
            assert set(response.headers["allow"].split(", ")) == allowed
            if method != "HEAD":
                problem_of(response, "method-not-allowed")
    options = service.options(path)
    assert (options.status_code, set(options.headers["allow"].split(", "))) == (204, allowed)


@pytest.mark.parametrize("path", ["/", "/healthz", "/readyz", "/v1/reference/materials", "/openapi.json", "/docs"])
def test_head_is_answered_as_get_is_without_a_body(service: TestClient, path: str) -> None:
    head, get = service.head(path), service.get(path)
    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["content-type"] == get.headers["content-type"]
    assert head.headers["content-length"] == get.headers["content-length"] == str(len(get.content))


# Overload. (6)


def test_beyond_its_bound_orders_are_turned_away_and_health_is_answered() -> None:
    async def scene() -> None:
        app = create_app(Settings(log=False, max_in_flight=1))
        arrived, go_on = asyncio.Event(), asyncio.Event()
        headers = [(b"content-type", b"application/json")]

        async def slow_body() -> dict[str, Any]:
            arrived.set()
            await go_on.wait()
            return {"type": "http.request", "body": TEXT.encode(), "more_body": False}

        first = asyncio.create_task(answer_to(app, path=CHECK, headers=headers, receive=slow_body))
        await arrived.wait()
        status, sent, document = await answer_to(app, path=CHECK, headers=headers, body=TEXT.encode())
        assert (status, document["type"]) == (503, "/v1/reference/problems#too-busy")
        assert (b"retry-after", b"1") in sent
        for path in ("/healthz", "/readyz"):
            assert (await answer_to(app, path=path, method="GET"))[0] == 200
        go_on.set()
        assert (await first)[0] == 200
        assert (await answer_to(app, path=CHECK, headers=headers, body=TEXT.encode()))[0] == 200

    asyncio.run(scene())
