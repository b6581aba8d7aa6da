"""The client against the real service on this machine: every call, and a service that is killed in the middle of a batch."""

import asyncio
import threading
from collections.abc import AsyncIterator, Iterator
from copy import deepcopy
from typing import Any

import pytest
from live_service import LiveService, live_service

from service.client import AsyncClient, CheckAnswer, Client, CutShort, Patience, Problem, Refused, Unavailable
from service.contract.compare import EXAMPLE_COMPARISON
from service.contract.inspect import EXAMPLE_INSPECTION
from service.contract.order import EXAMPLE_ORDER

SOON = Patience(retries=1, first_s=0.01, cap_s=0.05)
PATIENT = Patience(retries=60, first_s=0.2, cap_s=0.5)


@pytest.fixture(scope="module")
def live() -> Iterator[LiveService]:
    with live_service() as service:
        yield service


def orders(count: int) -> Iterator[dict[str, Any]]:
    for at in range(count):
        yield {**EXAMPLE_ORDER, "reference": f"W-{at}", "pd_mm": {"both": 60 + at % 8}}


def references(answers: list[tuple[int, CheckAnswer | Problem]]) -> list[tuple[int, str | None]]:
    assert all(isinstance(answer, CheckAnswer) for _, answer in answers)
    return [(index, answer.reference) for index, answer in answers if isinstance(answer, CheckAnswer)]


def test_every_call_is_answered(live: LiveService) -> None:
    with Client(live.address) as client:
        answer = client.check(EXAMPLE_ORDER)
        assert (answer.decision, answer.reference) == ("accept", EXAMPLE_ORDER["reference"])
        assert len(answer.request_id) == 16
        assert client.read("R -2.25 -0.75 x 10  L -2.50 -0.50 x 170", as_of="2026-11-25").read_as is not None
        assert client.read({"right": {"sphere": -1}, "left": {"sphere": -1}}).decision is not None
        assert len(client.compare(EXAMPLE_COMPARISON).rows) > 1
        assert client.inspect(EXAMPLE_INSPECTION).result in ("pass", "review", "fail")
        assert client.bench_sheet(EXAMPLE_ORDER).startswith(b"%PDF")
        assert b"<html" in client.bench_sheet(EXAMPLE_ORDER, "html", page="letter")
        with pytest.raises(Refused, match="/order/frame"):
            client.bench_sheet({})


def test_every_call_is_answered_with_an_event_loop(live: LiveService) -> None:
    async def source() -> AsyncIterator[dict[str, Any]]:
        for order in orders(5):
            yield order

    async def scene() -> None:
        async with AsyncClient(live.address) as client:
            many = await asyncio.gather(*(client.check(order) for order in orders(5)))
            assert [answer.reference for answer in many] == [f"W-{at}" for at in range(5)]
            assert (await client.read("R -2.25 L -2.50")).read_as is not None
            assert (await client.compare(EXAMPLE_COMPARISON)).rows
            assert (await client.inspect(EXAMPLE_INSPECTION)).result
            assert (await client.bench_sheet(EXAMPLE_ORDER)).startswith(b"%PDF")
            for given in (orders(5), source()):
                found = [pair async for pair in client.check_many(given, at_once=2)]
                assert references(found) == [(at, f"W-{at}") for at in range(5)]
            with pytest.raises(Refused, match="/frame"):
                await client.check({})
        async with AsyncClient("http://127.0.0.1:1", patience=SOON) as nowhere:
            with pytest.raises(Unavailable):
                await nowhere.check({})

    asyncio.run(scene())


def test_a_stream_answers_each_order_as_by_itself_and_an_unreadable_one_in_its_place(live: LiveService) -> None:
    given: list[Any] = list(orders(450))
    given[7] = deepcopy(given[7])
    given[7]["frame"]["a_mm"] = "54"
    given[300] = None
    with Client(live.address) as client:
        answers = list(client.check_many(given))
        assert [index for index, _ in answers] == list(range(450))
        bad = {index: answer for index, answer in answers if isinstance(answer, Problem)}
        assert set(bad) == {7, 300}
        assert [fault.pointer for fault in bad[7].errors] == ["/frame/a_mm"]
        for at in (0, 199, 200, 449):
            answer = answers[at][1]
            assert isinstance(answer, CheckAnswer)
            assert answer.document == client.check(given[at]).document


def test_a_service_killed_in_the_middle_of_a_batch_loses_and_doubles_nothing() -> None:
    with live_service() as service, Client(service.address, patience=SOON) as client:
        done: list[tuple[int, CheckAnswer | Problem]] = []

        def go(start: int, kill_at: int | None) -> None:
            for index, answer in client.check_many(orders(1000), start=start):
                done.append((index, answer))
                if index == kill_at:
                    service.kill()

        with pytest.raises(CutShort) as cut:
            go(0, 250)
        assert cut.value.last_done == done[-1][0] < 999
        assert cut.value.next_index == len(done) > 250
        with pytest.raises(Unavailable):  # nothing was answered since: that is told as it is
            go(cut.value.next_index, None)
        service.start()
        go(cut.value.next_index, None)
        assert references(done) == [(at, f"W-{at}") for at in range(1000)]


def test_a_service_that_comes_back_in_time_is_gone_on_with_in_silence() -> None:
    with live_service() as service, Client(service.address, patience=PATIENT) as client:
        done = []
        for index, answer in client.check_many(orders(1000)):
            done.append((index, answer))
            if index == 250:
                service.kill()
                again = threading.Thread(target=service.start)
                again.start()
        again.join(60)
        assert references(done) == [(at, f"W-{at}") for at in range(1000)]
