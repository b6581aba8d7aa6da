"""A route that reads its body strictly.

The framework would take the last of two equal members, accept NaN and read a body of any size. Here the body is read
and parsed before the framework sees it; everything after that (models, dependencies, the fast way out) is its own.
A body that is declared is always required.
"""

from collections.abc import Callable, Coroutine
from functools import cached_property
from typing import Any

from fastapi import Request, Response
from fastapi.routing import APIRoute
from pydantic import TypeAdapter
from starlette.routing import Match
from starlette.types import Message, Receive, Scope, Send

from service import limits
from service.web.body import bounded_body, require_json
from service.web.strict_json import parse


class _ReadRequest(Request):
    """A request whose body has been read and parsed already."""

    def __init__(self, request: Request, raw: bytes, document: object) -> None:
        super().__init__(_announced_as_json(request.scope), request.receive)
        self._raw = raw
        self._document = document

    async def body(self) -> bytes:
        return self._raw

    async def json(self) -> object:
        return self._document


def _announced_as_json(scope: Scope) -> Scope:
    """The framework looks at the announced type before it asks for the document, which is there already."""
    kind = next((value for name, value in scope["headers"] if name == b"content-type"), b"application/json")
    if kind.partition(b";")[0].strip().lower().endswith(b"json") and b"ndjson" not in kind.lower():
        return scope
    others = [pair for pair in scope["headers"] if pair[0] != b"content-type"]
    return {**scope, "headers": [*others, (b"content-type", b"application/json")]}


class StrictRoute(APIRoute):
    """Use it as `APIRouter(route_class=StrictRoute)`."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        answer = super().get_route_handler()
        if self.body_field is None:
            return answer

        async def strict_answer(request: Request) -> Response:
            raw, document = await self.read(request)
            return await answer(_ReadRequest(request, raw, self.document_of(request, document)))

        return strict_answer

    async def read(self, request: Request) -> tuple[bytes, object]:
        """The body as it came and as a document; a route may take other forms than one JSON text."""
        require_json(request.headers)
        raw = await bounded_body(request, max_bytes=self.most_bytes(request))
        return raw, parse(raw, self.longest_text(request), self.most_values(request))

    def longest_text(self, request: Request) -> int:
        """How long a text in the body may be."""
        del request
        return limits.MAX_STRING_CHARACTERS

    def most_values(self, request: Request) -> int:
        """How many values the body may hold."""
        del request
        return limits.MAX_VALUES

    def most_bytes(self, request: Request) -> int:
        """How large the body may be."""
        del request
        return limits.MAX_BODY_BYTES

    def document_of(self, request: Request, document: object) -> object:
        """The document that the declared body is read from; a route may take other types of JSON than its own."""
        del request
        return document

    @cached_property
    def body_schema(self) -> dict[str, Any]:
        """JSON Schema of the declared body, made on the first fault that needs it; empty where there is none."""
        if self.body_field is None:
            return {}
        body_type: Any = self.body_field.field_info.annotation
        return TypeAdapter(body_type).json_schema()

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """As usual, and HEAD is answered wherever GET is (RFC 9110, 9.1)."""
        match, child_scope = super().matches(scope)
        if match is Match.PARTIAL and self._is_head_of_get(scope):
            return Match.FULL, child_scope
        return match, child_scope

    async def handle(self, scope: Scope, receive: Receive, send: Send) -> None:
        if not self._is_head_of_get(scope):
            await super().handle(scope, receive, send)
            return

        async def send_without_body(message: Message) -> None:
            if message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await super().handle({**scope, "method": "GET"}, receive, send_without_body)

    def _is_head_of_get(self, scope: Scope) -> bool:
        return scope.get("method") == "HEAD" and self.methods is not None and "GET" in self.methods
