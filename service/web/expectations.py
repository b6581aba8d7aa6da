"""From a validation error of the model library to a stable code and three phrases: what was read, what is expected,
what to do.

The words of the library are not passed on: they name classes and change between versions. A fault raised on purpose in
the contract (`PydanticCustomError`) keeps its own sentence, and its type is its code.
"""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, get_args

from pydantic_core.core_schema import ErrorType


@dataclass(frozen=True, slots=True)
class Expectation:
    """A fault in phrases; `expected` fits before "is expected"."""

    code: str
    read: str
    expected: str
    to_do: str


# Kinds of error whose cause is the kind of value, to a code, what is expected, and what to do.
_KINDS: Final[Mapping[str, tuple[str, str, str]]] = {
    "number": ("not-a-number", "a number{unit}", "Write it in figures, without quotation marks, with a decimal point."),
    "whole": ("not-a-whole-number", "a whole number{unit}", "Write it without decimals and quotation marks."),
    "finite": ("not-finite", "a finite number{unit}", "Leave the member out where the figure is not known."),
    "text": ("not-text", "text in double quotes", "Put it in double quotes."),
    "bool": ("not-true-or-false", "true or false", "Write it without quotation marks."),
    "day": ("not-a-date", "a day in the form YYYY-MM-DD", "Write year, month and day in figures, such as 2026-06-01."),
    "object": ("wrong-kind", "an object in braces, {{ }}", "Give its members by name{members}."),
    "list": ("wrong-kind", "a list in brackets, [ ]", "Put the value in brackets, also where there is only one."),
    "null": ("wrong-kind", "null", "Write null, or leave the member out."),
}
_KIND_OF_TYPE: Final[Mapping[str, str]] = {
    **dict.fromkeys(("float_type", "float_parsing", "decimal_type", "decimal_parsing"), "number"),
    **dict.fromkeys(("int_type", "int_parsing", "int_from_float", "int_parsing_size"), "whole"),
    "finite_number": "finite",
    **dict.fromkeys(("string_type", "string_sub_type", "string_unicode"), "text"),
    **dict.fromkeys(("bool_type", "bool_parsing"), "bool"),
    **dict.fromkeys(("date_type", "date_parsing", "date_from_datetime_parsing", "date_from_datetime_inexact"), "day"),
    **dict.fromkeys(("dict_type", "mapping_type", "model_type", "model_attributes_type", "dataclass_type"), "object"),
    **dict.fromkeys(("list_type", "tuple_type", "set_type", "frozen_set_type", "iterable_type"), "list"),
    "none_required": "null",
}
# Bounds: code, name of the bound in the error, what was read, what is expected.
_BOUNDS: Final[Mapping[str, tuple[str, str, str, str]]] = {
    "greater_than_equal": ("too-small", "ge", "A number below the least one", "at least {bound}{unit}"),
    "greater_than": ("too-small", "gt", "A number that is too small", "more than {bound}{unit}"),
    "less_than_equal": ("too-large", "le", "A number above the greatest one", "at most {bound}{unit}"),
    "less_than": ("too-large", "lt", "A number that is too large", "less than {bound}{unit}"),
    "multiple_of": ("not-in-steps", "multiple_of", "A number between two steps", "a multiple of {bound}{unit}"),
    "string_too_long": ("too-long", "max_length", "A longer text", "at most {bound} character{s}"),
    "string_too_short": ("too-short", "min_length", "A shorter text", "at least {bound} character{s}"),
    "too_long": ("too-many", "max_length", "A longer list", "at most {bound} item{s}"),
    "too_short": ("too-few", "min_length", "A shorter list", "at least {bound} item{s}"),
}
BOUND_CODES: Final = frozenset(code for code, *_ in _BOUNDS.values()) | {"not-finite"}
# Types of the contract's own that stand for a kind of fault named above.
_OWN_CODES: Final[Mapping[str, str]] = {"day_form": "not-a-date"}
_LISTED_CHARACTERS: Final = 80
_LIBRARY_TYPES: Final = frozenset(get_args(ErrorType))


def expectation(error: Mapping[str, Any], *, unit: str | None, members: tuple[str, ...], name: str) -> Expectation:
    """The fault in our words. `members` are those the schema knows at the place; `name` is the error's last part."""
    kind = str(error["type"])
    context: Mapping[str, Any] = error.get("ctx") or {}
    unit_phrase = f" {unit}" if unit else ""
    if kind == "missing":
        return Expectation("member-missing", "Nothing was read", f"a value{_in(unit)}", "Add it.")
    if kind in ("extra_forbidden", "unexpected_keyword_argument"):
        return _unknown_member(members, name)
    if kind in _BOUNDS:
        code, bound, read, expected = _BOUNDS[kind]
        expected = expected.format(
            bound=_figure(context[bound]), unit=unit_phrase, s="" if context[bound] == 1 else "s"
        )
        check = "Check the figure and its unit." if code in ("too-small", "too-large") else "Correct it."
        return Expectation(code, f"{read} was read", expected, check)
    if kind in ("literal_error", "enum", "union_tag_invalid", "union_tag_not_found"):
        return _not_one_of(error, context)
    if kind in _KIND_OF_TYPE:
        code, expected, to_do = _KINDS[_KIND_OF_TYPE[kind]]
        return Expectation(code, _read(error), expected.format(unit=_in(unit)), to_do.format(members=_listed(members)))
    if kind not in _LIBRARY_TYPES:
        return Expectation(_OWN_CODES.get(kind, kind.replace("_", "-")), _read(error), "", str(error["msg"]))
    return Expectation("not-accepted", _read(error), "what the schema at /openapi.json describes", "Correct it.")


def _read(error: Mapping[str, Any]) -> str:
    """What was read, as a kind only: a value that was sent is never repeated."""
    value = error.get("input")
    if value is None:
        return "The word null was read"
    if isinstance(value, bool):
        return "The word true or false was read"
    if isinstance(value, (int, float)):
        return "A number was read"
    if isinstance(value, str):
        return "Text was read"
    return "A list was read" if isinstance(value, list) else "An object was read"


def _unknown_member(members: tuple[str, ...], name: str) -> Expectation:
    # A name without its unit comes first: `age` for `age_years`.
    near = [member for member in members if member.startswith(f"{name.lower()}_")]
    if not near and len(name) <= 60:
        near = difflib.get_close_matches(name.lower(), members, n=1)
    to_do = f"Did you mean `{near[0]}`? Correct the name" if near else "Correct its name"
    return Expectation("member-unknown", "A member that is not known here was read", "", f"{to_do} or remove it.")


def _not_one_of(error: Mapping[str, Any], context: Mapping[str, Any]) -> Expectation:
    expected = str(context.get("expected") or context.get("expected_tags") or "the kinds in the schema")
    choices = [choice.strip().strip("'") for choice in expected.replace(" or ", ", ").split(",")]
    value = error.get("input")
    near = difflib.get_close_matches(value.lower(), choices, n=1) if isinstance(value, str) and len(value) <= 60 else []
    to_do = f"Did you mean {near[0]}?" if near else "Choose one of these."
    read = "A text that is none of these was read" if isinstance(value, str) else _read(error)
    return Expectation("not-one-of", read, f"one of {expected}" if len(choices) > 1 else expected, to_do)


def _in(unit: str | None) -> str:
    return f" in {unit}" if unit else ""


def _listed(members: tuple[str, ...]) -> str:
    """The members of an object by name; of many as many as one line holds."""
    names = [f"`{name}`" for name in members]
    while len(", ".join(names)) > _LISTED_CHARACTERS:
        names.pop()
    if not names:
        return ""
    return f"{':' if len(names) == len(members) else ', such as'} {', '.join(names)}"


def _figure(bound: object) -> str:
    return f"{bound:g}" if isinstance(bound, float) else str(bound)
