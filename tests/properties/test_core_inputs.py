"""Claims about every function of optics_core that takes numbers: what it refuses, and that arrays change nothing."""

import inspect
import math
import pkgutil
from importlib import import_module
from typing import Any

import numpy as np
import pytest
from core_calls import Call, calls, flat

import optics_core
from optics_core.errors import DomainError

CALLS = calls()
# These search or build a shape for one order at a time, as do those that are given a shape first.
ONE_AT_A_TIME = {"largest_a", "largest_dbl", "rounded_rectangle", "round_blank", "modelled_outlines", "direction_deg"}
# A finished pair is compared by itself.
ONE_AT_A_TIME |= {"add_comparison", "deviation_of_axis", "imbalances", "distance_imbalance"}
MANY_AT_ONCE = [call for call in CALLS if call.name not in ONE_AT_A_TIME and not call.first]
WITH_A_CYLINDER_AND_AXIS = [call for call in MANY_AT_ONCE if {"cylinder_d", "axis_deg"} <= set(call.numbers)]

NOT_NUMBERS = [math.nan, math.inf, -math.inf, True, False, "1.0", "", b"1", None, 1 + 0j, [1.0]]

every_call = pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
every_call_with_arrays = pytest.mark.parametrize("call", MANY_AT_ONCE, ids=lambda call: call.name)


def same(first: Any, second: Any) -> bool:
    """Equal to 1e-12, where None and nan both say that there is no such number."""
    missing = [value is None or (isinstance(value, float) and math.isnan(value)) for value in (first, second)]
    if any(missing):
        return all(missing)
    return abs(first - second) <= 1e-12 * max(1.0, abs(second))


def spread(call: Call) -> dict[str, np.ndarray]:
    """Nine values about each number of the call, each number moving at its own pace."""
    steps = np.linspace(-0.02, 0.02, 9)
    return {name: value * (1 + np.roll(steps, 2 * index)) for index, (name, value) in enumerate(call.numbers.items())}


@every_call
@pytest.mark.parametrize("given", NOT_NUMBERS, ids=repr)
def test_what_is_not_a_finite_number_is_refused_by_name(call: Call, given: Any) -> None:
    for name in call.numbers:
        with pytest.raises(DomainError) as refusal:
            call.answer(**{name: given})
        assert refusal.value.argument == name
        assert refusal.value.rule.endswith(".")
        assert name in str(refusal.value)


@every_call_with_arrays
@pytest.mark.parametrize("given", [math.nan, math.inf])
def test_one_value_of_an_array_that_is_not_finite_is_refused_by_name(call: Call, given: float) -> None:
    for name, values in spread(call).items():
        if name == "axis_deg" and math.isnan(given) and call.name != "normal_axis":
            continue  # within arrays nan is how "no axis" is written; the next test holds it to that
        spoiled = values.copy()
        spoiled[4] = given
        with pytest.raises(DomainError) as refusal:
            call.answer(**{name: spoiled})
        assert refusal.value.argument == name


@pytest.mark.parametrize("call", WITH_A_CYLINDER_AND_AXIS, ids=lambda call: call.name)
def test_within_arrays_only_a_lens_without_cylinder_may_lack_an_axis(call: Call) -> None:
    axes = np.array([17.0, math.nan])
    with pytest.raises(DomainError) as refusal:
        call.answer(axis_deg=axes)
    assert refusal.value.argument == "axis_deg"
    together = flat(call.answer(axis_deg=axes, cylinder_d=np.array([-0.85, 0.0])))
    alone = flat(call.answer(axis_deg=None, cylinder_d=0.0))
    assert all(same(float(numbers[1]), number) for numbers, number in zip(together, alone, strict=True))


@every_call_with_arrays
def test_arrays_give_the_numbers_that_single_values_give(call: Call) -> None:
    arrays = spread(call)
    together = flat(call.answer(**arrays))
    for index in range(9):
        alone = flat(call.answer(**{name: float(values[index]) for name, values in arrays.items()}))
        assert len(alone) == len(together)
        for numbers, number in zip(together, alone, strict=True):
            assert np.shape(numbers) == (9,)
            assert same(float(numbers[index]), number), (index, numbers[index], number)


@every_call_with_arrays
def test_a_single_array_is_met_by_the_single_values_beside_it(call: Call) -> None:
    for name, values in spread(call).items():
        together = flat(call.answer(**{name: values.reshape(3, 3)}))
        alone = flat(call.answer(**{name: float(values[5])}))
        for numbers, number in zip(together, alone, strict=True):
            # A figure that does not depend on this argument may stay a single number.
            at_5 = numbers[1, 2] if np.ndim(numbers) else numbers
            assert same(float(at_5), number)


@every_call
def test_whole_numbers_and_numpy_numbers_are_numbers(call: Call) -> None:
    whole = {name: round(value) or value for name, value in call.numbers.items()}
    as_floats = {name: float(value) for name, value in whole.items()}
    as_numpy = {name: np.float64(value) for name, value in whole.items()}
    for first, second, third in zip(
        *(flat(call.answer(**given)) for given in (whole, as_floats, as_numpy)), strict=True
    ):
        assert np.array_equal(first, second)
        assert np.array_equal(third, second)


@every_call
def test_no_number_is_passed_by_its_place(call: Call) -> None:
    parameters = inspect.signature(call.function).parameters
    assert all(parameters[name].kind is inspect.Parameter.KEYWORD_ONLY for name in call.numbers)
    with pytest.raises(TypeError):
        call.function(*call.first, *call.numbers.values(), **call.others)


def test_every_public_function_with_numbers_is_called_here() -> None:
    elsewhere = {
        "shared_between_eyes",
        "points_from_radii",
        "error_of_centre",
        "slab_off_eye",
        "edges_on_blank",
        "with_feet",
    }  # asked about elsewhere
    called = {call.name for call in CALLS} | elsewhere
    missed = [name for name, function in public_functions().items() if has_numbers(function) and name not in called]
    assert not missed


def public_functions() -> dict[str, Any]:
    modules = [
        import_module(f"optics_core.{module.name}")
        for module in pkgutil.iter_modules(optics_core.__path__)
        if not module.name.startswith("_")
    ]
    return {
        name: value
        for module in modules
        for name, value in vars(module).items()
        if inspect.isfunction(value) and value.__module__ == module.__name__ and not name.startswith("_")
    }


def has_numbers(function: Any) -> bool:
    """Whether a parameter's name ends in a unit of the house."""
    units = ("d", "m", "mm", "deg", "pd")
    return any(name.rpartition("_")[2] in units for name in inspect.signature(function).parameters)


@pytest.mark.parametrize("share", [-0.01, 1.01, math.nan, True, "half"])
def test_a_share_outside_0_to_1_is_refused(share: Any) -> None:
    from optics_core.prism import Prism, shared_between_eyes

    with pytest.raises(DomainError) as refusal:
        shared_between_eyes(right=Prism(0.0, 5.0), left=Prism(0.0, -1.0), right_share=share)
    assert refusal.value.argument == "right_share"


@pytest.mark.parametrize("word", ["", "Right", "RIGHT", "both", "od", None, 1])
def test_an_eye_that_is_neither_right_nor_left_is_refused(word: Any) -> None:
    from optics_core.prism import base_angle, inward

    for refused in (lambda: inward(eye=word, x=1.0), lambda: base_angle(eye=word, base="in")):
        with pytest.raises(DomainError) as refusal:
            refused()
        assert refusal.value.argument == "eye"


@pytest.mark.parametrize("word", ["", "In", "nasal", "up and out", None, 90])
def test_a_base_that_is_not_in_out_up_or_down_is_refused(word: Any) -> None:
    from optics_core.prism import base_angle

    with pytest.raises(DomainError) as refusal:
        base_angle(eye="right", base=word)
    assert refusal.value.argument == "base"
