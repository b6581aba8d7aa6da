"""One ordinary order that no rule remarks on, and what it takes to show a rule at its limit by small edits of it."""

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import pytest

from service.checking import check, decision, read
from service.contract.answer import Finding, Remedy
from service.contract.order import Order, ReadRequest
from service.profile.loader import load

Edits = Mapping[str, Any]


class _Gone:
    """Its name is the same in every process, so that tests are called alike."""

    def __repr__(self) -> str:
        return "GONE"


GONE: Any = _Gone()
"""As the value of an edit: the member is taken out."""

ORDINARY: dict[str, Any] = {
    "reference": "W-1000",
    "prescription": {
        "right": {"sphere": -2.0},
        "left": {"sphere": -2.0},
        "vertex_distance_mm": 13,
        "issued_on": "2026-06-01",
    },
    "pd_mm": {"right": 32.0, "left": 32.0},
    "frame": {"a_mm": 52, "b_mm": 40, "dbl_mm": 18, "ed_mm": 56, "rim": "full"},
    "fitting_height_mm": {"right": 20, "left": 20},
    "lens": {"material": "polycarbonate", "use": "distance", "blank_diameter_mm": 70},
    "wearer": {"age_years": 34},
    "as_of": "2026-11-25",
}
# Both pupils sit 3 mm inward of the boxed centre and level with it, so each lens needs 56 + 2 x 3 + 2 = 64 mm.

R, L = "/prescription/right", "/prescription/left"
AXIS_R, CYL_R, ADD_R, ADD_L = f"{R}/axis", f"{R}/cylinder", f"{R}/add", f"{L}/add"
BLANK, A, DBL, ED = "/lens/blank_diameter_mm", "/frame/a_mm", "/frame/dbl_mm", "/frame/ed_mm"
SHOP = load(None)
LATER = date(2099, 1, 1)  # never used: every order carries its day


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A rule at its limit: edits with which it is silent, edits with which it speaks, and what it then says.

    `key` is the profile's key of the limit and `moved` a value of it with which the first order of `within` is
    beyond; the limit is then `moved` itself, or `moved_limit` where the limit only rests on the key.
    """

    code: str
    severity: str
    within: tuple[Edits, ...]
    beyond: Edits
    pointer: str
    eye: str | None = None
    value: float | str | None = None
    limit: float | str | None = None
    unit: str | None = None
    key: str | None = None
    moved: Any = None
    moved_limit: float | str | None = None
    remedies: list[Remedy] = field(default_factory=list)

    def __str__(self) -> str:
        return f"{self.code}{f'-{self.eye}' if self.eye else ''}-{self.value}"


def edited(edits: Edits, *, of: dict[str, Any] = ORDINARY) -> dict[str, Any]:
    """The order with members set, or taken out, by JSON Pointer."""
    document = deepcopy(of)
    for pointer, value in edits.items():
        *path, last = pointer.removeprefix("/").split("/")
        place = document
        for name in path:
            place = place.setdefault(name, {})
        if value is GONE:
            del place[last]
        else:
            place[last] = value
    return document


def overriding(key: str, value: Any) -> Edits:
    """The edit that overrides one key of the profile."""
    return {f"/profile/{key.replace('.', '/')}": value}


def mirrored(value: Any) -> Any:
    """The document with right and left exchanged throughout."""
    other = {"right": "left", "left": "right"}
    if isinstance(value, dict):
        return {other.get(name, name): mirrored(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [mirrored(inner) for inner in value]
    return other.get(value, value) if isinstance(value, str) else value


def findings(document: dict[str, Any], code: str | None = None) -> list[Finding]:
    """What is found on an order; only that of one rule, where a code is given."""
    answer = check(Order.model_validate(document), SHOP, LATER)
    assert answer.decision == decision(answer.findings)
    return [finding for finding in answer.findings if code in (None, finding.code)]


def reading_findings(document: dict[str, Any], code: str) -> list[Finding]:
    """What one rule finds where the order's prescription is read by itself."""
    members = {name: document[name] for name in ("prescription", "as_of", "profile") if name in document}
    answer = read(ReadRequest.model_validate(members), SHOP, LATER)
    return [finding for finding in answer.findings if finding.code == code]


def spoken(document: dict[str, Any], case: Case) -> Finding:
    """What the case's rule finds about the case's eye; it must be one finding."""
    found = [finding for finding in findings(document, case.code) if finding.eye == case.eye]
    assert len(found) == 1, f"{case.code} spoke {len(found)} times"
    return found[0]


def prove(case: Case) -> None:
    """The rule is silent at its limit and within, speaks beyond, and says what the case says."""
    for edits in case.within:
        assert [finding for finding in findings(edited(edits), case.code) if finding.eye == case.eye] == []
    finding = spoken(edited(case.beyond), case)
    assert (finding.severity, finding.pointer, finding.unit) == (case.severity, case.pointer, case.unit)
    assert finding.value == near(case.value)
    assert finding.limit == near(case.limit)
    assert finding.limit_from == (_origin(case) if case.key else None)
    assert finding.remedies == case.remedies


def _origin(case: Case) -> str:
    pointer = f"/profile/{str(case.key).replace('.', '/')}"
    return f"request, {pointer}" if pointer in case.beyond else f"shipped default, {case.key}"


def near(figure: float | str | None) -> Any:
    """A figure to a billionth, to which the facts are settled; words as they are."""
    return pytest.approx(figure, rel=0, abs=1e-9) if isinstance(figure, float | int) else figure


def least(pointer: str, value: float) -> Remedy:
    return Remedy(pointer, at_least=value)


def most(pointer: str, value: float) -> Remedy:
    return Remedy(pointer, at_most=value)


def between(pointer: str, low: float, high: float) -> Remedy:
    return Remedy(pointer, at_least=low, at_most=high)


def one_of(pointer: str, *values: str | float) -> Remedy:
    return Remedy(pointer, one_of=list(values))
