"""Pauses are drawn within their bounds; answers of a newer or older service are taken; nothing but httpx is needed."""

import json
import subprocess
import sys
from dataclasses import fields
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from service.client import CheckAnswer, Finding, Patience, Problem
from service.client.answers import Tolerant, built
from service.client.patience import asked_s
from service.contract.order import EXAMPLE_ORDER

ROOT = Path(__file__).resolve().parents[2]
NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=10,
)

# Pauses.


@given(st.integers(1, 2000), st.none() | st.floats(0, 1e9), st.floats(0, 1))
def test_no_pause_is_beyond_the_cap_nor_shorter_than_asked_for_within_it(
    tried: int, asked: float | None, lot: float
) -> None:
    pause = Patience(lot=lambda: lot).pause_s(tried, asked)
    assert min(asked or 0.0, 10.0) <= pause <= 10.0


def test_the_bound_of_a_pause_doubles_and_the_whole_of_it_is_drawn_from() -> None:
    most = [Patience(lot=lambda: 1.0).pause_s(tried, None) for tried in (1, 2, 3, 4, 5, 6)]
    assert most == [0.5, 1.0, 2.0, 4.0, 8.0, 10.0]
    assert Patience(lot=lambda: 0.0).pause_s(3, None) == 0.0
    assert len({Patience().pause_s(1, None) for _ in range(20)}) > 1


def test_what_the_service_asks_for_is_read_in_seconds_or_as_a_date() -> None:
    assert asked_s("120") == 120.0
    assert asked_s(format_datetime(NOW + timedelta(seconds=7), usegmt=True), NOW) == 7.0
    assert asked_s("Wed, 25 Nov 2026 11:00:00 GMT", NOW) == 0.0
    for senseless in (None, "", "soon", "-1", "1.5", "٣"):
        assert asked_s(senseless, NOW) is None


# Answers.


def test_an_answer_of_the_service_is_taken_whole(service: TestClient) -> None:
    document = service.post("/v1/orders/check", json={**EXAMPLE_ORDER, "lens": {"blank_diameter_mm": 60}}).json()
    answer = built(CheckAnswer, document)
    assert answer.decision == document["decision"]
    assert answer.fit is not None
    assert answer.fit.right is not None
    assert answer.fit.right.decentration_mm is not None
    assert answer.fit.right.decentration_mm.in_ == document["fit"]["right"]["decentration_mm"]["in"]
    assert [one.code for one in answer.findings] == [one["code"] for one in document["findings"]]
    assert answer.findings[0].remedies[0].pointer == document["findings"][0]["remedies"][0]["pointer"]
    assert answer.more["thickness"] == document["thickness"]
    assert answer.document == document


def test_new_members_are_kept_new_codes_are_taken_and_missing_ones_are_none() -> None:
    answer = built(CheckAnswer, {"decision": "postpone", "findings": [{"code": "new", "gravity": 3}], "colour": "red"})
    assert (answer.decision, answer.reference, answer.fit, answer.more) == ("postpone", None, None, {"colour": "red"})
    assert answer.findings == (Finding(code="new", more={"gravity": 3}),)


@given(st.dictionaries(st.sampled_from([one.name for one in fields(CheckAnswer)] + ["x"]), JSON_VALUES, max_size=6))
def test_no_answer_whatever_it_holds_breaks_the_client(document: dict[str, object]) -> None:
    answer = built(CheckAnswer, document)
    assert answer.document == document
    assert isinstance(built(Problem, {"errors": [document]}).errors[0], Tolerant)


# By itself.

ALONE = """
import sys
class Guard:
    def find_spec(self, name, path=None, target=None):
        top = name.partition(".")[0]
        known = top in sys.stdlib_module_names or top in ALLOWED or name == "service" or name.startswith("service.client")
        if not known:
            raise ImportError(f"{name} was asked for")
ALLOWED = {"httpx", "httpcore", "h11", "anyio", "certifi", "idna", "sniffio", "typing_extensions", "_distutils_hack"}
sys.meta_path.insert(0, Guard())
import service.client
print(sorted({name.partition(".")[0] for name in sys.modules} & {"pydantic", "fastapi", "starlette", "numpy", "optics_core"}))
print(sorted(name for name in sys.modules if name.startswith("service.") and not name.startswith("service.client")))
"""


def test_the_client_needs_httpx_and_the_standard_library_only() -> None:
    done = subprocess.run(
        [sys.executable, "-c", ALONE], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == ["[]", "[]"]


def test_the_documented_names_are_there() -> None:
    import service.client as client

    assert all(hasattr(client, name) for name in client.__all__)
    assert json.dumps(sorted(client.__all__)) == json.dumps(list(client.__all__))


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_figure_that_is_none_is_not_sent(value: float) -> None:
    from service.client import Client

    with pytest.raises(ValueError, match="JSON compliant"):
        Client("http://127.0.0.1:1").check({"pd_mm": value})
