"""Which pages of other hosts may call the service from a browser (the fetch standard's CORS protocol).

Off unless the settings name origins. A browser asks first, with OPTIONS, whether it may send a body of JSON; that question is
answered here. Then it shows a page the answer only if the answer names the page's origin; so every answer does, also a problem
document. No cookies and no credentials are ever allowed: the service has none. Where an origin is not named, nothing is said,
and the browser refuses the page by itself; other callers are not bound by any of this.
"""

from typing import Final

from starlette.datastructures import Headers
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

# What a page may send beyond what every page may, and what it may read beyond the body.
TAKEN_METHODS: Final = "GET, HEAD, POST"
TAKEN_HEADERS: Final = "Accept, Accept-Language, Content-Type, X-Request-Id"
SHOWN_HEADERS: Final = "Content-Language, Retry-After, X-Request-Id"
_REMEMBERED_SECONDS: Final = 600


class Cors:
    """Answers the browser's question and names the page's origin in every answer, if it is one of those allowed."""

    def __init__(self, app: ASGIApp, origins: frozenset[str]) -> None:
        self.app = app
        self.origins = origins

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        origin = headers.get("origin", "")
        named = [(b"vary", b"Origin")]
        if origin in self.origins:
            named += [
                (b"access-control-allow-origin", origin.encode("latin-1")),
                (b"access-control-expose-headers", SHOWN_HEADERS.encode()),
            ]

        async def send_with_origin(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), *named]
            await send(message)

        is_question = scope["method"] == "OPTIONS" and "access-control-request-method" in headers
        if is_question and origin in self.origins:
            await _permission()(scope, receive, send_with_origin)
        else:
            await self.app(scope, receive, send_with_origin)


def _permission() -> Response:
    """The same for every address: whether there is one, the request itself will tell."""
    return Response(
        status_code=204,
        headers={
            "Access-Control-Allow-Methods": TAKEN_METHODS,
            "Access-Control-Allow-Headers": TAKEN_HEADERS,
            "Access-Control-Max-Age": str(_REMEMBERED_SECONDS),
        },
    )
