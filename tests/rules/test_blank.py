"""The blank. A 52, DBL 18, PD 31: 4 mm inward, so the right lens needs 52 + 8 + 2 = 62 mm at least; with an ED of 56,
56 + 8 + 2 = 66 mm do for every shape. The cases
speak of that lens; the left one (PD 32) needs less.
"""

import pytest
from desk import BLANK, DBL, ED, GONE, A, Case, edited, findings, least, most, prove

from optics_core.boxing import usual_ed

PD_R = "/pd_mm/right"
NARROW = {PD_R: 31}
USUAL_ED = float(usual_ed(a_mm=52, b_mm=40))


def sure(ed_mm: float) -> float:
    """The blank that is sure to do for the right lens, 4 mm inward."""
    return ed_mm + 2 * 4 + 2


CASES = (
    Case(
        code="blank-too-small",
        severity="reject",
        within=(NARROW | {BLANK: 62},),
        beyond=NARROW | {BLANK: 61.9},
        eye="right",
        pointer=BLANK,
        value=61.9,
        limit=62.0,
        unit="mm",
        key="blank.allowance_mm",
        moved=2.5,
        moved_limit=62.5,
        # 56 a/52 + (a + 18 - 62) + 2 <= 61.9 for A; 56 + (52 + dbl - 62) + 2 <= 61.9 for DBL.
        remedies=[least(BLANK, 66), most(A, 50.0), most(DBL, 13.9)],
    ),
    Case(
        code="blank-may-be-too-small",
        severity="review",
        within=(NARROW | {BLANK: 66}, NARROW | {BLANK: 61.9}, NARROW | {BLANK: 65, ED: GONE}),
        beyond=NARROW | {BLANK: 65.9},
        eye="right",
        pointer=BLANK,
        value=65.9,
        limit=66.0,
        unit="mm",
        key="blank.allowance_mm",
        moved=2.5,
        moved_limit=66.5,
        remedies=[least(BLANK, 66), most(A, 51.9), most(DBL, 17.9)],
    ),
    Case(
        code="blank-may-be-too-small-without-ed",
        severity="review",
        within=(
            NARROW | {ED: GONE, BLANK: sure(USUAL_ED) + 0.001},
            NARROW | {ED: GONE, BLANK: 61.9},
            NARROW | {BLANK: 65},
        ),
        beyond=NARROW | {ED: GONE, BLANK: 65},
        eye="right",
        pointer=BLANK,
        value=55.0,
        limit=USUAL_ED,
        unit="mm",
        # The usual ED of 52 x 40 is 2 (hypot(26 - 12, 20 - 12) + 12) = 56.25 mm.
        remedies=[least(BLANK, 66.5), most(A, 51.3), most(DBL, 16.7)],
    ),
    Case(
        code="blank-close-to-limit",
        severity="note",
        within=(NARROW | {BLANK: 67}, NARROW | {BLANK: 65.9}),
        beyond=NARROW | {BLANK: 66.5},
        eye="right",
        pointer=BLANK,
        value=0.5,
        limit=1.0,
        unit="mm",
        key="blank.close_margin_mm",
        moved=1.5,
    ),
    Case(
        code="blank-rests-on-usual-ed",
        severity="note",
        within=(NARROW | {ED: GONE, BLANK: 76}, NARROW | {ED: GONE, BLANK: 65}, NARROW),
        beyond=NARROW | {ED: GONE, BLANK: 70},
        eye="right",
        pointer=BLANK,
        value=60.0,
        limit=USUAL_ED,
        unit="mm",
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_blank_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def test_the_usual_ed_of_the_ordinary_frame_is_that_of_its_rounded_rectangle() -> None:
    assert pytest.approx(2 * ((14**2 + 8**2) ** 0.5 + 12), abs=1e-12) == USUAL_ED


@pytest.mark.parametrize("blank_mm", [60 + tenth / 10 for tenth in range(0, 81, 3)])
def test_exactly_one_rule_judges_a_blank_that_is_short(blank_mm: float) -> None:
    codes = ["blank-too-small", "blank-may-be-too-small", "blank-close-to-limit"]
    spoke = [f.code for f in findings(edited(NARROW | {BLANK: blank_mm})) if f.code in codes and f.eye == "right"]
    assert spoke == ([codes[0]] if blank_mm < 62 else [codes[1]] if blank_mm < 66 else [codes[2]] * (blank_mm < 67))


def spoke_of_right(edits: dict[str, object]) -> list[str]:
    found = findings(edited(edits))
    return [finding.code for finding in found if finding.eye == "right" and finding.code.startswith("blank")]


def test_at_a_bound_the_milder_word_holds() -> None:
    # 54 x 40 has a usual ED of 2 (hypot(15, 8) + 12) = 58 mm exactly; 52 x 39 a diagonal of 65 mm exactly.
    box = {"/frame": {"a_mm": 54, "b_mm": 40, "dbl_mm": 18}}
    assert spoke_of_right(box | {BLANK: 65.9}) == ["blank-may-be-too-small-without-ed"]
    assert spoke_of_right(box | {BLANK: 69}) == ["blank-rests-on-usual-ed"]
    assert "blank-may-be-too-small-without-ed" not in spoke_of_right(box | {BLANK: 68})
    assert "blank-rests-on-usual-ed" in spoke_of_right(box | {BLANK: 68})
    assert spoke_of_right(NARROW | {BLANK: 62}) == ["blank-may-be-too-small"]
    assert spoke_of_right(NARROW | {ED: GONE, BLANK: 62}) == ["blank-may-be-too-small-without-ed"]
    diagonal_does = {"/frame": {"a_mm": 52, "b_mm": 39, "dbl_mm": 18}, "/fitting_height_mm": {}, BLANK: 73}
    assert spoke_of_right(diagonal_does) == []


def test_a_margin_of_exactly_nothing_still_does() -> None:
    found = findings(edited(NARROW | {BLANK: 66}))
    assert [(finding.code, finding.value) for finding in found if finding.eye == "right"] == [
        ("blank-close-to-limit", 0.0)
    ]
