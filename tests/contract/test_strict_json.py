"""What is taken as JSON, what is refused, and where each refusal points."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service import limits
from service.web.pointers import escaped
from service.web.problems import FieldError, Problem
from service.web.strict_json import parse


def faults_of(body: bytes) -> tuple[FieldError, ...]:
    with pytest.raises(Problem) as caught:
        parse(body)
    assert caught.value.kind.code == "unreadable-request"
    return caught.value.errors


def codes_and_pointers(body: bytes) -> list[tuple[str, str | None]]:
    return [(fault.code, fault.pointer) for fault in faults_of(body)]


def resolved(document: object, pointer: str) -> object:
    for part in pointer.split("/")[1:]:
        name = part.replace("~1", "/").replace("~0", "~")
        document = document[int(name)] if isinstance(document, list) else document[name]  # type: ignore[index]
    return document


NESTED = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**60), 2**60)
    | st.floats(allow_nan=False, allow_infinity=False)
    # No digit next to an e, and no escape: those are looked at closely, which has its own test.
    | st.text(st.characters(codec="utf-8"), max_size=30),
    lambda inner: (
        st.lists(inner, max_size=6) | st.dictionaries(st.text(st.characters(codec="utf-8"), max_size=8), inner)
    ),
    max_leaves=40,
)


@given(NESTED, st.booleans())
def test_every_document_of_another_writer_is_read_as_it_was_meant(document: object, ascii_only: bool) -> None:
    assert parse(json.dumps(document, ensure_ascii=ascii_only).encode()) == document


@given(st.binary(max_size=200))
def test_any_bytes_give_a_document_or_a_problem_and_agree_with_the_standard_parser(body: bytes) -> None:
    try:
        document = parse(body)
    except Problem as problem:
        faults = problem.errors
    else:
        assert document == json.loads(body)
        return
    assert faults


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        (b'{"sphere": -2.25, "sphere": 2.25}', "/sphere"),
        (b'{"sphere": 1, "\\u0073phere": 1}', "/sphere"),
        (b'{"right": {"axis": 10}, "left": {"axis": 1, "cylinder": -1, "axis": 1}}', "/left/axis"),
        (b'{"orders": [{}, {"a/b~c": [{"x": 1, "x": 1}]}]}', "/orders/1/a~1b~0c/0/x"),
        (b'{"": 1, "": 2}', "/"),
    ],
)
def test_a_member_given_twice_is_refused_where_it_stands(body: bytes, pointer: str) -> None:
    assert codes_and_pointers(body) == [("duplicate-member", pointer)]


def test_a_member_given_three_times_is_told_once() -> None:
    assert codes_and_pointers(b'{"a": 1, "a": 2, "a": 3}') == [("duplicate-member", "/a")]


@pytest.mark.parametrize("number", [b"NaN", b"Infinity", b"-Infinity", b"1e999", b"-1E400", b"1.5e+309"])
def test_a_number_that_is_not_finite_is_refused_where_it_stands(number: bytes) -> None:
    body = b'{"frame": {"sizes": [54, ' + number + b"]}}"
    assert codes_and_pointers(body) == [("number-not-finite", "/frame/sizes/1")]


def test_the_largest_double_is_taken() -> None:
    assert parse(b"[1.7976931348623157e308, 5e-324]") == [1.7976931348623157e308, 5e-324]


def test_several_faults_are_told_together_in_the_order_of_the_text() -> None:
    body = b'{"a": NaN, "b": {"c": 1, "c": 1}, "d": [1e999, {"e": -Infinity}]}'
    assert codes_and_pointers(body) == [
        ("number-not-finite", "/a"),
        ("duplicate-member", "/b/c"),
        ("number-not-finite", "/d/0"),
        ("number-not-finite", "/d/1/e"),
    ]


def test_a_number_is_taken_up_to_its_bound_and_refused_beyond() -> None:
    at_bound = "0." + "1" * (limits.MAX_NUMBER_CHARACTERS - 2)
    assert parse(f"[{at_bound}]".encode()) == [float(at_bound)]
    assert codes_and_pointers(f"[{at_bound}1]".encode()) == [("number-too-long", "/0")]
    assert codes_and_pointers(f"[{'9' * 10_000}]".encode()) == [("number-too-long", "/0")]


def test_nesting_is_taken_up_to_its_bound_and_refused_beyond() -> None:
    depth = limits.MAX_DEPTH
    assert parse(b"[" * depth + b"]" * depth) is not None
    assert codes_and_pointers(b"[" * (depth + 1) + b"]" * (depth + 1)) == [("too-deep", "/0" * depth)]
    deep_object = b'{"a":' * (depth + 1) + b"1" + b"}" * (depth + 1)
    assert codes_and_pointers(deep_object) == [("too-deep", "/a" * depth)]


def test_nesting_beyond_what_any_parser_takes_is_refused_too() -> None:
    assert codes_and_pointers(b"[" * 100_000 + b"]" * 100_000) == [("too-deep", "")]
    assert [fault.code for fault in faults_of(b"[" * 100_000)] == ["too-deep"]


def test_many_brackets_that_are_not_deep_are_taken() -> None:
    document = {"points_mm": [[x, -x] for x in range(400)]}
    assert parse(json.dumps(document).encode()) == document


def test_a_text_is_taken_up_to_its_bound_and_refused_beyond() -> None:
    text = "x" * limits.MAX_STRING_CHARACTERS
    assert parse(json.dumps({text: text}).encode()) == {text: text}
    assert codes_and_pointers(json.dumps({"a": [text + "x"]}).encode()) == [("string-too-long", "/a/0")]
    # A name that long would spoil the pointer: its object is pointed at.
    assert codes_and_pointers(json.dumps({"a": {text + "x": 1}}).encode()) == [("string-too-long", "/a")]


def test_the_number_of_values_is_bounded() -> None:
    most = limits.MAX_VALUES
    assert len(parse(json.dumps([1] * (most - 1)).encode())) == most - 1
    assert codes_and_pointers(json.dumps([1] * most).encode()) == [("too-many-values", "")]


def test_half_a_surrogate_pair_is_refused_and_a_whole_one_taken() -> None:
    assert parse(b'["\\ud83d\\ude00"]') == ["\U0001f600"]
    assert codes_and_pointers(b'{"a": ["\\ud83d"]}') == [("not-unicode", "/a/0")]
    assert codes_and_pointers(b'{"a": {"\\udc00x": 1}}') == [("not-unicode", "/a")]


@pytest.mark.parametrize(
    ("body", "line", "column"),
    [
        (b'{"a": 1,}', 1, 9),
        (b'{\n  "a": 010\n}', 2, 9),
        (b"{'a': 1}", 1, 2),
        (b'{"a" 1}', 1, 6),
        (b'{"a": tru}', 1, 7),
        (b'{"a": "x\ny"}', 1, 9),
        (b'["\xc3\xa9\xc3\xa9", ]', 1, 8),
        (b"{} {}", 1, 4),
        (b'{"a": .5}', 1, 7),
        (b'{"a": +5}', 1, 7),
        (b'["open', 1, 2),
        (b"[1, 2] // remark", 1, 8),
        (b"   ", 1, 4),
    ],
)
def test_text_that_is_not_json_is_told_by_line_and_column(body: bytes, line: int, column: int) -> None:
    (fault,) = faults_of(body)
    assert (fault.code, fault.pointer, fault.line, fault.column) == ("json-syntax", None, line, column)
    assert f"Line {line}, column {column}: " in fault.message
    assert "not JSON from here" not in fault.message, "every message of the parser has words of ours"


def test_text_that_is_not_utf8_is_told_by_line_and_column() -> None:
    (fault,) = faults_of(b'{\n "a": "\xe9"}')
    assert (fault.code, fault.line, fault.column) == ("not-utf8", 2, 8)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_a_byte_order_mark_is_named(encoding: str) -> None:
    (fault,) = faults_of('{"a": 1}'.encode(encoding))
    assert fault.code == "not-utf8"
    assert "byte order mark" in fault.message


def test_no_body_is_named() -> None:
    assert codes_and_pointers(b"") == [("body-missing", "")]


def test_no_message_repeats_what_was_sent() -> None:
    secret = "Xq7secret"
    bodies = [
        f'{{"{secret}": 1, "{secret}": 2}}',
        f'{{"a": "{secret}}}',
        f'{{"a": {secret}}}',
        json.dumps({"a": secret * 400}),
        f'{{"a": "{secret}\\ud800"}}',
        f'{{"a": 1234567{"8" * 50}}}',
    ]
    for body in bodies:
        for fault in faults_of(body.encode()):
            assert secret not in fault.message
            assert "1234567" not in fault.message


@given(
    st.recursive(
        st.just(math.nan) | st.integers(0, 9),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(["a", "0", "~/", "", "b/"]), inner),
        max_leaves=20,
    )
)
def test_every_pointer_to_a_number_that_is_not_finite_leads_to_it(document: object) -> None:
    expected = json.dumps(document).count("NaN")
    try:
        parse(json.dumps(document).encode())
    except Problem as problem:
        pointers = [fault.pointer for fault in problem.errors]
        assert len(set(pointers)) == expected
        assert all(pointer is not None and math.isnan(resolved(document, pointer)) for pointer in pointers)  # type: ignore[arg-type]
    else:
        assert expected == 0


def test_at_most_as_many_faults_as_the_bound_are_reported() -> None:
    with pytest.raises(Problem) as caught:
        parse(b"[" + b",".join([b"NaN"] * 500) + b"]")
    assert len(caught.value.errors) == limits.MAX_ERRORS_REPORTED
    assert caught.value.detail.startswith(f"More than {limits.MAX_ERRORS_REPORTED} faults")


def test_pointer_parts_are_escaped() -> None:
    assert escaped("a/b~c") == "a~1b~0c"
