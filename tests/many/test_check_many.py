"""POST /v1/orders/check-many: each order is answered in its place as by itself, and no bound is reached in silence."""

import asyncio
import csv
import io
import json
from copy import deepcopy
from typing import Any

import pytest
from starlette.testclient import TestClient

from service import limits
from service.app import create_app
from service.contract.check_many import EXAMPLE_LIST
from service.contract.order import EXAMPLE_ORDER
from service.many import answering
from service.many.columns_out import OUR_COLUMNS
from service.settings import Settings

MANY, CHECK = "/v1/orders/check-many", "/v1/orders/check"
NDJSON, CSV, JSON = "application/x-ndjson", "text/csv", "application/json"
TEXT = json.dumps(EXAMPLE_ORDER)
HEADER = "Order;R sph;R cyl;R axis;L sph;PD;A;B;DBL;Name"
ROW = "W-1;-2,25;-0,75;10;-2,50;63;54;40;18;"
# Texts that are no order, each wrong in another way.
UNREADABLE = [
    "{", "[1]", '{"reference": "a", "reference": "b"}', '{"pd_mm": NaN}', "{}", TEXT.replace("-2.25", '"-2.25"'),
    '{"a": 1e999}', "[" * 17 + "]" * 17, TEXT.replace('"W-1042"', f'"{"x" * 101}"'), "\ufeff" + TEXT, '{"a": "\\ud800"}',
]  # fmt: skip


def order(**changes: object) -> dict[str, Any]:
    return {**deepcopy(EXAMPLE_ORDER), **changes}


def post(service: TestClient, body: str | bytes, kind: str = NDJSON, accept: str | None = None) -> Any:
    headers = {"Content-Type": kind} | ({} if accept is None else {"Accept": accept})
    return service.post(MANY, content=body, headers=headers)


def lines(response: Any) -> list[dict[str, Any]]:
    assert response.status_code == 200, response.text[:400]
    assert response.headers["content-type"] == NDJSON
    return [json.loads(line) for line in response.text.splitlines()]


def alone(service: TestClient, text: str | bytes) -> Any:
    return service.post(CHECK, content=text, headers={"Content-Type": JSON})


def without_names(problem: dict[str, Any]) -> dict[str, Any]:
    return {
        name: value for name, value in problem.items() if name not in ("request_id", "instance") and value is not None
    }


# A list.


def test_an_unreadable_order_is_answered_in_its_place_in_the_list(service: TestClient) -> None:
    response = service.post(MANY, json=EXAMPLE_LIST)
    assert response.status_code == 200
    first, second = response.json()["answers"]
    assert (first["index"], first["problem"], first["answer"]) == (0, None, alone(service, TEXT).json())
    assert (second["index"], second["answer"]) == (1, None)
    assert [fault["pointer"] for fault in second["problem"]["errors"]] == ["/prescription/right/sphere"]
    assert second["problem"]["request_id"] == response.headers["x-request-id"]
    assert response.json()["counts"] == {"rows": 2, "accept": 1, "review": 0, "reject": 0, "unreadable": 1}


@pytest.mark.parametrize("orders", [[], [1], ["x"], [None], {}, [{}] * (limits.MAX_LISTED_ORDERS + 1)])
def test_what_is_no_list_of_objects_within_its_bound_is_refused_whole(service: TestClient, orders: object) -> None:
    assert service.post(MANY, json={"orders": orders}).status_code == 422


def test_a_full_list_is_answered(service: TestClient) -> None:
    orders = [{"reference": str(at)} for at in range(limits.MAX_LISTED_ORDERS)]
    answers = service.post(MANY, json={"orders": orders}).json()["answers"]
    assert [one["index"] for one in answers] == list(range(limits.MAX_LISTED_ORDERS))


# Lines.


def test_each_line_is_answered_in_order_as_the_order_is_by_itself(service: TestClient) -> None:
    texts = [json.dumps(order(reference=f"W-{at}", pd_mm={"both": 60 + at})) for at in range(8)]
    *answers, end = lines(post(service, "\n".join(texts)))
    assert [one["index"] for one in answers] == list(range(8))
    assert [one["answer"] for one in answers] == [alone(service, text).json() for text in texts]
    decisions = [one["answer"]["decision"] for one in answers]
    counts = {word: decisions.count(word) for word in ("accept", "review", "reject")}
    assert end == {"end": {"rows": 8, **counts, "unreadable": 0}}


def test_a_bad_line_is_answered_in_its_place_with_the_words_of_the_single_check(service: TestClient) -> None:
    *answers, end = lines(post(service, "\n".join(f"{text}\n{TEXT}" for text in UNREADABLE)))
    assert end["end"]["unreadable"] == end["end"]["accept"] == len(UNREADABLE)
    assert [one["index"] for one in answers] == list(range(2 * len(UNREADABLE)))
    for one, text in zip(answers[::2], UNREADABLE, strict=True):
        assert without_names(one["problem"]) == without_names(alone(service, text).json()), text
    assert all("answer" in one for one in answers[1::2])


def test_empty_lines_count_and_are_not_answered(service: TestClient) -> None:
    *answers, end = lines(post(service, f"\n{TEXT}\r\n  \n\n{TEXT}\n\n"))
    assert [one["index"] for one in answers] == [1, 4]
    assert end["end"]["rows"] == 2
    assert lines(post(service, b"")) == [{"end": dict.fromkeys(end["end"], 0)}]


def test_a_line_beyond_the_bound_of_a_body_is_answered_in_its_place(service: TestClient) -> None:
    at_bound = TEXT.ljust(limits.MAX_BODY_BYTES)
    first, second, third, _ = lines(post(service, f"{at_bound}\n{at_bound} \n{TEXT}"))
    assert "answer" in first
    assert second["problem"]["type"].endswith("#body-too-large")
    assert "answer" in third


def test_a_line_that_is_no_utf8_is_answered_in_its_place(service: TestClient) -> None:
    first, second, _ = lines(post(service, b'{"reference": "M\xfcller"}\n' + TEXT.encode()))
    assert first["problem"]["errors"][0]["code"] == "not-utf8"
    assert "answer" in second


def test_the_bound_on_rows_stops_the_stream_and_says_so(service: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_STREAMED_ROWS", 3)
    *answers, end = lines(post(service, "\n".join([TEXT] * 3)))
    assert (len(answers), end["end"]["rows"]) == (3, 3)
    *answers, stopped = lines(post(service, "\n".join([TEXT] * 4)))
    assert [one["index"] for one in answers] == [0, 1, 2]
    assert stopped["stopped"]["rows"] == 3
    assert stopped["stopped"]["problem"]["type"].endswith("#body-too-large")
    assert "3 rows" in stopped["stopped"]["problem"]["detail"]


def test_the_bound_on_bytes_stops_the_stream_and_says_so(service: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_STREAMED_BYTES", 3 * len(TEXT) - 1)
    last = lines(post(service, iter([TEXT.encode() + b"\n"] * 3)))[-1]  # type: ignore[arg-type]
    assert last["stopped"]["problem"]["status"] == 413


def test_a_fault_of_the_service_in_one_row_does_not_take_the_others(
    service: TestClient, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = answering.check

    def failing(asked: Any, *more: Any) -> Any:
        if asked.reference == "Xq7secret":
            raise ValueError(asked.reference)
        return sound(asked, *more)

    monkeypatch.setattr(answering, "check", failing)
    first, second, end = lines(post(service, f"{json.dumps(order(reference='Xq7secret'))}\n{TEXT}"))
    assert first["problem"]["status"] == 500
    assert "answer" in second
    assert end["end"]["unreadable"] == 1
    written = capsys.readouterr().out
    assert '"event":"failure"' in written
    assert "Xq7secret" not in written


# Tables.


def test_a_table_is_answered_in_lines_with_the_addresses_of_cells(service: TestClient) -> None:
    table = f"{HEADER}\n{ROW}\n;;;\n{ROW.replace('-2,25', '2,25')}\n{ROW.replace(';63;', ';630;')}\n{ROW}"
    first, unsigned, far, last, end = lines(post(service, table, CSV))
    assert [one["index"] for one in (first, unsigned, far, last)] == [0, 2, 3, 4]
    assert first["answer"]["prescription"]["right"]["notation"] == "-2.25 -0.75 x 010"
    assert first["answer"] == last["answer"]
    assert unsigned["problem"]["errors"][0]["code"] == "power-unsigned"
    assert "Cell B4" in unsigned["problem"]["detail"]
    assert (far["problem"]["errors"][0]["code"], far["problem"]["errors"][0]["pointer"]) == ("too-large", "/pd_mm/both")
    assert "Cell F5" in far["problem"]["detail"]
    assert end["end"]["rows"] == 4
    assert ["Name" in note for note in end["end"]["notes"]] == [True]


def test_a_table_comes_back_with_our_columns_at_its_right_and_nothing_to_be_run(service: TestClient) -> None:
    table = f"{HEADER}\r\n{ROW}=1+1\r\n\r\n{ROW.replace('-2,25', '2,25')}@x\r\n"
    response = post(service, table, CSV, "text/csv")
    assert response.headers["content-type"] == "text/csv; charset=utf-8"
    header, first, empty, second = csv.reader(io.StringIO(response.text, newline=""), delimiter=";")
    assert header == [*HEADER.split(";"), *OUR_COLUMNS]
    assert first[:10] == [*ROW.split(";")[:-1], "'=1+1"]
    told = dict(zip(header, first, strict=True))
    assert told["benchgate: decision"] in ("accept", "review")
    assert float(told["benchgate: right spherical equivalent (D)"]) == -2.625
    assert told["benchgate: right as read"] == "'-2.25 -0.75 x 010"
    assert not any(empty)
    assert (second[9], second[10]) == ("'@x", "unreadable")
    again = post(service, response.text, CSV, "text/csv")
    assert again.text.splitlines()[0] == response.text.splitlines()[0]
    assert next(csv.DictReader(io.StringIO(again.text), delimiter=";"))["benchgate: decision"] == first[10]


def test_a_quote_that_is_never_closed_stops_a_table_and_says_so(service: TestClient) -> None:
    table = f'{HEADER}\n{ROW}\n"{ROW}\n{ROW}\n'
    *_, stopped = lines(post(service, table, CSV))
    assert "Row 3" in stopped["stopped"]["problem"]["detail"]
    assert stopped["stopped"]["rows"] == 1
    *_, last = csv.reader(io.StringIO(post(service, table, CSV, "text/csv").text), delimiter=";")
    assert last[10] == "stopped"
    assert any("Row 3" in cell for cell in last)
    assert not any(last[:10])


@pytest.mark.parametrize(
    ("table", "code"),
    [("A;B\n1;2\n", "column-missing"), ("", "body-missing"), ("\n \n", "body-missing"), ('"A', "row-not-csv")],
)
def test_a_table_without_the_columns_of_an_order_is_refused_before_any_row(
    service: TestClient, table: str, code: str
) -> None:
    response = post(service, table, CSV)
    assert response.status_code == 422
    assert code in {fault["code"] for fault in response.json()["errors"]}


# What is around.


@pytest.mark.parametrize(
    ("kind", "accept", "status"),
    [
        ("text/plain", None, 415),
        (f"{NDJSON}; charset=latin-1", None, 415),
        (f"{CSV}; charset=windows-1252", None, 415),
        (f"{NDJSON}; charset=UTF-8", None, 200),
        (NDJSON, JSON, 406),
        (NDJSON, CSV, 406),
        (NDJSON, "*/*", 200),
        (CSV, JSON, 406),
        (CSV, f"{NDJSON};q=0.5, {CSV}", 200),
    ],
)
def test_types_that_are_not_taken_or_not_given_are_told(
    service: TestClient, kind: str, accept: str | None, status: int
) -> None:
    response = post(service, f"{HEADER}\n{ROW}", kind, accept)
    assert response.status_code == status
    assert status == 200 or response.headers["content-type"] == "application/problem+json"


def test_a_compressed_stream_is_refused(service: TestClient) -> None:
    headers = {"Content-Type": NDJSON, "Content-Encoding": "gzip"}
    assert service.post(MANY, content=b"x", headers=headers).status_code == 415


def test_the_log_holds_the_counts_and_nothing_of_an_order(capsys: pytest.CaptureFixture[str]) -> None:
    with TestClient(create_app(Settings())) as service:
        post(service, json.dumps(order(reference="Xq7secret")) + "\n{}")
    written = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    [request] = [line for line in written if line["event"] == "request"]
    assert request["rows"] == {"rows": 2, "accept": 1, "review": 0, "reject": 0, "unreadable": 1}
    assert "Xq7secret" not in json.dumps(written)


# Message by message.


class Caller:
    """Speaks to the application without a client, so that each message is in the hand of the test."""

    def __init__(self, **settings: Any) -> None:
        self.app = create_app(Settings(log=False, **settings))
        self.to_come: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
        self.sent: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
        self.taken = 0

    def say(self, body: bytes, *, more: bool = True) -> None:
        self.to_come.put_nowait({"type": "http.request", "body": body, "more_body": more})

    async def receive(self) -> dict[str, Any]:
        message = await self.to_come.get()
        self.taken += len(message.get("body", b""))
        return message

    async def call(self, send: Any = None, path: str = MANY, method: str = "POST") -> None:
        headers = [(b"content-type", NDJSON.encode())]
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
            "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "", "headers": headers,
            "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 80),
        }  # fmt: skip
        await self.app(scope, self.receive, send or self.sent.put)  # type: ignore[arg-type]

    async def heard(self) -> dict[str, Any]:
        async with asyncio.timeout(10):
            message = await self.sent.get()
        document: dict[str, Any] = json.loads(message["body"])
        return document


def test_a_line_is_answered_before_the_next_is_sent() -> None:
    async def scene() -> None:
        caller = Caller()
        task = asyncio.create_task(caller.call())
        assert (await caller.sent.get())["status"] == 200
        for index in range(3):
            caller.say(TEXT.encode()[:50])
            caller.say(TEXT.encode()[50:] + b"\n")
            assert (await caller.heard())["index"] == index
        caller.say(b"", more=False)
        assert (await caller.heard())["end"]["rows"] == 3
        await task

    asyncio.run(scene())


def test_a_stream_counts_as_one_request_and_health_is_answered_beside_it() -> None:
    async def scene() -> None:
        caller = Caller(max_in_flight=1)
        task = asyncio.create_task(caller.call())
        assert (await caller.sent.get())["status"] == 200
        other = Caller()
        other.app = caller.app
        await other.call()
        assert (await other.sent.get())["status"] == 503
        await other.call(path="/healthz", method="GET")
        await other.sent.get()  # the body of the refusal
        assert (await other.sent.get())["status"] == 200
        caller.say(b"", more=False)
        await task
        other.say(b"", more=False)
        await other.call()

    asyncio.run(scene())


def test_a_pause_beyond_its_bound_stops_the_stream_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "STREAM_IDLE_SECONDS", 0.05)

    async def scene() -> None:
        caller = Caller()
        caller.say(TEXT.encode() + b"\n" + TEXT.encode()[:20])
        await caller.call()
        await caller.sent.get()
        assert "answer" in await caller.heard()
        stopped = (await caller.heard())["stopped"]
        assert (stopped["rows"], stopped["problem"]["status"]) == (1, 408)

    asyncio.run(scene())


def test_no_more_is_taken_ahead_than_its_bound_while_nobody_reads() -> None:
    async def scene() -> None:
        caller, go_on = Caller(), asyncio.Event()

        async def slow(message: dict[str, Any]) -> None:
            await go_on.wait()
            await caller.sent.put(message)

        part = (TEXT + "\n").encode() * 20
        count = 3 * limits.MAX_BYTES_AHEAD // len(part)
        for _ in range(count):
            caller.say(part)
        caller.say(b"", more=False)
        task = asyncio.create_task(caller.call(slow))
        await asyncio.sleep(0.2)
        assert limits.MAX_BYTES_AHEAD <= caller.taken <= limits.MAX_BYTES_AHEAD + 2 * len(part)
        go_on.set()
        await task
        assert caller.sent.qsize() == count * 20 + 3  # start, end, last part

    asyncio.run(scene())


def test_a_caller_that_never_reads_is_let_go(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(limits, "STREAM_UNREAD_SECONDS", 0.05)

    async def scene() -> None:
        caller = Caller()

        async def never(message: dict[str, Any]) -> None:
            if message["type"] == "http.response.body":
                await asyncio.Event().wait()

        caller.say(TEXT.encode() + b"\n")
        with pytest.raises(RuntimeError, match="SlowCallerError after the answer had begun"):
            await caller.call(never)

    asyncio.run(scene())
    assert "SlowCallerError" in capsys.readouterr().out


def test_a_caller_that_goes_away_is_not_worked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    checked: list[str] = []
    sound = answering.check

    def counted(asked: Any, *more: Any) -> Any:
        checked.append(asked.reference)
        return sound(asked, *more)

    monkeypatch.setattr(answering, "check", counted)

    async def scene() -> None:
        caller = Caller()
        for _ in range(5):
            caller.say((TEXT + "\n").encode() * 10)
        caller.to_come.put_nowait({"type": "http.disconnect"})
        async with asyncio.timeout(20):
            await caller.call()

    asyncio.run(scene())
    assert len(checked) <= 11
