"""One row after the other: what each holds, and how it is answered.

A row that cannot be read is answered in its place with its problem, and stops nothing. Each row is checked as an order
by itself, so that the answer is what POST /v1/orders/check gives.
"""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.check_many import RowCounts
from service.contract.order import Order
from service.documents import order_from, order_of
from service.profile.loader import Limits
from service.web.problems import Problem

# What a row holds: an order, or why there is none.
Row = Order | Problem


@dataclass(frozen=True, slots=True)
class Answered:
    """The answer to one row: of the check, or a problem."""

    index: int
    answer: CheckAnswer | None
    problem: Problem | None


def row_of_line(line: bytes) -> Row:
    """The order in one line of JSON, read as strictly as a body is."""
    try:
        return order_from(line)
    except Problem as problem:
        return problem.with_traceback(None)


def row_of_document(document: object) -> Row:
    """The order in a document that was parsed already."""
    try:
        return order_of(document)
    except Problem as problem:
        return problem.with_traceback(None)


def answered(index: int, row: Row, limits: Limits, today: date) -> Answered:
    """One row answered."""
    if isinstance(row, Problem):
        return Answered(index, None, row)
    return Answered(index, check(row, limits, today), None)


def count(counts: RowCounts, one: Answered) -> None:
    """Add an answer to the counts."""
    counts.rows += 1
    decision: Literal["accept", "review", "reject"] | None = None if one.answer is None else one.answer.decision
    if decision == "accept":
        counts.accept += 1
    elif decision == "review":
        counts.review += 1
    elif decision == "reject":
        counts.reject += 1
    else:
        counts.unreadable += 1
