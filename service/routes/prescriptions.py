"""Read: what does this prescription say, exactly?"""

from fastapi import APIRouter, Request

from service.checking import read
from service.contract.answer import ReadAnswer
from service.contract.order import ReadRequest
from service.routes.context import BODY_PROBLEMS, Context, note_for_log
from service.web.route import StrictRoute


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""
    routes = APIRouter(prefix="/v1/prescriptions", tags=["prescriptions"], route_class=StrictRoute)

    @routes.post(
        "/read",
        summary="Read a prescription and say what it means",
        responses=BODY_PROBLEMS,
    )
    async def read_prescription(prescription: ReadRequest, request: Request) -> ReadAnswer:
        """Both forms, spherical equivalent, power vector and principal meridians, and everything that is doubtful."""
        answer = read(prescription, context.limits, context.today())
        note_for_log(request, answer.decision, answer.findings)
        return answer

    return routes
