"""Calls of the real service, and what is read off its refusals."""

import copy
import json
from typing import Any

from starlette.testclient import TestClient
from web_toys import JSON, problem_of

from service.contract.order import EXAMPLE_ORDER

CHECK = "/v1/orders/check"
TEXT = json.dumps(EXAMPLE_ORDER)
LEFT_OUT = object()


def example(**changes: object) -> dict[str, Any]:
    """The example order with members set or taken away."""
    return edited(EXAMPLE_ORDER, **changes)


def edited(document: dict[str, Any], **changes: object) -> dict[str, Any]:
    """A document with members set by path, parted by double underscores; LEFT_OUT takes one away."""
    changed = copy.deepcopy(document)
    for path, value in changes.items():
        *parents, last = path.split("__")
        node = changed
        for name in parents:
            node = node.setdefault(name, {})
        if value is LEFT_OUT:
            del node[last]
        else:
            node[last] = value
    return changed


def send(service: TestClient, content: str | bytes | dict[str, Any], headers: dict[str, str] | None = None) -> Any:
    body = json.dumps(content) if isinstance(content, dict) else content
    return service.post(CHECK, content=body, headers=headers or JSON)


def faults(response: Any, code: str = "unreadable-request") -> list[tuple[str, str | None]]:
    return [(fault["code"], fault.get("pointer")) for fault in problem_of(response, code)["errors"]]
