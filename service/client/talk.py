"""The course of a call, without the calling: each step is handed out to be done, and its result handed back in.

So the course stands once, for programs with an event loop and without.
"""

import json
from collections.abc import Callable, Generator
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from service.client.answers import CheckAnswer, Problem, built
from service.client.errors import ClientError, CutShort, NotTheService, Unavailable
from service.client.http import Call, Reply, Trouble
from service.client.patience import Patience, asked_s
from service.client.replies import asks_to_wait, refusal, request_id_of, what_came

CHECK_MANY: Final = "/v1/orders/check-many"
NDJSON: Final = "application/x-ndjson"
# The service takes in as much as this before its answers are read; each request is sent whole, and then read.
MOST_BYTES_AT_ONCE: Final = 131_072
END: Final = object()


@dataclass(frozen=True)
class Send:
    """Send a call, and hand back the reply."""

    call: Call


@dataclass(frozen=True)
class Pause:
    """Wait."""

    seconds: float


class Take:
    """Hand back the next order, or END."""


class Read:
    """Hand back the next part of the reply, None after the last."""


@dataclass(frozen=True)
class Give:
    """Give this to the caller."""

    index: int
    answer: CheckAnswer | Problem


Step = Send | Pause | Take | Read | Give
Talk = Generator[Step, Any, None]


def exchange(call: Call, patience: Patience, request_id: str) -> Generator[Send | Pause, Any, Reply]:
    """One call, tried as often as patience allows. Raises Unavailable."""
    tried = 0
    while True:
        reply: Reply | Trouble = yield Send(call)
        why = _why_again(reply)
        if why is None:
            assert isinstance(reply, Reply)
            return reply
        tried += 1
        if tried > patience.retries or (isinstance(reply, Trouble) and not reply.may_retry):
            raise Unavailable(f"{why} {_tried(tried)}", request_id)
        yield Pause(patience.pause_s(tried, _asked(reply)))


def _why_again(reply: Reply | Trouble) -> str | None:
    if isinstance(reply, Trouble):
        return reply.what
    return what_came(reply) if asks_to_wait(reply) else None


def _asked(reply: Reply | Trouble) -> float | None:
    return None if isinstance(reply, Trouble) else asked_s(reply.headers.get("retry-after"))


def _tried(times: int) -> str:
    return "It was tried once." if times == 1 else f"It was tried {times} times."


def json_body(document: object) -> bytes:
    """A document as it is sent; a day may be one of the language's own. Raises ValueError for NaN and infinity."""
    text = json.dumps(document, ensure_ascii=False, allow_nan=False, separators=(",", ":"), default=_day)
    return text.encode()


def _day(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()[:10]
    raise TypeError(f"{type(value).__name__} cannot be written as JSON.")


class Many:
    """A stream of orders, sent in pieces: each is a request of its own, and what it lost is asked for again.

    The library for HTTP reads no reply before all is sent, so the pieces are no larger than what the service takes in ahead.
    """

    def __init__(self, patience: Patience, *, start: int, at_once: int) -> None:
        if at_once < 1:
            raise ValueError(f"at_once is {at_once}; pieces of at least 1 order are expected")
        self._patience, self._start, self._at_once = patience, start, at_once
        self._last_done: int | None = None
        self._unsent: list[tuple[int, bytes]] = []  # taken from the caller, not answered yet

    def talk(self, new_id: Callable[[], str]) -> Talk:
        """The whole course. Raises CutShort, or what a single call raises while no order was answered."""
        index, more = 0, True
        held: tuple[int, bytes] | None = None  # taken, and too large for the piece before
        while more:
            size = 0
            while more and len(self._unsent) < self._at_once:
                if held is None:
                    order = yield Take()
                    if order is END:
                        more = False
                        break
                    index += 1
                    if index <= self._start:
                        continue
                    held = index - 1, json_body(order) + b"\n"
                if self._unsent and size + len(held[1]) > MOST_BYTES_AT_ONCE:
                    break
                self._unsent.append(held)
                size += len(held[1])
                held = None
            yield from self._answered(new_id)

    def _answered(self, new_id: Callable[[], str]) -> Talk:
        """Every order of the piece, answered."""
        tried = 0
        while self._unsent:
            request_id = new_id()
            before = len(self._unsent)
            reply: Reply | Trouble = yield Send(_piece(self._unsent, request_id))
            if isinstance(reply, Reply) and not reply.is_stream and not asks_to_wait(reply):
                raise self._error(refusal(reply, request_id), request_id)
            why = _why_again(reply)
            may_retry = not isinstance(reply, Trouble) or reply.may_retry
            if isinstance(reply, Reply) and reply.is_stream:
                request_id = request_id_of(reply, request_id)
                why, may_retry = yield from self._read(request_id)
            if not self._unsent:
                return
            tried = 1 if len(self._unsent) < before else tried + 1
            if tried > self._patience.retries or not may_retry:
                raise self._error(Unavailable(f"{why} {_tried(tried)}", request_id), request_id)
            yield Pause(self._patience.pause_s(tried, _asked(reply)))

    def _read(self, request_id: str) -> Generator[Read | Give, Any, tuple[str, bool]]:
        """The answers of a reply; then why there are no more, and whether another try may help."""
        sent, done, rest = self._unsent, 0, b""
        while True:
            part: bytes | Trouble | None = yield Read()
            if isinstance(part, Trouble):
                return part.what, part.may_retry
            if part is None:
                return "The stream of answers has no end.", True
            *lines, rest = (rest + part).split(b"\n")
            for line in lines:
                document = _object(line, request_id)
                if "stopped" in document:
                    problem = _problem(document["stopped"])
                    # To be asked again only where something was done: the same would be stopped again.
                    return f"{problem.title}: {problem.detail}", done > 0
                if "end" in document:
                    continue
                if document.get("index") != done or done >= len(sent):
                    raise self._error(NotTheService("An answer out of its order came.", request_id), request_id)
                index = sent[done][0]
                done += 1
                self._unsent = sent[done:]
                # Given is done: whoever takes it and no more must find it told so.
                self._last_done = index
                yield Give(index, _answer(document, request_id))

    def _error(self, error: ClientError, request_id: str) -> ClientError:
        if self._last_done is None:
            return error
        next_index = self._last_done + 1
        cut = CutShort(error.what, last_done=self._last_done, next_index=next_index, request_id=request_id)
        cut.__cause__ = error
        return cut


def _piece(rows: list[tuple[int, bytes]], request_id: str) -> Call:
    headers = {
        "Content-Type": NDJSON,
        "Accept": f"{NDJSON}, application/problem+json;q=0.5",
        "X-Request-Id": request_id,
    }
    return Call(CHECK_MANY, headers, b"".join(line for _, line in rows))


def _object(line: bytes, request_id: str) -> dict[str, Any]:
    try:
        document = json.loads(line)
    except ValueError:
        document = None
    if not isinstance(document, dict):
        raise NotTheService("A line that is no JSON object came in a stream of answers.", request_id)
    return document


def _answer(document: dict[str, Any], request_id: str) -> CheckAnswer | Problem:
    answer = document.get("answer")
    if isinstance(answer, dict):
        return built(CheckAnswer, answer, request_id=request_id)
    return _problem(document)


def _problem(held: Any) -> Problem:
    """The problem that an object holds, whatever else it is."""
    problem = held.get("problem") if isinstance(held, dict) else None
    return built(Problem, problem if isinstance(problem, dict) else {})
