"""The order form for everybody: by keyboard alone, by screen reader, on a phone, in the dark, with little movement.

Contrast by WCAG 2.2, 1.4.3 and 1.4.11, computed by its formula of relative luminance; sizes by 2.5.8; names, roles and
descriptions as Chromium's own accessibility tree tells them.
"""

import io
from collections.abc import Iterator
from typing import Any

import pytest
from chromium import browsing, serving
from order_form_pages import Watched, opened
from PIL import Image

from service.settings import Settings

LANGUAGES = ("en", "es")


@pytest.fixture(scope="module")
def base() -> Iterator[str]:
    with serving(Settings(log=False, demo=True)) as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with browsing() as one:
        yield one


def states(form: Watched) -> Iterator[str]:
    """The form in each of its states, one after the other."""
    yield "empty"
    form.page.click("#example")
    form.send()
    assert form.state == "accept"
    yield "accept"
    form.fill(l_sphere="+2.25", age="7", issued="2019-05-01")
    form.page.check("input[value=two]")
    form.fill(pd_right="31", pd_left="32")
    form.send()
    assert form.state == "review"
    yield "review"
    form.fill(r_axis="", l_axis="200", a="64", ed="")
    form.send()
    assert form.state == "reject"
    yield "reject"
    form.fill(b="forty", dbl="")
    form.page.check("input[value=text]")
    form.fill(written="R 2.25 " + "-" * 200)
    form.send()
    yield "unreadable"
    form.page.route("**/v1/**", lambda route: route.abort())
    form.page.click("#send")
    form.failure()
    yield "down"


# Every text that is seen, with its colour and that of what lies behind it.
TEXTS = """() => {
    const seen = [];
    const behind = element => {
        for (let at = element; at; at = at.parentElement) {
            const colour = getComputedStyle(at).backgroundColor;
            if (!/^rgba\\(.*, 0\\)$/.test(colour)) return colour;
        }
        return 'none';
    };
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        const element = node.parentElement;
        if (!node.textContent.trim() || !element.checkVisibility() || element.closest('.hidden, option, script')) continue;
        seen.push([node.textContent.trim(), getComputedStyle(element).color, behind(element)]);
    }
    for (const element of document.querySelectorAll('input:not([type=radio]), select, textarea')) {
        if (!element.checkVisibility()) continue;
        const style = getComputedStyle(element);
        seen.push([element.id, style.color, style.backgroundColor]);
    }
    return seen;
}"""
# The lines that show where a field is, on what they stand.
LINES = """() => [...document.querySelectorAll('input:not([type=radio]), select, textarea')]
    .filter(element => element.checkVisibility())
    .map(element => [element.id, getComputedStyle(element).borderTopColor,
        getComputedStyle(element.closest('form > fieldset')).backgroundColor])"""


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition) of rgb(…)."""
    parts = [float(part) / 255 for part in colour[colour.index("(") + 1 : -1].split(",")[:3]]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_measure_of_contrast_is_that_of_the_guidelines() -> None:
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21.0)
    assert contrast("rgb(118, 118, 118)", "rgb(255, 255, 255)") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_text_and_every_field_stands_out_enough(browser: Any, base: str, scheme: str) -> None:
    with opened(browser, base, color_scheme=scheme) as form:
        count = 0
        for state in states(form):
            for what, colour, behind in form.page.evaluate(TEXTS):
                assert contrast(colour, behind) >= 4.5, f"{state}: {what}"
                count += 1
            for what, colour, behind in form.page.evaluate(LINES):
                assert contrast(colour, behind) >= 3, f"{state}: {what}"
        assert count > 200


def test_the_dark_form_is_dark_and_the_light_one_light(browser: Any, base: str) -> None:
    shares = {}
    for scheme in ("light", "dark"):
        with opened(browser, base, color_scheme=scheme) as form:
            image = Image.open(io.BytesIO(form.page.screenshot())).convert("L")
            bright = sum(image.histogram()[128:])
            shares[scheme] = bright / (image.width * image.height)
    assert shares["light"] > 0.9
    assert shares["dark"] < 0.1


@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_is_wider_than_a_phone_of_320_px(browser: Any, base: str, language: str) -> None:
    with opened(browser, base, viewport={"width": 320, "height": 640}, has_touch=True, locale=language) as form:
        for state in states(form):
            size = "[document.documentElement.scrollWidth, document.body.scrollWidth]"
            assert form.page.evaluate(size) == [320, 320], state
            small = form.page.evaluate(
                """() => [...document.querySelectorAll('input:not([type=radio]), select, textarea, button, .choice label')]
                    .filter(e => e.checkVisibility())
                    .filter(e => e.getBoundingClientRect().height < 43 || parseFloat(getComputedStyle(e).fontSize) < 15.5)
                    .map(e => e.id || e.textContent)"""
            )
            assert small == [], state


def test_the_whole_form_can_be_used_by_keyboard_alone(browser: Any, base: str) -> None:
    with opened(browser, base) as form:
        page = form.page

        def focus() -> str:
            return str(page.evaluate("document.activeElement.id || document.activeElement.value"))

        def forward(place: str) -> None:
            for _ in range(20):
                page.keyboard.press("Tab")
                outline = "getComputedStyle(document.activeElement).outlineStyle"
                if focus():  # past the last element the browser's own buttons come
                    assert page.evaluate(f"{outline} !== 'none'"), focus()
                if focus() == place:
                    return
            raise AssertionError(f"{place} was not reached")

        for place, typed in (
            ("r-sphere", "-2.25"), ("r-cylinder", "-0.75"), ("r-axis", ""), ("l-sphere", "-2.50"),
        ):  # fmt: skip
            forward(place)
            page.keyboard.type(typed)
        forward("one")
        page.keyboard.press("ArrowDown")
        for place, typed in (("pd-right", "31.5"), ("pd-left", "32"), ("a", "52"), ("b", "38"), ("dbl", "18")):
            forward(place)
            page.keyboard.type(typed)
        page.keyboard.press("Enter")
        form.until("!document.getElementById('result').hidden")
        form.settled()
        assert (focus(), form.state) == ("result", "reject")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        assert focus() == "r-axis"
        page.keyboard.type("10")
        page.keyboard.press("Enter")
        form.until("document.getElementById('result').dataset.state === 'accept'")
        assert focus() == "result"


def tree(form: Watched) -> list[dict[str, Any]]:
    """Chromium's accessibility tree, flat: role, name, description and properties of what is not ignored."""
    session = form.page.context.new_cdp_session(form.page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    return [
        {
            "role": node["role"]["value"],
            "name": node.get("name", {}).get("value", ""),
            "description": node.get("description", {}).get("value", ""),
            **{one["name"]: one["value"].get("value") for one in node.get("properties", ())},
        }
        for node in nodes
        if not node["ignored"]
    ]


NAMED = {"textbox", "combobox", "radio", "radiogroup", "button", "link", "image", "group", "region", "Date"}


@pytest.mark.parametrize("language", LANGUAGES)
def test_everything_has_a_name_in_every_state(browser: Any, base: str, language: str) -> None:
    with opened(browser, base, locale=language) as form:
        for state in states(form):
            nodes = tree(form)
            roles = {node["role"] for node in nodes}
            assert {"textbox", "combobox", "radio", "button", "group", "heading"} <= roles
            nameless = [node for node in nodes if node["role"] in NAMED and not node["name"]]
            assert nameless == [], state
            headings = form.page.locator("h1, h2, h3").evaluate_all(
                "all => all.filter(e => e.checkVisibility()).map(e => e.tagName)"
            )
            assert headings[0] == "H1"
            assert headings == sorted(headings)


def test_a_screen_reader_is_told_what_is_wrong_with_a_field(browser: Any, base: str) -> None:
    with opened(browser, base) as form:
        form.page.click("#example")
        form.fill(r_axis="", l_sphere="2.50")
        form.send()
        fields = {(node["name"], node.get("invalid")): node for node in tree(form) if node["role"] == "textbox"}
        told = fields["SPH", "true"]["description"]
        assert told.startswith("SPH and CYL need their + or − sign.")  # the hint stays
        assert "To correct" in told
        assert "Please write it with its + or − sign" in told
        assert ("SPH", "false") in fields  # that of the other eye
        region = [node for node in tree(form) if node["role"] == "region"]
        assert [node["name"] for node in region] == ["Please correct"]
        assert form.page.get_attribute("#status", "role") == "status"
        form.fill(l_sphere="-2.50", r_axis="10")
        form.send()
        assert not [node for node in tree(form) if node["role"] == "textbox" and node.get("invalid") == "true"]
        assert [node["name"] for node in tree(form) if node["role"] == "image" and node["name"]]


def test_each_state_has_a_word_and_a_sign_of_its_own_beside_its_colour(browser: Any, base: str) -> None:
    with opened(browser, base) as form:
        shown = {}
        for _ in states(form):
            if form.state:
                drawn = form.page.evaluate(
                    "[...document.querySelectorAll('.icon path')].filter(p => getComputedStyle(p).display !== 'none')"
                    ".map(p => p.getAttribute('d'))"
                )
                assert len(drawn) == 1
                shown[form.state] = (form.text("#state"), drawn[0])
        assert {state: word for state, (word, _) in shown.items()} == {
            "accept": "Ready",
            "review": "A person will look",
            "reject": "Please correct",
        }
        assert len({sign for _, sign in shown.values()}) == 3


@pytest.mark.parametrize(("wish", "behaviour"), [("reduce", "auto"), ("no-preference", "smooth")])
def test_who_wants_little_movement_gets_none(browser: Any, base: str, wish: str, behaviour: str) -> None:
    with opened(browser, base, reduced_motion=wish) as form:
        assert form.page.evaluate("getComputedStyle(document.documentElement).scrollBehavior") == behaviour
        moving = "[...document.querySelectorAll('*')].filter(e => getComputedStyle(e).transitionDuration !== '0s'"
        assert form.page.evaluate(f"{moving} || getComputedStyle(e).animationName !== 'none').length") == 0
