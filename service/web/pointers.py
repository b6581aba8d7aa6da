"""JSON Pointers (RFC 6901) made by walking the document that was received.

A validation error names its place by a row of parts. Below a union some of these are no members at all but names of
classes, tags or functions. Which is which is settled by the document: a part that can be stepped into is a step, any
other is passed over. A tag may be spelt like a member; so of all ways to read the row, one that leads to the value that
the error complains of is taken, then the one with the most steps, and among equals the one whose last part is a step, since
tags stand before what they lead to.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Place:
    """Where a row of parts leads: the steps that exist in the document, and the parts that were passed over."""

    steps: tuple[str | int, ...]
    passed_over: tuple[int, ...]
    is_meant: bool


_ABSENT: Final = object()


def escaped(part: str | int) -> str:
    """One part of a pointer, escaped (RFC 6901, section 3)."""
    text = str(part)
    return text.replace("~", "~0").replace("/", "~1") if "~" in text or "/" in text else text


def joined(pointer: str, part: str | int) -> str:
    """The pointer one step further."""
    return f"{pointer}/{escaped(part)}"


def pointer_of(
    location: Sequence[str | int], document: object, *, missing: bool = False, meant: object = _ABSENT
) -> str:
    """Pointer to the place of an error; where a member is missing, to where it belongs: its parent resolves."""
    walked = location[:-1] if missing else location
    pointer = "".join(f"/{escaped(step)}" for step in place_of(walked, document, meant).steps)
    return joined(pointer, location[-1]) if missing and location else pointer


def place_of(location: Sequence[str | int], document: object, meant: object = _ABSENT) -> Place:
    """The best way to read a row of parts in a document. `meant` is the value that the error complains of."""
    return _Reader(tuple(location), meant).best(0, document)


class _Reader:
    """Reads one row of parts; what has been read at a place is kept."""

    def __init__(self, location: tuple[str | int, ...], meant: object) -> None:
        self.location = location
        self.meant = meant
        self.known: dict[tuple[int, int], Place] = {}

    def best(self, at: int, node: object) -> Place:
        if at == len(self.location):
            return Place((), (), node is self.meant)
        key = (at, id(node))
        if key not in self.known:
            self.known[key] = self._better(at, node)
        return self.known[key]

    def _better(self, at: int, node: object) -> Place:
        rest = self.best(at + 1, node)
        over = Place(rest.steps, (at, *rest.passed_over), rest.is_meant)
        step, inner = _stepped(node, self.location[at])
        if inner is _ABSENT:
            return over
        rest = self.best(at + 1, inner)
        into = Place((step, *rest.steps), rest.passed_over, rest.is_meant)
        last = len(self.location) - 1
        return max(into, over, key=lambda place: (place.is_meant, len(place.steps), last not in place.passed_over))


def _stepped(node: object, part: str | int) -> tuple[str | int, object]:
    """The member or item of that name, and how it is written in the document."""
    if isinstance(node, dict):
        name = str(part)
        return name, node.get(name, _ABSENT)
    if isinstance(node, list) and isinstance(part, int) and 0 <= part < len(node):
        return part, node[part]
    return part, _ABSENT
