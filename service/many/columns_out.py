"""The columns that a checked table has beside its own: one answer as a row of typed cells.

Their names begin with a word of ours, so that a table which was checked before can be checked again: those columns are
then not read, and are replaced.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from service.contract.answer import CheckAnswer

Cell = str | float | None

_OURS: Final = "benchgate:"
# A name that the column reader keeps and does not read, whatever else stands in it.
_NOT_READ: Final = "note"
# What a row is said to be that holds no readable order; the other words are those of the decision.
UNREADABLE: Final = "unreadable"

# Lengths are in mm, powers in D; in and up are positive. The least blank is the one expected, the margin what is guaranteed.
OUR_COLUMNS: Final[tuple[str, ...]] = (
    f"{_OURS} decision",
    f"{_OURS} right as read",
    f"{_OURS} left as read",
    f"{_OURS} right spherical equivalent (D)",
    f"{_OURS} left spherical equivalent (D)",
    f"{_OURS} right decentration in (mm)",
    f"{_OURS} right decentration up (mm)",
    f"{_OURS} left decentration in (mm)",
    f"{_OURS} left decentration up (mm)",
    f"{_OURS} right least blank (mm)",
    f"{_OURS} left least blank (mm)",
    f"{_OURS} right margin (mm)",
    f"{_OURS} left margin (mm)",
    f"{_OURS} first finding",
    f"{_OURS} all findings",
)

_DECENTRATION: Final = (("decentration_mm", "in"), ("decentration_mm", "up"))
_LEAST_BLANK: Final = ("minimum_blank_mm", "expected")
_EYES: Final = ("right", "left")


def our_cells(answer: CheckAnswer | Mapping[str, Any]) -> list[Cell]:
    """The cells of `OUR_COLUMNS` for an answer, as the service makes it or as its JSON document."""
    findings: Sequence[Any] = _at(answer, "findings")
    return [
        _at(answer, "decision"),
        *(_at(answer, "prescription", eye, "notation") for eye in _EYES),
        *(_at(answer, "prescription", eye, "spherical_equivalent") for eye in _EYES),
        *(_at(answer, "fit", eye, *figure) for eye in _EYES for figure in _DECENTRATION),
        *(_at(answer, "fit", eye, *_LEAST_BLANK) for eye in _EYES),
        *(_at(answer, "fit", eye, "margin_mm") for eye in _EYES),
        _at(findings[0], "message") if findings else None,
        _codes(_at(finding, "code") for finding in findings),
    ]


def unread_cells(message: str, codes: Iterable[str]) -> list[Cell]:
    """The same for a row in which no order could be read: what is said first, and the codes of all faults."""
    nothing: list[Cell] = [None] * (len(OUR_COLUMNS) - 3)
    return [UNREADABLE, *nothing, message, _codes(codes)]


def is_ours(header: object) -> bool:
    """Whether the cell of a header names one of our columns."""
    return isinstance(header, str) and header.strip().casefold().startswith(_OURS)


def header_to_read(header: Sequence[object]) -> list[object]:
    """A header in which our own columns, of an earlier check, are named so that they are not read."""
    return [_NOT_READ if is_ours(cell) else cell for cell in header]


def _codes(codes: Iterable[str]) -> str | None:
    return ", ".join(dict.fromkeys(codes)) or None


def _at(node: Any, *steps: str) -> Any:
    """A member by its way in the JSON document, of the document or of the objects it is written from; None from None on."""
    for step in steps:
        if node is None:
            return None
        # "in" is a word of the language; the object writes it with a stroke.
        node = node.get(step) if isinstance(node, Mapping) else getattr(node, "in_" if step == "in" else step)
    return node
