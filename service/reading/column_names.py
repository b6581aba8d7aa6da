"""What the header of a column means: the set of its words, onto one member of an order.

    header = words for the eye + words for one figure + words for its unit, in any order

Case, accents, punctuation and line breaks play no part, and words may be run together ("rightSphere", "RSPH"). A name
that speaks of an eye or a figure and is not understood whole is not clear; any other name is merely unknown.
"""

import re
import unicodedata
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import Final, Literal

from service.reading import words
from service.reading.text_reading import Side

Kind = Literal[
    "sphere", "cylinder", "axis", "add", "prism", "base", "length", "years", "day", "rim", "use", "eyes", "material", "text"
]
Slot = Literal["", "horizontal", "vertical", "1", "2"]
Words = frozenset[str]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A figure of the order, and the sets of words that name it."""

    label: str
    kind: Kind
    path: tuple[str, ...]  # "*" stands for the eye
    names: frozenset[Words]
    # each: a name without an eye is not clear; pair: it is for both eyes; none: it has no eye
    eyes: Literal["each", "pair", "none"] = "none"
    spread: bool = False  # one figure for both eyes goes to each of them


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
    """A name that speaks of a figure of the order and cannot be used: why, and what to do."""

    code: Literal["column-not-clear", "column-unit"]
    read: str
    expected: str
    to_do: str


def _sets(*names: str) -> frozenset[Words]:
    return frozenset(frozenset(name.split()) for name in names)


def _each(firsts: str, seconds: str) -> tuple[str, ...]:
    return tuple(f"{first} {second}" for first in firsts.split() for second in seconds.split())


_NUMBERED: Final = _each("order job", "no nr num number id ref reference")
_PD: Final = ("pd", "ipd", "dpd", "pupillary", "pupillary distance", "pupil distance", "interpupillary distance")
_SINGLE: Final = _each("mono monocular half split", "pd ipd") + _each("mono monocular", "dpd")
_NEAR_PD: Final = ("npd", *_each("near reading nv", "pd ipd"), *_each("near reading", "pupillary"))
_BOXED: Final = "size box boxed boxing measurement dimension dim"
_VERTEX: Final = ("vd", "bvd", "vertex", "vertex distance", "back vertex distance")


def _with(additions: str, names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{name} {addition}" for name in names for addition in additions.split(","))


QUANTITIES: Final[tuple[Quantity, ...]] = (
    Quantity("reference", "text", ("reference",), _sets("reference", "ref", "order", "job", *_NUMBERED)),
    Quantity(
        "whole prescription as text",
        "text",
        ("prescription", "written"),
        _sets("written", "written prescription", "prescription", "prescription text", "prescription as written")
        | _sets("prescription written", "rx", "rx text", "written rx", "rx as written", "script"),
    ),
    Quantity(
        "sphere",
        "sphere",
        ("prescription", "*", "sphere"),
        _sets("sph", "sphere", "spherical", "ds", "dsph"),
        "each",
    ),
    Quantity(
        "cylinder",
        "cylinder",
        ("prescription", "*", "cylinder"),
        _sets("cyl", "cylinder", "cylindrical", "dc", "dcyl"),
        "each",
    ),
    Quantity(
        "axis",
        "axis",
        ("prescription", "*", "axis"),
        _sets("axis", "ax", "cyl axis", "cyl ax", "cylinder axis", "axis angle"),
        "each",
    ),
    Quantity(
        "addition",
        "add",
        ("prescription", "*", "add"),
        _sets("add", "addition", *_each("near reading nv", "add addition")),
        "pair",
        True,
    ),
    Quantity(
        "prism",
        "prism",
        ("prescription", "*", "prism"),
        _sets("prism", "prism amount", "prism pd", "prism / base"),
        "each",
    ),
    Quantity(
        "base of the prism",
        "base",
        ("prescription", "*", "prism", "base"),
        _sets("base", "prism base", "base direction", "prism direction", "prism base direction", "base dir"),
        "each",
    ),
    Quantity(
        "vertex distance of the refraction",
        "length",
        ("prescription", "vertex_distance_mm"),
        _sets(*_with("refracted,refraction,tested,test,rx,prescription", _VERTEX)),
    ),
    Quantity(
        "vertex distance as worn",
        "length",
        ("as_worn", "vertex_distance_mm"),
        _sets(*_with("worn,as worn,fitted,fitting", _VERTEX)),
    ),
    Quantity(
        "day of issue",
        "day",
        ("prescription", "issued_on"),
        _sets("issued", "issued on", "issue date", "date issued", "date of issue", "prescribed on", "date prescribed")
        | _sets("rx date", "prescription date", "date of prescription", "date of rx"),
    ),
    Quantity(
        "day of expiry",
        "day",
        ("prescription", "expires_on"),
        _sets("expires", "expires on", "expiry", "expiry date", "expiration", "expiration date", "expiry on")
        | _sets("valid until", "date expires", "date of expiry"),
    ),
    Quantity(
        "PD",
        "length",
        ("pd_mm", "*"),
        _sets(*_PD, *_with("far,distance,dist,dv", ("pd", "ipd", "pupillary"))),
        "pair",
    ),
    Quantity("PD", "length", ("pd_mm", "*"), _sets(*_SINGLE, "naso pupillary distance"), "each"),
    Quantity("near PD", "length", ("pd_mm", "near", "*"), _sets(*_NEAR_PD), "pair"),
    Quantity("near PD", "length", ("pd_mm", "near", "*"), _sets(*_with("near,reading,nv", _SINGLE)), "each"),
    Quantity(
        "A", "length", ("frame", "a_mm"), _sets("a", "eye size", "eyesize", "lens width", *_each("a", _BOXED), "box width")
    ),
    Quantity("B", "length", ("frame", "b_mm"), _sets("b", "lens height", *_each("b", _BOXED), "box height")),
    Quantity(
        "DBL",
        "length",
        ("frame", "dbl_mm"),
        _sets("dbl", *_each("dbl", _BOXED), *_each("bridge", "size width"), "bridge", "distance between lenses"),
    ),
    Quantity(
        "ED", "length", ("frame", "ed_mm"), _sets("ed", *_each("ed", _BOXED), *_each("effective", "diameter dia diam"))
    ),
    Quantity("rim", "rim", ("frame", "rim"), _sets("rim", "rim type", "rimtype", "mount", "mounting", "type of rim")),
    Quantity(
        "fitting height",
        "length",
        ("fitting_height_mm", "*"),
        _sets("fh", *_each("fitting fit pupil", "height ht")),
        "pair",
        True,
    ),
    Quantity("material", "material", ("lens", "material"), _sets("material", "mat", "lens material", "lens mat")),
    Quantity("use", "use", ("lens", "use"), _sets("use", "lens use", "usage", "purpose", "lens design", "lens type")),
    Quantity(
        "blank diameter",
        "length",
        ("lens", "blank_diameter_mm"),
        _sets("blank", "uncut", *_each("blank uncut", "diameter dia diam size")),
    ),
    Quantity("age", "years", ("wearer", "age_years"), _sets("age", "wearer age", "patient age")),
    Quantity("useful eyes", "eyes", ("wearer", "useful_eyes"), _sets("useful", "wearer useful")),
    Quantity("day of judgement", "day", ("as_of",), _sets("as of", "as of date", "as of day", "asof")),
)

# Words that may stand in a name and change nothing.
_FILLERS: Final = words.WITHOUT_MEANING | frozenset(
    "frame frames power value wearer patient of the for no with as on required optional col yyyy dd".split()
)
_LOOSE_KINDS: Final = frozenset({"sphere", "cylinder", "axis", "add", "prism", "base", "length", "years", "day"})
_BOTH: Final = words.BOTH | frozenset({"binocular", "bino", "binoc", "total"})
_HORIZONTAL: Final = frozenset({"h", "hor", "horiz", "horizontal"})
_VERTICAL: Final = frozenset({"v", "ver", "vert", "vertical"})

_MM: Final = frozenset({"mm", "millimetre", "millimetres", "millimeter", "millimeters"})
_DIOPTRE: Final = frozenset({"d", "dpt", "dptr", "dioptre", "dioptres", "diopter", "diopters"})
_DEGREE: Final = words.DEGREE
_YEARS: Final = frozenset({"y", "yr", "yrs", "year", "years"})
FOREIGN_UNITS: Final = frozenset(
    "cm centimetre centimetres centimeter centimeters inch inches in um micron microns rad radians gon months days".split()
) | {'"', "%"}
_UNITS: Final = _MM | _DIOPTRE | _DEGREE | _YEARS | FOREIGN_UNITS | {"δ"}
_UNITS_OF: Final[dict[Kind, Words]] = {
    **dict.fromkeys(("sphere", "cylinder", "add"), _DIOPTRE),
    **dict.fromkeys(("axis", "base"), _DEGREE),
    "prism": _DIOPTRE | {"δ"},
    "length": _MM,
    "years": _YEARS,
    "day": frozenset({"mm"}),  # the month in YYYY-MM-DD
}

# A name with one of these is about something an order does not hold, whatever else it says.
_SET_ASIDE: Final = words.ACUITY | frozenset("old previous prior former last habitual curve note notes comment comments".split())
# A name with one of these speaks of a figure of the order; not understood, it must not be passed over.
_FIGURES: Final = frozenset(
    "sph sphere spherical cyl cylinder cylindrical axis ax add addition prism base pd ipd npd dpd pupillary dbl ed height "
    "ht fh blank uncut diameter dia diam vertex vd bvd index".split()
)
# Words that may be run together with that of an eye.
_GLUED: Final = frozenset("sph sphere cyl cylinder axis ax add prism base pd ipd npd dpd".split())

_VERTEX_NAMES: Final = _sets(*_VERTEX)
_EXPECTED: Final = "a name that says one figure of an order and, where there is one for each eye, the eye"
_TO_DO: Final = 'Write it like "R sph", "L axis", "PD" or "A", or take the words about eyes and figures out of the name.'
_ANY_LETTERS: Final = re.compile(r'[^\W\d_]+|[0-9]+|[/&°"%]')
_DOTTED: Final = re.compile(r"(?<![^\W\d_])([^\W\d_])\.(?=[^\W\d_](?![^\W\d_]))")
_HUMPS: Final = re.compile(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+")
_SIGNS: Final = str.maketrans({"º": "°", "˚": "°", "∆": "δ", "△": "δ", "Δ": "δ"})


def meaning_of(header: str) -> Meaning | Unclear | None:
    """The member a header names; why it cannot be used; or None where it names nothing of an order."""
    ordered = _without_idle_slashes(header_words(header))
    named = frozenset(ordered)
    if named & _SET_ASIDE or not named:
        return None
    eye = _eye(named)
    rest = named - words.EYES - _BOTH
    slot: Slot | None = ""
    if rest & {"prism", "base"}:
        slot, rest = _slot(rest)
    units = rest & _UNITS
    quantity = _quantity(rest - _UNITS)
    if quantity is None or slot is None or (eye is not None and quantity.eyes == "none"):
        unclear = bool(eye is not None or rest & _FIGURES) and not (quantity is None and rest == {"eyes"})
        return _not_clear(header, rest - _UNITS) if unclear else None
    if quantity.eyes == "each" and eye not in ("right", "left"):
        return _eye_not_clear(header, quantity)
    if units - _UNITS_OF.get(quantity.kind, frozenset()):
        return _another_unit(quantity, units)
    taken = quantity.eyes == "pair" and eye is None
    whose: Side | None = "both" if taken else eye
    return Meaning(quantity.label, quantity.kind, quantity.path, whose, slot, quantity.spread, taken and quantity.spread)


def header_words(header: str) -> tuple[str, ...]:
    """The words of a header, small letters without accents; what is run together is parted."""
    plain = unicodedata.normalize("NFKD", header.translate(_SIGNS))
    plain = "".join(character for character in plain if not unicodedata.combining(character))
    plain = _DOTTED.sub(r"\1", plain)
    return tuple(word for piece in _ANY_LETTERS.findall(plain) for word in _parted(piece))


def _parted(piece: str) -> tuple[str, ...]:
    """A piece as it is where it is a word; otherwise eye and figure, figure and unit, or its humps."""
    word = piece.casefold()
    if word in _KNOWN:
        return (word,)
    if (glued := _unglued(word)) is not None:
        return glued
    humps = _HUMPS.findall(piece) if piece.isascii() else []
    if len(humps) > 1:
        return tuple(part for hump in humps for part in (_unglued(hump.casefold()) or (hump.casefold(),)))
    return (word,)


def _unglued(word: str) -> tuple[str, str] | None:
    if word in _KNOWN:
        return None
    found = []
    for at in range(1, len(word)):
        first, second = word[:at], word[at:]
        eye_and_figure = (first in _EYE_WORDS and second in _GLUED) or (first in _GLUED and second in _EYE_WORDS)
        if eye_and_figure or (second == "mm" and first in _KNOWN):
            found.append((first, second))
    return found[0] if len(found) == 1 else None


def _without_idle_slashes(ordered: tuple[str, ...]) -> tuple[str, ...]:
    """A stroke beside an eye, a unit or a filler only parts; between two figures it joins, and stays."""
    idle = _EYE_WORDS | _UNITS | _FILLERS | _HORIZONTAL | _VERTICAL
    kept = []
    for at, word in enumerate(ordered):
        beside = {*ordered[max(at - 1, 0) : at], *ordered[at + 1 : at + 2]}
        if word not in "/&" or (len(beside) == 2 and not beside & idle):
            kept.append("/" if word == "&" else word)
    return tuple(kept)


def _eye(named: Words) -> Side | None:
    right, left = bool(named & words.RIGHT), bool(named & words.LEFT)
    if named & _BOTH or (right and left):
        return "both"
    if right:
        return "right"
    return "left" if left else None


def _slot(rest: Words) -> tuple[Slot | None, Words]:
    """Which of several prisms of an eye; None where the name says it twice."""
    found: list[Slot] = []
    if rest & _HORIZONTAL:
        found.append("horizontal")
    if rest & _VERTICAL:
        found.append("vertical")
    if "1" in rest:
        found.append("1")
    if "2" in rest:
        found.append("2")
    rest = rest - _HORIZONTAL - _VERTICAL - {"1", "2"}
    return (found[0] if found else "") if len(found) <= 1 else None, rest


def _quantity(rest: AbstractSet[str]) -> Quantity | None:
    """The figure with these words; else, for figures, without the fillers; else without words for distance."""
    core = frozenset(rest) - _FILLERS
    for tried, kinds in ((frozenset(rest), None), (core, _LOOSE_KINDS), (core - words.FAR, _LOOSE_KINDS)):
        for quantity in QUANTITIES:
            if tried in quantity.names and (kinds is None or quantity.kind in kinds):
                return quantity
    return None


def _not_clear(header: str, rest: AbstractSet[str]) -> Unclear:
    core = frozenset(rest) - _FILLERS
    if core in _VERTEX_NAMES:
        to_do = 'Write "vertex distance refracted" or "vertex distance worn".'
    elif core & {"height", "ht"}:
        to_do = 'Write "lens height" for B, or "fitting height" for the height of the pupil above the lowest tangent.'
    elif core & {"diameter", "dia", "diam"}:
        to_do = 'Write "blank diameter", or "ED" for the effective diameter of the frame.'
    else:
        to_do = _TO_DO
    return Unclear("column-not-clear", "more than one thing, or a thing not known here", _EXPECTED, to_do)


def _eye_not_clear(header: str, quantity: Quantity) -> Unclear:
    to_do = f'Write "right {quantity.label}" or "left {quantity.label}".'
    return Unclear("column-not-clear", f"the {quantity.label}, but not of which eye", "the eye in the name", to_do)


def _another_unit(quantity: Quantity, units: AbstractSet[str]) -> Unclear:
    said = " and ".join(f'"{unit}"' for unit in sorted(units))
    wanted = {"length": "mm", "years": "years", "prism": "Δ", "axis": "degrees", "base": "degrees"}.get(quantity.kind, "D")
    expected = "no unit" if quantity.kind not in _UNITS_OF or quantity.kind == "day" else f"the unit {wanted}, or none,"
    return Unclear("column-unit", f"the {quantity.label} with the unit {said}", expected, "Convert the column, then rename it.")


_EYE_WORDS: Final = words.EYES | _BOTH
_KNOWN: Final = (
    frozenset(word for quantity in QUANTITIES for name in quantity.names for word in name)
    | _EYE_WORDS
    | _UNITS
    | _FILLERS
    | _FIGURES
    | _SET_ASIDE
)
