"""Published worked examples, to the digits printed; published mistakes, shown not to be ours.

`examples.json` holds the rows: what was printed, where, and how exactly. A row counts as published only when its answer
was read in the source; answers that are from memory, or that were worked out for a printed question, have a test of
their own that says so.
"""

import json
from pathlib import Path
from typing import Any

import pytest
from published_answers import ANSWERS, ROWS, Row, minimum_blank

PUBLISHED = [row for row in ROWS if row["origin"] == "published" and row["agrees"] is True]
MISTAKEN = [row for row in ROWS if row["agrees"] is False]
UNPUBLISHED = [row for row in ROWS if row not in PUBLISHED and row not in MISTAKEN]

# Four decimals of these are not comparable: the row's figure came from a coarser construction than ours.
COARSE = {"iso_v_prism_band", "effective_diameter", "exact_blank"}

SHARED = Path(__file__).resolve().parents[3] / "shared" / "worked_examples.json"


def named(rows: list[Row]) -> list[Any]:
    return [pytest.param(row, id=f"{row['kind']}-{row['id']}") for row in rows]


def tolerance_of(row: Row, field: str) -> float:
    tolerance = row["tolerance"]
    return tolerance[field] if isinstance(tolerance, dict) else tolerance


def agree(ours: Any, theirs: Any, tolerance: float) -> bool:
    """Words and missing axes must be equal, numbers within the tolerance (and a hair for binary fractions)."""
    if isinstance(theirs, list):
        return len(ours) == len(theirs) and all(agree(a, b, tolerance) for a, b in zip(ours, theirs, strict=True))
    if theirs is None or isinstance(theirs, str | bool):
        return ours == theirs
    return abs(ours - theirs) <= tolerance + 1e-12


@pytest.mark.parametrize("row", named(PUBLISHED))
def test_printed_answers_are_reproduced_to_the_digits_printed(row: Row) -> None:
    ours = ANSWERS[row["kind"]](row["inputs"])
    for field, printed in row["expected"].items():
        assert agree(ours[field], printed, tolerance_of(row, field)), (field, ours[field], printed, row["source"])


@pytest.mark.parametrize("row", named(MISTAKEN))
def test_printed_mistakes_are_not_reproduced(row: Row) -> None:
    ours = ANSWERS[row["kind"]](row["inputs"])
    wrong = [field for field, printed in row["expected"].items() if ours[field] != printed]
    assert any(not agree(ours[field], row["expected"][field], tolerance_of(row, field)) for field in wrong)
    for field, recomputed in row["computed"].items():
        assert agree(ours[field], recomputed, 6e-5), (field, ours[field], recomputed, row["note"])


@pytest.mark.parametrize("row", named(UNPUBLISHED))
def test_answers_from_memory_or_worked_out_for_a_printed_question_are_met_though_they_prove_less(row: Row) -> None:
    ours = ANSWERS[row["kind"]](row["inputs"])
    for field, expected in row["expected"].items():
        assert agree(ours[field], expected, tolerance_of(row, field)), (field, ours[field], expected, row["source"])


@pytest.mark.parametrize("row", named([row for row in ROWS if row["kind"] not in COARSE]))
def test_every_example_agrees_with_its_second_calculation_to_four_decimals(row: Row) -> None:
    ours = ANSWERS[row["kind"]](row["inputs"])
    for field, recomputed in row["computed"].items():
        assert agree(ours[field], recomputed, 6e-5), (field, ours[field], recomputed)


def test_the_printed_blank_for_a_frame_60_20_with_ed_63_and_pd_69_is_76() -> None:
    # "Mastering Minimum Blank Size", mirrored article, granhotelsantacruz.com/pulse (a weak source; arithmetic only):
    # total decentration 11, minimum blank 63 + 11 + 2 = 76.
    printed = {"a_mm": 60, "dbl_mm": 20, "ed_mm": 63, "pd_mm": 69, "allowance_mm": 2}
    assert minimum_blank(printed)["minimum_blank_mm"] == pytest.approx(76, abs=0.001)


def test_a_bare_decentration_of_3_is_the_total_in_one_source_and_one_eye_in_another() -> None:
    # The trap of row t3-mbs-total-dec: the same word, 3 mm apart in the blank.
    total = minimum_blank({"ed_mm": 60, "total_decentration_mm": 3, "allowance_mm": 2})["minimum_blank_mm"]
    each = minimum_blank({"ed_mm": 60, "decentration_mm": 3, "allowance_mm": 2})["minimum_blank_mm"]
    assert (total, each) == (pytest.approx(65), pytest.approx(68))


def test_at_least_ninety_published_figures_stand_behind_the_core() -> None:
    assert len(PUBLISHED) >= 75
    assert sum(len(row["expected"]) for row in PUBLISHED) >= 90
    assert len(MISTAKEN) >= 12
    assert all(row["source"] for row in ROWS)


def test_our_copy_of_the_examples_equals_the_collection() -> None:
    if not SHARED.exists():
        pytest.skip(f"the collection is not on this machine ({SHARED.name} in a folder 'shared' beside the project)")
    collection = {row["id"]: row for row in json.loads(SHARED.read_text(encoding="utf-8"))}
    for row in ROWS:
        original = collection[row["id"]]
        assert row == {field: original[field] for field in row}, row["id"]
