"""Vertex distance. A lens of F moved by d towards the eye needs F/(1 - dF), here written out by hand."""

import pytest
from desk import GONE, Case, L, R, between, edited, findings, prove

REFRACTED, WORN = "/prescription/vertex_distance_mm", "/as_worn/vertex_distance_mm"
MINUS_9 = {f"{R}/sphere": -9.0, f"{L}/sphere": -9.0}
CASES = (
    Case(
        code="vertex-change-matters",
        severity="review",
        within=(
            MINUS_9 | {WORN: 11.5},  # 9 - 9/1.0135 = 0.1199
            MINUS_9 | {WORN: 13},
            {f"{R}/sphere": -3.75, f"{L}/sphere": -3.75, REFRACTED: 18, WORN: 8},  # 0.136, but below 4 D
        ),
        beyond=MINUS_9 | {WORN: 11.4},
        eye="right",
        pointer=WORN,
        value=9 - 9 / (1 + 0.0016 * 9),
        limit=0.12,
        unit="D",
        key="vertex.change_matters_d",
        moved=0.1,
    ),
    Case(
        code="vertex-distance-unusual",
        severity="review",
        within=({REFRACTED: 8}, {REFRACTED: 18}, {REFRACTED: GONE}),
        beyond={REFRACTED: 7.5},
        pointer=REFRACTED,
        value=7.5,
        limit=8.0,
        unit="mm",
        key="vertex.least_mm",
        moved=9.0,
        remedies=[between(REFRACTED, 8, 18)],
    ),
    Case(
        code="vertex-distance-as-worn-unusual",
        severity="review",
        within=({WORN: 18}, {WORN: 8}),
        beyond={WORN: 18.5},
        pointer=WORN,
        value=18.5,
        limit=18.0,
        unit="mm",
        key="vertex.most_mm",
        moved=17.0,
        remedies=[between(WORN, 8, 18)],
    ),
    Case(
        code="vertex-distance-not-known",
        severity="note",
        within=({f"{R}/sphere": -3.75}, {f"{R}/sphere": -4.0, WORN: 13}),
        beyond={f"{R}/sphere": -4.0},
        pointer=WORN,
        value=-4.0,
        limit=4.0,
        unit="D",
        key="vertex.matters_from_d",
        moved=3.5,
    ),
    Case(
        code="vertex-distance-not-known",
        severity="note",
        within=({f"{R}/sphere": 3.75, REFRACTED: GONE},),
        beyond={f"{R}/sphere": 4.0, REFRACTED: GONE},
        pointer=REFRACTED,
        value=4.0,
        limit=4.0,
        unit="D",
        key="vertex.matters_from_d",
        moved=3.5,
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_vertex_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def test_the_compensated_power_is_said_and_the_prescribed_one_kept() -> None:
    # -9.00 refracted at 13 mm and worn at 10 mm: -9/(1 + 0.003 x 9) = -8.763.
    (right, left) = findings(edited(MINUS_9 | {WORN: 10}), "vertex-change-matters")
    assert "-8.76 DS" in right.message
    assert "Nothing was changed" in left.message


def test_from_which_power_the_vertex_distance_matters_is_the_shops_to_say() -> None:
    moved = {f"{R}/sphere": -3.75, f"{L}/sphere": -3.75, REFRACTED: 18, WORN: 8, "/profile/vertex/matters_from_d": 3.75}
    assert [finding.eye for finding in findings(edited(moved), "vertex-change-matters")] == ["right", "left"]


def test_a_change_of_just_the_limit_is_asked_about() -> None:
    order, key = edited(MINUS_9 | {WORN: 10}), "/profile/vertex/change_matters_d"
    change = findings(order, "vertex-change-matters")[0].value
    assert findings(edited({key: change}, of=order), "vertex-change-matters")
    assert not findings(edited({key: change + 1e-9}, of=order), "vertex-change-matters")


def test_a_lens_moved_past_its_own_focus_has_no_other_power_and_goes_to_a_person() -> None:
    # 1/28 D is 35.7 mm, less than the 40 mm that the lens would move.
    document = edited({f"{R}/sphere": 28.0, REFRACTED: 40, WORN: 0})
    assert {"vertex-distance-unusual", "vertex-distance-as-worn-unusual"} <= {one.code for one in findings(document)}
