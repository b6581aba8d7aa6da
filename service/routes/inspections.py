"""Inspections: finished pairs held against their orders."""

from typing import Any, Final

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from service.contract.inspect import InspectAnswer, InspectRequest, Result
from service.contract.inspect_many import InspectManyAnswer, InspectManyRequest
from service.drawing.svg_writer import svg_of
from service.inspecting import inspect
from service.inspecting_many import batch_of, inspect_many
from service.inspection_plot import batch_plot
from service.routes.context import BODY_PROBLEM_CODES, BODY_PROBLEMS, IN_A_LANGUAGE, Context, note_for_log
from service.web.accept import preferred_type
from service.web.problems import problem_responses
from service.web.route import StrictRoute

JSON: Final = "application/json"
SVG: Final = "image/svg+xml"
_DECISIONS: Final[dict[Result, str]] = {"pass": "accept", "review": "review", "fail": "reject"}
_PLOT: Final[dict[str, Any]] = {
    "description": "The judgements and their summary, or the deviations drawn over the sequence.",
    "content": {SVG: {"schema": {"type": "string"}}},
}


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""
    routes = APIRouter(prefix="/v1/bench", tags=["bench"], route_class=StrictRoute)

    @routes.post("/inspect", summary="Inspect a finished pair", responses=BODY_PROBLEMS, openapi_extra=IN_A_LANGUAGE)
    async def inspect_pair(asked: InspectRequest, request: Request, response: Response) -> InspectAnswer:
        """Hold the readings of a finished pair against its order by a named standard: pass, fail, by how much, what to do.

        Every limit says whether it was read or is from memory; one from memory warns, and neither passes nor fails a pair.
        What was not measured is said to be missing, and a pair does not pass without it.
        """
        answer = await run_in_threadpool(inspect, asked, context.limits_for(request, response), context.today())
        note_for_log(request, _DECISIONS[answer.result], answer.findings)
        return answer

    @routes.post(
        "/inspect-many",
        summary="Inspect a batch of finished pairs",
        responses={**problem_responses(*BODY_PROBLEM_CODES, "not-acceptable"), 200: _PLOT},
        response_model=InspectManyAnswer,
        openapi_extra=IN_A_LANGUAGE,
    )
    async def inspect_pairs(
        asked: InspectManyRequest, request: Request, response: Response
    ) -> InspectManyAnswer | Response:
        """Judge many pairs at once, and say what they have in common: mean, spread and drift of every deviation.

        With `Accept: image/svg+xml` the deviations are drawn over the sequence.
        """
        kind = preferred_type(",".join(request.headers.getlist("accept")), (JSON, SVG))
        if kind == SVG:
            batch = await run_in_threadpool(batch_of, asked, context.limits, context.today())
            note_for_log(request, _worst({one.result for one in batch.pairs}), ())
            return Response(svg_of(batch_plot(batch.facts, len(batch.pairs))), media_type=SVG)
        answer = await run_in_threadpool(inspect_many, asked, context.limits_for(request, response), context.today())
        note_for_log(request, _worst({one.result for one in answer.pairs}), answer.findings)
        return answer

    return routes


def _worst(results: set[Result]) -> str:
    """What the log says of a batch: the decision that the worst of its pairs comes to."""
    return next(_DECISIONS[one] for one in ("fail", "review", "pass") if one in results)
