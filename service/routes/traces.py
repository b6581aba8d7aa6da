"""Traces: what outline does a tracer's file hold?"""

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from service import limits
from service.contract.bench import TraceFile
from service.contract.trace_answer import TraceAnswer
from service.routes.context import BODY_PROBLEMS, IN_A_LANGUAGE, Context, note_for_log
from service.trace_reading import read_trace
from service.web.route import StrictRoute


class TraceRoute(StrictRoute):
    """Takes the text of a file, which is longer than other texts."""

    def longest_text(self, request: Request) -> int:
        """A trace file is a text within the request."""
        del request
        return limits.MAX_TRACE_FILE_CHARACTERS

    def most_bytes(self, request: Request) -> int:
        """Large enough for every such text, however it is written."""
        del request
        return limits.MAX_TRACE_FILE_BYTES


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""
    routes = APIRouter(prefix="/v1/traces", tags=["bench"], route_class=TraceRoute)

    @routes.post("/read", summary="Read a trace file", responses=BODY_PROBLEMS, openapi_extra=IN_A_LANGUAGE)
    async def read_trace_file(file: TraceFile, request: Request, response: Response) -> TraceAnswer:
        """Radii or points as JSON, as CSV or in plain columns; the outline, its sizes, and what is doubtful.

        What is answered under `trace` can be put under `frame.trace` of an order as it stands.
        """
        answer = await run_in_threadpool(read_trace, file, context.limits_for(request, response))
        note_for_log(request, answer.decision, answer.findings)
        return answer

    return routes
