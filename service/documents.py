"""An order from bytes, by the same rules and with the same words as over the web."""

from functools import cache
from typing import Any

from pydantic import ValidationError

from service import limits
from service.contract.order import Order
from service.web.faults import validation_errors
from service.web.problems import Problem, unreadable
from service.web.strict_json import parse


def order_from(body: bytes) -> Order:
    """The order in a JSON document.

    Raises Problem, listing every fault with its place, if it cannot be read.
    """
    if len(body) > limits.MAX_BODY_BYTES:
        raise Problem("body-too-large")
    document = parse(body)
    try:
        return Order.model_validate(document)
    except ValidationError as error:
        found = error.errors(include_url=False)
        raise unreadable(validation_errors(found, document, _schema)) from None


@cache
def _schema() -> dict[str, Any]:
    return Order.model_json_schema()
