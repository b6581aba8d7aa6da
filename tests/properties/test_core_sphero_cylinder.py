"""Claims about sphero-cylinders that hold for every lens, by a second route each: matrices, eigenvalues, geometry."""

import math
from typing import Any

import numpy as np
import pytest
from core_strategies import angles, axes, cylinders, lenses, powers, quarter_lenses, spheres, steady, toric_lenses
from hypothesis import given
from hypothesis import strategies as st

from optics_core.errors import DomainError
from optics_core.power_vectors import widest_difference
from optics_core.sphero_cylinder import (
    SpheroCylinder,
    crossed_sum,
    from_power_vector,
    minus_cylinder,
    normal_axis,
    plus_cylinder,
    power_in_meridian,
    power_matrix,
    power_vector,
    principal_powers,
    spherical_equivalent,
    transposed,
)

Lens = dict[str, Any]


def keywords(lens: SpheroCylinder) -> Lens:
    return {"sphere_d": lens.sphere_d, "cylinder_d": lens.cylinder_d, "axis_deg": lens.axis_deg}


def matrix_of(lens: Lens) -> np.ndarray:
    """The power matrix built as geometry: turn the two principal powers from the axis's frame into x and y."""
    if lens["axis_deg"] is None:
        return lens["sphere_d"] * np.eye(2)
    turn = math.radians(lens["axis_deg"])
    rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    return rotation @ np.diag([lens["sphere_d"], lens["sphere_d"] + lens["cylinder_d"]]) @ rotation.T


def core_matrix(lens: Lens) -> np.ndarray:
    matrix = power_matrix(**lens)
    return np.array([[matrix.xx_d, matrix.xy_d], [matrix.xy_d, matrix.yy_d]])


def axis_distance(first: float, second: float) -> float:
    """Between two axes, where 180 lies next to 0."""
    apart = abs(first - second) % 180
    return min(apart, 180 - apart)


@steady
@given(quarter_lenses)
def test_transposing_twice_gives_the_same_quarters_bit_for_bit(lens: Lens) -> None:
    other = keywords(transposed(**lens))
    assert keywords(transposed(**other)) == lens


@steady
@given(quarter_lenses)
def test_transposing_quarters_makes_exact_quarters_and_an_axis_from_1_to_180(lens: Lens) -> None:
    other = transposed(**lens)
    assert other.sphere_d == lens["sphere_d"] + lens["cylinder_d"]
    assert other.cylinder_d == -lens["cylinder_d"]
    assert (other.sphere_d * 4).is_integer()
    assert (other.cylinder_d * 4).is_integer()
    assert other.axis_deg == (lens["axis_deg"] + 90 if lens["axis_deg"] <= 90 else lens["axis_deg"] - 90)
    assert 1 <= other.axis_deg <= 180


@steady
@given(toric_lenses)
def test_transposing_twice_gives_any_lens_back(lens: Lens) -> None:
    back = transposed(**keywords(transposed(**lens)))
    assert back.sphere_d == pytest.approx(lens["sphere_d"], abs=1e-12)
    assert back.cylinder_d == lens["cylinder_d"]
    assert axis_distance(back.axis_deg, lens["axis_deg"]) < 1e-12


@steady
@given(lenses)
def test_each_form_keeps_its_sign_and_is_the_same_lens(lens: Lens) -> None:
    minus, plus = minus_cylinder(**lens), plus_cylinder(**lens)
    assert minus.cylinder_d <= 0 <= plus.cylinder_d
    for form in (minus, plus):
        np.testing.assert_allclose(matrix_of(keywords(form)), matrix_of(lens), atol=1e-11)
        assert form.axis_deg is None or 0 < form.axis_deg <= 180


@steady
@given(spheres)
def test_a_sphere_has_one_form_and_no_axis(lens: Lens) -> None:
    for form in (minus_cylinder(**lens), plus_cylinder(**lens), transposed(**lens)):
        assert keywords(form) == lens


@steady
@given(toric_lenses, angles)
def test_nothing_about_a_lens_depends_on_the_form_it_is_written_in(lens: Lens, meridian: float) -> None:
    other = keywords(transposed(**lens))
    first, second = ({name: value for name, value in form.items() if name != "axis_deg"} for form in (lens, other))
    assert spherical_equivalent(**first) == pytest.approx(spherical_equivalent(**second), abs=1e-12)
    assert power_in_meridian(**lens, meridian_deg=meridian) == pytest.approx(
        power_in_meridian(**other, meridian_deg=meridian), abs=1e-11
    )
    np.testing.assert_allclose(core_matrix(lens), core_matrix(other), atol=1e-11)
    here, there = power_vector(**lens), power_vector(**other)
    assert (here.m_d, here.j0_d, here.j45_d) == pytest.approx((there.m_d, there.j0_d, there.j45_d), abs=1e-11)


@steady
@given(lenses)
def test_the_power_matrix_is_the_lens_turned_from_its_own_axis(lens: Lens) -> None:
    np.testing.assert_allclose(core_matrix(lens), matrix_of(lens), atol=1e-12)


@steady
@given(toric_lenses)
def test_the_eigenvalues_of_the_power_matrix_are_the_principal_powers(lens: Lens) -> None:
    values, vectors = np.linalg.eigh(core_matrix(lens))
    principal = principal_powers(**lens)
    assert sorted(power for _, power in principal) == pytest.approx(list(values), abs=1e-11)
    for axis, power in principal:
        index = int(np.argmin(np.abs(values - power)))
        direction = math.degrees(math.atan2(vectors[1, index], vectors[0, index]))
        assert axis_distance(direction, axis) < 1e-6 / abs(lens["cylinder_d"])


@steady
@given(toric_lenses)
def test_the_first_principal_power_is_the_sphere_and_the_second_stands_square_to_it(lens: Lens) -> None:
    (first_axis, first_power), (second_axis, second_power) = principal_powers(**lens)
    assert first_power == lens["sphere_d"]
    assert second_power == pytest.approx(lens["sphere_d"] + lens["cylinder_d"], abs=1e-12)
    assert axis_distance(first_axis, lens["axis_deg"]) < 1e-12
    assert axis_distance(second_axis, first_axis) == pytest.approx(90)
    assert 0 < second_axis <= 180


@steady
@given(lenses, angles)
def test_the_power_in_a_meridian_is_the_quadratic_form_of_the_matrix(lens: Lens, meridian: float) -> None:
    direction = np.array([math.cos(math.radians(meridian)), math.sin(math.radians(meridian))])
    assert power_in_meridian(**lens, meridian_deg=meridian) == pytest.approx(
        direction @ matrix_of(lens) @ direction, abs=1e-11
    )


@steady
@given(toric_lenses)
def test_a_power_vector_goes_back_to_the_minus_form_of_its_lens(lens: Lens) -> None:
    vector = power_vector(**lens)
    back = from_power_vector(m_d=vector.m_d, j0_d=vector.j0_d, j45_d=vector.j45_d)
    minus = minus_cylinder(**lens)
    assert back.cylinder_d <= 0
    assert (back.sphere_d, back.cylinder_d) == pytest.approx((minus.sphere_d, minus.cylinder_d), abs=1e-11)
    assert axis_distance(back.axis_deg, minus.axis_deg) < 1e-10 / abs(lens["cylinder_d"])
    assert 0 < back.axis_deg <= 180


@steady
@given(powers, st.floats(-5, 5), st.floats(-5, 5))
def test_a_lens_goes_back_to_the_power_vector_it_came_from(m: float, j0: float, j45: float) -> None:
    vector = power_vector(**keywords(from_power_vector(m_d=m, j0_d=j0, j45_d=j45)))
    assert (vector.m_d, vector.j0_d, vector.j45_d) == pytest.approx((m, j0, j45), abs=1e-11)


@steady
@given(lenses)
def test_the_power_vector_and_the_power_matrix_are_the_same_numbers(lens: Lens) -> None:
    vector, matrix = power_vector(**lens), core_matrix(lens)
    assert matrix[0, 0] == pytest.approx(vector.m_d + vector.j0_d, abs=1e-12)
    assert matrix[1, 1] == pytest.approx(vector.m_d - vector.j0_d, abs=1e-12)
    assert matrix[0, 1] == pytest.approx(vector.j45_d, abs=1e-12)


@steady
@given(lenses)
def test_the_power_vector_is_the_first_harmonic_of_the_meridian_profile(lens: Lens) -> None:
    # Thibos, Wheeler & Horner 1997: the power profile is m + j0 cos 2t + j45 sin 2t.
    meridians = np.arange(0, 180, 5.0)
    profile = np.array([power_in_meridian(**lens, meridian_deg=float(meridian)) for meridian in meridians])
    double = np.radians(2 * meridians)
    vector = power_vector(**lens)
    assert vector.m_d == pytest.approx(profile.mean(), abs=1e-11)
    assert vector.j0_d == pytest.approx(2 * (profile * np.cos(double)).mean(), abs=1e-11)
    assert vector.j45_d == pytest.approx(2 * (profile * np.sin(double)).mean(), abs=1e-11)


@steady
@given(st.lists(lenses, min_size=1, max_size=5))
def test_crossed_lenses_add_as_their_matrices_add(parts: list[Lens]) -> None:
    total = crossed_sum(SpheroCylinder(**part) for part in parts)
    assert total.cylinder_d <= 0
    np.testing.assert_allclose(matrix_of(keywords(total)), sum(matrix_of(part) for part in parts), atol=1e-10)


@steady
@given(cylinders, cylinders, axes, axes)
def test_two_crossed_cylinders_make_the_classical_cylinder(
    first: float, second: float, first_axis: float, second_axis: float
) -> None:
    # C^2 = F1^2 + F2^2 + 2 F1 F2 cos 2a, written so that no digits are lost when the two nearly cancel.
    apart = math.radians(second_axis - first_axis)
    cylinder = math.sqrt((first + second) ** 2 - 4 * first * second * math.sin(apart) ** 2)
    total = crossed_sum([SpheroCylinder(0.0, first, first_axis), SpheroCylinder(0.0, second, second_axis)])
    assert -total.cylinder_d == pytest.approx(cylinder, abs=1e-6)
    assert 2 * total.sphere_d + total.cylinder_d == pytest.approx(first + second, abs=1e-11)


@steady
@given(toric_lenses)
def test_a_lens_and_its_opposite_leave_nothing(lens: Lens) -> None:
    opposite = SpheroCylinder(-lens["sphere_d"], -lens["cylinder_d"], lens["axis_deg"])
    total = crossed_sum([SpheroCylinder(**lens), opposite])
    assert (total.sphere_d, total.cylinder_d) == pytest.approx((0.0, 0.0), abs=1e-12)


@steady
@given(st.floats(-1e4, 1e4))
def test_a_normal_axis_lies_above_0_and_up_to_180_and_points_the_same_way(axis: float) -> None:
    normal = normal_axis(axis_deg=axis)
    assert 0 < normal <= 180
    assert axis_distance(normal, axis) < 1e-9


def test_a_zero_axis_is_written_180() -> None:
    assert [normal_axis(axis_deg=axis) for axis in (0, 180, 360, -180, 190, 1, 179.5)] == [
        180, 180, 180, 180, 10, 1, 179.5
    ]  # fmt: skip


@pytest.mark.parametrize(
    "function", [transposed, minus_cylinder, plus_cylinder, principal_powers, power_matrix, power_vector]
)
def test_a_cylinder_without_an_axis_is_refused(function: Any) -> None:
    with pytest.raises(DomainError) as refusal:
        function(sphere_d=-2.0, cylinder_d=-0.75, axis_deg=None)
    assert refusal.value.argument == "axis_deg"


def test_the_power_in_a_meridian_of_a_cylinder_without_an_axis_is_refused() -> None:
    with pytest.raises(DomainError) as refusal:
        power_in_meridian(sphere_d=-2.0, cylinder_d=-0.75, axis_deg=None, meridian_deg=90)
    assert refusal.value.argument == "axis_deg"


@given(lenses, lenses)
def test_two_lenses_differ_most_in_one_meridian_and_by_no_more_in_any(right: Lens, left: Lens) -> None:
    meridian, apart = widest_difference(right=power_vector(**right), left=power_vector(**left))
    assert 0 < meridian <= 180

    def along(at: float) -> float:
        return power_in_meridian(**right, meridian_deg=at) - power_in_meridian(**left, meridian_deg=at)

    assert along(meridian) == pytest.approx(apart, abs=1e-9)
    assert max(abs(along(at)) for at in np.arange(0.0, 180.0, 1.5)) <= abs(apart) + 1e-9
