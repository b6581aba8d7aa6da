"""Vertex distance against fifty-digit arithmetic and against its own inverse."""

from typing import Any

import mpmath
import pytest
from core_strategies import axes, lens, powers, steady
from hypothesis import assume, given
from hypothesis import strategies as st

from optics_core.errors import DomainError
from optics_core.sphero_cylinder import principal_powers
from optics_core.vergence import effective_power, vertex_changed

Lens = dict[str, Any]

vertices = st.floats(0, 25)
shifts = st.floats(-0.025, 0.025)
# Two powers a face can wear, from contact lens to trial frame: no principal power reaches its focus within 25 mm.
worn_lenses = lens(powers, st.one_of(st.floats(-8, -0.01), st.floats(0.01, 8)), axes)


def precise_power(power_d: float, shift_m: Any) -> mpmath.mpf:
    with mpmath.workdps(50):
        return mpmath.mpf(power_d) / (1 - mpmath.mpf(shift_m) * mpmath.mpf(power_d))


@steady
@given(st.floats(-35, 35), shifts)
def test_effective_power_equals_fifty_digit_arithmetic(power: float, shift: float) -> None:
    precise = precise_power(power, shift)
    assert float(abs(effective_power(power_d=power, shift_m=shift) - precise)) <= 1e-13 * (1 + float(abs(precise)))


@steady
@given(powers, shifts)
def test_a_lens_moved_and_moved_back_has_its_own_power(power: float, shift: float) -> None:
    there = effective_power(power_d=power, shift_m=shift)
    assert effective_power(power_d=there, shift_m=-shift) == pytest.approx(power, abs=1e-9)


@steady
@given(st.floats(0.25, 20), st.floats(0.001, 0.02))
def test_moved_towards_the_eye_plus_must_be_stronger_and_minus_weaker(power: float, shift: float) -> None:
    assert effective_power(power_d=power, shift_m=shift) > power
    assert abs(effective_power(power_d=-power, shift_m=shift)) < power
    assert effective_power(power_d=power, shift_m=-shift) < power
    assert abs(effective_power(power_d=-power, shift_m=-shift)) > power


@steady
@given(worn_lenses, vertices, vertices)
def test_each_principal_meridian_changes_by_itself_and_the_axis_stays(
    worn: Lens, refracted: float, other: float
) -> None:
    changed = vertex_changed(**worn, refracted_mm=refracted, worn_mm=other)
    with mpmath.workdps(50):
        shift = (mpmath.mpf(refracted) - mpmath.mpf(other)) / 1000
        sphere = precise_power(worn["sphere_d"], shift)
        across = precise_power(worn["sphere_d"] + worn["cylinder_d"], shift)
    assert changed.sphere_d == pytest.approx(float(sphere), abs=1e-11)
    assert changed.sphere_d + changed.cylinder_d == pytest.approx(float(across), abs=1e-11)
    assert changed.axis_deg == worn["axis_deg"]
    assert (changed.cylinder_d > 0) == (worn["cylinder_d"] > 0)


@steady
@given(worn_lenses, vertices, vertices)
def test_a_vertex_change_undone_gives_the_lens_back(worn: Lens, refracted: float, other: float) -> None:
    there = vertex_changed(**worn, refracted_mm=refracted, worn_mm=other)
    back = vertex_changed(
        sphere_d=there.sphere_d,
        cylinder_d=there.cylinder_d,
        axis_deg=there.axis_deg,
        refracted_mm=other,
        worn_mm=refracted,
    )
    assert (back.sphere_d, back.cylinder_d) == pytest.approx((worn["sphere_d"], worn["cylinder_d"]), abs=1e-9)
    assert back.axis_deg == worn["axis_deg"]


@steady
@given(worn_lenses, vertices)
def test_the_same_vertex_changes_nothing(worn: Lens, vertex: float) -> None:
    same = vertex_changed(**worn, refracted_mm=vertex, worn_mm=vertex)
    assert same.sphere_d == worn["sphere_d"]
    assert same.cylinder_d == pytest.approx(worn["cylinder_d"], abs=1e-14)


@steady
@given(worn_lenses, vertices, vertices)
def test_the_form_a_lens_is_written_in_does_not_change_its_vertex_change(
    worn: Lens, refracted: float, other: float
) -> None:
    (_, along), (other_axis, across) = principal_powers(**worn)
    written_otherwise = {"sphere_d": across, "cylinder_d": along - across, "axis_deg": other_axis}
    first = vertex_changed(**worn, refracted_mm=refracted, worn_mm=other)
    second = vertex_changed(**written_otherwise, refracted_mm=refracted, worn_mm=other)
    assert second.sphere_d + second.cylinder_d == pytest.approx(first.sphere_d, abs=1e-10)
    assert second.sphere_d == pytest.approx(first.sphere_d + first.cylinder_d, abs=1e-10)


@steady
@given(st.floats(20, 60), st.floats(0, 0.02))
def test_a_lens_that_reaches_its_own_focus_is_refused(power: float, beyond: float) -> None:
    shift = 1 / power + beyond
    assume(1 - shift * power <= 0)
    with pytest.raises(DomainError):
        effective_power(power_d=power, shift_m=shift)


def test_a_sphere_stays_a_sphere_without_an_axis() -> None:
    changed = vertex_changed(sphere_d=5.0, cylinder_d=0.0, axis_deg=None, refracted_mm=0, worn_mm=20)
    assert (changed.cylinder_d, changed.axis_deg) == (0.0, None)


def test_a_cylinder_without_an_axis_is_refused() -> None:
    with pytest.raises(DomainError) as refusal:
        vertex_changed(sphere_d=5.0, cylinder_d=-1.0, axis_deg=None, refracted_mm=12, worn_mm=14)
    assert refusal.value.argument == "axis_deg"
