"""Read: what does this prescription say, exactly?"""

import json
from dataclasses import replace
from typing import Any, Final

from fastapi import APIRouter, Request, Response

from service import limits
from service.checking import as_fhir, read
from service.contract.answer import ReadAnswer
from service.contract.order import ReadRequest
from service.prescription_source import FHIR_POINTER
from service.reading.fhir_write import NotWritableError
from service.routes.context import BODY_PROBLEMS, IN_A_LANGUAGE, Context, note_for_log
from service.web.problems import Problem, problem_responses
from service.web.route import StrictRoute

FHIR: Final = "application/fhir+json"
_FHIR_BODY: Final[dict[str, Any]] = {
    "requestBody": {
        "content": {FHIR: {"schema": {"description": "A VisionPrescription, or a Bundle with one; else a finding."}}}
    }
}
_FHIR_ANSWER: Final[dict[str, Any]] = {
    "description": "The reading; or, if asked for, the prescription as a FHIR VisionPrescription.",
    "content": {FHIR: {"schema": {"type": "object"}}},
}


class FhirRoute(StrictRoute):
    """Takes a FHIR document in place of the request that would hold it."""

    def longest_text(self, request: Request) -> int:
        """A FHIR document carries a narrative."""
        return limits.MAX_FHIR_STRING_CHARACTERS if _is_fhir(request) else super().longest_text(request)

    def document_of(self, request: Request, document: object) -> object:
        """A FHIR document becomes the prescription of a request."""
        return {"prescription": {"fhir": document}} if _is_fhir(request) else document


def router(context: Context) -> APIRouter:
    """The endpoints of this stage."""
    routes = APIRouter(prefix="/v1/prescriptions", tags=["prescriptions"], route_class=FhirRoute)

    @routes.post(
        "/read",
        summary="Read a prescription and say what it means",
        responses={**BODY_PROBLEMS, **problem_responses("not-acceptable"), 200: _FHIR_ANSWER},
        openapi_extra={**_FHIR_BODY, **IN_A_LANGUAGE},
        response_model=ReadAnswer,
    )
    async def read_prescription(
        prescription: ReadRequest, request: Request, response: Response
    ) -> ReadAnswer | Response:
        """Both forms, spherical equivalent, power vector and principal meridians, and everything that is doubtful.

        A prescription comes in fields, as written text, or as HL7 FHIR. A FHIR VisionPrescription may also be the whole
        body, as application/fhir+json; with Accept: application/fhir+json the answer is one.
        """
        today = context.today()
        answer = read(prescription, context.limits_for(request, response), today)
        note_for_log(request, answer.decision, answer.findings)
        if FHIR in request.headers.get("accept", ""):
            return _fhir_answer(prescription, answer, context)
        if _is_fhir(request):
            answer.findings = [
                replace(finding, pointer=finding.pointer.removeprefix(FHIR_POINTER)) for finding in answer.findings
            ]
        return answer

    return routes


def _is_fhir(request: Request) -> bool:
    return request.headers.get("content-type", "").partition(";")[0].strip().lower() == FHIR


def _fhir_answer(prescription: ReadRequest, answer: ReadAnswer, context: Context) -> Response:
    if answer.decision == "reject":
        raise Problem("not-acceptable", "The prescription was refused. Ask for application/json to see the findings.")
    try:
        document = as_fhir(prescription, answer, context.today())
    except NotWritableError as error:
        raise Problem("not-acceptable", str(error)) from None
    return Response(json.dumps(document, ensure_ascii=False), media_type=FHIR)
