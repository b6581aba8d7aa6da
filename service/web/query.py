"""The query of an address as names and values, in their order.

A plus sign stays a plus sign. Forms of web pages write a blank as `+`, and most readers turn it back into one; people who
put a power into an address by hand mean the sign. `%2B` is a plus sign as well, and `%20` a blank.
"""

from urllib.parse import unquote_to_bytes

from service.web.problems import FieldError, unreadable


def query_pairs(query: bytes) -> list[tuple[str, str]]:
    """Every name with its value; a name without an equals sign has an empty one.

    Raises Problem if a piece is not UTF-8.
    """
    pieces = [piece.partition(b"=") for piece in query.split(b"&") if piece]
    return [(_text(name), _text(value)) for name, _, value in pieces]


def _text(coded: bytes) -> str:
    try:
        return unquote_to_bytes(coded).decode("utf-8")
    except UnicodeDecodeError:
        message = "A piece of the query that is not UTF-8 was read. Text in UTF-8 is expected. Encode it as UTF-8."
        raise unreadable([FieldError("not-utf8", message)]) from None
