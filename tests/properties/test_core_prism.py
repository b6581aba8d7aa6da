"""Prism: linear, mirrored as lenses mirror, and equal to the printed formulas of another author."""

import math
from typing import Any

import numpy as np
import pytest
from core_strategies import EYES, angles, distances, lenses, steady, toric_lenses
from hypothesis import assume, given
from hypothesis import strategies as st

from optics_core.errors import DomainError
from optics_core.prism import (
    Prism,
    amount_and_base,
    base_angle,
    combined,
    decentration_for_prism,
    inward,
    pair_imbalance,
    prism_from_base,
    prism_from_decentration,
    shared_between_eyes,
    vertical_imbalance,
)
from optics_core.sphero_cylinder import (
    lens_forms,
    minus_cylinder,
    plus_cylinder,
    power_in_meridian,
    power_matrix,
    power_vector,
    principal_powers,
    transposed,
)

Lens = dict[str, Any]
Point = tuple[float, float]

points = st.tuples(distances, distances)
amounts = st.floats(0, 20)
prisms = st.builds(Prism, st.floats(-10, 10), st.floats(-10, 10))


def pair(prism: Prism) -> Point:
    return (prism.x_pd, prism.y_pd)


def made_by(lens: Lens, point: Point) -> Point:
    return pair(prism_from_decentration(**lens, x_mm=point[0], y_mm=point[1]))


@steady
@given(lenses, points)
def test_prism_is_the_power_matrix_times_the_displacement_in_centimetres(lens: Lens, point: Point) -> None:
    matrix = power_matrix(**lens)
    full = np.array([[matrix.xx_d, matrix.xy_d], [matrix.xy_d, matrix.yy_d]])
    assert made_by(lens, point) == pytest.approx(tuple(full @ np.array(point) / 10), abs=1e-12)


@steady
@given(lenses, points)
def test_prism_equals_the_formulas_jalie_prints(lens: Lens, point: Point) -> None:
    # Lens Talk, Nov-Dec 2024: x out, y up = decentration of the optical centre, t the axis of a right lens;
    # P_V = y S + C cos t (x sin t + y cos t), P_H = x S + C sin t (x sin t + y cos t); positive up, out.
    sphere, cylinder, turn = lens["sphere_d"], lens["cylinder_d"], math.radians(lens["axis_deg"] or 0)
    out, up = -point[0] / 10, point[1] / 10
    along = out * math.sin(turn) + up * math.cos(turn)
    vertical = up * sphere + cylinder * math.cos(turn) * along
    horizontal_out = out * sphere + cylinder * math.sin(turn) * along
    assert made_by(lens, point) == pytest.approx((-horizontal_out, vertical), abs=1e-11)


@steady
@given(lenses, points, points, st.floats(-3, 3))
def test_prism_is_linear_in_the_displacement(lens: Lens, first: Point, second: Point, times: float) -> None:
    one, two = made_by(lens, first), made_by(lens, second)
    both = made_by(lens, (first[0] + times * second[0], first[1] + times * second[1]))
    assert both == pytest.approx((one[0] + times * two[0], one[1] + times * two[1]), abs=1e-10)


@steady
@given(toric_lenses, points)
def test_transposed_lenses_make_the_same_prism(lens: Lens, point: Point) -> None:
    other = transposed(**lens)
    written = {"sphere_d": other.sphere_d, "cylinder_d": other.cylinder_d, "axis_deg": other.axis_deg}
    assert made_by(written, point) == pytest.approx(made_by(lens, point), abs=1e-11)


@steady
@given(toric_lenses, points)
def test_a_mirrored_lens_makes_the_mirrored_prism(lens: Lens, point: Point) -> None:
    mirrored = lens | {"axis_deg": 180 - lens["axis_deg"]}
    x_pd, y_pd = made_by(lens, point)
    assert made_by(mirrored, (-point[0], point[1])) == pytest.approx((-x_pd, y_pd), abs=1e-11)


@steady
@given(lenses, st.floats(0.5, 15), angles)
def test_the_part_of_the_prism_along_the_displacement_is_the_power_of_that_meridian(
    lens: Lens, distance: float, direction: float
) -> None:
    # Trap: only this part is meridian power times distance; an oblique cylinder adds a part across.
    unit = (math.cos(math.radians(direction)), math.sin(math.radians(direction)))
    x_pd, y_pd = made_by(lens, (distance * unit[0], distance * unit[1]))
    power = power_in_meridian(**lens, meridian_deg=direction)
    assert x_pd * unit[0] + y_pd * unit[1] == pytest.approx(power * distance / 10, abs=1e-10)


@steady
@given(lenses, points)
def test_the_decentration_for_a_prism_makes_that_prism(lens: Lens, wanted: Point) -> None:
    principal = (lens["sphere_d"], lens["sphere_d"] + lens["cylinder_d"])
    assume(min(abs(power) for power in principal) > 0.05)
    found = decentration_for_prism(**lens, x_pd=wanted[0], y_pd=wanted[1])
    assert made_by(lens, found) == pytest.approx(wanted, abs=1e-9)


@steady
@given(lenses, points)
def test_the_decentration_for_the_prism_of_a_decentration_is_that_decentration(lens: Lens, point: Point) -> None:
    principal = (lens["sphere_d"], lens["sphere_d"] + lens["cylinder_d"])
    assume(min(abs(power) for power in principal) > 0.05)
    x_pd, y_pd = made_by(lens, point)
    assert decentration_for_prism(**lens, x_pd=x_pd, y_pd=y_pd) == pytest.approx(point, abs=1e-8)


@pytest.mark.parametrize(
    ("sphere", "cylinder", "axis"),
    [(0.0, 0.0, None), (0.0, -2.0, 30), (2.0, -2.0, 75), (-1.25, 1.25, 180), (0.0, 1.0, 90), (0.1, -0.1, 17)],
)
def test_a_lens_with_a_plano_meridian_cannot_make_every_prism_and_is_refused(
    sphere: float, cylinder: float, axis: float | None
) -> None:
    with pytest.raises(DomainError):
        decentration_for_prism(sphere_d=sphere, cylinder_d=cylinder, axis_deg=axis, x_pd=1.0, y_pd=0.5)


def test_the_four_bases_follow_the_angles_of_iso_8429_and_mirror_in_the_other_eye() -> None:
    # standards.md section 3: base 0 is in for the right eye and out for the left; 90 up, 270 down for both.
    right = {base: base_angle(eye="right", base=base) for base in ("in", "up", "out", "down")}
    left = {base: base_angle(eye="left", base=base) for base in ("in", "up", "out", "down")}
    assert right == {"in": 0, "up": 90, "out": 180, "down": 270}
    assert left == {"in": 180, "up": 90, "out": 0, "down": 270}


@steady
@given(st.floats(0.01, 20), st.floats(0, 360, exclude_max=True))
def test_amount_and_base_come_back_from_the_components(amount: float, base: float) -> None:
    prism = prism_from_base(amount_pd=amount, base_deg=base)
    back_amount, back_base = amount_and_base(x_pd=prism.x_pd, y_pd=prism.y_pd)
    assert back_amount == pytest.approx(amount, abs=1e-12)
    apart = abs(back_base - base) % 360
    assert min(apart, 360 - apart) < 1e-9
    assert 0 <= back_base < 360


@steady
@given(st.floats(-10, 10), st.floats(-1e-13, 1e-13))
def test_a_base_angle_never_reaches_360(x: float, y: float) -> None:
    _, base = amount_and_base(x_pd=x, y_pd=y)
    assert 0 <= base < 360


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("base", ["in", "out", "up", "down"])
def test_a_whole_prism_lies_exactly_on_its_axis(eye: str, base: str) -> None:
    # No float noise: 2 up is not also 1e-16 in.
    prism = prism_from_base(amount_pd=2.0, base_deg=base_angle(eye=eye, base=base))
    assert sorted((abs(prism.x_pd), abs(prism.y_pd))) == [0.0, 2.0]


@steady
@given(st.lists(prisms, min_size=1, max_size=6))
def test_combined_prisms_add_by_components_in_any_order(parts: list[Prism]) -> None:
    total = pair(combined(parts))
    assert total == pytest.approx((sum(p.x_pd for p in parts), sum(p.y_pd for p in parts)), abs=1e-12)
    assert pair(combined(reversed(parts))) == pytest.approx(total, abs=1e-12)


def test_no_prisms_combine_to_none() -> None:
    assert pair(combined([])) == (0.0, 0.0)


def test_inward_is_towards_the_nose_of_each_eye_and_its_own_inverse() -> None:
    assert [inward(eye="right", x=3.0), inward(eye="left", x=3.0)] == [3.0, -3.0]
    for eye in EYES:
        assert inward(eye=eye, x=inward(eye=eye, x=1.25)) == 1.25
        assert inward(eye=eye, x=prism_from_base(amount_pd=1.0, base_deg=base_angle(eye=eye, base="in")).x_pd) == 1.0


@steady
@given(amounts, amounts)
def test_base_in_adds_over_the_eyes_and_base_up_cancels(first: float, second: float) -> None:
    def based(eye: str, amount: float, base: str) -> Prism:
        return prism_from_base(amount_pd=amount, base_deg=base_angle(eye=eye, base=base))

    def effect(right_base: str, left_base: str) -> Point:
        return pair_imbalance(right=based("right", first, right_base), left=based("left", second, left_base))

    near = {"abs": 1e-12}
    assert effect("in", "in") == pytest.approx((first + second, 0), **near)
    assert effect("out", "out") == pytest.approx((-first - second, 0), **near)
    assert effect("in", "out") == pytest.approx((first - second, 0), **near)
    assert effect("up", "down") == pytest.approx((0, first + second), **near)
    assert effect("up", "up") == pytest.approx((0, first - second), **near)
    assert effect("down", "up") == pytest.approx((0, -first - second), **near)


@steady
@given(prisms, prisms, st.floats(0, 1))
def test_sharing_between_the_eyes_keeps_the_effect_on_the_pair(right: Prism, left: Prism, share: float) -> None:
    shared_right, shared_left = shared_between_eyes(right=right, left=left, right_share=share)
    total = pair_imbalance(right=right, left=left)
    assert pair_imbalance(right=shared_right, left=shared_left) == pytest.approx(total, abs=1e-11)
    assert inward(eye="right", x=shared_right.x_pd) == pytest.approx(share * total[0], abs=1e-11)
    assert shared_right.y_pd == pytest.approx(share * total[1], abs=1e-11)


def test_5_up_right_and_1_down_left_is_3_up_right_and_3_down_left() -> None:
    right, left = shared_between_eyes(right=Prism(0.0, 5.0), left=Prism(0.0, -1.0))
    assert (pair(right), pair(left)) == (pytest.approx((0, 3)), pytest.approx((0, -3)))


@steady
@given(lenses, lenses, st.floats(-4, 4), st.floats(-4, 4))
def test_a_pd_error_gives_the_pair_the_sum_of_both_eyes_errors(
    right: Lens, left: Lens, right_in: float, left_in: float
) -> None:
    # Oblique cylinders give a vertical part from a horizontal error; it must not be lost.
    made = {
        eye: prism_from_decentration(**lens, x_mm=inward(eye=eye, x=error), y_mm=0.0)
        for eye, lens, error in (("right", right, right_in), ("left", left, left_in))
    }
    horizontal, vertical = pair_imbalance(right=made["right"], left=made["left"])
    power = {eye: power_in_meridian(**lens, meridian_deg=180) for eye, lens in (("right", right), ("left", left))}
    assert horizontal == pytest.approx((power["right"] * right_in + power["left"] * left_in) / 10, abs=1e-10)
    across = power_matrix(**right).xy_d * right_in + power_matrix(**left).xy_d * left_in
    assert vertical == pytest.approx(across / 10, abs=1e-10)


@steady
@given(lenses, lenses, st.floats(0, 20))
def test_vertical_imbalance_is_that_of_two_prisms_and_of_two_meridian_powers(
    right: Lens, left: Lens, level: float
) -> None:
    amount = vertical_imbalance(right=power_vector(**right), left=power_vector(**left), level_mm=level)
    prisms = [prism_from_decentration(**lens, x_mm=0.0, y_mm=level) for lens in (right, left)]
    assert amount == pytest.approx(abs(pair_imbalance(right=prisms[0], left=prisms[1])[1]), abs=1e-9)
    upright = [power_in_meridian(**lens, meridian_deg=90.0) for lens in (right, left)]
    assert amount == pytest.approx(abs(upright[0] - upright[1]) * level / 10, abs=1e-9)


@steady
@given(lenses)
def test_the_forms_of_a_lens_at_once_are_those_one_by_one(lens: Lens) -> None:
    forms = lens_forms(**lens)
    assert forms.minus == minus_cylinder(**lens)
    assert forms.plus == plus_cylinder(**lens)
    assert forms.vector == power_vector(**lens)
    assert forms.meridians == principal_powers(**lens)
