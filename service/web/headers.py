"""Headers that tell a browser to do nothing the service does not need."""

from collections.abc import Iterable
from typing import Final

from starlette.types import ASGIApp, Message, Receive, Scope, Send

RawHeaders = tuple[tuple[bytes, bytes], ...]

# A page may use its own files and talk to its own service; an icon inside a style is a data address.
PAGE_POLICY: Final = (
    b"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    b"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
# An answer is data: nothing in it may ever run or load.
DATA_POLICY: Final = b"default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
PAGES: Final = frozenset({"/", "/docs"})

_EVERYWHERE: Final[RawHeaders] = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
_OF_PAGES: Final[RawHeaders] = (*_EVERYWHERE, (b"content-security-policy", PAGE_POLICY))
_OF_DATA: Final[RawHeaders] = (*_EVERYWHERE, (b"content-security-policy", DATA_POLICY))
_NOT_STORED: Final = (b"cache-control", b"no-store")


# What an answer may say itself, knowing better: how it may be stored, and which style of its own a page may use.
_OWN_WORD: Final = frozenset({b"cache-control", b"content-security-policy"})


class SecurityHeaders:
    """Adds them to every answer; an answer that says itself how it may be stored or what it may load keeps its word."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        added = _OF_PAGES if scope["path"] in PAGES else _OF_DATA

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = _with(message.get("headers", ()), added)
            await send(message)

        await self.app(scope, receive, send_with_headers)


def _with(headers: Iterable[tuple[bytes, bytes]], added: RawHeaders) -> list[tuple[bytes, bytes]]:
    own = list(headers)
    said = {name for name, _ in own} & _OWN_WORD
    return [*own, *(header for header in (*added, _NOT_STORED) if header[0] not in said)]
