"""Many: a list of orders, a stream of them, or a table, each answered in its place."""

from collections.abc import Callable, Coroutine
from typing import Any, Final

from fastapi import APIRouter, Request, Response

from service import limits
from service.contract.check_many import AnsweredOrder, CheckManyAnswer, CheckManyRequest
from service.many.answering import Answered, row_of_document
from service.routes.context import BODY_PROBLEM_CODES, IN_A_LANGUAGE, Context, name_language
from service.routes.many_streams import Rows, Work, answers_as_lines, answers_as_rows, answers_to_lines
from service.web.accept import preferred_type
from service.web.body import announced_type, require_no_coding, require_utf8
from service.web.problems import problem_document, problem_responses, request_id_of
from service.web.route import StrictRoute
from service.web.stream import BodyAhead, StreamedResponse

NDJSON: Final = "application/x-ndjson"
CSV: Final = "text/csv"
_BODIES: Final[dict[str, Any]] = {
    "requestBody": {
        "content": {
            NDJSON: {
                "schema": {
                    "description": "An order a line, each as for POST /v1/orders/check. At most "
                    f"{limits.MAX_STREAMED_ROWS} lines; a line may hold as much as one request."
                }
            },
            CSV: {
                "schema": {
                    "description": "A table in UTF-8 whose first row names its columns, such as R sph, R cyl, R axis, L sph, L "
                    "cyl, L axis, PD, A, B, DBL; parted by commas, semicolons or tabs."
                }
            },
        }
    }
}
_ANSWERS: Final[dict[str, Any]] = {
    "description": "The answers, in the order of the request: as one document for a list, as a stream of lines for a stream or "
    "a table, as the table with columns of ours at its right where that is asked for.",
    "content": {
        NDJSON: {
            "schema": {
                "description": "A line for each order that is no empty line: `index` and either `answer` or `problem`. The last "
                "line is `end` with the counts, or `stopped` with the counts and a `problem`; a stream without "
                "either was cut."
            }
        },
        CSV: {"schema": {"description": "For a table, with Accept: text/csv."}},
    },
}


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""

    class ManyRoute(StrictRoute):
        """Takes lines and tables as well, whose bodies are not read before they are worked on."""

        def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
            of_list = super().get_route_handler()

            async def answer(request: Request) -> Response:
                kind = _kind(request)
                if kind == NDJSON:
                    return await _stream(request, context)
                if kind == CSV:
                    return await _table(request, context)
                return await of_list(request)

            return answer

    routes = APIRouter(prefix="/v1/orders", tags=["orders"], route_class=ManyRoute)

    @routes.post(
        "/check-many",
        summary="Check many orders: a list, a stream, or a table",
        responses={**problem_responses(*BODY_PROBLEM_CODES, "not-acceptable"), 200: _ANSWERS},
        openapi_extra={**IN_A_LANGUAGE, **_BODIES},
    )
    async def check_many(asked: CheckManyRequest, request: Request, response: Response) -> CheckManyAnswer:
        """Each order is checked as by POST /v1/orders/check and answered in its place; one that cannot be read stops none.

        A list (JSON) is answered whole. Lines (NDJSON) are answered while they come: read while you send, or send at most
        what `bytes-ahead` of GET /v1/reference/limits says. A table (CSV) is answered in lines, or with Accept: text/csv as
        the table with columns of ours at its right. `index` counts lines, or rows below the header, from 0; empty ones
        count and are not answered.
        """
        work = Work(request, context)
        name_language(response, work.limits)
        found = [await work.answered(at, row_of_document(order)) for at, order in enumerate(asked.orders)]
        return CheckManyAnswer([_listed(one, request) for one in found], work.counts)

    return routes


def _listed(one: Answered, request: Request) -> AnsweredOrder:
    problem = None
    if one.problem is not None:
        request_id = request_id_of(request.scope)
        problem = problem_document(one.problem, request_id=request_id, instance=request.scope["path"])
    return AnsweredOrder(one.index, one.answer, problem)


def _kind(request: Request) -> str:
    """The type of the body: JSON where it is another than those of a stream, to be told by the reading of a list."""
    kind = announced_type(request.headers)
    if kind not in (NDJSON, CSV):
        return ""
    require_utf8(request.headers)
    require_no_coding(request.headers)
    return kind


def _accepted(request: Request, *offered: str) -> str:
    return preferred_type(",".join(request.headers.getlist("accept")), offered)


async def _stream(request: Request, context: Context) -> Response:
    _accepted(request, NDJSON)
    body = BodyAhead(request.receive)
    work = Work(request, context)
    return _spoken(StreamedResponse(answers_to_lines(body, work), body, NDJSON), work)


async def _table(request: Request, context: Context) -> Response:
    wanted = _accepted(request, NDJSON, CSV)
    body = BodyAhead(request.receive)
    try:
        rows = Rows(body)
        table = await rows.table()
    except BaseException:
        await body.close()
        raise
    answers = answers_as_rows if wanted == CSV else answers_as_lines
    work = Work(request, context)
    return _spoken(StreamedResponse(answers(rows, table, work), body, wanted), work)


def _spoken(response: Response, work: Work) -> Response:
    name_language(response, work.limits)
    return response
