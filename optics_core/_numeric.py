"""One body for floats and arrays: how a formula gets its numbers and its functions.

A formula asks `numbers` for checked values and for the library that fits them: plain functions of
`math` when every value is a single number (a thousand times more common here, and many times faster),
numpy otherwise. Arrays come back as float64 and broadcast to one shape, so that each result has it.
Angles are in degrees, counter-clockwise positive.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any, TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

from optics_core.errors import DomainError

Array: TypeAlias = npt.NDArray[np.float64]
Numbers: TypeAlias = float | Array
Number = TypeVar("Number", float, Array, float | Array)

A_NUMBER = "A finite number, or a numpy array of finite numbers, is expected."

_PLAIN = {int, float}

# Cosine and sine of 0, 1, 2 and 3 quarter turns.
_QUARTER_COSINES = (1.0, 0.0, -1.0, 0.0)
_QUARTER_SINES = (0.0, 1.0, 0.0, -1.0)


def _chosen(condition: bool, yes: Any, no: Any) -> Any:
    return yes if condition else no


def _larger(one: float, other: float) -> float:
    return one if one > other else other


def _smaller(one: float, other: float) -> float:
    return one if one < other else other


def _value_or_none(keep: bool, value: Any) -> Any:
    return value if keep else None


def _value_or_nan(keep: Any, value: Any) -> Any:
    return np.where(keep, value, np.nan)


def _nearest_whole(values: Any) -> Any:
    return np.rint(values).astype(np.intp)


def _sine_and_cosine_from(
    fmod: Any, nearest: Any, radians: Any, sin: Any, cos: Any, quarter_sines: Any, quarter_cosines: Any
) -> Callable[[Any], tuple[Any, Any]]:
    def sine_and_cosine(angle_deg: Any) -> tuple[Any, Any]:
        """Sine and cosine of an angle in degrees, exact at whole quarter turns.

        The angle is split into quarter turns and a rest of at most 45 degrees. So the power of a cylinder
        across its axis leaves no trace of rounding, and angles half a turn apart give exact opposites.
        """
        within_turn = fmod(angle_deg, 360.0)
        quarters = nearest(within_turn / 90.0)
        rest = radians(within_turn - 90.0 * quarters)
        sine, cosine = sin(rest), cos(rest)
        # From -4 to 4 quarter turns: the remainder picks the one meant.
        quarters = quarters % 4
        quarter_sine, quarter_cosine = quarter_sines[quarters], quarter_cosines[quarters]
        return sine * quarter_cosine + cosine * quarter_sine, cosine * quarter_cosine - sine * quarter_sine

    return sine_and_cosine


# The two libraries have the same names, so that one formula serves both.
SCALAR: Any = SimpleNamespace(
    atan2=math.atan2, hypot=math.hypot, sqrt=math.sqrt, degrees=math.degrees,
    maximum=_larger, minimum=_smaller, where=_chosen, only=_value_or_none, all=bool,
    sine_and_cosine=_sine_and_cosine_from(
        math.fmod, round, math.radians, math.sin, math.cos, _QUARTER_SINES, _QUARTER_COSINES
    ),
)  # fmt: skip
ARRAY: Any = SimpleNamespace(
    atan2=np.atan2, hypot=np.hypot, sqrt=np.sqrt, degrees=np.degrees,
    maximum=np.maximum, minimum=np.minimum, where=np.where, only=_value_or_nan, all=np.all,
    sine_and_cosine=_sine_and_cosine_from(
        np.fmod, _nearest_whole, np.radians, np.sin, np.cos, np.array(_QUARTER_SINES), np.array(_QUARTER_COSINES)
    ),
)  # fmt: skip


def numbers(names: tuple[str, ...], *values: Any) -> tuple[Any, ...]:
    """The library that fits, then the values in the order given, all finite; `names` are for the error."""
    total = 0.0
    for value in values:
        if type(value) is not float:
            return _numbers_with_care(names, values)
        total += value
    # A sum less itself is 0 unless a term is infinite or not a number (or the sum alone is too large).
    if total - total == 0.0:
        return (SCALAR, *values)
    return _numbers_with_care(names, values)


def single_numbers(names: tuple[str, ...], *values: Any) -> tuple[Any, ...]:
    """The values in the order given, where only single numbers are answered for."""
    library, *checked = numbers(names, *values)
    if library is not SCALAR:
        name, value = next(pair for pair in zip(names, values, strict=True) if isinstance(pair[1], np.ndarray))
        raise DomainError(name, "A single finite number is expected.", value)
    return tuple(checked)


def _numbers_with_care(names: tuple[str, ...], values: tuple[Any, ...]) -> tuple[Any, ...]:
    if set(map(type, values)) <= _PLAIN:  # whole numbers among them, such as an axis without a decimal point
        plain = [_finite(name, value) for name, value in zip(names, values, strict=True)]
        return (SCALAR, *plain)
    checked = [_checked(name, value) for name, value in zip(names, values, strict=True)]
    if all(type(value) is float for value in checked):
        return (SCALAR, *checked)
    try:
        shaped = np.broadcast_arrays(*checked)
    except ValueError:
        shapes = [np.shape(value) for value in checked]
        raise DomainError(", ".join(names), "Arrays whose shapes go together are expected.", shapes) from None
    return (ARRAY, *shaped)


def _checked(name: str, value: Any) -> Any:
    if isinstance(value, np.ndarray):
        if value.dtype.kind not in "iuf":
            raise DomainError(name, A_NUMBER, value)
        array = value.astype(np.float64)
        demand(np.isfinite(array), argument=name, rule=A_NUMBER, value=array)
        return array
    if isinstance(value, bool) or not isinstance(value, (int, float, np.integer, np.floating)):
        raise DomainError(name, A_NUMBER, value)
    return _finite(name, value)


def _finite(name: str, value: Any) -> float:
    try:
        number = float(value)
    except OverflowError:  # an integer of more than 308 digits
        raise DomainError(name, A_NUMBER, value) from None
    if not math.isfinite(number):
        raise DomainError(name, A_NUMBER, number)
    return number


def demand(holds: Any, *, argument: str, rule: str, value: Any) -> None:
    """Raise DomainError with the first value for which the rule does not hold."""
    if holds is True or np.all(holds):
        return
    if isinstance(value, np.ndarray):
        value = float(value[~np.asarray(holds)].flat[0])
    raise DomainError(argument, rule, value)
