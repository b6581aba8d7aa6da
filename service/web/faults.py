"""Validation errors as faults of the request: one for each place, with a pointer that holds in what was received."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from service import limits
from service.web.expectations import BOUND_CODES, Expectation, expectation
from service.web.pointers import Place, joined, place_of
from service.web.problems import FieldError
from service.web.schema_lookup import described

_BODY: Final = "body"
# A single misplaced member may be a slip of another kind.
_ENOUGH_TO_TELL: Final = 2


@dataclass(frozen=True, slots=True)
class _Located:
    """An error with its place in the document."""

    error: Mapping[str, Any]
    location: tuple[str | int, ...]
    place: Place
    is_missing: bool

    @property
    def pointer(self) -> str:
        pointer = ""
        for step in self.place.steps:
            pointer = joined(pointer, step)
        return joined(pointer, self.location[-1]) if self.is_missing and self.location else pointer

    @property
    def branch(self) -> tuple[tuple[str | int, ...], str | int] | None:
        """The union this error lies below, by its place, and the branch of it; none where there is no union."""
        if not self.place.passed_over:
            return None
        at = self.place.passed_over[0]
        return self.place.steps[:at], self.location[at]


def request_faults(
    errors: Iterable[Mapping[str, Any]], document: object, schema: Callable[[], Mapping[str, Any]]
) -> list[FieldError]:
    """Faults of a request, from errors whose location begins with body, query, path, header or cookie."""
    in_body: list[Mapping[str, Any]] = []
    faults: list[FieldError] = []
    for error in errors:
        if error["loc"] and error["loc"][0] == _BODY:
            in_body.append({**error, "loc": tuple(error["loc"][1:])})
        else:
            faults.append(_parameter_fault(error))
    return [*faults, *validation_errors(in_body, document, schema)] if in_body else faults


def validation_errors(
    errors: Sequence[Mapping[str, Any]], document: object, schema: Callable[[], Mapping[str, Any]]
) -> list[FieldError]:
    """Faults of a document, from the errors of its model; `schema` is the published one of that model."""
    published = schema()
    at_place: dict[str, list[tuple[_Located, Expectation]]] = {}
    # A hostile document can be wrong in thousands of places; what is not reported need not be worked out.
    for located in _nearest_branches([_located(error, document) for error in errors[: 4 * limits.MAX_ERRORS_REPORTED]]):
        found = located, _expectation(located, published)
        at_place.setdefault(located.pointer, []).append(found)
    return _put_within([_fault(pointer, found, published) for pointer, found in at_place.items()], published)


def _put_within(faults: list[FieldError], schema: Mapping[str, Any]) -> list[FieldError]:
    """The faults; where a member is lacking and what belongs into it was sent in its place, that alone is told of them."""
    at_top = [fault for fault in faults if fault.pointer is not None and fault.pointer.count("/") == 1]
    lacking = [fault for fault in at_top if fault.code == "member-missing"]
    unknown = {fault.pointer: fault for fault in at_top if fault.code == "member-unknown"}
    for fault in lacking:
        name = (fault.pointer or "").removeprefix("/")
        inner = described(schema, (name,)).members
        misplaced = [pointer for pointer in unknown if (pointer or "").removeprefix("/") in inner]
        if len(misplaced) >= _ENOUGH_TO_TELL:
            told = ", ".join(f"`{(pointer or '').removeprefix('/')}`" for pointer in misplaced)
            message = f"{told} were read at the top. They are expected within `{name}`. Put them there."
            others = [one for one in faults if one.pointer not in misplaced and one is not fault]
            return [FieldError(fault.code, message, pointer=fault.pointer), *others]
    return faults


def _located(error: Mapping[str, Any], document: object) -> _Located:
    location = tuple(error["loc"])
    is_missing = error["type"] == "missing"
    return _Located(
        error, location, place_of(location[:-1] if is_missing else location, document, error["input"]), is_missing
    )


def _nearest_branches(found: list[_Located]) -> list[_Located]:
    """Of a union of objects, keep only the errors of the branch that fits best: fewest unknown members, then fewest."""
    unions: dict[tuple[str | int, ...], dict[str | int, list[_Located]]] = {}
    for located in found:
        if located.branch is not None:
            place, tag = located.branch
            unions.setdefault(place, {}).setdefault(tag, []).append(located)
    dropped: set[int] = set()
    for place, branches in unions.items():
        objects = {
            tag: inside for tag, inside in branches.items() if any(one.pointer != _text(place) for one in inside)
        }
        if not objects:
            continue  # a union of plain values: its expectations are told together
        best = min(objects.values(), key=_distance)
        dropped.update(id(one) for inside in branches.values() if inside is not best for one in inside)
    return [located for located in found if id(located) not in dropped]


def _distance(errors: list[_Located]) -> tuple[int, int]:
    return sum(located.error["type"] == "extra_forbidden" for located in errors), len(errors)


def _text(steps: Iterable[str | int]) -> str:
    pointer = ""
    for step in steps:
        pointer = joined(pointer, step)
    return pointer


def _expectation(located: _Located, schema: Mapping[str, Any]) -> Expectation:
    name = str(located.location[-1]) if located.location else ""
    is_unknown = located.error["type"] == "extra_forbidden"
    steps = located.place.steps[:-1] if is_unknown else _all_steps(located)
    known = described(schema, steps)
    return expectation(located.error, unit=known.unit, members=known.members, name=name)


def _all_steps(located: _Located) -> tuple[str | int, ...]:
    return (*located.place.steps, located.location[-1]) if located.is_missing else located.place.steps


def _fault(pointer: str, found: list[tuple[_Located, Expectation]], schema: Mapping[str, Any]) -> FieldError:
    """One fault of one place. A bound says more than a kind: where one was passed, the kind was right."""
    told = [one for one in found if one[1].code in BOUND_CODES] or found
    located, first = told[0]
    names = described(schema, _all_steps(located)).names
    label = f"`{'.'.join(names[-2:])}`" if names else "the body"
    if not pointer:
        label = "the body"
    expected = ", or ".join(dict.fromkeys(one.expected for _, one in told if one.expected))
    return FieldError(first.code, _sentences(first, expected, label), pointer=pointer)


def _sentences(fault: Expectation, expected: str, label: str) -> str:
    if fault.code == "member-unknown":
        return f"{fault.read}. {fault.to_do}"
    verb = "are" if expected.endswith(("characters", "items")) else "is"
    wanted = f" {expected[0].upper()}{expected[1:]} {verb} expected." if expected else ""
    return f"{fault.read} for {label}.{wanted} {fault.to_do}"


def _parameter_fault(error: Mapping[str, Any]) -> FieldError:
    location = error["loc"]
    name = str(location[-1]) if location else ""
    where = str(location[0]) if location else "request"
    fault = expectation(error, unit=None, members=(), name=name)
    known = fault.code != "member-unknown"
    message = _sentences(fault, fault.expected, f"`{name}` in the {where}" if known else f"the {where}")
    return FieldError(fault.code, message, parameter=name)
