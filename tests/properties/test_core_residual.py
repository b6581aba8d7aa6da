"""Residuals and repeated readings: power vectors, power matrices and brute force say the same."""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from core_strategies import axes, lenses, steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core.errors import DomainError
from optics_core.power_tolerance import power_comparisons
from optics_core.residual import Residual, mean_power, reading_spread, residual_between, residual_power
from optics_core.sphero_cylinder import SpheroCylinder, transposed

EXAMPLES = json.loads((Path(__file__).parents[1] / "published" / "examples.json").read_text(encoding="utf-8"))
# formulas.md, t1-residual-misaxis-1 to -3: derived there, 2 C sin e.
TURNED = [row for row in EXAMPLES if row["id"].startswith("t1-residual-misaxis-")]

readings = st.lists(lenses.map(lambda written: SpheroCylinder(**written)), min_size=1, max_size=6)


def matrix(lens: SpheroCylinder) -> Any:
    """S I + C n n', n across the axis: formulas.md section 1, power matrix."""
    angle = math.radians((lens.axis_deg or 0.0) + 90.0)
    across = np.array([math.cos(angle), math.sin(angle)])
    return lens.sphere_d * np.eye(2) + lens.cylinder_d * np.outer(across, across)


def crossed(lens: SpheroCylinder) -> SpheroCylinder:
    return transposed(sphere_d=lens.sphere_d, cylinder_d=lens.cylinder_d, axis_deg=lens.axis_deg)


def test_the_published_examples_are_there() -> None:
    assert len(TURNED) == 3


@pytest.mark.parametrize("row", TURNED, ids=lambda row: row["id"])
@pytest.mark.parametrize("axis", [3.0, 45.0, 90.0, 177.0])
def test_a_turned_cylinder_leaves_the_published_crossed_cylinder(row: dict[str, Any], axis: float) -> None:
    cylinder, error = row["inputs"]["cylinder_d"], row["inputs"]["axis_error_deg"]
    found = residual_power(
        ordered=SpheroCylinder(-3.0, cylinder, axis), measured=SpheroCylinder(-3.0, cylinder, axis + error)
    )
    assert abs(found.power.cylinder_d) == pytest.approx(row["expected"]["residual_cylinder_d"], abs=row["tolerance"])
    # A pure crossed cylinder: no mean power, and half the cylinder is its length.
    assert found.power.sphere_d + found.power.cylinder_d / 2 == pytest.approx(0.0, abs=1e-12)
    assert found.length_d == pytest.approx(abs(found.power.cylinder_d) / 2, abs=1e-12)


@steady
@given(ordered=lenses, measured=lenses)
def test_the_residual_is_the_difference_of_the_power_matrices(
    ordered: dict[str, Any], measured: dict[str, Any]
) -> None:
    wanted, got = SpheroCylinder(**ordered), SpheroCylinder(**measured)
    found = residual_power(ordered=wanted, measured=got)
    difference = matrix(wanted) - matrix(got)
    assert np.allclose(matrix(found.power), difference, atol=1e-9)
    low, high = np.linalg.eigvalsh(difference)
    assert found.power.sphere_d == pytest.approx(high, abs=1e-9)
    assert found.power.cylinder_d == pytest.approx(low - high, abs=1e-9)
    # The length of (M, J0, J45) is the matrix's Frobenius norm less a factor of root 2.
    assert found.length_d == pytest.approx(np.linalg.norm(difference) / math.sqrt(2), abs=1e-9)


@steady
@given(ordered=lenses, measured=lenses)
def test_the_form_makes_no_difference_and_the_order_turns_the_sign(
    ordered: dict[str, Any], measured: dict[str, Any]
) -> None:
    wanted, got = SpheroCylinder(**ordered), SpheroCylinder(**measured)
    found = residual_power(ordered=wanted, measured=got)
    assert residual_power(ordered=wanted, measured=wanted).length_d == 0.0
    other = residual_power(ordered=crossed(wanted), measured=crossed(got))
    assert np.allclose(matrix(other.power), matrix(found.power), atol=1e-9)
    back = residual_power(ordered=got, measured=wanted)
    assert np.allclose(matrix(back.power), -matrix(found.power), atol=1e-9)
    assert back.length_d == pytest.approx(found.length_d, abs=1e-9)


def test_two_errors_that_each_pass_may_be_seen_to_oppose_each_other() -> None:
    ordered = SpheroCylinder(-3.0, -1.0, 90.0)
    right, left = SpheroCylinder(-2.88, -1.0, 92.0), SpheroCylinder(-3.12, -1.0, 88.0)
    for measured in (right, left):
        for one in power_comparisons(
            standard="ansi-z80.1-2015", lens="single_vision", ordered=ordered, measured=measured
        ):
            assert one.within
    residuals = [residual_power(ordered=ordered, measured=measured) for measured in (right, left)]
    between = residual_between(right=residuals[0], left=residuals[1])
    # 0.24 D of sphere, and a cylinder of 1.00 turned by 4 degrees between the eyes: 2 sin 4, formulas.md section 1.
    assert between.power.cylinder_d == pytest.approx(-2 * math.sin(math.radians(4)), abs=1e-9)
    assert between.power.sphere_d + between.power.cylinder_d / 2 == pytest.approx(-0.24, abs=1e-9)
    assert between.length_d == pytest.approx(math.hypot(0.24, math.sin(math.radians(4))), abs=1e-9)
    assert residual_between(right=residuals[0], left=residuals[0]) == Residual(SpheroCylinder(0.0, 0.0, None), 0.0)


@steady
@given(lenses=readings)
def test_the_mean_of_readings_is_the_mean_of_their_matrices(lenses: list[SpheroCylinder]) -> None:
    found = mean_power(lenses)
    whole = sum(matrix(lens) for lens in lenses) / len(lenses)
    assert np.allclose(matrix(found), whole, atol=1e-9)
    assert found.cylinder_d <= 0.0
    assert np.allclose(matrix(mean_power(reversed([crossed(lens) for lens in lenses]))), whole, atol=1e-9)


def test_axes_to_either_side_of_180_have_their_mean_there() -> None:
    found = mean_power([SpheroCylinder(-2.0, -1.0, 5.0), SpheroCylinder(-2.0, -1.0, 175.0)])
    assert found.axis_deg is not None
    assert found.axis_deg % 180.0 == pytest.approx(0.0, abs=1e-9)
    # Axes apart take from the cylinder: cos 10 of it is left (double angle 10), and the mean power stays.
    assert found.cylinder_d == pytest.approx(-math.cos(math.radians(10)), abs=1e-12)
    assert found.sphere_d + found.cylinder_d / 2 == pytest.approx(-2.5, abs=1e-12)
    assert mean_power([SpheroCylinder(1.0, -1.0, 0.0), SpheroCylinder(1.0, -1.0, 90.0)]) == SpheroCylinder(
        0.5, 0.0, None
    )


@steady
@given(angles=st.lists(axes, min_size=1, max_size=7), turn=st.floats(0, 180))
def test_the_arc_of_the_axes_is_the_smallest_that_holds_them_all(angles: list[float], turn: float) -> None:
    found = reading_spread([SpheroCylinder(-1.0, -0.5, angle) for angle in angles])
    # Brute force: an arc that is as small as can be begins at one of the axes.
    smallest = min(max((angle - start) % 180.0 for angle in angles) for start in angles)
    assert found.axis_deg is not None
    assert min(abs(found.axis_deg - smallest), abs(found.axis_deg - smallest - 180.0)) < 1e-7
    turned = reading_spread([SpheroCylinder(-1.0, -0.5, angle + turn) for angle in angles])
    assert turned.axis_deg == pytest.approx(found.axis_deg, abs=1e-7)


def test_the_spread_of_powers_is_that_of_the_minus_form() -> None:
    # -2.00 -1.00 x 90 and -3.12 +1.25 x 180, which is -1.87 -1.25 x 90.
    found = reading_spread([SpheroCylinder(-2.0, -1.0, 178.0), SpheroCylinder(-3.12, 1.25, 93.0)])
    assert (found.sphere_d, found.cylinder_d, found.axis_deg) == (0.13, 0.25, 5.0)
    # Principal powers -2.00 and -3.00, -1.87 and -3.12: 0.13 and 0.12 apart.
    assert found.meridian_d == 0.13
    one = reading_spread([SpheroCylinder(-2.0, -1.0, 178.0)])
    assert (one.sphere_d, one.cylinder_d, one.axis_deg) == (0.0, 0.0, 0.0)


@steady
@given(lenses=readings)
def test_the_spread_of_principal_powers_is_that_of_the_eigenvalues(lenses: list[SpheroCylinder]) -> None:
    low, high = np.ptp([np.linalg.eigvalsh(matrix(lens)) for lens in lenses], axis=0)
    assert reading_spread(lenses).sphere_d == pytest.approx(high, abs=1e-8)
    assert reading_spread(lenses).meridian_d == pytest.approx(max(low, high), abs=1e-8)


def test_a_reading_without_cylinder_leaves_no_spread_of_axes() -> None:
    found = reading_spread([SpheroCylinder(-2.0, -0.25, 90.0), SpheroCylinder(-2.12, 0.0, None)])
    assert (found.sphere_d, found.cylinder_d, found.axis_deg) == (0.12, 0.25, None)


def test_no_readings_and_no_lenses_are_refused_by_name() -> None:
    for function in (mean_power, reading_spread):
        with pytest.raises(DomainError) as refusal:
            function([])
        assert refusal.value.argument == "lenses"
    good = SpheroCylinder(-2.0, -1.0, 90.0)
    for bad, argument in (
        (SpheroCylinder(-2.0, -1.0, None), "axis_deg"),
        (SpheroCylinder(-2.0, math.inf, 90.0), "cylinder_d"),
        (SpheroCylinder(np.array([-2.0]), -1.0, 90.0), "sphere_d"),  # type: ignore[arg-type]
    ):
        refused = [
            lambda bad=bad: residual_power(ordered=bad, measured=good),
            lambda bad=bad: residual_power(ordered=good, measured=bad),
            lambda bad=bad: residual_between(right=Residual(bad, 0.0), left=Residual(good, 0.0)),
            lambda bad=bad: mean_power([good, bad]),
            lambda bad=bad: reading_spread([good, bad]),
        ]
        for call in refused:
            with pytest.raises(DomainError) as refusal:
                call()
            assert refusal.value.argument == argument
