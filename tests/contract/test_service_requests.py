"""How the real service reads an order, and how it tells what it could not read.

The numbers in brackets are those of the list in the house style of what this stack gets wrong unless told otherwise.
"""

from typing import Any

import pytest
from service_calls import LEFT_OUT, TEXT, example, faults, send
from starlette.testclient import TestClient
from web_toys import problem_of


def test_the_example_is_answered(service: TestClient) -> None:
    response = send(service, TEXT)
    assert (response.status_code, response.headers["content-type"]) == (200, "application/json")
    assert response.json()["reference"] == "W-1042"


# Texts that two readers could take differently. (1, 2)


@pytest.mark.parametrize(
    ("before", "after", "pointer"),
    [
        ('"sphere": -2.25', '"sphere": -2.25, "sphere": 2.25', "/prescription/right/sphere"),
        ('"a_mm": 54', '"a_mm": 54, "a_mm": 54', "/frame/a_mm"),
        ('"pd_mm": {', '"pd_mm": {}, "pd_mm": {', "/pd_mm"),
    ],
)
def test_a_duplicate_member_is_refused(service: TestClient, before: str, after: str, pointer: str) -> None:
    assert faults(send(service, TEXT.replace(before, after, 1))) == [("duplicate-member", pointer)]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "-1e999"])
def test_a_number_that_is_not_finite_is_refused(service: TestClient, number: str) -> None:
    response = send(service, TEXT.replace("-2.25", number, 1))
    assert response.status_code == 422
    assert faults(response) == [("number-not-finite", "/prescription/right/sphere")]
    assert "1e999" not in response.text


@pytest.mark.parametrize("text", ['{"a": 1,}', "{'a': 1}", '{"sphere": 010}', '{"sphere": +1}', "{", "no json"])
def test_text_that_is_not_json_is_told_by_line_and_column(service: TestClient, text: str) -> None:
    (fault,) = problem_of(send(service, text), "unreadable-request")["errors"]
    assert fault["code"] == "json-syntax"
    assert (fault["line"], fault["column"] >= 1, "pointer" in fault) == (1, True, False)


@pytest.mark.parametrize("body", [b'{"reference": "\xff"}', b"\xef\xbb\xbf{}", '{"a": 1}'.encode("utf-16")])
def test_a_body_that_is_not_plain_utf8_is_refused(service: TestClient, body: bytes) -> None:
    assert [code for code, _ in faults(send(service, body))] == ["not-utf8"]


# Values of the wrong kind, below the union `prescription` as elsewhere. (3, 4)


@pytest.mark.parametrize("value", [True, "-2.25", "010", None, [], {}])
@pytest.mark.parametrize("pointer", ["/prescription/right/sphere", "/frame/a_mm"])
def test_what_is_not_a_number_is_not_taken_for_one(service: TestClient, pointer: str, value: object) -> None:
    order = example(**{pointer.strip("/").replace("/", "__"): value})
    assert faults(send(service, order)) == [("not-a-number", pointer)]


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        ("prescription__right__axis", "10", "not-a-number"),
        ("prescription__left__sphere", 1000.5, "too-large"),
        ("prescription__left__cylinder", -1000.5, "too-small"),
        ("prescription__right__sphere", LEFT_OUT, "member-missing"),
        ("prescription__right", LEFT_OUT, "member-missing"),
        ("prescription__left", 5, "wrong-kind"),
        ("prescription__issued_on", "2026-02-30", "not-a-date"),
        ("prescription__issued_on", "01.02.2026", "not-a-date"),
        ("prescription__issued_on", 20260201, "not-a-date"),
        ("prescription__right__axs", 10, "member-unknown"),
        ("prescription__right__prism", {"amount": 1, "base": "in"}, "wrong-kind"),
        ("prescription", "R -2.25 L -2.50", "wrong-kind"),
        ("prescription", {"written": 5}, "not-text"),
        ("prescription", {"written": ""}, "too-short"),
        ("frame__rim", "metal", "not-one-of"),
        ("lens__use", "Distance", "not-one-of"),
        ("reference", "x" * 101, "too-long"),
        ("as_of", "yesterday", "not-a-date"),
        ("pd_mm", LEFT_OUT, "member-missing"),
        ("frame__dbl_mm", LEFT_OUT, "member-missing"),
        ("pd_mm__right", 0.5, "too-small"),
        ("wearer__age_years", 131, "too-large"),
    ],
)
def test_a_fault_is_told_by_its_place(service: TestClient, path: str, value: object, code: str) -> None:
    order = example(**{path: value})
    pointer = "/" + path.replace("__", "/")
    if isinstance(value, dict) and "written" in value:
        pointer += "/written"
    response = send(service, order)
    assert response.status_code == 422
    assert faults(response) == [(code, pointer)]
    assert_it_can_be_found(pointer, order)


@pytest.mark.parametrize(
    ("part", "pointer", "code"),
    [
        ({"amount": 1, "base": "inn"}, "/prescription/right/prism/1/base", "not-one-of"),
        ({"amount": 1, "base": 361}, "/prescription/right/prism/1/base", "too-large"),
        ({"amount": 1, "base": True}, "/prescription/right/prism/1/base", "not-one-of"),
        ({"amount": "1", "base": "in"}, "/prescription/right/prism/1/amount", "not-a-number"),
        ({"amount": 1}, "/prescription/right/prism/1/base", "member-missing"),
    ],
)
def test_a_fault_in_a_prism_is_told_by_its_place(
    service: TestClient, part: dict[str, Any], pointer: str, code: str
) -> None:
    order = example(prescription__right__prism=[{"amount": 1, "base": "in"}, part])
    assert faults(send(service, order)) == [(code, pointer)]
    assert_it_can_be_found(pointer, order)


def assert_it_can_be_found(pointer: str, document: object) -> None:
    """The pointer resolves in what was sent, or its parent does."""
    *parents, last = pointer.removeprefix("/").split("/")
    node: Any = document
    for step in parents:
        node = node[int(step)] if isinstance(node, list) else node[step]
    assert isinstance(node, dict | list), (pointer, last)


@pytest.mark.parametrize(
    ("path", "suggested"),
    [
        ("prescription__right__spher", "sphere"),
        ("frame__a_cm", "a_mm"),
        ("frame__DBL_mm", "dbl_mm"),
        ("lens__materials", "material"),
        ("wearer__age_year", "age_years"),
        ("profile__blank__allowence_mm", "allowance_mm"),
    ],
)
def test_a_misspelt_member_is_met_with_the_name_that_was_meant(service: TestClient, path: str, suggested: str) -> None:
    (fault,) = problem_of(send(service, example(**{path: 1})), "unreadable-request")["errors"]
    assert (fault["code"], fault["pointer"]) == ("member-unknown", "/" + path.replace("__", "/"))
    assert f"Did you mean `{suggested}`?" in fault["message"]


def test_all_faults_are_told_at_once(service: TestClient) -> None:
    order = example(prescription__right__sphere="a", frame__a_mm=5, lens__use="x", pd_mm__rihgt=1)
    assert sorted(faults(send(service, order))) == [
        ("member-unknown", "/pd_mm/rihgt"),
        ("not-a-number", "/prescription/right/sphere"),
        ("not-one-of", "/lens/use"),
        ("too-small", "/frame/a_mm"),
    ]


# The profile in a request.


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        ("profile__blank__allowance_mm", 11, "too-large"),
        ("profile__blank__allowance_mm", -0.1, "too-small"),
        ("profile__power__readable_d", 5, "too-small"),
        ("profile__tolerance__standard", "iso-21987-1066", "not-one-of"),
        ("profile__stock", [], "too-few"),
        ("profile__cautions__codes", [], "too-few"),
        ("profile__blank", 5, "wrong-kind"),
    ],
)
def test_an_override_out_of_bounds_is_refused(service: TestClient, path: str, value: object, code: str) -> None:
    assert faults(send(service, example(**{path: value}))) == [(code, "/" + path.replace("__", "/"))]


@pytest.mark.parametrize(
    ("path", "value", "key"),
    [
        ("profile__frame__a_least_mm", 90, "frame.a_least_mm"),
        ("profile__shop__usual_material", "unobtainium", "shop.usual_material"),
        ("profile__stock", [{"material": "unobtainium", "diameters_mm": [70.0]}], "stock.0.material"),
        ("profile__cautions__codes", ["beware"], "cautions.codes"),
    ],
)
def test_overrides_that_contradict_are_a_finding_that_names_the_key(
    service: TestClient, path: str, value: object, key: str
) -> None:
    response = send(service, example(**{path: value}))
    assert (response.status_code, response.json()["decision"]) == (200, "reject")
    (finding,) = response.json()["findings"]
    assert (finding["code"], finding["pointer"]) == ("profile-contradicts-itself", "/profile")
    assert key in finding["message"]


def test_an_override_changes_the_judgement_and_says_so(service: TestClient) -> None:
    plain = send(service, TEXT).json()
    changed = send(service, example(profile__blank__allowance_mm=4)).json()
    assert (plain["decision"], changed["decision"]) == ("accept", "review")
    (finding,) = [one for one in changed["findings"] if one["severity"] == "review"][:1]
    assert finding["limit_from"] == "request, /profile/blank/allowance_mm"
    assert changed["fit"]["right"]["margin_mm"] == pytest.approx(plain["fit"]["right"]["margin_mm"] - 2, abs=1e-4)
    assert changed["engine"]["profile"] != plain["engine"]["profile"]


# What can be read is answered, also where it cannot be made.


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        ("prescription__right__axis", LEFT_OUT, "cylinder-without-axis"),
        ("prescription__right__axis", 200, "axis-out-of-range"),
        ("frame__ed_mm", 40, "ed-below-box"),
        ("lens__blank_diameter_mm", 60, "blank-too-small"),
        ("pd_mm", {}, "pd-missing"),
        ("prescription__left__sphere", 225, "power-out-of-reach"),
    ],
)
def test_an_order_that_cannot_be_made_is_answered_with_a_rejection(
    service: TestClient, path: str, value: object, code: str
) -> None:
    response = send(service, example(**{path: value}))
    assert (response.status_code, response.json()["decision"]) == (200, "reject")
    assert code in [finding["code"] for finding in response.json()["findings"]]
