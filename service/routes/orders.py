"""Check: can this order be made, will it be right, will it be safe?"""

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool

from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.order import Order
from service.routes.context import BODY_PROBLEMS, Context, note_for_log
from service.web.route import StrictRoute


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""
    routes = APIRouter(prefix="/v1/orders", tags=["orders"], route_class=StrictRoute)

    @routes.post(
        "/check",
        summary="Check an order and say why",
        responses=BODY_PROBLEMS,
    )
    async def check_order(order: Order, request: Request) -> CheckAnswer:
        """Accept, send to a person, or reject, each with reasons, figures, sources and remedies.

        An order that can be read is answered 200, also when the decision is `reject`.
        """
        # A traced outline may take long to look through; the others, and the health checks, are not to wait for it.
        answer = (
            check(order, context.limits, context.today())
            if order.frame.trace is None
            else await run_in_threadpool(check, order, context.limits, context.today())
        )
        note_for_log(request, answer.decision, answer.findings)
        return answer

    return routes
