"""What surrounds every endpoint: failures, load, names, log lines, headers and the docs page's files.

The numbers in brackets are those of the list in the house style of what this stack gets wrong unless told otherwise.
"""

import asyncio
import hashlib
import json
import re
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient
from web_toys import SECRET, Gate, answer_to, application, check, problem_of

import service.docs_page
from service.docs_page import MEDIA_TYPES
from service.settings import Settings
from service.web import install

STATIC = Path(service.docs_page.__file__).parent / "static"


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(application()) as client:
        yield client


# Failures.


def test_a_fault_of_the_service_is_a_problem_that_tells_nothing_of_it(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    response = client.get("/v1/fails")
    assert response.status_code == 500
    document = problem_of(response, "internal-error")
    (line,) = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert (line["event"], line["level"], line["exception"]) == ("failure", "error", "ValueError")
    assert line["request_id"] == document["request_id"]
    assert line["where"][-1].endswith(" fails")
    assert SECRET not in response.text + json.dumps(line)


def test_a_problem_raised_by_an_endpoint_is_answered(client: TestClient) -> None:
    response = client.get("/v1/not-ready")
    assert (response.status_code, response.headers["retry-after"]) == (503, "1")
    assert problem_of(response, "not-ready")["detail"] == "The profile is being read."


def test_an_answer_cut_short_is_not_ended_as_if_it_were_whole() -> None:
    app = FastAPI()

    @app.get("/cut")
    async def cut() -> AsyncIterator[str]:
        yield "x"
        raise ValueError(SECRET)

    install(app, Settings(log=False))
    with (
        TestClient(app) as client,
        pytest.raises(RuntimeError, match="ValueError after the answer had begun") as caught,
    ):
        client.get("/cut")
    assert SECRET not in str(caught.value)
    assert caught.value.__cause__ is None
    assert caught.value.__suppress_context__, "the server prints what it is chained to"


# Load. (6)


def test_beyond_its_bound_the_service_turns_away_but_stays_alive() -> None:
    async def scene() -> None:
        app = application(Settings(log=False, max_in_flight=2))
        gate = app.state.gate = Gate()
        waiting = [asyncio.create_task(answer_to(app, path="/v1/waits", method="GET")) for _ in range(2)]
        while gate.inside < 2:
            await asyncio.sleep(0)
        status, headers, document = await answer_to(app, path="/v1/eyes/right", method="GET")
        assert (status, document["type"]) == (503, "/v1/reference/problems#too-busy")
        assert (b"retry-after", b"1") in headers
        assert (await answer_to(app, path="/healthz", method="GET"))[0] == 200
        gate.open.set()
        assert [status for status, *_ in await asyncio.gather(*waiting)] == [200, 200]
        assert (await answer_to(app, path="/v1/eyes/right", method="GET"))[0] == 200

    asyncio.run(scene())


def test_a_request_that_failed_is_no_longer_counted() -> None:
    with TestClient(application(Settings(log=False, max_in_flight=1))) as client:
        for _ in range(3):
            assert client.get("/v1/fails").status_code == 500
        assert client.get("/v1/eyes/right").status_code == 200


# Names and lines.


def test_a_harmless_request_id_is_taken_over_and_any_other_replaced(client: TestClient) -> None:
    assert client.get("/healthz", headers={"X-Request-Id": "shop-7.a_B"}).headers["x-request-id"] == "shop-7.a_B"
    for harmful in ("a b", "x" * 65, 'a"b', ""):
        made = client.get("/healthz", headers={"X-Request-Id": harmful}).headers["x-request-id"]
        assert re.fullmatch("[0-9a-f]{16}", made)


def log_lines(capsys: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_each_request_is_one_line_without_anything_that_was_sent(capsys: pytest.CaptureFixture[str]) -> None:
    with TestClient(application(Settings(log=True))) as client:
        check(client, '{"sphere": -2.125}')
        client.get(f"/v1/eyes/{SECRET}?sphere=2.125&note={SECRET}")
        client.get(f"/{SECRET}")
        client.delete(f"/v1/eyes/{SECRET}")
        check(client, f'{{"{SECRET}": 2.125}}')
        client.get("/openapi.json")
    out = capsys.readouterr().out
    lines = [json.loads(line) for line in out.splitlines()]
    assert [(line["route"], line["method"], line["status"]) for line in lines] == [
        ("/v1/eyes/check", "POST", 200),
        ("/v1/eyes/{name}", "GET", 200),
        ("unmatched", "GET", 404),
        ("/v1/eyes/{name}", "DELETE", 405),
        ("/v1/eyes/check", "POST", 422),
        ("/openapi.json", "GET", 200),
    ]
    assert SECRET not in out
    assert "2.125" not in out
    members = "time level event request_id route method status milliseconds decision finding_codes"
    assert list(lines[0]) == members.split()
    assert (lines[0]["decision"], lines[0]["finding_codes"]) == ("accept", ["axis-without-cylinder"])
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}\+00:00", lines[0]["time"])
    assert lines[0]["milliseconds"] > 0


def test_a_failure_and_its_request_share_their_id(capsys: pytest.CaptureFixture[str]) -> None:
    with TestClient(application(Settings(log=True))) as client:
        client.get("/v1/fails", headers={"X-Request-Id": "one"})
    lines = log_lines(capsys)
    assert [(line["event"], line["level"], line["request_id"]) for line in lines] == [
        ("failure", "error", "one"),
        ("request", "error", "one"),
    ]


def test_nothing_is_written_where_the_log_is_off(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    assert client.get("/healthz").status_code == 200
    assert capsys.readouterr().out == ""


# Headers and the page. (7)


@pytest.mark.parametrize(
    "path", ["/v1/eyes/right", "/nowhere", "/v1/fails", "/docs", "/docs/static/docs.js", "/openapi.json"]
)
def test_every_answer_tells_a_browser_to_do_nothing_needless(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["content-security-policy"].startswith("default-src 'none'; ")
    assert "unsafe" not in headers["content-security-policy"]
    assert ("script-src" in headers["content-security-policy"]) == (path == "/docs")


@pytest.mark.parametrize("path", ["/v1/eyes/right", "/nowhere", "/healthz"])
def test_answers_are_not_stored(client: TestClient, path: str) -> None:
    assert client.get(path).headers["cache-control"] == "no-store"


def test_the_page_uses_its_own_files_only_and_each_is_there(client: TestClient) -> None:
    page = client.get("/docs")
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    links = re.findall(r'(?:src|href)="([^"]*)"', page.text)
    assert len(links) == len(MEDIA_TYPES) + 1
    for link in links:
        assert re.match(r"docs/static/|openapi\.json$", link), "relative, so that it works behind a proxy's prefix"
        answer = client.get(f"/{link}")
        assert answer.status_code == 200
        if link.startswith("docs/static/"):
            name = link.split("/")[-1].split("?")[0]
            assert answer.headers["content-type"] == MEDIA_TYPES[name]
            assert answer.headers["cache-control"].endswith("immutable")
            assert answer.content == (STATIC / name).read_bytes()
    assert "<script>" not in page.text
    assert "style=" not in page.text


def test_a_file_that_has_not_changed_is_not_sent_again(client: TestClient) -> None:
    for path in ("/docs", "/docs/static/docs.js", "/favicon.ico"):
        first = client.get(path)
        again = client.get(path, headers={"If-None-Match": first.headers["etag"]})
        assert (again.status_code, again.content) == (304, b"")


def test_bundled_files_are_those_of_the_notice() -> None:
    notice = (STATIC.parent / "NOTICE.md").read_text(encoding="utf-8")
    rows = re.findall(r"\| `static/([^`]+)` \| (\d+) \| `([0-9a-f]{64})` \|", notice)
    assert {name for name, *_ in rows} == {path.name for path in STATIC.iterdir() if path.name.startswith("swagger-ui")}
    for name, size, digest in rows:
        content = (STATIC / name).read_bytes()
        assert (len(content), hashlib.sha256(content).hexdigest()) == (int(size), digest)
    assert "5.35.0" in notice
    assert "Apache License 2.0" in notice


def test_our_own_files_of_the_page_name_no_outside_host() -> None:
    for path in (STATIC.parent / "index.html", STATIC / "docs.js", STATIC / "docs.css"):
        assert not re.search("https?:|//[a-z]+\\.", path.read_text(encoding="utf-8"))
