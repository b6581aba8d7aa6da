"""Tolerances: the figures are the collected ones, and the limits meet at their band edges."""

import math
from typing import Any

import pytest
from core_strategies import steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core import tolerance
from optics_core.errors import DomainError

LENSES = ("single_vision", "progressive")

# standards.md sections 1.5 and 2.8 (collected figures, with marks there): prism of a mounted pair.
# standard, lens: horizontal prism, switch; vertical prism, switch; mm criteria as the total of the pair.
PRINTED = {
    ("ansi-z80.1-2015", "single_vision"): (0.67, 2.75, 0.33, 3.375),
    ("ansi-z80.1-2015", "progressive"): (0.67, 3.75, 0.33, 3.375),
    ("iso-21987-2017", "single_vision"): (0.67, 3.25, 0.50, 5.00),
}
# In mm: 2.5 total; 1.0 for each eye, so 2.0 over the pair; 2.0.
PAIR_MM = {
    ("ansi-z80.1-2015", "single_vision"): (2.5, 1.0),
    ("ansi-z80.1-2015", "progressive"): (2.0, 1.0),
    ("iso-21987-2017", "single_vision"): (2.0, 1.0),
}
rows = pytest.mark.parametrize("row", list(PRINTED), ids="-".join)


def limits(row: tuple[str, str]) -> Any:
    return tolerance.mounted_prism_limits(standard=row[0], lens=row[1])


def test_both_standards_have_a_table() -> None:
    assert {"ansi-z80.1-2015", "iso-21987-2017"} <= set(tolerance.standards())


@rows
def test_the_limits_are_the_collected_figures(row: tuple[str, str]) -> None:
    found = limits(row)
    assert (
        found.horizontal_pd, found.horizontal_switch_d, found.vertical_pd, found.vertical_switch_d
    ) == PRINTED[row]  # fmt: skip
    assert found.standard == row[0]


@rows
@pytest.mark.parametrize("sign", [1, -1])
def test_weak_lenses_are_judged_by_prism_alone(row: tuple[str, str], sign: int) -> None:
    horizontal, _, vertical, _ = PRINTED[row]
    for power in (0.0, 0.25, 1.0, 2.0, 2.5):
        assert tolerance.horizontal_limit(limits=limits(row), power_d=sign * power) == pytest.approx(horizontal)
        assert tolerance.vertical_limit(limits=limits(row), power_d=sign * power) == pytest.approx(vertical)


@rows
@pytest.mark.parametrize("sign", [1, -1])
def test_strong_lenses_are_judged_by_millimetres(row: tuple[str, str], sign: int) -> None:
    horizontal_mm, vertical_mm = PAIR_MM[row]
    for power in (6.0, 8.0, 12.0, 20.0):
        made = {"limits": limits(row), "power_d": sign * power}
        assert tolerance.horizontal_limit(**made) == pytest.approx(horizontal_mm * power / 10, abs=1e-12)
        assert tolerance.vertical_limit(**made) == pytest.approx(vertical_mm * power / 10, abs=1e-12)


@rows
@steady
@given(power=st.floats(-25, 25))
def test_either_criterion_passes_so_the_limit_is_the_larger(row: tuple[str, str], power: float) -> None:
    horizontal, _, vertical, _ = PRINTED[row]
    horizontal_mm, vertical_mm = PAIR_MM[row]
    made = {"limits": limits(row), "power_d": power}
    assert tolerance.horizontal_limit(**made) == pytest.approx(max(horizontal, horizontal_mm * abs(power) / 10))
    assert tolerance.vertical_limit(**made) == pytest.approx(max(vertical, vertical_mm * abs(power) / 10))


@rows
def test_the_two_criteria_meet_near_the_switch_so_that_no_lens_jumps_between_them(row: tuple[str, str]) -> None:
    # standards.md 1.2 and 2.6, continuity check: 0.69 and 0.34, 0.65 and 0.50, within 0.08 of the prism limit.
    horizontal, horizontal_switch, vertical, vertical_switch = PRINTED[row]
    for function, switch, limit in (
        (tolerance.horizontal_limit, horizontal_switch, horizontal),
        (tolerance.vertical_limit, vertical_switch, vertical),
    ):
        below, at, above = (
            function(limits=limits(row), power_d=power)
            for power in (math.nextafter(switch, 0), switch, math.nextafter(switch, 99))
        )
        assert below == pytest.approx(at, abs=1e-9)
        assert above == pytest.approx(at, abs=1e-9)
        assert at == pytest.approx(limit, abs=0.085)


@rows
@steady
@given(first=st.floats(0, 25), second=st.floats(0, 25))
def test_a_stronger_lens_never_has_a_smaller_limit(row: tuple[str, str], first: float, second: float) -> None:
    weaker, stronger = sorted((first, second))
    for function in (tolerance.horizontal_limit, tolerance.vertical_limit):
        assert function(limits=limits(row), power_d=weaker) <= function(limits=limits(row), power_d=stronger)


def test_a_standard_without_a_table_is_refused_by_name() -> None:
    for standard in ("ansi-z80.1", "", "../sources", "iso-21987-2009"):
        with pytest.raises(DomainError) as refusal:
            tolerance.mounted_prism_limits(standard=standard, lens="single_vision")
        assert refusal.value.argument == "standard"


def test_a_lens_that_is_neither_single_vision_nor_progressive_is_refused_by_name() -> None:
    word: Any = "bifocal"
    with pytest.raises(DomainError) as refusal:
        tolerance.mounted_prism_limits(standard="ansi-z80.1-2015", lens=word)
    assert refusal.value.argument == "lens"


@pytest.mark.parametrize("lens", LENSES)
def test_what_rests_on_memory_says_so(lens: Any) -> None:
    assert tolerance.mounted_prism_limits(standard="iso-21987-2017", lens=lens).mark == "memory"
    assert tolerance.mounted_prism_limits(standard="ansi-z80.1-2015", lens="single_vision").mark == "read"


@pytest.mark.parametrize("standard", tolerance.standards())
def test_the_slack_is_the_error_at_which_the_limit_is_reached(standard: str) -> None:
    limits = tolerance.mounted_prism_limits(standard=standard, lens="single_vision")
    for power in (0.25, -0.5, 2.0, -3.25, 6.0, -12.0):
        # An error of the slack makes just the prism that the standard allows at this power (p = F d / 10).
        slack = tolerance.horizontal_slack(limits=limits, power_d=power)
        assert slack * abs(power) / 10 == pytest.approx(tolerance.horizontal_limit(limits=limits, power_d=power))
        slack = tolerance.vertical_slack(limits=limits, power_d=power)
        assert slack * abs(power) / 10 == pytest.approx(tolerance.vertical_limit(limits=limits, power_d=power))


def test_a_strong_pair_forgives_little_and_a_weak_one_almost_anything() -> None:
    # ANSI Z80.1-2015: 0.67 pd or 2.5 mm, so -6.00 D forgives 2.5 mm and -0.50 D forgives 10 x 0.67 / 0.5 = 13.4 mm.
    limits = tolerance.mounted_prism_limits(standard="ansi-z80.1-2015", lens="single_vision")
    assert tolerance.horizontal_slack(limits=limits, power_d=-6.0) == 2.5
    assert tolerance.horizontal_slack(limits=limits, power_d=-0.5) == pytest.approx(13.4)
    assert tolerance.horizontal_slack(limits=limits, power_d=0.0) == math.inf
