"""The clients: what can be asked, for programs without an event loop and with one."""

import asyncio
import secrets
import time
from collections.abc import AsyncIterable, AsyncIterator, Iterable, Iterator, Mapping
from contextlib import closing
from types import TracebackType
from typing import Any, Final, Literal, Self

from service.client.answers import CheckAnswer, CompareAnswer, InspectAnswer, Problem, ReadAnswer, built
from service.client.http import AsyncHttp, AsyncOpened, Call, Http, Opened, Place, Reply
from service.client.patience import Patience
from service.client.replies import document_of, refusal, request_id_of
from service.client.talk import END, Give, Many, Pause, Read, Send, Take, exchange, json_body

Json = Mapping[str, Any]
Kind = Literal["pdf", "html", "json"]
_TYPES: Final[dict[Kind, str]] = {"pdf": "application/pdf", "html": "text/html", "json": "application/json"}
_JSON: Final = "application/json"
CONNECT_S: Final = 5.0
READ_S: Final = 30.0
AT_ONCE: Final = 200


def _new_id() -> str:
    return secrets.token_hex(8)


class _Asked:
    """A call, and how its reply is read; the same for both clients."""

    def __init__(self, path: str, document: object, accept: str = _JSON) -> None:
        self.request_id = _new_id()
        self.accept = accept
        headers = {
            "Content-Type": _JSON,
            "Accept": accept if accept == _JSON else f"{accept}, application/problem+json;q=0.5",
            "X-Request-Id": self.request_id,
        }
        self.call = Call(path, headers, json_body(document))

    def answer(self, kind: Any, member: str, reply: Reply) -> Any:
        document = document_of(reply, member, self.request_id)
        return built(kind, document, request_id=request_id_of(reply, self.request_id))

    def body(self, reply: Reply) -> bytes:
        if reply.status == 200 and reply.kind == self.accept:
            return reply.body
        raise refusal(reply, self.request_id)


def _check(order: Json) -> _Asked:
    return _Asked("/v1/orders/check", order)


def _read(prescription: str | Json, members: Json) -> _Asked:
    held = {"written": prescription} if isinstance(prescription, str) else prescription
    return _Asked("/v1/prescriptions/read", {"prescription": held, **members})


def _sheet(order: Json, kind: Kind, page: str) -> _Asked:
    return _Asked("/v1/bench/sheet", {"order": order, "page": page}, _TYPES[kind])


class Client:
    """A client for programs without an event loop. Use it in a `with` statement, or close it.

    `connect_s` bounds the making of a connection (5 s), `read_s` each wait for bytes (30 s), `patience` how a call is tried
    again: at most 3 times, each after a pause of at most 10 s. Threads may share a client.
    """

    def __init__(
        self, address: str, *, connect_s: float = CONNECT_S, read_s: float = READ_S, patience: Patience | None = None
    ) -> None:
        self._http = Http(Place(address, connect_s, read_s))
        self._patience = patience or Patience()

    def check(self, order: Json) -> CheckAnswer:
        """Can this order be made, will it be right, will it be safe? Waits as the client was told: 5 s, 30 s."""
        asked = _check(order)
        answer: CheckAnswer = asked.answer(CheckAnswer, "decision", self._reply(asked))
        return answer

    def read(self, prescription: str | Json, **members: Any) -> ReadAnswer:
        """What does this prescription say? As text or in fields; `members` as `as_of`. Waits as above."""
        asked = _read(prescription, members)
        answer: ReadAnswer = asked.answer(ReadAnswer, "decision", self._reply(asked))
        return answer

    def compare(self, request: Json) -> CompareAnswer:
        """Which material and blank? `request` as for POST /v1/lenses/compare. Waits as above."""
        asked = _Asked("/v1/lenses/compare", request)
        answer: CompareAnswer = asked.answer(CompareAnswer, "decision", self._reply(asked))
        return answer

    def inspect(self, request: Json) -> InspectAnswer:
        """Is the finished pair within tolerance? `request` as for POST /v1/bench/inspect. Waits as above."""
        asked = _Asked("/v1/bench/inspect", request)
        answer: InspectAnswer = asked.answer(InspectAnswer, "result", self._reply(asked))
        return answer

    def bench_sheet(self, order: Json, kind: Kind = "pdf", *, page: Literal["a4", "letter"] = "a4") -> bytes:
        """The bench sheet of an order, as the bytes of a file. Waits as above."""
        asked = _sheet(order, kind, page)
        return asked.body(self._reply(asked))

    def check_many(
        self, orders: Iterable[Json], *, start: int = 0, at_once: int = AT_ONCE
    ) -> Iterator[tuple[int, CheckAnswer | Problem]]:
        """Each order's index and answer, in order, while the orders are still being taken; a Problem if it is not readable.

        Orders are sent in pieces of at most `at_once`, so that memory stays flat however many there are. What a lost
        connection left unanswered is sent again; where that does not help, CutShort says up to where all is done, and the
        same orders with `start` go on from there: those before it are passed over. Waits as above, for each piece.
        """
        talk = Many(self._patience, start=start, at_once=at_once).talk(_new_id)
        source, opened, result = iter(orders), None, None
        with closing(talk):
            try:
                while True:
                    try:
                        step, result = talk.send(result), None
                    except StopIteration:
                        return
                    if isinstance(step, Give):
                        yield step.index, step.answer
                    elif isinstance(step, Take):
                        result = next(source, END)
                    elif isinstance(step, Read):
                        result = None if opened is None else opened.part()
                    elif isinstance(step, Pause):
                        time.sleep(step.seconds)
                    else:
                        _close(opened)
                        opened = self._http.opened(step.call)
                        result = opened.reply
            finally:
                _close(opened)

    def _reply(self, asked: _Asked) -> Reply:
        talk = exchange(asked.call, self._patience, asked.request_id)
        result: Any = None
        while True:
            try:
                step = talk.send(result)
            except StopIteration as ended:
                reply: Reply = ended.value
                return reply
            if isinstance(step, Send):
                result = self._http.exchange(step.call)
            else:
                time.sleep(step.seconds)
                result = None

    def close(self) -> None:
        """Close the connections."""
        self._http.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _close(opened: Opened | None) -> None:
    if opened is not None:
        opened.close()


class AsyncClient:
    """The same for programs with an event loop. Use it in an `async with` statement, or close it."""

    def __init__(
        self, address: str, *, connect_s: float = CONNECT_S, read_s: float = READ_S, patience: Patience | None = None
    ) -> None:
        self._http = AsyncHttp(Place(address, connect_s, read_s))
        self._patience = patience or Patience()

    async def check(self, order: Json) -> CheckAnswer:
        """As `Client.check`."""
        asked = _check(order)
        answer: CheckAnswer = asked.answer(CheckAnswer, "decision", await self._reply(asked))
        return answer

    async def read(self, prescription: str | Json, **members: Any) -> ReadAnswer:
        """As `Client.read`."""
        asked = _read(prescription, members)
        answer: ReadAnswer = asked.answer(ReadAnswer, "decision", await self._reply(asked))
        return answer

    async def compare(self, request: Json) -> CompareAnswer:
        """As `Client.compare`."""
        asked = _Asked("/v1/lenses/compare", request)
        answer: CompareAnswer = asked.answer(CompareAnswer, "decision", await self._reply(asked))
        return answer

    async def inspect(self, request: Json) -> InspectAnswer:
        """As `Client.inspect`."""
        asked = _Asked("/v1/bench/inspect", request)
        answer: InspectAnswer = asked.answer(InspectAnswer, "result", await self._reply(asked))
        return answer

    async def bench_sheet(self, order: Json, kind: Kind = "pdf", *, page: Literal["a4", "letter"] = "a4") -> bytes:
        """As `Client.bench_sheet`."""
        asked = _sheet(order, kind, page)
        return asked.body(await self._reply(asked))

    async def check_many(
        self, orders: Iterable[Json] | AsyncIterable[Json], *, start: int = 0, at_once: int = AT_ONCE
    ) -> AsyncIterator[tuple[int, CheckAnswer | Problem]]:
        """As `Client.check_many`; the orders may come from an asynchronous source."""
        talk = Many(self._patience, start=start, at_once=at_once).talk(_new_id)
        source, opened, result = _source(orders), None, None
        with closing(talk):
            try:
                while True:
                    try:
                        step, result = talk.send(result), None
                    except StopIteration:
                        return
                    if isinstance(step, Give):
                        yield step.index, step.answer
                    elif isinstance(step, Take):
                        result = await anext(source, END)
                    elif isinstance(step, Read):
                        result = None if opened is None else await opened.part()
                    elif isinstance(step, Pause):
                        await asyncio.sleep(step.seconds)
                    else:
                        await _aclose(opened)
                        opened = await self._http.opened(step.call)
                        result = opened.reply
            finally:
                await _aclose(opened)

    async def _reply(self, asked: _Asked) -> Reply:
        talk = exchange(asked.call, self._patience, asked.request_id)
        result: Any = None
        while True:
            try:
                step = talk.send(result)
            except StopIteration as ended:
                reply: Reply = ended.value
                return reply
            if isinstance(step, Send):
                result = await self._http.exchange(step.call)
            else:
                await asyncio.sleep(step.seconds)
                result = None

    async def close(self) -> None:
        """Close the connections."""
        await self._http.close()

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await self.close()


async def _aclose(opened: AsyncOpened | None) -> None:
    if opened is not None:
        await opened.close()


async def _source(orders: Iterable[Json] | AsyncIterable[Json]) -> AsyncIterator[Json]:
    if isinstance(orders, AsyncIterable):
        async for order in orders:
            yield order
    else:
        for order in orders:
            yield order
