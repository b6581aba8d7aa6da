"""Reading parts: segments and progressive lenses, what they need to be known, and the blank that follows."""

from typing import Any

import pytest
from desk import ADD_L, ADD_R, BLANK, GONE, LATER, SHOP, Case, Edits, edited, findings, prove

from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.near import ProgressiveAnswer, SegmentAnswer
from service.contract.order import Order

USE, SEGMENT, HEIGHT, FITTING = "/lens/use", "/lens/segment", "/lens/segment/height_mm", "/fitting_height_mm"
DESIGN, TRACE = "/lens/progressive", "/frame/trace/right"
NEAR_ADDED: Edits = {ADD_R: 2.0, ADD_L: 2.0, "/pd_mm/near": {"right": 30.0, "left": 30.0}}


def heights(right: Any, left: Any) -> Edits:
    return {f"{HEIGHT}/right": right, f"{HEIGHT}/left": left}


BIFOCAL: Edits = {USE: "bifocal"} | NEAR_ADDED | heights(17, 17)
TRIFOCAL: Edits = BIFOCAL | {USE: "trifocal"}
UNSAID: Edits = {USE: "progressive"} | NEAR_ADDED
PROGRESSIVE: Edits = UNSAID | {DESIGN: {"least_height_mm": 18}}
CASES = (
    Case(
        code="segment-height-not-given",
        severity="review",
        within=(BIFOCAL, {}, PROGRESSIVE),
        beyond=BIFOCAL | {f"{HEIGHT}/right": None},
        eye="right",
        pointer=f"{HEIGHT}/right",
        value="bifocal",
    ),
    Case(
        code="segment-outside-lens",
        severity="reject",
        within=(BIFOCAL | heights(39.75, 39.75), BIFOCAL | heights(0.25, 0.25)),
        beyond=BIFOCAL | heights(40, 39.75),
        eye="right",
        pointer=f"{HEIGHT}/right",
        value=40.0,
        limit=40.0,
        unit="mm",
    ),
    Case(
        code="segment-outside-lens",
        severity="reject",
        within=(BIFOCAL | heights(0.25, 0.25),),
        beyond=BIFOCAL | heights(0, 0.25),
        eye="right",
        pointer=f"{HEIGHT}/right",
        value=0.0,
        limit=40.0,
        unit="mm",
    ),
    Case(
        code="segment-too-low",
        severity="review",
        within=(BIFOCAL | heights(10, 10), BIFOCAL | heights(0, 0)),
        beyond=BIFOCAL | heights(9.75, 10),
        eye="right",
        pointer=f"{HEIGHT}/right",
        value=9.75,
        limit=10.0,
        unit="mm",
        key="segment.least_depth_mm",
        moved=11.0,
    ),
    Case(
        code="segment-too-high",
        severity="review",
        within=(BIFOCAL | heights(30, 30), BIFOCAL | heights(40, 40)),
        beyond=BIFOCAL | heights(30.25, 30),
        eye="right",
        pointer=f"{HEIGHT}/right",
        value=9.75,
        limit=10.0,
        unit="mm",
        key="segment.room_above_mm",
        moved=11.0,
    ),
    Case(
        code="segment-above-pupil",
        severity="review",
        within=(BIFOCAL | heights(19, 19), BIFOCAL | heights(25, 25) | {FITTING: {}}),
        beyond=BIFOCAL | heights(19.25, 19),
        eye="right",
        pointer=f"{HEIGHT}/right",
        value=0.75,
        limit=1.0,
        unit="mm",
        key="segment.below_pupil_least_mm",
        moved=1.25,
    ),
    Case(
        code="segment-too-low",
        severity="review",
        within=(TRIFOCAL | heights(17, 17),),
        beyond=TRIFOCAL | heights(16.75, 17),
        eye="right",
        pointer=f"{HEIGHT}/right",
        value=16.75,
        limit=17.0,
        unit="mm",
        key="segment.trifocal_least_depth_mm",
        moved=17.5,
    ),
    Case(
        code="segment-heights-unequal",
        severity="review",
        within=(BIFOCAL | heights(17, 15),),
        beyond=BIFOCAL | heights(17, 14.75),
        pointer=HEIGHT,
        value=2.25,
        limit=2.0,
        unit="mm",
        key="segment.heights_unequal_mm",
        moved=1.5,
    ),
    Case(
        code="progressive-needs-monocular-pd",
        severity="review",
        within=(PROGRESSIVE, {"/pd_mm": {"both": 64}}),
        beyond=PROGRESSIVE | {"/pd_mm": {"left": 32.0, "both": 64}},
        eye="right",
        pointer="/pd_mm/right",
        value="progressive",
    ),
    Case(
        code="progressive-needs-fitting-height",
        severity="review",
        within=(PROGRESSIVE, {FITTING: {}}),
        beyond=PROGRESSIVE | {f"{FITTING}/right": GONE},
        eye="right",
        pointer=f"{FITTING}/right",
        value="progressive",
    ),
    Case(
        code="progressive-height-too-small",
        severity="review",
        within=(UNSAID | {FITTING: {"right": 18, "left": 18}}, BIFOCAL),
        beyond=UNSAID | {FITTING: {"right": 17.75, "left": 18}},
        eye="right",
        pointer=f"{FITTING}/right",
        value=17.75,
        limit=18.0,
        unit="mm",
        key="progressive.least_height_mm",
        moved=19.0,
    ),
    Case(
        code="progressive-room-above-small",
        severity="review",
        within=(PROGRESSIVE | {FITTING: {"right": 30, "left": 30}},),
        beyond=PROGRESSIVE | {FITTING: {"right": 30.25, "left": 30}},
        eye="right",
        pointer=f"{FITTING}/right",
        value=9.75,
        limit=10.0,
        unit="mm",
        key="progressive.room_above_mm",
        moved=11.0,
    ),
    Case(
        code="reading-part-figures-not-used",
        severity="note",
        within=(BIFOCAL, {}, PROGRESSIVE),
        beyond=BIFOCAL | {USE: "distance"},
        pointer=SEGMENT,
        value="distance",
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_rules_on_reading_parts_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def answer(edits: Edits) -> CheckAnswer:
    return check(Order.model_validate(edited(edits)), SHOP, LATER)


def segment_of(edits: Edits) -> SegmentAnswer:
    near = answer(edits).near
    assert near is not None
    assert near.right.segment is not None
    return near.right.segment


def room_of(edits: Edits) -> ProgressiveAnswer:
    near = answer(edits).near
    assert near is not None
    assert near.right.progressive is not None
    return near.right.progressive


def codes(edits: Edits) -> set[str]:
    return {finding.code for finding in findings(edited(edits))}


ON_BLANK: Edits = {f"{SEGMENT}/blank_inset_mm": 2.0, f"{SEGMENT}/blank_drop_mm": 4.0}


def test_a_segment_lies_at_the_near_pd_and_its_height() -> None:
    # Frame PD 70, near PD 30: 5 mm in. 17 mm of 40: 3 mm below the middle.
    found = segment_of(BIFOCAL)
    assert (found.place_mm.in_, found.place_mm.up) == (5.0, -3.0)
    assert (found.depth_mm, found.room_above_mm) == (17.0, 23.0)
    assert (found.image_jump, found.blank_middle_mm) == (None, None)


@pytest.mark.parametrize(("top", "jump"), [(0, 0.0), (5, 1.0), (11, 2.2)])
def test_the_image_jumps_by_the_add_times_the_way_to_the_segments_centre(top: float, jump: float) -> None:
    # Add x distance in cm: durham-nfos, lesson on image jump; full width 0, flat top about 5 mm, round its radius.
    assert segment_of(BIFOCAL | {f"{SEGMENT}/top_to_centre_mm": top}).image_jump == pytest.approx(jump, abs=1e-4)
    assert segment_of(BIFOCAL | {USE: "trifocal", f"{SEGMENT}/top_to_centre_mm": top}).image_jump is None


def test_where_the_segment_lies_on_the_blank_decides_where_the_blank_lies() -> None:
    # The segment lies 5 in and 3 down; on the blank it is 2 in and 4 down: the blank's middle lies 3 in and 1 up.
    edits = BIFOCAL | ON_BLANK
    middle = segment_of(edits).blank_middle_mm
    assert middle is not None
    assert (middle.in_, middle.up) == (3.0, 1.0)
    fit = answer(edits).fit
    assert fit is not None
    assert fit.right is not None
    assert fit.right.minimum_blank_mm is not None
    # ED 56, and twice the way of the middle from the boxed centre, and 2.
    assert fit.right.minimum_blank_mm.at_most == pytest.approx(58 + 2 * (9 + 1) ** 0.5, abs=1e-4)
    # The optical centre belongs at the pupil all the same.
    assert (fit.right.decentration_mm.in_, fit.right.decentration_mm.up) == (3.0, 0.0)


def test_a_bifocal_of_which_all_is_known_is_accepted() -> None:
    assert answer(BIFOCAL | ON_BLANK).decision == "accept"
    assert answer(BIFOCAL | ON_BLANK | {USE: "trifocal"}).decision == "accept"


@pytest.mark.parametrize(
    "lacking",
    [
        {f"{SEGMENT}/blank_inset_mm": None},
        {f"{SEGMENT}/blank_drop_mm": None},
        {f"{HEIGHT}/left": None},
        {"/lens/blank/centre_offset_mm": {"right": {"in": 0.0, "up": 0.0}}},
    ],
    ids=str,
)
def test_a_bifocal_of_which_something_is_not_known_goes_to_a_person(lacking: Edits) -> None:
    assert "multifocal-layout-not-checked" in codes(BIFOCAL | ON_BLANK | lacking)


def test_a_blank_that_its_segment_carries_too_far_off_is_not_called_sure() -> None:
    far = BIFOCAL | {f"{SEGMENT}/blank_inset_mm": -6.0, f"{SEGMENT}/blank_drop_mm": 4.0}
    # The middle lies 11 in: 52 + 22 + 2 is more than 70.
    assert "blank-too-small" in codes(far)
    assert "blank-too-small" not in codes(far | {BLANK: 82})


def slanted(cut_mm: float) -> Any:
    """A box of 52 x 40 whose lower nasal corner (right eye: lower right) is cut off at 45 degrees, as points."""
    corners = [(26.0, 20.0), (-26.0, 20.0), (-26.0, -20.0), (26.0 - cut_mm, -20.0), (26.0, -20.0 + cut_mm)]
    points: list[list[float]] = []
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        points += [[x1 + (x2 - x1) * part / 8, y1 + (y2 - y1) * part / 8] for part in range(8)]
    return {"points_mm": points}


def test_an_outline_cut_away_towards_the_nose_leaves_a_segment_less_depth_than_its_height() -> None:
    # 5 mm in, the slanted side of a corner of 24 mm stands 3 mm above the lowest tangent: -20 + (5 - 2).
    edits = BIFOCAL | {TRACE: slanted(24), "/frame/ed_mm": GONE, BLANK: 90}
    assert segment_of(edits).depth_mm == pytest.approx(14.0, abs=1e-4)
    assert segment_of(edits | {TRACE: slanted(10)}).depth_mm == pytest.approx(17.0, abs=1e-4)
    assert "segment-too-low" in codes(edits | heights(12, 12))
    assert "segment-too-low" not in codes(edits | heights(13, 13))


@pytest.mark.parametrize(
    ("design", "least"),
    [
        ({"least_height_mm": 16}, 16),
        ({"corridor_mm": 13, "near_zone_mm": 5}, 18),
        ({"corridor_mm": 12}, 16),  # and the profile's 4 mm of near zone
        ({"near_zone_mm": 5}, 19),  # and the profile's corridor of 14
        ({"corridor_mm": 12, "least_height_mm": 18}, 18),
        ({"corridor_mm": 14, "least_height_mm": 14}, 14),  # the design's own word goes before its parts
        ({"corridor_mm": 15, "near_zone_mm": 5, "least_height_mm": 18}, 18),
    ],
)
def test_a_progressive_lens_wants_what_its_design_asks_for(design: Any, least: float) -> None:
    # 20/20 Plus, November 2015: fitting height = corridor + 4 to 5 mm of near zone.
    found = room_of(PROGRESSIVE | {DESIGN: design})
    assert (found.least_height_mm, found.room_below_mm, found.spare_mm) == (least, 20.0, 20.0 - least)


def test_what_the_profile_stands_in_for_is_said() -> None:
    def said(edits: Edits) -> dict[str, float | str]:
        taken = answer(edits).assumptions
        return {one.pointer: one.value for one in taken if one.pointer.startswith(DESIGN)}

    corridor = {f"{DESIGN}/corridor_mm": 14.0}  # on which the lower edge and the reading level rest
    assert said(PROGRESSIVE) == corridor
    assert said(PROGRESSIVE | {DESIGN: {"corridor_mm": 12}}) == {f"{DESIGN}/near_zone_mm": 4.0}
    assert said(PROGRESSIVE | {DESIGN: {}}) == {f"{DESIGN}/least_height_mm": 18.0} | corridor
    assert said(PROGRESSIVE | {DESIGN: {"near_zone_mm": 5}}) == corridor


def test_a_near_zone_is_looked_for_where_the_eye_looks_for_near() -> None:
    # The same slanted outline: 5 mm in, 17 mm are left of the 20 below the fitting point.
    edits = PROGRESSIVE | {TRACE: slanted(24), "/frame/ed_mm": GONE, BLANK: 90}
    assert room_of(edits).room_below_mm == pytest.approx(17.0, abs=1e-4)
    assert "progressive-height-too-small" in codes(edits)
    assert "progressive-height-too-small" not in codes(edits | {DESIGN: {"least_height_mm": 16.5}})


PLACED: Edits = {
    "/lens/blank/centre_offset_mm": {"right": {"in": 2.0, "up": 4.0}, "left": {"in": 2.0, "up": 4.0}},
    "/lens/blank/top_marked": True,
}


def test_a_progressive_pair_of_which_all_is_known_is_accepted() -> None:
    found = answer(PROGRESSIVE | PLACED)
    assert found.decision == "accept"
    assert found.fit is not None
    assert found.fit.right is not None
    assert found.fit.right.minimum_blank_mm is not None
    # The fitting point goes to the pupil, 3 in; the blank's middle then lies 1 in and 4 down.
    assert found.fit.right.minimum_blank_mm.at_most == pytest.approx(58 + 2 * (1 + 16) ** 0.5, abs=1e-4)


@pytest.mark.parametrize(
    "lacking",
    [
        {"/lens/blank/centre_offset_mm": {"right": {"in": 2.0, "up": 4.0}}},
        {"/pd_mm": {"both": 64}},
        {f"{FITTING}/left": GONE},
        {DESIGN: {}},
    ],
    ids=str,
)
def test_a_progressive_pair_of_which_something_is_not_known_goes_to_a_person(lacking: Edits) -> None:
    assert "multifocal-layout-not-checked" in codes(PROGRESSIVE | PLACED | lacking)


def test_figures_of_a_design_are_said_not_to_be_used_by_another_lens() -> None:
    found = findings(edited(PROGRESSIVE | {USE: "bifocal"}), "reading-part-figures-not-used")
    assert [(one.pointer, one.value) for one in found] == [(DESIGN, "bifocal")]


def test_a_lens_that_is_cut_larger_leaves_the_segment_where_the_eye_looks() -> None:
    edits = BIFOCAL | ON_BLANK | {TRACE: slanted(6), "/frame/ed_mm": GONE, BLANK: 90}
    plain, larger = (answer(edits | {"/frame/trace/size_change_mm": size}).near for size in (0.0, 1.0))
    assert plain is not None
    assert larger is not None
    for near in (plain, larger):
        # The frame PD is 52 + 18, the near PD 30 each; the pupils at 20 and the segments at 17 lie 3 mm apart.
        assert near.right.total_inset_mm == pytest.approx(5.0)
        assert near.right.segment is not None
        assert (near.right.segment.place_mm.in_, near.right.segment.place_mm.up) == pytest.approx((5.0, -3.0))
    assert plain.right.segment.blank_middle_mm == larger.right.segment.blank_middle_mm  # type: ignore[union-attr]


def test_an_outline_cut_away_above_leaves_less_room_there_than_the_box() -> None:
    # The corner of 24 mm above: at 5 mm in its side stands at 20 - (5 - 2) = 17 mm, at the pupil's 3 mm at 19.
    above = {"points_mm": [[x, -y] for x, y in reversed(slanted(24)["points_mm"])]}
    edits = {TRACE: above, "/frame/ed_mm": GONE, BLANK: 90}
    assert room_of(PROGRESSIVE | edits).room_above_mm == pytest.approx(19.0, abs=1e-4)
    assert room_of(PROGRESSIVE).room_above_mm == 20.0
    assert segment_of(BIFOCAL | edits).room_above_mm == pytest.approx(20.0, abs=1e-4)  # 17 less the top's -3
    assert segment_of(BIFOCAL).room_above_mm == 23.0
