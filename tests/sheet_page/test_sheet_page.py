"""What stands on the page: all that must be seen, the gravest findings first, nothing of the request that could do harm."""

import random
import re
from dataclasses import fields
from typing import Any

import pytest
from sheet_cases import CASES, LETTERS, SIZES, crowded_order, page_of, sheet_of

from service.contract.answer import Finding
from service.contract.order import EXAMPLE_ORDER
from service.sheet_page import room
from service.sheet_page.html_writer import html
from service.sheet_page.page import height_mm, page
from service.sheet_page.pdf_writer import pdf

every_page = pytest.mark.parametrize(("name", "size"), [(name, size) for name in CASES for size in SIZES])
NO_ROOM_WITHOUT = 200  # findings, far more than there is room for


def rows(name: str) -> dict[str, tuple[str, str]]:
    return {row.label: (row.right, row.left) for row in page_of(name).eyes}


@every_page
def test_what_must_be_seen_always_has_its_room(name: str, size: str) -> None:
    found = page_of(name, size)
    remarks = sum(room.lines(words, room.width_mm(found.size) - room.BOX_MM, room.TEXT_MM) for words in found.remarks)
    remarks += 1 if found.more else 0
    heading = room.HEADING_ROOM_MM if found.remarks else 0.0
    assert height_mm(found) + heading + room.LINE_MM * remarks <= room.height_mm(found.size)


@pytest.mark.parametrize("seed", range(40))
def test_no_order_is_too_much_for_a_page(seed: int) -> None:
    """Orders put together by chance, from all that makes the rows of a page many and long."""
    order = crowded_order(random.Random(seed))
    for size in ("a4", "letter"):
        found = page(sheet_of(order, size), size)
        remarks = [
            room.lines(words, room.width_mm(size) - room.BOX_MM, room.TEXT_MM) for words in (*found.remarks, found.more)
        ]
        used = height_mm(found) + room.HEADING_ROOM_MM + room.LINE_MM * sum(remarks)
        assert used <= room.height_mm(size) + room.LINE_MM * (found.more == "")
        assert found.remarks


def test_a_page_that_is_full_leaves_the_custom_of_the_trade_to_the_answer_and_nothing_else() -> None:
    wide, narrow = page_of("crowded-review", "a4"), page_of("crowded-review", "letter")
    assert len(wide.edging) == 5
    assert [line.words.split(":")[0] for line in narrow.edging] == ["no room on this page"]
    assert (wide.eyes, wide.checks, wide.cautions) == (narrow.eyes, narrow.checks, narrow.cautions)
    # Everyday orders have room for all of it on either page.
    for name in ("plain", "traced", "shifted", "bifocal-with-prism", "progressive", "reading-pair"):
        assert len(page_of(name, "letter").edging) == 4


@every_page
def test_checklist_and_cautions_are_never_cut(name: str, size: str) -> None:
    sheet, found = sheet_of(CASES[name], size), page_of(name, size)
    assert [words.split(" [")[0].split(" Read:")[0] for words in found.cautions] == [
        room.plain(one.message) for one in sheet.cautions
    ]
    assert len(found.checks) == len(sheet.checklist)
    for words, item in zip(found.checks, sheet.checklist, strict=True):
        assert words.startswith(room.plain(item.words))
    assert not any(words.endswith("…") for words in (*found.checks, *found.cautions))


@every_page
def test_every_finding_and_assumption_stands_there_or_is_counted(name: str, size: str) -> None:
    sheet, found = sheet_of(CASES[name], size), page_of(name, size)
    said = len(
        {room.plain(f"{one.severity} {one.eye} {one.message}") for one in sheet.findings}
        | {f"{one.reason}{one.value}" for one in sheet.assumptions}
    )
    more = int(found.more.split()[1]) if found.more else 0
    assert len(found.remarks) + more == said
    assert found.remarks or not said
    if sheet.findings:
        assert found.remarks[0].lower().startswith(sheet.findings[0].severity)


def finding(severity: Any, message: str) -> Finding:
    return Finding("x", severity, None, "", message, "", None, None, None, "", None, [], None)


def test_with_very_many_findings_the_gravest_are_kept_and_the_rest_counted() -> None:
    sheet = sheet_of(EXAMPLE_ORDER)
    sheet.findings = [finding("review", "A sentence of some length that says what is wrong. " * 6)]
    sheet.findings += [finding("note", f"Number {count}.") for count in range(NO_ROOM_WITHOUT)]
    for size in ("a4", "letter"):
        found = page(sheet, size)
        assert found.remarks[0].startswith("REVIEW: A sentence")
        assert len(found.remarks) + int(found.more.split()[1]) == 1 + NO_ROOM_WITHOUT + len(sheet.assumptions)
        assert len(found.checks) == len(sheet.checklist)


def test_a_rejected_order_says_so_first_and_is_given_no_edge() -> None:
    found = page_of("rejected")
    assert found.verdict == "REJECT: DO NOT CUT"
    assert room.VERDICT_MM["reject"] > 1.5 * room.TITLE_MM
    assert found.remarks_first
    assert "do not cut" in found.eyes_heading
    assert found.edging == ()
    assert found.checks
    assert "Read after edging" not in rows("rejected")


def test_a_page_for_an_order_that_was_not_understood_holds_the_findings_only() -> None:
    found = page_of("not-understood")
    assert found.verdict == "REJECT: DO NOT CUT"
    assert found.eyes == found.edging == found.checks == ()
    assert found.remarks
    assert found.cautions
    assert found.more == ""


def test_what_is_not_known_is_said_or_has_a_line_to_write_on() -> None:
    assert rows("bifocal-with-prism")["Fitting height"] == ("not given: measure ________ (centre line taken)",) * 2
    assert all(words.startswith("not known: measure ___") for words in rows("no-pd")["PD of this eye"])
    assert rows("no-pd")["Decentration"] == ("not known", "not known")
    assert all(words.startswith("NOT SETTLED ___") for words in rows("intermediate")["Power to cut"])
    assert rows("unknown-material")["Front, centre, weight"] == ("not known", "not known")
    assert page_of("unknown-material").edging == ()
    for name in CASES:
        assert not re.search(r"\b(None|nan|inf)\b", " ".join(words for pair in rows(name).values() for words in pair))


def test_the_figures_are_those_of_the_answer_in_the_words_of_the_trade() -> None:
    found = rows("plain")
    assert found["Power to cut"] == ("-2.25 -0.75 x 010", "-2.50 -0.50 x 170")
    assert found["Lensmeter, minus form"][0] == "-2.25 -0.75 x 010: 1st -2.25, 2nd -3.00"
    assert found["Lensmeter, plus form"][0] == "-3.00 +0.75 x 100: 1st -3.00, 2nd -2.25"
    assert found["Axis to set"][1] == "170 as minus form (080 as plus form)"
    assert found["PD of this eye"] == ("31.5 mm", "32.0 mm")
    assert found["Decentration"] == ("4.5 mm in, 2.0 mm up", "4.0 mm in, 2.0 mm up")
    assert found["Blank"][0].startswith("70.0 mm, as ordered")
    assert found["Placement"] == ("as ordered", "as ordered")
    assert rows("bifocal-with-prism")["Prism, reference point"] == (
        "2.00 base in, 1.00 base up (prism dioptres)",
        "none",
    )
    assert rows("turned")["Placement"][0].startswith("ADVISED, a person decides: turn the blank by half a turn")
    assert rows("rejected")["Margin on diameter"][0].startswith("SHORT by ")


def test_prism_dioptres_are_never_spelt_like_the_pd() -> None:
    for name in CASES:
        found = page_of(name)
        assert not re.search(r"\d pd\b", " ".join((*found.checks, *found.remarks, *found.cautions)))
        assert "Δ" not in " ".join((*found.checks, *found.remarks, *found.cautions))


def test_control_and_direction_marks_stand_nowhere() -> None:
    for name in ("any-letters", "not-understood"):
        found = page_of(name)
        for field in fields(found):
            text = repr(getattr(found, field.name))
            assert "\\u202e" not in text
            assert "\\x07" not in text
    assert "\u202e" in LETTERS
    assert "\u0007" in LETTERS


def test_a_long_reference_is_written_small_and_whole_where_letters_are_usual() -> None:
    order = {**EXAMPLE_ORDER, "reference": "Order of the invented workshop, number 1043, second pair, for " + "n" * 38}
    found = page(sheet_of(order), "a4")
    assert found.small_reference
    assert found.reference == order["reference"]
    assert page_of("plain").reference == "W-1042"
    assert not page_of("plain").small_reference


@every_page
def test_the_same_sheet_gives_the_same_bytes(name: str, size: str) -> None:
    first, second = page_of(name, size), page_of(name, size)
    assert html(first) == html(second)
    if size == "a4":
        assert pdf(first) == pdf(second)
