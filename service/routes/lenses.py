"""Lenses: which material and which blank for this order?"""

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from service.comparing import compare
from service.contract.compare import CompareAnswer, CompareRequest
from service.routes.context import BODY_PROBLEMS, IN_A_LANGUAGE, Context, note_for_log
from service.web.route import StrictRoute


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""
    routes = APIRouter(prefix="/v1/lenses", tags=["lenses"], route_class=StrictRoute)

    @routes.post(
        "/compare",
        summary="Compare an order in several materials and blanks",
        responses=BODY_PROBLEMS,
        openapi_extra=IN_A_LANGUAGE,
    )
    async def compare_lenses(wanted: CompareRequest, request: Request, response: Response) -> CompareAnswer:
        """The same order checked in each material and on each blank in stock: thickness, weight, fringes, price, side by side.

        Each row says what POST /v1/orders/check says of the order with that material and that blank.
        """
        # Two hundred rows with a finely traced outline take seconds; meanwhile others are answered.
        answer = await run_in_threadpool(compare, wanted, context.limits_for(request, response), context.today())
        note_for_log(request, answer.decision, answer.findings)
        return answer

    return routes
