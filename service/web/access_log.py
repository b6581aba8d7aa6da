"""One line for each request: which route, how it ended, how long it took."""

from time import perf_counter
from typing import Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.web.log import write_line


class AccessLog:
    """Logs the template of the path, never the path itself: a path or query may hold what was asked."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        started = perf_counter()
        status = 0

        async def send_and_note(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, send_and_note)
        finally:
            _write(scope, status, perf_counter() - started)


def _write(scope: Scope, status: int, seconds: float) -> None:
    state: dict[str, Any] = scope.get("state", {})
    members: dict[str, object] = {
        "request_id": state.get("request_id", ""),
        "route": route_template(scope),
        "method": scope["method"],
        "status": status,
        "milliseconds": round(seconds * 1000, 3),
    }
    if "decision" in state:
        members["decision"] = state["decision"]
    if "finding_codes" in state:
        members["finding_codes"] = list(state["finding_codes"])
    if "rows" in state:
        members["rows"] = dict(state["rows"])
    write_line(level="info" if 0 < status < 500 else "error", event="request", **members)


def route_template(scope: Scope) -> str:
    """Path of the route as declared, with the names of its parameters; "unmatched" where no route was found."""
    # A router that was included with a prefix leaves the whole template here, and its own part in the route.
    included = scope.get("fastapi", {}).get("effective_route_context")
    template = getattr(included or scope.get("route"), "path_format", None)
    if template is None and "endpoint" in scope and not scope.get("path_params"):
        template = scope["path"]  # a plain route, such as that of the schema: a path without parameters is its template
    return str(template or "unmatched")
