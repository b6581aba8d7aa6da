"""Distances in the SVG, measured on its XML, are those of the lens: true size, the right way round."""

import math
from dataclasses import replace

import pytest
from drawing_sheets import CASES, lens, on_blank, sheet, superellipse
from drawn_svg import DrawnSvg

from service.drawing.sheet import LensDrawing, Point, Sheet
from service.drawing.svg_writer import svg

CLOSE_MM = 0.05
every_case = pytest.mark.parametrize("name", CASES)


def drawn(what: Sheet) -> DrawnSvg:
    return DrawnSvg.read(svg(what))


def seen(page: DrawnSvg, eye: str, place: tuple[float, float]) -> Point:
    """A place of the page in the lens's own coordinates: from the boxed centre, y up."""
    x, y = page.boxed_centre(eye)
    return place[0] - x, y - place[1]


def near(one: Point, other: Point, by_mm: float = CLOSE_MM) -> bool:
    return math.dist(one, other) <= by_mm


def lopsided() -> LensDrawing:
    """No symmetry at all, so that nothing turned or mirrored looks right."""
    points = [(x + 4.0 * math.sin(y / 9.0), y + 3.0 * math.cos(x / 7.0)) for x, y in superellipse(50.0, 36.0)]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(y for _, y in points), max(y for _, y in points)
    shape = tuple((x - (left + right) / 2.0, y - (low + high) / 2.0) for x, y in points)
    return on_blank(lens("right", outline=shape, axis_deg=35.0, blank_mm=None), 72.0, (3.0, 1.0))


@every_case
def test_every_point_of_the_outline_is_where_the_lens_has_it(name: str) -> None:
    case = CASES[name]()
    page = drawn(case)
    for each in case.lenses:
        (shape,) = page.paths(f"{each.eye}-outline")[:1]
        assert len(shape) == len(each.outline)
        assert all(near(seen(page, each.eye, place), point) for place, point in zip(shape, each.outline, strict=True))


@every_case
def test_the_outline_is_as_wide_and_high_as_the_lens(name: str) -> None:
    case = CASES[name]()
    page = drawn(case)
    for each in case.lenses:
        for side in (0, 1):
            measured = [place[side] for place in page.paths(f"{each.eye}-outline")[0]]
            true = [point[side] for point in each.outline]
            assert max(measured) - min(measured) == pytest.approx(max(true) - min(true), abs=CLOSE_MM)


@every_case
def test_the_box_touches_the_outline_on_four_sides(name: str) -> None:
    case = CASES[name]()
    page = drawn(case)
    for each in case.lenses:
        (corners,) = page.paths(f"{each.eye}-box")[:1]
        shape = page.paths(f"{each.eye}-outline")[0]
        for side in (0, 1):
            assert min(c[side] for c in corners) == pytest.approx(min(p[side] for p in shape), abs=0.002)
            assert max(c[side] for c in corners) == pytest.approx(max(p[side] for p in shape), abs=0.002)


@every_case
def test_circles_have_the_blanks_size_and_place(name: str) -> None:
    case = CASES[name]()
    page = drawn(case)
    for each in case.lenses:
        if each.blank_mm is None or each.blank_middle is None or each.usable_mm is None:
            assert not {f"{each.eye}-blank", f"{each.eye}-usable", f"{each.eye}-tightest"} & page.groups.keys()
            continue
        for part, diameter in (("blank", each.blank_mm), ("usable", each.usable_mm)):
            ((x, y, radius),) = page.circles(f"{each.eye}-{part}")
            assert 2.0 * radius == pytest.approx(diameter, abs=CLOSE_MM)
            assert near(seen(page, each.eye, (x, y)), each.blank_middle)


@every_case
def test_the_pupil_and_the_optical_centre_are_where_the_order_has_them(name: str) -> None:
    case = CASES[name]()
    page = drawn(case)
    for each in case.lenses:
        ((x, y, _),) = page.circles(f"{each.eye}-pupil")
        assert near(seen(page, each.eye, (x, y)), each.pupil)
        ((x, y, _),) = page.circles(f"{each.eye}-optical-centre")
        assert near(seen(page, each.eye, (x, y)), each.optical_centre)


@pytest.mark.parametrize("axis", [1.0, 10.0, 45.0, 89.5, 90.0, 135.0, 170.0, 180.0])
@pytest.mark.parametrize("eye", ["right", "left"])
def test_the_axis_runs_counter_clockwise_from_the_observers_right_for_both_eyes(eye: str, axis: float) -> None:
    each = lens(eye, axis_deg=axis, optical_centre=(2.0, -1.0), pupil=(3.0, 1.0))
    page = drawn(sheet(each))
    whole = [seen(page, eye, place) for place in page.paths(f"{eye}-axis")[0]]
    (x1, y1), (x2, y2) = whole
    assert math.degrees(math.atan2(y1 - y2, x1 - x2)) == pytest.approx(axis, abs=0.05)
    across, up = x1 - x2, y1 - y2
    off = ((2.0 - x2) * up - (-1.0 - y2) * across) / math.hypot(across, up)
    assert abs(off) <= CLOSE_MM  # it goes through the optical centre
    assert all(math.dist(end, (2.0, -1.0)) > 35.0 for end in whole)  # both ends show beyond a blank of 70


def test_a_lens_without_cylinder_has_no_axis() -> None:
    page = drawn(sheet(lens("right", axis_deg=None)))
    assert "right-axis" not in page.groups
    assert not any("axis" in words.text for words in page.words())


@pytest.mark.parametrize("blank_mm", [58.0, 61.0, 64.5, 70.0, 80.0])
def test_the_tightest_stroke_is_as_long_as_the_margin(blank_mm: float) -> None:
    each = lens("left", blank_mm=blank_mm)
    assert each.tightest
    assert each.tightest_margin_mm
    assert each.blank_middle
    page = drawn(sheet(each))
    ends = [seen(page, "left", place) for place in page.paths("left-tightest")[0]]
    assert math.dist(*ends) == pytest.approx(abs(each.tightest_margin_mm), abs=0.01)
    assert near(ends[0], each.tightest)
    assert math.dist(ends[1], each.blank_middle) == pytest.approx((blank_mm - 2.0) / 2.0, abs=0.01)
    figure = f"{'lacks ' if each.tightest_margin_mm < 0.0 else ''}{abs(each.tightest_margin_mm):.2f} mm"
    assert figure in page.texts("left-tightest")


def test_arrows_point_at_both_ends_of_the_tightest_stroke_from_outside_it() -> None:
    each = lens("right", blank_mm=60.0)
    page = drawn(sheet(each))
    stroke, *rest = page.paths("right-tightest")
    tips = [path[0] for path in rest if len(path) == 3]
    assert sorted(tips) == sorted(stroke)
    for path in (path for path in rest if len(path) == 3):
        middle = ((stroke[0][0] + stroke[1][0]) / 2.0, (stroke[0][1] + stroke[1][1]) / 2.0)
        assert all(math.dist(corner, middle) > math.dist(path[0], middle) for corner in path[1:])


def test_a_lopsided_lens_is_neither_turned_nor_mirrored() -> None:
    each = lopsided()
    page = drawn(sheet(each))
    shape = [seen(page, "right", place) for place in page.paths("right-outline")[0]]
    assert all(near(one, other, 0.002) for one, other in zip(shape, each.outline, strict=True))
    assert not all(near((-x, y), point, 1.0) for (x, y), point in zip(shape, each.outline, strict=True))


@every_case
def test_the_right_lens_is_on_the_observers_left_and_nasal_is_toward_the_other_eye(name: str) -> None:
    page = drawn(CASES[name]())
    places = {(words.group, words.text): words.box[0] for words in page.words()}
    for eye, toward in (("right", 1.0), ("left", -1.0)):
        if f"{eye}-sides" not in page.groups:
            continue
        middle = page.boxed_centre(eye)[0]
        assert (places[f"{eye}-sides", "nasal"] - middle) * toward > 0.0
        assert (places[f"{eye}-sides", "temporal"] - middle) * toward < 0.0
        assert (f"{eye}-sides", eye[0].upper()) in places
    if {"right-sides", "left-sides"} <= page.groups.keys():
        assert page.boxed_centre("right")[0] < page.boxed_centre("left")[0]


def test_the_order_in_which_the_lenses_come_does_not_matter() -> None:
    right, left = lens("right"), lens("left")
    assert svg(sheet(right, left)) == svg(sheet(left, right))


@every_case
def test_the_check_square_and_the_scale_bar_measure_50_mm(name: str) -> None:
    page = drawn(CASES[name]())
    (corners,) = page.paths("check-square")
    left, top = corners[0]
    expected = [(left, top), (left + 50.0, top), (left + 50.0, top + 50.0), (left, top + 50.0)]
    assert all(near(one, other, 0.0015) for one, other in zip(corners, expected, strict=True))
    bar, *ticks = page.paths("scale-bar")
    assert math.dist(*bar) == pytest.approx(50.0, abs=0.0015)
    assert [tick[0][0] - bar[0][0] for tick in ticks] == pytest.approx([0, 10, 20, 30, 40, 50], abs=0.0015)
    assert page.texts("scale-bar") == ["Seen from the front", "0", "10", "20", "30", "40", "50 mm"]
    assert (
        " ".join(page.texts("check-square")) == "This square is 50 mm wide and high when printed at 100 % (no scaling)"
    )


@every_case
def test_the_centre_line_is_level_with_the_boxed_centre_and_both_lenses_are_level(name: str) -> None:
    case = CASES[name]()
    page = drawn(case)
    levels = {page.boxed_centre(each.eye)[1] for each in case.lenses}
    for each in case.lenses:
        ((_, y1), (_, y2)) = page.paths(f"{each.eye}-centre-line")[0]
        assert {y1, y2} == {page.boxed_centre(each.eye)[1]}
    assert len(levels) == 1


def test_what_sits_together_is_labelled_once() -> None:
    same, moved = lens("right"), lens("left", optical_centre=(-2.0, 2.0))
    page = drawn(sheet(same, moved))
    assert page.texts("right-pupil") == ["pupil, optical centre"]
    assert page.texts("right-optical-centre") == []
    assert page.texts("left-pupil") == ["pupil"]
    assert page.texts("left-optical-centre") == ["optical centre"]


def test_a_modelled_outline_is_dashed_and_says_that_nothing_is_to_be_laid_on_it() -> None:
    page = drawn(sheet(lens("right", modelled=True), lens("left")))
    (shape,) = (e for e in page.groups["right-outline"] if e.tag.endswith("polygon"))
    assert shape.get("stroke-dasharray")
    assert " ".join(page.texts("right-outline")) == "modelled outline, not for laying on"
    assert any("modelled outline, not for laying on" in words for words in page.texts("right-key"))
    (real,) = (e for e in page.groups["left-outline"] if e.tag.endswith("polygon"))
    assert real.get("stroke-dasharray") is None
    assert not any("modelled" in words for words in page.texts("left-key"))


def test_the_key_says_the_figures_of_the_lens_in_the_words_of_the_trade() -> None:
    right = lens("right", optical_centre=(3.2, -1.6), blank_middle=(1.0, -1.6))
    left = replace(lens("left", blank_mm=None, height_known=False, up_mm=0.0, axis_deg=None), pupil=(3.0, 0.0))
    page = drawn(sheet(right, left))
    assert page.texts("right-key")[0].endswith("-2.25 -0.75 x 010")
    said = " | ".join(page.texts("right-key"))
    for words in (
        "outline, 54.00 x 40.00 mm",
        "pupil 4.50 in, 2.00 up mm",
        "optical centre 3.20 in, 1.60 down mm",
        "blank Ø 70 mm, middle 1.00 in, 1.60 down mm",
        "usable Ø 68 mm",
        "axis 010",
        f"tightest: {right.tightest_words}",
    ):
        assert words in said
    said = " ".join(page.texts("left-key"))
    assert "pupil 3.00 out mm; height not given: on the centre line" in said
    assert "no blank given" in said
    assert "axis" not in said
