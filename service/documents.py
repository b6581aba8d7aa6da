"""A request from bytes, by the same rules and with the same words as over the web."""

from functools import cache
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from service import limits
from service.contract.inspect import InspectRequest
from service.contract.order import Order
from service.web.faults import validation_errors
from service.web.problems import Problem, unreadable
from service.web.strict_json import parse

Request = TypeVar("Request", bound=BaseModel)


def order_from(body: bytes) -> Order:
    """The order in a JSON document.

    Raises Problem, listing every fault with its place, if it cannot be read.
    """
    return _read(Order, body)


def order_of(document: object) -> Order:
    """The order in a document that was parsed already. Raises Problem as `order_from` does."""
    return _model(Order, document)


def inspection_from(body: bytes) -> InspectRequest:
    """The inspection that a JSON document asks for. Raises Problem as `order_from` does."""
    return _read(InspectRequest, body)


def _read(kind: type[Request], body: bytes) -> Request:
    if len(body) > limits.MAX_BODY_BYTES:
        raise Problem("body-too-large")
    return _model(kind, parse(body))


def _model(kind: type[Request], document: object) -> Request:
    try:
        return kind.model_validate(document)
    except ValidationError as error:
        found = error.errors(include_url=False)
        raise unreadable(validation_errors(found, document, lambda: _schema(kind))) from None


@cache
def _schema(kind: type[BaseModel]) -> dict[str, Any]:
    return kind.model_json_schema()
