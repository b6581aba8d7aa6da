"""The plot of a batch: every mark where its figures say, told apart by form, and no words on others.

All batches are invented. What is drawn is read back from the SVG; nothing but `plot` is asked of the code that draws.
"""

import hashlib
import math
import os
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from drawn_svg import SPACE, Box, DrawnSvg, Words, overlapping
from test_drawing_words import ALLOWED, HOSTILE

from service.drawing.pdf_writer import pdf_of
from service.drawing.plot import Mark, Panel, plot
from service.drawing.scene import Scene
from service.drawing.svg_writer import svg_of

HERE = Path(__file__).resolve().parent
REACH = 1.25
COUNTS = [1, 2, 3, 7, 12, 20, 35, 59, 60, 61, 99, 100, 130, 199, 200]
FIGURE = re.compile(r"[+-]\d+\.\d")


def batch(count: int, panels: int, seed: int = 1, beyond: float = 0.08) -> tuple[Panel, ...]:
    """A batch whose marks are right, left or of the pair, and some far out."""
    rng = random.Random(seed)
    drawn = []
    for number in range(panels):
        marks = []
        for pair in range(1, count + 1):
            for eye in (None,) if number % 3 == 2 else ("right", "left"):
                share = rng.gauss(0.0, 0.35)
                if rng.random() < beyond:
                    share = rng.choice([-1, 1]) * rng.uniform(1.0, 12.0)
                marks.append(Mark(pair, share, eye, abs(share) > 1.0))
        caption = f"{len(marks)} readings, mean +0.013 D, spread 0.041 D, from -0.12 to +0.21 D"
        drawn.append(Panel(f"Quantity {number + 1}", caption, tuple(marks)))
    return tuple(drawn)


def drawn(panels: tuple[Panel, ...], count: int) -> DrawnSvg:
    return DrawnSvg.read(svg_of(plot("Batch 7", "A batch of invented pairs.", panels, count)))


def frame(read: DrawnSvg, panel: int) -> Box:
    """The first line of a panel is the box around its marks."""
    points = read.paths(f"panel-{panel}-lines")[0]
    x, y = zip(*points, strict=True)
    return min(x), min(y), max(x), max(y)


def level(read: DrawnSvg, panel: int, share: float) -> float:
    """How far down the page a share is, by the lines at +1 and -1: the ones drawn in dashes."""
    dashed = [line for line in read.groups[f"panel-{panel}-lines"] if line.get("stroke-dasharray")]
    upper, lower = sorted(float(line.get("points", "").split()[0].split(",")[1]) for line in dashed)
    return (upper + lower) / 2 - share * (lower - upper) / 2


def forms(read: DrawnSvg, panel: int) -> list[tuple[str, float, float, float]]:
    """What the marks of a panel are made of, by looking at the elements: kind, middle, half the height."""
    found = []
    for element in read.groups[f"panel-{panel}-marks"]:
        filled = element.get("fill") == "black"
        if element.tag == f"{SPACE}circle":
            x, y, r = (float(element.get(name, "")) for name in ("cx", "cy", "r"))
            found.append(("disc" if filled else "ring", x, y, r))
            continue
        points = [tuple(map(float, pair.split(","))) for pair in element.get("points", "").split()]
        across, down = zip(*points, strict=True)
        x, y = (min(across) + max(across)) / 2, (min(down) + max(down)) / 2
        if filled and len(points) == 3:
            tip = points[2][1]
            kind = "arrow up" if tip < y else "arrow down"
        else:
            assert len(points) == 4
            assert not filled
            # The corners of a square are corners of its box; those of a diamond are the middles of the box's sides.
            kind = "square" if math.isclose(points[0][0], min(across)) and points[0][1] == min(down) else "diamond"
        found.append((kind, x, y, (max(down) - min(down)) / 2))
    return found


def test_each_eye_and_each_failure_has_a_form_of_its_own() -> None:
    marks = (
        Mark(1, 0.5, "right", False), Mark(1, -0.5, "left", False), Mark(2, 0.25, None, False),
        Mark(3, 1.1, "right", True), Mark(3, -1.2, "left", True), Mark(4, 3.5, None, True), Mark(5, -2.0, "left", True),
    )  # fmt: skip
    read = drawn((Panel("Sphere", "", marks),), 5)
    assert [kind for kind, *_ in forms(read, 1)] == [
        "disc", "ring", "diamond", "disc", "square", "ring", "square",
        "diamond", "square", "arrow up", "ring", "square", "arrow down",
    ]  # fmt: skip
    assert [words for words in read.texts("panel-1-words") if FIGURE.fullmatch(words)] == ["+3.5", "-2.0"]


def test_a_mark_that_fails_within_the_limits_or_passes_beyond_them_is_drawn_as_it_is_said() -> None:
    read = drawn((Panel("Axis", "", (Mark(1, 0.4, "right", True), Mark(2, 1.7, "right", False))),), 2)
    assert [kind for kind, *_ in forms(read, 1)] == ["disc", "square", "disc", "arrow up"]


@pytest.mark.parametrize("count", COUNTS)
def test_every_mark_is_at_its_share_and_at_its_pair(count: int) -> None:
    panels = batch(count, 3)
    # A quantity of the pair in the same column marks the middles of the pairs; the numbers below them are checked too.
    of_pairs = tuple(Mark(pair, 0.0, None, False) for pair in range(1, count + 1))
    read = drawn((*panels, Panel("Pair", "", of_pairs), Panel("Pair", "", of_pairs)), count)
    for number, panel in enumerate(panels, start=1):
        left, top, right, bottom = frame(read, number)
        level_with = next(each for each in (4, 5) if frame(read, each)[0] == left)
        at = [x for _, x, _, _ in forms(read, level_with)]
        assert all(0.9 * (right - left - 3.2) / count < two - one for one, two in pairwise(at))
        middles = [(x, y) for kind, x, y, _ in forms(read, number) if kind in ("disc", "ring", "diamond")]
        assert len(middles) == len(panel.marks)
        slot = (right - left) / count
        for mark, (x, y) in zip(panel.marks, middles, strict=True):
            shown = max(-REACH, min(REACH, mark.share))
            assert y == pytest.approx(level(read, number, shown), abs=0.002)
            assert abs(x - at[mark.number - 1]) <= 0.26 * slot
            assert top < y < bottom
        for eye, other in (("right", "left"), ("left", None)):
            # One eye's marks stand in the order of their pairs, and the right eye's before the left one's.
            own = [x for mark, (x, _) in zip(panel.marks, middles, strict=True) if mark.eye == eye]
            others = [x for mark, (x, _) in zip(panel.marks, middles, strict=True) if mark.eye == other]
            assert own == sorted(own)
            if other and own:
                assert all(one < two for one, two in zip(own, others, strict=True))


@pytest.mark.parametrize("count", COUNTS)
def test_marks_squares_and_arrows_stay_within_their_panel(count: int) -> None:
    panels = batch(count, 3, seed=2, beyond=0.3)
    read = drawn(panels, count)
    for number in range(1, 4):
        left, top, right, bottom = frame(read, number)
        for _, x, y, half in forms(read, number):
            assert top <= y - half
            assert y + half <= bottom
            assert left <= x - half
            assert x + half <= right


def test_eyes_of_one_pair_and_neighbours_do_not_hide_each_other_where_the_pairs_are_few() -> None:
    marks = tuple(Mark(pair, 0.1, eye, False) for pair in range(1, 21) for eye in ("right", "left"))
    rings = sorted((x, half) for _, x, _, half in forms(drawn((Panel("Add", "", marks),), 20), 1))
    assert all(x + half < after - its for (x, half), (after, its) in pairwise(rings))


@pytest.mark.parametrize("panels", [1, 2, 5, 12])
@pytest.mark.parametrize("count", COUNTS)
def test_words_stay_on_the_page_and_off_each_other(count: int, panels: int) -> None:
    read = drawn(batch(count, panels, seed=count), count)
    wide, high = read.page
    assert wide == 210.0
    left, top, right, bottom = read.bounds()
    assert left >= 9.9
    assert top >= 9.9
    assert right <= wide - 9.9
    assert bottom <= high - 9.9
    words = list(read.words())
    assert len(words) > 5 * panels
    assert overlapping(words) == []


@pytest.mark.parametrize("count", [12, 60, 200])
def test_where_all_is_far_out_the_farthest_keep_their_figures_and_the_rest_are_counted(count: int) -> None:
    rng = random.Random(4)
    marks = tuple(
        Mark(pair, rng.choice([-1, 1]) * rng.uniform(1.3, 40.0), eye, True)
        for pair in range(1, count + 1)
        for eye in ("right", "left")
    )
    read = drawn((Panel("Sphere", "", marks), Panel("Axis", "", ())), count)
    assert overlapping(list(read.words())) == []
    said = read.texts("panel-1-words")
    figures = sorted(float(words) for words in said if FIGURE.fullmatch(words))
    left_out = [re.fullmatch(r"no room for the figures of (\d+) more, up to (\S+)", words) for words in said]
    counted = sum(int(match[1]) for match in left_out if match)
    assert len(figures) + counted == len(marks)
    assert counted == 0 or count > 12
    shares = sorted(round(mark.share, 1) for mark in marks)
    assert figures[0] == shares[0]
    assert figures[-1] == shares[-1]
    assert "no readings" in read.texts("panel-2-words")


@pytest.mark.parametrize("count", range(1, 201))
def test_pairs_are_numbered_at_even_steps_below_their_marks(count: int) -> None:
    marks = tuple(Mark(pair, 0.0, None, False) for pair in range(1, count + 1))
    read = drawn((Panel("Add", "", marks), Panel("Prism", "", ())), count)
    at = {mark.number: x for mark, (_, x, _, _) in zip(marks, forms(read, 1), strict=True)}
    bottom = frame(read, 1)[3]
    numbers = {
        int(words.text): (words.box[0] + words.box[2]) / 2
        for words in read.words()
        if words.group == "panel-1-words" and words.box[1] > bottom
    }
    assert numbers
    assert all(x == pytest.approx(at[number], abs=0.01) for number, x in numbers.items())
    steps = {two - one for one, two in pairwise(list(numbers)[1:])}
    assert len(steps) <= 1
    assert steps <= {1, 2, 5, 10, 20, 50}
    assert len(numbers) == count or len(numbers) >= 8
    assert overlapping(list(read.words())) == []


def test_few_pairs_share_a_row_and_many_take_the_whole_width() -> None:
    for count, together in ((1, True), (60, True), (61, False), (200, False)):
        read = drawn(batch(count, 2), count)
        assert (frame(read, 1)[3] > frame(read, 2)[1]) == together
    alone = drawn(batch(12, 1), 12)
    assert frame(alone, 1)[2] - frame(alone, 1)[0] > 180.0


def test_twelve_quiet_panels_fit_a4() -> None:
    panels = tuple(Panel("Sphere", "mean +0.01 D", (Mark(1, 0.1, "right", False),)) for _ in range(12))
    assert plot("Batch", "", panels, 30).height_mm <= 297.0


def test_names_of_groups_are_unique_and_the_svg_is_plain_black_on_white() -> None:
    data = svg_of(plot("Batch", "Words for those who cannot see it.", batch(30, 12), 30))
    read = DrawnSvg.read(data)
    ids = [element.get("id") for element in read.root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert len(read.groups) == 2 + 3 * 12
    assert {element.tag.removeprefix(SPACE) for element in read.root.iter()} <= ALLOWED
    colours = {element.get(name) for element in read.root.iter() for name in ("fill", "stroke")}
    assert colours <= {None, "none", "black", "white"}
    assert read.root.findtext(f"{SPACE}title") == "Batch"
    assert read.root.findtext(f"{SPACE}desc") == "Words for those who cannot see it."


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_words_stay_words_and_on_the_page(name: str) -> None:
    words = HOSTILE[name]
    panels = tuple(Panel(words, words, (Mark(1, 2.0, "right", True),)) for _ in range(3))
    read = DrawnSvg.read(svg_of(plot(words, words, panels, 9)))
    assert {element.tag.removeprefix(SPACE) for element in read.root.iter()} <= ALLOWED
    assert all(line.box[0] >= 9.9 and line.box[2] <= 200.1 for line in read.words())
    assert overlapping(list(read.words())) == []


@pytest.mark.parametrize("share", [99.96, -1234.5, 1e6, -1e300])
def test_figures_beyond_all_measure_stay_short(share: float) -> None:
    read = drawn((Panel("Axis", "", (Mark(1, share, "left", True),)),), 1)
    (figure,) = [words for words in read.texts("panel-1-words") if words[0] in "+-" and words not in ("+1", "-1")]
    assert len(figure) <= 7
    assert float(figure) == pytest.approx(share, rel=0.5)


def test_the_same_batch_gives_the_same_bytes_in_another_process() -> None:
    fresh = (
        "import hashlib, sys; sys.path.insert(0, sys.argv[1]); from test_plot import batch, plot, svg_of;"
        "print(hashlib.sha256(svg_of(plot('B', 'D', batch(40, 6), 40))).hexdigest())"
    )
    said = subprocess.run(
        [sys.executable, "-c", fresh, str(HERE)],
        cwd=HERE.parents[1], env={**os.environ, "PYTHONHASHSEED": "777"}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    here = hashlib.sha256(svg_of(plot("B", "D", batch(40, 6), 40))).hexdigest()
    assert said.stdout.strip() == here


def test_the_same_page_is_written_as_pdf() -> None:
    scene = plot("Batch", "", batch(24, 4), 24)
    document = pdfium.PdfDocument(pdf_of(scene))
    assert len(document) == 1
    wide, high = document[0].get_size()
    assert (wide, high) == pytest.approx((210.0 * 72 / 25.4, scene.height_mm * 72 / 25.4), abs=0.1)


@pytest.mark.parametrize(
    ("panels", "count"),
    [
        ((), 3),
        ((Panel("Axis", "", ()),), 0),
        ((Panel("Axis", "", (Mark(4, 0.0, None, False),)),), 3),
        ((Panel("Axis", "", (Mark(0, 0.0, None, False),)),), 3),
        ((Panel("Axis", "", (Mark(1, math.nan, None, False),)),), 3),
        ((Panel("Axis", "", (Mark(1, math.inf, None, False),)),), 3),
    ],
)
def test_what_cannot_be_drawn_is_refused(panels: tuple[Panel, ...], count: int) -> None:
    with pytest.raises(ValueError, match=r"expected"):
        plot("Batch", "", panels, count)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None and not os.environ.get("CI"):
        pytest.skip("chromium is not installed: the plot was not tried in a browser")
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        yield opened.new_page()
        opened.close()


def shown_words(page: Any, scene: Scene) -> list[Words]:
    page.set_content("<!doctype html>" + svg_of(scene).decode().split("?>", 1)[1])
    boxes = page.evaluate(
        "() => [...document.querySelectorAll('svg text')].map(text => { const box = text.getBBox();"
        " return [text.textContent, [box.x, box.y, box.x + box.width, box.y + box.height]]; })"
    )
    return [Words("", text, tuple(box)) for text, box in boxes]


@pytest.mark.parametrize("count", [1, 12, 60, 200])
def test_in_a_browser_words_stay_on_the_page_and_off_each_other(browser: Any, count: int) -> None:
    scene = plot("Batch 7", "A batch of invented pairs.", batch(count, 12, beyond=0.2), count)
    words = shown_words(browser, scene)
    assert len(words) > 60
    assert all(w.box[0] >= 9.5 and w.box[2] <= 200.5 and w.box[3] <= scene.height_mm - 9.5 for w in words)
    assert overlapping(words, slack_mm=0.15) == []
