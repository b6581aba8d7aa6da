"""The SVG in a real browser: pixels of known size, and the room its words really take."""

import io
import os
import shutil
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from drawing_sheets import CASES, lens, sheet
from drawn_svg import Words, overlapping
from PIL import Image
from test_drawing_words import HOSTILE, everywhere

from service.drawing.sheet import Sheet
from service.drawing.svg_writer import svg

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
if CHROMIUM is None and not os.environ.get("CI"):
    pytest.skip("chromium is not installed: the drawing was not tried in a browser", allow_module_level=True)
playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

PIXELS_PER_MM = 10.0
SCALE = PIXELS_PER_MM / (96.0 / 25.4)  # a CSS pixel is 1/96 inch
BOXES = """() => [...document.querySelectorAll('svg text')].map(text => {
    const box = text.getBBox();
    return [text.parentNode.id, text.textContent, [box.x, box.y, box.x + box.width, box.y + box.height]];
})"""


@pytest.fixture(scope="module")
def page() -> Iterator[Any]:
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        view = browser.new_page(viewport={"width": 1140, "height": 830}, device_scale_factor=SCALE)
        yield view
        browser.close()


def shown(page: Any, what: Sheet) -> None:
    text = svg(what).decode().split("?>", 1)[1]
    page.set_content(f"<!doctype html><style>body {{ margin: 0 }} svg {{ display: block }}</style>{text}")


def pixels(page: Any) -> np.ndarray:
    """How dark each pixel is, 0 to 255."""
    picture = Image.open(io.BytesIO(page.locator("svg").screenshot())).convert("L")
    return 255.0 - np.asarray(picture, dtype=float)


def words_shown(page: Any) -> list[Words]:
    return [Words(group, text, tuple(box)) for group, text, box in page.evaluate(BOXES)]


def only(page: Any, group: str) -> None:
    """Hide everything but the lines of one group."""
    page.evaluate(
        "name => document.querySelectorAll('svg g').forEach(g => { if (g.id !== name) g.remove();"
        " else g.querySelectorAll('text, polyline').forEach(t => t.remove()) })",
        group,
    )


def dark_extent(dark: np.ndarray, axis: int) -> int:
    """Pixels from the first to the last that are more dark than light."""
    places = np.flatnonzero((dark > 127.0).any(axis=axis))
    return int(places[-1] - places[0] + 1)


@pytest.mark.parametrize("name", ["everyday", "letter"])
def test_the_picture_has_the_pixels_of_its_page(page: Any, name: str) -> None:
    shown(page, CASES[name]())
    wide, high = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}[CASES[name]().page]
    seen = pixels(page).shape
    assert seen[1] == pytest.approx(wide * PIXELS_PER_MM, abs=3)
    assert seen[0] == pytest.approx(high * PIXELS_PER_MM, abs=3)


@pytest.mark.parametrize("name", ["everyday", "letter", "blanks-of-120"])
def test_the_check_square_measures_500_pixels_at_10_to_the_millimetre(page: Any, name: str) -> None:
    shown(page, CASES[name]())
    only(page, "check-square")
    dark = pixels(page)
    stroke = 0.25 * PIXELS_PER_MM
    for axis in (0, 1):
        assert dark_extent(dark, axis) == pytest.approx(50.0 * PIXELS_PER_MM + stroke, abs=1.0)


@pytest.mark.parametrize("eye", ["right", "left"])
def test_the_outline_is_as_wide_and_high_in_pixels_as_the_lens_in_millimetres(page: Any, eye: str) -> None:
    shown(page, CASES["everyday"]())
    only(page, f"{eye}-outline")
    dark = pixels(page)
    stroke = 0.5 * PIXELS_PER_MM
    assert dark_extent(dark, 0) == pytest.approx(54.0 * PIXELS_PER_MM + stroke, abs=1.0)
    assert dark_extent(dark, 1) == pytest.approx(40.0 * PIXELS_PER_MM + stroke, abs=1.0)


@pytest.mark.parametrize("name", CASES)
def test_words_stay_on_the_page_and_off_each_other(page: Any, name: str) -> None:
    case = CASES[name]()
    shown(page, case)
    words = words_shown(page)
    assert len(words) > 20
    wide, high = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}[case.page]
    assert all(w.box[0] >= 9.5 and w.box[1] >= 9.5 and w.box[2] <= wide - 9.5 and w.box[3] <= high - 9.5 for w in words)
    assert overlapping(words) == []


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_words_stay_on_the_page_and_run_nothing(page: Any, name: str) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    shown(page, everywhere(HOSTILE[name]))
    assert page.evaluate("document.querySelectorAll('svg script, svg image').length") == 0
    assert all(w.box[0] >= 9.0 and w.box[2] <= 288.0 for w in words_shown(page))
    assert asked == []


def test_the_words_overlap_check_would_be_heard(page: Any) -> None:
    """Without this, an empty list would prove nothing."""
    shown(page, sheet(lens("right")))
    page.evaluate(
        "const t = document.querySelectorAll('#right-key text'); t[2].setAttribute('y', t[1].getAttribute('y'))"
    )
    assert overlapping(words_shown(page)) != []
