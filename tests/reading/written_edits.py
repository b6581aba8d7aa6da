"""One-character edits of a text, and an independent judgement of what the edited text says.

The judge knows nothing of the reader. It holds a different reading to be what the text really says in these cases only:

canonical line   the edited text is itself a line in the canonical spelling, which a strict expression reads to these figures;
figure changed   one figure of the text became another well-formed figure, and the one value that stood for it became that;
sign changed     a sign became the other sign, and one value changed its sign and nothing else;
word changed     a base, an eye's label or the like became another word of the same sort, and only that changed.

It does not say so where a figure of an amount now begins with a needless nought (05 for 0.5), nor where a digit became a
mark that stands on the same key or hangs on the figure: 18) is as likely 180 as 18.

Everything else is a silent misread, or at least needs a person's eye.
"""

import re
import unicodedata
from dataclasses import fields
from random import Random
from typing import Final

from written_answers import Eye, Pair

ALPHABET: Final = "0123456789+-.,/ x@°RLODSEaddpl:;|\n\t−–—×ΔlIBU=()~\u00a0２－'*"
OPERATIONS: Final = ("delete", "swap", "insert", "replace")

_FIGURE: Final = re.compile(r"\d+[.,]\d+|[.,]\d+|\d+")
_EYE: Final = (
    r"(?P<{0}s>[+-](?:\d|[1-9]\d)\.\d\d) (?:DS|(?P<{0}c>[+-](?:\d|[1-9]\d)\.\d\d) x (?P<{0}a>\d{{3}}))"
    r"(?: add (?P<{0}d>[+-]\d\.\d\d))?"
    r"(?P<{0}p>(?: prism (?:0|[1-9]\d?)(?:\.\d{{1,2}})? base (?:in|out|up|down|\d{{1,3}}))*)"
)
_LINE: Final = re.compile(f"R {_EYE.format('r')}  L {_EYE.format('l')}")
_PRISM: Final = re.compile(r" prism (\S+) base (\S+)")


def edited(text: str, random: Random) -> tuple[str, str]:
    """The text with one edit, and the kind of edit: the operation and the sorts of characters that took part."""
    operation = random.choice(OPERATIONS)
    at = random.randrange(len(text))
    if operation == "delete":
        return text[:at] + text[at + 1 :], f"delete {_sort(text[at])}"
    if operation == "swap":
        at = min(at, len(text) - 2)
        return text[:at] + text[at + 1] + text[at] + text[at + 2 :], f"swap {_sort(text[at])} and {_sort(text[at + 1])}"
    new = random.choice(ALPHABET)
    if operation == "insert":
        return text[:at] + new + text[at:], f"insert {_sort(new)}"
    return text[:at] + new + text[at + 1 :], f"replace {_sort(text[at])} by {_sort(new)}"


def _sort(character: str) -> str:
    plain = _plain(character)
    if plain.isdigit():
        return "digit"
    if plain.isalpha():
        return "letter"
    return {" ": "blank", "\n": "new line", "\t": "tab", "-": "minus", "+": "plus"}.get(plain, f"'{plain}'")


def strictly_read(text: str) -> Pair | None:
    """A text in the canonical spelling, to the letter; None for any other."""
    found = _LINE.fullmatch(text)
    return None if found is None else Pair(_strict_eye(found, "r"), _strict_eye(found, "l"))


def _strict_eye(found: re.Match[str], side: str) -> Eye:
    cylinder, axis, add = found[f"{side}c"], found[f"{side}a"], found[f"{side}d"]
    prism = tuple(
        (float(amount), float(base) if base.isdigit() else base) for amount, base in _PRISM.findall(found[f"{side}p"])
    )
    none = cylinder is None or float(cylinder) == 0
    return Eye(
        float(found[f"{side}s"]),
        0.0 if none else float(cylinder),
        None if none else float(axis),
        None if add is None else float(add),
        prism,
    )


def why_it_says_so(before: str, after: str, was: Pair, now: Pair) -> str | None:
    """Why the edited text really says the other figures; None where it does not."""
    if strictly_read(after) == now:
        return "canonical line"
    if _digit_became_a_mark(before, after):
        return None
    changed = [(one, other) for one, other in zip(_values(was), _values(now), strict=False) if one != other]
    if len(_values(was)) != len(_values(now)) or len(changed) != 1:
        return None
    one, other = changed[0]
    if isinstance(one, float) and isinstance(other, float):
        return _number_changed(_plain(before), _plain(after), one, other)
    return "word changed" if _only_a_word_differs(_plain(before), _plain(after)) else None


def _number_changed(before: str, after: str, one: float, other: float) -> str | None:
    old, new = _FIGURE.findall(before), _FIGURE.findall(after)
    moved = [(a, b) for a, b in zip(old, new, strict=False) if _value(a) != _value(b)]
    if (
        len(old) == len(new)
        and len(moved) == 1
        and (_value(moved[0][0]), _value(moved[0][1])) == (abs(one), abs(other))
    ):
        needless_nought = re.match(r"0\d", moved[0][1]) and not re.fullmatch(r"\d{2,3}", moved[0][0])
        return "figure changed" if one * other >= 0 and not needless_nought else None
    if one == -other and _FIGURE.findall(before) == new and _signs(before) != _signs(after):
        return "sign changed"
    return None


def _digit_became_a_mark(before: str, after: str) -> bool:
    pairs = [(a, b) for a, b in zip(_plain(before), _plain(after), strict=False) if a != b]
    return len(before) == len(after) and len(pairs) == 1 and pairs[0][0].isdigit() and pairs[0][1] in "()[]=*@"


def _only_a_word_differs(before: str, after: str) -> bool:
    old, new = re.findall(r"[a-z]+", before), re.findall(r"[a-z]+", after)
    return len(old) == len(new) and sum(a != b for a, b in zip(old, new, strict=True)) == 1


def _signs(text: str) -> list[str]:
    return re.findall(r"[+-]", text)


def _value(figure: str) -> float:
    return float(figure.replace(",", "."))


def _values(pair: Pair) -> list[object]:
    found: list[object] = []
    for eye in (pair.right, pair.left):
        found += [getattr(eye, member.name) for member in fields(eye) if member.name != "prism"]
        found += [part for prism in eye.prism for part in prism]
    return found + [part for named in pair.more for part in named]


def _plain(text: str) -> str:
    plain = unicodedata.normalize("NFKC", text).lower()
    return plain.translate({ord(dash): "-" for dash in "−–—‐‑‒―"} | {ord("×"): "x"})
