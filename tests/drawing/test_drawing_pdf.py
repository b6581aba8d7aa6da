"""The PDF, read with another library: exact page, true size on paper, the SVG's lines and words, no typeface of its own."""

import ctypes

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from drawing_sheets import CASES
from drawn_svg import SPACE, DrawnSvg

from service.drawing.pdf_writer import pdf
from service.drawing.svg_writer import svg

POINT_MM = 25.4 / 72.0
DPI = 300
every_case = pytest.mark.parametrize("name", CASES)
Box = tuple[float, float, float, float]


def document(name: str) -> pdfium.PdfDocument:
    return pdfium.PdfDocument(pdf(CASES[name]()))


def path_points(item: pdfium.PdfObject) -> list[tuple[float, float]]:
    """The points a path is drawn through, in mm from the lower left corner of the page."""
    x, y = ctypes.c_float(), ctypes.c_float()
    found = []
    for count in range(raw.FPDFPath_CountSegments(item.raw)):
        segment = raw.FPDFPath_GetPathSegment(item.raw, count)
        assert raw.FPDFPathSegment_GetPoint(segment, x, y)
        found.append((x.value * POINT_MM, y.value * POINT_MM))
    return found


def path_boxes(opened: pdfium.PdfDocument) -> list[Box]:
    """Left, top, right, bottom of every path, from the upper left corner of the page, without strokes."""
    high = opened[0].get_height() * POINT_MM
    boxes = []
    for item in opened[0].get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        across, up = zip(*path_points(item), strict=True)
        boxes.append((min(across), high - max(up), max(across), high - min(up)))
    return boxes


def square_box(opened: pdfium.PdfDocument) -> Box:
    found = [box for box in path_boxes(opened) if abs(box[2] - box[0] - 50) < 0.5 and abs(box[3] - box[1] - 50) < 0.5]
    assert len(found) == 1
    return found[0]


@every_case
def test_the_page_has_the_exact_size(name: str) -> None:
    opened = document(name)
    assert len(opened) == 1
    expected = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}[CASES[name]().page]
    assert [side * POINT_MM for side in opened[0].get_size()] == pytest.approx(expected, abs=0.001)


@every_case
def test_the_check_square_is_50_mm_wide_and_high(name: str) -> None:
    left, top, right, bottom = square_box(document(name))
    assert right - left == pytest.approx(50.0, abs=0.01)
    assert bottom - top == pytest.approx(50.0, abs=0.01)


@pytest.mark.parametrize("name", ["everyday", "letter", "one-lens"])
def test_a_print_at_300_dots_an_inch_shows_a_square_of_50_mm(name: str) -> None:
    opened = document(name)
    grey = opened[0].render(scale=DPI / 72.0, grayscale=True).to_numpy().squeeze()
    left, top, right, bottom = (round(side / 25.4 * DPI) for side in square_box(opened))
    # Along a line near the lower edge, where no words are, and along one near the left edge.
    across = grey[bottom - 40, left - 30 : right + 30]
    down = grey[top - 8 : bottom + 8, left + 40]
    for run in (across, down):
        assert stroke_distance(run) == pytest.approx(50.0 / 25.4 * DPI, abs=1.0)


def stroke_distance(run: np.ndarray) -> float:
    """From the middle of the first dark stroke to the middle of the last, in dots, weighed by darkness."""
    dark = 255.0 - run.astype(float)
    places = np.arange(dark.size)
    half = dark.size // 2
    first, last = (np.average(places[part], weights=dark[part]) for part in (slice(None, half), slice(half, None)))
    return float(last - first)


@every_case
def test_the_pdf_has_the_lines_of_the_svg_in_the_same_places(name: str) -> None:
    read = DrawnSvg.read(svg(CASES[name]()))
    expected: list[Box] = []
    for group in read.groups.values():
        for element in group:
            if element.tag == f"{SPACE}circle":
                x, y, r = (float(element.get(key, "")) for key in ("cx", "cy", "r"))
                expected.append((x - r, y - r, x + r, y + r))
            elif element.tag != f"{SPACE}text":
                pairs = [pair.split(",") for pair in element.get("points", "").split()]
                across, down = zip(*((float(x), float(y)) for x, y in pairs), strict=True)
                expected.append((min(across), min(down), max(across), max(down)))
    assert np.array(path_boxes(document(name))) == pytest.approx(np.array(expected), abs=0.002)


@every_case
def test_no_typeface_is_embedded(name: str) -> None:
    data = pdf(CASES[name]())
    assert b"FontFile" not in data
    faces = set()
    for item in pdfium.PdfDocument(data)[0].get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        font = raw.FPDFTextObj_GetFont(item.raw)
        assert raw.FPDFFont_GetIsEmbedded(font) == 0
        buffer = ctypes.create_string_buffer(100)
        raw.FPDFFont_GetBaseFontName(font, buffer, 100)
        faces.add(buffer.value.decode())
    assert faces == {"Helvetica", "Helvetica-Bold"}


@every_case
def test_there_are_lines_and_words_only_and_no_picture(name: str) -> None:
    kinds = {item.type for item in document(name)[0].get_objects()}
    assert kinds == {raw.FPDF_PAGEOBJ_PATH, raw.FPDF_PAGEOBJ_TEXT}


def test_the_document_says_what_it_is_and_nothing_of_who_and_when() -> None:
    said = document("everyday").get_metadata_dict(skip_empty=True)
    assert said["Title"] == "W-1042"
    assert said["Producer"] == said["Creator"] == "benchgate"
    assert "Author" not in said
    assert said["CreationDate"].startswith("D:2000")  # the same for every sheet


def test_a_print_dialogue_is_asked_to_offer_true_size() -> None:
    opened = document("everyday")
    assert not raw.FPDF_VIEWERREF_GetPrintScaling(opened.raw)
