"""One value an address, as a spreadsheet fetches it: readable text, an error where there is none, and words beside it."""

import re
from typing import Any
from urllib.parse import quote

import pytest
from starlette.testclient import TestClient
from web_toys import problem_of

from service.app import create_app
from service.cell_parameters import Parameter
from service.cells import FIGURES
from service.settings import Settings

CELLS, WHY = "/v1/cells/", "/v1/cells/why/"
POWER = "sph=-2.25&cyl=-0.75&axis=10"
FRAME = "pd=31.5&a=54&b=40&dbl=18&ed=58&height=22"
PAIR = f"r{POWER.replace('&', '&r')}&lsph=-2.50&lcyl=-0.50&laxis=170&rpd=31.5&lpd=32&a=54&b=40&dbl=18&ed=58"
LONGEST = 2000


@pytest.mark.parametrize(
    ("address", "value"),
    [
        # ANSI and textbook arithmetic: sphere and half the cylinder; sphere plus cylinder, sign turned, axis by 90.
        (f"spherical-equivalent?{POWER}", "-2.625"),
        ("spherical-equivalent?sph=2.25", "2.25"),
        ("spherical-equivalent?sph=0.25&cyl=-0.50&axis=10", "0"),
        (f"transposed?{POWER}", "-3.00 +0.75 x 100"),
        (f"transposed?{POWER}&part=sph", "-3"),
        (f"transposed?{POWER}&part=axis", "100"),
        ("transposed?sph=-3.00&cyl=0.75&axis=100", "-2.25 -0.75 x 010"),
        (f"transposed?{POWER}&form=minus", "-2.25 -0.75 x 010"),
        ("transposed?sph=-2.25", "-2.25 DS"),
        # (54 + 18)/2 - 31.5; 22 - 40/2; 58 + 2 sqrt(4.5^2 + 2^2) + 2; the larger of 54 + 9 and 40 + 4, and 2.
        ("decentration?pd=31.5&a=54&dbl=18", "4.5"),
        ("decentration?pd=37&a=54&dbl=18", "-1"),
        ("decentration?pd=31.5&a=54&dbl=18&b=40&height=22&part=up", "2"),
        (f"least-blank?{FRAME}", "69.8489"),
        (f"least-blank?{FRAME}&which=at_least", "65"),
        (f"margin?{FRAME}&blank=70", "0.1511"),
        (f"margin?{FRAME}&blank=60", "-9.8489"),
        (f"decision?{PAIR}&blank=70&material=polycarbonate&as_of=2026-11-25", "accept"),
        (f"decision?{PAIR}&blank=60&as_of=2026-11-25", "reject"),
        # F/(1 - d F): -10/(1 - (-0.002)(-10)) = -10.2041; +10/(1 + 0.002 x 10) = 9.8039.
        ("vertex-power?sph=-10&from_vd=12&to_vd=14", "-10.20 DS"),
        ("vertex-power?sph=-10&from_vd=12&to_vd=14&part=sph", "-10.2041"),
        ("vertex-power?sph=10&from_vd=12&to_vd=14&part=sph", "9.8039"),
        ("vertex-power?sph=-10&cyl=-1&axis=20&from_vd=12&to_vd=12", "-10.00 -1.00 x 020"),
        # Prentice's rule: 0.25 cm x 4 D, base out behind a minus lens whose centre is in; up and down likewise.
        ("prism?sph=-4&eye=right&in=2.5", "-1"),
        ("prism?sph=-4&eye=left&in=2.5", "-1"),
        ("prism?sph=4&eye=left&in=2.5&up=-5&part=vertical", "-2"),
        ("prism?sph=4&eye=left&in=3&up=4&part=amount", "2"),
    ],
)
def test_a_cell_is_one_value_as_plain_text(service: TestClient, address: str, value: str) -> None:
    response = service.get(CELLS + address)
    assert (response.status_code, response.text) == (200, value)
    assert response.headers["content-type"] == "text/plain; charset=utf-8"
    words = service.get(WHY + address)
    assert words.status_code == 200
    assert words.text.startswith(value)
    assert words.text.endswith(".")


@pytest.mark.parametrize("minus", ["-", "%2D", "%E2%88%92", "\u2212", "%E2%80%93"])
def test_a_minus_is_taken_however_it_is_written(service: TestClient, minus: str) -> None:
    assert service.get(f"{CELLS}spherical-equivalent?sph={minus}2.25").text == "-2.25"


@pytest.mark.parametrize("plus", ["+2.25", "%2B2.25", "2.25", "2,25", "+2%2C25"])
def test_a_plus_stays_a_plus_and_a_comma_is_a_decimal_point(service: TestClient, plus: str) -> None:
    assert service.get(f"{CELLS}spherical-equivalent?sph={plus}").text == "2.25"


@pytest.mark.parametrize(
    "text", ["%202.25", "2.25%20", "--2.25", "2.25D", "2.2.5", "1,250.5", "2e1", "nan", "\u0662", "1.", "%00"]
)
def test_what_is_no_figure_beyond_doubt_is_refused(service: TestClient, text: str) -> None:
    response = service.get(f"{CELLS}spherical-equivalent?sph={text}")
    assert response.status_code == 422
    assert faults(response) == [("not-a-number", "sph")]


def faults(response: Any, code: str = "unreadable-request") -> list[tuple[str, str | None]]:
    return [(fault["code"], fault.get("parameter")) for fault in problem_of(response, code)["errors"]]


@pytest.mark.parametrize(
    ("address", "expected"),
    [
        ("spherical-equivalent", [("parameter-missing", "sph")]),
        ("spherical-equivalent?sph=", [("parameter-missing", "sph")]),
        ("spherical-equivalent?sph=1&sph=1", [("parameter-repeated", "sph")]),
        ("spherical-equivalent?sph=1&sphere=1", [("parameter-unknown", None)]),
        ("spherical-equivalent?sph=1001", [("too-large", "sph")]),
        ("spherical-equivalent?sph=1&eye=Right", [("not-one-of", "eye")]),
        ("least-blank?pd=31.5&a=54&b=40", [("parameter-missing", "dbl")]),
        ("least-blank?pd=31.5&a=5&b=40&dbl=18", [("too-small", "a")]),
        ("decentration?pd=31.5&a=54&dbl=18&part=up", [("parameter-missing", "height"), ("parameter-missing", "b")]),
        ("decision?rsph=1&lsph=1&a=54&b=40&dbl=18&rprism=2", [("parameter-missing", "rbase")]),
        (
            "decision?rsph=1&lsph=1&a=54&b=40&dbl=18&lbase2=in",
            [("parameter-missing", "lprism2"), ("parameter-missing", "lprism")],
        ),
        ("decision?rsph=1&lsph=1&a=54&b=40&dbl=18&as_of=2026-02-30", [("not-a-date", "as_of")]),
    ],
)
def test_what_cannot_be_read_is_refused_by_name(
    service: TestClient, address: str, expected: list[tuple[str, str | None]]
) -> None:
    response = service.get(CELLS + address)
    assert response.status_code == 422
    assert faults(response) == expected
    assert response.headers["cache-control"] == "no-store"
    words = service.get(WHY + address)
    assert (words.status_code, words.text.partition(".")[0]) == (200, "There is no value")
    for fault in problem_of(response, "unreadable-request")["errors"]:
        assert fault["message"] in words.text


@pytest.mark.parametrize(
    ("address", "code", "parameter"),
    [
        ("spherical-equivalent?sph=-2.25&cyl=-0.75", "cylinder-without-axis", "axis"),
        ("transposed?sph=-2.25&cyl=-0.75&axis=200", "axis-out-of-range", "axis"),
        ("transposed?sph=-2.25&axis=20", "axis-without-cylinder", "cyl"),
        ("transposed?sph=-2.25&part=axis", "no-axis", "part"),
        ("prism?sph=-225&eye=right&in=2", "power-out-of-reach", "sph"),
        ("vertex-power?sph=-2&cyl=1&from_vd=12&to_vd=14", "cylinder-without-axis", "axis"),
        ("vertex-power?sph=28&from_vd=40&to_vd=0", "beyond-focus", "to_vd"),
        ("decentration?pd=63&a=54&dbl=18", "pd-for-one-eye-looks-like-both", "pd"),
        ("least-blank?pd=31.5&a=54&b=40&dbl=18&ed=50", "ed-below-box", "ed"),
        ("margin?pd=31.5&a=54&b=40&dbl=18&ed=70&blank=70", "ed-above-diagonal", "ed"),
        ("least-blank?pd=31.5&a=54&b=40&dbl=18&height=41", "fitting-height-outside-lens", "height"),
    ],
)
def test_a_figure_that_would_rest_on_something_misread_is_not_shown(
    service: TestClient, address: str, code: str, parameter: str
) -> None:
    response = service.get(CELLS + address)
    assert response.status_code == 422
    assert faults(response, "no-figure") == [(code, parameter)]
    words = service.get(WHY + address)
    assert words.status_code == 200
    assert problem_of(response, "no-figure")["errors"][0]["message"] in words.text
    assert "right eye" not in words.text or "eye=" in address


def test_the_eye_is_named_in_words_only_where_it_was_named_in_the_address(service: TestClient) -> None:
    address = f"{WHY}spherical-equivalent?sph=-2.25&cyl=-0.75"
    assert "this eye" in service.get(address).text
    assert "the left eye" in service.get(f"{address}&eye=left").text


def test_the_words_say_what_was_taken_for_what_was_left_out(service: TestClient) -> None:
    words = service.get(f"{WHY}least-blank?pd=31.5&a=54&b=40&dbl=18").text
    assert "diagonal of the box" in words
    assert "fitting height" in words
    usual = service.get(f"{WHY}least-blank?pd=31.5&a=54&b=40&dbl=18&which=expected").text
    assert "the usual one" in usual
    assert "ED" not in service.get(f"{WHY}least-blank?{FRAME}").text


def test_a_negative_margin_is_shown_and_its_finding_told(service: TestClient) -> None:
    address = f"margin?{FRAME}&blank=60"
    assert float(service.get(CELLS + address).text) < 0
    assert "at least 65 mm" in service.get(WHY + address).text


# Keeping.


def test_a_value_that_is_known_already_is_not_sent_again(service: TestClient) -> None:
    address = f"{CELLS}spherical-equivalent?{POWER}"
    first = service.get(address)
    tag = first.headers["etag"]
    assert re.fullmatch(r'"[0-9a-f]{32}"', tag)
    for known in (tag, f"W/{tag}", f'"other", {tag}', "*"):
        again = service.get(address, headers={"If-None-Match": known})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
        assert again.headers["cache-control"] == first.headers["cache-control"]
    other = service.get(f"{CELLS}spherical-equivalent?sph=1", headers={"If-None-Match": tag})
    assert (other.status_code, other.text) == (200, "1")


def test_a_refusal_is_sent_whatever_is_known(service: TestClient) -> None:
    assert service.get(f"{CELLS}spherical-equivalent?sph=x", headers={"If-None-Match": "*"}).status_code == 422


def test_only_what_depends_on_no_day_is_kept(service: TestClient) -> None:
    kept = "private, max-age=300, must-revalidate"
    for address, said in (
        (f"margin?{FRAME}&blank=70", kept),
        (f"decision?{PAIR}&as_of=2026-11-25", kept),
        (f"decision?{PAIR}", "private, no-cache"),
    ):
        for base in (CELLS, WHY):
            assert service.get(base + address).headers["cache-control"] == said


def test_head_and_options_are_answered_as_office_programs_send_them(service: TestClient) -> None:
    address = f"{CELLS}transposed?{POWER}"
    get, head, options = service.get(address), service.head(address), service.options(address)
    assert (head.status_code, head.content, head.headers["etag"]) == (200, b"", get.headers["etag"])
    assert head.headers["content-length"] == str(len(get.content))
    assert (options.status_code, options.headers["allow"]) == (204, "GET, HEAD, OPTIONS")
    assert service.head(f"{CELLS}transposed?sph=x").status_code == 422


def test_nothing_of_an_address_is_logged(capsys: pytest.CaptureFixture[str]) -> None:
    with TestClient(create_app(Settings())) as client:
        client.get(f"{CELLS}decision?{PAIR}&age=77")
        client.get(f"{CELLS}transposed?sph=-7.77")
    written = "".join(capsys.readouterr())
    assert '"/v1/cells/decision"' in written
    assert '"decision":' in written
    assert "77" not in re.sub(r'"(time|request_id|milliseconds)":\s*("[^"]*"|[\d.]+)', "", written)


# The contract.


def longest_text(parameter: Parameter) -> str:
    """The longest that may be written for a word, in the letters that take most room in an address."""
    number = "\u22129999.123456789012"
    text = {
        "choice": max(parameter.choices, key=len, default=""),
        "day": "2026-11-25",
        "id": "x" * 40,
        "base": number[1:],
    }.get(parameter.kind, number)
    assert re.fullmatch(parameter.pattern, text)
    return quote(text)


@pytest.mark.parametrize("figure", FIGURES, ids=lambda figure: figure.name)
def test_the_longest_address_there_can_be_fits_a_spreadsheet(figure: Any) -> None:
    query = "&".join(f"{one.name}={longest_text(one)}" for one in figure.parameters)
    base = "https://benchgate.a-shop-with-a-long-name.example.com:8443"
    assert len(f"{base}{WHY}{figure.name}?{query}") < LONGEST


def test_every_word_is_published_with_what_may_be_written(service: TestClient) -> None:
    paths = service.get("/openapi.json").json()["paths"]
    for figure in FIGURES:
        published = {one["name"]: one for one in paths[f"{CELLS}{figure.name}"]["get"]["parameters"]}
        assert list(published) == [one.name for one in figure.parameters]
        for one in figure.parameters:
            assert published[one.name]["required"] is one.required
            assert published[one.name]["description"]
            assert published[one.name]["schema"].keys() & {"pattern", "enum"}
        beside = paths[f"{WHY}{figure.name}"]["get"]["parameters"]
        assert [one["name"] for one in beside] == list(published)
        assert not any(one["required"] for one in beside)


def test_the_published_example_of_every_figure_has_a_value(service: TestClient) -> None:
    paths = service.get("/openapi.json").json()["paths"]
    for figure in FIGURES:
        for base in (CELLS, WHY):
            words = paths[f"{base}{figure.name}"]["get"]["parameters"]
            example = {one["name"]: one["example"] for one in words if "example" in one}
            assert {one.name for one in figure.parameters if one.required} <= example.keys()
            response = service.get(f"{base}{figure.name}", params=example)
            assert (response.status_code, response.text[:11] == "There is no") == (200, False), response.text


def test_a_query_that_is_not_utf8_is_refused(service: TestClient) -> None:
    for base in (CELLS, WHY):
        response = service.get(f"{base}spherical-equivalent?sph=%FF")
        assert response.status_code == 422
        assert faults(response) == [("not-utf8", None)]
