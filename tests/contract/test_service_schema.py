"""The published contract of the real service: every field described, bounded and with its unit, and true of answers."""

import json
import re
from collections.abc import Iterator
from typing import Any

import jsonschema_rs
import pytest
from starlette.testclient import TestClient
from web_toys import JSON

from service.contract.order import EXAMPLE_ORDER, EXAMPLE_TEXT
from service.web.problems import MEDIA_TYPE

Node = dict[str, Any]
REQUESTS = {
    "/v1/orders/check": "Order",
    "/v1/orders/check-many": "CheckManyRequest",
    "/v1/lenses/compare": "CompareRequest",
    "/v1/prescriptions/read": "ReadRequest",
    "/v1/traces/read": "TraceFile",
    "/v1/bench/drawing": "DrawingRequest",
    "/v1/bench/sheet": "SheetRequest",
    "/v1/bench/inspect": "InspectRequest",
    "/v1/bench/inspect-many": "InspectManyRequest",
    "/v1/frames/screen": "ScreenRequest",
}
BRANCHES = ("anyOf", "oneOf", "allOf")
# Of one figure; how many a list may hold is told with what they are.
ALLOWED = re.compile(r"Allowed: (-?[0-9.e+]*[0-9]) to (-?[0-9.e+]*[0-9])(?:\.$|\. |, or)")
# Figures that are counts, codes or compared amounts whose unit stands beside them.
UNIT_ELSEWHERE = frozenset(
    {
        ("Finding", "value"), ("Finding", "limit"), ("Finding", "span"), ("Assumption", "value"),
        ("Remedy", "at_least"), ("Remedy", "at_most"), ("Remedy", "one_of"), ("LimitReference", "value"),
        ("FigureSpan", "start"), ("FigureSpan", "end"), ("FieldError", "line"), ("FieldError", "column"),
        ("ProblemDocument", "status"), ("ProblemReference", "status"),
        ("InspectCheck", "ordered"), ("InspectCheck", "measured"), ("InspectCheck", "deviation"),
        ("InspectCheck", "limit"), ("InspectCheck", "spread"), ("OtherCriterion", "deviation"),
        ("OtherCriterion", "limit"), ("LikelyCause", "before"), ("LikelyCause", "after"),
        ("Drift", "per_pair"), ("Drift", "standard_error"), ("QuantitySummary", "mean"),
        ("QuantitySummary", "standard_deviation"), ("QuantitySummary", "least"), ("QuantitySummary", "greatest"),
        ("ScreenedFrame", "score"), ("ToleranceRow", "up_to"), ("ToleranceRow", "limits"), ("AnsweredOrder", "index"),
    }
)  # fmt: skip
# Pure numbers.
WITHOUT_UNIT = frozenset(
    ("MaterialReference", name)
    for name in ("index_d", "index_d_low", "index_d_high", "index_e", "abbe", "abbe_low", "abbe_high")
)


@pytest.fixture(scope="module")
def document(service: TestClient) -> Node:
    published: Node = service.get("/openapi.json").json()
    return published


def schemas(document: Node) -> dict[str, Node]:
    found: dict[str, Node] = document["components"]["schemas"]
    return found


def inside(node: object) -> Iterator[Node]:
    """The node and every object below it."""
    if isinstance(node, dict):
        yield node
        for value in node.values():
            yield from inside(value)
    elif isinstance(node, list):
        for value in node:
            yield from inside(value)


def reached(document: Node, *names: str) -> set[str]:
    """The schemas named, and all that they refer to."""
    known: set[str] = set()
    todo = list(names)
    while todo:
        name = todo.pop()
        if name not in known:
            known.add(name)
            todo += [one["$ref"].rsplit("/", 1)[-1] for one in inside(schemas(document)[name]) if "$ref" in one]
    return known


def members(document: Node, names: set[str]) -> Iterator[tuple[str, str, Node]]:
    for name in sorted(names):
        for member, node in schemas(document)[name].get("properties", {}).items():
            yield name, member, node


def of_type(node: Node, *types: str) -> Iterator[Node]:
    """The parts of a member's schema, not of what it refers to, that have one of these types."""
    if node.get("type") in types:
        yield node
    for key in (*BRANCHES, "items"):
        branches = node.get(key, [])
        for branch in branches if isinstance(branches, list) else [branches]:
            yield from of_type(branch, *types)


def test_every_member_of_a_request_is_described(document: Node) -> None:
    requests = reached(document, *REQUESTS.values())
    assert len(requests) > 20
    lacking = [f"{name}.{member}" for name, member, node in members(document, requests) if not node.get("description")]
    assert lacking == []
    untold = [name for name in sorted(requests) if not schemas(document)[name].get("description")]
    assert untold == []


def test_every_number_of_a_request_has_bounds_and_a_unit(document: Node) -> None:
    unbounded, without_unit = [], []
    for name, member, node in members(document, reached(document, *REQUESTS.values())):
        for number in of_type(node, "number", "integer"):
            if not {"minimum", "maximum"} <= number.keys():
                unbounded.append(f"{name}.{member}")
            unit = number.get("unit") or node.get("unit")
            if not unit or f"Unit: {unit}" not in node["description"]:
                without_unit.append(f"{name}.{member}")
    assert (unbounded, without_unit) == ([], [])


def test_the_bounds_that_are_told_are_those_that_hold(document: Node) -> None:
    told = 0
    for name, member, node in members(document, reached(document, *REQUESTS.values())):
        allowed = ALLOWED.search(node.get("description", ""))
        for number in of_type(node, "number", "integer") if allowed else ():
            told += 1
            assert allowed is not None
            assert (number["minimum"], number["maximum"]) == tuple(map(float, allowed.groups())), f"{name}.{member}"
    assert told > 100


def test_every_text_and_list_of_a_request_has_a_bound(document: Node) -> None:
    unbounded = []
    for name, member, node in members(document, reached(document, *REQUESTS.values())):
        for part in of_type(node, "string", "array"):
            is_closed = bool({"enum", "const", "maxLength", "maxItems"} & part.keys()) or part.get("format") == "date"
            if not is_closed:
                unbounded.append(f"{name}.{member}")
    assert unbounded == []


def test_every_figure_of_an_answer_has_a_unit(document: Node) -> None:
    answers = set(schemas(document)) - reached(document, *REQUESTS.values())
    lacking = [
        f"{name}.{member}"
        for name, member, node in members(document, answers)
        if any(of_type(node, "number", "integer"))
        and "unit" not in node
        and (name, member) not in UNIT_ELSEWHERE | WITHOUT_UNIT
    ]
    assert lacking == []


def test_requests_are_closed_to_unknown_members(document: Node) -> None:
    for name in reached(document, *REQUESTS.values()):
        assert schemas(document)[name]["additionalProperties"] is False, name


def test_bounds_are_written_as_json_schema_writes_them(document: Node) -> None:
    ours = {"ge", "le", "gt", "lt", "min_length", "max_length", "allow_inf_nan", "strict"}
    assert [sorted(ours & node.keys()) for node in inside(schemas(document)) if ours & node.keys()] == []


def test_every_operation_tells_what_it_does_and_what_it_refuses(document: Node) -> None:
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            assert operation["summary"], (method, path)
            assert operation["description"], (method, path)
            if method == "post":
                assert {"200", "408", "413", "415", "422", "503"} <= operation["responses"].keys(), path
            for status, response in operation["responses"].items():
                expected = [MEDIA_TYPE] if status >= "400" else ["application/json"]
                if (path, status) == ("/v1/prescriptions/read", "200"):
                    expected.append("application/fhir+json")
                if (path, status) == ("/v1/bench/drawing", "200"):
                    expected = ["application/pdf", "image/svg+xml"]
                if (path, status) == ("/v1/bench/sheet", "200"):
                    expected += ["application/pdf", "text/html"]
                if (path, status) == ("/v1/orders/check-many", "200"):
                    expected += ["application/x-ndjson", "text/csv"]
                if (path, status) == ("/v1/frames/screen", "200"):
                    expected.append("application/x-ndjson")
                if (path, status) == ("/v1/bench/inspect-many", "200"):
                    expected.append("image/svg+xml")
                if path.startswith("/v1/cells/") and status < "400":
                    expected = ["text/plain"] if status == "200" else []
                assert sorted(response.get("content", [])) == sorted(expected), (method, path, status)
    assert set(REQUESTS) < set(document["paths"])


def test_every_member_has_a_name_in_snake_case(document: Node) -> None:
    for name, member, _ in members(document, set(schemas(document))):
        assert member.isidentifier() or member == "in", (name, member)
        assert member == member.lower(), (name, member)


@pytest.mark.parametrize("path", REQUESTS)
def test_the_published_examples_are_accepted_by_schema_and_service(
    service: TestClient, document: Node, path: str
) -> None:
    name = REQUESTS[path]
    examples = schemas(document)[name]["examples"]
    assert examples
    for example in examples:
        assert_holds(document, name, example)
        assert service.post(path, content=json.dumps(example), headers=JSON).status_code == 200


def assert_holds(document: Node, name: str, instance: object) -> None:
    schema = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
    jsonschema_rs.Draft202012Validator(schema).validate(instance)


ODD = {
    **EXAMPLE_ORDER,
    "prescription": {
        "right": {"sphere": 9, "cylinder": 4.5, "axis": 0, "add": 2, "prism": [{"amount": 3, "base": "up"}]},
        "left": {"sphere": -9, "prism": [{"amount": 2, "base": 200}]},
        "vertex_distance_mm": 12,
    },
    "pd_mm": {"both": 60, "near": {"both": 61}},
    "frame": {"a_mm": 60, "b_mm": 40, "dbl_mm": 20},
    "lens": {"blank_diameter_mm": 78},
    "as_worn": {"vertex_distance_mm": 16},
}


@pytest.mark.parametrize(
    "order",
    [
        EXAMPLE_ORDER,
        ODD,
        {**ODD, "pd_mm": {}},
        {**EXAMPLE_ORDER, "prescription": EXAMPLE_TEXT["prescription"]},
        {**EXAMPLE_ORDER, "prescription": {"written": "?"}},
        {**EXAMPLE_ORDER, "prescription": {"right": {"sphere": 1, "cylinder": 1}, "left": {"sphere": 500}}},
        {**EXAMPLE_ORDER, "profile": {"frame": {"a_least_mm": 90}}},
    ],
)
def test_answers_hold_what_the_schema_says(service: TestClient, document: Node, order: Node) -> None:
    assert_holds(document, "Order", order)
    answer = service.post("/v1/orders/check", content=json.dumps(order), headers=JSON).json()
    assert_holds(document, "CheckAnswer", answer)
    reading = {"prescription": order["prescription"], "profile": order.get("profile")}
    answer = service.post("/v1/prescriptions/read", content=json.dumps(reading), headers=JSON).json()
    assert_holds(document, "ReadAnswer", answer)


@pytest.mark.parametrize("content", ["{", "{}", '{"prescription": 5}'])
def test_problem_documents_hold_what_the_schema_says(service: TestClient, document: Node, content: str) -> None:
    problem = service.post("/v1/orders/check", content=content, headers=JSON).json()
    assert_holds(document, "ProblemDocument", problem)


def test_the_example_answers_with_every_part_filled(service: TestClient) -> None:
    answer = service.post("/v1/orders/check", content=json.dumps(ODD), headers=JSON).json()
    for part in ("prescription", "fit", "prism", "vertex", "findings", "cautions", "assumptions"):
        assert answer[part], part
    assert answer["prism"]["pair"]["centres_off_pd_mm"] != 0
    assert answer["vertex"]["right"]["notation"]


def test_the_published_schema_tells_a_wrong_order_from_a_right_one(document: Node) -> None:
    for wrong in ({**EXAMPLE_ORDER, "frame": {"a_mm": "54"}}, {**EXAMPLE_ORDER, "lens": {"use": "far"}}):
        with pytest.raises(jsonschema_rs.ValidationError):
            assert_holds(document, "Order", wrong)
