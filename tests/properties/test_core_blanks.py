"""Bounds on the blank, held against brute geometry: thousands of random outlines, and shapes that touch each bound."""

import math

import numpy as np
import pytest
from core_shapes import MAKERS, Maker, boxed, farthest, rounded_box
from core_strategies import boxes, distances, steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core.boxing import (
    blank_bounds,
    box_diagonal,
    corner_radius,
    decentration_in,
    decentration_reachable,
    decentration_up,
    frame_pd,
    usual_ed,
)
from optics_core.errors import DomainError

HAIR_MM = 1e-9
allowances = st.floats(0, 5)


@pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)
def test_no_outline_escapes_the_bounds_of_its_boxed_sizes(maker: Maker) -> None:
    rng = np.random.default_rng(20_240_229)
    for _ in range(1500):
        a, b = rng.uniform(30, 70), rng.uniform(15, 60)
        points = boxed(maker(rng), a, b)
        ed = min(2 * farthest(points, 0, 0), math.hypot(a, b))  # a corner at the box's own corner, to the last bit
        inward, up, allowance = rng.uniform(-10, 10), rng.uniform(-10, 10), rng.uniform(0, 4)
        bounds = blank_bounds(a_mm=a, b_mm=b, ed_mm=ed, in_mm=inward, up_mm=up, allowance_mm=allowance)
        needed = 2 * farthest(points, inward, up) + allowance
        assert bounds.at_least_mm - HAIR_MM <= needed <= bounds.at_most_mm + HAIR_MM
        # The other eye's lens is the mirror image with the mirrored offset: it needs the same blank.
        mirrored = points * np.array([-1.0, 1.0])
        assert 2 * farthest(mirrored, -inward, up) + allowance == pytest.approx(needed, abs=HAIR_MM)


@steady
@given(boxes(), distances, distances, allowances)
def test_the_three_figures_stand_in_order(box: dict[str, float], inward: float, up: float, allowance: float) -> None:
    bounds = blank_bounds(**box, in_mm=inward, up_mm=up, allowance_mm=allowance)
    assert bounds.at_least_mm <= bounds.expected_mm + HAIR_MM
    assert bounds.expected_mm <= bounds.at_most_mm + HAIR_MM


@steady
@given(boxes(), st.floats(0.1, 12), allowances, st.floats(0, 1))
def test_a_shape_that_needs_at_most_exists_for_every_box(
    box: dict[str, float], offset: float, allowance: float, share: float
) -> None:
    # Its farthest point lies straight behind the offset: the triangle inequality has no slack.
    half_a, half_b, reach = box["a_mm"] / 2, box["b_mm"] / 2, box["ed_mm"] / 2
    steepest = math.asin(min(half_b / reach, 1.0))
    flattest = math.acos(min(half_a / reach, 1.0))
    turn = flattest + share * (steepest - flattest)
    tip = reach * np.array([math.cos(turn), math.sin(turn)])
    shape = np.array([tip, [half_a, 0], [0, half_b], [-half_a, 0], [0, -half_b]])
    assert 2 * farthest(shape, 0, 0) == pytest.approx(box["ed_mm"], abs=1e-9)
    assert np.abs(shape[:, 0]).max() <= half_a + 1e-6
    assert np.abs(shape[:, 1]).max() <= half_b + 1e-6
    x_mm, y_mm = -offset * math.cos(turn), -offset * math.sin(turn)
    bounds = blank_bounds(**box, in_mm=x_mm, up_mm=y_mm, allowance_mm=allowance)
    assert 2 * farthest(shape, x_mm, y_mm) + allowance == pytest.approx(bounds.at_most_mm, abs=1e-6)


@steady
@given(st.floats(40, 70), st.floats(0.3, 0.9), st.floats(0.01, 1), allowances)
def test_a_shape_that_needs_at_least_exists_though_its_ed_is_larger_than_a(
    a: float, flatness: float, share: float, allowance: float
) -> None:
    # A kite in the box with its ED point on the nasal side, decentred in: the temporal tip decides.
    b = flatness * a
    most = math.hypot(a, b)
    ed = min(a + share * (most - a), most)
    turn = math.acos(min(a / ed, 1.0))
    tip = ed / 2 * np.array([math.cos(turn), math.sin(turn)])
    shape = np.array([tip, [a / 2, 0], [0, b / 2], [-a / 2, 0], [0, -b / 2]])
    inward = 12.0 + 0.2 * b
    bounds = blank_bounds(a_mm=a, b_mm=b, ed_mm=ed, in_mm=inward, up_mm=0.0, allowance_mm=allowance)
    assert bounds.at_least_mm == pytest.approx(a + 2 * inward + allowance, abs=1e-9)
    assert 2 * farthest(shape, inward, 0) + allowance == pytest.approx(bounds.at_least_mm, abs=1e-9)


@steady
@given(st.floats(30, 70), st.floats(-10, 10), st.floats(-10, 10), allowances)
def test_a_circle_needs_exactly_at_most(across: float, inward: float, up: float, allowance: float) -> None:
    bounds = blank_bounds(a_mm=across, b_mm=across, ed_mm=across, in_mm=inward, up_mm=up, allowance_mm=allowance)
    exact = across + 2 * math.hypot(inward, up) + allowance
    assert (bounds.expected_mm, bounds.at_most_mm) == (pytest.approx(exact), pytest.approx(exact))


@steady
@given(boxes(), distances, distances, allowances)
def test_the_bounds_are_the_two_written_formulas(
    box: dict[str, float], inward: float, up: float, allowance: float
) -> None:
    bounds = blank_bounds(**box, in_mm=inward, up_mm=up, allowance_mm=allowance)
    sides = (box["a_mm"] + 2 * abs(inward), box["b_mm"] + 2 * abs(up))
    assert bounds.at_least_mm == pytest.approx(max(sides) + allowance, abs=1e-12)
    assert bounds.at_most_mm == pytest.approx(box["ed_mm"] + 2 * math.hypot(inward, up) + allowance, abs=1e-12)


@steady
@given(boxes(), distances, distances, allowances)
def test_expected_is_the_blank_of_a_box_with_round_corners_and_that_ed(
    box: dict[str, float], inward: float, up: float, allowance: float
) -> None:
    shape = rounded_box(box["a_mm"], box["b_mm"], box["ed_mm"])
    assert 2 * farthest(shape, 0, 0) == pytest.approx(box["ed_mm"], abs=1e-3)
    bounds = blank_bounds(**box, in_mm=inward, up_mm=up, allowance_mm=allowance)
    assert bounds.expected_mm == pytest.approx(2 * farthest(shape, inward, up) + allowance, abs=1e-3)


@steady
@given(boxes())
def test_the_corner_radius_gives_the_ed_it_was_found_from(box: dict[str, float]) -> None:
    radius = corner_radius(**box)
    half_a, half_b = box["a_mm"] / 2, box["b_mm"] / 2
    assert 0 <= radius <= min(half_a, half_b)
    reach = math.hypot(half_a - radius, half_b - radius) + radius
    assert 2 * reach == pytest.approx(box["ed_mm"], abs=1e-9)


@steady
@given(boxes(), distances, distances)
def test_in_or_out_and_up_or_down_by_as_much_need_the_same_blank(
    box: dict[str, float], inward: float, up: float
) -> None:
    one = blank_bounds(**box, in_mm=inward, up_mm=up, allowance_mm=2.0)
    assert blank_bounds(**box, in_mm=-inward, up_mm=up, allowance_mm=2.0) == one
    assert blank_bounds(**box, in_mm=inward, up_mm=-up, allowance_mm=2.0) == one


@pytest.mark.parametrize("ed", [53.9, 67.21, 0.0, 100.0])
def test_an_ed_that_no_shape_of_the_box_can_have_is_refused(ed: float) -> None:
    with pytest.raises(DomainError) as refusal:
        blank_bounds(a_mm=54.0, b_mm=40.0, ed_mm=ed, in_mm=4.0, up_mm=2.0, allowance_mm=2.0)
    assert refusal.value.argument == "ed_mm"


def test_a_whole_millimetre_diagonal_is_still_an_ed_of_its_box() -> None:
    # 3-4-5: the limit itself must not fall to float noise.
    for scale in (1.0, 0.1, 7.3, 12.7):
        a, b = 40 * scale, 30 * scale
        blank_bounds(a_mm=a, b_mm=b, ed_mm=box_diagonal(a_mm=a, b_mm=b), in_mm=0.0, up_mm=0.0, allowance_mm=0.0)


@pytest.mark.parametrize(("name", "size"), [("a_mm", 0.0), ("b_mm", 0.0), ("a_mm", -54.0), ("b_mm", -40.0)])
def test_a_box_without_width_or_height_is_refused(name: str, size: float) -> None:
    sizes = {"a_mm": 54.0, "b_mm": 40.0, "ed_mm": 58.0} | {name: size}
    with pytest.raises(DomainError):
        blank_bounds(**sizes, in_mm=4.0, up_mm=2.0, allowance_mm=2.0)


@steady
@given(st.floats(30, 70), st.floats(15, 60))
def test_the_usual_ed_is_one_that_a_shape_of_the_box_can_have(a: float, b: float) -> None:
    ed = usual_ed(a_mm=a, b_mm=b)
    assert max(a, b) - HAIR_MM <= ed <= math.hypot(a, b) + HAIR_MM
    assert usual_ed(a_mm=b, b_mm=a) == pytest.approx(ed, abs=HAIR_MM)


def test_the_usual_ed_of_a_54_by_40_box_is_58() -> None:
    # Corner radius 0.6 of the half height: hypot(27 - 12, 20 - 12) + 12 = 29. Common practice, no source.
    assert usual_ed(a_mm=54.0, b_mm=40.0) == pytest.approx(58.0, abs=1e-12)


@pytest.mark.parametrize(("a", "ed"), [(58, 60), (52, 54), (56, 59), (48, 50), (49, 52)])
def test_the_usual_ed_lies_within_3_mm_of_printed_frames(a: float, ed: float) -> None:
    # Frames of the worked examples (ED 2 to 3 mm above A). Their B is not printed: any ordinary one is tried.
    for b in np.linspace(0.55, 0.75, 41) * a:
        assert usual_ed(a_mm=a, b_mm=float(b)) == pytest.approx(ed, abs=3.0)


@steady
@given(st.floats(30, 70), st.floats(10, 30), st.floats(20, 40), st.floats(15, 60), st.floats(5, 50))
def test_the_pupil_sits_where_the_decentration_says(a: float, dbl: float, pd: float, b: float, height: float) -> None:
    # From the bridge's middle outwards: half the bridge, half the lens, less what the pupil is in.
    assert dbl / 2 + a / 2 - decentration_in(a_mm=a, dbl_mm=dbl, pd_mm=pd) == pytest.approx(pd, abs=1e-12)
    assert b / 2 + decentration_up(b_mm=b, fitting_height_mm=height) == pytest.approx(height, abs=1e-12)
    assert frame_pd(a_mm=a, dbl_mm=dbl) == a + dbl
    assert box_diagonal(a_mm=a, b_mm=b) ** 2 == pytest.approx(a * a + b * b)


@steady
@given(boxes(), st.floats(50, 85), allowances, st.floats(0, 360), st.floats(0, 1))
def test_any_decentration_up_to_the_reachable_one_is_covered(
    box: dict[str, float], blank: float, allowance: float, angle: float, share: float
) -> None:
    reach = decentration_reachable(blank_mm=blank, ed_mm=box["ed_mm"], allowance_mm=allowance)
    assert 2 * reach + box["ed_mm"] + allowance == pytest.approx(blank, abs=1e-9)
    if reach > 0:
        x_mm, y_mm = reach * share * math.cos(math.radians(angle)), reach * share * math.sin(math.radians(angle))
        bounds = blank_bounds(**box, in_mm=x_mm, up_mm=y_mm, allowance_mm=allowance)
        assert bounds.at_most_mm <= blank + HAIR_MM
