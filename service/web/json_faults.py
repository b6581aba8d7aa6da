"""Where and why a JSON text is refused: the slow second look, taken only at a text that raised a doubt.

The standard parser is run again with hooks that keep what it would otherwise hide (equal members, numbers as written,
NaN), and the result is walked in the order of the text, with a JSON Pointer to each fault.
"""

import json
import math
from collections.abc import Iterator
from typing import Any, Final

from service import limits
from service.web.pointers import joined
from service.web.problems import FieldError

# What the standard parser says, in words to people. Anything else: the last line of `syntax_fault`.
_EXPECTED: Final = {
    "Expecting value": "A value is expected here: an object, a list, a number, a text in double quotes, true, false or "
    "null.",
    "Expecting property name enclosed in double quotes": "The name of a member, in double quotes, is expected here.",
    "Expecting ':' delimiter": "A colon is expected here, between the name of a member and its value.",
    "Expecting ',' delimiter": "A comma is expected here, or the end of the object or list.",
    "Illegal trailing comma before end of object": "The comma before the end of the object must go.",
    "Illegal trailing comma before end of array": "The comma before the end of the list must go.",
    "Unterminated string starting at": "The text that starts here has no closing double quote.",
    "Invalid control character at": "A line break, tab or control character stands in a text here. Write it as an "
    "escape, such as \\n.",
    "Invalid \\escape": "A backslash is followed by a character that makes no escape here. Write \\\\ for a backslash.",
    "Invalid \\uXXXX escape": "Four hexadecimal digits are expected after \\u here.",
    "Extra data": "The document is complete before this place. Send one document, with nothing after it.",
}


class _Number(str):
    """A number as it was written."""

    __slots__ = ()


class _Constant(str):
    """NaN, Infinity or -Infinity."""

    __slots__ = ()


class _Members(list[tuple[str, Any]]):
    """The members of an object, all of them, in their order."""

    __slots__ = ()


_KEEPING: Final = json.JSONDecoder(
    object_pairs_hook=_Members, parse_float=_Number, parse_int=_Number, parse_constant=_Constant
)


def syntax_fault(error: json.JSONDecodeError) -> FieldError:
    """The fault of a text that is not JSON, with its line and column."""
    expected = _EXPECTED.get(error.msg.removesuffix(": "), "The text is not JSON from here on.")
    message = f"Line {error.lineno}, column {error.colno}: {expected}"
    return FieldError("json-syntax", message, line=error.lineno, column=error.colno)


def document_faults(
    text: str, longest_text: int = limits.MAX_STRING_CHARACTERS, most_values: int = limits.MAX_VALUES
) -> list[FieldError]:
    """Faults of a text that is JSON by its grammar, in the order of the text; one more than is reported at most."""
    try:
        document = _KEEPING.decode(text)
    except RecursionError:
        return [_too_deep("")]
    except json.JSONDecodeError as error:  # a fault of grammar behind the one that raised the doubt
        return [syntax_fault(error)]
    faults: list[FieldError] = []
    for fault in _walked(document, longest_text, most_values):
        faults.append(fault)
        if len(faults) > limits.MAX_ERRORS_REPORTED:
            break
    return faults


def _walked(document: object, longest_text: int, most_values: int) -> Iterator[FieldError]:
    values = 0
    open_nodes: list[tuple[str, int, object]] = [("", 0, document)]
    while open_nodes:
        pointer, depth, node = open_nodes.pop()
        values += 1
        if values > most_values:
            yield _too_many(most_values)
            return
        if not isinstance(node, list):
            yield from _value_faults(pointer, node, longest_text)
        elif depth == limits.MAX_DEPTH:
            yield _too_deep(pointer)
        elif isinstance(node, _Members):
            yield from _name_faults(pointer, node, longest_text)
            inside = [
                (joined(pointer, name), depth + 1, value)
                for name, value in dict(node).items()
                if _is_name(name, longest_text)
            ]
            open_nodes.extend(reversed(inside))
        else:
            items = [(joined(pointer, place), depth + 1, value) for place, value in enumerate(node)]
            open_nodes.extend(reversed(items))


def _value_faults(pointer: str, value: object, longest_text: int) -> Iterator[FieldError]:
    if isinstance(value, _Constant):
        yield _not_finite(pointer)
    elif isinstance(value, _Number):
        if len(value) > limits.MAX_NUMBER_CHARACTERS:
            message = (
                f"A number of {len(value)} characters was read. At most {limits.MAX_NUMBER_CHARACTERS} are "
                "taken. Write it with fewer digits."
            )
            yield FieldError("number-too-long", message, pointer=pointer)
        elif not math.isfinite(float(value)):
            yield _not_finite(pointer)
    elif isinstance(value, str):
        yield from _text_faults(pointer, value, longest_text)


def _name_faults(pointer: str, members: _Members, longest_text: int) -> Iterator[FieldError]:
    seen: set[str] = set()
    told: set[str] = set()
    for name, _ in members:
        if not _is_name(name, longest_text):
            # Such a name would spoil the pointer: the object that holds it is pointed at.
            yield from _text_faults(pointer, name, longest_text)
        elif name in seen and name not in told:
            told.add(name)
            message = "This member stands in its object more than once. One is expected. Keep the one that is right."
            yield FieldError("duplicate-member", message, pointer=joined(pointer, name))
        seen.add(name)


def _is_name(name: str, longest_text: int) -> bool:
    return not any(True for _ in _text_faults("", name, longest_text))


def _text_faults(pointer: str, text: str, longest_text: int) -> Iterator[FieldError]:
    if len(text) > longest_text:
        message = f"A text of {len(text)} characters was read. At most {longest_text} are taken. Shorten it."
        yield FieldError("string-too-long", message, pointer=pointer)
    elif not text.isascii() and any("\ud800" <= character <= "\udfff" for character in text):
        message = (
            "Half of a surrogate pair (\\ud800 to \\udfff) was read. Whole characters are expected. Write both halves."
        )
        yield FieldError("not-unicode", message, pointer=pointer)


def _not_finite(pointer: str) -> FieldError:
    message = (
        "NaN, infinity or a number too large to hold was read. A finite number is expected. "
        "Leave the member out where the figure is not known."
    )
    return FieldError("number-not-finite", message, pointer=pointer)


def _too_deep(pointer: str) -> FieldError:
    message = f"Objects and lists are nested more than {limits.MAX_DEPTH} deep. Check that every bracket is closed."
    return FieldError("too-deep", message, pointer=pointer)


def _too_many(most_values: int) -> FieldError:
    message = f"More than {most_values} values were read. Fewer are expected. Send the document in parts."
    return FieldError("too-many-values", message, pointer="")
