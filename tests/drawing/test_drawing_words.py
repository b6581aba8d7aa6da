"""Words from outside are data: whatever they hold, both files stay sound, and the words stay on the page."""

import ctypes
import re
import unicodedata

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from drawing_sheets import lens, sheet
from drawn_svg import SPACE, DrawnSvg
from hypothesis import given, settings
from hypothesis import strategies as st

from service.drawing.letters import broken, clean, cut, width
from service.drawing.pdf_writer import pdf
from service.drawing.svg_writer import svg

HOSTILE = {
    "script": "<script>alert(1)</script>",
    "markup": '"/><image href="http://elsewhere.example/x.png"/>',
    "entity": "&lt;b&gt; &amp; &#x0; ]]>",
    "quotes": "'W' \"1042\" `x` \\ %s {0} (unbalanced ((",
    "emoji": "W-1042 👓🕶️ 👨‍👩‍👧",
    "controls": "W\x00-\x0710\x1b[31m42\r\n\t\x85\x9d",
    "long": "W" * 100,
    "longer": "A reference that somebody wrote at length " * 40,
    "turned": "\u202eW-1042\u202c \u200f\u2067left\u2069",
    "hebrew": "הזמנה 1042",
    "chinese": "訂單一千零四十二號" * 12,
    "half": "W\ud800-\udfff1042",
    "not-letters": "W\ufffe\uffff\ue000-1042",
    "accents": "Ångström, Dvořák, e\u0301te\u0301",
    "signs": "1.5 Δ base in, −2.25, ≥ 0.5 mm, 12° ± 1, ⌀ 70",
}
every_hostile = pytest.mark.parametrize("name", HOSTILE)
ALLOWED = {"svg", "title", "desc", "rect", "g", "polygon", "polyline", "circle", "text"}


def everywhere(words: str):
    """A sheet with the words at every place that words may come to."""
    right = lens("right", notation=words, tightest_words=words)
    return sheet(right, lens("left"), title=words, subtitle=words, notes=(words, words))


def lowest(read: DrawnSvg) -> float:
    return min(words.box[0] for words in read.words())


@every_hostile
def test_an_svg_with_hostile_words_is_sound_and_keeps_them_on_the_page(name: str) -> None:
    data = svg(everywhere(HOSTILE[name]))
    read = DrawnSvg.read(data)
    assert {element.tag.removeprefix(SPACE) for element in read.root.iter()} <= ALLOWED
    assert lowest(read) >= 9.9
    assert all(words.box[2] <= read.page[0] - 9.9 for words in read.words())
    for words in read.words():
        assert not any(unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Cn", "Co") for letter in words.text)


@every_hostile
def test_a_pdf_with_hostile_words_opens_and_shows_what_the_svg_shows(name: str) -> None:
    what = everywhere(HOSTILE[name])
    document = pdfium.PdfDocument(pdf(what))
    shown = [text for text in map(text_of, text_objects(document)) if text]
    expected = [words.text.encode("cp1252", "replace").decode("cp1252") for words in DrawnSvg.read(svg(what)).words()]
    assert [plain(text) for text in shown] == [plain(text) for text in expected if text]


def text_objects(document: pdfium.PdfDocument) -> list[pdfium.PdfObject]:
    return list(document[0].get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]))


def text_of(item: pdfium.PdfObject) -> str:
    page = item.page.get_textpage()
    length = raw.FPDFTextObj_GetText(item.raw, page.raw, None, 0)
    buffer = ctypes.create_string_buffer(length)
    raw.FPDFTextObj_GetText(item.raw, page.raw, ctypes.cast(buffer, ctypes.POINTER(raw.FPDF_WCHAR)), length)
    page.close()
    return buffer.raw.decode("utf-16-le").rstrip("\x00")


def plain(text: str) -> str:
    """Blanks of any kind count as one; a reader may take a hyphen for one that may be dropped at a line's end."""
    return re.sub(r"\s+", " ", text.replace("\u00a0", " ").replace("\x02", "-").replace("\u00ad", "-")).strip()


def test_plain_words_are_shown_as_they_are() -> None:
    read = DrawnSvg.read(svg(sheet(title="W-1042 <&> 'x'")))
    assert read.texts("heading")[0] == "W-1042 <&> 'x'"
    assert read.root.findtext(f"{SPACE}title") == "W-1042 <&> 'x'"


def test_blanks_that_keep_figures_apart_are_kept() -> None:
    read = DrawnSvg.read(svg(sheet()))
    assert read.texts("heading")[1] == "A 54\u00a0 B 40\u00a0 DBL 18 mm, frame PD 72 mm"


def test_a_long_reference_is_written_small_rather_than_cut() -> None:
    reference = "REF-" + "2026-0614/" * 9
    read = DrawnSvg.read(svg(sheet(title=reference)))
    assert read.texts("heading")[0] == reference


def test_signs_the_built_in_letters_lack_are_spelt_in_both_files() -> None:
    assert clean("1.5 Δ base in, −2.25, ≥ 0.5 mm") == "1.5 pd base in, -2.25, >= 0.5 mm"


def test_widths_are_those_of_the_letters_the_pdf_uses() -> None:
    """Against the metrics in reportlab, a general PDF library."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    letters = bytes(code for code in range(32, 256) if code not in (0x7F, 0x81, 0x8D, 0x8F, 0x90, 0x9D)).decode(
        "cp1252"
    )
    for bold, face in ((False, "Helvetica"), (True, "Helvetica-Bold")):
        for letter in letters:
            assert width(letter, 10.0, bold=bold) == pytest.approx(stringWidth(letter, face, 10.0)), letter


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=300), st.floats(8.0, 120.0), st.integers(1, 6))
def test_broken_lines_are_never_wider_than_the_room_nor_more_than_asked_for(words: str, room: float, most: int) -> None:
    lines = broken(clean(words), room, 2.6, most=most)
    assert len(lines) <= most
    assert all(width(line, 2.6) <= room + 1e-9 for line in lines)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.from_regex(r"[a-zA-Z0-9.,:+°-]{1,12}", fullmatch=True), min_size=1, max_size=30))
def test_no_word_is_lost_where_there_are_lines_enough(words: list[str]) -> None:
    assert " ".join(broken(" ".join(words), 40.0, 2.6, most=100)) == " ".join(words)


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=60))
def test_cleaning_twice_changes_no_more(words: str) -> None:
    once = clean(words)
    assert clean(once) == once
    once.encode()  # no half pairs are left


def test_what_is_cut_says_so() -> None:
    assert cut("a reference", 100.0, 3.0) == "a reference"
    short = cut("a reference that is long", 20.0, 3.0)
    assert short.endswith("…")
    assert "a reference that is long".startswith(short[:-1])
    assert width(short, 3.0) <= 20.0
