"""Every figure names its source: no id that is unknown, none that nothing rests on."""

import ast
import tomllib
from collections.abc import Iterator
from importlib import import_module
from importlib.util import find_spec
from typing import Any

import pytest
from household import ROOT, docstring_of, is_table, public_functions, python_files

from optics_core.sources import sources

GRADES = {"primary", "secondary", "tertiary", "none"}
MARKS = {"read", "memory", "practice"}


def source_fields(value: Any, key: str = "") -> Iterator[str]:
    """What stands under a key `source` (or `sources`), however deep."""
    if isinstance(value, dict):
        for name, part in value.items():
            yield from source_fields(part, name)
    elif isinstance(value, list):
        for part in value:
            yield from source_fields(part, key)
    elif isinstance(value, str) and (key in ("source", "sources") or key.endswith(("_source", "_sources"))):
        yield value


def ids_in(text: str) -> set[str]:
    """The ids of a field: entries parted by semicolons, the id before the first comma."""
    return {entry.split(",")[0].strip() for entry in text.split(";") if entry.strip()}


def ids_in_tables() -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for path in sorted([*(ROOT / "optics_core" / "tables").glob("*.toml"), *(ROOT / "service").rglob("*.toml")]):
        if path.name == "sources.toml":
            continue
        for text in source_fields(tomllib.loads(path.read_text(encoding="utf-8"))):
            for identity in ids_in(text):
                found.setdefault(identity, set()).add(path.name)
    return found


def ids_in_docstrings() -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for function in public_functions():
        for identity in docstring_of(function).cited:
            if is_table(identity):
                continue
            found.setdefault(identity, set()).add(function.__name__)
    return found


def ids_in_rules() -> dict[str, set[str]]:
    """Source ids of the registered rules, by their codes."""
    found: dict[str, set[str]] = {}
    for rule in registered_rules():
        for identity in ids_in(rule.source):
            found.setdefault(identity, set()).add(rule.code)
    return found


def registered_rules() -> list[Any]:
    registry = import_module("service.rules.registry")
    found = [rule for value in vars(registry).values() if isinstance(value, list | tuple) for rule in value]
    rules = [rule for rule in found if hasattr(rule, "code") and hasattr(rule, "source")]
    assert rules, "service.rules.registry holds no list of rules with a code and a source"
    return rules


def ids_written_in_the_service() -> dict[str, set[str]]:
    """Ids given as `source="..."` in the service's code: cautions, defaults, limits of its own."""
    found: dict[str, set[str]] = {}
    for path in python_files("service"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            for identity in _source_words(node):
                found.setdefault(identity, set()).add(str(path.relative_to(ROOT)))
    return found


def _source_words(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Call):
        for keyword in node.keywords:
            if keyword.arg == "source" and isinstance(keyword.value, ast.Constant):
                yield from ids_in(str(keyword.value.value))


def rules_exist() -> bool:
    try:
        return find_spec("service.rules.registry") is not None
    except ModuleNotFoundError:
        return False


def test_every_source_says_what_it_is_how_good_and_whether_it_was_read() -> None:
    assert len(sources()) >= 20
    for identity, source in sources().items():
        assert source.id == identity
        assert source.title
        assert source.where
        assert source.grade in GRADES, identity
        assert source.mark in MARKS, identity


def test_no_table_or_docstring_cites_an_unknown_source() -> None:
    cited = ids_in_tables() | ids_in_docstrings()
    assert cited
    unknown = {identity: places for identity, places in cited.items() if identity not in sources()}
    assert not unknown


def test_every_row_of_the_materials_and_tolerances_cites_a_source() -> None:
    from optics_core.materials import materials

    assert len(materials()) >= 14
    assert all(ids_in(material.source) <= set(sources()) and material.source for material in materials().values())
    for name in ("materials.toml", "ansi", "iso"):
        assert any(name in file for files in ids_in_tables().values() for file in files), name


def test_no_rule_cites_an_unknown_source() -> None:
    if not rules_exist():
        pytest.skip("the service's rules are not there yet")
    unknown = {identity: codes for identity, codes in ids_in_rules().items() if identity not in sources()}
    assert not unknown


def test_no_code_of_the_service_cites_an_unknown_source() -> None:
    unknown = {
        identity: places for identity, places in ids_written_in_the_service().items() if identity not in sources()
    }
    assert not unknown


def test_no_source_is_listed_that_nothing_rests_on() -> None:
    if not rules_exist():
        pytest.skip("the service's rules are not there yet: they cite sources too")
    # The four that say where a figure does not come from, or that it is ours, need no figure to rest on them.
    cited = {"common-practice", "memory", "derived", "house"}
    cited |= {*ids_in_tables(), *ids_in_docstrings(), *ids_in_rules(), *ids_written_in_the_service()}
    assert sorted(set(sources()) - cited) == []
