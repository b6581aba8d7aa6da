"""Turning requests away while as many as the service takes are being worked on.

The server could do this itself, but would turn the health check away as well, in plain text.
"""

from typing import Final

from starlette.types import ASGIApp, Receive, Scope, Send

from service.web.problems import Problem, problem_response

ALWAYS_ANSWERED: Final = frozenset({"/healthz", "/readyz", "/metrics"})


class Shedding:
    """Counts the requests in flight; one event loop, so a plain number does."""

    def __init__(self, app: ASGIApp, max_in_flight: int) -> None:
        self.app = app
        self.max_in_flight = max_in_flight
        self.in_flight = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["path"] in ALWAYS_ANSWERED:
            await self.app(scope, receive, send)
            return
        if self.in_flight >= self.max_in_flight:
            await problem_response(Problem("too-busy"), scope)(scope, receive, send)
            return
        self.in_flight += 1
        try:
            await self.app(scope, receive, send)
        finally:
            self.in_flight -= 1
