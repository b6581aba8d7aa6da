"""Coloured fringes: against prisms refracted at two wavelengths, and against every direction about the optical centre."""

import math
from typing import Any

import numpy as np
import pytest
from core_strategies import axes, lens, powers, steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core.chromatic import strongest_prism, transverse_chromatic_aberration
from optics_core.errors import DomainError
from optics_core.materials import materials
from optics_core.prism import prism_from_decentration

distances = st.floats(0, 40)


@steady
@given(lens(powers, powers, axes), distances)
def test_no_direction_about_the_optical_centre_has_more_prism(given_lens: dict[str, Any], distance: float) -> None:
    turns = np.radians(np.arange(0.0, 360.0, 0.5))
    round_about = prism_from_decentration(**given_lens, x_mm=distance * np.cos(turns), y_mm=distance * np.sin(turns))
    most = float(np.max(np.hypot(round_about.x_pd, round_about.y_pd)))
    powers_only = {name: given_lens[name] for name in ("sphere_d", "cylinder_d")}
    found = strongest_prism(**powers_only, distance_mm=distance)
    # Half a degree beside the strongest meridian the prism is short by no more than 4 in 100,000.
    assert most <= found * (1 + 1e-12) + 1e-12
    assert found <= most * (1 + 4e-5) + 1e-12


@pytest.mark.parametrize("material", list(materials().values()), ids=lambda material: material.id)
def test_the_fringe_is_the_angle_between_blue_and_red_through_a_prism_of_glass(material: Any) -> None:
    """Second route: an Abbe number is (n_d - 1) / (n_F - n_C); Snell's law at both faces of a thin prism, colour by colour."""
    prism_pd = 0.5  # small, as the formula has it
    spread = (material.index_d - 1) / material.abbe
    apex = math.atan(prism_pd / 100) / (material.index_d - 1)

    def bent_pd(index: float) -> float:
        # Light meets the first face at a right angle and leaves through the second.
        return 100 * math.tan(math.asin(index * math.sin(apex)) - apex)

    between = bent_pd(material.index_d + spread / 2) - bent_pd(material.index_d - spread / 2)
    found = transverse_chromatic_aberration(prism_pd=prism_pd, abbe=material.abbe)
    assert between == pytest.approx(found, rel=1e-3)


@pytest.mark.parametrize(
    ("sphere", "cylinder", "abbe", "expected"),
    [
        # By hand: 15 mm from the centre of 4 D lie 6 pd; 6 / 58, 6 / 30.
        (-4.0, 0.0, 58.0, 6 / 58),
        (-4.0, 0.0, 30.0, 0.2),
        (-1.0, -3.0, 30.0, 0.2),
        (2.0, -4.0, 30.0, 0.1),
        (0.0, 0.0, 30.0, 0.0),
    ],
)
def test_fifteen_millimetres_out_the_fringe_is_as_reckoned_by_hand(
    sphere: float, cylinder: float, abbe: float, expected: float
) -> None:
    prism = strongest_prism(sphere_d=sphere, cylinder_d=cylinder, distance_mm=15.0)
    assert transverse_chromatic_aberration(prism_pd=prism, abbe=abbe) == pytest.approx(expected, abs=1e-12)


@steady
@given(powers, powers, distances)
def test_either_form_of_a_lens_has_the_same_prism(sphere: float, cylinder: float, distance: float) -> None:
    one = strongest_prism(sphere_d=sphere, cylinder_d=cylinder, distance_mm=distance)
    other = strongest_prism(sphere_d=sphere + cylinder, cylinder_d=-cylinder, distance_mm=distance)
    assert other == pytest.approx(one, abs=1e-9)


@steady
@given(st.floats(-20, 20), st.floats(20, 90), st.floats(1.01, 3))
def test_a_higher_abbe_number_fringes_less(prism: float, abbe: float, times: float) -> None:
    one = transverse_chromatic_aberration(prism_pd=prism, abbe=abbe)
    other = transverse_chromatic_aberration(prism_pd=prism, abbe=abbe * times)
    assert abs(other) <= abs(one)
    assert math.copysign(1.0, one) == math.copysign(1.0, prism)


def test_what_cannot_be_is_refused_by_name() -> None:
    for abbe in (0.0, -30.0):
        with pytest.raises(DomainError) as refusal:
            transverse_chromatic_aberration(prism_pd=1.0, abbe=abbe)
        assert refusal.value.argument == "abbe"
    with pytest.raises(DomainError) as refusal:
        strongest_prism(sphere_d=1.0, cylinder_d=0.0, distance_mm=-0.1)
    assert refusal.value.argument == "distance_mm"
