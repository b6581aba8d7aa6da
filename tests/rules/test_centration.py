"""Centration and unwanted prism, by Prentice's rule: decentration in cm times power.

Frame PD 70 mm: a PD of 35 mm sits at the boxed centre. With an ED of 56 mm and 2 mm allowance a blank of 58 + 2d lets
the optical centre come d mm towards the pupil.
"""

from typing import Any

import pytest
from desk import ADD_L, ADD_R, BLANK, DBL, A, Case, L, R, edited, findings, least, most, prove

from service.contract.answer import Remedy

PD_R, HEIGHT_R = "/pd_mm/right", "/fitting_height_mm/right"
MINUS_4 = {f"{R}/sphere": -4.0, f"{L}/sphere": -4.0}
HIGH_R = MINUS_4 | {"/pd_mm": {"right": 35, "left": 35}, HEIGHT_R: 24}
# Reading 10 mm below the pupils, as through any other lens.
PROGRESSIVE = {"/lens/use": "progressive", "/lens/progressive": {"corridor_mm": 10}, ADD_R: 2.0, ADD_L: 2.0}


def base_in(amount: float) -> list[dict[str, Any]]:
    return [{"amount": amount, "base": "in"}]


CASES = (
    Case(
        code="decentration-outward",
        severity="review",
        within=({PD_R: 37},),
        beyond={PD_R: 37.5},
        eye="right",
        pointer="/pd_mm",
        value=2.5,
        limit=2.0,
        unit="mm",
        key="fit.out_unusual_mm",
        moved=1.5,
        remedies=[least(A, 53), least(DBL, 19)],
    ),
    Case(
        code="decentration-large",
        severity="review",
        within=({PD_R: 27},),
        beyond={PD_R: 26.5},
        eye="right",
        pointer="/pd_mm",
        value=8.5,
        limit=8.0,
        unit="mm",
        key="fit.in_unusual_mm",
        moved=7.5,
        remedies=[most(A, 51), most(DBL, 17)],
    ),
    Case(
        code="decentration-noticeable",
        severity="note",
        within=({PD_R: 29}, {PD_R: 26.5}),
        beyond={PD_R: 28.5},
        eye="right",
        pointer="/pd_mm",
        value=6.5,
        limit=6.0,
        unit="mm",
        key="fit.in_noted_mm",
        moved=5.5,
        remedies=[most(A, 51), most(DBL, 17)],
    ),
    Case(
        # 62 mm: the centre comes 2 mm, the pupil of PD 32 sits at 3 mm; 0.1 cm x 4 D.
        code="prism-at-pupil",
        severity="note",
        within=(MINUS_4 | {BLANK: 64},),
        beyond=MINUS_4 | {BLANK: 62},
        eye="right",
        pointer=BLANK,
        value=0.4,
        unit="Δ",
        remedies=[least(BLANK, 64)],
    ),
    Case(
        # 2.5 mm in all just passes, whatever the prism; so does 0.67 prism dioptres, whatever the distance.
        code="horizontal-prism-over-tolerance",
        severity="review",
        within=(MINUS_4 | {BLANK: 61.5}, {f"{R}/sphere": -1.5, f"{L}/sphere": -1.5, BLANK: 60}),
        beyond=MINUS_4 | {BLANK: 61},
        pointer=BLANK,
        value=1.2,
        limit=0.67,
        unit="Δ",
        key="tolerance.standard",
        moved="iso-21987-2017",
        moved_limit=0.67,
        remedies=[least(BLANK, 64)],
    ),
    Case(
        # The right pupil sits 4 mm up, the left one at the centre: 64 mm leaves 1 mm, which just passes.
        code="vertical-prism-over-tolerance",
        severity="review",
        within=(HIGH_R | {BLANK: 64}, HIGH_R | {f"{R}/sphere": -1.5, BLANK: 62}),
        beyond=HIGH_R | {BLANK: 63},
        pointer=BLANK,
        value=0.6,
        limit=0.33,
        unit="Δ",
        key="tolerance.standard",
        remedies=[least(BLANK, 66)],
    ),
    Case(
        code="vertical-imbalance-when-reading",
        severity="review",
        within=(PROGRESSIVE | {f"{L}/sphere": -3.25}, {f"{L}/sphere": -3.5}),
        beyond=PROGRESSIVE | {f"{L}/sphere": -3.5},
        pointer="/prescription",
        value=1.5,
        limit=1.5,
        unit="Δ",
        key="prism.imbalance_unusual_pd",
        moved=1.25,
    ),
    Case(
        code="vertical-imbalance",
        severity="note",
        within=({f"{L}/sphere": -4.0}, PROGRESSIVE | {f"{L}/sphere": -4.25}),
        beyond={f"{L}/sphere": -4.25},
        pointer="/prescription",
        value=2.25,
        limit=2.0,
        unit="Δ",
        key="prism.imbalance_noted_pd",
        moved=1.75,
    ),
    Case(
        code="prescribed-prism-not-in-fit",
        severity="review",
        within=({}, {f"{R}/prism": base_in(0)}),
        beyond={f"{R}/prism": base_in(0.5)},
        pointer="/prescription",
        value=0.5,
        limit=0.0,
        unit="Δ",
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_centration_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def test_up_to_the_graver_limit_the_note_speaks() -> None:
    assert findings(edited({PD_R: 27}), "decentration-noticeable")
    low = PROGRESSIVE | {f"{L}/sphere": -3.5, "/profile/prism/imbalance_noted_pd": 1.0}
    assert not findings(edited(low), "vertical-imbalance")
    assert findings(edited(low | {f"{L}/sphere": -3.25}), "vertical-imbalance")


@pytest.mark.parametrize(
    ("pd_mm", "remedies"),
    [
        (24, [most(A, 46), most(DBL, 12)]),
        (23.5, [most(A, 45)]),
        (41, [least(A, 60), least(DBL, 26)]),
        (41.5, [least(A, 61)]),
    ],
)
def test_a_bridge_that_no_frame_has_is_no_remedy(pd_mm: float, remedies: list[Remedy]) -> None:
    found = findings(edited({PD_R: pd_mm}))
    assert [one.remedies for one in found if one.code in ("decentration-large", "decentration-outward")] == [remedies]


def test_a_blank_with_a_reading_part_is_not_said_to_be_moved_off_its_optical_centre() -> None:
    # Its fitting point or its segment decides where it lies; that it is too small is said, and no more.
    order = MINUS_4 | {BLANK: 60}
    moved = {"horizontal-prism-over-tolerance", "prism-at-pupil"}
    assert moved <= {one.code for one in findings(edited(order))}
    found = {one.code for one in findings(edited(order | PROGRESSIVE))}
    assert not moved & found
    assert "blank-may-be-too-small" in found


def test_an_iso_shop_allows_half_a_prism_dioptre_of_height() -> None:
    iso = {"/profile/tolerance/standard": "iso-21987-2017"}
    (finding,) = findings(edited(HIGH_R | {BLANK: 63} | iso), "vertical-prism-over-tolerance")
    assert (finding.value, finding.limit) == (pytest.approx(0.6), 0.5)
    assert finding.limit_from == "request, /profile/tolerance/standard"
    assert "from memory" in finding.message


def test_without_heights_nothing_is_said_of_vertical_prism() -> None:
    low = {"/fitting_height_mm": {"left": 20}, "/pd_mm": {"right": 35, "left": 35}, BLANK: 58}
    assert not findings(edited(MINUS_4 | low), "vertical-prism-over-tolerance")


def test_the_depth_at_which_reading_is_judged_is_the_shops_to_say() -> None:
    (finding,) = findings(edited({f"{L}/sphere": -4.0, "/profile/prism/reading_level_mm": 12}), "vertical-imbalance")
    assert finding.value == pytest.approx(2.4)
    assert "12 mm" in finding.message
