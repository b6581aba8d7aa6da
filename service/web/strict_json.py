"""JSON as RFC 8259 has it, and nothing that two readers could take differently.

Refused: two members of one name, NaN and infinity (also as a number too large for a double), text that is not Unicode,
and what is beyond the bounds of `service.limits`. The usual body pays for one pass of the standard library's parser
and a few counts of bytes; a larger one is walked as well. Only when that raises a doubt is the text parsed again to
say what is wrong where (`service.web.json_faults`).
"""

import codecs
import json
import re
from typing import Any, Final, NoReturn

from service import limits
from service.web.json_faults import document_faults, syntax_fault
from service.web.problems import FieldError, unreadable

# One pass makes numbers comparable: what can stand in a number becomes "0", an exponent's letter "e", the rest blank.
_NUMBER_SHAPES: Final = bytes(
    ord("0") if chr(code) in "0123456789.+-" else ord("e") if chr(code) in "eE" else ord(" ") for code in range(256)
)
_LONG_NUMBER: Final = b"0" * (limits.MAX_NUMBER_CHARACTERS + 1)
_EXPONENT: Final = b"0e"
_SURROGATE: Final = re.compile(rb"\\u[dD][89a-fA-F]")


class _DoubtError(Exception):
    """The fast pass met something that must be looked at closely."""


def parse(body: bytes, longest_text: int = limits.MAX_STRING_CHARACTERS, most_values: int = limits.MAX_VALUES) -> Any:
    """The document in a body; `Problem` with every fault found if it cannot be taken."""
    text = _text(body)
    try:
        document = _FAST.decode(text)
    except json.JSONDecodeError as error:
        raise unreadable([syntax_fault(error)]) from None
    except (_DoubtError, RecursionError, ValueError):  # ValueError: a whole number beyond what Python converts
        raise unreadable(document_faults(text, longest_text, most_values)) from None
    if _is_doubtful(body, document, longest_text, most_values):
        faults = document_faults(text, longest_text, most_values)
        if faults:
            raise unreadable(faults)
    return document


def _text(body: bytes) -> str:
    if not body:
        raise unreadable([FieldError("body-missing", "No body was sent. A JSON document is expected.", pointer="")])
    if body.startswith((codecs.BOM_UTF8, codecs.BOM_UTF16_BE, codecs.BOM_UTF16_LE)):
        message = "A byte order mark was read at the start. Plain UTF-8 is expected. Send the text without the mark."
        raise unreadable([FieldError("not-utf8", message)])
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as error:
        before = body[: error.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8")) + 1
        message = (
            f"A byte that is not UTF-8 was read in line {line}, column {column}. "
            "Text in UTF-8 is expected. Save or send the text as UTF-8."
        )
        raise unreadable([FieldError("not-utf8", message, line=line, column=column)]) from None


def _is_doubtful(body: bytes, document: object, longest_text: int, most_values: int) -> bool:
    """Whether a bound may have been passed. Never false where one was."""
    shapes = body.translate(_NUMBER_SHAPES)
    if _EXPONENT in shapes or _LONG_NUMBER in shapes or (b"\\u" in body and _SURROGATE.search(body)):
        return True
    openings = body.count(b"{") + body.count(b"[")
    if openings <= limits.MAX_DEPTH and len(body) <= longest_text:
        return False
    return not _is_within_bounds(document, longest_text, most_values)


def _is_within_bounds(document: object, longest_text: int, most_values: int) -> bool:
    """Depth, number of values and length of texts, level by level."""
    values = 0
    level: list[Any] = [[document]]
    for _ in range(limits.MAX_DEPTH + 1):
        deeper: list[Any] = []
        for node in level:
            if type(node) is dict and max(map(len, node), default=0) > longest_text:
                return False
            inside = node.values() if type(node) is dict else node
            values += len(inside)
            for value in inside:
                kind = type(value)
                if kind is dict or kind is list:
                    deeper.append(value)
                elif kind is str and len(value) > longest_text:
                    return False
        if not deeper:
            return values <= most_values
        level = deeper
    return False


def _unique_members(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise _DoubtError
    return members


def _not_a_number(_: str) -> NoReturn:
    raise _DoubtError


_FAST: Final = json.JSONDecoder(object_pairs_hook=_unique_members, parse_constant=_not_a_number)
