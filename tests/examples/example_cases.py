"""The examples as they stand in the folder, and how the service answers them."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from service.app import create_app
from service.settings import Settings

FOLDER = Path(__file__).resolve().parents[2] / "openapi_examples"
CONTRACT = FOLDER / "openapi.json"
# A problem document repeats the id of its request; a fixed one keeps it the same.
REQUEST_ID = "example"


@dataclass(frozen=True, slots=True)
class Example:
    """One folder: what is sent where, and the file that holds the answer."""

    name: str
    path: str
    status: int
    answer_file: str

    @property
    def is_drawing(self) -> bool:
        return self.answer_file.endswith(".svg")

    @property
    def folder(self) -> Path:
        return FOLDER / self.name

    @property
    def request(self) -> bytes:
        return (self.folder / "request.json").read_bytes()

    @property
    def note(self) -> str:
        return (self.folder / "note.md").read_text("utf-8")

    @property
    def saved(self) -> Path:
        return self.folder / self.answer_file

    def __str__(self) -> str:
        return self.name


def examples() -> Iterator[Example]:
    """Every example, in alphabetical order: orders, prescriptions, requests that cannot be read."""
    for below, path, status, answer_file in (
        ("", "/v1/orders/check", 200, "answer.json"),
        ("prescriptions/", "/v1/prescriptions/read", 200, "answer.json"),
        ("compare/", "/v1/lenses/compare", 200, "answer.json"),
        ("traces/", "/v1/traces/read", 200, "answer.json"),
        ("drawings/", "/v1/bench/drawing", 200, "answer.svg"),
        ("sheets/", "/v1/bench/sheet", 200, "answer.json"),
        ("screen/", "/v1/frames/screen", 200, "answer.json"),
        ("inspections/", "/v1/bench/inspect", 200, "answer.json"),
        ("batches/", "/v1/bench/inspect-many", 200, "answer.json"),
        ("unreadable/", "/v1/orders/check", 422, "problem.json"),
    ):
        for request in sorted((FOLDER / below).glob("*/request.json")):
            yield Example(f"{below}{request.parent.name}", path, status, answer_file)


def client() -> TestClient:
    """The real service with its shipped profile, whatever the surroundings say."""
    return TestClient(create_app(Settings(log=False)))


def answer(client: TestClient, example: Example) -> str:
    """What the service answers, as it is saved; its status must be the example's."""
    headers = {"Content-Type": "application/json", "X-Request-Id": REQUEST_ID}
    response = client.post(example.path, content=example.request, headers=headers)
    if response.status_code != example.status:
        raise AssertionError(f"{example} was answered {response.status_code}: {response.text[:400]}")
    return response.text if example.is_drawing else written_out(response.json())


def contract(client: TestClient) -> Any:
    """The OpenAPI document as served."""
    return client.get("/openapi.json").json()


def written_out(document: Any) -> str:
    """A document as it is saved."""
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"
