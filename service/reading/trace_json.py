"""Trace files in JSON: a list of radii or of points, or an object with radii_mm or points_mm.

The standard parser judges the grammar. It hides equal members and where a value stood, so the pieces of the text are then
put together once more, each with its line and its place (a JSON Pointer, RFC 6901).
"""

import json
import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from service import limits
from service.reading.trace_numbers import plain_number
from service.reading.trace_remarks import TraceReading, TraceRemark, named, quoted, refused, trace_remark

_FORMS: Final[dict[str, Literal["radii", "points"]]] = {"radii_mm": "radii", "points_mm": "points"}
_NOT_FINITE: Final = frozenset({"NaN", "Infinity", "-Infinity"})
# The pieces of a text that is known to be JSON; a text before a colon is the name of a member.
_PIECE: Final = re.compile(
    r"""(?P<text>"[^"\\]*(?:\\.[^"\\]*)*")(?P<colon>\s*:)?|(?P<opening>[\[{])|[\]}]|(?P<number>-?[0-9][0-9.eE+-]*)
    |(?P<word>-?[A-Za-z]+)|\n""",
    re.VERBOSE,
)


@dataclass(slots=True)
class _Node:
    """A value of the document, as written, with its line; `inside` has the members of an object or the items of a list."""

    kind: Literal["object", "list", "number", "text", "word"]
    text: str
    line: int
    depth: int = 0
    step: str = ""
    within: "_Node | None" = None
    inside: list["_Node"] = field(default_factory=list)

    @property
    def place(self) -> str:
        """The line and the pointer, as a sentence begins."""
        steps: list[str] = []
        node = self
        while node.within is not None:
            steps.insert(0, quoted(node.step).replace("~", "~0").replace("/", "~1") if node.step else "")
            node = node.within
        return f"Line {self.line}, {'/' + '/'.join(steps) if steps else 'the whole document'}"

    @property
    def said(self) -> str:
        """The value as it is quoted; what holds others is not written out."""
        if self.kind in ("object", "list"):
            return f"an {self.kind}" if self.kind == "object" else f"a list of {len(self.inside)}"
        return quoted(self.text)

    def remark(self, code: str, **words: str) -> TraceRemark:
        return trace_remark(code, self.line, place=self.place, **words)

    def unlike(self, expected: str) -> TraceRemark:
        return self.remark("trace-file-json-value", said=self.said, expected=expected)


def looks_like_json(text: str) -> bool:
    """Whether a text begins as a list or an object does."""
    return text.lstrip()[:1] in ("[", "{")


def read_json(text: str) -> TraceReading:
    """The outline in a JSON text."""
    try:
        json.loads(text, parse_int=str, parse_float=str, parse_constant=str)
    except json.JSONDecodeError as error:
        place = f"Line {error.lineno}, column {error.colno}"
        found = text[error.pos : error.pos + limits.MAX_NUMBER_CHARACTERS]
        return refused([trace_remark("trace-file-json-syntax", error.lineno, place=place, said=quoted(found))])
    except RecursionError:
        return refused([trace_remark("trace-file-json-too-deep", limit=str(limits.MAX_DEPTH))])
    nodes = _nodes(text)
    if deep := next((node for node in nodes if node.depth >= limits.MAX_DEPTH), None):
        return refused([trace_remark("trace-file-json-too-deep", deep.line, limit=str(limits.MAX_DEPTH))])
    if len(nodes) > limits.MAX_VALUES:
        return refused([trace_remark("trace-file-too-much", limit=f"{limits.MAX_VALUES:,}", what="values")])
    if faults := _faults(nodes):
        return refused(faults)
    return _outline(nodes[0])


def _nodes(text: str) -> list[_Node]:
    """Every value of a text that is JSON, in the order of the text; one more than is read at most."""
    nodes: list[_Node] = []
    within: _Node | None = None
    line, name = 1, ""
    for match in _PIECE.finditer(text):
        piece = match[0]
        kind = match.lastgroup
        if kind is None:
            if piece != "\n" and within is not None:
                within = within.within
        elif kind == "colon":
            name = json.loads(match["text"])
        else:
            node = _Node(_kind(piece, kind), piece, line)
            if within is not None:
                node.within, node.depth = within, within.depth + 1
                node.step = name if within.kind == "object" else str(len(within.inside))
                within.inside.append(node)
            nodes.append(node)
            if kind == "opening":
                within = node
        if len(nodes) > limits.MAX_VALUES:
            break
        line += piece.count("\n")
    return nodes


def _kind(piece: str, group: str) -> Literal["object", "list", "number", "text", "word"]:
    if group == "opening":
        return "object" if piece == "{" else "list"
    return "number" if group == "number" else "text" if group == "text" else "word"


def _faults(nodes: Iterable[_Node]) -> list[TraceRemark]:
    """What no strict reader takes, wherever it stands: equal members, and numbers that are not finite."""
    faults = []
    for node in nodes:
        if node.kind == "word" and node.text in _NOT_FINITE:
            faults.append(node.remark("trace-file-number-not-finite", said=node.said))
        elif node.kind == "object" and len(node.inside) > 1:
            names = Counter(member.step for member in node.inside)
            last = {member.step: member for member in node.inside if names[member.step] > 1}
            faults.extend(member.remark("trace-file-member-twice") for member in last.values())
    return faults


# The outline.


def _outline(document: _Node) -> TraceReading:
    if document.kind == "list":
        # What the first item is tells what all of them are to be.
        form: Literal["radii", "points"] = (
            "points" if document.inside and document.inside[0].kind == "list" else "radii"
        )
        reading = _form(document, form)
        if reading.form == "radii":
            note = trace_remark("trace-file-equal-angles-taken", count=str(len(reading.radii_mm)))
            return TraceReading("radii", radii_mm=reading.radii_mm, remarks=(note,))
        return reading
    held = [member for member in document.inside if member.step in _FORMS]
    others = [member for member in document.inside if member.step not in _FORMS]
    if not held:
        names = named(member.step for member in others) or "none"
        return refused([document.remark("trace-file-outline-missing", names=names)])
    if len(held) > 1:
        return refused([document.remark("trace-file-two-outlines", names="radii_mm and points_mm")])
    form = _FORMS[held[0].step]
    notes = _set_aside(document, others, form)
    reading = _form(held[0], form)
    return TraceReading(reading.form, reading.radii_mm, reading.points_mm, (*notes, *reading.remarks))


def _set_aside(document: _Node, others: Sequence[_Node], form: Literal["radii", "points"]) -> list[TraceRemark]:
    # Beside radii a list may hold their angles.
    lists = [member for member in others if member.kind == "list" and form == "radii"]
    rest = [member for member in others if member not in lists]
    return [
        document.remark(code, names=named(member.step for member in members))
        for code, members in (("trace-file-figures-set-aside", lists), ("trace-file-set-aside", rest))
        if members
    ]


def _form(node: _Node, form: Literal["radii", "points"]) -> TraceReading:
    if node.kind != "list":
        return refused([node.unlike("A list of numbers" if form == "radii" else "A list of pairs [x, y]")])
    faults: list[TraceRemark] = []
    if form == "points":
        points = [_point(item, faults) for item in node.inside]
        return refused(faults) if faults else TraceReading("points", points_mm=tuple(points))
    radii = [_number(item, faults) for item in node.inside]
    for item, radius in zip(node.inside, radii, strict=True):
        if radius <= 0:
            faults.append(item.remark("trace-file-radius-not-positive", said=item.said))
    return refused(faults) if faults else TraceReading("radii", radii_mm=tuple(radii))


def _point(node: _Node, faults: list[TraceRemark]) -> tuple[float, float]:
    if node.kind != "list" or len(node.inside) != 2:
        faults.append(node.unlike("A pair [x, y] of two numbers"))
        return math.nan, math.nan
    x, y = (_number(item, faults) for item in node.inside)
    return x, y


def _number(node: _Node, faults: list[TraceRemark]) -> float:
    """The number at a place; not a number, and a fault, where none can be taken."""
    figure = plain_number(node.text)  # a text has its quotation marks still
    if figure is None:
        faults.append(node.unlike(f"A number of at most {limits.MAX_NUMBER_CHARACTERS} characters"))
    elif not math.isfinite(figure):
        faults.append(node.remark("trace-file-number-not-finite", said=node.said))
    else:
        return figure
    return math.nan
