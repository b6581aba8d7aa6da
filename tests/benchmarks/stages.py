"""Where the time goes: each stage by itself, in this process, and whole requests without a socket."""

import asyncio
import time
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from typing import Any

from pydantic import TypeAdapter

from service.app import create_app
from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.order import Order, StructuredPrescription
from service.facts import order_facts
from service.profile.loader import load
from service.routes.context import today_utc
from service.rules.registry import order_findings
from service.settings import Settings
from service.translate import order_values
from service.web.strict_json import parse
from tests.benchmarks.orders import example
from tests.benchmarks.servers import PATH, framework, models, raw

ROUNDS = 9
INSIDE_CHECK = ("  translate (defaults, assumptions)", "  facts (optics)", "  rules (findings)")


@dataclass(frozen=True, slots=True)
class Row:
    """Microseconds of one stage."""

    name: str
    least: float
    median: float


def stages(calls: int) -> list[Row]:
    """Microseconds of each stage for the example order, over interleaved rounds."""
    body, shop, today = example(), load(None), today_utc()
    reader, writer = TypeAdapter(Order), TypeAdapter(CheckAnswer)
    document = parse(body)
    order = reader.validate_python(document)
    prescription = order.prescription
    assert isinstance(prescription, StructuredPrescription)
    values = order_values(order, prescription, shop, today).values
    facts = order_facts(values, shop)
    answer = check(order, shop, today)
    work: dict[str, Callable[[], object]] = {
        "parse (strict JSON)": lambda: parse(body),
        "validate (contract models)": lambda: reader.validate_python(document),
        INSIDE_CHECK[0]: lambda: order_values(order, prescription, shop, today),
        INSIDE_CHECK[1]: lambda: order_facts(values, shop),
        INSIDE_CHECK[2]: lambda: order_findings(facts, shop),
        "check, whole": lambda: check(order, shop, today),
        "serialise": lambda: writer.dump_json(answer, by_alias=True),
    }
    rows = _interleaved(work, calls)
    inside = [row for row in rows if row.name in INSIDE_CHECK]
    whole = next(row for row in rows if row.name == "check, whole")
    rest = Row(
        "  answer and the rest of check",
        whole.least - sum(row.least for row in inside),
        whole.median - sum(row.median for row in inside),
    )
    place = rows.index(whole)
    return [*rows[:place], rest, *rows[place:]]


def requests(calls: int) -> list[Row]:
    """Microseconds of a whole request through each application, called without a server or a socket."""
    applications = {
        "raw ASGI": raw(),
        "FastAPI echo": framework(),
        "models only": models(),
        "the service": create_app(Settings()),
    }
    loop = asyncio.new_event_loop()
    try:
        work = {name: _request(loop, app, calls) for name, app in applications.items()}
        return _interleaved(work, 1, divide_by=calls)
    finally:
        loop.close()


def _request(loop: asyncio.AbstractEventLoop, app: Any, calls: int) -> Callable[[], object]:
    body = example()
    headers = [
        (b"host", b"bench"),
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
    ]
    statuses: set[int] = set()

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            statuses.add(message["status"])

    async def all_calls() -> None:
        for _ in range(calls):
            scope = {
                "type": "http",
                "asgi": {"version": "3.0"},
                "http_version": "1.1",
                "method": "POST",
                "scheme": "http",
                "path": PATH,
                "raw_path": PATH.encode(),
                "query_string": b"",
                "root_path": "",
                "headers": headers,
                "client": ("127.0.0.1", 1),
                "server": ("127.0.0.1", 80),
            }
            await app(scope, receive, send)
        if statuses != {200}:
            raise RuntimeError(f"answered {statuses}")

    return lambda: loop.run_until_complete(all_calls())


def _interleaved(work: dict[str, Callable[[], object]], calls: int, divide_by: int = 1) -> list[Row]:
    found: dict[str, list[float]] = {name: [] for name in work}
    for name in work:
        work[name]()  # warm
    for _ in range(ROUNDS):
        for name, once in work.items():
            started = time.perf_counter()
            for _ in range(calls):
                once()
            found[name].append((time.perf_counter() - started) / calls / divide_by * 1e6)
    return [Row(name, min(figures), median(figures)) for name, figures in found.items()]
