"""Rounding against decimal arithmetic, which Python's own library does exactly."""

import math
from collections.abc import Callable
from decimal import ROUND_HALF_EVEN, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.rounding import for_display, settled

FIGURES = st.floats(-1e12, 1e12, allow_nan=False) | st.floats(-200, 200) | st.integers(-(10**12), 10**12)


@pytest.mark.parametrize(("rounded", "decimals"), [(settled, 9), (for_display, 4)])
@given(value=FIGURES)
def test_a_figure_becomes_the_float_nearest_to_its_decimal(
    rounded: Callable[[float], float], decimals: int, value: float
) -> None:
    step = Decimal(1).scaleb(-decimals)
    found = rounded(value)
    assert type(found) is float
    assert math.copysign(1, found) == (-1 if found < 0 else 1)
    if (8.0 * value).is_integer():
        assert found == value
        return
    exact = Decimal(value) / step
    # Half way, but for what a float cannot tell, either neighbour will do.
    whole = exact.to_integral_value(ROUND_HALF_EVEN)
    half_way = abs(abs(exact - whole) - Decimal("0.5")) < abs(exact) * Decimal(2) ** -52
    assert found in {float(near * step) for near in ((whole - 1, whole, whole + 1) if half_way else (whole,))}


@given(st.lists(st.integers(-(10**7), 10**7), min_size=1, max_size=6), st.sampled_from([1, 2, 3]))
def test_a_sum_of_decimal_figures_is_the_figure_that_is_meant(figures: list[int], decimals: int) -> None:
    added = sum(figure / 10**decimals for figure in figures)
    assert settled(added) == sum(figures) / 10**decimals


@pytest.mark.parametrize("rounded", [settled, for_display])
def test_what_is_infinite_or_no_number_stays_so(rounded: Callable[[float], float]) -> None:
    assert rounded(math.inf) == math.inf
    assert rounded(-math.inf) == -math.inf
    assert math.isnan(rounded(math.nan))
