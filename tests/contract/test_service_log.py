"""Nothing of an order is written to the log, whatever becomes of the request."""

import json
import re
import urllib.parse
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient
from web_toys import JSON

from service.app import create_app
from service.profile.loader import load
from service.routes.context import Context
from service.settings import Settings

CHECK = "/v1/orders/check"
# Texts and figures that nothing else here is likely to write; four decimals, so that no time of day or duration does.
MARKED: dict[str, Any] = {
    "reference": "Zq-Reference-Zq",
    "prescription": {
        "right": {"sphere": -2.1371, "cylinder": -0.7373, "axis": 17.1717, "add": 1.9191},
        "left": {"sphere": -2.3939, "prism": [{"amount": 1.4747, "base": 161.6161}]},
        "vertex_distance_mm": 12.3131,
        "issued_on": "2024-07-17",
        "expires_on": "2029-03-13",
    },
    "pd_mm": {"right": 31.5757, "left": 32.4141, "near": {"both": 60.8383}},
    "frame": {"a_mm": 54.1313, "b_mm": 40.2929, "dbl_mm": 18.3737, "ed_mm": 58.6767},
    "fitting_height_mm": {"right": 22.9797, "left": 23.8989},
    "lens": {"material": "Zq-Material-Zq", "use": "distance", "blank_diameter_mm": 71.7171},
    "as_worn": {"vertex_distance_mm": 13.4343},
    "wearer": {"age_years": 43.2323, "useful_eyes": "left"},
    "as_of": "2026-08-19",
    "profile": {"shop": {"name": "Zq-Profile-Zq"}, "blank": {"allowance_mm": 2.1919}},
}
WRITTEN = {**MARKED, "prescription": {"written": "Zq-Written-Zq R -2.1371 L -2.3939"}}


def marks(node: object) -> Iterator[str]:
    if isinstance(node, dict):
        for value in node.values():
            yield from marks(value)
    elif isinstance(node, list):
        for value in node:
            yield from marks(value)
    elif isinstance(node, float) or (isinstance(node, str) and re.search(r"Zq|\d", node)):
        yield str(node)


SENTINELS = sorted({*marks(MARKED), "Zq"})


@pytest.fixture
def logging_service() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(log=True)), raise_server_exceptions=False) as client:
        yield client


def logged(capfd: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    captured = capfd.readouterr()
    assert captured.err == ""
    for sentinel in SENTINELS:
        assert sentinel not in captured.out, sentinel
    return [json.loads(line) for line in captured.out.splitlines()]


def test_the_marks_are_in_what_is_sent_and_in_what_is_answered(logging_service: TestClient) -> None:
    assert len(SENTINELS) > 25
    response = logging_service.post(CHECK, content=json.dumps(MARKED), headers=JSON)
    assert response.status_code == 200
    assert sum(sentinel in response.text for sentinel in SENTINELS) > 10


@pytest.mark.parametrize(
    ("content", "status"),
    [
        (json.dumps(MARKED), 200),
        (json.dumps(WRITTEN), 200),
        (json.dumps({**MARKED, "Zq-Member-Zq": 1}), 422),
        (json.dumps({**MARKED, "frame": {**MARKED["frame"], "a_mm": "54.1313"}}), 422),
        (json.dumps(MARKED)[:-1], 422),
        (json.dumps(MARKED).replace("54.1313", "1e999"), 422),
        (json.dumps(MARKED).ljust(300_000), 413),
    ],
)
def test_a_line_tells_how_a_request_ended_and_nothing_that_was_sent(
    logging_service: TestClient, capfd: pytest.CaptureFixture[str], content: str, status: int
) -> None:
    response = logging_service.post(
        f"{CHECK}?note=Zq-Query-Zq", content=content, headers={**JSON, "X-Note": "Zq-Header-Zq"}
    )
    assert response.status_code == status
    (line,) = logged(capfd)
    expected = {"time", "level", "event", "request_id", "route", "method", "status", "milliseconds"}
    assert line.keys() == expected | ({"decision", "finding_codes"} if status == 200 else set())
    assert (line["route"], line["method"], line["status"]) == (CHECK, "POST", status)
    assert line["request_id"] == response.headers["x-request-id"]
    if status == 200:
        assert line["decision"] == response.json()["decision"]
        assert line["finding_codes"] == [finding["code"] for finding in response.json()["findings"]]


def test_a_path_that_is_not_known_is_not_logged(logging_service: TestClient, capfd: pytest.CaptureFixture[str]) -> None:
    for path in ("/Zq-Path-Zq", f"/v1/orders/{urllib.parse.quote('Zq Reference')}", "/docs/Zq"):
        assert logging_service.get(path).status_code == 404
    assert [line["route"] for line in logged(capfd)] == ["unmatched"] * 3


def test_a_fault_of_the_service_is_logged_without_what_caused_it(capfd: pytest.CaptureFixture[str]) -> None:
    def no_calendar() -> Any:
        raise RuntimeError("Zq-Calendar-Zq")

    app = create_app(Settings(log=True), Context(load(None), today=no_calendar))
    with TestClient(app, raise_server_exceptions=False) as client:
        response = client.post(CHECK, content=json.dumps(MARKED), headers=JSON)
    assert response.status_code == 500
    assert response.json()["type"] == "/v1/reference/problems#internal-error"
    assert "Zq" not in response.text
    lines = logged(capfd)
    assert [line["level"] for line in lines] == ["error", "error"]
    assert "no_calendar" in json.dumps(lines)


def test_nothing_is_written_where_the_log_is_off(capfd: pytest.CaptureFixture[str]) -> None:
    with TestClient(create_app(Settings(log=False))) as client:
        assert client.post(CHECK, content=json.dumps(MARKED), headers=JSON).status_code == 200
    assert logged(capfd) == []
