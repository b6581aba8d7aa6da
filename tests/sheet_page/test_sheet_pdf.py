"""The PDF, read with another library: one page of the right size, all the words, letters of 8 points or more, a code that
reads."""

import ctypes
import re

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
import zxingcpp
from sheet_cases import CASES, SIZES, page_of, words_of

from service.drawing.letters import eight_bit
from service.sheet_page import room
from service.sheet_page.pdf_writer import pdf

POINT_MM = 25.4 / 72.0
EVERY = [(name, size) for name in CASES for size in SIZES]
every_page = pytest.mark.parametrize(("name", "size"), EVERY)


def document(name: str, size: str) -> pdfium.PdfDocument:
    return pdfium.PdfDocument(pdf(page_of(name, size)))


def squeezed(words: str) -> str:
    """Without blanks, and without the marks at which a line may have ended."""
    return re.sub(r"[\s\u00a0\u00ad\u0002\ufffe]+", "", words)


@every_page
def test_there_is_one_page_of_the_size_that_was_asked_for(name: str, size: str) -> None:
    opened = document(name, size)
    assert len(opened) == 1
    expected = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[size]
    assert [side * POINT_MM for side in opened[0].get_size()] == pytest.approx(expected, abs=0.001)


@every_page
def test_everything_stands_within_the_margins(name: str, size: str) -> None:
    opened = document(name, size)
    wide, high = (side * POINT_MM for side in opened[0].get_size())
    for item in opened[0].get_objects():
        left, bottom, right, top = (side * POINT_MM for side in item.get_bounds())
        if right - left <= 0 and top - bottom <= 0:
            continue  # a line of blanks only
        assert left >= room.MARGIN_MM - 0.5
        assert right <= wide - room.MARGIN_MM + 0.5
        assert bottom >= room.MARGIN_MM - 0.5
        assert top <= high - room.MARGIN_MM + 0.5


@every_page
def test_all_the_words_of_the_page_can_be_read_from_it(name: str, size: str) -> None:
    text = squeezed(document(name, size)[0].get_textpage().get_text_range())
    for words in words_of(page_of(name, size)):
        # A hyphen at the end of a line is taken for one that parts a word, and left out, by the reading library.
        assert squeezed(eight_bit(words)).replace("-", "") in text.replace("-", ""), words


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["plain", "rejected", "crowded-review"])
def test_no_letter_is_smaller_than_8_points(name: str, size: str) -> None:
    smallest = 100.0
    for item in document(name, size)[0].get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        points = ctypes.c_float()
        assert raw.FPDFTextObj_GetFontSize(item.raw, points)
        smallest = min(smallest, points.value)
    assert smallest >= 8.0


@every_page
def test_the_code_reads_as_the_digest_printed_beside_it(name: str, size: str) -> None:
    found = page_of(name, size)
    picture = document(name, size)[0].render(scale=150 / 72, grayscale=True).to_pil()
    (read,) = zxingcpp.read_barcodes(picture)
    assert read.text == found.code
    assert re.fullmatch(r"benchgate:order:sha256:[0-9a-f]{64}", read.text)
    beside = next(line.words for line in found.head if line.label == "Order")
    assert beside.replace(" ", "").startswith(read.text.rpartition(":")[2][:12])


def test_the_page_is_black_on_white_alone() -> None:
    for name in ("plain", "rejected"):
        pixels = document(name, "a4")[0].render(scale=1.0).to_numpy()[:, :, :3].astype(int)
        assert abs(pixels.max(axis=2) - pixels.min(axis=2)).max() == 0


def test_the_document_says_what_it_is_and_nothing_of_who_and_when() -> None:
    said = document("plain", "a4").get_metadata_dict(skip_empty=True)
    assert said["Title"] == "Bench sheet W-1042"
    assert said["Producer"] == said["Creator"] == "benchgate"
    assert "Author" not in said
    assert said["CreationDate"].startswith("D:2000")
