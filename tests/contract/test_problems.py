"""The problem document: one shape for every fault, in words that name the place, the unit and what to do."""

import json
from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, Literal, get_args

import pytest
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, TypeAdapter, ValidationError
from pydantic_core import PydanticCustomError, PydanticKnownError
from pydantic_core.core_schema import ErrorType

from service import limits
from service.web.faults import request_faults, validation_errors
from service.web.problems import (
    KIND_OF,
    MEDIA_TYPE,
    PROBLEMS,
    FieldError,
    Problem,
    ProblemDocument,
    problem_response,
    problem_responses,
    unreadable,
)

SECRET = "Xq7secret"


class Strict(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False)


class Prism(Strict):
    amount: float = Field(ge=0, le=100, json_schema_extra={"unit": "Δ"})
    base: Literal["in", "out"] | Annotated[float, Field(ge=0, le=360)] = Field(
        default="in", json_schema_extra={"unit": "°"}
    )


class Distance(Strict):
    right: float = Field(gt=0, lt=60)
    left: float = Field(gt=0, lt=60)


class Both(Strict):
    both: float


class Order(Strict):
    sphere: float = Field(default=0, ge=-30, le=30, json_schema_extra={"unit": "D"})
    cylinder: float = Field(default=0, json_schema_extra={"unit": "D"})
    count: int = Field(default=1, ge=1, le=9)
    reference: str = Field(default="", max_length=5)
    name: str = Field(default="xy", min_length=2)
    urgent: bool = False
    rim: Literal["full", "grooved", "drilled"] = "full"
    prisms: list[Prism] = Field(default=[], max_length=2)
    least: list[int] = Field(default=[1], min_length=1)
    pd_mm: Distance | Both | None = Field(default=None, json_schema_extra={"unit": "mm"})
    day: date | None = None
    step: float = Field(default=0, multiple_of=0.25, json_schema_extra={"unit": "D"})


def faults_of(document: object) -> list[FieldError]:
    with pytest.raises(ValidationError) as caught:
        Order.model_validate(document)
    return validation_errors(caught.value.errors(), document, Order.model_json_schema)


# What is sent, the code, the pointer, and what the sentence must say.
CASES: list[tuple[dict[str, Any], str, str, list[str]]] = [
    ({"sphere": "-2.25"}, "not-a-number", "/sphere", ["Text was read", "`sphere`", "A number in D is expected"]),
    ({"sphere": True}, "not-a-number", "/sphere", ["The word true or false was read", "`sphere`"]),
    ({"sphere": None}, "not-a-number", "/sphere", ["The word null was read"]),
    ({"sphere": float("nan")}, "not-finite", "/sphere", ["finite number in D"]),
    ({"sphere": -31}, "too-small", "/sphere", ["At least -30 D is expected", "`sphere`"]),
    ({"sphere": 30.25}, "too-large", "/sphere", ["At most 30 D is expected"]),
    ({"count": 1.5}, "not-a-whole-number", "/count", ["A number was read", "whole number"]),
    ({"count": "1"}, "not-a-whole-number", "/count", ["Text was read", "without decimals"]),
    ({"reference": 5}, "not-text", "/reference", ["A number was read", "double quotes"]),
    ({"reference": "123456"}, "too-long", "/reference", ["At most 5 characters are expected"]),
    ({"name": "x"}, "too-short", "/name", ["At least 2 characters are expected"]),
    ({"urgent": "yes"}, "not-true-or-false", "/urgent", ["True or false is expected"]),
    ({"rim": "groved"}, "not-one-of", "/rim", ["'full', 'grooved' or 'drilled'", "Did you mean grooved?"]),
    ({"rim": 1}, "not-one-of", "/rim", ["A number was read", "Choose one of these"]),
    ({"prisms": {}}, "wrong-kind", "/prisms", ["An object was read", "list in brackets"]),
    ({"prisms": [[]]}, "wrong-kind", "/prisms/0", ["A list was read", "object in braces, { }", "`amount`, `base`."]),
    ({"prisms": [{"amount": 1}] * 3}, "too-many", "/prisms", ["At most 2 items are expected"]),
    ({"least": []}, "too-few", "/least", ["At least 1 item is expected"]),
    ({"prisms": [{}]}, "member-missing", "/prisms/0/amount", ["`prisms.amount`", "A value in Δ is expected"]),
    ({"prisms": [{"amount": 1, "base": 400}]}, "too-large", "/prisms/0/base", ["At most 360 ° is expected"]),
    (
        {"prisms": [{"amount": 1, "base": "up"}]},
        "not-one-of",
        "/prisms/0/base",
        ["One of 'in' or 'out', or a number in ° is expected"],
    ),
    ({"cylindr": -1}, "member-unknown", "/cylindr", ["Did you mean `cylinder`?"]),
    ({"Sphere": -1}, "member-unknown", "/Sphere", ["Did you mean `sphere`?"]),
    ({"zzz": -1}, "member-unknown", "/zzz", ["Correct its name or remove it."]),
    ({"prisms": [{"amount": 1, "bse": "in"}]}, "member-unknown", "/prisms/0/bse", ["Did you mean `base`?"]),
    ({"day": 5}, "not-a-date", "/day", ["YYYY-MM-DD", "2026-06-01"]),
    ({"step": 0.3}, "not-in-steps", "/step", ["A multiple of 0.25 D is expected"]),
    (
        {"pd_mm": 63},
        "wrong-kind",
        "/pd_mm",
        ["A number was read", "Give its members by name: `right`, `left`, `both`."],
    ),
    ({"pd_mm": {"right": 0, "left": 31}}, "too-small", "/pd_mm/right", ["More than 0 mm", "`pd_mm.right`"]),
    ({"pd_mm": {"right": 31, "left": 60}}, "too-large", "/pd_mm/left", ["Less than 60 mm"]),
]


@pytest.mark.parametrize(("document", "code", "pointer", "words"), CASES, ids=[f"{c[1]} {c[2]}" for c in CASES])
def test_each_fault_has_its_code_its_place_and_its_words(
    document: dict[str, Any], code: str, pointer: str, words: list[str]
) -> None:
    faults = faults_of(document)
    assert [(fault.code, fault.pointer) for fault in faults] == [(code, pointer)]
    for word in words:
        assert word in faults[0].message


def test_of_a_union_of_objects_only_the_nearest_branch_is_told() -> None:
    faults = faults_of({"pd_mm": {"right": "31", "left": 32}})
    assert [(fault.code, fault.pointer) for fault in faults] == [("not-a-number", "/pd_mm/right")]
    faults = faults_of({"pd_mm": {"both": "63"}})
    assert [(fault.code, fault.pointer) for fault in faults] == [("not-a-number", "/pd_mm/both")]


def test_several_faults_are_told_together() -> None:
    faults = faults_of({"sphere": "x", "cilinder": 1, "prisms": [{"base": 5}]})
    assert {(fault.code, fault.pointer) for fault in faults} == {
        ("not-a-number", "/sphere"),
        ("member-unknown", "/cilinder"),
        ("member-missing", "/prisms/0/amount"),
    }


def test_a_body_of_the_wrong_kind_is_pointed_at_as_a_whole() -> None:
    (fault,) = faults_of([])
    assert (fault.code, fault.pointer) == ("wrong-kind", "")
    assert "A list was read for the body." in fault.message


def test_a_fault_of_the_contracts_own_keeps_its_words_and_its_type_is_its_code() -> None:
    error = {"type": "axis_form", "loc": ("axis",), "msg": "An axis is written in three figures.", "input": 5}
    (fault,) = validation_errors([error], {"axis": 5}, dict)
    assert (fault.code, fault.pointer) == ("axis-form", "/axis")
    assert fault.message.endswith("An axis is written in three figures.")


def test_what_a_validator_raises_is_not_repeated() -> None:
    error = {"type": "value_error", "loc": ("axis",), "msg": f"Value error, {SECRET}", "input": SECRET}
    (fault,) = validation_errors([error], {"axis": SECRET}, dict)
    assert fault.code == "not-accepted"
    assert SECRET not in fault.message


@pytest.mark.parametrize("case", CASES, ids=[f"{c[1]} {c[2]}" for c in CASES])
def test_no_sentence_names_a_class_blames_or_says_invalid(case: tuple[dict[str, Any], str, str, list[str]]) -> None:
    (fault,) = faults_of(case[0])
    for word in ("invalid", "Order", "Prism", "Distance", "Strict", "pydantic", "error", "your", "wrong"):
        assert word not in fault.message
    assert fault.message.endswith((".", "?"))


def test_no_sentence_repeats_a_value_or_a_name_that_was_sent() -> None:
    faults = faults_of(
        {"sphere": SECRET, "rim": SECRET, SECRET: 1, "prisms": [{"amount": 1, "base": SECRET}], "count": 777}
    )
    assert len(faults) == 5
    for fault in faults:
        assert SECRET not in fault.message
        assert "777" not in fault.message


def test_faults_of_parameters_name_the_parameter() -> None:
    errors: list[Mapping[str, Any]] = [
        {"type": "float_parsing", "loc": ("query", "a_mm"), "msg": "", "input": SECRET},
        {"type": "missing", "loc": ("header", "x-shop"), "msg": "", "input": None},
    ]
    faults = request_faults(errors, None, dict)
    assert [(fault.code, fault.parameter, fault.pointer) for fault in faults] == [
        ("not-a-number", "a_mm", None),
        ("member-missing", "x-shop", None),
    ]
    assert faults[0].message.startswith("Text was read for `a_mm` in the query. A number is expected.")


def test_every_type_of_error_of_the_library_can_be_told() -> None:
    told = 0
    for kind in get_args(ErrorType):
        try:
            known = PydanticKnownError(kind)
        except TypeError:  # a type that has a bound or a list of choices: covered by the cases above
            continue
        error = {"type": known.type, "loc": ("a",), "msg": known.message(), "input": 5, "ctx": None}
        (fault,) = validation_errors([error], {"a": 5}, dict)
        assert fault.pointer is not None
        assert "_" not in fault.code
        told += 1
    assert told > 50


def test_a_custom_error_type_is_never_mistaken_for_one_of_the_library() -> None:
    def refuse(_: object) -> float:
        raise PydanticCustomError("own_rule", "A rule of the contract.")

    with pytest.raises(ValidationError) as caught:
        TypeAdapter(Annotated[float, BeforeValidator(refuse)]).validate_python(1)
    (fault,) = validation_errors(caught.value.errors(), 1, dict)
    assert fault.code == "own-rule"


# The document itself.


def scope(**more: object) -> dict[str, Any]:
    return {"type": "http", "path": "/v1/x", "query_string": b"age=34", "state": {"request_id": "id-1"}, **more}


@pytest.mark.parametrize("kind", PROBLEMS, ids=lambda kind: kind.code)
def test_every_kind_of_problem_makes_the_same_document(kind: Any) -> None:
    response = problem_response(Problem(kind.code), scope())
    document = json.loads(bytes(response.body))
    assert response.status_code == document["status"] == kind.status
    assert response.headers["content-type"] == MEDIA_TYPE
    assert document["type"] == f"/v1/reference/problems#{kind.code}"
    assert document["title"] == kind.title
    assert document["request_id"] == "id-1"
    assert document["instance"] == "/v1/x", "the path alone: a query may hold what was asked"
    assert document["errors"] == []
    TypeAdapter(ProblemDocument).validate_json(bytes(response.body))


def test_busy_and_not_ready_say_when_to_try_again() -> None:
    told = [kind.code for kind in PROBLEMS if "Retry-After" in problem_response(Problem(kind.code), scope()).headers]
    assert told == ["too-busy", "not-ready"]


def test_codes_are_unique_and_titles_say_no_bad_word() -> None:
    assert len(KIND_OF) == len(PROBLEMS)
    for kind in PROBLEMS:
        assert kind.title
        assert "invalid" not in (kind.title + kind.description).lower()


def test_one_fault_is_told_in_the_detail_and_many_are_counted() -> None:
    fault = FieldError("member-missing", "Add it.", pointer="/a")
    assert unreadable([fault]).detail == "Add it."
    assert unreadable([fault] * 2).detail.startswith("2 faults were found.")
    many = unreadable([fault] * (limits.MAX_ERRORS_REPORTED + 1))
    assert len(many.errors) == limits.MAX_ERRORS_REPORTED
    assert many.detail.startswith(f"More than {limits.MAX_ERRORS_REPORTED} faults were found.")


def test_what_does_not_apply_to_a_fault_is_left_out() -> None:
    problem = unreadable([FieldError("json-syntax", "x", line=1, column=2), FieldError("too-deep", "y", pointer="")])
    errors = json.loads(bytes(problem_response(problem, scope()).body))["errors"]
    assert errors == [
        {"code": "json-syntax", "message": "x", "line": 1, "column": 2},
        {"pointer": "", "code": "too-deep", "message": "y"},
    ]


def test_a_path_in_a_problem_is_an_address_again() -> None:
    response = problem_response(Problem("not-found"), scope(path='/é "<x>\n'))
    assert json.loads(bytes(response.body))["instance"] == "/%C3%A9%20%22%3Cx%3E%0A"
    # Two slashes would make what follows the name of a host.
    assert json.loads(bytes(problem_response(Problem("not-found"), scope(path="//x.y/z")).body))["instance"] == "/x.y/z"


def test_an_address_that_is_too_long_is_not_sent_back() -> None:
    response = problem_response(Problem("uri-too-long"), scope(path="/" + "x" * limits.MAX_URL_BYTES))
    assert "instance" not in json.loads(bytes(response.body))


def test_problems_of_one_status_share_one_entry_in_the_published_schema() -> None:
    responses = problem_responses("too-busy", "not-ready", "unreadable-request")
    assert set(responses) == {503, 422}
    assert "too-busy" in responses[503]["description"]
    assert "not-ready" in responses[503]["description"]
    assert "Retry-After" in responses[503]["headers"]
