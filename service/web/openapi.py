"""The published schema: problems stand under their own media type.

The framework writes every declared answer under the media type of the route. Here those that hold a problem document
are moved to `application/problem+json`, which is what is sent.
"""

from collections.abc import Callable
from typing import Any, Final

from fastapi import FastAPI

from service.web.problems import MEDIA_TYPE, ProblemDocument

_REFERENCE: Final = f"#/components/schemas/{ProblemDocument.__name__}"


def publish_problem_media_type(app: FastAPI) -> None:
    """Put the media type right in what `app.openapi()` returns."""
    generated: Callable[[], dict[str, Any]] = app.openapi

    def openapi() -> dict[str, Any]:
        return with_problem_media_type(generated())

    setattr(app, "openapi", openapi)  # noqa: B010 - the framework's own way to adapt the schema


def with_problem_media_type(document: dict[str, Any]) -> dict[str, Any]:
    """The schema, changed in place; doing it twice changes nothing more."""
    for path in document.get("paths", {}).values():
        for operation in path.values():
            for response in operation.get("responses", {}).values():
                _move(response.get("content", {}))
    return document


def _move(content: dict[str, Any]) -> None:
    for media_type in list(content):
        if content[media_type].get("schema", {}).get("$ref") == _REFERENCE:
            content[MEDIA_TYPE] = content.pop(media_type)
