"""What the header of a column means: the set of its words, onto one member of an order.

    header = words for the eye + words for one figure + words for its unit, in any order

Case, accents, punctuation and line breaks play no part, and words may be run together ("rightSphere", "RSPH"). A name
that speaks of an eye or a figure and is not understood whole is not clear; any other name is merely unknown. The names
of the figures stand in column_names.toml.
"""

import re
import tomllib
import unicodedata
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from itertools import product
from typing import Final, Literal

from service.reading import words
from service.reading.text_reading import Side

Kind = Literal[
    "sphere", "cylinder", "axis", "add", "prism", "base", "length", "years", "day", "rim", "use", "eyes", "material", "text"
]  # fmt: skip
Slot = Literal["", "horizontal", "vertical", "1", "2"]
Words = frozenset[str]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A figure of the order, and the sets of words that name it: one row of column_names.toml."""

    label: str
    kind: Kind
    path: tuple[str, ...]
    names: frozenset[Words]
    eyes: Literal["each", "pair", "none"]
    spread: bool
    exact: bool


@dataclass(frozen=True, slots=True)
class Meaning:
    """One member of the order, as a column names it."""

    label: str
    kind: Kind
    path: tuple[str, ...]
    eye: Side | None = None
    slot: Slot = ""
    spread: bool = False
    eye_taken: bool = field(default=False, compare=False)  # the name says no eye; both were taken

    @property
    def paths(self) -> tuple[tuple[str, ...], ...]:
        """Where the figure goes in the document: one place, or two where it is spread over both eyes."""
        eyes = ("right", "left") if self.spread and self.eye == "both" else (self.eye or "",)
        return tuple(tuple(eye if step == "*" else step for step in self.path) for eye in eyes)


@dataclass(frozen=True, slots=True)
class Unclear:
    """A name that speaks of a figure of the order and cannot be used: what it names, what is expected, what to do."""

    code: Literal["column-not-clear", "column-unit"]
    read: str
    expected: str
    to_do: str


def _words(text: str) -> Words:
    return frozenset(text.split())


# Words that may stand in a name and change nothing.
_FILLERS: Final = words.WITHOUT_MEANING | _words(
    "power value wearer patient of the for on required optional col yyyy dd"
)
_BOTH: Final = words.BOTH | _words("binocular bino binoc")
_EYE_WORDS: Final = words.EYES | _BOTH
_HORIZONTAL: Final = _words("h hor horiz horizontal")
_VERTICAL: Final = _words("v ver vert vertical")

_MM: Final = _words("mm millimetre millimetres millimeter millimeters")
_DIOPTRE: Final = _words("d dpt dptr dioptre dioptres diopter diopters")
_YEARS: Final = _words("y yr yrs year years")
FOREIGN_UNITS: Final = _words(
    'cm centimetre centimetres centimeter centimeters inch inches in " % um micron microns rad radians gon months days'
)
_UNITS: Final = _MM | _DIOPTRE | words.DEGREE | _YEARS | FOREIGN_UNITS | {"δ"}
# The units a kind may carry in its name, and how they are called; the month in YYYY-MM-DD looks like one.
_UNITS_OF: Final[dict[Kind, tuple[Words, str]]] = {
    "sphere": (_DIOPTRE, "D"),
    "cylinder": (_DIOPTRE, "D"),
    "add": (_DIOPTRE, "D"),
    "axis": (words.DEGREE, "°"),
    "base": (words.DEGREE, "°"),
    "prism": (_DIOPTRE | {"δ"}, "Δ"),
    "length": (_MM, "mm"),
    "years": (_YEARS, "years"),
    "day": (frozenset({"mm"}), "YYYY-MM-DD"),
}

# A name with one of these is about something an order does not hold, whatever else it says.
_SET_ASIDE: Final = words.ACUITY | _words("old previous prior former last habitual curve note notes comment comments")
# A name with one of these speaks of a figure of the order; not understood, it must not be passed over.
_FIGURES: Final = _words(
    "sph sphere spherical cyl cylinder cylindrical axis ax add addition prism base pd ipd npd dpd pupillary dbl ed height "
    "ht fh blank uncut diameter dia diam vertex vd bvd index"
)
# Words that may be run together with that of an eye.
_GLUED: Final = _words("sph sphere cyl cylinder axis ax add prism base pd ipd npd dpd")

_EXPECTED: Final = "A name that says one figure of an order and, where there is one for each eye, the eye"
_TO_DO: Final = (
    'Write it like "R sph", "L axis", "PD" or "A", or take the words about eyes and figures out of the name.'
)
_PIECE: Final = re.compile(r'[^\W\d_]+|[0-9]+|[/&°"%]')
_DOTTED: Final = re.compile(r"(?<![^\W\d_])([^\W\d_])\.(?=[^\W\d_](?![^\W\d_]))")
_HUMPS: Final = re.compile(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+")
_SIGNS: Final = str.maketrans({"º": "°", "˚": "°", "∆": "δ", "△": "δ", "Δ": "δ"})
# A header is short; what is longer is a text that slipped into the first row.
_LONGEST_HEADER: Final = 200


@cache
def quantities() -> tuple[Quantity, ...]:
    """The rows of column_names.toml."""
    rows = tomllib.loads(files("service.reading").joinpath("column_names.toml").read_text("utf-8"))["column"]
    return tuple(
        Quantity(
            row["label"],
            row["kind"],
            tuple(row["path"]),
            frozenset(one for name in row["names"] for one in _spelt_out(name)),
            row.get("eyes", "none"),
            row.get("spread", False),
            row.get("exact", False),
        )
        for row in rows
    )


def _spelt_out(name: str) -> list[Words]:
    return [frozenset(choice) for choice in product(*(word.split("|") for word in name.split()))]


@cache
def _known() -> Words:
    named = frozenset(word for quantity in quantities() for name in quantity.names for word in name)
    return named | _EYE_WORDS | _UNITS | _FILLERS | _FIGURES | _SET_ASIDE | {"frame"}


def meaning_of(header: str) -> Meaning | Unclear | None:
    """The member a header names; why it cannot be used; or None where it names nothing of an order."""
    named = frozenset(_without_idle_words(header_words(header[:_LONGEST_HEADER])))
    if named & _SET_ASIDE or named >= {"frame", "pd"}:  # the frame PD is A + DBL: nothing about the eyes
        return None
    eye = _eye(named)
    slot, rest = _slot(named - _EYE_WORDS)
    units = rest & _UNITS
    quantity = _quantity(rest - _UNITS)
    if quantity is None or slot is None or (eye is not None and quantity.eyes == "none"):
        return _not_clear(rest - _UNITS) if eye is not None or rest & _FIGURES else None
    if quantity.eyes == "each" and eye not in ("right", "left"):
        return _eye_not_clear(quantity)
    allowed, wanted = _UNITS_OF.get(quantity.kind, (frozenset(), ""))
    if units and not wanted:
        return None  # an "order (days)" is no reference
    if units - allowed:
        return _another_unit(quantity, units - allowed, wanted)
    taken = quantity.eyes == "pair" and eye is None
    whose: Side | None = "both" if taken else eye
    return Meaning(
        quantity.label, quantity.kind, quantity.path, whose, slot, quantity.spread, taken and quantity.spread
    )


def header_words(header: str) -> tuple[str, ...]:
    """The words of a header, small letters without accents; what is run together is parted."""
    plain = unicodedata.normalize("NFKD", header.translate(_SIGNS))
    plain = "".join(character for character in plain if not unicodedata.combining(character))
    plain = _DOTTED.sub(r"\1", plain)
    return tuple(word for piece in _PIECE.findall(plain) for word in _parted(piece))


def _parted(piece: str) -> tuple[str, ...]:
    """A piece as it is where it is a word; otherwise eye and figure, figure and unit, or its humps."""
    whole = _unglued(piece.casefold())
    humps = _HUMPS.findall(piece) if piece.isascii() else []
    if len(whole) > 1 or whole[0] in _known() or len(humps) < 2:
        return whole
    return tuple(word for hump in humps for word in _unglued(hump.casefold()))


def _unglued(word: str) -> tuple[str, ...]:
    """A word as it is, or the two of which it is made if there is one way only to part it."""
    if word in _known():
        return (word,)
    found = []
    for at in range(1, len(word)):
        first, second = word[:at], word[at:]
        eye_and_figure = (first in _EYE_WORDS and second in _GLUED) or (first in _GLUED and second in _EYE_WORDS)
        if eye_and_figure or (second == "mm" and first in _known()):
            found.append((first, second))
    return found[0] if len(found) == 1 else (word,)


def _without_idle_words(ordered: tuple[str, ...]) -> tuple[str, ...]:
    """A stroke beside an eye, a unit or a filler only parts (between two figures it joins, and stays); "in mm" is mm."""
    idle = _EYE_WORDS | _UNITS | _FILLERS | _HORIZONTAL | _VERTICAL
    kept = []
    for at, word in enumerate(ordered):
        before, after = ordered[max(at - 1, 0) : at], ordered[at + 1 : at + 2]
        if word in ("/", "&"):
            joins = before and after and not {*before, *after} & idle
            kept.extend(["/"] if joins else [])
        elif not (word == "in" and after and after[0] in _UNITS):
            kept.append(word)
    return tuple(kept)


def _eye(named: Words) -> Side | None:
    right, left = bool(named & words.RIGHT), bool(named & words.LEFT)
    if named & _BOTH or (right and left):
        return "both"
    if right:
        return "right"
    return "left" if left else None


def _slot(rest: Words) -> tuple[Slot | None, Words]:
    """Which of several prisms of an eye; None where the name says two."""
    if not rest & {"prism", "base"}:
        return "", rest
    ways: tuple[tuple[Slot, Words], ...] = (
        ("horizontal", _HORIZONTAL),
        ("vertical", _VERTICAL),
        ("1", frozenset("1")),
        ("2", frozenset("2")),
    )
    found = [(slot, among) for slot, among in ways if rest & among]
    if not found:
        return "", rest
    return (found[0][0] if len(found) == 1 else None), rest.difference(*(among for _, among in found))


def _quantity(rest: Words) -> Quantity | None:
    """The figure with these words; else without the fillers; else, for a figure of each eye, without "distance"."""
    for quantity in quantities():
        if rest in quantity.names:
            return quantity
    for quantity in quantities():
        core = rest - _FILLERS - ({"frame"} if quantity.path[0] == "frame" else set())
        far = core - words.FAR if quantity.path[:2] == ("prescription", "*") else core
        if not quantity.exact and (core in quantity.names or far in quantity.names):
            return quantity
    return None


def _not_clear(rest: Words) -> Unclear:
    core = rest - _FILLERS
    to_do = _TO_DO
    if core & {"vertex", "vd", "bvd"}:
        to_do = 'Write "vertex distance refracted" or "vertex distance worn".'
    elif core & {"height", "ht"}:
        to_do = 'Write "lens height" for B, or "fitting height" for the height of the pupil above the lowest tangent.'
    elif core & {"diameter", "dia", "diam"}:
        to_do = 'Write "blank diameter", or "ED" for the effective diameter of the frame.'
    return Unclear("column-not-clear", "more than one thing, or a thing not known here", _EXPECTED, to_do)


def _eye_not_clear(quantity: Quantity) -> Unclear:
    to_do = f'Write "right {quantity.label}" or "left {quantity.label}".'
    return Unclear("column-not-clear", f"the {quantity.label}, but not of which eye", "The eye in the name", to_do)


def _another_unit(quantity: Quantity, units: Words, wanted: str) -> Unclear:
    if quantity.kind in ("prism", "base") and "in" in units:
        return _not_clear(frozenset())  # a base in, no inches
    said = " and ".join(f'"{unit}"' for unit in sorted(units))
    expected = f"The unit {wanted}, or no unit,"
    return Unclear(
        "column-unit", f"the {quantity.label} with the unit {said}", expected, "Convert the column, then rename it."
    )
