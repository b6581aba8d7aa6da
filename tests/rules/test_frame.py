"""The frame: can it exist, is it usual, does the pupil sit well inside the lens?"""

import pytest
from desk import DBL, ED, A, Case, between, edited, findings, prove

B, HEIGHTS, HEIGHT_R, HEIGHT_L = (
    "/frame/b_mm",
    "/fitting_height_mm",
    "/fitting_height_mm/right",
    "/fitting_height_mm/left",
)
DIAGONAL = (52**2 + 39**2) ** 0.5  # 65 exactly: 52 x 39 is 13 times 4 x 3
BOX = {A: 52, B: 39}


def usual(pointer: str, name: str, low: float, high: float, step: float, move: float) -> tuple[Case, Case]:
    """A boxed size at the lower and at the upper end of its usual range."""
    key = f"frame.{name}"
    common = {"code": "frame-size-unusual", "severity": "review", "pointer": pointer, "unit": "mm"}
    remedies = [between(pointer, low, high)]
    freed: dict[str, object] = {"/frame": {"a_mm": 52, "b_mm": 40, "dbl_mm": 18}}
    return (
        Case(
            **common,
            within=(freed | {pointer: low},),
            beyond=freed | {pointer: low - step},
            value=low - step,
            limit=low,
            key=f"{key}_least_mm",
            moved=low + move,
            remedies=remedies,
        ),
        Case(
            **common,
            within=(freed | {pointer: high},),
            beyond=freed | {pointer: high + step},
            value=high + step,
            limit=high,
            key=f"{key}_most_mm",
            moved=high - move,
            remedies=remedies,
        ),
    )


CASES = (
    Case(
        # A printed size is a rounded one, so half a millimetre below A is let pass.
        code="ed-below-box",
        severity="reject",
        within=({ED: 52}, {ED: 51.5}),
        beyond={ED: 51.4},
        pointer=ED,
        value=51.4,
        limit=52.0,
        unit="mm",
        remedies=[between(ED, 52, (52**2 + 40**2) ** 0.5)],
    ),
    Case(
        code="ed-above-diagonal",
        severity="reject",
        within=(BOX | {ED: DIAGONAL}, BOX | {ED: 65.5}),
        beyond=BOX | {ED: 65.6},
        pointer=ED,
        value=65.6,
        limit=65.0,
        unit="mm",
        remedies=[between(ED, 52, 65)],
    ),
    Case(
        code="b-larger-than-a",
        severity="review",
        within=({B: 52},),
        beyond={B: 52.5},
        pointer=B,
        value=52.5,
        limit=52.0,
        unit="mm",
    ),
    *usual(A, "a", 38, 62, 0.5, 1),
    *usual(B, "b", 22, 54, 0.5, 1),
    *usual(DBL, "dbl", 12, 26, 0.5, 1),
    Case(
        code="fitting-height-outside-lens",
        severity="reject",
        within=({HEIGHT_R: 39.5}, {HEIGHT_R: 0.5}),
        beyond={HEIGHT_R: 40},
        eye="right",
        pointer=HEIGHT_R,
        value=40.0,
        limit=40.0,
        unit="mm",
    ),
    Case(
        code="fitting-height-near-edge",
        severity="review",
        within=({HEIGHT_R: 32}, {HEIGHT_R: 8}, {HEIGHT_R: 40}, {HEIGHT_R: 0}),
        beyond={HEIGHT_R: 32.5},
        eye="right",
        pointer=HEIGHT_R,
        value=7.5,
        limit=8.0,
        unit="mm",
        key="fit.room_above_mm",
        moved=9.0,
    ),
    Case(
        code="fitting-height-near-edge",
        severity="review",
        within=({HEIGHT_R: 8},),
        beyond={HEIGHT_R: 7.5},
        eye="right",
        pointer=HEIGHT_R,
        value=7.5,
        limit=8.0,
        unit="mm",
        key="fit.room_below_mm",
        moved=9.0,
    ),
    Case(
        code="fitting-heights-unequal",
        severity="review",
        within=({HEIGHT_R: 22}, {HEIGHTS: {"right": 25}}),
        beyond={HEIGHT_R: 22.5},
        pointer=HEIGHTS,
        value=2.5,
        limit=2.0,
        unit="mm",
        key="fit.heights_unequal_mm",
        moved=1.5,
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_frame_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


@pytest.mark.parametrize(("height", "claim"), [(32.5, "above"), (7.5, "below")])
def test_a_height_near_an_edge_says_which_edge(height: float, claim: str) -> None:
    (finding,) = findings(edited({HEIGHT_R: height}), "fitting-height-near-edge")
    assert f"7.5 mm of lens {claim}" in finding.message


def test_a_pupil_below_the_lens_sits_outside_it() -> None:
    assert [finding.eye for finding in findings(edited({HEIGHT_L: 0}), "fitting-height-outside-lens")] == ["left"]


@pytest.mark.parametrize(("rounding", "count"), [(0.5, 1), (0.6, 0)])
def test_how_far_an_ed_may_contradict_its_box_is_the_shops_to_say(rounding: float, count: int) -> None:
    order = edited({ED: 51.4, "/profile/frame/rounding_mm": rounding})
    assert len(findings(order, "ed-below-box")) == count
