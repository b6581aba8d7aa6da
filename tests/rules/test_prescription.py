"""The form of a prescription. Quarter steps, axis 1 to 180: the trade's own."""

import pytest
from desk import AXIS_R, CYL_R, Case, L, R, between, edited, findings, prove

TORIC = {CYL_R: -0.75, AXIS_R: 10}
CASES = (
    Case(
        code="cylinder-without-axis",
        severity="reject",
        within=(TORIC, {CYL_R: 0.0}, {}),
        beyond={CYL_R: -0.75},
        eye="right",
        pointer=AXIS_R,
        value=-0.75,
        unit="D",
    ),
    Case(
        code="axis-out-of-range",
        severity="reject",
        within=(TORIC | {AXIS_R: 180}, TORIC | {AXIS_R: 1}, TORIC | {AXIS_R: 0}),
        beyond=TORIC | {AXIS_R: 181},
        eye="right",
        pointer=AXIS_R,
        value=181.0,
        limit=180.0,
        unit="°",
    ),
    Case(
        code="axis-out-of-range",
        severity="reject",
        within=(TORIC | {AXIS_R: 0},),
        beyond=TORIC | {AXIS_R: -1},
        eye="right",
        pointer=AXIS_R,
        value=-1.0,
        limit=1.0,
        unit="°",
    ),
    Case(
        code="power-out-of-reach",
        severity="reject",
        within=({f"{R}/sphere": -30.0}, {f"{R}/sphere": 30.0}),
        beyond={f"{R}/sphere": -30.25},
        eye="right",
        pointer=f"{R}/sphere",
        value=-30.25,
        limit=30.0,
        unit="D",
        key="power.readable_d",
        moved=29.0,
    ),
    Case(
        code="power-out-of-reach",
        severity="reject",
        within=(TORIC | {CYL_R: 30.0},),
        beyond=TORIC | {CYL_R: 75.0},
        eye="right",
        pointer=CYL_R,
        value=75.0,
        limit=30.0,
        unit="D",
        key="power.readable_d",
        moved=20.0,
    ),
    Case(
        # In the other form this sphere would read -35.00, so the pair of figures is judged, not each by itself only.
        code="power-out-of-reach",
        severity="reject",
        within=({f"{R}/sphere": -20.0, CYL_R: -10.0, AXIS_R: 90},),
        beyond={f"{R}/sphere": -20.0, CYL_R: -15.0, AXIS_R: 90},
        eye="right",
        pointer=CYL_R,
        value=-35.0,
        limit=30.0,
        unit="D",
        key="power.readable_d",
        moved=29.0,
    ),
    Case(
        code="axis-without-cylinder",
        severity="review",
        within=(TORIC, {AXIS_R: 10, CYL_R: 0.0}),
        beyond={AXIS_R: 10},
        eye="right",
        pointer=CYL_R,
        value=10.0,
        unit="°",
    ),
    Case(
        code="axis-not-whole",
        severity="review",
        within=(TORIC,),
        beyond=TORIC | {AXIS_R: 10.5},
        eye="right",
        pointer=AXIS_R,
        value=10.5,
        unit="°",
    ),
    Case(
        code="power-off-step",
        severity="review",
        within=({f"{R}/sphere": -2.75}, {f"{R}/sphere": -2.62}, {f"{R}/sphere": -2.625}, {f"{R}/sphere": -0.0}),
        beyond={f"{R}/sphere": -2.6},
        eye="right",
        pointer=f"{R}/sphere",
        value=-2.6,
        limit=0.25,
        unit="D",
    ),
    Case(
        code="power-on-eighth",
        severity="note",
        within=({f"{R}/sphere": -2.75}, {f"{R}/sphere": -2.6}),
        beyond={f"{R}/sphere": -2.62},
        eye="right",
        pointer=f"{R}/sphere",
        value=-2.62,
        unit="D",
    ),
    Case(
        code="cylinder-signs-differ",
        severity="review",
        within=(TORIC | {f"{L}/cylinder": -0.5, f"{L}/axis": 90}, TORIC | {f"{L}/cylinder": 0.0}),
        beyond=TORIC | {f"{L}/cylinder": 0.25, f"{L}/axis": 90},
        pointer=f"{L}/cylinder",
        value=-0.75,
        limit=0.25,
        unit="D",
    ),
    Case(
        code="sphere-sign-may-be-lost",
        severity="review",
        within=({f"{L}/sphere": 2.75}, {f"{L}/sphere": -2.0}, {f"{R}/sphere": -0.75, f"{L}/sphere": 1.0}),
        beyond={f"{L}/sphere": 2.5},
        pointer=f"{L}/sphere",
        value=0.5,
        limit=0.5,
        unit="D",
        key="power.lost_sign_difference_d",
        moved=0.75,
    ),
    Case(
        code="axis-zero",
        severity="note",
        within=(TORIC | {AXIS_R: 1}, TORIC | {AXIS_R: 180}),
        beyond=TORIC | {AXIS_R: 0},
        eye="right",
        pointer=AXIS_R,
        value=0.0,
        limit=180.0,
        unit="°",
        remedies=[between(AXIS_R, 180, 180)],
    ),
    Case(
        code="axis-with-zero-cylinder",
        severity="note",
        within=(TORIC, {CYL_R: 0.0}, {CYL_R: 0.0, AXIS_R: 180}, {CYL_R: 0.0, AXIS_R: 0}),
        beyond={CYL_R: 0.0, AXIS_R: 10},
        eye="right",
        pointer=AXIS_R,
        value=10.0,
        unit="°",
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_prescription_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


@pytest.mark.parametrize("hundredths", [12, 13, 37, 38, 62, 63, 87, 88])
@pytest.mark.parametrize("sign", [-1, 1])
def test_an_eighth_cut_to_two_decimals_is_noted_and_no_more(hundredths: int, sign: int) -> None:
    found = findings(edited({f"{R}/sphere": sign * (100 + hundredths) / 100, f"{L}/sphere": sign * 1.0}))
    # A plus lens from a round blank is told to be thicker than need be; that is not about the eighth.
    assert [finding.code for finding in found if finding.code != "stock-lens-thicker"] == ["power-on-eighth"]


def test_both_spheres_must_be_as_strong_as_the_profile_says_before_a_sign_is_called_lost() -> None:
    pair = {f"{R}/sphere": -1.0, f"{L}/sphere": 1.0}
    (finding,) = findings(edited(pair), "sphere-sign-may-be-lost")
    assert finding.value == 0
    assert not findings(edited(pair | {"/profile/power/lost_sign_least_d": 1.25}), "sphere-sign-may-be-lost")


@pytest.mark.parametrize(
    ("right", "left", "code"),
    [
        (-2.25, 2.50, "sphere-sign-may-be-lost"),
        (-2.25, 0.75, "spheres-of-opposite-sign"),
        (-2.25, -4.75, "anisometropia"),
        (-2.25, -8.00, "anisometropia-unusual"),
    ],
)
def test_what_both_spheres_tell_is_told_while_an_axis_is_still_missing(right: float, left: float, code: str) -> None:
    """So that the form is mended once, and not once for each fault."""
    pair = {f"{R}/sphere": right, CYL_R: -0.75, f"{L}/sphere": left}
    complete, lacking = findings(edited(pair | {AXIS_R: 10}), code), findings(edited(pair), code)
    assert len(complete) == 1
    assert lacking == complete
    assert findings(edited(pair), "cylinder-without-axis")


def test_a_lost_decimal_point_keeps_the_eye_from_being_worked_out() -> None:
    found = [finding.code for finding in findings(edited({f"{R}/sphere": -225.0}))]
    assert found == ["power-out-of-reach"]
