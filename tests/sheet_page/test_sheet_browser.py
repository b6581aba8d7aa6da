"""The HTML in a real browser, with the service's own headers: its style is at work, it asks nobody for anything, it prints
on one page, and its code reads."""

import io
import json
from collections.abc import Iterator
from typing import Any

import pypdfium2 as pdfium
import pytest
import zxingcpp
from chromium import browsing, serving
from PIL import Image
from sheet_cases import CASES, SIZES, page_of, words_of

from service.settings import Settings
from service.sheet_page import room
from service.sheet_page.html_writer import html

POINT_MM = 25.4 / 72.0
every_page = pytest.mark.parametrize(("name", "size"), [(name, size) for name in CASES for size in SIZES])


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with browsing() as opened:
        yield opened


@pytest.fixture(scope="module")
def view(browser: Any) -> Any:
    return browser.new_page(device_scale_factor=2)


@pytest.fixture(scope="module")
def base() -> Iterator[str]:
    with serving(Settings(log=False)) as address:
        yield address


@every_page
def test_it_prints_on_one_page_of_the_size_that_was_asked_for(view: Any, name: str, size: str) -> None:
    view.set_content(html(page_of(name, size)).decode())
    printed = pdfium.PdfDocument(view.pdf(prefer_css_page_size=True))
    assert len(printed) == 1
    expected = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[size]
    assert [side * POINT_MM for side in printed[0].get_size()] == pytest.approx(expected, abs=0.3)
    # Not by a hair: a typeface as wide as this machine's leaves some room.
    high = view.evaluate("document.body.getBoundingClientRect().height") / 96 * 25.4
    assert high <= room.PAGES_MM[page_of(name, size).size][1] - 2 * room.MARGIN_MM - 1.0


@every_page
def test_the_words_are_there_and_none_leaves_its_place(view: Any, name: str, size: str) -> None:
    view.set_content(html(page_of(name, size)).decode())
    shown = " ".join(view.inner_text("body").split())
    for words in words_of(page_of(name, size)):
        assert " ".join(words.split()) in shown
    assert view.evaluate(
        "[...document.querySelectorAll('td, th, li, dd, dt, p, h1 span, h2')]"
        ".every(each => each.scrollWidth <= each.clientWidth + 1 || getComputedStyle(each).display === 'inline')"
    )
    smallest = view.evaluate(
        "Math.min(...[...document.querySelectorAll('body *')].filter(each => each.textContent.trim() && each.tagName !== 'STYLE')"
        ".map(each => parseFloat(getComputedStyle(each).fontSize)))"
    )
    assert smallest * 72 / 96 >= 8.0


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["plain", "rejected", "any-letters"])
def test_a_picture_of_it_holds_a_code_that_reads(view: Any, name: str, size: str) -> None:
    view.set_content(html(page_of(name, size)).decode())
    (read,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(view.screenshot(full_page=True))))
    assert read.text == page_of(name, size).code


def test_words_from_outside_are_words_and_nothing_else(view: Any) -> None:
    asked: list[str] = []
    view.on("request", lambda request: asked.append(request.url))
    for name in ("not-understood", "any-letters"):
        view.set_content(html(page_of(name)).decode())
        assert view.evaluate("document.querySelectorAll('script, img, link, iframe, a').length") == 0
    assert "<script>alert(1)</script>" in view.inner_text("body")
    assert asked == []


def test_it_is_built_as_a_document_with_headings_and_tables_that_can_be_read_out(view: Any) -> None:
    view.set_content(html(page_of("plain")).decode())
    assert view.evaluate("document.documentElement.lang") == "en"
    assert view.evaluate("document.querySelectorAll('h1').length") == 1
    assert view.evaluate("document.querySelectorAll('h2').length") >= 4
    rows = len(page_of("plain").eyes)
    assert view.evaluate("document.querySelectorAll('tbody th[scope=row]').length") == rows
    assert view.evaluate("document.querySelectorAll('thead th[scope=col]').length") == 2
    assert view.evaluate("document.querySelector('svg').getAttribute('role')") == "img"


def test_it_is_black_on_white_alone(view: Any) -> None:
    view.set_content(html(page_of("rejected")).decode())
    view.add_style_tag(content="* { color: transparent !important }")  # letters may be smoothed in colours
    picture = Image.open(io.BytesIO(view.screenshot(full_page=True))).convert("RGB")
    assert all(max(colour) - min(colour) <= 2 for _, colour in picture.getcolors(maxcolors=100_000))


@pytest.mark.parametrize("size", SIZES)
def test_with_the_services_own_headers_the_style_is_applied_and_no_policy_is_broken(
    browser: Any, base: str, size: str
) -> None:
    page = browser.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.add_init_script(
        "document.addEventListener('securitypolicyviolation', e => console.error('policy: ' + e.violatedDirective))"
    )
    body = json.dumps({"order": CASES["plain"], "page": size})
    headers = {"Accept": "text/html", "Content-Type": "application/json"}
    page.route("**/*", lambda route: route.continue_(method="POST", post_data=body, headers=headers))
    answer = page.goto(f"{base}/v1/bench/sheet")
    assert answer.status == 200
    policy = answer.headers["content-security-policy"]
    assert "style-src 'sha256-" in policy
    assert "unsafe" not in policy
    assert "," not in policy  # one policy: of two, both would hold
    wide = page.evaluate("document.body.getBoundingClientRect().width") / 96 * 25.4
    assert wide == pytest.approx(room.width_mm("a4" if size == "a4" else "letter"), abs=0.2)
    assert page.evaluate("getComputedStyle(document.querySelector('.strong td')).fontWeight") == "700"
    assert said == []
    # Without this, a silent console would prove nothing: another style is refused, and heard of.
    page.evaluate(
        "document.head.append(Object.assign(document.createElement('style'), {textContent: 'td { top: 1px }'}))"
    )
    page.wait_for_timeout(100)
    assert any("policy: style-src-elem" in line for line in said)
    page.close()
