"""Near work against plain geometry: lines through two points, one ray through a thin lens."""

import math
from typing import Any

import numpy as np
import pytest
from core_strategies import lenses, steady, toric_lenses
from hypothesis import given
from hypothesis import strategies as st

from optics_core.errors import DomainError
from optics_core.near import (
    accommodation_asked,
    expected_add,
    farthest_clear_mm,
    intermediate_power,
    near_inset,
    near_pd,
    near_pd_through_lens,
    reading_power,
    ruled_inset,
    segment_inset,
)
from optics_core.power_vectors import power_vector
from optics_core.sphero_cylinder import normal_axis, power_in_meridian, transposed

Lens = dict[str, Any]

halves_of_pd = st.floats(22, 40)
working = st.floats(200, 1000)
stops = st.floats(20, 35)
adds = st.integers(0, 16).map(lambda steps: steps / 4)


@steady
@given(halves_of_pd, working, stops)
def test_the_near_pd_is_where_a_straight_line_to_the_near_point_meets_the_lens(
    half: float, distance: float, stop: float
) -> None:
    # From the centre of rotation (half, -stop) to the near point (0, distance), cut at the lens.
    share = stop / (stop + distance)
    assert near_pd(pd_mm=half, working_mm=distance, rotation_centre_mm=stop) == pytest.approx(
        half + share * (0 - half), abs=1e-12
    )


@steady
@given(halves_of_pd, working, stops, st.floats(-15, 10))
def test_the_inset_is_that_of_a_ray_bent_by_a_thin_lens_on_its_way_to_the_centre_of_rotation(
    half: float, distance: float, stop: float, power: float
) -> None:
    inset = near_inset(pd_mm=half, working_mm=distance, power_d=power, rotation_centre_mm=stop)
    # From the near point on the middle line to the lens, centred for distance: slopes outwards.
    at_lens = half - inset
    slope = at_lens / distance
    bent = slope + power / 1000 * inset  # a plus lens bends towards its centre, which lies outwards
    assert at_lens + stop * bent == pytest.approx(half, abs=1e-9)


@steady
@given(halves_of_pd, working, st.floats(0.25, 10))
def test_plus_lenses_ask_for_more_inset_and_minus_for_less(half: float, distance: float, power: float) -> None:
    plain = near_inset(pd_mm=half, working_mm=distance, power_d=0.0)
    assert near_inset(pd_mm=half, working_mm=distance, power_d=power) > plain
    assert near_inset(pd_mm=half, working_mm=distance, power_d=-power) < plain


@steady
@given(halves_of_pd, working, stops, st.floats(-15, 10))
def test_near_pd_and_inset_make_up_the_pd_and_do_so_for_both_eyes_together(
    half: float, distance: float, stop: float, power: float
) -> None:
    place = {"working_mm": distance, "rotation_centre_mm": stop}
    near = near_pd_through_lens(pd_mm=half, **place, power_d=power)
    assert near + near_inset(pd_mm=half, **place, power_d=power) == pytest.approx(half, abs=1e-12)
    both = near_pd_through_lens(pd_mm=2 * half, **place, power_d=power)
    assert both == pytest.approx(2 * near, abs=1e-12)
    assert segment_inset(pd_mm=2 * half, near_pd_mm=both) == pytest.approx(half - near, abs=1e-12)
    plain = near_pd_through_lens(pd_mm=half, **place, power_d=0.0)
    assert plain == pytest.approx(near_pd(pd_mm=half, **place), abs=1e-12)


@pytest.mark.parametrize("distance", [330.0, 400.0, 500.0])
def test_the_three_quarter_rule_is_near_the_geometry_for_a_usual_pd(distance: float) -> None:
    # formulas.md, row t7-threequarter: PD 63 at 40 cm, 59.25 by the rule and 59.02 by geometry.
    inset = near_inset(pd_mm=31.5, working_mm=distance, power_d=0.0)
    assert ruled_inset(working_mm=distance) == pytest.approx(inset, abs=0.15)


@steady
@given(lenses, adds, st.floats(0, 1))
def test_an_add_is_the_same_in_every_meridian_and_leaves_the_cylinder_alone(
    worn: Lens, add: float, share: float
) -> None:
    reading = reading_power(**worn, add_d=add)
    between = intermediate_power(**worn, add_d=add, share=share)
    for meridian in (0.0, 35.0, 90.0, 160.0):
        far = power_in_meridian(**worn, meridian_deg=meridian)
        for found, more in ((reading, add), (between, add * share)):
            power = power_in_meridian(
                sphere_d=found.sphere_d, cylinder_d=found.cylinder_d, axis_deg=found.axis_deg, meridian_deg=meridian
            )
            assert power == pytest.approx(far + more, abs=1e-11)
    assert reading.cylinder_d == between.cylinder_d == worn["cylinder_d"]


@steady
@given(toric_lenses, adds)
def test_the_add_is_the_same_in_both_forms_of_the_cylinder(worn: Lens, add: float) -> None:
    other = transposed(**worn)
    first = reading_power(**worn, add_d=add)
    second = reading_power(sphere_d=other.sphere_d, cylinder_d=other.cylinder_d, axis_deg=other.axis_deg, add_d=add)
    vectors = [
        power_vector(sphere_d=found.sphere_d, cylinder_d=found.cylinder_d, axis_deg=found.axis_deg)
        for found in (first, second)
    ]
    assert (vectors[1].m_d, vectors[1].j0_d, vectors[1].j45_d) == pytest.approx(
        (vectors[0].m_d, vectors[0].j0_d, vectors[0].j45_d), abs=1e-11
    )
    assert (first.cylinder_d > 0) != (second.cylinder_d > 0)


@steady
@given(lenses)
def test_no_add_leaves_the_lens_as_written_to_the_last_digit(worn: Lens) -> None:
    axis = None if worn["axis_deg"] is None else normal_axis(axis_deg=worn["axis_deg"])
    for found in (
        reading_power(**worn, add_d=0.0),
        intermediate_power(**worn, add_d=0.0),
        intermediate_power(**worn, add_d=2.5, share=0.0),
    ):
        assert (found.sphere_d, found.cylinder_d, found.axis_deg) == (worn["sphere_d"], worn["cylinder_d"], axis)
    assert intermediate_power(**worn, add_d=2.5, share=1.0) == reading_power(**worn, add_d=2.5)


@steady
@given(st.floats(0.25, 4), working)
def test_an_add_too_strong_for_a_distance_is_one_that_sees_clearly_only_nearer(add: float, distance: float) -> None:
    asked = accommodation_asked(add_d=add, working_mm=distance)
    assert (asked < 0) == (farthest_clear_mm(add_d=add) < distance) or math.isclose(asked, 0, abs_tol=1e-12)
    assert accommodation_asked(add_d=add, working_mm=farthest_clear_mm(add_d=add)) == pytest.approx(0, abs=1e-12)


def test_an_add_of_2_50_focuses_40_cm_with_no_accommodation() -> None:
    # formulas.md, section 7, working distance check.
    assert farthest_clear_mm(add_d=2.5) == 400.0
    assert accommodation_asked(add_d=2.5, working_mm=400.0) == 0.0
    assert accommodation_asked(add_d=3.0, working_mm=400.0) == -0.5


@steady
@given(working, st.floats(0, 12))
def test_the_expected_add_leaves_half_the_amplitude_in_use_or_is_none(distance: float, amplitude: float) -> None:
    add = expected_add(working_mm=distance, amplitude_d=amplitude)
    assert add >= 0
    used = accommodation_asked(add_d=add, working_mm=distance)
    assert used == pytest.approx(min(amplitude / 2, 1000 / distance), abs=1e-12)


def test_a_whole_column_is_answered_at_once() -> None:
    halves = np.array([28.0, 31.5, 34.0])
    insets = near_inset(pd_mm=halves, working_mm=np.array([350.0, 400.0, 450.0]), power_d=np.array([-4.0, 0.0, 3.0]))
    assert np.shape(insets) == (3,)
    assert insets[1] == near_inset(pd_mm=31.5, working_mm=400.0, power_d=0.0)


@pytest.mark.parametrize(
    ("refused", "argument"),
    [
        (lambda: near_pd(pd_mm=0.0, working_mm=400.0), "pd_mm"),
        (lambda: near_pd(pd_mm=63.0, working_mm=0.0), "working_mm"),
        (lambda: near_pd(pd_mm=63.0, working_mm=400.0, rotation_centre_mm=0.0), "rotation_centre_mm"),
        (lambda: near_inset(pd_mm=31.5, working_mm=400.0, power_d=39.6), "power_d"),
        (lambda: ruled_inset(working_mm=-1.0), "working_mm"),
        (lambda: segment_inset(pd_mm=63.0, near_pd_mm=0.0), "near_pd_mm"),
        (lambda: segment_inset(pd_mm=-63.0, near_pd_mm=59.0), "pd_mm"),
        (lambda: reading_power(sphere_d=1.0, cylinder_d=0.0, axis_deg=None, add_d=-0.25), "add_d"),
        (lambda: reading_power(sphere_d=1.0, cylinder_d=1.0, axis_deg=None, add_d=1.0), "axis_deg"),
        (lambda: intermediate_power(sphere_d=1.0, cylinder_d=0.0, axis_deg=None, add_d=2.0, share=1.1), "share"),
        (lambda: accommodation_asked(add_d=2.0, working_mm=0.0), "working_mm"),
        (lambda: farthest_clear_mm(add_d=0.0), "add_d"),
        (lambda: expected_add(working_mm=400.0, amplitude_d=-1.0), "amplitude_d"),
    ],
)
def test_near_work_out_of_range_is_refused_by_name(refused: Any, argument: str) -> None:
    with pytest.raises(DomainError) as refusal:
        refused()
    assert refusal.value.argument == argument
