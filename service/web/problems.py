"""Everything that is not a plain answer is one kind of document: problem details (RFC 9457).

`PROBLEMS` is the whole catalogue; nothing leaves the service with a status of 400 or above that is not in it. A
problem may list faults of the request, each with a JSON Pointer (RFC 6901), a stable code and a sentence.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final
from urllib.parse import quote

from pydantic import Field
from starlette.responses import Response
from starlette.types import Scope

from service import limits

MEDIA_TYPE: Final = "application/problem+json"
TYPE_PREFIX: Final = "/v1/reference/problems#"


@dataclass(frozen=True, slots=True)
class ProblemKind:
    """One entry of the catalogue."""

    code: str
    status: int
    title: str
    description: str
    retry_after_seconds: int | None = None


PROBLEMS: Final[tuple[ProblemKind, ...]] = (
    ProblemKind("not-found", 404, "Nothing is at this address", "No endpoint has this path. /docs shows all of them."),
    ProblemKind(
        "method-not-allowed",
        405,
        "This address takes another method",
        "The path exists; the header Allow names the methods it takes.",
    ),
    ProblemKind(
        "not-acceptable",
        406,
        "There is no answer of that type",
        "What was asked for under Accept cannot be given for this request. Ask for application/json.",
    ),
    ProblemKind(
        "request-timeout",
        408,
        "The request did not arrive in time",
        f"A body must arrive whole within {limits.BODY_SECONDS:g} s. It is safe to send it again.",
    ),
    ProblemKind(
        "body-too-large",
        413,
        "The body is too large",
        f"A body may hold at most {limits.MAX_BODY_BYTES} bytes. Send fewer orders at once.",
    ),
    ProblemKind(
        "uri-too-long",
        414,
        "The address is too long",
        f"Path and query may hold at most {limits.MAX_URL_BYTES} bytes together.",
    ),
    ProblemKind(
        "unsupported-media-type",
        415,
        "The body is of another type than expected",
        "A body is JSON in UTF-8, not compressed, announced as Content-Type: application/json.",
    ),
    ProblemKind(
        "unreadable-request",
        422,
        "The request could not be read",
        "The text is not JSON, or does not follow the published schema. Each fault is listed under `errors`.",
    ),
    ProblemKind(
        "not-drawable",
        422,
        "There is nothing that can be drawn",
        "The order was read, but no lens of it can be placed, or the drawing does not fit the page at true size. The "
        "findings that stand in the way are listed under `errors`.",
    ),
    ProblemKind(
        "no-figure",
        422,
        "There is no such figure",
        "The parameters were read, but there is no figure to show for a cell. What stands in the way is listed under "
        "`errors`.",
    ),
    ProblemKind(
        "internal-error",
        500,
        "The service failed",
        "A fault of the service, not of the request. Report the request id to whoever runs the service.",
    ),
    ProblemKind(
        "too-busy",
        503,
        "The service is busy",
        "As many requests as the service takes at once are being worked on. Send the request again after the time "
        "given by Retry-After; nothing was done yet.",
        limits.RETRY_AFTER_SECONDS,
    ),
    ProblemKind(
        "not-ready",
        503,
        "The service is not ready",
        "The service is starting or stopping. Send the request again after the time given by Retry-After.",
        limits.RETRY_AFTER_SECONDS,
    ),
)
KIND_OF: Final[Mapping[str, ProblemKind]] = {kind.code: kind for kind in PROBLEMS}


@dataclass(frozen=True, slots=True)
class FieldError:
    """One fault of a request: where it is, what it is, and what to do."""

    code: Annotated[str, Field(description="Stable name of the kind of fault.")]
    message: Annotated[str, Field(description="What was read, what is expected, what to do.")]
    pointer: Annotated[
        str | None,
        Field(description="JSON Pointer (RFC 6901) into the body; of a missing member, where it belongs."),
    ] = None
    parameter: Annotated[
        str | None, Field(description="Name of the parameter, where the fault is in the path, the query or a header.")
    ] = None
    line: Annotated[int | None, Field(description="Line of the body, counted from 1.")] = None
    column: Annotated[int | None, Field(description="Column in that line, counted from 1.")] = None


@dataclass(frozen=True, slots=True)
class ProblemDocument:
    """Problem details (RFC 9457)."""

    type: Annotated[str, Field(description="Address of the description of this kind of problem.")]
    title: Annotated[str, Field(description="The kind of problem in a few words.")]
    status: Annotated[int, Field(description="The HTTP status, again.")]
    detail: Annotated[str, Field(description="What happened to this request, and what to do.")]
    request_id: Annotated[str, Field(description="Name of this request in the log of the service.")]
    instance: Annotated[str | None, Field(description="Path of the request, without its query.")] = None
    errors: Annotated[
        tuple[FieldError, ...],
        Field(description=f"Faults of the request, at most {limits.MAX_ERRORS_REPORTED}. Empty where it has none."),
    ] = ()


class Problem(Exception):  # noqa: N818 - the word of RFC 9457
    """Raise it anywhere in an endpoint; the caller gets the document."""

    def __init__(
        self,
        code: str,
        detail: str | None = None,
        *,
        errors: Sequence[FieldError] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        self.kind = KIND_OF[code]
        self.detail = detail or self.kind.description
        self.errors = tuple(errors[: limits.MAX_ERRORS_REPORTED])
        self.headers = dict(headers or {})
        super().__init__(code)


def unreadable(errors: Sequence[FieldError]) -> Problem:
    """The problem of a request with these faults."""
    count = len(errors)
    if count == 1:
        detail = errors[0].message
    elif count <= limits.MAX_ERRORS_REPORTED:
        detail = f"{count} faults were found. Each is listed under `errors` with its place and what to do."
    else:
        most = limits.MAX_ERRORS_REPORTED
        detail = f"More than {most} faults were found. The first {most} are listed under `errors`."
    return Problem("unreadable-request", detail, errors=errors)


def problem_document(problem: Problem, *, request_id: str, instance: str | None) -> ProblemDocument:
    """The document that tells a caller of a problem."""
    return ProblemDocument(
        type=TYPE_PREFIX + problem.kind.code,
        title=problem.kind.title,
        status=problem.kind.status,
        detail=problem.detail,
        request_id=request_id,
        instance=instance,
        errors=problem.errors,
    )


def problem_response(problem: Problem, scope: Scope) -> Response:
    """The answer to a request that met a problem."""
    document = problem_document(problem, request_id=request_id_of(scope), instance=_instance(scope))
    headers = dict(problem.headers)
    if problem.kind.retry_after_seconds is not None:
        headers.setdefault("Retry-After", str(problem.kind.retry_after_seconds))
    body = json.dumps(problem_members(document), ensure_ascii=False, separators=(",", ":")).encode()
    return Response(body, status_code=problem.kind.status, headers=headers, media_type=MEDIA_TYPE)


def request_id_of(scope: Scope) -> str:
    """Id of a request, or an empty text where nothing gave it one."""
    request_id = scope.get("state", {}).get("request_id", "")
    return str(request_id)


def problem_responses(*codes: str) -> dict[int | str, dict[str, Any]]:
    """What a route says about its problems, for `responses=`.

    The media type is put right for all routes at once, by `service.web.openapi`.
    """
    responses: dict[int | str, dict[str, Any]] = {}
    for code in codes:
        kind = KIND_OF[code]
        if kind.status in responses:
            responses[kind.status]["description"] += f" Or: {kind.title} (`{code}`)."
            continue
        responses[kind.status] = {"model": ProblemDocument, "description": f"{kind.title} (`{code}`)."}
        if kind.retry_after_seconds is not None:
            responses[kind.status]["headers"] = {
                "Retry-After": {"description": "Seconds to wait before trying again.", "schema": {"type": "integer"}}
            }
    return responses


def _instance(scope: Scope) -> str | None:
    """Path without the query; none where the address itself is what is too long."""
    # More than one slash in front would make it the address of another host.
    path = "/" + quote(str(scope["path"]).lstrip("/"), safe="/:@!$&'()*+,;=~")
    return path if len(path) <= limits.MAX_URL_BYTES else None


def problem_members(document: ProblemDocument) -> dict[str, Any]:
    """Members in a fixed order; what does not apply is left out."""
    members: dict[str, Any] = {
        "type": document.type,
        "title": document.title,
        "status": document.status,
        "detail": document.detail,
    }
    if document.instance is not None:
        members["instance"] = document.instance
    members["request_id"] = document.request_id
    members["errors"] = [_fault_members(fault) for fault in document.errors]
    return members


def _fault_members(fault: FieldError) -> dict[str, Any]:
    given = {
        "pointer": fault.pointer,
        "parameter": fault.parameter,
        "code": fault.code,
        "message": fault.message,
        "line": fault.line,
        "column": fault.column,
    }
    return {name: value for name, value in given.items() if value is not None}
