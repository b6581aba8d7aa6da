"""From whatever was raised to the one problem document."""

from collections.abc import Mapping
from typing import Any, Final

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Match
from starlette.types import Scope

from service.web.faults import request_faults
from service.web.problems import PROBLEMS, Problem, problem_response, unreadable
from service.web.route import StrictRoute

_METHODS: Final = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE")
_CODE_OF_STATUS: Final = {kind.status: kind.code for kind in PROBLEMS}


def install_handlers(app: FastAPI) -> None:
    """Answer problems, faults of a request, and what the framework raises for a path or method."""
    app.add_exception_handler(Problem, _problem)
    app.add_exception_handler(RequestValidationError, _validation)
    app.add_exception_handler(HTTPException, _http_exception)


async def _problem(request: Request, error: Exception) -> Response:
    assert isinstance(error, Problem)
    return problem_response(error, request.scope)


async def _validation(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    route = request.scope.get("route")

    def schema() -> Mapping[str, Any]:
        return route.body_schema if isinstance(route, StrictRoute) else {}

    return problem_response(unreadable(request_faults(error.errors(), error.body, schema)), request.scope)


async def _http_exception(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code < 400:
        return Response(status_code=error.status_code, headers=error.headers)
    if error.status_code == 405:
        return _method_not_allowed(request.scope)
    usual = "unreadable-request" if error.status_code < 500 else "internal-error"
    code = _CODE_OF_STATUS.get(error.status_code, usual)
    return problem_response(Problem(code, headers=error.headers), request.scope)


def _method_not_allowed(scope: Scope) -> Response:
    """OPTIONS is answered with what it asks; any other method with the methods the path takes, all of them."""
    allow = {"Allow": ", ".join((*_taken_methods(scope), "OPTIONS"))}
    if scope["method"] == "OPTIONS":
        return Response(status_code=204, headers=allow)
    return problem_response(Problem("method-not-allowed", headers=allow), scope)


def _taken_methods(scope: Scope) -> list[str]:
    """Methods of every route at this path: the framework itself names those of the first one only."""
    routes = scope["app"].router.routes
    base = {"type": "http", "path": scope["path"], "root_path": scope.get("root_path", ""), "headers": []}
    return [
        method
        for method in _METHODS
        if any(route.matches({**base, "method": method})[0] is Match.FULL for route in routes)
    ]
