"""What the endpoints are given at start-up."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response

from service.catalogue import Catalogue
from service.contract.answer import Finding
from service.languages import LANGUAGES
from service.profile.loader import Limits
from service.web.accept import preferred_language
from service.web.problems import problem_responses

# What an endpoint with a body may answer instead of its answer.
BODY_PROBLEM_CODES = ("unreadable-request", "request-timeout", "body-too-large", "unsupported-media-type", "too-busy")
BODY_PROBLEMS = problem_responses(*BODY_PROBLEM_CODES)
# What an endpoint whose answer speaks to customers says of their language, for `openapi_extra=`.
IN_A_LANGUAGE: Final[dict[str, Any]] = {
    "parameters": [
        {
            "name": "Accept-Language",
            "in": "header",
            "required": False,
            "description": f"Language of the texts for the customer and of the cautions: {' or '.join(LANGUAGES)}. What is not "
            f"known is answered in {LANGUAGES[0]}. The texts for the shop are English. The answer says under "
            "`Content-Language` which was taken.",
            "schema": {"type": "string"},
            "example": "es-MX, es;q=0.9, en;q=0.5",
        }
    ]
}


def today_utc() -> date:
    """Today in UTC."""
    return datetime.now(UTC).date()


@dataclass(frozen=True, slots=True)
class Context:
    """The shop's limits and its catalogue of frames, loaded once, and the calendar."""

    limits: Limits
    today: Callable[[], date] = today_utc
    catalogue: Catalogue | None = None

    def limits_for(self, request: Request, response: Response) -> Limits:
        """The shop's limits, in the language that the caller likes best; the headers of the answer say which that is."""
        limits = self.limits_spoken(request)
        name_language(response, limits)
        return limits

    def limits_spoken(self, request: Request) -> Limits:
        """The same, for an answer that is not there yet; name its language when it is."""
        language = preferred_language(",".join(request.headers.getlist("accept-language")), LANGUAGES)
        return self.limits if language == self.limits.language else replace(self.limits, language=language)


def name_language(response: Response, limits: Limits) -> None:
    """Say in the headers of an answer in which language it speaks to customers, and that it was asked for."""
    response.headers["Content-Language"] = limits.language
    response.headers.add_vary_header("Accept-Language")


def note_for_log(request: Request, decision: str, found: Iterable[Finding]) -> None:
    """Leave the decision and the codes, and nothing else of an order, to the log."""
    request.state.decision = decision
    request.state.finding_codes = [finding.code for finding in found]
