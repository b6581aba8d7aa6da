"""A fault of the service becomes a problem document, and a log line that holds nothing of the request.

This stands inside the other layers, so that the answer has its id, its headers and its line in the access log, and so
that nothing reaches the server's own error log: the text of an exception may quote what was sent.
"""

import traceback
from types import TracebackType
from typing import Final

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.web.log import write_line
from service.web.problems import Problem, problem_response, request_id_of

_MOST_FRAMES: Final = 12


class Failures:
    """Answers 500 for what nobody else answered."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        has_started = False

        async def send_and_note(message: Message) -> None:
            nonlocal has_started
            has_started = True
            await send(message)

        try:
            await self.app(scope, receive, send_and_note)
        except Exception as error:
            where = frames(error.__traceback__)
            kind = type(error).__name__
            write_line(level="error", event="failure", request_id=request_id_of(scope), exception=kind, where=where)
            if has_started:
                # Half an answer cannot be taken back. Raising makes the server close the connection.
                raise RuntimeError(f"{kind} after the answer had begun") from None
            await problem_response(Problem("internal-error"), scope)(scope, receive, send)


def frames(trace: TracebackType | None) -> list[str]:
    """Where an exception passed, innermost last: file, line and function, no values."""
    return [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in traceback.extract_tb(trace)[-_MOST_FRAMES:]]
