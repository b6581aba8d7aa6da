"""A name for each request: taken over from the caller where it is harmless, else made here."""

import re
import secrets
from typing import Final

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service import limits

HEADER: Final = b"x-request-id"
_HARMLESS: Final = re.compile(rb"[A-Za-z0-9._-]{1,%d}" % limits.MAX_REQUEST_ID_CHARACTERS)


class RequestId:
    """Puts the id into the request's state and into the answer."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request_id = _taken_over(scope) or secrets.token_hex(8).encode()
        scope.setdefault("state", {})["request_id"] = request_id.decode()

        async def send_with_id(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), (HEADER, request_id)]
            await send(message)

        await self.app(scope, receive, send_with_id)


def _taken_over(scope: Scope) -> bytes | None:
    for name, value in scope["headers"]:
        if name == HEADER:
            return bytes(value) if _HARMLESS.fullmatch(value) else None
    return None
