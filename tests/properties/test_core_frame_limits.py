"""The largest frame that a blank serves, found in closed form, against frames tried one after the other."""

import math

import numpy as np
import pytest
from core_shapes import MAKERS, Maker, boxed, farthest

from optics_core.frame_limits import largest_dbl_for_outline, largest_scale
from optics_core.outline import minimum_blank


def a_case(maker: Maker, rng: np.random.Generator) -> tuple[np.ndarray, dict[str, float], float, str]:
    points = boxed(maker(rng), rng.uniform(40, 60), rng.uniform(25, 50))
    place = {
        "pd_mm": rng.uniform(27, 36),
        "up_mm": rng.uniform(-3, 5),
        "offset_in_mm": rng.uniform(-2, 2),
        "offset_up_mm": rng.uniform(-2, 2),
        "blank_mm": rng.uniform(55, 80),
        "allowance_mm": rng.uniform(0, 3),
    }
    return points, place, rng.uniform(12, 24), rng.choice(["right", "left"])


def need(points: np.ndarray, eye: str, dbl: float, place: dict[str, float]) -> float:
    """Blank that is needed, by looking at every corner; nasal is +x for the right lens."""
    width = np.ptp(points[:, 0])
    in_mm = (width + dbl) / 2 - place["pd_mm"] - place["offset_in_mm"]
    x = in_mm if eye == "right" else -in_mm
    return 2 * farthest(points, x, place["up_mm"] - place["offset_up_mm"]) + place["allowance_mm"]


@pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)
def test_the_largest_scale_is_the_last_of_all_sizes_that_fit(maker: Maker) -> None:
    rng = np.random.default_rng(3)
    found = 0
    for _ in range(150):
        points, place, dbl, eye = a_case(maker, rng)
        largest = largest_scale(points, eye=eye, dbl_mm=dbl, **place, most=1.5)
        fitting = [s for s in np.linspace(0.002, 1.5, 750) if need(points * s, eye, dbl, place) <= place["blank_mm"]]
        if largest is None:
            assert not fitting
            continue
        found += 1
        assert need(points * largest, eye, dbl, place) <= place["blank_mm"] + 1e-9
        assert not fitting or fitting[-1] <= largest + 1e-9
        if largest < 1.5:
            assert need(points * largest * (1 + 1e-6), eye, dbl, place) > place["blank_mm"]
    assert found > 100


@pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)
def test_the_largest_dbl_is_the_last_of_all_that_fit(maker: Maker) -> None:
    rng = np.random.default_rng(4)
    found = 0
    for _ in range(150):
        points, place, _, eye = a_case(maker, rng)
        largest = largest_dbl_for_outline(points, eye=eye, **place, most_mm=40.0)
        fitting = [dbl for dbl in np.linspace(0, 40, 801) if need(points, eye, dbl, place) <= place["blank_mm"]]
        if largest is None:
            assert not fitting
            continue
        found += 1
        assert need(points, eye, largest, place) <= place["blank_mm"] + 1e-9
        assert not fitting or fitting[-1] <= largest + 1e-9
        if largest < 40.0:
            assert need(points, eye, largest + 1e-6, place) > place["blank_mm"]
    assert found > 50


def test_a_round_lens_fits_up_to_the_printed_formula() -> None:
    # ED + 2 decentration + allowance is exact for a circle: handbook formulas, section 3 (exact-circle, derived).
    turn = np.arange(0, 360) * math.pi / 180
    circle = 25 * np.column_stack([np.cos(turn), np.sin(turn)])
    place = {"pd_mm": 30.0, "up_mm": 0.0, "offset_in_mm": 0.0, "offset_up_mm": 0.0, "allowance_mm": 2.0}
    # 50 wide, DBL 18: frame PD 68, 4 mm in, so 50 + 8 + 2 = 60.
    assert minimum_blank(circle, x_mm=4.0, y_mm=0.0, allowance_mm=2.0) == pytest.approx(60.0)
    assert largest_scale(circle, eye="right", dbl_mm=18.0, blank_mm=60.0, most=2.0, **place) == pytest.approx(1.0)
    dbl = largest_dbl_for_outline(circle, eye="left", blank_mm=60.0, most_mm=40.0, **place)
    assert dbl == pytest.approx(18.0)


def test_a_blank_smaller_than_its_allowance_serves_no_frame() -> None:
    square = np.array([[20.0, 15.0], [-20.0, 15.0], [-20.0, -15.0], [20.0, -15.0]])
    place = {"pd_mm": 30.0, "up_mm": 0.0, "offset_in_mm": 0.0, "offset_up_mm": 0.0}
    assert largest_scale(square, eye="right", dbl_mm=18.0, blank_mm=5.0, allowance_mm=6.0, most=2.0, **place) is None
    assert largest_dbl_for_outline(square, eye="right", blank_mm=5.0, allowance_mm=6.0, most_mm=40.0, **place) is None
