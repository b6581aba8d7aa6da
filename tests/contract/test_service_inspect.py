"""POST /v1/bench/inspect and /v1/bench/inspect-many: what is refused and where, what is answered, and in which form.

When each rule speaks is held in tests/rules/test_inspection.py, that the judgements are right in
tests/properties/test_inspections.py.
"""

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from service_calls import LEFT_OUT, edited
from starlette.testclient import TestClient
from test_service_log import MARKED, logged
from test_service_log import logging_service as logging_service
from web_toys import JSON, problem_of

from service.contract.inspect import EXAMPLE_INSPECTION
from service.contract.inspect_many import EXAMPLE_BATCH
from service.contract.order import EXAMPLE_ORDER
from service.limits import MAX_BODY_BYTES, MAX_INSPECTED_PAIRS, MAX_OPEN_ORDERS, MAX_READINGS

EXAMPLES = Path(__file__).resolve().parents[2] / "openapi_examples" / "inspections"
INSPECT, MANY = "/v1/bench/inspect", "/v1/bench/inspect-many"
SVG = "image/svg+xml"
Document = dict[str, Any]


def with_edits(**changes: object) -> Document:
    """The example with members set or taken away."""
    return edited(EXAMPLE_INSPECTION, **changes)


def send(service: TestClient, document: Document, path: str = INSPECT, **headers: str) -> Any:
    return service.post(path, content=json.dumps(document), headers={**JSON, **headers})


def answered(service: TestClient, document: Document, path: str = INSPECT) -> Document:
    response = send(service, document, path)
    assert response.status_code == 200, response.text
    answer: Document = response.json()
    return answer


def faults(response: Any) -> list[tuple[str, str | None]]:
    assert response.status_code == 422
    errors = problem_of(response, "unreadable-request")["errors"]
    assert all(error["message"][-1] in ".?" and len(error["message"]) < 200 for error in errors)
    return [(error["code"], error.get("pointer")) for error in errors]


def resolves(document: Any, pointer: str) -> bool:
    """Whether a pointer holds in the document, or would but for its last member, or for a lens of which nothing was read."""
    names = pointer.split("/")[1:]
    for place, name in enumerate(names):
        if isinstance(document, list) and name.isdigit() and int(name) < len(document):
            document = document[int(name)]
        elif isinstance(document, dict) and name in document:
            document = document[name]
        else:
            lens = place > 0 and names[place - 1] == "measured"
            return isinstance(document, dict) and len(names) - place <= 1 + lens
    return True


# What is refused, and where.


@pytest.mark.parametrize("value", ["-2.25", True, {}, {"mean": -2.25}, [], [-2.25] * (MAX_READINGS + 1), 1000.1, -1001])
def test_a_figure_that_is_no_reading_is_refused_once_at_its_place(service: TestClient, value: object) -> None:
    for path in ("measured__right__sphere", "measured__left__add", "measured__right__centre_thickness_mm"):
        ((_, pointer),) = faults(send(service, with_edits(**{path: value})))
        assert pointer == "/" + path.replace("__", "/")


@pytest.mark.parametrize(
    ("value", "place"),
    [(["-2.25"], "0"), ([-2.25, True], "1"), ([-2.25, None], "1"), ([-2.25, [-2.25]], "1"), ([0, 0, 1001], "2")],
)
def test_a_reading_of_a_list_is_refused_at_its_own_place(service: TestClient, value: object, place: str) -> None:
    ((_, pointer),) = faults(send(service, with_edits(measured__right__sphere=value)))
    assert pointer == f"/measured/right/sphere/{place}"


def test_null_is_not_measured_and_is_told_to_be_missing(service: TestClient) -> None:
    gone = with_edits(measured__right__sphere=LEFT_OUT, measured__right__cylinder=LEFT_OUT)
    del gone["measured"]["right"]["axis"]
    null = with_edits(measured__right={"sphere": None, "cylinder": None, "axis": None})
    assert answered(service, null)["checks"] == answered(service, gone)["checks"]
    assert [(one["code"], one["pointer"]) for one in answered(service, null)["findings"]] == [
        ("not-measured", "/measured/right/sphere")
    ]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"mesured": {}}, "/mesured"),
        ({"measured__right__spere": 1}, "/measured/right/spere"),
        ({"measured__middle": {}}, "/measured/middle"),
        ({"measured__optical_centre_height_mm__both": 22}, "/measured/optical_centre_height_mm/both"),
        ({"ordered__frame__a_mm": "54"}, "/ordered/frame/a_mm"),
        ({"ordered": LEFT_OUT}, "/ordered"),
        ({"measured": LEFT_OUT}, "/measured"),
        ({"measured": None}, "/measured"),
        ({"measured__right": None}, "/measured/right"),
        ({"measured__right": []}, "/measured/right"),
        ({"standard": "iso-21987-2009"}, "/standard"),
        ({"standard": 1}, "/standard"),
        ({"sheet_digest": "0" * 63}, "/sheet_digest"),
        ({"sheet_digest": "A" * 64}, "/sheet_digest"),
        ({"verification__right": {"cylinder": 1}}, "/verification/right/sphere"),
        ({"verification__both": {}}, "/verification/both"),
        ({"verification": None}, "/verification"),
        ({"open_orders": {}}, "/open_orders"),
        ({"open_orders": [EXAMPLE_INSPECTION["ordered"], {}]}, "/open_orders/1/prescription"),
        ({"measured__right__prism": {"amount": 1, "base": "in"}}, "/measured/right/prism"),
        ({"measured__right__prism": [{"base": "in"}]}, "/measured/right/prism/0/amount"),
        ({"measured__right__prism": [{"amount": None, "base": "in"}]}, "/measured/right/prism/0/amount"),
        ({"measured__right__prism": [{"amount": [1, -1], "base": "in"}]}, "/measured/right/prism/0/amount/1"),
        ({"measured__right__prism": [{"amount": 1}]}, "/measured/right/prism/0/base"),
        ({"measured__right__prism": [{"amount": 1, "base": "nasal"}]}, "/measured/right/prism/0/base"),
        ({"measured__right__prism": [{"amount": 1, "base": 361}]}, "/measured/right/prism/0/base"),
        ({"measured__optical_centre_distance_mm": -1}, "/measured/optical_centre_distance_mm"),
        ({"measured__optical_centre_from_bridge_mm__right": 400.5}, "/measured/optical_centre_from_bridge_mm/right"),
        ({"measured__left__segment_tilt_deg": 91}, "/measured/left/segment_tilt_deg"),
    ],
)
def test_what_the_contract_forbids_is_refused_once_at_its_place(
    service: TestClient, changes: Document, pointer: str
) -> None:
    found = faults(send(service, with_edits(**changes)))
    assert pointer in [place for _, place in found]
    assert {place for _, place in found if place and place.startswith(pointer)} == {pointer}
    assert len(found) == len(set(found))
    # In a batch the same stands one level further down.
    batch = {"pairs": [EXAMPLE_INSPECTION, with_edits(**changes)]}
    assert f"/pairs/1{pointer}" in [place for _, place in faults(send(service, batch, MANY))]


def test_lists_are_read_up_to_their_bounds(service: TestClient) -> None:
    order = copy.deepcopy(EXAMPLE_INSPECTION["ordered"])
    readings = with_edits(measured__right__sphere=[-2.31] * MAX_READINGS)
    assert answered(service, readings)["checks"][0]["readings"] == MAX_READINGS == 20
    assert answered(service, with_edits(open_orders=[order] * MAX_OPEN_ORDERS))["result"] == "pass"
    ((_, pointer),) = faults(send(service, with_edits(open_orders=[order] * (MAX_OPEN_ORDERS + 1))))
    assert pointer == "/open_orders"
    least = {"ordered": {"prescription": {"written": "R 0 L 0"}, "pd_mm": {"both": 64}, "frame": order["frame"]}}
    least["measured"] = {}
    assert len(answered(service, {"pairs": [least] * MAX_INSPECTED_PAIRS}, MANY)["pairs"]) == MAX_INSPECTED_PAIRS
    ((_, pointer),) = faults(send(service, {"pairs": [least] * (MAX_INSPECTED_PAIRS + 1)}, MANY))
    assert pointer == "/pairs"
    ((_, pointer),) = faults(send(service, {"pairs": []}, MANY))
    assert pointer == "/pairs"


def test_a_full_batch_of_ordinary_pairs_fits_into_a_body(service: TestClient) -> None:
    """What is allowed by number should not be refused by bytes: 200 pairs as in the example."""
    batch = {"pairs": [EXAMPLE_INSPECTION] * MAX_INSPECTED_PAIRS}
    assert len(json.dumps(batch)) < MAX_BODY_BYTES
    answer = answered(service, batch, MANY)
    assert (answer["count"], answer["passed"]) == (MAX_INSPECTED_PAIRS, MAX_INSPECTED_PAIRS)


# What is answered.


def test_the_example_is_answered_with_every_quantity_held_against_its_limit(service: TestClient) -> None:
    answer = answered(service, EXAMPLE_INSPECTION)
    assert (answer["result"], answer["standard"], answer["ordered_decision"]) == ("pass", "ansi-z80.1-2015", "accept")
    # Deviations by hand; limits from the handbook, standards 1.1 and 1.2.
    by_name = {(one["eye"], one["quantity"]): one for one in answer["checks"]}
    for key, deviation, limit in (
        (("right", "sphere"), -0.06, 0.13),
        (("right", "cylinder"), 0.05, 0.13),
        (("right", "axis"), 2.0, 5.0),
        (("left", "sphere"), -0.01, 0.13),
        # 1 mm too far apart before -2.5149 D across; 0.5 mm low before -2.9849 D.
        ((None, "horizontal_imbalance"), 0.2515, 0.67),
        ((None, "vertical_imbalance"), -0.1492, 0.33),
    ):
        check = by_name[key]
        assert check["deviation"] == pytest.approx(deviation, abs=1.01e-4), key
        assert check["limit"] == limit
        assert check["share_of_limit"] == pytest.approx(abs(deviation) / limit, abs=1e-3)
        assert (check["result"], check["mark"]) == ("pass", "read")
        assert "ansi-z80.1-2015" in check["source"]
    assert by_name[("left", "cylinder")]["readings"] == 2
    assert by_name[("left", "cylinder")]["spread"] == pytest.approx(0.03)


def test_without_a_standard_that_of_the_profile_is_taken_and_said(service: TestClient) -> None:
    answer = answered(service, with_edits(standard=LEFT_OUT))
    assert answer["standard"] == "ansi-z80.1-2015"
    assert [one["value"] for one in answer["assumptions"] if one["pointer"] == "/standard"] == ["ansi-z80.1-2015"]
    own = with_edits(standard=LEFT_OUT, ordered__profile={"tolerance": {"standard": "iso-21987-2017"}})
    assert answered(service, own)["standard"] == "iso-21987-2017"
    named = with_edits(ordered__profile={"tolerance": {"standard": "iso-21987-2017"}})
    assert answered(service, named)["standard"] == "ansi-z80.1-2015"


def test_a_profile_that_cannot_be_is_told_and_nothing_is_judged(service: TestClient) -> None:
    answer = answered(service, with_edits(ordered__profile={"frame": {"a_least_mm": 90}}))
    assert (answer["result"], answer["ordered_decision"], answer["checks"]) == ("review", "reject", [])
    assert all(one["pointer"].startswith("/ordered") for one in answer["findings"])
    assert [
        remedy for one in answer["findings"] for remedy in one["remedies"] if remedy["pointer"][:8] != "/ordered"
    ] == []


def test_an_order_that_cannot_be_worked_with_is_said_where_it_stands(service: TestClient) -> None:
    document = with_edits(ordered__prescription={"written": "?"})
    answer = answered(service, document)
    assert (answer["result"], answer["ordered_decision"]) == ("review", "reject")
    assert "/ordered/prescription/written" in [one["pointer"] for one in answer["findings"]]
    (pair,) = answered(service, {"pairs": [document]}, MANY)["pairs"]
    assert "/pairs/0/ordered/prescription/written" in [one["pointer"] for one in pair["findings"]]


def test_a_written_order_is_judged_as_the_same_in_figures(service: TestClient) -> None:
    written = "R -2.25 -0.75 x 10 L -2.50 -0.50 x 170"
    answer = answered(service, with_edits(ordered__prescription={"written": written, "issued_on": "2026-06-01"}))
    assert answer["checks"] == answered(service, EXAMPLE_INSPECTION)["checks"]


def test_the_maker_s_power_takes_the_place_of_the_one_ordered(service: TestClient) -> None:
    stated = {"sphere": -2.40, "cylinder": -0.90, "axis": 20}
    document = with_edits(verification={"right": stated}, measured__right={**stated, "axis": 20})
    answer = answered(service, document)
    checks = {(one["eye"], one["quantity"]): one for one in answer["checks"]}
    assert [checks["right", name]["deviation"] for name in ("sphere", "cylinder", "axis")] == [0, 0, 0]
    assert [checks["right", name]["ordered"] for name in ("sphere", "cylinder", "axis")] == [-2.4, -0.9, 20]
    assert checks["left", "sphere"]["ordered"] == -2.5
    # The band is that of the stated cylinder: 3 degrees above 0.75 D.
    assert checks["right", "axis"]["limit"] == 3
    assert answered(service, with_edits(measured__right=stated))["result"] == "fail"


def test_the_digest_of_the_sheet_is_that_of_the_answer(service: TestClient) -> None:
    digest = answered(service, EXAMPLE_INSPECTION)["order_digest"]
    assert answered(service, with_edits(sheet_digest=digest))["findings"] == []
    other = answered(service, with_edits(sheet_digest=digest, ordered__reference="W-1043"))
    assert [one["code"] for one in other["findings"]] == ["sheet-of-another-order"]
    assert other["result"] == "review"
    sheet = service.post("/v1/bench/sheet", content=json.dumps({"order": EXAMPLE_INSPECTION["ordered"]}), headers=JSON)
    assert sheet.status_code == 200
    assert digest in sheet.text


SPOILT: list[Document] = [
    with_edits(measured={}),
    with_edits(measured__right={"sphere": -9, "cylinder": 4, "axis": 100}, sheet_digest="0" * 64),
    with_edits(measured__right={"axis": 100}, measured__left={"sphere": [1, 2], "cylinder": [1, 1, 1], "axis": 3}),
    with_edits(measured__left={"sphere": 1, "cylinder": 1, "axis": 181, "add": 2}, standard="iso-21987-2017"),
    with_edits(measured__left__prism=[{"amount": 3, "base": "up"}], measured__right__prism=[]),
    with_edits(ordered__lens__use="progressive", measured__left__segment_height_mm=12),
    with_edits(ordered__lens__use="intermediate", ordered__prescription__right__add=2),
    with_edits(ordered__prescription__right__axis=LEFT_OUT, verification={"left": {"sphere": 1, "cylinder": 1}}),
    with_edits(ordered__prescription={"written": "?"}),
    with_edits(ordered__profile={"frame": {"a_least_mm": 90}}),
    with_edits(ordered__pd_mm={}, measured__optical_centre_from_bridge_mm={"right": 0, "left": 0}),
    with_edits(standard=LEFT_OUT, measured__optical_centre_distance_mm=[20, 80], measured__right__sphere=[-2, -3]),
]


@pytest.mark.parametrize("document", SPOILT, ids=range(len(SPOILT)))
def test_every_pointer_holds_in_the_request(service: TestClient, document: Document) -> None:
    answer = answered(service, document)
    assert answer["result"] != "pass"
    assert answer["findings"]
    for finding in answer["findings"]:
        assert resolves(document, finding["pointer"]), finding["pointer"]
        assert all(resolves(document, remedy["pointer"]) for remedy in finding["remedies"])
    for assumption in answer["assumptions"]:
        pointer = assumption["pointer"]
        assert resolves(document, pointer) or resolves(document, pointer.rpartition("/")[0]), pointer
    batch = {"pairs": [EXAMPLE_INSPECTION, document]}
    many = answered(service, batch, MANY)
    assert [one["pointer"] for one in many["pairs"][1]["findings"]] == [
        f"/pairs/1{one['pointer']}" for one in answer["findings"]
    ]
    assert all(resolves(batch, one["pointer"]) for one in many["pairs"][1]["findings"])


def test_a_lens_held_against_the_makers_word_and_not_the_order_is_told(service: TestClient) -> None:
    stated = {
        "right": {"sphere": 5, "prism": [{"amount": 1, "base": "in"}]},
        "left": {"sphere": -2.5, "cylinder": -0.5, "axis": 168},
    }
    answer = answered(service, with_edits(verification=stated))
    told = {one["pointer"]: one for one in answer["assumptions"] if one["pointer"].startswith("/verification")}
    assert {pointer: one["value"] for pointer, one in told.items()} == {
        "/verification/right": "+5.00 DS, with prism",
        "/verification/left": "-2.50 -0.50 x 168",
    }
    assert all("not against the power ordered" in one["reason"] for one in told.values())
    untold = answered(service, EXAMPLE_INSPECTION)["assumptions"]
    assert not [one for one in untold if one["pointer"].startswith("/verification")]


def test_only_what_failed_is_told_how_it_may_be_saved(service: TestClient) -> None:
    assert answered(service, EXAMPLE_INSPECTION)["if_it_fails"] is None
    turned = with_edits(
        measured__right__axis=40,
        measured__optical_centre_from_bridge_mm={"right": 31.5, "left": 32},
        measured__optical_centre_height_mm={"right": 22, "left": 22},
        open_orders=[with_edits(ordered__frame={"a_mm": 40, "b_mm": 28, "dbl_mm": 22})["ordered"]],
    )
    answer = answered(service, turned)
    assert answer["result"] == "fail"
    assert answer["if_it_fails"]["remake"] == ["right"]
    kinds = {way["kind"] for way in answer["if_it_fails"]["ways"]}
    assert "re-edge" in kinds
    for way in answer["if_it_fails"]["ways"]:
        assert way["message"].endswith("A person decides, and the pair is inspected anew.")
        assert "  " not in way["message"]


# A batch.


def test_a_pair_of_a_batch_is_judged_as_by_itself(service: TestClient) -> None:
    documents = [EXAMPLE_INSPECTION, *SPOILT]
    answer = answered(service, {"pairs": documents}, MANY)
    alone = [answered(service, document) for document in documents]
    for index, (pair, one) in enumerate(zip(answer["pairs"], alone, strict=True)):
        assert (pair["index"], pair["reference"], pair["result"]) == (index, one["reference"], one["result"])
        assert pair["checks"] == one["checks"]
        assert pair["likely_causes"] == one["likely_causes"]
    results = [one["result"] for one in alone]
    assert answer["count"] == len(documents)
    counts = [answer["passed"], answer["review"], answer["failed"]]
    assert counts == [results.count(name) for name in ("pass", "review", "fail")]


def test_the_summary_is_made_of_the_deviations_of_all_lenses(service: TestClient) -> None:
    spheres = [-2.25, -2.31, -2.2, -2.45]
    pairs = [with_edits(measured__right__sphere=sphere) for sphere in spheres]
    answer = answered(service, {"pairs": pairs}, MANY)
    found = {one["quantity"]: one for one in answer["summary"]}
    deviations = [sphere + 2.25 for sphere in spheres] + [-0.01] * 4
    mean = sum(deviations) / 8
    spread = (sum((each - mean) ** 2 for each in deviations) / 7) ** 0.5
    row = found["sphere"]
    assert (row["count"], row["failed"], row["unit"]) == (8, 1, "D")
    assert row["mean"] == pytest.approx(mean, abs=2e-4)
    assert row["standard_deviation"] == pytest.approx(spread, abs=2e-4)
    assert (row["least"], row["greatest"]) == (pytest.approx(-0.2), pytest.approx(0.05))
    assert found["horizontal_imbalance"]["count"] == 4
    assert answered(service, {"pairs": pairs[:2]}, MANY)["summary"][0]["drift"] is None


# In which form.


def test_the_same_request_has_the_same_bytes(service: TestClient) -> None:
    for document in (EXAMPLE_INSPECTION, *SPOILT):
        assert send(service, document).content == send(service, document).content
    for accept in ("application/json", SVG):
        first, second = (send(service, EXAMPLE_BATCH, MANY, Accept=accept) for _ in range(2))
        assert first.content == second.content


def test_a_batch_is_drawn_for_whom_asks_for_a_drawing(service: TestClient) -> None:
    response = send(service, EXAMPLE_BATCH, MANY, Accept=SVG)
    assert response.status_code == 200
    assert response.headers["content-type"].startswith(SVG)
    assert "<svg" in response.text[:60]
    assert "W-1043" not in response.text
    for accept in ("", "*/*", "application/json", f"{SVG};q=0.5, application/json"):
        assert send(service, EXAMPLE_BATCH, MANY, Accept=accept).json()["count"] == 2
    nothing = {"pairs": [with_edits(measured={})]}
    assert send(service, nothing, MANY, Accept=SVG).status_code == 200


def test_another_form_is_refused(service: TestClient) -> None:
    response = send(service, EXAMPLE_BATCH, MANY, Accept="application/pdf")
    assert response.status_code == 406
    problem_of(response, "not-acceptable")
    assert send(service, {"pairs": []}, MANY, Accept=SVG).status_code == 422


def test_nothing_of_an_inspection_is_logged(logging_service: TestClient, capfd: pytest.CaptureFixture[str]) -> None:
    marked = {
        "ordered": MARKED,
        "measured": {
            "right": {"sphere": -2.1371, "cylinder": -0.7373, "axis": 17.17, "add": 1.9191, "front_power_d": 4.7171},
            "left": {"sphere": [-2.3939, -2.4141], "prism": [{"amount": 1.4747, "base": 161.61}]},
            "optical_centre_distance_mm": 64.1393,
        },
        "verification": {"right": {"sphere": -2.1371}},
        "open_orders": [MARKED],
    }
    for path, document in ((INSPECT, marked), (MANY, {"pairs": [marked]})):
        response = send(logging_service, document, path)
        assert response.status_code == 200
        captured = capfd.readouterr()
        for sentinel in ("4.7171", "64.1393", "2.4141", "Zq", "17.17", "1.9191"):
            assert sentinel not in captured.out
        (line,) = [json.loads(text) for text in captured.out.splitlines()]
        assert line["route"] == path
        assert line["decision"] in ("accept", "review", "reject")
    bad = send(logging_service, {**marked, "Zq-Member": 1})
    assert bad.status_code == 422
    assert len(logged(capfd)) == 1


def test_a_word_for_the_log_tells_the_result(logging_service: TestClient, capfd: pytest.CaptureFixture[str]) -> None:
    cases = ((EXAMPLE_INSPECTION, "accept"), (with_edits(measured={}), "review"), (SPOILT[1], "reject"))
    for document, word in cases:
        answer = answered(logging_service, document)
        (line,) = [json.loads(text) for text in capfd.readouterr().out.splitlines()]
        assert line["decision"] == word
        assert line["finding_codes"] == [one["code"] for one in answer["findings"]]


@pytest.mark.parametrize(
    ("address", "within"),
    [("/v1/bench/sheet", "order"), ("/v1/bench/inspect", "ordered"), ("/v1/lenses/compare", "order")],
)
def test_an_order_that_was_sent_bare_is_told_in_one_sentence_where_it_belongs(
    service: TestClient, address: str, within: str
) -> None:
    response = service.post(address, json=EXAMPLE_ORDER)
    assert response.status_code == 422
    faults = {fault["pointer"]: fault["message"] for fault in response.json()["errors"]}
    assert faults.keys() <= {f"/{within}", "/measured"}
    assert f"within `{within}`. Put them there." in faults[f"/{within}"]
    assert "`prescription`, `pd_mm`, `frame`" in faults[f"/{within}"]


def test_a_single_member_in_the_wrong_place_is_told_by_itself(service: TestClient) -> None:
    response = service.post("/v1/bench/sheet", json={"frame": EXAMPLE_ORDER["frame"]})
    assert {fault["pointer"] for fault in response.json()["errors"]} == {"/order", "/frame"}


def test_no_lens_is_offered_to_an_open_order_that_is_rejected_or_whose_power_is_not_settled(
    service: TestClient,
) -> None:
    request = json.loads((EXAMPLES / "lens-for-an-open-order" / "request.json").read_text("utf-8"))
    assert [way["kind"] for way in ways(service, request)] == ["other-order"]
    rejected = copy.deepcopy(request)
    del rejected["open_orders"][0]["prescription"]["left"]["axis"]
    assert ways(service, rejected) == []
    unsettled = copy.deepcopy(request)
    unsettled["open_orders"][0]["lens"]["use"] = "intermediate"
    for eye in ("right", "left"):
        unsettled["open_orders"][0]["prescription"][eye]["add"] = 2.0
    assert ways(service, unsettled) == []


def ways(service: TestClient, request: Any) -> list[Any]:
    answer = service.post("/v1/bench/inspect", json=request).json()
    assert answer["result"] == "fail"
    found: list[Any] = answer["if_it_fails"]["ways"]
    return found
