"""Check many: a list of orders, each answered in its place. Request and answer."""

from copy import deepcopy
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import ConfigDict, Field

from service.contract.answer import CheckAnswer
from service.contract.answer_fields import unit
from service.contract.fields import RequestModel
from service.contract.order import EXAMPLE_ORDER
from service.limits import MAX_LISTED_ORDERS
from service.web.problems import ProblemDocument


def _example() -> dict[str, Any]:
    sound, unsound = deepcopy(EXAMPLE_ORDER), deepcopy(EXAMPLE_ORDER)
    unsound["reference"] = "W-1043"
    unsound["prescription"]["right"]["sphere"] = "-2.25"
    return {"orders": [sound, unsound]}


EXAMPLE_LIST: dict[str, Any] = _example()


class CheckManyRequest(RequestModel):
    """Orders in a list. One that cannot be read is answered in its place and does not stop the others."""

    orders: list[dict[str, Any]] = Field(
        min_length=1,
        max_length=MAX_LISTED_ORDERS,
        description="The orders, each an object as for POST /v1/orders/check. What is wrong within one is told in its own "
        f"answer. Allowed: 1 to {MAX_LISTED_ORDERS} orders.",
    )

    model_config = ConfigDict(json_schema_extra={"examples": [EXAMPLE_LIST]})


@dataclass(slots=True)
class AnsweredOrder:
    """One order of the list. Pointers in it are within this order."""

    index: Annotated[int, Field(description="Position in the request, counted from 0.")]
    answer: Annotated[
        CheckAnswer | None, Field(description="As of POST /v1/orders/check; null where the order could not be read.")
    ]
    problem: Annotated[ProblemDocument | None, Field(description="Why it could not be read; null where it could.")]


@dataclass(slots=True)
class RowCounts:
    """How the orders of a request ended."""

    rows: Annotated[int, unit("Number of orders answered.", "orders")] = 0
    accept: Annotated[int, unit("Number accepted.", "orders")] = 0
    review: Annotated[int, unit("Number that a person must look at.", "orders")] = 0
    reject: Annotated[int, unit("Number rejected.", "orders")] = 0
    unreadable: Annotated[int, unit("Number that could not be read.", "orders")] = 0


@dataclass(slots=True)
class CheckManyAnswer:
    """Answer of POST /v1/orders/check-many to a list."""

    answers: Annotated[list[AnsweredOrder], Field(description="In the order of the request.")]
    counts: RowCounts
