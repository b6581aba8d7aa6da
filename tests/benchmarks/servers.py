"""What is measured beside the real service, and how each is started: one process each, with the same server's options.

python -m tests.benchmarks.servers raw|framework|models PORT
"""

import http.client
import os
import pkgutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import APIRouter, FastAPI, Request
from pydantic import TypeAdapter
from starlette.types import Receive, Scope, Send

from service import contract, limits, web
from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.order import Order
from service.documents import order_from
from service.profile.loader import load
from service.routes.context import BODY_PROBLEMS, note_for_log, today_utc
from service.settings import Settings
from service.web.route import StrictRoute
from tests.benchmarks.orders import example

ROOT = Path(__file__).resolve().parents[2]
PATH = "/v1/orders/check"
START_SECONDS = 30
SERVER_CORE, LOAD_CORE = 0, 1
CORES = frozenset(os.sched_getaffinity(0))  # before anything is pinned


def raw() -> Any:
    """Plain ASGI: takes the body and answers the bytes of the example's answer, ready made."""
    content = contract_bytes(answer_to_example())
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(content)).encode())]

    async def answer(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return
        while (await receive()).get("more_body"):
            pass
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": content})

    return answer


def framework() -> FastAPI:
    """FastAPI as it comes: the body as it was parsed, sent back.

    With the type of the answer declared, which is the fast way out: without it the echo takes about twice as long.
    """
    app = FastAPI()

    @app.post(PATH)
    async def echo(order: dict[str, Any]) -> dict[str, Any]:
        return order

    @app.get("/readyz")
    async def ready() -> str:
        return "ready"

    return app


def models() -> FastAPI:
    """The contract's models in and out, the real layers round it, and no optics: the example's answer, made anew."""
    app = FastAPI(docs_url=None, redoc_url=None)
    routes = APIRouter(route_class=StrictRoute)
    answer_anew = maker(answer_to_example())

    @routes.post(PATH, responses=BODY_PROBLEMS)
    async def check_order(order: Order, request: Request) -> CheckAnswer:
        answer = answer_anew()
        answer.reference = order.reference
        note_for_log(request, answer.decision, answer.findings)
        return answer

    @routes.get("/readyz")
    async def ready() -> str:
        return "ready"

    app.include_router(routes)
    web.install(app, Settings())
    return app


def answer_to_example() -> CheckAnswer:
    """The real answer to the example order."""
    return check(order_from(example()), load(None), today_utc())


def contract_bytes(answer: CheckAnswer) -> bytes:
    """An answer as it goes over the wire."""
    return TypeAdapter(CheckAnswer).dump_json(answer, by_alias=True)


def maker(template: CheckAnswer) -> Callable[[], CheckAnswer]:
    """A function that makes every object of an answer anew, as fast as if it were written out by hand.

    What a dataclass prints is the expression that makes it.
    """
    parts: dict[str, Any] = {}
    for module in pkgutil.iter_modules(contract.__path__):
        parts |= vars(import_module(f"{contract.__name__}.{module.name}"))
    made: Callable[[], CheckAnswer] = eval(f"lambda: {template!r}", parts)
    assert made() == template
    return made


SERVERS: dict[str, Callable[[], Any]] = {"raw": raw, "framework": framework, "models": models}


def serve(name: str, port: int) -> None:
    """Run one of them with the options of `benchgate serve`."""
    uvicorn.run(
        SERVERS[name](),
        host="127.0.0.1",
        port=port,
        access_log=False,
        log_level="warning",
        server_header=False,
        timeout_keep_alive=limits.KEEP_ALIVE_SECONDS,
        timeout_graceful_shutdown=limits.GRACEFUL_SHUTDOWN_SECONDS,
    )


def pin(process: int, core: int) -> None:
    """Keep a process (0: this one) on one core, where there is another one for the other side."""
    if {SERVER_CORE, LOAD_CORE} <= CORES:
        os.sched_setaffinity(process, {core})


def start(module: str, *arguments: str) -> subprocess.Popen[bytes]:
    """Start a module as a server of its own, on the server's core."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("BENCHGATE_")}
    process = subprocess.Popen(
        [sys.executable, "-m", module, *arguments],
        cwd=ROOT,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
    )
    pin(process.pid, SERVER_CORE)
    return process


def wait_ready(process: subprocess.Popen[bytes], port: int) -> None:
    """Wait until a server that was started answers."""
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if process.poll() is not None:
            raise RuntimeError(f"a server ended by itself with {process.returncode}")
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        try:
            connection.request("GET", "/readyz")
            if connection.getresponse().status == 200:
                return
        except OSError:
            time.sleep(0.002)
        finally:
            connection.close()
    raise RuntimeError(f"a server was not ready after {START_SECONDS} s")


def stop(process: subprocess.Popen[bytes]) -> None:
    """End a server that was started, and wait for it."""
    process.terminate()
    try:
        process.wait(15)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


@contextmanager
def running(module: str, *arguments: str, port: int) -> Iterator[None]:
    """A server while it is needed."""
    process = start(module, *arguments)
    try:
        wait_ready(process, port)
        yield
    finally:
        stop(process)


if __name__ == "__main__":
    serve(sys.argv[1], int(sys.argv[2]))
