"""Pupillary distance: is it there, and can it be right?"""

import pytest
from desk import GONE, Case, edited, findings, prove

PD, PD_R, PD_L, BOTH = "/pd_mm", "/pd_mm/right", "/pd_mm/left", "/pd_mm/both"
AGE = "/wearer/age_years"


def both(pd_mm: float) -> dict[str, object]:
    return {PD: {"both": pd_mm}}


def usual(least_mm: float, most_mm: float) -> list[dict[str, float]]:
    return [{"below_age_years": 131, "least_mm": least_mm, "most_mm": most_mm}]


CASES = (
    Case(
        code="pd-missing",
        severity="reject",
        within=({}, both(64), {PD: {"left": 32, "both": 64}}),
        beyond={PD_R: GONE},
        eye="right",
        pointer=PD_R,
    ),
    Case(
        code="pd-for-both-looks-like-one-eye",
        severity="reject",
        within=(both(39.5), {PD_R: 31.5, PD_L: 31.5}),
        beyond=both(39),
        pointer=BOTH,
        value=39.0,
        limit=39.0,
        unit="mm",
        key="pd.one_eye_most_mm",
        moved=40.0,
    ),
    Case(
        code="pd-for-one-eye-looks-like-both",
        severity="reject",
        within=({PD_R: 44},),
        beyond={PD_R: 44.5},
        eye="right",
        pointer=PD_R,
        value=44.5,
        limit=44.0,
        unit="mm",
        key="pd.half_most_mm",
        moved=43.0,
    ),
    Case(
        code="pd-unusual-for-age",
        severity="review",
        within=(both(52), both(76), both(44) | {AGE: 7}),
        beyond=both(51.5),
        pointer=BOTH,
        value=51.5,
        limit=52.0,
        unit="mm",
        key="pd.ranges",
        moved=usual(53, 76),
        moved_limit=53.0,
    ),
    Case(
        code="pd-unusual-for-age",
        severity="review",
        within=({PD_R: 38, PD_L: 38},),
        beyond={PD_R: 38.5, PD_L: 38},
        pointer=PD,
        value=76.5,
        limit=76.0,
        unit="mm",
        key="pd.ranges",
        moved=usual(52, 75),
        moved_limit=75.0,
    ),
    Case(
        code="pd-halves-unequal",
        severity="review",
        within=({PD_R: 30, PD_L: 34}, both(64)),
        beyond={PD_R: 30, PD_L: 34.5},
        pointer=PD,
        value=4.5,
        limit=4.0,
        unit="mm",
        key="pd.halves_unequal_mm",
        moved=3.5,
    ),
    Case(
        code="pd-sum-differs",
        severity="review",
        within=({BOTH: 64.5}, {BOTH: 63.5}, {PD_R: GONE, BOTH: 70}),
        beyond={BOTH: 63},
        pointer=BOTH,
        value=1.0,
        limit=0.5,
        unit="mm",
        key="pd.sum_differs_mm",
        moved=0.25,
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_pupil_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


@pytest.mark.parametrize(
    ("age", "least", "most"),
    [(0.5, 34, 50), (2, 40, 54), (4, 42, 58), (7, 44, 62), (11, 46, 68), (15, 48, 74), (16, 52, 76), (90, 52, 76)],
)
def test_what_is_usual_depends_on_the_age(age: float, least: float, most: float) -> None:
    def limits(pd_mm: float) -> list[object]:
        half = {"right": pd_mm / 2, "left": pd_mm / 2}
        return [finding.limit for finding in findings(edited({PD: half, AGE: age}), "pd-unusual-for-age")]

    assert [limits(least), limits(most)] == [[], []]
    assert [limits(least - 0.5), limits(most + 0.5)] == [[least], [most]]


def test_an_unknown_age_is_taken_for_an_adults_and_said() -> None:
    (finding,) = findings(edited(both(50) | {AGE: GONE}), "pd-unusual-for-age")
    assert "for an adult (no age was given)" in finding.message


def test_nothing_is_said_of_the_fit_of_a_pd_that_cannot_be_meant() -> None:
    assert [finding.code for finding in findings(edited(both(31.5)))] == ["pd-for-both-looks-like-one-eye"]
    assert [finding.code for finding in findings(edited({PD_R: 64}))] == ["pd-for-one-eye-looks-like-both"]


@pytest.mark.parametrize("near", [{"both": 64.5}, {"right": 32.5, "left": 32}])
def test_a_near_pd_larger_than_that_for_distance_goes_to_a_person(near: dict[str, float]) -> None:
    (finding,) = findings(edited({"/pd_mm/near": near}), "pd-near-not-smaller")
    assert (finding.severity, finding.eye, finding.pointer) == ("review", None, "/pd_mm/near")
    assert (finding.value, finding.limit, finding.unit) == (64.5, 64.0, "mm")
    assert findings(edited({"/pd_mm/near": {"both": 60}}), "pd-near-not-smaller") == []


def test_a_pd_made_up_of_two_fields_is_pointed_at_as_a_whole() -> None:
    (finding,) = findings(edited({PD: {"right": 38.5, "both": 77}}), "pd-unusual-for-age")
    assert (finding.pointer, finding.value) == (PD, 77)
