"""Frames: which of a catalogue suit this wearer?"""

from typing import Any, Final

from fastapi import APIRouter, Request, Response
from pydantic import TypeAdapter
from starlette.concurrency import run_in_threadpool

from service import limits
from service.contract.screen import ScreenAnswer, ScreenedFrame, ScreenRequest
from service.routes.context import BODY_PROBLEM_CODES, IN_A_LANGUAGE, Context, note_for_log
from service.screening import screen
from service.web.accept import preferred_type
from service.web.body import announced_type, bounded_body, require_json, require_no_coding, require_utf8
from service.web.problems import FieldError, Problem, problem_responses, unreadable
from service.web.route import StrictRoute
from service.web.strict_json import parse

JSON: Final = "application/json"
NDJSON: Final = "application/x-ndjson"
_LINES: Final[dict[str, Any]] = {
    "requestBody": {
        "content": {
            NDJSON: {
                "schema": {
                    "description": "The request without frames on the first line, then a frame a line; a fault of a frame is "
                    "named by its place under /frames, counted from 0."
                }
            }
        }
    }
}
_ANSWER: Final[dict[str, Any]] = {
    "description": "The frames that are kept, and why the others fall out.",
    "content": {
        NDJSON: {
            "schema": {"description": "A frame a line, then the rest of the answer as the last line, under `end`."}
        }
    },
}
_ROW: Final = TypeAdapter(ScreenedFrame)
_WHOLE: Final = TypeAdapter(ScreenAnswer)


class FramesRoute(StrictRoute):
    """Takes whole catalogues, as one document or line by line."""

    async def read(self, request: Request) -> tuple[bytes, object]:
        """As usual, or a document from lines."""
        in_lines = announced_type(request.headers) == NDJSON
        if in_lines:
            require_utf8(request.headers)
            require_no_coding(request.headers)
        else:
            require_json(request.headers)
        raw = await bounded_body(request, max_bytes=self.most_bytes(request))
        # A whole catalogue takes a good part of a second to parse; meanwhile others are answered.
        if in_lines:
            return raw, await run_in_threadpool(_document_of_lines, raw)
        return raw, await run_in_threadpool(parse, raw, self.longest_text(request), self.most_values(request))

    def longest_text(self, request: Request) -> int:
        """A catalogue as CSV is a text within the request."""
        del request
        return limits.MAX_CATALOGUE_CHARACTERS

    def most_values(self, request: Request) -> int:
        """Enough for every frame."""
        del request
        return limits.MAX_CATALOGUE_VALUES

    def most_bytes(self, request: Request) -> int:
        """Enough for every frame, however it is written."""
        del request
        return limits.MAX_CATALOGUE_BYTES


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""
    routes = APIRouter(prefix="/v1/frames", tags=["frames"], route_class=FramesRoute)

    @routes.post(
        "/screen",
        summary="Screen a catalogue of frames for one wearer",
        responses={**problem_responses(*BODY_PROBLEM_CODES, "not-acceptable"), 200: _ANSWER},
        response_model=ScreenAnswer,
        openapi_extra={**IN_A_LANGUAGE, **_LINES},
    )
    async def screen_frames(asked: ScreenRequest, request: Request, response: Response) -> ScreenAnswer | Response:
        """Decision, blank, margin, thickest edge and weight for every frame; the best of them, and why frames fall out, counted.

        Each row says what POST /v1/orders/check says of the order with that frame.
        """
        shop = context.limits_for(request, response)
        kind = preferred_type(",".join(request.headers.getlist("accept")), (JSON, NDJSON))
        answer = await run_in_threadpool(screen, asked, context.catalogue, shop, context.today())
        note_for_log(request, answer.decision, answer.findings)
        if kind == NDJSON:
            lines = await run_in_threadpool(_lines, answer)
            return Response(lines, media_type=NDJSON, headers=dict(response.headers))
        return answer

    return routes


def _document_of_lines(raw: bytes) -> object:
    """The document that the lines make. Raises Problem, with the line, where one of them is no JSON."""
    lines = [(number, line) for number, line in enumerate(raw.split(b"\n"), 1) if line.strip()]
    if not lines:
        raise unreadable(
            [FieldError("body-missing", "No line was sent. The request and its frames are expected.", pointer="")]
        )
    parts = []
    for number, line in lines:
        try:
            parts.append(parse(line))
        except Problem as problem:
            faults = [
                FieldError(fault.code, f"Line {number}: {fault.message}", line=number, column=fault.column or 1)
                for fault in problem.errors
            ]
            raise unreadable(faults) from None
    first, *frames = parts
    if not isinstance(first, dict) or "frames" in first or not frames:
        return first
    return {**first, "frames": frames}


def _lines(answer: ScreenAnswer) -> bytes:
    rows = [_ROW.dump_json(row) for row in answer.frames]
    answer.frames = []
    return b"\n".join([*rows, b'{"end":' + _WHOLE.dump_json(answer, by_alias=True) + b"}", b""])
