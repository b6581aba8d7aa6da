"""Reading the body of a request: announced as what is expected, bounded in bytes and in time."""

import asyncio
from collections.abc import Mapping
from email.message import Message
from typing import Final

from starlette.requests import Request

from service import limits
from service.web.problems import Problem

# What is left of a refused body must not be read as the next request.
_CLOSE: Final = {"Connection": "close"}
_PLAIN_JSON: Final = frozenset(
    {"application/json", "application/json; charset=utf-8", "application/json;charset=utf-8"}
)


def require_json(headers: Mapping[str, str]) -> None:
    """Refuse, before the body is read, a type or coding other than plain JSON in UTF-8."""
    content_type = headers.get("content-type")
    if content_type is None:
        if _announces_no_body(headers):
            return
        raise Problem(
            "unsupported-media-type",
            "No Content-Type was sent. JSON is expected. Send the header Content-Type: application/json.",
        )
    if content_type not in _PLAIN_JSON:
        _require_json_type(headers)
    require_no_coding(headers)


def require_no_coding(headers: Mapping[str, str]) -> None:
    """Refuse a compressed body: its size could not be bounded before it is unpacked."""
    coding = headers.get("content-encoding")
    if coding is not None and coding.strip().lower() not in ("", "identity"):
        raise Problem(
            "unsupported-media-type",
            "A compressed body was announced. It is expected as it is. Send it without Content-Encoding.",
            headers={"Accept-Encoding": "identity"},
        )


def announced_type(headers: Mapping[str, str]) -> str:
    """The type of the body that is announced, in small letters and without its parameters."""
    return _announced(headers).get_content_type()


def require_utf8(headers: Mapping[str, str]) -> None:
    """Refuse a body that is announced in another character set."""
    charset = _announced(headers).get_param("charset", "utf-8")
    if not isinstance(charset, str) or charset.lower() not in ("utf-8", "utf8"):
        raise Problem(
            "unsupported-media-type",
            "The body was announced in another character set. UTF-8 is expected. Leave the charset out.",
        )


def _announced(headers: Mapping[str, str]) -> Message:
    message = Message()
    message["content-type"] = headers.get("content-type", "")
    return message


def _require_json_type(headers: Mapping[str, str]) -> None:
    kind = announced_type(headers)
    if kind != "application/json" and not (kind.startswith("application/") and kind.endswith("+json")):
        raise Problem(
            "unsupported-media-type",
            "The body was announced as another type. JSON is expected. Send it as Content-Type: application/json.",
        )
    require_utf8(headers)


def _announces_no_body(headers: Mapping[str, str]) -> bool:
    return headers.get("content-length", "0") == "0" and "transfer-encoding" not in headers


async def bounded_body(
    request: Request, *, max_bytes: int = limits.MAX_BODY_BYTES, seconds: float = limits.BODY_SECONDS
) -> bytes:
    """The whole body, or a problem as soon as it is known to be too large or too slow."""
    announced = request.headers.get("content-length", "")
    if announced.isdigit() and (len(announced) > 15 or int(announced) > max_bytes):
        raise _too_large(max_bytes)
    try:
        async with asyncio.timeout(seconds):
            return await _received(request, max_bytes)
    except TimeoutError:
        raise Problem("request-timeout", headers=_CLOSE) from None


async def _received(request: Request, max_bytes: int) -> bytes:
    parts: list[bytes] = []
    size = 0
    more = True
    while more:
        message = await request.receive()
        if message["type"] == "http.disconnect":
            raise Problem("request-timeout", "The connection was closed before the whole body had arrived.")
        part = message.get("body", b"")
        size += len(part)
        if size > max_bytes:
            raise _too_large(max_bytes)
        parts.append(part)
        more = message.get("more_body", False)
    return parts[0] if len(parts) == 1 else b"".join(parts)


def _too_large(max_bytes: int) -> Problem:
    return Problem("body-too-large", f"A body may hold at most {max_bytes} bytes. Send less at once.", headers=_CLOSE)
