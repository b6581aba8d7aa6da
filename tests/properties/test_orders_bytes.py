"""The same request gives the same bytes: in any order of its members, with any hash seed, however often it is asked."""

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from order_strategies import Document, orders, steady
from starlette.testclient import TestClient

from service.app import create_app
from service.contract.order import EXAMPLE_ORDER
from service.settings import Settings

ROOT = Path(__file__).resolve().parents[2]
CHECK = "/v1/orders/check"
CLIENT = TestClient(create_app(Settings(log=False)))
# Reads orders, one a line, and prints one digest over the answers to all of them.
DIGEST_OF_ANSWERS = """
import hashlib, sys
from starlette.testclient import TestClient
from service.app import create_app
from service.settings import Settings
client = TestClient(create_app(Settings(log=False)))
digest = hashlib.sha256()
for line in sys.stdin:
    digest.update(client.post("/v1/orders/check", content=line, headers={"Content-Type": "application/json"}).content)
for name in ("materials", "rules", "profile", "problems", "limits"):
    digest.update(client.get(f"/v1/reference/{name}").content)
digest.update(client.get("/openapi.json").content)
print(digest.hexdigest())
"""


def answer_bytes(document: Document) -> bytes:
    response = CLIENT.post(CHECK, content=json.dumps(document), headers={"Content-Type": "application/json"})
    assert response.status_code == 200
    return response.content


def shuffled(node: Any, draw: Any) -> Any:
    """The same document with the members of every object in another order."""
    if isinstance(node, dict):
        return {name: shuffled(node[name], draw) for name in draw(st.permutations(list(node)))}
    if isinstance(node, list):
        return [shuffled(inner, draw) for inner in node]
    return node


@steady(100)
@given(orders(), st.data())
def test_the_order_of_members_does_not_matter(order: Document, data: st.DataObject) -> None:
    assert answer_bytes(shuffled(order, data.draw)) == answer_bytes(order)


@steady(60)
@given(st.lists(orders(), min_size=2, max_size=4))
def test_answers_do_not_depend_on_what_was_asked_before(asked: list[Document]) -> None:
    first = [answer_bytes(one) for one in asked]
    again = [answer_bytes(one) for one in reversed(asked)]
    assert first == again[::-1]


def test_spaces_and_ways_to_write_a_number_do_not_matter() -> None:
    text = json.dumps(EXAMPLE_ORDER)
    spaced = json.dumps(EXAMPLE_ORDER, indent=3)
    other = text.replace("-2.25", "-225e-2").replace('"a_mm": 54', '"a_mm": 54.000')
    assert other.count("e-2") == 1
    assert other.count("54.000") == 1
    answers = {
        CLIENT.post(CHECK, content=one, headers={"Content-Type": "application/json"}).content
        for one in (text, spaced, other)
    }
    assert len(answers) == 1


def _samples() -> list[Document]:
    """Orders with many findings of every family, so that a set or a dictionary by hash would show."""
    eye = {"sphere": -6.1, "cylinder": 7.0, "axis": 0, "add": 2.0, "prism": [{"amount": 3, "base": "up"}]}
    odd = {
        **EXAMPLE_ORDER,
        "prescription": {"right": eye, "left": {**eye, "cylinder": -7.0, "add": 4.0}, "vertex_distance_mm": 25},
        "frame": {"a_mm": 70, "b_mm": 72, "dbl_mm": 30},
        "fitting_height_mm": {"right": 71, "left": 3},
        "lens": {"material": "unheard-of", "use": "progressive", "blank_diameter_mm": 60},
        "wearer": {"age_years": 9, "useful_eyes": "left"},
    }
    overridden = {**odd, "profile": {"blank": {"allowance_mm": 4}, "fit": {"in_noted_mm": 1}, "dates": {}}}
    return [EXAMPLE_ORDER, odd, overridden, {**odd, "prescription": {"written": "R -2.25 -0.75 x 10 L plano"}}]


def test_the_hash_seed_does_not_matter() -> None:
    lines = "\n".join(json.dumps(one) for one in _samples())
    digests = set()
    for seed in ("0", "1", "424242"):
        finished = subprocess.run(
            [sys.executable, "-c", DIGEST_OF_ANSWERS],
            input=lines,
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
        digests.add(finished.stdout.strip())
    assert len(digests) == 1
    assert len(digests.pop()) == len(hashlib.sha256().hexdigest())


@pytest.mark.parametrize("sample", range(4))
def test_the_samples_have_something_to_put_in_order(sample: int) -> None:
    found = json.loads(answer_bytes(_samples()[sample]))["findings"]
    assert len(found) >= (1 if sample in (0, 3) else 12)
