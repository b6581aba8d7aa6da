"""A small application of toys with the real layers round it, and a way to call it message by message."""

import asyncio
import json
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, FastAPI, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.testclient import TestClient

from service.docs_page import install_docs
from service.settings import Settings
from service.web import install
from service.web.problems import MEDIA_TYPE, Problem, problem_responses
from service.web.route import StrictRoute

JSON = {"Content-Type": "application/json"}
# Sent in every way there is; must come back in none.
SECRET = "Xq7secret"


class Eye(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False)

    sphere: float = Field(ge=-30, le=30, json_schema_extra={"unit": "D"})
    axis: float = 0


@dataclass(frozen=True, slots=True)
class Answer:
    decision: str
    sphere: float


class Gate:
    """Holds requests at the endpoint until it is opened."""

    def __init__(self) -> None:
        self.inside = 0
        self.open = asyncio.Event()


def application(settings: Settings | None = None) -> FastAPI:
    app = FastAPI(docs_url=None, redoc_url=None)
    app.state.gate = None
    inner = APIRouter(route_class=StrictRoute)
    router = APIRouter(route_class=StrictRoute, prefix="/v1")

    @inner.post("/eyes/check", responses=problem_responses("unreadable-request", "too-busy"))
    async def check(eye: Eye, request: Request) -> Answer:
        request.state.decision = "accept"
        request.state.finding_codes = ("axis-without-cylinder",)
        return Answer("accept", eye.sphere)

    @inner.get("/eyes/{name}")
    async def read(name: str, sphere: float = 0) -> Answer:
        return Answer(name, sphere)

    @inner.put("/eyes/{name}")
    async def write(name: str) -> Answer:
        return Answer(name, 0)

    @inner.get("/fails")
    async def fails() -> Answer:
        raise ValueError(SECRET)

    @inner.get("/not-ready")
    async def not_ready() -> Answer:
        raise Problem("not-ready", "The profile is being read.")

    @inner.get("/waits")
    async def waits() -> Answer:
        gate = app.state.gate
        gate.inside += 1
        await gate.open.wait()
        return Answer("accept", 0)

    @inner.get("/healthz")
    async def alive() -> Answer:
        return Answer("accept", 0)

    router.include_router(inner)
    app.include_router(router)
    app.get("/healthz")(alive)
    install_docs(app)
    install(app, settings or Settings(log=False))
    return app


def problem_of(response: Any, code: str) -> dict[str, Any]:
    document: dict[str, Any] = response.json()
    assert response.headers["content-type"] == MEDIA_TYPE
    assert document["type"] == f"/v1/reference/problems#{code}"
    assert document["status"] == response.status_code
    assert document["request_id"] == response.headers["x-request-id"]
    return document


def check(client: TestClient, content: str | bytes, headers: dict[str, str] | None = None) -> Any:
    return client.post("/v1/eyes/check", content=content, headers=headers or JSON)


async def answer_to(
    app: FastAPI,
    *,
    path: str = "/v1/eyes/check",
    method: str = "POST",
    headers: list[tuple[bytes, bytes]] | None = None,
    body: bytes = b"",
    receive: Any = None,
) -> tuple[int, list[tuple[bytes, bytes]], dict[str, Any]]:
    """The answer of an application called without a client, so that each message is in the hand of the test."""

    async def whole_body() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    sent: list[dict[str, Any]] = []

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": headers or [],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 80),
    }
    await app(scope, receive or whole_body, send)  # type: ignore[arg-type]
    content = b"".join(message.get("body", b"") for message in sent[1:])
    return sent[0]["status"], list(sent[0]["headers"]), json.loads(content)
