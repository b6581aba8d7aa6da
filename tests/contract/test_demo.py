"""The order form under /demo/: only where asked for, whole, under a strict policy, and true to the contract."""

import re
import tomllib
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from web_toys import problem_of

from optics_core.materials import materials
from service import __main__ as command
from service.app import create_app
from service.contract.order import Order
from service.demo import MEDIA_TYPES
from service.profile.loader import load
from service.settings import Settings
from service.stocked import stocked_materials

ROOT = Path(__file__).resolve().parents[2]
FORM = ROOT / "openapi_examples" / "order_form"


@pytest.fixture(scope="module")
def demo() -> Any:
    with TestClient(create_app(Settings(log=False, demo=True)), follow_redirects=False) as client:
        yield client


@pytest.mark.parametrize("address", ["/demo", "/demo/", "/demo/index.html", "/demo/form.js"])
def test_there_is_no_demo_unless_it_was_asked_for(service: TestClient, address: str) -> None:
    problem_of(service.get(address), "not-found")


def test_every_file_of_the_form_is_served_as_it_stands(demo: TestClient) -> None:
    assert set(MEDIA_TYPES) == {file.name for file in FORM.iterdir()} - {"README.md"}
    for name, kind in MEDIA_TYPES.items():
        answer = demo.get(f"/demo/{name}")
        assert (answer.status_code, answer.headers["content-type"]) == (200, kind)
        assert answer.content == (FORM / name).read_bytes()
    assert demo.get("/demo/").content == (FORM / "index.html").read_bytes()
    moved = demo.get("/demo")
    assert (moved.status_code, moved.headers["location"]) == (307, "demo/")


@pytest.mark.parametrize("address", ["/demo/README.md", "/demo/..%2fapp.py", "/demo/../app.py", "/demo/x", "/demo//"])
def test_nothing_else_is_served(demo: TestClient, address: str) -> None:
    problem_of(demo.get(address), "not-found")


def test_the_page_may_run_and_ask_its_own_service_only(demo: TestClient) -> None:
    policy = demo.get("/demo/").headers["content-security-policy"]
    for part in (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "connect-src 'self'",
        "form-action 'none'",
    ):
        assert part in policy
    assert "unsafe" not in policy


def test_the_form_names_no_other_host_and_holds_no_script_or_style_within_the_page() -> None:
    for name in MEDIA_TYPES:
        text = (FORM / name).read_text("utf-8")
        assert not re.search(r"(?:https?:)?//[a-z0-9.-]+\.[a-z]{2,}", text), name
        assert "innerHTML" not in text
        assert not re.search(r"localStorage|sessionStorage|indexedDB|document\.cookie", text)
    page = (FORM / "index.html").read_text("utf-8")
    assert not re.search(r"<style|style=|\son[a-z]+=", page)
    assert re.findall(r"<script[^>]*>", page) == ['<script type="module" src="form.js">']


def test_the_wheel_and_the_image_hold_the_form() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    forced = project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert forced["openapi_examples/order_form"] == "service/demo/order_form"
    assert "COPY openapi_examples/order_form " in (ROOT / "docker" / "Dockerfile").read_text("utf-8")


class _Fields(HTMLParser):
    """Pointers of the fields, and the choices that each select offers."""

    def __init__(self) -> None:
        super().__init__()
        self.kinds: dict[str, str] = {}
        self.groups: set[str] = set()
        self.choices: dict[str, set[str]] = {}
        self.labelled: set[str] = set()
        self.ids: list[str] = []
        self._select: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if "id" in given:
            self.ids.append(given["id"])
        if tag == "fieldset" and "data-pointer" in given:
            self.groups.add(given["data-pointer"])
        if "data-kind" in given:
            self.kinds[given["data-pointer"]] = given["data-kind"]
            self.choices[given["data-pointer"]] = set()
            self._select = given["data-pointer"] if tag == "select" else None
        if tag == "option" and self._select is not None and given.get("value"):
            self.choices[self._select].add(given["value"])
        if tag == "label":
            self.labelled.add(given.get("for", ""))


def _fields() -> _Fields:
    parser = _Fields()
    parser.feed((FORM / "index.html").read_text("utf-8"))
    return parser


def test_every_field_and_group_has_its_place_in_an_order() -> None:
    fields = _fields()
    schema = Order.model_json_schema()

    def members(node: dict[str, Any]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        if "$ref" in node:
            found |= members(schema["$defs"][node["$ref"].rpartition("/")[2]])
        for branch in (*node.get("anyOf", ()), *node.get("oneOf", ())):
            found |= members(branch)
        return found | node.get("properties", {})

    for pointer in (*fields.kinds, *fields.groups - {""}):
        node: dict[str, Any] = schema
        for name in pointer[1:].split("/"):
            assert name in members(node), pointer
            node = members(node)[name]
    assert len(fields.kinds) >= 20
    assert "" in fields.groups
    assert len(fields.ids) == len(set(fields.ids))


def test_what_can_be_chosen_is_known_to_the_contract_and_in_stock() -> None:
    choices = _fields().choices
    assert choices["/lens/use"] == {"distance", "intermediate", "near", "bifocal", "trifocal", "progressive"}
    assert choices["/frame/rim"] == {"full", "grooved", "drilled"}
    assert choices["/lens/material"] == set(stocked_materials(load(None).profile)) <= set(materials())


def test_the_command_serves_the_demo_and_prints_its_address(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    served: list[Any] = []
    monkeypatch.setattr(command.uvicorn, "run", lambda app, **_: served.append(app))
    for arguments, environ, status in (
        (["serve", "--port", "8123", "--demo"], {}, 200),
        (["serve", "--port", "8123"], {"BENCHGATE_DEMO": "yes"}, 200),
        (["serve", "--port", "8123"], {}, 404),
    ):
        monkeypatch.delenv("BENCHGATE_DEMO", raising=False)
        for name, value in environ.items():
            monkeypatch.setenv(name, value)
        assert command.main(arguments) == 0
        printed = capsys.readouterr().out
        assert ("http://127.0.0.1:8123/demo/" in printed) == (status == 200)
        assert TestClient(served.pop()).get("/demo/").status_code == status
