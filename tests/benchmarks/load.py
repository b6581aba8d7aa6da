"""A small load generator: some connections to this machine, each with one request under way at a time.

It shares no core with the server it measures, if there are two, and says how busy it was itself: near 100 % it measures
itself and not the server.
"""

import asyncio
import time
from dataclasses import dataclass, field
from typing import cast

MAX_REQUESTS = 500_000
GRACE_SECONDS = 10


@dataclass(slots=True)
class Measured:
    """What one run of load gave."""

    seconds: float
    busy: float
    milliseconds: list[float] = field(default_factory=list)

    @property
    def per_second(self) -> float:
        """Requests answered in a second."""
        return len(self.milliseconds) / self.seconds


class _Caller(asyncio.Protocol):
    """One connection: sends, waits for the whole answer, sends the next."""

    def __init__(self, requests: list[bytes], first: int, until: float, latencies: list[float]) -> None:
        self.requests = requests
        self.next = first
        self.until = until
        self.latencies = latencies
        self.received = bytearray()
        self.wanted = 0
        self.sent_at = 0.0
        self.done: asyncio.Future[None] = asyncio.get_running_loop().create_future()

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self.transport = cast(asyncio.Transport, transport)
        self._send()

    def data_received(self, data: bytes) -> None:
        self.received += data
        if not self.wanted:
            end = self.received.find(b"\r\n\r\n")
            if end < 0:
                return
            try:
                self.wanted = end + 4 + _content_length(bytes(self.received[:end]))
            except ConnectionError as error:
                self.done.set_exception(error)
                self.transport.abort()
                return
        if len(self.received) < self.wanted:
            return
        now = time.perf_counter()
        self.latencies.append((now - self.sent_at) * 1000)
        self.received.clear()
        self.wanted = 0
        if now < self.until and len(self.latencies) < MAX_REQUESTS:
            self._send()
        else:
            self.transport.close()

    def connection_lost(self, exc: Exception | None) -> None:
        if self.done.done():
            return
        if exc is not None or time.perf_counter() < self.until:
            self.done.set_exception(exc or ConnectionError("the server closed a connection"))
        else:
            self.done.set_result(None)

    def _send(self) -> None:
        request = self.requests[self.next % len(self.requests)]
        self.next += 1
        self.sent_at = time.perf_counter()
        self.transport.write(request)


def _content_length(head: bytes) -> int:
    status, *lines = head.split(b"\r\n")
    if not status.startswith(b"HTTP/1.1 200 "):
        raise ConnectionError(f"answered {status.decode()}")
    for line in lines:
        name, _, value = line.partition(b":")
        if name.lower() == b"content-length":
            return int(value)
    raise ConnectionError("an answer without a length")


def post(path: str, body: bytes) -> bytes:
    """A POST request as it goes over the wire."""
    head = (
        f"POST {path} HTTP/1.1\r\nHost: bench\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


async def measure(port: int, requests: list[bytes], *, connections: int, seconds: float) -> Measured:
    """Load a server on this machine for some seconds; any answer but 200 ends the run with an error."""
    loop = asyncio.get_running_loop()
    latencies: list[float] = []
    started, busy = time.perf_counter(), time.process_time()
    until = started + seconds
    callers = []
    for number in range(connections):
        first = number * len(requests) // connections
        _, caller = await loop.create_connection(
            lambda first=first: _Caller(requests, first, until, latencies), "127.0.0.1", port
        )
        callers.append(caller)
    async with asyncio.timeout(seconds + GRACE_SECONDS):
        await asyncio.gather(*(caller.done for caller in callers))
    passed = time.perf_counter() - started
    return Measured(passed, (time.process_time() - busy) / passed, latencies)
