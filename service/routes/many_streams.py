"""Streams of orders: lines of JSON or rows of CSV, each read as it comes and answered as it is done.

Between two rows others are answered. A bound that is reached, and a table that cannot be read on, end the stream with a
word that says so; only a whole stream has an end.
"""

import asyncio
import json
from collections.abc import AsyncGenerator, Sequence
from dataclasses import asdict
from datetime import date
from functools import cache
from typing import Any

from fastapi import Request
from pydantic import TypeAdapter
from starlette.concurrency import run_in_threadpool

from service import limits
from service.contract.answer import CheckAnswer
from service.contract.check_many import RowCounts
from service.contract.order import Order
from service.many.answering import Answered, Row, answered, count, row_of_line
from service.many.csv_records import Records
from service.many.csv_rows import Table, cells_for, csv_row
from service.many.lines import Lines
from service.routes.context import Context
from service.web.failures import frames
from service.web.log import write_line
from service.web.problems import FieldError, Problem, problem_document, problem_members, request_id_of, unreadable
from service.web.stream import BodyAhead

Line = tuple[int, bytes | None]


class Work:
    """What the rows of one request share: the shop's limits, the day, the counts, and the name of the request."""

    def __init__(self, request: Request, context: Context) -> None:
        self.request = request
        self.limits = context.limits_spoken(request)
        self.today: date = context.today()
        self.counts = RowCounts()

    async def answered(self, index: int, row: Row) -> Answered:
        """One row answered and counted; others are answered before the next."""
        await asyncio.sleep(0)
        try:
            if isinstance(row, Order) and row.frame.trace is not None:  # it may take long to look through
                one = await run_in_threadpool(answered, index, row, self.limits, self.today)
            else:
                one = answered(index, row, self.limits, self.today)
        except Exception as error:  # a fault of ours in one row must not take the others with it
            where, kind = frames(error.__traceback__), type(error).__name__
            request_id = request_id_of(self.request.scope)
            write_line(level="error", event="failure", request_id=request_id, exception=kind, where=where)
            one = Answered(index, None, Problem("internal-error"))
        count(self.counts, one)
        self.request.state.rows = asdict(self.counts)
        return one

    def problem_members(self, problem: Problem) -> dict[str, Any]:
        """The problem document of a row, or of what ends a stream."""
        scope = self.request.scope
        return problem_members(problem_document(problem, request_id=request_id_of(scope), instance=scope["path"]))

    def answer_line(self, one: Answered) -> bytes:
        """An answer as one line of JSON."""
        if one.answer is not None:
            return b'{"index":%d,"answer":%b}\n' % (one.index, _adapter().dump_json(one.answer, by_alias=True))
        problem = one.problem or Problem("internal-error")
        return json_line({"index": one.index, "problem": self.problem_members(problem)})

    def end_line(self, **more: object) -> bytes:
        """What only a whole stream has."""
        return json_line({"end": {**asdict(self.counts), **more}})

    def stop_line(self, problem: Problem) -> bytes:
        """Why a stream goes no further."""
        return json_line({"stopped": {**asdict(self.counts), "problem": self.problem_members(problem)}})


def json_line(document: object) -> bytes:
    """A document on one line."""
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


@cache
def _adapter() -> TypeAdapter[CheckAnswer]:
    """Made on the first stream that needs it."""
    return TypeAdapter(CheckAnswer)


async def lines_of(body: BodyAhead) -> AsyncGenerator[Line, None]:
    """The lines of a body as they come, counted from 0. Raises Problem where a bound is reached."""
    lines, index = Lines(limits.MAX_BODY_BYTES), 0
    more = True
    while more:
        part = await body.part()
        more = part is not None
        for line in lines.last() if part is None else lines.lines_of(part):
            if index >= limits.MAX_STREAMED_ROWS:
                most = limits.MAX_STREAMED_ROWS
                raise Problem("body-too-large", f"A stream may hold at most {most} rows. Send the rest by itself.")
            yield index, line
            index += 1
            await asyncio.sleep(0)


async def answers_to_lines(body: BodyAhead, work: Work) -> AsyncGenerator[bytes, None]:
    """A line of JSON for each line of JSON, in order. Empty lines are counted and not answered."""
    try:
        async for index, line in lines_of(body):
            if line is None:
                most = limits.MAX_BODY_BYTES
                row: Row = Problem("body-too-large", f"A line may hold at most {most} bytes. Shorten this order.")
            elif not line.strip():
                continue
            else:
                row = row_of_line(line)
            yield work.answer_line(await work.answered(index, row))
        yield work.end_line()
    except Problem as problem:
        yield work.stop_line(problem)


class Rows:
    """The rows of a table as they come, its header first."""

    def __init__(self, body: BodyAhead) -> None:
        self.records = Records()
        self._found = self._rows(body)

    async def table(self) -> Table:
        """The columns. Raises Problem where they hold no orders."""
        async for number, cells in self._found:
            if isinstance(cells, Problem):
                raise cells
            if any(cell.strip() for cell in cells):
                self._header_at = number
                return Table(cells, number)
        raise unreadable([FieldError("body-missing", "No row was sent. A header and rows below it are expected.")])

    async def orders(self, table: Table) -> AsyncGenerator[tuple[int, Sequence[str], Row | None], None]:
        """The rows below the header, counted from 0: what each holds, None where it is empty."""
        async for number, cells in self._found:
            index = number - self._header_at - 1
            if isinstance(cells, Problem):
                yield index, [], cells
            else:
                yield index, cells, table.row(cells, number)

    async def _rows(self, body: BodyAhead) -> AsyncGenerator[tuple[int, list[str] | Problem], None]:
        async for _, line in lines_of(body):
            for record in self.records.records_of(line):
                yield record
        self.records.end()


async def answers_as_lines(rows: Rows, table: Table, work: Work) -> AsyncGenerator[bytes, None]:
    """A line of JSON for each row that is not empty."""
    try:
        async for index, _, row in rows.orders(table):
            if row is not None:
                yield work.answer_line(await work.answered(index, row))
        yield work.end_line(notes=table.notes)
    except Problem as problem:
        yield work.stop_line(problem)


async def answers_as_rows(rows: Rows, table: Table, work: Work) -> AsyncGenerator[bytes, None]:
    """The rows themselves, empty ones too, with our columns at their right."""
    delimiter = rows.records.delimiter
    yield csv_row(table.header_out(), delimiter)
    try:
        async for index, cells, row in rows.orders(table):
            ours = [] if row is None else cells_for(await work.answered(index, row))
            yield csv_row(table.row_out(cells, ours), delimiter)
    except Problem as problem:
        yield csv_row(table.last_row(problem), delimiter)
