"""What can be cut again from a finished lens, against a geometry library, closed forms and frames tried one by one.

shapely (a general geometry library) says what lies within what, how far apart, and what is left within a margin.
"""

import math

import numpy as np
import pytest
from core_shapes import boxed, convex, smooth, star
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon

from optics_core.errors import DomainError
from optics_core.outline import rounded_rectangle
from optics_core.re_edging import ReEdge, clearance_within, fits_within, largest_re_edge

MAKERS = {"star": star, "smooth": smooth, "convex": convex}
every_shape = pytest.mark.parametrize("maker", MAKERS.values(), ids=MAKERS)

RECTANGLE = np.array([[27.0, 20.0], [-27.0, 20.0], [-27.0, -20.0], [27.0, -20.0]])
# Frame PD 72, PD 32: the pupil is 4 mm in; and 2 mm up.
EXACT = {
    "eye": "right", "centre_x_mm": 4.0, "centre_y_mm": 2.0, "pd_mm": 32.0, "dbl_mm": 18.0, "up_mm": 2.0,
    "turn_deg": 0.0, "margin_mm": 0.0,
}  # fmt: skip


def a_shape(rng: np.random.Generator, maker, a_mm: float, b_mm: float) -> np.ndarray:
    """A random shape that does not cross itself, as shapely sees it."""
    while True:
        points = boxed(maker(rng), a_mm, b_mm)
        if Polygon(points).is_valid:
            return points


def placed(points: np.ndarray, scale: float, place: dict) -> Polygon:
    """The new lens in the plane of the old one, step by step as a person would: scale, pupil, turn, centre."""
    nasal = 1.0 if place["eye"] == "right" else -1.0
    a = scale * np.ptp(points[:, 0])
    pupil = (nasal * ((a + place["dbl_mm"]) / 2 - place["pd_mm"]), place["up_mm"])
    lens = affinity.translate(Polygon(points * scale), -pupil[0], -pupil[1])
    lens = affinity.rotate(lens, -place["turn_deg"], origin=(0, 0))
    return affinity.translate(lens, place["centre_x_mm"], place["centre_y_mm"])


def can_be_cut(lens: Polygon, old: Polygon, margin_mm: float) -> bool:
    return old.covers(lens) and lens.boundary.distance(old.boundary) >= margin_mm


def a_place(rng: np.random.Generator, points: np.ndarray) -> dict:
    """An old lens that is not far from right."""
    eye = str(rng.choice(["right", "left"]))
    dbl, pd, up = rng.uniform(14, 22), rng.uniform(28, 34), rng.uniform(-1, 3)
    pupil = (np.ptp(points[:, 0]) + dbl) / 2 - pd
    return {
        "eye": eye, "pd_mm": pd, "dbl_mm": dbl, "up_mm": up, "turn_deg": rng.uniform(-15, 15),
        "centre_x_mm": (pupil if eye == "right" else -pupil) + rng.uniform(-4, 4),
        "centre_y_mm": up + rng.uniform(-3, 3), "margin_mm": float(rng.choice([0.0, 0.3, 1.0])),
    }  # fmt: skip


@every_shape
def test_what_lies_within_what_and_how_far_apart_is_as_shapely_has_it(maker) -> None:
    rng = np.random.default_rng(11)
    within = 0
    for _ in range(400):
        outer = a_shape(rng, maker, rng.uniform(45, 60), rng.uniform(32, 45))
        factor = rng.uniform(0.15, 1.1)
        inner = outer * factor if rng.random() < 0.5 else a_shape(rng, maker, 45, 30) * factor
        turn, x, y = rng.uniform(-30, 30), rng.normal(0, 2), rng.normal(0, 2)
        moved = affinity.translate(affinity.rotate(Polygon(inner), turn, origin=(0, 0)), x, y)
        old = Polygon(outer)
        clearance = clearance_within(inner, outer, shift_x_mm=x, shift_y_mm=y, turn_deg=turn)
        assert (clearance is not None) == old.contains(moved)
        if clearance is None:
            continue
        within += 1
        assert clearance == pytest.approx(moved.boundary.distance(old.boundary), abs=1e-9)
    assert 40 < within < 300


@every_shape
def test_a_margin_is_kept_where_shapely_s_shrunken_lens_holds_the_new_one(maker) -> None:
    rng = np.random.default_rng(12)
    answers = []
    for _ in range(150):
        outer = a_shape(rng, maker, 54, 40)
        inner = a_shape(rng, maker, 50, 36) * rng.uniform(0.1, 1.0)
        turn, margin = rng.uniform(-30, 30), rng.uniform(0.1, 2.0)
        moved = affinity.rotate(Polygon(inner), turn, origin=(0, 0))
        fits = fits_within(inner, outer, shift_x_mm=0.0, shift_y_mm=0.0, turn_deg=turn, margin_mm=margin)
        answers.append(fits)
        # The library rounds the corners that bend inwards with chords: hence a hair to either side.
        if fits:
            assert Polygon(outer).buffer(-(margin - 1e-3), quad_segs=64).contains(moved)
        else:
            assert not Polygon(outer).buffer(-(margin + 1e-3), quad_segs=64).contains(moved)
    assert 15 < sum(answers) < 135


@every_shape
def test_the_largest_re_edge_is_the_largest_of_all_frames_tried(maker) -> None:
    rng = np.random.default_rng(13)
    smaller, none = 0, 0
    for _ in range(60):
        old = a_shape(rng, maker, rng.uniform(50, 60), rng.uniform(38, 48))
        new = old * rng.uniform(0.7, 1.0) if rng.random() < 0.5 else a_shape(rng, smooth, 40, 26)
        place = a_place(rng, new)
        found = largest_re_edge(new, old, **place, least_scale=0.3)
        old_lens, margin = Polygon(old), place["margin_mm"]
        tried = [s for s in np.linspace(1.0, 0.3, 300) if can_be_cut(placed(new, s, place), old_lens, margin)]
        if found is None:
            none += 1
            assert not tried
            continue
        smaller += found.scale < 1.0
        assert not tried or tried[0] <= found.scale + 1e-9
        at_it = placed(new, found.scale, place)
        assert old_lens.buffer(1e-6).contains(at_it)
        assert at_it.boundary.distance(old_lens.boundary) >= margin - 1e-6
        assert found.clearance_mm == pytest.approx(at_it.boundary.distance(old_lens.boundary), abs=1e-6)
        assert (found.a_mm, found.b_mm) == pytest.approx(found.scale * np.ptp(new, axis=0), abs=1e-12)
        if found.scale < 1.0:
            assert not can_be_cut(placed(new, found.scale + 1e-6, place), old_lens, margin)
    assert smaller >= 8
    assert none >= 8


def test_a_lens_between_two_notches_is_not_taken_to_fit_because_its_corners_do() -> None:
    # Each notch reaches through the new lens and beyond it, narrower than the way between two corners.
    notched = np.array(
        [[30, -20], [30, 20], [1, 20], [0, -19], [-1, 20], [-30, 20], [-30, -20]], dtype=float
    )  # fmt: skip
    plate = np.array([[10.0, 10.0], [-10.0, 10.0], [-10.0, -10.0], [10.0, -10.0]])
    assert not Polygon(notched).contains(Polygon(plate))
    assert clearance_within(plate, notched, shift_x_mm=0.0, shift_y_mm=0.0, turn_deg=0.0) is None
    aside = clearance_within(plate, notched, shift_x_mm=15.0, shift_y_mm=0.0, turn_deg=0.0)
    assert aside == pytest.approx(
        Polygon(np.add(plate, (15, 0))).boundary.distance(Polygon(notched).boundary), abs=1e-12
    )


def test_the_same_frame_with_an_exact_centre_and_no_turn_is_saved_whole() -> None:
    shapes = [RECTANGLE, rounded_rectangle(a_mm=54.0, b_mm=40.0, ed_mm=58.0), *(
        a_shape(np.random.default_rng(seed), maker, 54, 40) for seed in range(10) for maker in MAKERS.values()
    )]  # fmt: skip
    for shape in shapes:
        for eye, x in (("right", 4.0), ("left", -4.0)):
            found = largest_re_edge(shape, shape, **(EXACT | {"eye": eye, "centre_x_mm": x}))
            assert found == ReEdge(1.0, pytest.approx(54.0), pytest.approx(40.0), pytest.approx(0.0, abs=1e-7))


def test_a_rectangle_that_is_off_in_height_loses_twice_the_error_of_its_height() -> None:
    # The side facing the nose stays, touching; above it B/2 less the error is left: scale x B/2 + 1 = B/2.
    found = largest_re_edge(RECTANGLE, RECTANGLE, **(EXACT | {"centre_y_mm": 1.0}))
    assert found is not None
    assert found.scale == pytest.approx(1 - 1 / 20, abs=1e-7)
    # And off towards the temple by 1.5 as well, with a margin of 0.5 all round, the temple asks for more:
    # from the side that stays, 1.5 mm within the old lens, scale x 54 + 1.5 + 0.5 = 54.
    place = EXACT | {"centre_x_mm": 2.5, "centre_y_mm": 1.5, "margin_mm": 0.5}
    found = largest_re_edge(RECTANGLE, RECTANGLE, **place)
    assert found is not None
    assert found.scale == pytest.approx(min((54 - 1.5 - 0.5) / 54, (20 - 0.5 - 0.5) / 20), abs=1e-7)
    assert found.clearance_mm == pytest.approx(0.5, abs=1e-6)


@pytest.mark.parametrize("turn", [0.0, 37.0, -120.0])
def test_round_lenses_follow_the_closed_form_whatever_the_turn(turn: float) -> None:
    # Circle of radius 24 from one of radius 27, its centre 1.2 mm too far out and 0.5 too high. Middles are apart by
    # d(s) = |pupil(s) less centre|, and s 24 + d(s) + margin = 27 where the largest one touches the margin. (The turn
    # is about the optical centre, so that it does matter where the middle of the old lens goes.)
    turns = np.radians(np.arange(0, 360, 0.5))
    circle = np.column_stack([np.cos(turns), np.sin(turns)])
    frame_pd, pd, margin = 48 + 20, 30.0, 0.4
    centre = np.array([(frame_pd / 2 - pd) - 1.2, 0.5])
    place = {
        "eye": "right", "centre_x_mm": centre[0], "centre_y_mm": centre[1], "pd_mm": pd, "dbl_mm": 20.0, "up_mm": 0.0,
        "turn_deg": turn, "margin_mm": margin,
    }  # fmt: skip
    found = largest_re_edge(24 * circle, 27 * circle, **place)

    def need(scale: float) -> float:
        angle = math.radians(-turn)
        pupil = np.array([(48 * scale + 20) / 2 - pd, 0.0])
        back = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        return 24 * scale + float(np.hypot(*(centre - back @ pupil))) + margin

    low, high = 0.5, 1.0
    assert need(low) < 27
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if need(middle) <= 27 else (low, middle)
    assert found is not None
    assert found.scale == pytest.approx(low, abs=3e-5)  # 720 chords in place of each circle


def test_a_corner_keeps_the_margin_from_a_corner() -> None:
    # The tip of a notch lies up and out from the new lens's corner, which goes along (27 - 40 s, 15 s) as it shrinks
    # towards (27, 0). It comes to be 4 mm from the tip at (-15, 17) where (42 - 40 s)^2 + (15 s - 17)^2 = 4^2.
    notched = np.array(
        [[60, -60], [60, 60], [-45, 60], [-15, 17], [-60, 45], [-60, -60]], dtype=float
    )  # fmt: skip
    found = largest_re_edge(boxed(RECTANGLE, 40, 30), notched, **(EXACT | {"margin_mm": 4.0}))
    assert found is not None
    assert found.scale == pytest.approx((3870 - math.sqrt(3870**2 - 4 * 1825 * 2037)) / (2 * 1825), abs=1e-6)


def test_a_smaller_frame_is_not_always_easier() -> None:
    # A notch in the old lens at the middle of its nasal side, where the new lens shrinks to; and a temple cut short.
    old = np.array([[27, 20], [-25, 20], [-25, -20], [27, -20], [27, -9], [22, 0], [27, 9]], dtype=float)
    new = np.array([[27, 19], [-27, 19], [-27, -19], [27, -19], [27, -14], [12, 0], [27, 14]], dtype=float)
    found = largest_re_edge(new, old, **EXACT)
    assert found is not None
    assert found.scale == pytest.approx(52 / 54, abs=1e-7)  # from the nose to the temple, 54 x scale = 52
    lens = Polygon(old).buffer(1e-9)  # the nasal sides touch
    fits = [can_be_cut(placed(new, scale, EXACT), lens, 0.0) for scale in (1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4)]
    # 14 x scale must stay 9 or more for the corners beside the notch.
    assert fits == [False, True, True, True, False, False, False]
    short = np.array([[27, 20], [10, 20], [10, -20], [27, -20], [27, -9], [22, 0], [27, 9]], dtype=float)
    assert largest_re_edge(new, short, **EXACT, least_scale=0.01) is None


def test_a_turn_adds_to_the_axis_of_the_old_lens() -> None:
    # An old lens whose axis was to be 90 and is 80; it lies upright when it is turned by +10 about its centre.
    turned = affinity.rotate(Polygon(RECTANGLE), -10, origin=(4.0, 2.0))
    old = np.array(turned.exterior.coords)[:-1]
    upright = largest_re_edge(RECTANGLE, old, **(EXACT | {"turn_deg": 10.0}))
    assert upright is not None
    assert upright.scale == 1.0
    the_wrong_way = largest_re_edge(RECTANGLE, old, **(EXACT | {"turn_deg": -10.0}))
    assert the_wrong_way is None or the_wrong_way.scale < 0.9


@every_shape
def test_a_wider_margin_never_leaves_more_and_a_mirrored_pair_mirrors(maker) -> None:
    rng = np.random.default_rng(14)
    for _ in range(40):
        old = a_shape(rng, maker, 58, 46)
        new = old * 0.8
        place = a_place(rng, new)
        last = 1.0
        for margin in (0.0, 0.2, 0.5, 1.0, 2.0):
            place["margin_mm"] = margin
            found = largest_re_edge(new, old, **place, least_scale=0.2)
            scale = 0.0 if found is None else found.scale
            assert scale <= last + 1e-12
            last = scale
            other = largest_re_edge(
                new[::-1] * (-1, 1), old[::-1] * (-1, 1), least_scale=0.2,
                **(place | {
                    "eye": "left" if place["eye"] == "right" else "right",
                    "centre_x_mm": -place["centre_x_mm"], "turn_deg": -place["turn_deg"],
                }),
            )  # fmt: skip
            assert (0.0 if other is None else other.scale) == pytest.approx(scale, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(-60, 60), st.floats(-60, 60), st.sampled_from([0.0, 30.0, 90.0, 180.0, -45.0]),
    st.sampled_from(["points-reversed", "repeated", "from-another-point"]),
)  # fmt: skip
def test_how_the_outlines_are_told_and_where_they_lie_makes_no_difference(
    x: float, y: float, turn: float, way: str
) -> None:
    rng = np.random.default_rng(15)
    old, new = a_shape(rng, smooth, 58, 46), a_shape(rng, smooth, 44, 32)
    place = EXACT | {"margin_mm": 0.3, "pd_mm": 29.0}
    plain = largest_re_edge(new, old, **place, least_scale=0.1)
    told = {
        "points-reversed": lambda ring: ring[::-1],
        "repeated": lambda ring: np.repeat(ring, 2, axis=0),
        "from-another-point": lambda ring: np.roll(ring, 3, axis=0),
    }[way]
    angle = math.radians(turn)
    matrix = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    centre = matrix @ (place["centre_x_mm"], place["centre_y_mm"]) + (x, y)
    # An old lens that lay elsewhere and turned is the same lens, turned back.
    moved = largest_re_edge(
        told(new), told(old) @ matrix.T + (x, y), least_scale=0.1,
        **(place | {"centre_x_mm": centre[0], "centre_y_mm": centre[1], "turn_deg": -turn}),
    )  # fmt: skip
    assert plain is not None
    assert moved is not None
    assert moved.scale == pytest.approx(plain.scale, abs=1e-9)


def test_outlines_that_are_none_are_refused_by_their_names() -> None:
    good = RECTANGLE
    for bad in ([[0.0, 0.0]], [[0.0, 0.0]] * 5, [[0.0, 0.0], [1.0, 0.0], [math.nan, 2.0]], "points"):
        for name, given_points in (("points", (bad, good)), ("within", (good, bad))):
            with pytest.raises(DomainError) as refusal:
                largest_re_edge(*given_points, **EXACT)
            assert refusal.value.argument == name
            with pytest.raises(DomainError) as refusal:
                clearance_within(*given_points, shift_x_mm=0.0, shift_y_mm=0.0, turn_deg=0.0)
            assert refusal.value.argument == name


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("pd_mm", 0.0),
        ("dbl_mm", -0.1),
        ("margin_mm", -1e-9),
        ("least_scale", 0.0),
        ("least_scale", 1.01),
        ("eye", "od"),
    ],
)
def test_figures_out_of_range_are_refused_by_name(name: str, value: float) -> None:
    with pytest.raises(DomainError) as refusal:
        largest_re_edge(RECTANGLE, RECTANGLE, **(EXACT | {name: value}))
    assert refusal.value.argument == name
