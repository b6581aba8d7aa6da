"""Docstrings are checked against the signatures they describe: names, units, errors, sources."""

import inspect
import re
from collections.abc import Callable
from typing import Any

import pytest
from household import docstring_of, is_table, public_functions

from optics_core.sources import sources

FUNCTIONS = public_functions()
every_function = pytest.mark.parametrize("function", FUNCTIONS, ids=lambda f: f"{f.__module__}.{f.__name__}")

# What a name's last part promises about its unit.
UNITS = {"_d": "D", "_m": "m", "_mm": "mm", "_deg": "deg", "_pd": "pd", "_nm": "nm", "_g": "g", "_years": "years"}
A_UNIT = re.compile(r"\[([^\]\n]+)\]")
OF_NUMBERS = re.compile(r"\b(float|int|number|array)")

Function = Callable[..., Any]


def unit_of(name: str) -> str | None:
    return UNITS.get(f"_{name.rpartition('_')[2]}") if "_" in name else None


def is_number(name: str, written_type: str) -> bool:
    return unit_of(name) is not None or written_type.startswith(("float", "int", "number", "array"))


def test_there_are_public_functions_to_check() -> None:
    assert len(FUNCTIONS) >= 30


@every_function
def test_a_docstring_opens_with_one_sentence_and_names_what_it_returns_and_from_where(function: Function) -> None:
    text = inspect.getdoc(function)
    assert text
    assert text.splitlines()[0].endswith((".", ":")) or text.split("\n\n")[0].endswith((".", ":"))
    assert docstring_of(function).sections.keys() >= {"Returns", "Source"}


@every_function
def test_the_parameters_described_are_the_parameters_there_are(function: Function) -> None:
    assert list(docstring_of(function).parameters) == list(inspect.signature(function).parameters)


@every_function
def test_every_parameter_has_a_type_and_a_description(function: Function) -> None:
    for name, (kind, text) in docstring_of(function).parameters.items():
        assert kind, name
        assert text, name


@every_function
def test_every_number_has_its_unit_in_brackets(function: Function) -> None:
    for name, (kind, text) in docstring_of(function).parameters.items():
        if not is_number(name, kind):
            continue
        assert OF_NUMBERS.search(kind), f"{name}: {kind}"
        units = A_UNIT.findall(text)
        assert units, f"{name} has no [unit]"
        if (unit := unit_of(name)) is not None:
            assert unit in units, f"{name}: {units}"


@every_function
def test_a_number_that_is_returned_has_its_unit_in_brackets(function: Function) -> None:
    returned = docstring_of(function).sections["Returns"]
    if re.match(r"(float|tuple of (two )?(floats|tuples)|array)", returned):
        assert A_UNIT.search(returned)


@every_function
def test_what_can_be_asked_wrongly_says_what_it_raises(function: Function) -> None:
    if inspect.signature(function).parameters:
        assert re.search(r"^\w+Error$", docstring_of(function).sections["Raises"], re.MULTILINE)


@every_function
def test_every_number_is_passed_by_name(function: Function) -> None:
    described = docstring_of(function).parameters
    for name, parameter in inspect.signature(function).parameters.items():
        kind = described[name][0]
        if is_number(name, kind) and not kind.startswith("array of shape"):  # a shape may come first
            assert parameter.kind is inspect.Parameter.KEYWORD_ONLY, name


@every_function
def test_every_source_named_is_a_known_id_or_a_table_whose_rows_name_theirs(function: Function) -> None:
    named = docstring_of(function).cited
    assert named
    unknown = [cited for cited in named if cited not in sources() and not is_table(cited)]
    assert not unknown


def test_every_module_opens_with_what_it_is_about_and_its_sign_convention() -> None:
    for module in {inspect.getmodule(function) for function in FUNCTIONS}:
        assert module is not None
        text = inspect.getdoc(module)
        assert text, module.__name__
        assert len(text) > 100, module.__name__
