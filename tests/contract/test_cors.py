"""Pages of other hosts: nobody unless an origin is named, and then that one, in every answer (fetch standard, CORS protocol)."""

import asyncio
import json
from collections.abc import Iterator
from typing import Any

import pytest
from service_calls import CHECK, TEXT, example
from starlette.testclient import TestClient
from web_toys import Gate, answer_to, application, problem_of

from service.app import create_app
from service.settings import Settings
from service.web.problems import MEDIA_TYPE

SHOP = "https://shop.example"
SECOND = "http://127.0.0.1:8080"
FROM_SHOP = {"Content-Type": "application/json", "Origin": SHOP}
QUESTION = {
    "Origin": SHOP,
    "Access-Control-Request-Method": "POST",
    "Access-Control-Request-Headers": "accept-language,content-type",
}


@pytest.fixture(scope="module")
def open_service() -> Iterator[TestClient]:
    settings = Settings(log=False, allow_origins=(SHOP, SECOND))
    with TestClient(create_app(settings), raise_server_exceptions=False) as client:
        yield client


def names(answer: Any) -> set[str]:
    return {name for name in answer.headers if name.startswith("access-control-")}


def listed(answer: Any, header: str) -> set[str]:
    return {part.strip().lower() for part in answer.headers.get(header, "").split(",")}


def test_nothing_is_said_to_other_hosts_unless_the_settings_say_so(service: TestClient) -> None:
    assert names(service.post(CHECK, content=TEXT, headers=FROM_SHOP)) == set()
    asked = service.options(CHECK, headers=QUESTION)
    assert (asked.status_code, names(asked)) == (204, set())
    assert "Origin" not in asked.headers.get("vary", "")


@pytest.mark.parametrize("origin", [SHOP, SECOND])
def test_a_page_that_is_allowed_may_read_the_answer(open_service: TestClient, origin: str) -> None:
    answer = open_service.post(CHECK, content=TEXT, headers={**FROM_SHOP, "Origin": origin})
    assert answer.status_code == 200
    assert answer.headers["access-control-allow-origin"] == origin
    assert {"x-request-id", "retry-after", "content-language"} <= listed(answer, "access-control-expose-headers")
    assert {"origin", "accept-language"} <= listed(answer, "vary")
    assert answer.headers["x-request-id"]
    assert "access-control-allow-credentials" not in answer.headers


def test_the_question_before_a_request_is_answered(open_service: TestClient) -> None:
    answer = open_service.options(CHECK, headers=QUESTION)
    assert (answer.status_code, answer.content) == (204, b"")
    assert answer.headers["access-control-allow-origin"] == SHOP
    assert {"get", "post"} <= listed(answer, "access-control-allow-methods")
    assert {"content-type", "accept-language", "accept"} <= listed(answer, "access-control-allow-headers")
    assert 0 < int(answer.headers["access-control-max-age"]) <= 7200
    assert answer.headers["x-request-id"]
    assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    "origin",
    ["https://other.example", "https://shop.example.evil.example", "https://shop.example:8443", "http://shop.example",
     "https://SHOP.example", "null", "*", "", f"{SHOP}, {SECOND}", f"{SHOP}/"],
)  # fmt: skip
def test_any_other_origin_is_told_nothing(open_service: TestClient, origin: str) -> None:
    for answer in (
        open_service.post(CHECK, content=TEXT, headers={**FROM_SHOP, "Origin": origin}),
        open_service.options(CHECK, headers={**QUESTION, "Origin": origin}),
    ):
        assert names(answer) == set()
        # What is kept on the way must not be shown to a page of another origin.
        assert "origin" in listed(answer, "vary")


def test_who_names_no_origin_is_served_as_before(open_service: TestClient, service: TestClient) -> None:
    headers = {"Content-Type": "application/json"}
    ours, plain = (one.post(CHECK, content=TEXT, headers=headers) for one in (open_service, service))
    assert ours.content == plain.content
    assert names(ours) == set()


@pytest.mark.parametrize(
    ("method", "address", "content", "code"),
    [
        ("POST", CHECK, "{", "unreadable-request"),
        ("POST", CHECK, json.dumps(example(pd_mm="63")), "unreadable-request"),
        ("POST", "/v1/nowhere", TEXT, "not-found"),
        ("DELETE", CHECK, "", "method-not-allowed"),
        ("POST", f"/v1/{'x' * 9000}", TEXT, "uri-too-long"),
        ("POST", CHECK, " " * 300_000, "body-too-large"),
    ],
)
def test_a_problem_can_be_read_by_the_page_too(
    open_service: TestClient, method: str, address: str, content: str, code: str
) -> None:
    answer = open_service.request(method, address, content=content, headers=FROM_SHOP)
    assert answer.headers["content-type"].startswith(MEDIA_TYPE)
    problem_of(answer, code)
    assert answer.headers["access-control-allow-origin"] == SHOP
    assert "x-request-id" in listed(answer, "access-control-expose-headers")


def test_a_failure_can_be_read_by_the_page_too() -> None:
    with TestClient(application(Settings(log=False, allow_origins=(SHOP,)))) as client:
        failed = client.get("/v1/fails", headers={"Origin": SHOP})
        problem_of(failed, "internal-error")
        assert failed.headers["access-control-allow-origin"] == SHOP


def test_a_busy_service_says_so_to_the_page_too() -> None:
    question = [(name.lower().encode(), value.encode()) for name, value in QUESTION.items()]

    async def scene() -> None:
        app = application(Settings(log=False, allow_origins=(SHOP,), max_in_flight=1))
        gate = app.state.gate = Gate()
        waiting = asyncio.create_task(answer_to(app, path="/v1/waits", method="GET"))
        while gate.inside < 1:
            await asyncio.sleep(0)
        status, headers, _ = await answer_to(app, path="/v1/eyes/right", method="GET", headers=question)
        assert status == 503
        assert (b"access-control-allow-origin", SHOP.encode()) in headers
        assert (b"retry-after", b"1") in headers
        gate.open.set()
        await waiting

    asyncio.run(scene())


def test_the_question_is_answered_for_any_address_and_an_ordinary_options_as_before(open_service: TestClient) -> None:
    assert open_service.options("/v1/nowhere", headers=QUESTION).headers["access-control-allow-origin"] == SHOP
    plain = open_service.options(CHECK, headers={"Origin": SHOP})
    assert (plain.status_code, listed(plain, "allow")) == (204, {"post", "options"})
    assert plain.headers["access-control-allow-origin"] == SHOP
