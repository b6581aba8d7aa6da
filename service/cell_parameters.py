"""The short words in the address of a cell: what each stands for, and how its text becomes a member of an order.

A spreadsheet joins a cell to an address as it shows it: with the comma of its language (`-2,25`), without the plus of a
positive number (`2.25`), and as nothing where the cell is empty. So a comma is a decimal point here (nothing is grouped
in thousands), a figure without a sign is positive as in JSON, and an empty value is one that was left out. Bounds and
units are those of the contract.
"""

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, Literal

from pydantic import BaseModel

Kind = Literal["number", "choice", "base", "day", "id"]
Values = Mapping[str, float | str]

# Any usual minus sign; four figures before the point are beyond every bound of the contract.
_SIGN: Final = r"[+\-\u2212\u2013]?"
_DIGITS: Final = r"[0-9]{1,4}([.,][0-9]{1,12})?"
_MINUS: Final = str.maketrans({"\u2212": "-", "\u2013": "-", ",": "."})
_DAY: Final = "[0-9]{4}-[0-9]{2}-[0-9]{2}"
_ID: Final = "[a-z0-9.-]{1,40}"
BASES: Final = ("in", "out", "up", "down")


@dataclass(frozen=True, slots=True)
class Parameter:
    """One word: what it means, the members of the order that it fills, and what may be written for it."""

    name: str
    about: str
    kind: Kind
    fills: tuple[str, ...] = ()
    required: bool = False
    choices: tuple[str, ...] = ()
    least: float = 0.0
    most: float = 0.0
    unit: str = ""

    @property
    def pattern(self) -> str:
        """What may be written, as a regular expression; nothing at all where the value may be left out."""
        written = {
            "number": _SIGN + _DIGITS,
            "choice": "|".join(self.choices),
            "base": f"{'|'.join(BASES)}|{_DIGITS}",
            "day": _DAY,
            "id": _ID,
        }[self.kind]
        return f"^({written})$" if self.required else f"^({written})?$"

    @property
    def expected(self) -> str:
        """What may be written, in words."""
        if self.kind == "number":
            return f"a number in {self.unit} from {self.least:g} to {self.most:g}"
        return {
            "choice": f"one of {', '.join(self.choices)}",
            "base": f"one of {', '.join(BASES)}, or an angle from 0 to 360",
            "day": "a day in the form YYYY-MM-DD",
            "id": "a name as GET /v1/reference/materials lists it",
        }[self.kind]


@dataclass(frozen=True, slots=True)
class Fault:
    """What keeps a cell from having a value: the parameter, a stable code, and what to do."""

    parameter: str | None
    code: str
    message: str


def number(
    name: str, about: str, model: type[BaseModel], member: str, *fills: str, required: bool = False
) -> Parameter:
    """A figure with the bounds and the unit of a member of the contract."""
    field = model.model_fields[member]
    bounds = {key: getattr(part, key) for part in field.metadata for key in ("ge", "le") if hasattr(part, key)}
    extra = field.json_schema_extra
    unit = str(extra["unit"]) if isinstance(extra, dict) else ""
    return Parameter(name, about, "number", fills, required, least=bounds["ge"], most=bounds["le"], unit=unit)


def choice(name: str, about: str, choices: Sequence[str], *fills: str, required: bool = False) -> Parameter:
    """One of a few words; the first is taken where it is left out and fills nothing."""
    return Parameter(name, about, "choice", fills, required, tuple(choices))


def values_of(
    parameters: Sequence[Parameter], pairs: Iterable[tuple[str, str]]
) -> tuple[dict[str, float | str], list[Fault]]:
    """The values by name, and every fault of name, number and kind."""
    known = {one.name: one for one in parameters}
    found: dict[str, float | str] = {}
    faults: list[Fault] = []
    seen: set[str] = set()
    told: set[str] = set()
    for name, text in pairs:
        if name not in known:
            faults.append(_unknown(name, list(known)))
        elif name in seen:
            if name not in told:
                message = f"`{name}` stands in the address more than once. One is expected. Keep the one that is right."
                faults.append(Fault(name, "parameter-repeated", message))
            told.add(name)
        elif text:
            value = _value(known[name], text)
            if isinstance(value, Fault):
                faults.append(value)
            else:
                found[name] = value
        seen.add(name)
    faulty = {fault.parameter for fault in faults}
    lacking = [one for one in parameters if one.required and one.name not in found and one.name not in faulty]
    return found, faults + [missing(one) for one in lacking]


def missing(parameter: Parameter) -> Fault:
    """The fault of a word that was left out."""
    message = f"Nothing was read for `{parameter.name}`. {_capital(parameter.expected)} is expected. Add it."
    return Fault(parameter.name, "parameter-missing", message)


def document_of(parameters: Sequence[Parameter], values: Values, document: dict[str, Any]) -> dict[str, Any]:
    """The document with the members that the values fill. Lists on the way grow as they are filled."""
    for parameter in parameters:
        if parameter.name in values:
            for pointer in parameter.fills:
                _set(document, pointer.removeprefix("/").split("/"), values[parameter.name])
    return document


def _value(parameter: Parameter, text: str) -> float | str | Fault:
    if not re.fullmatch(parameter.pattern, text):
        return _not_as_expected(parameter, text)
    if parameter.kind == "day":
        try:
            date.fromisoformat(text)
        except ValueError:
            return _not_as_expected(parameter, text)
    is_angle = parameter.kind == "base" and text not in BASES
    if parameter.kind != "number" and not is_angle:
        return text
    figure = float(text.translate(_MINUS)) + 0.0
    least, most = (0.0, 360.0) if is_angle else (parameter.least, parameter.most)
    if least <= figure <= most:
        return figure
    code, way = ("too-small", "below the least") if figure < least else ("too-large", "above the greatest")
    expected = _capital(parameter.expected)
    return Fault(
        parameter.name,
        code,
        f"A number {way} one was read for `{parameter.name}`. {expected} is expected. Check the figure and its unit.",
    )


def _not_as_expected(parameter: Parameter, text: str) -> Fault:
    code = {"number": "not-a-number", "day": "not-a-date"}.get(parameter.kind, "not-one-of")
    to_do = {
        "number": "Write it in figures, such as -2.25 or -2,25, without blanks and unit.",
        "day": "Write year, month and day in figures, such as 2026-06-01.",
    }.get(parameter.kind, "Choose one of these.")
    near = difflib.get_close_matches(text.lower(), parameter.choices, n=1) if len(text) <= 60 else []
    if near:
        to_do = f"Did you mean {near[0]}?"
    message = f"Something else than expected was read for `{parameter.name}`. {_capital(parameter.expected)} is expected. {to_do}"
    return Fault(parameter.name, code, message)


def _unknown(name: str, known: list[str]) -> Fault:
    near = difflib.get_close_matches(name.lower(), known, n=1, cutoff=0.5) if len(name) <= 60 else []
    meant = f"Did you mean `{near[0]}`? " if near else ""
    message = f"A parameter that is not known here was read. {meant}Known are {', '.join(known)}. Correct or remove it."
    return Fault(None, "parameter-unknown", message)


def _set(node: Any, steps: list[str], value: float | str) -> None:
    step, *rest = steps
    if isinstance(node, list):
        while len(node) <= int(step):
            node.append({})
        _set(node[int(step)], rest, value)
    elif rest:
        _set(node.setdefault(step, [] if rest[0].isdigit() else {}), rest, value)
    else:
        node[step] = value


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
