"""The wearer and the material."""

import pytest
from desk import BLANK, GONE, Case, edited, findings, one_of, prove

from optics_core.materials import materials

MATERIAL, AGE, EYES = "/lens/material", "/wearer/age_years", "/wearer/useful_eyes"
HARD_RESIN = {MATERIAL: "hard-resin-1.50"}
STOCKED = ["hard-resin-1.50", "polycarbonate", "thiourethane-1.60", "thiourethane-1.67", "episulphide-1.74"]
RESISTANT = one_of(MATERIAL, "urethane-1.53", "polycarbonate")
CASES = (
    Case(
        code="material-not-known",
        severity="review",
        within=({}, {MATERIAL: GONE}),
        beyond={MATERIAL: "window-glass"},
        pointer=MATERIAL,
        value="window-glass",
        remedies=[one_of(MATERIAL, *materials())],
    ),
    Case(
        code="material-not-stocked",
        severity="review",
        within=({}, {MATERIAL: "window-glass"}),
        beyond={MATERIAL: "crown-glass"},
        pointer=MATERIAL,
        value="crown-glass",
        key="stock",
        remedies=[one_of(MATERIAL, *STOCKED)],
    ),
    Case(
        code="material-brittle-for-drilling",
        severity="review",
        within=(
            {"/frame/rim": "drilled"},
            {"/frame/rim": "grooved", MATERIAL: "episulphide-1.74"},
            {"/frame/rim": "drilled", MATERIAL: "thiourethane-1.67"},
        ),
        beyond={"/frame/rim": "drilled", MATERIAL: "episulphide-1.74"},
        pointer=MATERIAL,
        value="episulphide-1.74",
        remedies=[one_of(MATERIAL, *(name for name in STOCKED if name != "episulphide-1.74"))],
    ),
    Case(
        code="blank-not-stocked",
        severity="note",
        within=({}, {BLANK: GONE}, {BLANK: 75}),
        beyond={BLANK: 72},
        pointer=BLANK,
        value=72.0,
        limit=75.0,
        unit="mm",
        key="stock",
        moved=[{"material": "polycarbonate", "diameters_mm": [72]}],
        moved_limit=72.0,
        remedies=[one_of(BLANK, 65.0, 70.0, 75.0)],
    ),
    Case(
        code="wearer-under-age",
        severity="review",
        within=({AGE: 16}, {AGE: GONE}),
        beyond={AGE: 15.9},
        pointer=AGE,
        value=15.9,
        limit=16.0,
        unit="years",
        key="wearer.person_below_age_years",
        moved=18.0,
    ),
    Case(
        code="one-useful-eye",
        severity="review",
        within=({}, {EYES: "both"}),
        beyond={EYES: "right"} | HARD_RESIN,
        eye="right",
        pointer=EYES,
        value="hard-resin-1.50",
    ),
    Case(
        code="impact-resistant-material-advised",
        severity="note",
        within=({EYES: "left"}, HARD_RESIN),
        beyond={EYES: "left"} | HARD_RESIN,
        pointer=MATERIAL,
        value="left",
        remedies=[RESISTANT],
    ),
    Case(
        code="impact-resistant-material-advised",
        severity="note",
        within=(HARD_RESIN | {AGE: 18}, {AGE: 10}, HARD_RESIN | {AGE: GONE}),
        beyond=HARD_RESIN | {AGE: 17.9},
        pointer=MATERIAL,
        value=17.9,
        limit=18.0,
        unit="years",
        key="wearer.impact_below_age_years",
        moved=19.0,
        remedies=[RESISTANT],
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_wearer_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def test_what_is_stocked_is_the_shops_to_say() -> None:
    order = edited({"/profile/stock": [{"material": "crown-glass", "diameters_mm": [70]}]})
    (finding,) = findings(order, "material-not-stocked")
    assert (finding.value, finding.limit_from) == ("polycarbonate", "request, /profile/stock")
    assert findings(edited({MATERIAL: "crown-glass"}, of=order), "material-not-stocked") == []


@pytest.mark.parametrize(("material", "word"), [("hard-resin-1.50", "is not"), ("polycarbonate", "is")])
def test_one_useful_eye_says_whether_the_material_resists(material: str, word: str) -> None:
    (finding,) = findings(edited({EYES: "left", MATERIAL: material}), "one-useful-eye")
    assert f"{material} {word} counted among them." in finding.message
