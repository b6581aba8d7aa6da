"""Refusing an address that is longer than any the service has."""

from starlette.types import ASGIApp, Receive, Scope, Send

from service import limits
from service.web.problems import Problem, problem_response


class UrlLength:
    """Measures path and query as they were sent."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            path = scope.get("raw_path") or scope["path"].encode()
            if len(path) + len(scope["query_string"]) > limits.MAX_URL_BYTES:
                await problem_response(Problem("uri-too-long"), scope)(scope, receive, send)
                return
        await self.app(scope, receive, send)
