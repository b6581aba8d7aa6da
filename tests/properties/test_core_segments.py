"""Lenses with a reading part: places against the frame's own sums, prism against the prism of single lenses."""

from typing import Any

import numpy as np
import pytest
from core_strategies import distances, lenses, steady
from hypothesis import assume, given
from hypothesis import strategies as st

from optics_core.boxing import decentration_in, decentration_up, frame_pd
from optics_core.errors import DomainError
from optics_core.near import segment_inset
from optics_core.power_vectors import power_vector
from optics_core.prism import Prism, pair_imbalance, prism_from_decentration, vertical_imbalance
from optics_core.segments import (
    Place,
    blank_middle,
    gaze_imbalance,
    image_jump,
    prism_through_segment,
    progressive_room,
    segment_place,
    slab_off_eye,
    total_inset,
    vertical_room,
)

Lens = dict[str, Any]

frames = st.fixed_dictionaries({"a_mm": st.floats(40, 65), "b_mm": st.floats(25, 50), "dbl_mm": st.floats(12, 24)})
near_halves = st.floats(24, 36)
heights = st.floats(8, 30)
insets_on_blank = st.floats(0, 8)
adds = st.floats(0.5, 4)


@steady
@given(frames, near_halves, heights)
def test_the_segment_lies_where_decentration_and_height_put_a_centre(frame: Lens, near: float, height: float) -> None:
    place = segment_place(**frame, near_pd_mm=near, segment_height_mm=height)
    assert place.in_mm == pytest.approx(
        decentration_in(a_mm=frame["a_mm"], dbl_mm=frame["dbl_mm"], pd_mm=near), abs=1e-12
    )
    assert place.up_mm == pytest.approx(decentration_up(b_mm=frame["b_mm"], fitting_height_mm=height), abs=1e-12)


@steady
@given(frames, near_halves, st.floats(0, 4))
def test_total_inset_is_decentration_and_segment_inset_together(frame: Lens, near: float, inset: float) -> None:
    width = frame_pd(a_mm=frame["a_mm"], dbl_mm=frame["dbl_mm"])
    for_distance = decentration_in(a_mm=frame["a_mm"], dbl_mm=frame["dbl_mm"], pd_mm=near + inset)
    total = total_inset(frame_pd_mm=width, near_pd_mm=2 * near)
    own = segment_inset(pd_mm=2 * (near + inset), near_pd_mm=2 * near)
    assert total == pytest.approx(for_distance + own, abs=1e-11)
    place = segment_place(**frame, near_pd_mm=near, segment_height_mm=15.0)
    assert total == pytest.approx(place.in_mm, abs=1e-11)


@steady
@given(frames, near_halves, heights, insets_on_blank, st.floats(-2, 8))
def test_the_segment_of_a_blank_so_placed_lies_where_it_was_ordered(
    frame: Lens, near: float, height: float, blank_in: float, drop: float
) -> None:
    ordered = segment_place(**frame, near_pd_mm=near, segment_height_mm=height)
    middle = blank_middle(
        segment_in_mm=ordered.in_mm,
        segment_up_mm=ordered.up_mm,
        blank_segment_in_mm=blank_in,
        blank_segment_drop_mm=drop,
    )
    # On the blank the segment lies in of the middle and below it.
    assert (middle.in_mm + blank_in, middle.up_mm - drop) == pytest.approx((ordered.in_mm, ordered.up_mm), abs=1e-12)


def test_a_blank_whose_segment_lies_as_ordered_is_not_moved() -> None:
    middle = blank_middle(segment_in_mm=5.0, segment_up_mm=-4.0, blank_segment_in_mm=5.0, blank_segment_drop_mm=4.0)
    assert middle == Place(0.0, 0.0)


@steady
@given(st.floats(20, 60), st.floats(5, 40), st.floats(8, 20), st.floats(0, 8))
def test_the_room_of_a_progressive_fills_the_box(b: float, height: float, corridor: float, zone: float) -> None:
    room = progressive_room(b_mm=b, fitting_height_mm=height, corridor_mm=corridor, near_zone_mm=zone)
    assert room.above_mm + room.below_mm == pytest.approx(b, abs=1e-12)
    assert room.spare_mm + corridor + zone == pytest.approx(room.below_mm, abs=1e-12)
    higher = progressive_room(b_mm=b, fitting_height_mm=height + 1, corridor_mm=corridor, near_zone_mm=zone)
    assert higher.spare_mm == pytest.approx(room.spare_mm + 1, abs=1e-12)


def ellipse(a_mm: float, b_mm: float, count: int = 20_000) -> np.ndarray:
    angles = np.arange(count) * (2 * np.pi / count)
    return np.stack([a_mm / 2 * np.cos(angles), b_mm / 2 * np.sin(angles)], 1)


@steady
@given(st.floats(-0.99, 0.99), st.floats(-15, 15))
def test_the_room_in_an_ellipse_is_that_of_its_equation(share: float, y: float) -> None:
    half = 18.0 * (1 - share * share) ** 0.5
    above, below = vertical_room(OVAL, x_mm=share * 25.0, y_mm=y)
    assert (above, below) == pytest.approx((half - y, half + y), abs=1e-4)


OVAL = ellipse(50.0, 36.0)


@steady
@given(st.integers(0, 10_000), st.floats(0.001, 0.999), st.floats(-10, 10))
def test_the_room_ends_on_the_outline_and_no_point_of_it_lies_beyond(seed: int, share: float, y: float) -> None:
    rng = np.random.default_rng(seed)
    radii = rng.uniform(12, 30, rng.integers(3, 40))
    turns = np.sort(rng.uniform(0, 2 * np.pi, len(radii)))
    points = np.stack([radii * np.cos(turns), radii * np.sin(turns)], 1)
    x = points[:, 0].min() + share * np.ptp(points[:, 0])
    above, below = vertical_room(points, x_mm=x, y_mm=y)
    top, bottom = y + above, y - below
    # Every side walked in steps of equal length: no step that crosses the upright does so outside these ends.
    steps = np.linspace(0, 1, 98)[:, None, None]
    walked = points + steps * (np.roll(points, -1, axis=0) - points)
    before, after = walked[:-1].reshape(-1, 2), walked[1:].reshape(-1, 2)
    crossing = (before[:, 0] - x) * (after[:, 0] - x) <= 0
    before, after = before[crossing], after[crossing]
    met = before[:, 1] + (x - before[:, 0]) / (after[:, 0] - before[:, 0]) * (after[:, 1] - before[:, 1])
    assert (met.max(), met.min()) == pytest.approx((top, bottom), abs=1e-6)


def test_the_room_of_a_box_is_that_of_its_sides_also_over_its_corners() -> None:
    box = np.array([[25.0, 18.0], [-25.0, 18.0], [-25.0, -18.0], [25.0, -18.0]])
    for x in (-25.0, -3.0, 0.0, 25.0):
        assert vertical_room(box, x_mm=x, y_mm=4.0) == (14.0, 22.0)
    above, below = vertical_room(box, x_mm=np.array([0.0, 25.0]), y_mm=np.array([20.0, -1.0]))
    assert above.tolist() == [-2.0, 19.0]
    assert below.tolist() == [38.0, 17.0]


def test_near_the_nose_an_outline_can_lack_the_room_its_box_promises() -> None:
    # Fitting point 3 mm in and 4 mm up in an oval 50 x 36: the box has 22 mm below it; the near point lies 2.5 in of it.
    room = progressive_room(b_mm=36.0, fitting_height_mm=22.0, corridor_mm=14.0, near_zone_mm=4.0)
    _, below = vertical_room(OVAL, x_mm=5.5, y_mm=4.0)
    assert room.below_mm == 22.0
    assert 21.0 < below < 22.0
    _, at_the_side = vertical_room(OVAL, x_mm=15.0, y_mm=4.0)
    assert at_the_side < room.below_mm - 3


@steady
@given(lenses, adds, st.floats(0, 14), distances, distances)
def test_the_image_jumps_by_what_the_prism_gains_at_the_segments_top(
    worn: Lens, add: float, depth: float, x: float, y: float
) -> None:
    # At the top of the segment, straight above its centre: with the segment and without it.
    without = prism_from_decentration(**worn, x_mm=x, y_mm=y)
    within = prism_through_segment(**worn, add_d=add, x_mm=x, y_mm=y, segment_x_mm=0.0, segment_y_mm=-depth)
    jump = image_jump(add_d=add, top_to_centre_mm=depth)
    assert (within.x_pd - without.x_pd, within.y_pd - without.y_pd) == pytest.approx((0, -jump), abs=1e-11)


@steady
@given(adds, st.floats(0, 14), st.floats(0, 1))
def test_a_trifocals_two_jumps_with_one_centre_and_one_line_are_a_bifocals(
    add: float, depth: float, share: float
) -> None:
    first = image_jump(add_d=add * share, top_to_centre_mm=depth)
    second = image_jump(add_d=add * (1 - share), top_to_centre_mm=depth)
    assert first + second == pytest.approx(image_jump(add_d=add, top_to_centre_mm=depth), abs=1e-12)
    assert image_jump(add_d=add, top_to_centre_mm=0.0) == 0.0


@steady
@given(lenses, adds, distances, distances, distances, distances)
def test_prism_through_a_segment_is_that_of_two_lenses_one_behind_the_other(
    worn: Lens, add: float, x: float, y: float, own_x: float, own_y: float
) -> None:
    found = prism_through_segment(**worn, add_d=add, x_mm=x, y_mm=y, segment_x_mm=own_x, segment_y_mm=own_y)
    of_lens = prism_from_decentration(**worn, x_mm=x, y_mm=y)
    small = {"sphere_d": add, "cylinder_d": 0.0, "axis_deg": None}
    of_segment = prism_from_decentration(**small, x_mm=own_x, y_mm=own_y)
    assert (found.x_pd, found.y_pd) == pytest.approx(
        (of_lens.x_pd + of_segment.x_pd, of_lens.y_pd + of_segment.y_pd), abs=1e-11
    )
    none = prism_through_segment(**worn, add_d=0.0, x_mm=x, y_mm=y, segment_x_mm=own_x, segment_y_mm=own_y)
    assert none == of_lens


@steady
@given(lenses, lenses, distances, distances, st.floats(0, 4))
def test_prism_between_the_eyes_at_any_gaze_is_that_of_the_two_lenses(
    right: Lens, left: Lens, x: float, y: float, inset: float
) -> None:
    found = gaze_imbalance(right=power_vector(**right), left=power_vector(**left), x_mm=x, y_mm=y, inset_mm=inset)
    # Nasal is +x for the right eye and -x for the left.
    places = ((right, x + inset), (left, x - inset))
    made = [prism_from_decentration(**worn, x_mm=-place, y_mm=-y) for worn, place in places]
    assert found == pytest.approx(pair_imbalance(right=made[0], left=made[1]), abs=1e-10)


@steady
@given(lenses, distances, distances)
def test_a_pair_of_like_lenses_asks_nothing_of_the_eyes_at_any_gaze_far_off(worn: Lens, x: float, y: float) -> None:
    both = power_vector(**worn)
    assert gaze_imbalance(right=both, left=both, x_mm=x, y_mm=y) == pytest.approx((0, 0), abs=1e-12)
    assert slab_off_eye(base_up_pd=0.0) is None


@steady
@given(lenses, lenses, st.floats(1, 15))
def test_slab_off_goes_to_the_eye_that_lacks_base_up_when_reading(right: Lens, left: Lens, level: float) -> None:
    pair = {"right": power_vector(**right), "left": power_vector(**left)}
    amount = vertical_imbalance(**pair, level_mm=level)
    assume(amount > 1e-9)
    _, right_up = gaze_imbalance(**pair, x_mm=0.0, y_mm=-level)
    assert abs(right_up) == pytest.approx(amount, abs=1e-10)
    # Base up of that amount on the lens named leaves nothing.
    eye = slab_off_eye(base_up_pd=right_up)
    vertical = {name: lens.m_d - lens.j0_d for name, lens in pair.items()}
    assert eye == min(vertical, key=lambda name: vertical[name])
    worked = {"right": Prism(0.0, 0.0), "left": Prism(0.0, 0.0)} | {str(eye): Prism(0.0, amount)}
    _, added = pair_imbalance(**worked)
    assert right_up + added == pytest.approx(0, abs=1e-9)
    other = slab_off_eye(base_up_pd=-right_up)
    assert {eye, other} == {"right", "left"}


@pytest.mark.parametrize(
    ("refused", "argument"),
    [
        (lambda: total_inset(frame_pd_mm=0.0, near_pd_mm=59.0), "frame_pd_mm"),
        (lambda: total_inset(frame_pd_mm=72.0, near_pd_mm=0.0), "near_pd_mm"),
        (lambda: segment_place(a_mm=0.0, b_mm=40.0, dbl_mm=18.0, near_pd_mm=30.0, segment_height_mm=15.0), "a_mm"),
        (lambda: segment_place(a_mm=54.0, b_mm=0.0, dbl_mm=18.0, near_pd_mm=30.0, segment_height_mm=15.0), "b_mm"),
        (
            lambda: segment_place(a_mm=54.0, b_mm=40.0, dbl_mm=18.0, near_pd_mm=30.0, segment_height_mm=-1.0),
            "segment_height_mm",
        ),
        (
            lambda: progressive_room(b_mm=40.0, fitting_height_mm=20.0, corridor_mm=-1.0, near_zone_mm=4.0),
            "corridor_mm",
        ),
        (
            lambda: progressive_room(b_mm=40.0, fitting_height_mm=20.0, corridor_mm=14.0, near_zone_mm=-4.0),
            "near_zone_mm",
        ),
        (lambda: vertical_room(OVAL, x_mm=25.1, y_mm=0.0), "x_mm"),
        (lambda: vertical_room(OVAL[:2], x_mm=0.0, y_mm=0.0), "points"),
        (lambda: slab_off_eye(base_up_pd=float("nan")), "base_up_pd"),
    ],
)
def test_a_reading_part_out_of_range_is_refused_by_name(refused: Any, argument: str) -> None:
    with pytest.raises(DomainError) as refusal:
        refused()
    assert refusal.value.argument == argument
