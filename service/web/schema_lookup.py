"""What the published JSON Schema says of one place in a document: its unit, and the members it may hold."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

_BRANCHES: Final = ("anyOf", "oneOf", "allOf")


@dataclass(frozen=True, slots=True)
class Described:
    """What is known of a place."""

    unit: str | None
    members: tuple[str, ...]
    names: tuple[str, ...]
    """The steps that lead there, as far as the schema knows them by name."""


def described(schema: Mapping[str, Any], steps: Sequence[str | int]) -> Described:
    """Follow the steps through the schema; of several branches all that have the step are followed."""
    nodes = list(_branches(schema, schema))
    unit = None
    names: list[str] = []
    for step in steps:
        if isinstance(step, str) and any(step in node.get("properties", {}) for node in nodes):
            names.append(step)
        nodes = [branch for node in nodes for inner in _inside(node, step) for branch in _branches(schema, inner)]
        unit = next((str(node["unit"]) for node in nodes if "unit" in node), unit)
    members = dict.fromkeys(name for node in nodes for name in node.get("properties", {}))
    return Described(unit, tuple(members), tuple(names))


def _branches(schema: Mapping[str, Any], node: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """The node, what it refers to, and what it offers to choose from."""
    yield node
    if "$ref" in node:
        name = str(node["$ref"]).rsplit("/", 1)[-1]
        yield from _branches(schema, schema.get("$defs", {}).get(name, {}))
    for key in _BRANCHES:
        for branch in node.get(key, ()):
            yield from _branches(schema, branch)


def _inside(node: Mapping[str, Any], step: str | int) -> Iterator[Mapping[str, Any]]:
    if isinstance(step, int):
        candidates = [*node.get("prefixItems", ())[step : step + 1], node.get("items")]
    else:
        candidates = [node.get("properties", {}).get(step), node.get("additionalProperties")]
    for candidate in candidates:
        if isinstance(candidate, dict):
            yield candidate
            return
