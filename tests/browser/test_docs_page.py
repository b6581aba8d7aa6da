"""The docs page in a real browser, on a machine that reaches nobody else."""

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from chromium import POLICY_HEARD, browsing, serving

from service.settings import Settings


@dataclass
class Watched:
    """A page, and all that it asked for and complained of."""

    page: Any
    base: str
    asked: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)


@pytest.fixture(scope="module")
def base() -> Iterator[str]:
    with serving(Settings(log=False)) as address:
        yield address


@pytest.fixture
def watched(base: str) -> Iterator[Watched]:
    with browsing() as browser:
        page = browser.new_page()
        seen = Watched(page, base)
        page.on("request", lambda request: seen.asked.append(request.url))
        page.on("requestfailed", lambda request: seen.said.append(f"failed: {request.url}"))
        page.on("console", lambda message: seen.said.append(message.text))
        page.on("pageerror", lambda error: seen.said.append(str(error)))
        page.add_init_script(POLICY_HEARD)
        page.goto(f"{base}/docs")
        page.wait_for_selector(".opblock-post")
        yield seen


def asked_elsewhere(seen: Watched) -> list[str]:
    return [url for url in seen.asked if not url.startswith((f"{seen.base}/", "data:", "blob:"))]


def test_the_page_opens_without_a_word_and_asks_nobody_else(watched: Watched) -> None:
    watched.page.wait_for_load_state("networkidle")
    assert watched.said == []
    assert asked_elsewhere(watched) == []
    assert len(watched.asked) >= 5
    assert watched.page.locator(".opblock").count() > 1


def test_the_example_of_an_order_can_be_tried_as_it_stands(watched: Watched) -> None:
    page = watched.page
    operation = page.locator(".opblock-post", has=page.locator('[data-path="/v1/orders/check"]'))
    operation.locator(".opblock-summary-control").click()
    operation.get_by_role("button", name="Try it out").click()
    operation.get_by_role("button", name="Execute").click()
    answers = operation.locator(".live-responses-table")
    answers.wait_for()
    assert answers.locator(".response-col_status").last.inner_text().split()[0] == "200"
    body = json.loads(answers.locator(".highlight-code code, .highlight-code pre").first.inner_text())
    assert body["decision"] in ("accept", "review", "reject")
    assert watched.said == []
    assert asked_elsewhere(watched) == []


def test_the_example_of_a_cell_can_be_tried_as_it_stands(watched: Watched) -> None:
    operation = watched.page.locator(".opblock-get", has=watched.page.locator('[data-path="/v1/cells/transposed"]'))
    operation.locator(".opblock-summary-control").click()
    operation.get_by_role("button", name="Try it out").click()
    operation.get_by_role("button", name="Execute").click()
    answers = operation.locator(".live-responses-table")
    answers.wait_for()
    assert answers.locator(".response-col_status").last.inner_text().split()[0] == "200"
    assert "-3.00 +0.75 x 100" in answers.inner_text()
    assert watched.said == []


def test_the_policy_is_at_work_and_would_have_been_heard(watched: Watched) -> None:
    """Without this, a silent console would prove nothing."""
    watched.page.evaluate("document.body.append(Object.assign(new Image(), {src: 'http://elsewhere.example/x.png'}))")
    watched.page.evaluate(
        "document.head.append(Object.assign(document.createElement('script'), {text: 'window.ran = 1'}))"
    )
    watched.page.wait_for_timeout(200)
    assert watched.page.evaluate("window.ran") is None
    assert any(line.startswith("policy: img-src http://elsewhere.example") for line in watched.said)
    assert any(line.startswith("policy: script-src-elem inline") for line in watched.said)
