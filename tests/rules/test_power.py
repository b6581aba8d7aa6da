"""Powers that exist but are rare."""

import pytest
from desk import AXIS_R, CYL_R, Case, L, R, edited, findings, prove


def prism(amount: float, base: str | float) -> dict[str, float | str]:
    return {"amount": amount, "base": base}


CASES = (
    Case(
        code="sphere-unusual",
        severity="review",
        within=({f"{R}/sphere": -15.0}, {f"{R}/sphere": 10.0}),
        beyond={f"{R}/sphere": -15.25},
        eye="right",
        pointer=f"{R}/sphere",
        value=-15.25,
        limit=-15.0,
        unit="D",
        key="power.sphere_least_d",
        moved=-14.0,
    ),
    Case(
        code="sphere-unusual",
        severity="review",
        within=({f"{R}/sphere": 10.0},),
        beyond={f"{R}/sphere": 10.25},
        eye="right",
        pointer=f"{R}/sphere",
        value=10.25,
        limit=10.0,
        unit="D",
        key="power.sphere_most_d",
        moved=9.0,
    ),
    Case(
        # The meridian counts, not the figure in the sphere's place: -12.00 -4.00 is -16.00 across its axis.
        code="sphere-unusual",
        severity="review",
        within=({f"{R}/sphere": -12.0, CYL_R: -3.0, AXIS_R: 90},),
        beyond={f"{R}/sphere": -12.0, CYL_R: -4.0, AXIS_R: 90},
        eye="right",
        pointer=f"{R}/sphere",
        value=-16.0,
        limit=-15.0,
        unit="D",
        key="power.sphere_least_d",
        moved=-14.0,
    ),
    Case(
        code="cylinder-unusual",
        severity="review",
        within=({CYL_R: -6.0, AXIS_R: 90}, {CYL_R: 6.0, AXIS_R: 90}),
        beyond={CYL_R: -6.25, AXIS_R: 90},
        eye="right",
        pointer=CYL_R,
        value=-6.25,
        limit=6.0,
        unit="D",
        key="power.cylinder_unusual_d",
        moved=5.0,
    ),
    Case(
        code="cylinder-large",
        severity="note",
        within=({CYL_R: -4.0, AXIS_R: 90}, {CYL_R: -6.25, AXIS_R: 90}),
        beyond={CYL_R: -4.25, AXIS_R: 90},
        eye="right",
        pointer=CYL_R,
        value=-4.25,
        limit=4.0,
        unit="D",
        key="power.cylinder_large_d",
        moved=3.0,
    ),
    Case(
        code="anisometropia-unusual",
        severity="review",
        within=({f"{L}/sphere": -5.75},),
        beyond={f"{L}/sphere": -6.0},
        pointer="/prescription",
        value=4.0,
        limit=4.0,
        unit="D",
        key="power.difference_unusual_d",
        moved=3.75,
    ),
    Case(
        code="anisometropia",
        severity="note",
        within=({f"{L}/sphere": -3.75}, {f"{L}/sphere": -6.0}),
        beyond={f"{L}/sphere": -4.0},
        pointer="/prescription",
        value=2.0,
        limit=2.0,
        unit="D",
        key="power.difference_noted_d",
        moved=1.75,
    ),
    Case(
        code="spheres-of-opposite-sign",
        severity="note",
        within=({f"{L}/sphere": 0.0}, {f"{L}/sphere": -0.25}),
        beyond={f"{L}/sphere": 0.25},
        pointer="/prescription",
        value=-2.0,
        limit=0.25,
        unit="D",
    ),
    Case(
        code="prism-unusual",
        severity="review",
        within=({f"{R}/prism": [prism(10, "in")]}, {f"{R}/prism": [prism(6, "in"), prism(8, "up")]}),
        beyond={f"{R}/prism": [prism(10.5, "in")]},
        eye="right",
        pointer=f"{R}/prism",
        value=10.5,
        limit=10.0,
        unit="Δ",
        key="prism.unusual_pd",
        moved=9.0,
    ),
    Case(
        code="prism-vertical-bases-agree",
        severity="review",
        within=(
            {f"{R}/prism": [prism(2, "up")], f"{L}/prism": [prism(1, "down")]},
            {f"{R}/prism": [prism(2, "up")], f"{L}/prism": [prism(1, "in")]},
            {f"{R}/prism": [prism(2, 180)], f"{L}/prism": [prism(1, 180)]},
            {f"{R}/prism": [prism(2, "up")]},
        ),
        beyond={f"{R}/prism": [prism(2, "up")], f"{L}/prism": [prism(1, 90)]},
        pointer=f"{L}/prism",
        value=2.0,
        limit=1.0,
        unit="Δ",
    ),
    Case(
        code="prism-bases-cancel",
        severity="review",
        within=({f"{R}/prism": [prism(2, "in"), prism(1, "up")]}, {f"{R}/prism": [prism(2, "in"), prism(0, "out")]}),
        beyond={f"{R}/prism": [prism(2, "in"), prism(0.5, "out")]},
        eye="right",
        pointer=f"{R}/prism",
        value=1.5,
        unit="Δ",
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_power_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def test_up_to_the_graver_limit_the_note_speaks() -> None:
    assert findings(edited({CYL_R: -6.0, AXIS_R: 90}), "cylinder-large")


def test_the_difference_of_the_eyes_counts_half_the_cylinder() -> None:
    # -2.00 and -3.00 -2.00: the spherical equivalents are -2.00 and -4.00.
    (finding,) = findings(edited({f"{L}/sphere": -3.0, f"{L}/cylinder": -2.0, f"{L}/axis": 90}), "anisometropia")
    assert finding.value == 2.0
