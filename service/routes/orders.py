"""Check: can this order be made, will it be right, will it be safe?"""

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.order import Order
from service.routes.context import BODY_PROBLEMS, IN_A_LANGUAGE, Context, note_for_log
from service.web.route import StrictRoute


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""
    routes = APIRouter(prefix="/v1/orders", tags=["orders"], route_class=StrictRoute)

    @routes.post(
        "/check",
        summary="Check an order and say why",
        responses=BODY_PROBLEMS,
        openapi_extra=IN_A_LANGUAGE,
    )
    async def check_order(order: Order, request: Request, response: Response) -> CheckAnswer:
        """Accept, send to a person, or reject, each with reasons, figures, sources and remedies.

        An order that can be read is answered 200, also when the decision is `reject`.
        """
        limits = context.limits_for(request, response)
        # A traced outline may take long to look through; the others, and the health checks, are not to wait for it.
        answer = (
            check(order, limits, context.today())
            if order.frame.trace is None
            else await run_in_threadpool(check, order, limits, context.today())
        )
        note_for_log(request, answer.decision, answer.findings)
        return answer

    return routes
