"""A body that is worked on while it comes, and an answer that is sent while it is made.

What a caller sends is taken in ahead of the work, up to a bound: one that reads nothing before all is sent gets no
further than that, and is then let go after a while, since each side would wait for the other for ever.
"""

import asyncio
from collections import deque
from collections.abc import AsyncGenerator
from typing import Final

from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from service import limits
from service.web.problems import Problem

_GONE: Final = "The connection was closed before the whole body had arrived."


class SlowCallerError(Exception):
    """A caller that does not take its answer."""


class BodyAhead:
    """The parts of a body as they come. Close it when the work is done."""

    def __init__(self, receive: Receive) -> None:
        self._receive = receive
        self._parts: deque[bytes] = deque()
        self._held = 0
        self._size = 0
        self._ended = False
        self._gone = False
        self._news, self._room = asyncio.Event(), asyncio.Event()
        self._until = asyncio.get_running_loop().time() + limits.STREAM_SECONDS
        self._task = asyncio.create_task(self._take_in())

    @property
    def is_gone(self) -> bool:
        """Whether the caller closed the connection, so that no answer is read any more."""
        return self._gone

    async def part(self) -> bytes | None:
        """The next part, None after the last. Raises Problem where none comes in time, or more than is taken."""
        seconds = min(limits.STREAM_IDLE_SECONDS, self._until - asyncio.get_running_loop().time())
        try:
            async with asyncio.timeout(seconds):
                while not self._parts and not self._ended and not self._gone:
                    self._news.clear()
                    await self._news.wait()
        except TimeoutError:
            raise Problem("request-timeout", _too_slow()) from None
        if self._gone:
            raise Problem("request-timeout", _GONE)
        if not self._parts:
            return None
        part = self._parts.popleft()
        self._held -= len(part)
        self._size += len(part)
        self._room.set()
        if self._size > limits.MAX_STREAMED_BYTES:
            most = limits.MAX_STREAMED_BYTES
            raise Problem("body-too-large", f"A stream may hold at most {most} bytes. Send the rest by itself.")
        if asyncio.get_running_loop().time() > self._until:
            raise Problem("request-timeout", _too_slow())
        return part

    async def close(self) -> None:
        """Take in no more."""
        self._task.cancel()
        await asyncio.gather(self._task, return_exceptions=True)

    async def _take_in(self) -> None:
        more = True
        while more:
            while self._held >= limits.MAX_BYTES_AHEAD:
                self._room.clear()
                await self._room.wait()
            message = await self._receive()
            if message["type"] == "http.disconnect":
                break
            if part := message.get("body", b""):
                self._parts.append(part)
                self._held += len(part)
            more = message.get("more_body", False)
            self._ended = not more
            self._news.set()
        # After the last part there is one more word to come: that the caller has gone.
        if not more:
            while (await self._receive())["type"] != "http.disconnect":
                pass
        self._gone = True
        self._news.set()


class StreamedResponse(Response):
    """An answer in parts, sent as they are made. Both it and the body it is made from are closed at its end."""

    def __init__(self, parts: AsyncGenerator[bytes, None], body: BodyAhead, media_type: str) -> None:
        super().__init__(media_type=media_type)
        del self.headers["content-length"]
        self.parts, self.read_ahead = parts, body

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        del scope, receive
        try:
            await send({"type": "http.response.start", "status": self.status_code, "headers": self.raw_headers})
            async for part in self.parts:
                if self.read_ahead.is_gone:
                    return
                try:
                    async with asyncio.timeout(limits.STREAM_UNREAD_SECONDS):
                        await send({"type": "http.response.body", "body": part, "more_body": True})
                except TimeoutError:
                    raise SlowCallerError from None
            await send({"type": "http.response.body", "body": b"", "more_body": False})
        finally:
            await self.parts.aclose()
            await self.read_ahead.close()


def _too_slow() -> str:
    return (
        f"A stream may pause for {limits.STREAM_IDLE_SECONDS:g} s and take {limits.STREAM_SECONDS:g} s in all. Send what was "
        "not answered again."
    )
