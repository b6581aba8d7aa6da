"""Bench: the layout of the lenses at true size, and the sheet with what is set, read and checked."""

from collections.abc import Callable
from typing import Any, Final

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from service.bench_drawing import NotDrawableError, drawing
from service.bench_sheet import bench_sheet
from service.contract.answer import Finding
from service.contract.bench import DrawingRequest
from service.contract.sheet import BenchSheet, SheetRequest
from service.drawing.pdf_writer import pdf
from service.drawing.sheet import Sheet, TooLargeError
from service.drawing.svg_writer import svg
from service.routes.context import BODY_PROBLEM_CODES, Context, note_for_log
from service.sheet_page import html_writer, pdf_writer
from service.sheet_page.page import page
from service.web.accept import preferred_type
from service.web.problems import FieldError, Problem, problem_responses
from service.web.route import StrictRoute

SVG: Final = "image/svg+xml"
PDF: Final = "application/pdf"
JSON: Final = "application/json"
HTML: Final = "text/html"
_WRITERS: Final[dict[str, Callable[[Sheet], bytes]]] = {SVG: svg, PDF: pdf}
_ANSWER: Final[dict[str, Any]] = {
    "description": "The drawing, at true size.",
    "content": {
        SVG: {"schema": {"type": "string"}},
        PDF: {"schema": {"type": "string", "format": "binary"}},
    },
}
_SHEET: Final[dict[str, Any]] = {
    "description": "The sheet: as JSON, or as one page to print.",
    "content": {HTML: {"schema": {"type": "string"}}, PDF: {"schema": {"type": "string", "format": "binary"}}},
}


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""
    routes = APIRouter(prefix="/v1/bench", tags=["bench"], route_class=StrictRoute)

    @routes.post(
        "/drawing",
        summary="Draw the lenses on their blanks at true size",
        responses={**problem_responses(*BODY_PROBLEM_CODES, "not-acceptable", "not-drawable"), 200: _ANSWER},
        response_class=Response,
    )
    async def draw_order(drawn: DrawingRequest, request: Request) -> Response:
        """Outline, box, pupil, blank, axis and the tightest place, to look at or to print and lay the lens on.

        SVG, or PDF with `Accept: application/pdf`. Print at 100 % and measure the check square before you rely on it.
        """
        kind = preferred_type(",".join(request.headers.getlist("accept")), tuple(_WRITERS))
        try:
            found = await run_in_threadpool(drawing, drawn, context.limits, context.today())
        except NotDrawableError as error:
            note_for_log(request, error.answer.decision, error.answer.findings)
            raise Problem("not-drawable", str(error), errors=_faults(error.answer.findings)) from None
        note_for_log(request, found.answer.decision, found.answer.findings)
        try:
            return Response(await run_in_threadpool(_WRITERS[kind], found.sheet), media_type=kind)
        except TooLargeError as error:
            raise Problem("not-drawable", str(error)) from None

    @routes.post(
        "/sheet",
        summary="What is set, read and checked at the bench",
        responses={**problem_responses(*BODY_PROBLEM_CODES, "not-acceptable"), 200: _SHEET},
        response_model=BenchSheet,
    )
    async def write_sheet(wanted: SheetRequest, request: Request) -> BenchSheet | Response:
        """For each lens centration, lensmeter readings, prism, blank, placement, edge and thickness; then the checklist.

        JSON; or one page to print, with `Accept: text/html` or `Accept: application/pdf`. A rejected order has a sheet too,
        which says so in large letters. The code on the page holds a digest of the order and nothing of the person.
        """
        kind = preferred_type(",".join(request.headers.getlist("accept")), (JSON, HTML, PDF))
        sheet = await run_in_threadpool(bench_sheet, wanted, context.limits, context.today())
        note_for_log(request, sheet.decision, sheet.findings)
        if kind == JSON:
            return sheet
        whole = await run_in_threadpool(page, sheet, wanted.page)
        write = html_writer.html if kind == HTML else pdf_writer.pdf
        headers = {"Content-Security-Policy": html_writer.policy(wanted.page)} if kind == HTML else None
        return Response(await run_in_threadpool(write, whole), media_type=kind, headers=headers)

    return routes


def _faults(findings: list[Finding]) -> list[FieldError]:
    grave = [finding for finding in findings if finding.severity != "note"]
    return [FieldError(finding.code, finding.message, pointer=f"/order{finding.pointer}") for finding in grave]
