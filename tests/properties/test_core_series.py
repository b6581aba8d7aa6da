"""Mean, spread and drift of readings, against the standard library's statistics and scipy's (general statistics)."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from optics_core.errors import DomainError
from optics_core.series import LEAST_FOR_NOTABLE, Drift, chance_of_t, drift, summary

# Readings as instruments give them: whole hundredths.
readings = st.lists(st.integers(-2000, 2000).map(lambda hundredths: hundredths / 100), min_size=3, max_size=60)
slow = settings(max_examples=200, deadline=None)


@slow
@given(readings)
def test_a_summary_is_what_the_standard_library_says(values: list[float]) -> None:
    found = summary(values)
    assert found.count == len(values)
    assert found.mean == pytest.approx(statistics.fmean(values), abs=1e-12)
    assert found.spread == pytest.approx(statistics.stdev(values), abs=1e-9)
    assert (found.least, found.greatest) == (min(values), max(values))
    assert found.least <= found.mean <= found.greatest


@pytest.mark.parametrize("value", [0.1, -0.25, 0.0, 1e6])
def test_one_reading_has_no_spread_and_equal_ones_have_none_at_all(value: float) -> None:
    assert summary([value]).spread is None
    several = summary([value] * 7)
    assert (several.mean, several.spread) == (value, 0.0)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 17, 30, 101, 198, 1000])
def test_the_chance_of_a_t_is_that_of_scipy(freedom: int) -> None:
    for t in (0.0, 1e-6, 0.3, 1.0, 2.0, 3.3, 7.0, 63.657, 1e5):
        expected = 2 * stats.t.sf(t, freedom)
        assert chance_of_t(t=t, freedom=freedom) == pytest.approx(expected, abs=1e-10)
        assert chance_of_t(t=-t, freedom=freedom) == chance_of_t(t=t, freedom=freedom)


@pytest.mark.parametrize("freedom", [1, 3, 10, 60])
def test_the_quantile_at_99_percent_has_a_chance_of_1_percent(freedom: int) -> None:
    assert chance_of_t(t=stats.t.ppf(0.995, freedom), freedom=freedom) == pytest.approx(0.01, abs=1e-11)


@slow
@given(readings)
def test_slope_standard_error_and_chance_are_those_of_scipy_s_regression(values: list[float]) -> None:
    assume(len(set(values)) > 1)
    found, expected = drift(values), stats.linregress(range(len(values)), values)
    assert found.per_step == pytest.approx(expected.slope, abs=1e-9)
    if abs(expected.rvalue) > 1 - 1e-9:  # a straight line: what is left over is rounding
        assert found.standard_error == pytest.approx(0.0, abs=1e-6)
        assert found.chance == pytest.approx(0.0, abs=1e-3)
        return
    assert found.standard_error == pytest.approx(expected.stderr, rel=1e-6, abs=1e-9)
    assert found.chance == pytest.approx(expected.pvalue, abs=1e-6)
    assert found.notable == (found.chance < 0.01 and len(values) >= LEAST_FOR_NOTABLE)


@slow
@given(readings, st.data())
def test_readings_that_were_left_out_leave_their_places_open(values: list[float], data: st.DataObject) -> None:
    steps = data.draw(st.lists(st.integers(1, 9), min_size=len(values), max_size=len(values)))
    places = np.cumsum(steps)
    assume(len(set(values)) > 1)
    found, expected = drift(values, places=places), stats.linregress(places, values)
    assert found.per_step == pytest.approx(expected.slope, abs=1e-9)
    assert drift(values, places=range(len(values))) == drift(values)
    if abs(expected.rvalue) <= 1 - 1e-9:
        assert found.standard_error == pytest.approx(expected.stderr, rel=1e-6, abs=1e-9)
        assert found.chance == pytest.approx(expected.pvalue, abs=1e-6)


@pytest.mark.parametrize(
    "places", [[0, 1], [0, 1, 1], [2, 1, 3], [0, 1, math.nan], [0, 1, 1e7], ["0", "1", "2"], [[0, 1, 2]]]
)
def test_places_that_are_not_as_many_or_do_not_rise_are_refused(places: object) -> None:
    with pytest.raises(DomainError) as refusal:
        drift([1.0, 2.0, 4.0], places=places)  # type: ignore[arg-type]
    assert refusal.value.argument == "places"


def test_a_slope_is_notable_just_beyond_student_s_quantile() -> None:
    # Ten readings with a fixed scatter about a line; its slope is set to the quantile times the standard error.
    scatter = np.array([0.02, -0.01, 0.03, -0.02, 0.0, 0.01, -0.03, 0.02, -0.01, 0.01])
    step = np.arange(10)
    scatter = scatter - np.polyval(np.polyfit(step, scatter, 1), step)
    at_quantile = stats.t.ppf(0.995, 8) * stats.linregress(step, scatter).stderr
    assert not drift(scatter + 0.999 * at_quantile * step).notable
    assert drift(scatter + 1.001 * at_quantile * step).notable
    assert drift(scatter - 1.001 * at_quantile * step).notable
    assert not drift(scatter + 1.001 * at_quantile * step, most_chance=0.001).notable


@pytest.mark.parametrize("count", range(1, 12))
def test_equal_readings_do_not_drift_and_a_straight_line_does(count: int) -> None:
    assert not drift([0.1] * count).notable
    line = drift([0.1 * index - 0.3 for index in range(count)])
    assert line.notable == (count >= LEAST_FOR_NOTABLE)
    if count >= 3:
        assert line.per_step == pytest.approx(0.1)


@pytest.mark.parametrize("about", [0.0, 0.12, 2.25, 5e5])
def test_rounding_alone_is_no_drift(about: float) -> None:
    # 2.37 - 2.25 - 0.12 and the like: equal on paper, a rising last digit in the machine.
    values = [about + index * math.ulp(max(about, 0.1)) for index in range(10)]
    assert len(set(values)) == 10
    assert drift(values) == Drift(0.0, 0.0, 1.0, False)


@pytest.mark.parametrize("count", [1, 2])
def test_below_three_readings_there_is_no_slope(count: int) -> None:
    assert drift([0.1, 0.2][:count]) == Drift(None, None, None, False)


@slow
@given(readings, st.floats(-50, 50), st.sampled_from([0.5, 2.0, 8.0]))
def test_backwards_the_slope_turns_and_neither_zero_point_nor_unit_matters(
    values: list[float], shift: float, unit: float
) -> None:
    assume(max(values) - min(values) > 0.5)
    plain = drift(values)
    assume(plain.standard_error > 1e-6)
    for changed, factor in (
        (values[::-1], -1.0), ([value + shift for value in values], 1.0), ([value * unit for value in values], unit),
    ):  # fmt: skip
        other = drift(changed)
        assert other.per_step == pytest.approx(factor * plain.per_step, abs=1e-9)
        assert other.chance == pytest.approx(plain.chance, abs=1e-6)


def test_readings_that_do_not_drift_are_seldom_said_to() -> None:
    rng = np.random.default_rng(5)
    notable = sum(drift(rng.normal(0.0, 0.05, 12)).notable for _ in range(3000))
    assert 10 <= notable <= 60  # 30 expected, standard deviation 5.4


@pytest.mark.parametrize("count", [3, 4, 5, 8])
@pytest.mark.parametrize("scatter_in_steps", [0.5, 1.0, 3.0])
def test_readings_in_whole_steps_that_do_not_drift_are_seldom_said_to(count: int, scatter_in_steps: float) -> None:
    rng = np.random.default_rng(6)
    rows = np.round(rng.normal(0.0, scatter_in_steps, (2000, count))) / 100
    found = [drift(row) for row in rows]
    assert sum(each.notable for each in found) <= 50  # 20 by reckoning
    if count == 3 and scatter_in_steps == 1.0:  # why three are too few
        assert sum(each.chance < 0.01 for each in found) > 100


@pytest.mark.parametrize(
    "values",
    [[], [math.nan], [0.1, math.inf], [True, False], ["0.1"], [[0.1, 0.2]], [0.1, None], [[1.0], [1.0, 2.0]], 0.1, 1e7],
    ids=repr,
)
def test_what_is_no_row_of_numbers_is_refused(values: object) -> None:
    for function in (summary, drift):
        with pytest.raises(DomainError) as refusal:
            function(values)
        assert refusal.value.argument == "values"
    with pytest.raises(DomainError):
        summary([1e6 + 1])


@pytest.mark.parametrize("chance", [0.0, 1.0, -0.1, math.nan, True, "0.01"])
def test_a_chance_that_is_none_is_refused(chance: object) -> None:
    with pytest.raises(DomainError) as refusal:
        drift([0.1, 0.2, 0.3], most_chance=chance)
    assert refusal.value.argument == "most_chance"


@pytest.mark.parametrize("freedom", [0, -1, 2.0, True, None])
def test_degrees_of_freedom_are_whole_and_one_or_more(freedom: object) -> None:
    with pytest.raises(DomainError) as refusal:
        chance_of_t(t=1.0, freedom=freedom)
    assert refusal.value.argument == "freedom"
