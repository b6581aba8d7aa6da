"""Reading additions, and whether they suit what the pair is for."""

import pytest
from desk import ADD_L, ADD_R, GONE, Case, edited, findings, one_of, prove

USE = "/lens/use"
BOTH = {ADD_R: 2.0, ADD_L: 2.0}
NO_ADD_NEEDED = ("distance", "intermediate", "near")
CASES = (
    Case(
        code="lens-use-needs-add",
        severity="reject",
        within=({USE: "progressive"} | BOTH, {USE: "distance"}, {USE: "near"}),
        beyond={USE: "progressive"},
        eye="right",
        pointer=ADD_R,
        value="progressive",
        remedies=[one_of(USE, *NO_ADD_NEEDED)],
    ),
    Case(
        code="near-use-without-add",
        severity="review",
        within=({USE: "near"} | BOTH, {USE: "distance"}, {USE: "bifocal"}),
        beyond={USE: "near"},
        pointer=USE,
        value="near",
    ),
    Case(
        code="near-power-to-confirm",
        severity="review",
        within=({USE: "intermediate"}, {USE: "distance"} | BOTH, {USE: "bifocal"} | BOTH),
        beyond={USE: "intermediate"} | BOTH,
        pointer=USE,
        value="intermediate",
    ),
    Case(
        code="multifocal-layout-not-checked",
        severity="review",
        within=({USE: "near"} | BOTH, {USE: "distance"} | BOTH),
        beyond={USE: "bifocal"} | BOTH,
        pointer=USE,
        value="bifocal",
    ),
    Case(
        code="use-not-named-with-add",
        severity="review",
        within=({USE: GONE}, BOTH),
        beyond={USE: GONE, ADD_R: 2.0},
        pointer=USE,
        value=2.0,
        unit="D",
        remedies=[one_of(USE, "distance", "near", "bifocal", "progressive")],
    ),
    Case(
        code="add-not-used",
        severity="note",
        within=({}, {USE: "near"} | BOTH, {USE: GONE} | BOTH),
        beyond=BOTH,
        eye="left",
        pointer=ADD_L,
        value=2.0,
        unit="D",
    ),
    Case(
        code="add-unusual",
        severity="review",
        within=({ADD_R: 0.75, ADD_L: 0.75}, {ADD_R: 3.5, ADD_L: 3.5}),
        beyond={ADD_R: 0.5, ADD_L: 0.75},
        eye="right",
        pointer=ADD_R,
        value=0.5,
        limit=0.75,
        unit="D",
        key="add.least_d",
        moved=1.0,
    ),
    Case(
        code="add-unusual",
        severity="review",
        within=({ADD_R: 3.5, ADD_L: 3.5},),
        beyond={ADD_R: 3.75, ADD_L: 3.5},
        eye="right",
        pointer=ADD_R,
        value=3.75,
        limit=3.5,
        unit="D",
        key="add.most_d",
        moved=3.0,
    ),
    Case(
        code="add-on-one-eye",
        severity="review",
        within=({}, BOTH),
        beyond={ADD_R: 2.0},
        eye="left",
        pointer=ADD_L,
        value=2.0,
        unit="D",
    ),
    Case(
        code="adds-unequal",
        severity="review",
        within=(BOTH, {ADD_R: 2.0}),
        beyond={ADD_R: 2.0, ADD_L: 2.25},
        pointer=ADD_L,
        value=2.0,
        limit=2.25,
        unit="D",
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_addition_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


@pytest.mark.parametrize("use", ["bifocal", "trifocal", "progressive"])
def test_every_lens_with_a_reading_part_needs_an_addition_and_a_person(use: str) -> None:
    assert [finding.eye for finding in findings(edited({USE: use}), "lens-use-needs-add")] == ["right", "left"]
    assert findings(edited({USE: use} | BOTH), "multifocal-layout-not-checked")
