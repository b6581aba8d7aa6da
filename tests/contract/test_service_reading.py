"""Prescriptions as text and as FHIR, over the web: one endpoint, one shape of answer, every finding at its place."""

import json
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

READ = "/v1/prescriptions/read"
FHIR = {"Content-Type": "application/fhir+json"}
AS_FHIR = {"Accept": "application/fhir+json"}
TEXT = "R -2.25 -0.75 x 10\nL -2.50 -0.50 x 170"
ORDER: dict[str, Any] = {
    "pd_mm": {"right": 31.5, "left": 32.0},
    "frame": {"a_mm": 54, "b_mm": 40, "dbl_mm": 18, "ed_mm": 58},
    "lens": {"material": "polycarbonate", "use": "distance", "blank_diameter_mm": 70},
    "as_of": "2026-11-25",
}
# The lens of the official example 33123 (HL7 FHIR, CC0), without its narrative.
DOCUMENT: dict[str, Any] = {
    "resourceType": "VisionPrescription",
    "status": "active",
    "created": "2026-06-15",
    "patient": {"display": "not given"},
    "dateWritten": "2026-06-15",
    "prescriber": {"display": "not given"},
    "lensSpecification": [
        {"product": {"coding": [{"code": "lens"}]}, "eye": "right", "sphere": -2.0, "add": 2.0},
        {
            "product": {"coding": [{"code": "lens"}]},
            "eye": "left",
            "sphere": -1.0,
            "cylinder": -0.5,
            "axis": 180,
            "add": 2.0,
        },
    ],
}


def read(service: TestClient, text: str, **headers: str) -> Any:
    answer = service.post(READ, json={"prescription": {"written": text}, "as_of": "2026-11-25"}, headers=headers)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_a_written_order_is_judged_like_one_in_fields(service: TestClient) -> None:
    eyes = {
        "right": {"sphere": -2.25, "cylinder": -0.75, "axis": 10},
        "left": {"sphere": -2.5, "cylinder": -0.5, "axis": 170},
    }
    written = service.post("/v1/orders/check", json={**ORDER, "prescription": {"written": TEXT}}).json()
    fields = service.post("/v1/orders/check", json={**ORDER, "prescription": eyes}).json()
    assert written == fields


def test_a_figure_that_a_rule_finds_is_shown_in_the_text(service: TestClient) -> None:
    text = "R -2.25 -0.75  L -2.50 -0.50 x 170"
    answer = read(service, text)
    finding = next(one for one in answer["findings"] if one["code"] == "cylinder-without-axis")
    assert (finding["severity"], finding["eye"], finding["pointer"]) == ("reject", "right", "/prescription/written")
    start, end = finding["span"]
    assert "-0.75" in text[start:end]
    assert answer["read_as"] is None


def test_every_figure_of_the_text_has_its_place(service: TestClient) -> None:
    answer = read(service, TEXT)
    said = {span["pointer"]: TEXT[span["start"] : span["end"]] for span in answer["spans"]}
    assert said["/prescription/right/sphere"] == "-2.25"
    assert said["/prescription/left/axis"] == "170"
    assert read(service, answer["read_as"])["read_as"] == answer["read_as"]


def test_a_pd_in_the_text_is_used_where_the_order_has_none_and_held_against_it_where_it_has(
    service: TestClient,
) -> None:
    prescription = {"written": f"{TEXT}\nPD 63.5"}
    without = service.post("/v1/orders/check", json={**ORDER, "pd_mm": {}, "prescription": prescription}).json()
    assert without["fit"]["right"]["pd_mm"] == 31.75
    assert any(taken["pointer"] == "/pd_mm" and taken["value"] == "PD 63.5" for taken in without["assumptions"])
    against = service.post(
        "/v1/orders/check", json={**ORDER, "pd_mm": {"both": 60}, "prescription": prescription}
    ).json()
    assert "pd-differs-from-text" in [finding["code"] for finding in against["findings"]]
    same = service.post("/v1/orders/check", json={**ORDER, "prescription": prescription}).json()
    assert "pd-differs-from-text" not in [finding["code"] for finding in same["findings"]]


def test_a_text_that_cannot_be_read_gives_an_order_without_figures(service: TestClient) -> None:
    answer = service.post("/v1/orders/check", json={**ORDER, "prescription": {"written": "as before, please"}}).json()
    assert answer["decision"] == "reject"
    assert answer["prescription"] is None
    assert answer["fit"] is None
    assert answer["cautions"]


@pytest.mark.parametrize("wrapped", [False, True])
def test_a_fhir_document_is_read_alone_and_inside_a_request(service: TestClient, wrapped: bool) -> None:
    if wrapped:
        answer = service.post(READ, json={"prescription": {"fhir": DOCUMENT}, "as_of": "2026-11-25"}).json()
    else:
        answer = service.post(READ, content=json.dumps(DOCUMENT), headers=FHIR).json()
    assert answer["read_as"] == "R -2.00 DS add +2.00  L -1.00 -0.50 x 180 add +2.00"
    assert answer["prescription"]["left"]["plus_cylinder"] == {"sphere": -1.5, "cylinder": 0.5, "axis": 90.0}


def test_findings_on_a_fhir_document_point_into_it(service: TestClient) -> None:
    lenses = [{**DOCUMENT["lensSpecification"][0], "cylinder": -0.5}, DOCUMENT["lensSpecification"][1]]
    document = {**DOCUMENT, "lensSpecification": lenses}
    alone = service.post(READ, content=json.dumps(document), headers=FHIR).json()
    assert [one["pointer"] for one in alone["findings"] if one["severity"] == "reject"] == ["/lensSpecification/0/axis"]
    inside = service.post(READ, json={"prescription": {"fhir": document}}).json()
    rejected = [one["pointer"] for one in inside["findings"] if one["severity"] == "reject"]
    assert rejected == ["/prescription/fhir/lensSpecification/0/axis"]


def test_an_order_may_carry_its_prescription_as_fhir(service: TestClient) -> None:
    order = {**ORDER, "prescription": {"fhir": DOCUMENT}}
    answer = service.post("/v1/orders/check", json=order).json()
    assert answer["fit"]["frame_pd_mm"] == 72
    assert {finding["code"] for finding in answer["findings"]} >= {"add-not-used"}


def test_fhir_is_written_when_it_is_asked_for_and_says_what_it_cannot_hold(service: TestClient) -> None:
    body = {"prescription": {"written": f"{TEXT} PD 63 VD 12"}, "as_of": "2026-11-25"}
    answer = service.post(READ, json=body, headers=AS_FHIR)
    assert answer.headers["content-type"] == "application/fhir+json"
    document = answer.json()
    right = document["lensSpecification"][0]
    assert (right["sphere"], right["cylinder"], right["axis"]) == (-2.25, -0.75, 10)
    notes = " ".join(note["text"] for note in right["note"])
    assert "pupillary distance" in notes
    assert "vertex distance of 12 mm" in notes
    again = service.post(READ, content=answer.content, headers=FHIR).json()
    assert again["prescription"]["right"]["notation"] == "-2.25 -0.75 x 010"


def test_a_refused_prescription_is_not_written_as_fhir(service: TestClient) -> None:
    answer = service.post(READ, json={"prescription": {"written": "R 2.25 L -1.00"}}, headers=AS_FHIR)
    assert answer.status_code == 406
    assert answer.headers["content-type"] == "application/problem+json"


def test_a_doubt_goes_with_the_fhir_document(service: TestClient) -> None:
    answer = service.post(READ, json={"prescription": {"written": "R -1.00 L -125"}}, headers=AS_FHIR).json()
    notes = [note["text"] for note in answer["lensSpecification"][0]["note"]]
    assert any("no decimal point" in note for note in notes)


def test_a_long_narrative_is_no_fault_of_a_fhir_document(service: TestClient) -> None:
    document = {**DOCUMENT, "text": {"status": "generated", "div": f"<div>{'x' * 5000}</div>"}}
    answer = service.post(READ, content=json.dumps(document), headers=FHIR)
    assert answer.status_code == 200
    assert answer.json()["read_as"] is not None


def test_the_official_examples_are_read_over_the_web(service: TestClient, shared_data: Path) -> None:
    for edition in ("r4", "r4b", "r5"):
        spectacles = (shared_data / "fhir" / edition / "VisionPrescription-33123.json").read_bytes()
        answer = service.post(READ, content=spectacles, headers=FHIR).json()
        assert answer["prescription"]["right"]["notation"] == "-2.00 DS"
        assert answer["prescription"]["left"]["notation"] == "-1.00 -0.50 x 180"
        contact = (shared_data / "fhir" / edition / "VisionPrescription-33124.json").read_bytes()
        refused = service.post(READ, content=contact, headers=FHIR).json()
        assert refused["decision"] == "reject"
        assert refused["prescription"] is None
