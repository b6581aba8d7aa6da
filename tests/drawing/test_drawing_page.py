"""Nothing leaves the page, no words lie on others, and what does not fit at true size is refused with its sizes."""

import math
import random

import pytest
from drawing_sheets import CASES, lens, random_lens, sheet
from drawn_svg import DrawnSvg, overlapping

from service.drawing.sheet import LensDrawing, TooLargeError
from service.drawing.svg_writer import svg

PAGES = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
EDGE_MM = 9.9  # the margin of 10 mm, less half a stroke


def assert_within_the_page(page: DrawnSvg) -> None:
    left, top, right, bottom = page.bounds()
    assert left >= EDGE_MM
    assert top >= EDGE_MM
    assert right <= page.page[0] - EDGE_MM
    assert bottom <= page.page[1] - EDGE_MM


@pytest.mark.parametrize("page", ["a4", "letter"])
@pytest.mark.parametrize("name", CASES)
def test_everything_is_within_the_margins_of_both_pages(name: str, page: str) -> None:
    case = CASES[name]()
    read = DrawnSvg.read(svg(sheet(*case.lenses, page=page)))
    assert read.page == PAGES[page]
    assert_within_the_page(read)
    assert overlapping(list(read.words())) == []


@pytest.mark.parametrize("seed", range(50))
def test_random_plausible_pairs_stay_within_the_page_and_no_words_lie_on_others(seed: int) -> None:
    rng = random.Random(seed)
    lenses = [random_lens(rng, "right"), random_lens(rng, "left")]
    page = rng.choice(["a4", "letter"])
    read = DrawnSvg.read(svg(sheet(*lenses[: rng.choice([1, 2, 2])], page=page)))
    assert_within_the_page(read)
    assert overlapping(list(read.words())) == []
    # What names the eye and its sides is never left to the key.
    assert all(len(read.texts(name)) == 3 for name in read.groups if name.endswith("-sides"))


def along(corners: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Places on a closed line, at most 0.4 mm apart."""
    places = []
    for one, other in zip(corners, [*corners[1:], corners[0]], strict=True):
        count = math.ceil(math.dist(one, other) / 0.4) or 1
        steps = (step / count for step in range(count))
        places += [(one[0] + step * (other[0] - one[0]), one[1] + step * (other[1] - one[1])) for step in steps]
    return places


@pytest.mark.parametrize("seed", range(30))
def test_words_are_not_written_across_an_outline(seed: int) -> None:
    rng = random.Random(1000 + seed)
    read = DrawnSvg.read(svg(sheet(random_lens(rng, "right"), random_lens(rng, "left"))))
    for eye in ("right", "left"):
        shape = along(read.paths(f"{eye}-outline")[0])
        for words in read.words():
            left, top, right, bottom = words.box
            crossed = [(x, y) for x, y in shape if left < x < right and top < y < bottom]
            assert not crossed, words


@pytest.mark.parametrize("page", ["a4", "letter"])
@pytest.mark.parametrize("blank_mm", [40.0, 65.0, 80.0, 100.0, 120.0])
def test_blanks_up_to_120_fit_side_by_side_and_are_never_shrunk(page: str, blank_mm: float) -> None:
    pair = (lens("right", blank_mm=blank_mm, axis_deg=90.0), lens("left", blank_mm=blank_mm, axis_deg=180.0))
    read = DrawnSvg.read(svg(sheet(*pair, page=page)))
    assert_within_the_page(read)
    assert [read.circles(f"{eye}-blank")[0][2] for eye in ("right", "left")] == [blank_mm / 2.0] * 2
    (rx, _, r1), (lx, _, r2) = (read.circles(f"{eye}-blank")[0] for eye in ("right", "left"))
    assert lx - rx >= r1 + r2  # beside each other, not on each other


def wide_pair(a_mm: float) -> tuple[LensDrawing, LensDrawing]:
    """Two lenses that take 2 mm of centre line on each side, and 4 mm lie between them: 2 (A + 4) + 4."""
    return tuple(lens(eye, a_mm=a_mm, b_mm=60.0, blank_mm=None, axis_deg=None) for eye in ("right", "left"))


@pytest.mark.parametrize(("page", "a_mm"), [("a4", 132.4), ("letter", 123.6)])
def test_two_lenses_that_just_fit_side_by_side_are_drawn(page: str, a_mm: float) -> None:
    assert_within_the_page(DrawnSvg.read(svg(sheet(*wide_pair(a_mm), page=page))))


@pytest.mark.parametrize(("page", "a_mm", "room_mm"), [("a4", 132.6, 277.0), ("letter", 123.8, 259.4)])
def test_two_lenses_that_are_too_wide_together_are_refused_with_their_sizes(
    page: str, a_mm: float, room_mm: float
) -> None:
    with pytest.raises(TooLargeError) as refused:
        svg(sheet(*wide_pair(a_mm), page=page))
    assert refused.value.direction == "width"
    assert refused.value.needed_mm == pytest.approx(2.0 * (a_mm + 4.0) + 4.0)
    assert refused.value.available_mm == pytest.approx(room_mm)
    assert f"{refused.value.needed_mm:.1f} mm of width" in str(refused.value)
    assert f"{room_mm:.1f} mm" in str(refused.value)
    assert "each lens on a sheet of its own" in str(refused.value)
    assert svg(sheet(wide_pair(a_mm)[0], page=page))  # as it says, one by one they do


def test_a_lens_that_is_too_high_is_refused_with_its_size() -> None:
    with pytest.raises(TooLargeError) as refused:
        svg(sheet(lens("right", blank_mm=130.0, axis_deg=90.0)))
    assert refused.value.direction == "height"
    assert refused.value.needed_mm == pytest.approx(134.0)
    assert refused.value.available_mm == pytest.approx(126.0)


@pytest.mark.parametrize(("page", "blank_mm"), [("a4", 121.0), ("a4", 125.9), ("letter", 127.0), ("letter", 131.8)])
def test_just_below_the_limit_a_blank_is_drawn_whole(page: str, blank_mm: float) -> None:
    # An axis of 60 degrees reaches less high than the blank, so the blank alone decides.
    read = DrawnSvg.read(svg(sheet(lens("right", blank_mm=blank_mm, axis_deg=60.0), page=page)))
    assert_within_the_page(read)
    assert 2.0 * read.circles("right-blank")[0][2] == pytest.approx(blank_mm, abs=0.002)


@pytest.mark.parametrize(("page", "blank_mm"), [("a4", 126.1), ("a4", 131.8), ("letter", 132.0), ("letter", 150.0)])
def test_just_above_the_limit_it_is_refused(page: str, blank_mm: float) -> None:
    with pytest.raises(TooLargeError) as refused:
        svg(sheet(lens("right", blank_mm=blank_mm, axis_deg=60.0), page=page))
    assert refused.value.needed_mm == pytest.approx(blank_mm)
    assert refused.value.available_mm == pytest.approx({"a4": 126.0, "letter": 131.9}[page])


@pytest.mark.parametrize("figure", [float("nan"), float("inf")])
def test_a_figure_that_is_no_number_is_refused(figure: float) -> None:
    for change in (
        {"pupil": (figure, 0.0)},
        {"optical_centre": (0.0, figure)},
        {"outline": ((figure, 1.0),) * 30},
        {"axis_deg": figure},
    ):
        with pytest.raises(ValueError, match="finite figures"):
            svg(sheet(lens("right", blank_mm=None, **change)))


def test_none_three_or_twice_the_same_lens_are_refused() -> None:
    for lenses in ((), (lens("right"),) * 2, (lens("right"), lens("left"), lens("left"))):
        with pytest.raises(ValueError, match="right and a left"):
            svg(sheet(lens("right"), lenses=lenses))


def test_notes_that_do_not_fit_are_counted_not_dropped_in_silence() -> None:
    notes = tuple(
        f"Note {count}: the edge is thick at the temporal side, as the order would have it." for count in range(60)
    )
    read = DrawnSvg.read(svg(sheet(notes=notes)))
    assert_within_the_page(read)
    lines = read.texts("notes")
    shown = sum(line.startswith("Note ") for line in lines)
    assert lines[-1] == f"… and {60 - shown} more notes: see the answer"
    assert shown >= 10


def test_few_notes_are_shown_whole() -> None:
    notes = tuple(
        f"Note {count}: the edge is thick at the temporal side, as the order would have it." for count in range(9)
    )
    read = DrawnSvg.read(svg(sheet(notes=notes)))
    assert " ".join(read.texts("notes")) == " ".join(notes)
    assert_within_the_page(read)


def test_a_sheet_without_words_is_still_a_sheet() -> None:
    read = DrawnSvg.read(svg(sheet(title="", subtitle="", notes=())))
    assert_within_the_page(read)
    assert read.texts("heading") == ["Lens layout", "Lens layout at true size"]
    assert "notes" not in read.groups
