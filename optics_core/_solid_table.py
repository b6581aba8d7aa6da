# mypy: disable-error-code="no-any-return"
"""What `optics_core.solids` is given, checked and laid out: outlines as rows, lenses as the columns of a table.

Rows of the table are as in FIGURES, but the axis's sine stands in the axis's place and its cosine at the end: every
turn is then a multiplication. Signs: as in `optics_core.solids`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np

from optics_core._body import ABOVE_1, NOT_NEGATIVE
from optics_core._lens import LENS, checked_lens
from optics_core._numeric import A_NUMBER, ARRAY, SCALAR, Array, demand, numbers
from optics_core._solids import least, most
from optics_core.errors import DomainError

ForEach: TypeAlias = float | Array | Sequence[float]

OUTLINES = "Two arrays of one shape (m, n) are expected: m outlines, 1 or more, of n points, 3 or more."
FINITE = "Finite numbers are expected."
ONE_EACH = "One number for all lenses is expected, or one for each."

FIGURES = (*LENS, "index", "front_power_d", "prism_x_pd", "prism_y_pd", "least_centre_mm", "least_edge_mm")
SINE, INDEX, FRONT, LEAST_CENTRE, LEAST_EDGE, COSINE = 2, 3, 4, 7, 8, 9
FEW = 6  # so few lenses are faster one by one in plain numbers, for what is one number to a lens


def outlines(x_mm: Any, y_mm: Any) -> tuple[Array, Array]:
    """Two arrays of floats of one shape; whether they are finite shows later, see `demand_finite`."""
    x, y = _rows("x_mm", x_mm), _rows("y_mm", y_mm)
    if x.shape != y.shape:
        raise DomainError("y_mm", OUTLINES, y.shape)
    return x, y


def _rows(name: str, places: Any) -> Array:
    try:
        rows = np.asarray(places)
    except ValueError:  # outlines of different lengths
        raise DomainError(name, OUTLINES, places) from None
    if rows.dtype.kind not in "iuf" or rows.ndim != 2 or rows.shape[0] < 1 or rows.shape[1] < 3:
        raise DomainError(name, OUTLINES, places)
    return rows.astype(np.float64, copy=False)


def demand_finite(**places: Array) -> None:
    """Refuse what is not finite; asked only where something has turned into nan."""
    for name, values in places.items():
        demand(np.isfinite(values), argument=name, rule=FINITE, value=values)


def lens_table(count: int, *figures: Any) -> Array:
    """The lenses as columns."""
    table = np.empty((len(FIGURES) + 1, count))
    given = table[:-1]
    for row, value in zip(given, figures, strict=True):
        if not _is_usual(value, count):
            _fill_with_care(given, figures)
            break
        row[...] = value
    if not (math.isfinite(least(given)) and math.isfinite(most(given))):
        _fill_with_care(given, figures)
    if least(given[INDEX]) <= 1.0:
        demand(given[INDEX] > 1.0, argument="index", rule=ABOVE_1, value=given[INDEX])
    if least(given[LEAST_CENTRE:]) < 0.0:
        for row, name in zip(given[LEAST_CENTRE:], FIGURES[LEAST_CENTRE:], strict=True):
            demand(row >= 0.0, argument=name, rule=NOT_NEGATIVE, value=row)
    if count <= FEW:
        turns = map(SCALAR.sine_and_cosine, given[SINE].tolist())
        table[SINE], table[COSINE] = zip(*turns, strict=True)
    else:
        table[SINE], table[COSINE] = ARRAY.sine_and_cosine(given[SINE])
    return table


def given_centre(count: int, centre_mm: Any) -> Array:
    """One centre for each lens, checked."""
    _, centre = numbers(("centre_mm",), _one_or_each("centre_mm", centre_mm, count))
    centres: Array = np.full(count, centre)
    demand(centres >= 0.0, argument="centre_mm", rule=NOT_NEGATIVE, value=centres)
    return centres


def _is_usual(value: Any, count: int) -> bool:
    """Whether it is floats beyond doubt."""
    kind = type(value)
    if kind is float:
        return True
    if kind is list or kind is tuple:
        return len(value) == count and all([type(one) is float for one in value])  # noqa: C419 (faster for a few)
    return kind is np.ndarray and value.dtype.kind == "f" and value.shape == (count,)


def _fill_with_care(given: Array, figures: tuple[Any, ...]) -> None:
    count = given.shape[1]
    values = [_one_or_each(name, value, count) for name, value in zip(FIGURES, figures, strict=True)]
    _, *checked = checked_lens(FIGURES, *values)
    for row, value in zip(given, checked, strict=True):
        row[...] = value


def _one_or_each(name: str, value: Any, count: int) -> Any:
    """A number as it is, or an array with one for each lens."""
    if isinstance(value, list | tuple):
        for one in value:
            if isinstance(one, bool) or not isinstance(one, int | float | np.integer | np.floating):
                raise DomainError(name, A_NUMBER, one)
        value = np.array(value, np.float64)
    if isinstance(value, np.ndarray) and value.shape not in ((), (count,)):
        raise DomainError(name, ONE_EACH, value.shape)
    return value
