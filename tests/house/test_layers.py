"""Imports point one way: the core knows numbers only, the rules read facts and do no sums."""

import ast
import sys
from pathlib import Path

import pytest
from household import ROOT, imported_modules, python_files

SUMS = {"math", "cmath", "numpy", "statistics", "decimal", "fractions", "random"}
OUTSIDE = {"os", "io", "socket", "http", "urllib", "subprocess", "pathlib", "time", "httpx", "logging"}


def tops(path: Path) -> set[str]:
    return {name.partition(".")[0] for name in imported_modules(path)}


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def rule_files() -> list[Path]:
    files = python_files("service/rules")
    if not files:
        pytest.skip("the service's rules are not there yet")
    return files


def fact_files() -> list[Path]:
    files = [path for path in python_files("service") if path.stem.startswith("facts")]
    if not files:
        pytest.skip("the service's facts are not there yet")
    return files


def test_the_core_imports_the_standard_library_numpy_and_itself_only() -> None:
    files = python_files("optics_core")
    assert len(files) >= 8
    for path in files:
        foreign = tops(path) - set(sys.stdlib_module_names) - {"numpy", "optics_core", "__future__"}
        assert not foreign, named(path)


def test_the_core_opens_no_connection_and_asks_no_clock() -> None:
    for path in python_files("optics_core"):
        assert not tops(path) & (OUTSIDE - {"io", "pathlib"} | {"datetime", "random"}), named(path)


def test_the_core_does_nothing_at_import_but_define() -> None:
    for path in python_files("optics_core"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            plain = (ast.Import, ast.ImportFrom, ast.FunctionDef, ast.ClassDef, ast.Assign, ast.AnnAssign)
            text = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
            typing_only = isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")
            assert isinstance(node, plain) or text or typing_only, f"{named(path)}, line {node.lineno}"


def test_the_core_keeps_no_variable_that_changes() -> None:
    for path in python_files("optics_core"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            assert not isinstance(node, ast.Global), f"{named(path)}, line {node.lineno}"


def test_rules_do_no_sums_and_no_input_or_output() -> None:
    for path in rule_files():
        assert not tops(path) & SUMS, named(path)
        assert not tops(path) & OUTSIDE, named(path)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in ("open", "print", "input"), f"{named(path)}, line {node.lineno}"


def test_rules_ask_the_core_for_no_formula() -> None:
    # Values and their names are welcome; a formula belongs into the facts, computed once.
    formulas = {f"optics_core.{name}" for name in ("vergence", "boxing", "prism", "outline")}
    for path in rule_files():
        assert not imported_modules(path) & formulas, named(path)


def test_facts_leave_mathematics_to_the_core() -> None:
    for path in fact_files():
        assert not tops(path) & {"math", "cmath", "numpy", "statistics", "random"}, named(path)


def test_rules_and_facts_know_no_web() -> None:
    libraries = {"fastapi", "starlette", "uvicorn", "httpx"}
    above = ("service.routes", "service.web", "service.app")
    for path in [*rule_files(), *fact_files()]:
        assert not tops(path) & libraries, named(path)
        assert not [name for name in imported_modules(path) if name.startswith(above)], named(path)
