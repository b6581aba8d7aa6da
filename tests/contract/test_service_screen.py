"""POST /v1/frames/screen over the web: the forms a catalogue comes in, what is refused, and the profile's own catalogue."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.contract.screen import EXAMPLE_FRAMES, EXAMPLE_SCREENING
from service.profile.loader import ProfileError
from service.settings import Settings

PATH = "/v1/frames/screen"
NDJSON = {"Content-Type": "application/x-ndjson"}
WEARER = {name: value for name, value in EXAMPLE_SCREENING.items() if name != "frames"}
CSV = "id,A,B,DBL,ED,rim\nround-46,46,41,21,48,\nnarrow-52,52,32,18,,\nwide-60,60,45,18,66,\nrimless-54,54,36,17,,drilled\n"

Document = dict[str, Any]


def answered(response: Any) -> Document:
    assert response.status_code == 200, response.text
    found: Document = response.json()
    return found


def refused(response: Any) -> Document:
    assert response.status_code == 422, response.text
    assert response.headers["content-type"] == "application/problem+json"
    (fault,) = response.json()["errors"]
    return dict(fault)


def rejected(response: Any) -> Document:
    """The one finding of a catalogue of which nothing was screened."""
    answer = answered(response)
    assert (answer["decision"], answer["frames"], answer["counts"]["frames"]) == ("reject", [], 0)
    (finding,) = answer["findings"]
    assert finding["severity"] == "reject"
    return dict(finding)


def test_a_list_lines_and_csv_are_the_same_catalogue(service: TestClient) -> None:
    as_list = answered(service.post(PATH, json=EXAMPLE_SCREENING))
    lines = "\n".join(json.dumps(part) for part in [WEARER, *EXAMPLE_FRAMES])
    assert answered(service.post(PATH, content=lines, headers=NDJSON)) == as_list
    assert answered(service.post(PATH, json={**WEARER, "frames_csv": CSV})) == as_list
    with_commas = CSV.replace(",", ";").replace("46;41", "46,0;41")
    assert answered(service.post(PATH, json={**WEARER, "frames_csv": with_commas})) == as_list
    assert [row["id"] for row in as_list["frames"]] == ["round-46", "narrow-52", "rimless-54"]
    assert as_list["counts"] == {"frames": 4, "accept": 3, "review": 0, "reject": 1, "kept": 3}


def test_an_answer_in_lines_ends_with_the_rest(service: TestClient) -> None:
    whole = answered(service.post(PATH, json=EXAMPLE_SCREENING))
    response = service.post(PATH, json=EXAMPLE_SCREENING, headers={"Accept": "application/x-ndjson"})
    assert response.headers["content-type"] == "application/x-ndjson"
    *rows, end = [json.loads(line) for line in response.text.splitlines()]
    assert rows == whole["frames"]
    assert end["end"] == {**whole, "frames": []}
    assert service.post(PATH, json=EXAMPLE_SCREENING, headers={"Accept": "text/html"}).status_code == 406


@pytest.mark.parametrize(
    ("csv", "words"),
    [
        ("", None),
        ("  \n", "empty"),
        ("\ufeff", "empty"),
        ("\ufeff \n", "empty"),
        (",,,\n", "empty"),
        ('""\n', "empty"),
        ("id,A,B\nx,50,40\n", "dbl_mm"),
        ("id,A,B,DBL\n", "no frame"),
        ("id,A,B,DBL\nx,50,forty,18\n", "Row 2: 'forty' was read for b_mm"),
        ("id,A,B,DBL\nx,50,40,18\ny,50,40\n", "Row 3: 3 cells"),
        ("id,A,a_mm,B,DBL\nx,50,50,40,18\n", "both hold a_mm"),
        ("id,A,B,DBL\n,50,40,18\n", "Row 2: id"),
        ("id,A,B,DBL,rim\nx,50,40,18,wire\n", "Row 2: rim"),
        ("id,A,B,DBL\nx,5,40,18\n", "Row 2: a_mm"),
        ("id,A,B,DBL\nx,nan,40,18\n", "Row 2: 'nan'"),
        ("id,A,B,DBL\nx,1_0,40,18\n", "Row 2: '1_0'"),
        ('id,A,B,DBL\n"x,50,40,18\n', "not CSV"),
    ],
)
def test_a_faulty_csv_is_refused_with_its_row(service: TestClient, csv: str, words: str | None) -> None:
    response = service.post(PATH, json={**WEARER, "frames_csv": csv})
    if words is None:  # no text at all: the published schema forbids it
        assert refused(response)["pointer"] == "/frames_csv"
        return
    finding = rejected(response)
    assert (finding["code"], finding["pointer"]) == ("catalogue-not-readable", "/frames_csv")
    assert words in finding["message"]


def test_every_faulty_row_is_named_up_to_a_bound(service: TestClient) -> None:
    rows = "".join(f"f{number},50,{'x' if number % 2 else 40},18\n" for number in range(100))
    found = answered(service.post(PATH, json={**WEARER, "frames_csv": "id,A,B,DBL\n" + rows}))["findings"]
    assert len(found) == 20
    assert found[1]["message"].startswith("Row 5:")


def test_lines_in_another_character_set_are_refused(service: TestClient) -> None:
    headers = {"Content-Type": "application/x-ndjson; charset=latin-1"}
    assert service.post(PATH, content=json.dumps(WEARER), headers=headers).status_code == 415


def test_no_catalogue_and_two_of_them_are_refused(service: TestClient) -> None:
    finding = rejected(service.post(PATH, json=WEARER))
    assert (finding["code"], finding["pointer"]) == ("catalogue-missing", "/frames")
    finding = rejected(service.post(PATH, json={**EXAMPLE_SCREENING, "frames_csv": CSV}))
    assert (finding["code"], finding["pointer"]) == ("catalogue-given-twice", "/frames_csv")
    assert refused(service.post(PATH, json={**WEARER, "frames": []}))["pointer"] == "/frames"


def test_a_frame_in_the_order_is_refused(service: TestClient) -> None:
    request = copy.deepcopy(EXAMPLE_SCREENING)
    request["order"]["frame"] = {"a_mm": 50, "b_mm": 40, "dbl_mm": 18}
    assert refused(service.post(PATH, json=request))["pointer"] == "/order/frame"


def test_a_faulty_line_is_named(service: TestClient) -> None:
    lines = [json.dumps(part) for part in [WEARER, *EXAMPLE_FRAMES]]
    lines[3] = lines[3].replace('"a_mm": 60', '"a_mm": "60"')
    assert refused(service.post(PATH, content="\n".join(lines), headers=NDJSON))["pointer"] == "/frames/2/a_mm"
    lines[3] = "{broken"
    fault = refused(service.post(PATH, content="\n".join(lines), headers=NDJSON))
    assert (fault["line"], fault["message"][:7]) == (4, "Line 4:")
    assert refused(service.post(PATH, content=b"\n\n", headers=NDJSON))["code"] == "body-missing"


def test_an_order_that_cannot_be_worked_with_suits_no_frame(service: TestClient) -> None:
    request = copy.deepcopy(EXAMPLE_SCREENING)
    request["order"]["prescription"] = {"written": "hello"}
    answer = answered(service.post(PATH, json=request))
    assert (answer["decision"], answer["frames"], answer["counts"]["reject"]) == ("reject", [], 4)
    assert any(finding["severity"] == "reject" for finding in answer["findings"])
    assert all(finding["pointer"].startswith("/order/") for finding in answer["findings"])


def test_reading_parts_are_checked_frame_by_frame_and_bounded(service: TestClient) -> None:
    request = copy.deepcopy(EXAMPLE_SCREENING)
    request["order"]["lens"]["use"] = "progressive"
    for eye in ("right", "left"):
        request["order"]["prescription"][eye]["add"] = 2.0
    assert answered(service.post(PATH, json=request))["counts"]["frames"] == 4
    request["frames"] = [{"id": str(number), "a_mm": 50, "b_mm": 40, "dbl_mm": 18} for number in range(5_001)]
    finding = rejected(service.post(PATH, json=request))
    assert (finding["code"], finding["value"], finding["limit"]) == ("catalogue-too-long", 5001.0, 5000.0)


def test_the_same_request_gets_the_same_bytes(service: TestClient) -> None:
    first, second = (service.post(PATH, json=EXAMPLE_SCREENING).content for _ in range(2))
    assert first == second


def with_catalogue(folder: Path, text: str, name: str = "frames.csv") -> TestClient:
    (folder / "frames.csv").write_text(text, "utf-8")
    profile = folder / "shop.toml"
    profile.write_text(f'[shop]\nname = "invented"\n[catalogue]\nfile = "{name}"\n', "utf-8")
    return TestClient(create_app(Settings(log=False, profile_path=profile)))


def test_the_catalogue_of_the_profile_is_taken_where_a_request_names_none(tmp_path: Path) -> None:
    with with_catalogue(tmp_path, CSV) as shop:
        (tmp_path / "frames.csv").unlink()  # read once, at the start
        answer = answered(shop.post(PATH, json=WEARER))
        assert answer["counts"]["frames"] == 4
        assert answered(shop.post(PATH, json=EXAMPLE_SCREENING))["frames"] == answer["frames"]


@pytest.mark.parametrize(("text", "name"), [("id,A\nx,50\n", "frames.csv"), (CSV, "other.csv")])
def test_a_faulty_catalogue_keeps_the_service_from_starting(tmp_path: Path, text: str, name: str) -> None:
    with pytest.raises(ProfileError, match="catalogue"):
        with_catalogue(tmp_path, text, name)


def test_no_request_names_a_file_of_the_machine(service: TestClient) -> None:
    request = copy.deepcopy(EXAMPLE_SCREENING)
    request["order"]["profile"] = {"catalogue": {"file": "/etc/passwd"}}
    assert refused(service.post(PATH, json=request))["pointer"] == "/order/profile/catalogue"
