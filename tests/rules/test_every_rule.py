"""What must hold for every rule: its words, its remedies, the shop's own limits, either eye, and that it is tested."""

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
import test_addition
import test_blank
import test_centration
import test_dates
import test_frame
import test_near
import test_placement
import test_power
import test_prescription
import test_pupil
import test_reading_part
import test_request
import test_stock
import test_text
import test_thickness
import test_trace
import test_vertex
import test_wearer
import test_worn
from desk import Case, edited, findings, mirrored, near, overriding, reading_findings, spoken

from service.contract.answer import Remedy
from service.rules.registry import RULES

FAMILIES = (
    test_request,
    test_prescription,
    test_power,
    test_addition,
    test_dates,
    test_vertex,
    test_pupil,
    test_frame,
    test_trace,
    test_blank,
    test_stock,
    test_placement,
    test_centration,
    test_wearer,
    test_worn,
    test_near,
    test_reading_part,
    test_thickness,
)
CASES: tuple[Case, ...] = tuple(case for family in FAMILIES for case in family.CASES)
# Shown by a test of its own beside its family's cases.
APART = {"pd-near-not-smaller"}

# What a person at an order form need not know. PD, SPH, CYL, AXIS, ADD and the like stand on their own prescription.
JARGON = (
    "meridian", "boxed", "decentr", "anisometrop", "spherical equivalent", "prism dioptre", "dioptre", "Δ",
    "optical centre", "transpos", "imbalance", "slab", "sphero", "tolerance", "toric", "ametrop", "centration",
    "vergence", "allowance", "profile",
)  # fmt: skip
OUT_OF_TONE = ("invalid", "illegal", "wrongly", "you failed", "error", "exception", "null", "none type")
CLASS_NAMES = re.compile(r"\b(?:[A-Z][a-z]+){2,}\b|\bNone\b|\bnan\b|\b[a-z]+_[a-z_]+\b")
# Names of columns and members that a trace file may have are told as they are written.
COLUMNS = re.compile(r"\b(?:x|y|radius|radii|points|angle)_(?:mm|deg|rad)\b")
PLACEHOLDERS = re.compile(r"\{[a-z_]+\}")


def test_every_rule_is_shown_at_its_limit() -> None:
    shown = {case.code for case in CASES} | APART | set(test_text.CODES)
    # Those on FHIR documents and trace files are shown beside their reading, those on comparisons and finished pairs apart.
    apart = ("fhir", "trace-file", "compare", "inspect", "inspect-many", "screen")
    assert {one.code for one in RULES if one.scope not in apart} == shown


@pytest.mark.parametrize("one", RULES, ids=lambda one: one.code)
def test_both_texts_stand_as_sentences(one: Any) -> None:
    for text in (one.shop, one.customer, one.about):
        assert text.strip() == text != ""
        assert text[0].isupper() or text[0] in '{"'
        assert text[-1] in ".?}"
        assert "  " not in text
        assert not [word for word in OUT_OF_TONE if word in text.lower()]
        assert not CLASS_NAMES.search(COLUMNS.sub("", PLACEHOLDERS.sub("", text)).replace("USA", ""))
    assert one.shop != one.customer
    assert not [word for word in JARGON if word.lower() in one.customer.lower()]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_the_texts_are_filled_in(case: Case) -> None:
    finding = spoken(edited(case.beyond), case)
    for text in (finding.message, finding.customer_message):
        assert text
        assert not set("{}") & set(text)
        assert "None" not in text
        assert "  " not in text
    assert not [word for word in JARGON if word.lower() in finding.customer_message.lower()]
    assert finding.source


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_figure_that_was_compared_stands_in_the_message_for_the_shop(case: Case) -> None:
    finding = spoken(edited(case.beyond), case)
    if isinstance(case.value, float) and case.unit:
        assert f"{abs(case.value):.2f}".rstrip("0").rstrip(".") in finding.message
    elif isinstance(case.value, str) and case.value not in ("right", "left"):
        assert case.value in finding.message


OVERRIDDEN = tuple(case for case in CASES if case.moved is not None)


@pytest.mark.parametrize("case", OVERRIDDEN, ids=str)
def test_a_limit_set_by_the_request_holds_and_is_said_to_come_from_there(case: Case) -> None:
    assert case.key is not None
    document = edited(overriding(case.key, case.moved), of=edited(case.within[0]))
    finding = spoken(document, case)
    assert finding.limit == near(case.moved if case.moved_limit is None else case.moved_limit)
    assert finding.limit_from == f"request, /profile/{case.key.replace('.', '/')}"


OF_ONE_EYE = tuple(case for case in CASES if case.eye is not None)


@pytest.mark.parametrize("case", OF_ONE_EYE, ids=str)
def test_what_holds_for_one_eye_holds_for_the_other(case: Case) -> None:
    finding = spoken(edited(case.beyond), case)
    other = spoken(mirrored(edited(case.beyond)), replace(case, eye=mirrored(case.eye)))
    assert (other.value, other.limit, other.limit_from) == (finding.value, finding.limit, finding.limit_from)
    assert other.pointer.split("/") == mirrored(finding.pointer.split("/"))


SCOPE = {one.code: one.scope for one in RULES}
OF_THE_PRESCRIPTION = tuple(case for case in CASES if SCOPE[case.code] == "prescription")


@pytest.mark.parametrize("case", OF_THE_PRESCRIPTION, ids=str)
def test_a_prescription_read_by_itself_is_judged_alike(case: Case) -> None:
    document = edited(case.beyond)
    assert reading_findings(document, case.code) == findings(document, case.code)


def applied(document: dict[str, Any], remedy: Remedy, value: Any) -> dict[str, Any]:
    """The order with a remedy carried out. A smaller A is that of a frame of the same proportions."""
    result = edited({remedy.pointer: value}, of=document)
    if remedy.pointer == "/frame/a_mm" and remedy.at_least is None:
        frame, old = result["frame"], document["frame"]
        for member in ("b_mm", "ed_mm"):
            if member in old:
                frame[member] = old[member] * value / old["a_mm"]
        for outline in (frame.get("trace", {}).get(eye, {}) for eye in ("right", "left")):
            if "points_mm" in outline:
                outline["points_mm"] = [[part * value / old["a_mm"] for part in at] for at in outline["points_mm"]]
        for eye, height in document["fitting_height_mm"].items():
            result["fitting_height_mm"][eye] = height - old["b_mm"] / 2 + frame["b_mm"] / 2
    return result


def ways(remedy: Remedy) -> Iterator[Any]:
    yield from remedy.one_of or ()
    yield from (value for value in (remedy.at_least, remedy.at_most) if value is not None)


REMEDIED = tuple(case for case in CASES if case.remedies)


@pytest.mark.parametrize("case", REMEDIED, ids=str)
def test_each_remedy_by_itself_takes_the_finding_away(case: Case) -> None:
    document = edited(case.beyond)
    for remedy in spoken(document, case).remedies:
        for value in ways(remedy):
            left = [found for found in findings(applied(document, remedy, value), case.code) if found.eye == case.eye]
            assert left == [], f"{remedy} did not help at {value}"


SOLVED = tuple(
    case for case in REMEDIED if case.code.startswith(("blank-too", "blank-may", "decentration", "prism-at-pupil"))
)
STEP = {"/lens/blank_diameter_mm": 0.5, "/frame/a_mm": 0.1, "/frame/dbl_mm": 0.1}


@pytest.mark.parametrize("case", SOLVED, ids=str)
def test_a_remedy_that_was_solved_asks_for_no_more_than_is_needed(case: Case) -> None:
    """One step short of it something of the same kind is still said of the same lens."""
    document = edited(case.beyond)
    kinds = ("blank-may-be", case.code.split("-")[0])
    for remedy in spoken(document, case).remedies:
        step = STEP[remedy.pointer]
        short = remedy.at_most + step if remedy.at_least is None else remedy.at_least - step
        found = findings(applied(document, remedy, short))
        assert [one for one in found if one.eye == case.eye and one.code.startswith(kinds)], f"{short} would have done"
