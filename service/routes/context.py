"""What the endpoints are given at start-up."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime

from starlette.requests import Request

from service.contract.answer import Finding
from service.profile.loader import Limits
from service.web.problems import problem_responses

# What an endpoint with a body may answer instead of its answer.
BODY_PROBLEM_CODES = ("unreadable-request", "request-timeout", "body-too-large", "unsupported-media-type", "too-busy")
BODY_PROBLEMS = problem_responses(*BODY_PROBLEM_CODES)


def today_utc() -> date:
    """Today in UTC."""
    return datetime.now(UTC).date()


@dataclass(frozen=True, slots=True)
class Context:
    """The shop's limits, loaded once, and the calendar."""

    limits: Limits
    today: Callable[[], date] = today_utc


def note_for_log(request: Request, decision: str, found: Iterable[Finding]) -> None:
    """Leave the decision and the codes, and nothing else of an order, to the log."""
    request.state.decision = decision
    request.state.finding_codes = [finding.code for finding in found]
