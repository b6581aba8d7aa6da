"""Cells: one value at one address, as plain text, for a spreadsheet that can fetch an address and nothing more."""

import hashlib
from collections.abc import Awaitable, Callable
from typing import Any, Final

from fastapi import APIRouter, Request, Response
from fastapi.responses import PlainTextResponse

from service.cell_figures import Figure
from service.cell_parameters import Parameter
from service.cells import FIGURES, Cell, cell
from service.routes.context import Context, note_for_log
from service.web.problems import FieldError, Problem, problem_responses, unreadable
from service.web.query import query_pairs
from service.web.route import StrictRoute

# Figures stand for one wearer: no shared cache is to hold them. They rest on the version and the profile of the service,
# which change when it is started anew, so that they are kept for minutes only.
KEPT: Final = "private, max-age=300, must-revalidate"
ASKED_AGAIN: Final = "private, no-cache"
_HEADERS: Final[dict[str, Any]] = {
    "ETag": {"description": "Digest of the answer, for If-None-Match.", "schema": {"type": "string"}},
    "Cache-Control": {"description": "How long the value may be kept.", "schema": {"type": "string"}},
}
_PLAIN: Final[dict[str, Any]] = {"text/plain": {"schema": {"type": "string"}}}
# What stands in the fields at /docs, so that each figure can be tried as it is.
_OF_A_LENS: Final = {
    "sph": "-2.25", "cyl": "-0.75", "axis": "10", "eye": "right", "pd": "31.5", "a": "54", "b": "40", "dbl": "18",
    "blank": "70", "from_vd": "12", "to_vd": "14", "in": "2",
}  # fmt: skip
_OF_A_PAIR: Final = {
    "rsph": "-2.25", "rcyl": "-0.75", "raxis": "10", "rpd": "31.5", "lsph": "-2.50", "lcyl": "-0.50", "laxis": "170",
    "lpd": "32", "a": "54", "b": "40", "dbl": "18", "ed": "58", "blank": "70",
}  # fmt: skip


def router(context: Context) -> APIRouter:
    """The endpoints of this stage: an address for each figure, and one beside it that tells why."""
    routes = APIRouter(prefix="/v1/cells", tags=["cells"], route_class=StrictRoute)
    for figure in FIGURES:
        routes.add_api_route(
            f"/{figure.name}",
            _value_of(figure, context),
            methods=["GET"],
            name=f"read_{figure.name}",
            summary=figure.title,
            description=f"{figure.about} A figure has a decimal point and no unit. Where there is none the answer is a "
            "problem document, so that the cell shows an error.",
            response_class=PlainTextResponse,
            responses=_responses("The value.", "unreadable-request", "no-figure", "uri-too-long", "too-busy"),
            openapi_extra={"parameters": _parameters(figure, strict=True)},
        )
        routes.add_api_route(
            f"/why/{figure.name}",
            _words_of(figure, context),
            methods=["GET"],
            name=f"tell_{figure.name}",
            summary=f"{figure.title}: in words",
            description="What the value at the address without `why` means and rests on; or why there is none, and what to "
            "do. Takes the same parameters, also where they cannot be read.",
            response_class=PlainTextResponse,
            responses=_responses("The words.", "unreadable-request", "uri-too-long", "too-busy"),
            openapi_extra={"parameters": _parameters(figure, strict=False)},
        )
    return routes


def _value_of(figure: Figure, context: Context) -> Callable[[Request], Awaitable[Response]]:
    async def read_cell(request: Request) -> Response:
        found = _cell(figure, request, context)
        if found.value is None:
            raise _problem(figure, found)
        return _answer(found.value, found, request)

    return read_cell


def _words_of(figure: Figure, context: Context) -> Callable[[Request], Awaitable[Response]]:
    async def tell_cell(request: Request) -> Response:
        found = _cell(figure, request, context)
        return _answer(found.words, found, request)

    return tell_cell


def _cell(figure: Figure, request: Request, context: Context) -> Cell:
    found = cell(figure, query_pairs(request.scope["query_string"]), context.limits, context.today())
    if found.decision is not None:
        note_for_log(request, found.decision, found.findings)
    return found


def _problem(figure: Figure, found: Cell) -> Problem:
    errors = [FieldError(fault.code, fault.message, parameter=fault.parameter) for fault in found.faults]
    if not found.readable:
        return unreadable(errors)
    told = f"{' '.join(fault.message for fault in found.faults)} The same in words: /v1/cells/why/{figure.name}."
    return Problem("no-figure", told, errors=errors)


def _answer(text: str, found: Cell, request: Request) -> Response:
    body = text.encode()
    tag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    headers = {"ETag": tag, "Cache-Control": ASKED_AGAIN if found.depends_on_day else KEPT}
    if _is_known(tag, request.headers.getlist("if-none-match")):
        return Response(status_code=304, headers=headers)
    return PlainTextResponse(body, headers=headers)


def _is_known(tag: str, lines: list[str]) -> bool:
    """Whether the caller has these very bytes (RFC 9110, 13.1.2: the weak comparison)."""
    known = [one.strip() for line in lines for one in line.split(",")]
    return "*" in known or tag in [one.removeprefix("W/") for one in known]


def _responses(description: str, *codes: str) -> dict[int | str, dict[str, Any]]:
    return {
        200: {"description": description, "content": _PLAIN, "headers": _HEADERS},
        304: {"description": "The value that If-None-Match names is still the one.", "headers": _HEADERS},
        **problem_responses(*codes),
    }


def _parameters(figure: Figure, *, strict: bool) -> list[dict[str, Any]]:
    """The words of a figure as the contract publishes them, with an example that they make together."""
    examples = _OF_A_PAIR if figure.of_pair else _OF_A_LENS
    return [
        _described(one, strict=strict) | ({"example": examples[one.name]} if one.name in examples else {})
        for one in figure.parameters
    ]


def _described(parameter: Parameter, *, strict: bool) -> dict[str, Any]:
    """A parameter as the contract publishes it; where anything is answered, only its words are."""
    left_out = "" if parameter.required else " May be left out or empty."
    schema: dict[str, Any] = {"type": "string"}
    if strict and parameter.kind == "choice":
        schema["enum"] = [*parameter.choices, *([] if parameter.required else [""])]
    elif strict:
        schema["pattern"] = parameter.pattern
    return {
        "name": parameter.name,
        "in": "query",
        "required": parameter.required and strict,
        "description": f"{parameter.about} Expected: {parameter.expected}.{left_out}",
        "schema": schema,
    }
