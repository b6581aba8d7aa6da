"""The order form in a real browser: good orders, each kind of bad one, a service that is down or slow, other languages."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from chromium import browsing, serving
from order_form_pages import Stub, Watched, opened, stubbed

from service.settings import Settings

REFUSED = "Failed to load resource: the server responded with a status of 422"


@pytest.fixture(scope="module")
def base() -> Iterator[str]:
    with serving(Settings(log=False, demo=True)) as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with browsing() as one:
        yield one


@pytest.fixture
def form(browser: Any, base: str) -> Iterator[Watched]:
    with opened(browser, base) as seen:
        seen.page.click("#example")
        yield seen


def answer_of(form: Watched, address: str = "/v1/orders/check") -> Any:
    """What the service answered last."""
    asked = [request for request in form.asked if request.url == f"{form.base}{address}"]
    return asked[-1].response().json()


def test_a_good_order_is_ready_with_its_drawing_and_its_cautions(form: Watched) -> None:
    form.send()
    assert form.state == "accept"
    assert form.text("#state") == "Ready"
    assert form.page.locator("[aria-invalid]").count() == 0
    form.until("document.getElementById('drawing-image').naturalWidth > 0")
    assert form.page.locator("#drawing-image").get_attribute("alt")
    cautions = [one["message"] for one in answer_of(form)["cautions"]]
    assert form.page.locator("#cautions li").all_inner_texts() == cautions
    assert len(cautions) >= 4
    assert form.page.evaluate("document.activeElement.id") == "result"
    assert form.said == []


def test_the_form_asks_nobody_else_and_keeps_nothing(form: Watched) -> None:
    form.send()
    assert {request.url.split("?")[0] for request in form.asked if not request.url.startswith("data:")} == {
        f"{form.base}/demo/",
        *(
            f"{form.base}/demo/{name}"
            for name in ("form.css", "form.js", "order.js", "service.js", "show.js", "words.js")
        ),
        f"{form.base}/v1/orders/check",
        f"{form.base}/v1/bench/drawing",
    }
    kept = "[localStorage.length, sessionStorage.length, document.cookie, location.search, location.hash]"
    assert form.page.evaluate(kept) == [0, 0, "", "", ""]
    form.page.reload()
    assert form.page.input_value("#r-sphere") == ""


# What is typed over the example; where it must be said, how gravely, and how it begins.
BAD = {
    "missing field": ({"a": ""}, "a", "reject", "To correctThis is needed."),
    "whole eye missing": (
        {"r_sphere": "", "r_cylinder": "", "r_axis": ""}, "right", "reject", "To correctThis is needed."
    ),
    "pd missing": ({"pd_both": ""}, "pd", "reject", "To correctWe need the pupillary distance (PD)"),
    "cylinder without axis": ({"r_axis": ""}, "r-axis", "reject", "To correctThe right eye has a CYL figure but no AXIS."),
    "sign may be lost": ({"l_sphere": "+2.25"}, "l-sphere", "review", "To checkOne eye is plus (+) and the other minus"),
    "no sign": ({"r_sphere": "2.25"}, "r-sphere", "reject", "To correctPlease write it with its + or − sign"),
    "no point": ({"l_cylinder": "-50"}, "l-cylinder", "reject", "To correctPlease write it with its + or − sign"),
    "not a number": ({"b": "forty"}, "b", "reject", "To correctPlease write a number."),
    "far too large": ({"dbl": "180"}, "dbl", "reject", "To correctThis number is too large."),
    "axis 200": ({"l_axis": "200"}, "l-axis", "reject", "To correctThe AXIS of the left eye must be a number from 1 to 180."),
    "blank too small": ({"a": "64", "ed": ""}, "lens", "reject", "To correctThis frame is too wide for lenses"),
    "pd of one eye": ({"pd_both": "31"}, "pd-both", "reject", "To correctThe PD you gave is about half of a usual one."),
    "old prescription": ({"issued": "2019-05-01"}, "issued", "review", "To checkYour prescription is quite old."),
    "a child": ({"age": "7"}, "age", "review", "To checkGlasses for a child are checked by a person"),
}  # fmt: skip


@pytest.mark.parametrize("kind", BAD)
def test_a_problem_is_said_beside_its_field_and_leads_there(form: Watched, kind: str) -> None:
    typed, place, gravity, words = BAD[kind]
    form.fill(**typed)
    form.send()
    assert form.state == gravity
    told, said = form.problem(place)
    assert (told, said[: len(words)]) == (gravity, words)
    is_field = form.page.locator(f"input#{place}").count() == 1
    invalid = [place] if is_field and gravity == "reject" else []
    assert form.page.evaluate("[...document.querySelectorAll('[aria-invalid=true]')].map(e => e.id)") == invalid
    assert form.page.evaluate("document.activeElement.id") == "result"
    link = form.page.locator(f'#problems a[href="#{place}"]').first
    link.click()
    assert form.page.evaluate("document.activeElement.id") == place
    assert [line for line in form.said if not line.startswith(REFUSED)] == []


def test_what_would_help_is_told_where_the_customer_can_do_it(form: Watched) -> None:
    form.fill(a="64", ed="")
    form.send()
    needed = [one for one in answer_of(form)["findings"] if one["code"] == "blank-too-small"]
    most = min(remedy["at_most"] for one in needed for remedy in one["remedies"] if remedy["pointer"] == "/frame/a_mm")
    assert f"This would help: Lens width (A): {most:g} or less" in form.problem("lens")[1]
    form.fill(a=f"{most:g}", b="35")
    form.send()
    assert "too wide for lenses" not in form.problem("lens")[1]


def test_a_problem_that_is_mended_is_gone(form: Watched) -> None:
    form.fill(r_axis="")
    form.send()
    form.fill(r_axis="10")
    form.send()
    assert form.state == "accept"
    assert form.page.locator(".problem.reject, .problem.review, [aria-invalid]").count() == 0
    assert form.page.get_attribute("#r-axis", "aria-describedby") is None
    assert form.page.get_attribute("#r-sphere", "aria-describedby") == "sign-hint"


@pytest.mark.parametrize(
    ("text", "state", "words"),
    [
        ("OD -2.25 -0.75 x 010, OS -2.50 -0.50 x 170", "accept", ""),
        ("R 2.25 -0.75 x 10\nL -2.50 -0.50 x 170", "reject", 'To correctPlease write + or − before "2.25"'),
        ("as last time", "reject", "To correctWe could not find a prescription in the text."),
        ("", "reject", "To correctThis is needed."),
        ("R -2.25 -0.75 x 10 L -2.50 <b id=x>", "reject", 'To correctWe did not understand "<b id=x>"'),
    ],
)
def test_a_prescription_may_be_pasted_as_text(form: Watched, text: str, state: str, words: str) -> None:
    form.page.check("input[value=text]")
    assert not form.page.is_visible("#r-sphere")
    form.fill(written=text)
    form.send()
    # Without its text there is no prescription of that kind: the group says so.
    place = "written" if text else "prescription"
    assert form.state == state
    assert form.problem(place)[1].startswith(words)
    assert form.page.locator("#x").count() == 0


def test_the_pd_of_a_text_is_taken_and_two_numbers_may_be_given(form: Watched) -> None:
    form.fill(pd_both="")
    form.page.check("input[value=text]")
    form.fill(written="OD -2.25, OS -2.50, PD 63")
    form.send()
    assert form.state == "accept"
    form.page.check("input[value=two]")
    form.fill(pd_right="31.5", pd_left="62")
    form.send()
    assert form.problem("pd-left")[1].startswith("To correctThe PD of the left eye looks like the distance for both")


def test_a_decimal_comma_and_any_minus_are_understood_and_plano_is_nothing(form: Watched) -> None:
    form.fill(r_sphere="−2,25", l_sphere="plano", l_cylinder="", l_axis="", pd_both="63,5")
    form.send()
    sent = json.loads([one for one in form.asked if one.url.endswith("/check")][-1].post_data)
    assert sent["prescription"]["right"] == {"sphere": -2.25, "cylinder": -0.75, "axis": 10}
    assert sent["prescription"]["left"] == {"sphere": 0}
    assert sent["pd_mm"] == {"both": 63.5}


def test_a_customer_who_is_asked_for_the_vertex_distance_has_a_field_for_it(form: Watched) -> None:
    form.fill(r_sphere="-7.25", l_sphere="-7.50", age="")
    form.send()
    told, said = form.problem("vertex")
    assert (told, said.startswith("Good to knowThese lenses are strong.")) == ("note", True)
    form.fill(vertex="12")
    form.send()
    sent = json.loads([one for one in form.asked if one.url.endswith("/check")][-1].post_data)
    assert sent["prescription"]["vertex_distance_mm"] == 12
    form.page.check("input[value=text]")
    form.fill(written="OD -7.25, OS -7.50, BVD 12")
    form.send()
    sent = json.loads([one for one in form.asked if one.url.endswith("/check")][-1].post_data)
    assert "vertex_distance_mm" not in sent["prescription"]


def test_a_customer_with_prism_is_sent_to_the_text_which_takes_it(form: Watched) -> None:
    assert "If it shows a prism, paste it as text" in form.text("#sign-hint")
    form.page.check("input[value=text]")
    form.fill(written="OD -2.25 -0.75 x 010 2 base in, OS -2.50 -0.50 x 170")
    form.send()
    assert form.state == "review"
    assert "prescribed-prism-not-in-fit" in [one["code"] for one in answer_of(form)["findings"]]


@pytest.mark.parametrize(("language", "width"), [("en", 1200), ("es", 1200), ("es", 390), ("es", 320)])
def test_the_usual_material_can_be_read_in_full(form: Watched, language: str, width: int) -> None:
    form.page.set_viewport_size({"width": width, "height": 900})
    form.page.click(f"[data-language={language}]")
    room, needed = form.page.evaluate(
        """() => {
            const list = document.getElementById('material');
            const style = getComputedStyle(list);
            const pen = document.createElement('canvas').getContext('2d');
            pen.font = style.font;
            const arrow = 20;
            const inside = list.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight) - arrow;
            return [inside, pen.measureText(list.options[0].text).width];
        }"""
    )
    assert needed <= room
    assert form.page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_form_speaks_spanish_and_keeps_what_was_typed(form: Watched) -> None:
    form.fill(r_axis="")
    form.send()
    form.page.click("[data-language=es]")
    form.until("document.getElementById('state').textContent.startsWith('Por favor')")
    form.settled()
    assert form.page.evaluate("document.documentElement.lang") == "es"
    assert [one.headers["accept-language"] for one in form.asked if one.url.endswith("/check")] == ["en", "es"]
    assert form.problem("r-axis")[1].startswith("Por corregirEl ojo derecho tiene una cifra CIL, pero no un EJE.")
    assert form.text("label[for=r-sphere]") == "ESF (SPH)"
    assert form.page.input_value("#l-axis") == "170"
    # Whoever changes the language stays where they are.
    assert form.page.evaluate("document.activeElement.dataset.language") == "es"
    form.fill(b="cuarenta", r_axis="10")
    form.send()
    assert form.problem("b")[1] == "Por corregirPor favor, escriba un número."


def test_a_browser_set_to_spanish_is_met_in_spanish(browser: Any, base: str) -> None:
    with opened(browser, base, locale="es-MX") as seen:
        assert (seen.page.evaluate("document.documentElement.lang"), seen.text("h1")) == ("es", "Pedir gafas")
    with opened(browser, base, locale="fr-FR") as seen:
        assert seen.text("h1") == "Order glasses"


def test_the_words_are_the_same_in_number_in_both_languages(form: Watched) -> None:
    tables = form.page.evaluate(
        """async () => {
            const {WORDS} = await import('./words.js');
            const flat = (table, at = '') => Object.entries(table).flatMap(([key, value]) =>
                typeof value === 'object' ? flat(value, `${at}${key}/`) : [[`${at}${key}`, `${value}`]]);
            return Object.fromEntries(Object.entries(WORDS).map(([name, table]) => [name, Object.fromEntries(flat(table))]));
        }"""
    )
    assert tables["en"].keys() == tables["es"].keys()
    alike = {key for key, words in tables["en"].items() if words == tables["es"][key]}
    assert alike == {"add", "material"}
    used = form.page.evaluate("[...document.querySelectorAll('[data-word]')].map(e => e.dataset.word)")
    assert set(used) <= tables["en"].keys()


SPOKEN = {'data-seconds="10"': 'data-seconds="1"'}


@pytest.mark.parametrize(
    ("stub", "words"),
    [
        (Stub(SPOKEN, wait_seconds=20), "No answer came within 1 seconds."),
        (Stub(SPOKEN, status=502), "The service cannot be reached just now."),
        (Stub(SPOKEN, kind="application/json", body=b"{half"), "The service cannot be reached just now."),
        (
            Stub(SPOKEN, 503, "application/problem+json", b'{"status": 503, "request_id": "r1"}'),
            "The service is busy. Everything you typed is still here. Please try again in a moment. Number for the shop: r1",
        ),
        (
            Stub(SPOKEN, 500, "application/problem+json", b'{"status": 500, "request_id": "abc123"}'),
            "Something went wrong at the service, not with your order.",
        ),
    ],
    ids=["slow", "page of a proxy", "half an answer", "busy", "failed"],
)
def test_a_service_that_does_not_answer_loses_nothing(browser: Any, stub: Stub, words: str) -> None:
    with stubbed(stub), opened(browser, stub.base) as seen:
        seen.page.click("#example")
        seen.page.click("#send")
        assert seen.failure().startswith(words)
        assert "Everything you typed is still here." in seen.text("#failure")
        assert seen.page.get_attribute("#failure", "role") == "alert"
        assert (seen.page.input_value("#r-sphere"), seen.page.input_value("#reference")) == ("-2.25", "W-1042")
        assert seen.state == ""
        assert seen.page.get_attribute("#send", "aria-disabled") is None
        assert seen.page.evaluate("document.activeElement.id") == "send"


def test_a_service_that_is_down_loses_nothing_and_is_asked_again(browser: Any) -> None:
    with serving(Settings(log=False, demo=True)) as address, opened(browser, address) as seen:
        seen.page.click("#example")
        seen.page.route("**/v1/**", lambda route: route.abort("connectionrefused"))
        seen.page.click("#send")
        assert seen.failure().startswith("The service cannot be reached just now.")
        assert seen.page.input_value("#l-axis") == "170"
        seen.page.unroute("**/v1/**")
        seen.send()
        assert (seen.state, seen.text("#failure")) == ("accept", "")


def test_a_second_press_while_waiting_asks_once_more_and_shows_one_answer(browser: Any) -> None:
    with stubbed(Stub(SPOKEN, wait_seconds=0.6, status=502)) as stub, opened(browser, stub.base) as seen:
        seen.page.click("#example")
        seen.page.click("#send")
        assert seen.text("#status") == "Checking …"
        assert seen.page.get_attribute("#send", "aria-disabled") == "true"
        seen.page.click("#send")
        assert seen.failure().startswith("The service cannot be reached just now.")


def test_the_form_on_a_page_of_another_host_is_answered_only_where_that_is_allowed(browser: Any) -> None:
    with stubbed(Stub({})) as site:
        with serving(Settings(log=False, allow_origins=(site.base,))) as service:
            site.replaced = {'data-service=".."': f'data-service="{service}"'}
            with opened(browser, site.base) as seen:
                seen.page.click("#example")
                seen.send()
                assert (seen.state, seen.said) == ("accept", [])
                seen.until("document.getElementById('drawing-image').naturalWidth > 0")
                seen.fill(b="forty")
                seen.send()
                assert seen.problem("b")[1] == "To correctPlease write a number."
        with serving(Settings(log=False)) as service:
            site.replaced = {'data-service=".."': f'data-service="{service}"'}
            with opened(browser, site.base) as seen:
                seen.page.click("#example")
                seen.page.click("#send")
                assert seen.failure().startswith("The service cannot be reached just now.")
                assert any("blocked by CORS policy" in line for line in seen.said)


def test_the_policy_is_at_work_and_would_have_been_heard(form: Watched) -> None:
    """Without this, a silent console would prove nothing."""
    form.page.evaluate("document.body.append(Object.assign(new Image(), {src: 'http://elsewhere.example/x.png'}))")
    form.page.evaluate(
        "document.head.append(Object.assign(document.createElement('script'), {text: 'window.ran = 1'}))"
    )
    form.page.evaluate("fetch('http://127.0.0.1:9/').catch(() => null)")
    form.page.wait_for_timeout(200)
    assert form.page.evaluate("window.ran") is None
    for blocked in ("img-src http://elsewhere.example", "script-src-elem inline", "connect-src http://127.0.0.1:9"):
        assert any(line.startswith(f"policy: {blocked}") for line in form.said), blocked
