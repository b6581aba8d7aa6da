"""Near work: near PD, powers and the reading pair. Printed examples are named; the rest is worked out by hand here."""

from typing import Any

import pytest
from desk import ADD_L, ADD_R, BLANK, GONE, LATER, SHOP, Case, Edits, L, R, edited, findings, mirrored, prove

from service.bench_drawing import drawing
from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.bench import DrawingRequest
from service.contract.near import NearAnswer
from service.contract.order import Order

USE, NEAR, WORKING = "/lens/use", "/pd_mm/near", "/as_worn/working_distance_mm"
BOTH = {ADD_R: 2.0, ADD_L: 2.0}
READING = {USE: "near"} | BOTH
GEOMETRY = 32 * 400 / 427  # one eye of the ordinary order at 400 mm, the eye turning 27 mm behind the lens
CASES = (
    Case(
        code="near-pd-without-distance-pd",
        severity="review",
        within=(
            READING | {NEAR: {"both": 60}},
            {USE: "near", "/pd_mm": {"near": {"right": 30}}} | BOTH,
            {USE: "intermediate", "/pd_mm": {"near": {"both": 60}}} | BOTH,
        ),
        beyond={USE: "near", "/pd_mm": {"near": {"both": 60}}} | BOTH,
        pointer="/pd_mm",
        value=60.0,
        unit="mm",
    ),
    Case(
        # The usual range of grown-ups, by geometry at 400 mm: see the profile.
        code="near-pd-alone-not-usual",
        severity="reject",
        within=(
            {USE: "near", "/pd_mm": {"near": {"both": 60}}} | BOTH,
            READING | {NEAR: {"both": 33}},
            {USE: "near", "/pd_mm": {"near": {"right": 30}}} | BOTH,
        ),
        beyond={USE: "near", "/pd_mm": {"near": {"both": 33}}} | BOTH,
        pointer=NEAR,
        value=33.0,
        limit=SHOP.profile.pd.ranges[-1].least_mm * 400 / 427,
        unit="mm",
    ),
    Case(
        code="near-pd-far-from-geometry",
        severity="review",
        within=(
            READING | {NEAR: {"right": GEOMETRY - 2, "left": GEOMETRY}},
            READING,
            BOTH | {NEAR: {"right": 31.9, "left": 31.9}},
            {NEAR: {"right": 20, "left": 20}},
        ),
        beyond=READING | {NEAR: {"right": GEOMETRY - 2.25, "left": GEOMETRY}},
        eye="right",
        pointer=NEAR,
        value=2.25,
        limit=2.0,
        unit="mm",
        key="near.pd_differs_mm",
        moved=1.75,
    ),
    Case(
        code="near-pd-sum-differs",
        severity="review",
        within=(
            READING | {NEAR: {"right": 30, "left": 30, "both": 60.5}},
            READING | {NEAR: {"right": 30, "both": 59}},
            {NEAR: {"right": 30, "left": 30, "both": 50}},
        ),
        beyond=READING | {NEAR: {"right": 30, "left": 30, "both": 60.75}},
        pointer=f"{NEAR}/both",
        value=0.75,
        limit=0.5,
        unit="mm",
        key="pd.sum_differs_mm",
        moved=0.25,
    ),
    Case(
        code="near-power-worked-out",
        severity="review",
        within=({USE: "near"}, BOTH, {USE: "near", ADD_R: 2.0}, {USE: "intermediate"} | BOTH),
        beyond=READING,
        pointer=USE,
        value="near",
    ),
    Case(
        code="add-too-strong-for-distance",
        severity="review",
        within=(
            READING | {WORKING: 500},
            READING,
            {ADD_R: 3.0, ADD_L: 3.0, USE: "near"},
            {USE: "intermediate", WORKING: 600} | BOTH,
        ),
        beyond=READING | {WORKING: 625},
        pointer=WORKING,
        value=2.0,
        limit=1.6,
        unit="D",
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_near_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def answer(edits: Edits) -> CheckAnswer:
    return check(Order.model_validate(edited(edits)), SHOP, LATER)


def near_of(edits: Edits) -> NearAnswer:
    found = answer(edits).near
    assert found is not None
    return found


def assumed(edits: Edits) -> dict[str, float | str]:
    return {one.pointer: one.value for one in answer(edits).assumptions}


@pytest.mark.parametrize("edits", [{}, {USE: GONE}, {WORKING: 400}, {ADD_R: 0.0}], ids=str)
def test_a_pair_for_distance_without_an_addition_has_no_near_part(edits: Edits) -> None:
    assert answer(edits).near is None
    assert not [pointer for pointer in assumed(edits) if pointer.startswith((NEAR, WORKING))]


@pytest.mark.parametrize(
    ("pd", "printed"),
    [(63, 59.0164), (66, 61.8267)],  # t7-nearpd-63, read in sci.med.vision; t7-nearpd-geom, formula read on OptiBoard
)
def test_the_near_pd_by_geometry_is_that_of_the_worked_examples(pd: float, printed: float) -> None:
    found = near_of({"/pd_mm": {"both": pd}} | READING)
    assert found.by_geometry_mm == found.near_pd_mm == pytest.approx(printed, abs=1e-4)
    assert found.working_distance_mm == 400
    assert found.right.pd.taken_from == "geometry"
    assert found.right.inset_mm == pytest.approx((pd - printed) / 2, abs=1e-4)


def test_a_near_pd_given_for_both_is_split_as_the_distance_pds_are() -> None:
    # t7-inset-6864: PD 68, near PD 64, 2 mm an eye.
    even = near_of({"/pd_mm": {"both": 68, "near": {"both": 64}}} | READING)
    assert (even.right.inset_mm, even.left.inset_mm, even.near_pd_mm) == (2.0, 2.0, 64.0)
    uneven = {"/pd_mm": {"right": 31, "left": 33, "near": {"both": 60}}} | READING
    found = near_of(uneven)
    assert found.right.pd.taken_mm == 60 * 31 / 64
    assert (found.right.pd.taken_from, found.near_pd_mm) == ("split", 60.0)
    assert (assumed(uneven)[f"{NEAR}/right"], assumed(uneven)[f"{NEAR}/left"]) == (60 * 31 / 64, 60 * 33 / 64)


@pytest.mark.parametrize(
    ("given", "right", "left", "taken"),
    [
        ({"right": 30, "left": 29.5}, 30, 29.5, ("order", "order")),
        ({"right": 30, "both": 59}, 30, 29, ("order", "order")),
        ({"left": 30.5}, GEOMETRY, 30.5, ("geometry", "order")),
        ({"left": 31, "both": 31.5}, GEOMETRY, 31, ("geometry", "order")),  # what is left over is no PD
    ],
)
def test_a_near_pd_is_taken_as_it_was_given(given: Any, right: float, left: float, taken: Any) -> None:
    found = near_of(READING | {NEAR: given})
    assert (found.right.pd.taken_mm, found.left.pd.taken_mm) == pytest.approx((right, left), abs=1e-4)
    assert (found.right.pd.taken_from, found.left.pd.taken_from) == taken


def test_what_is_left_over_of_a_near_pd_for_both_is_asked_about_where_it_is_none() -> None:
    (found,) = findings(edited(READING | {NEAR: {"left": 31, "both": 31.5}}), "near-pd-sum-differs")
    assert found.value == pytest.approx(GEOMETRY - 0.5, abs=1e-9)


def test_total_inset_is_half_of_frame_pd_less_near_pd() -> None:
    # t7-totalinset: frame PD 66 and near PD 60 make 3 mm an eye, not 18.
    found = near_of({"/frame/a_mm": 50, "/frame/dbl_mm": 16, NEAR: {"right": 30, "left": 30}} | READING)
    assert (found.right.total_inset_mm, found.left.total_inset_mm) == (3.0, 3.0)


def test_reading_and_intermediate_powers_are_those_of_the_worked_examples() -> None:
    # t7-reading-rx: -0.50 -0.25 x 180 with +2.00 is read as +1.50 -0.25 x 180.
    edits = {f"{R}/sphere": -0.5, f"{R}/cylinder": -0.25, f"{R}/axis": 180} | BOTH | {USE: "progressive"}
    found = near_of(edits)
    assert found.right.reading is not None
    assert found.right.reading.notation == "+1.50 -0.25 x 180"
    # From memory: half the add in a standard trifocal, so that an add of +2.50 is +1.25 (t7-intermediate).
    half = near_of({f"{R}/sphere": 0.0, ADD_R: 2.5, ADD_L: 2.5, USE: "trifocal"})
    assert half.right.intermediate is not None
    assert half.right.intermediate.notation == "+1.25 DS"
    more = near_of({f"{R}/sphere": 0.0, ADD_R: 2.5, ADD_L: 2.5, "/profile/near/intermediate_share": 0.61})
    assert more.right.intermediate is not None
    assert more.right.intermediate.sphere == 1.525
    assert more.share_of_add == 0.61


def test_the_addition_is_the_same_in_both_forms_of_the_cylinder() -> None:
    minus = near_of({f"{R}/sphere": 1.0, f"{R}/cylinder": -2.0, f"{R}/axis": 30} | BOTH).right.reading
    plus = near_of({f"{R}/sphere": -1.0, f"{R}/cylinder": 2.0, f"{R}/axis": 120} | BOTH).right.reading
    assert minus is not None
    assert plus is not None
    assert (minus.sphere, minus.cylinder, minus.axis) == (3.0, -2.0, 30.0)
    assert (plus.sphere + plus.cylinder, -plus.cylinder) == (3.0, -2.0)


def test_a_reading_pair_is_centred_at_the_near_pd_and_a_person_confirms_its_powers() -> None:
    found = answer(READING | {NEAR: {"right": 30, "left": 30}, WORKING: 400})
    assert [one.code for one in found.findings if one.severity == "review"] == ["near-power-worked-out"]
    assert found.fit is not None
    assert found.fit.right is not None
    assert found.fit.right.minimum_blank_mm is not None
    # Frame PD 70: each centre 5 mm in, and 56 + 2 x 5 + 2 = 68 mm of blank.
    assert found.fit.right.decentration_mm.in_ == 5.0
    assert found.fit.right.minimum_blank_mm.at_most == 68.0
    assert found.near is not None
    assert found.near.right.pair_minimum_blank_mm is not None
    assert found.near.right.pair_minimum_blank_mm.at_most == 68.0
    assert found.near.right.pair_decentration_mm == found.fit.right.decentration_mm
    # The prescription stays as it is written.
    assert found.prescription is not None
    assert found.prescription.right.notation == "-2.00 DS"
    assert not [one for one in found.assumptions if one.pointer.startswith((NEAR, "/as_worn"))]


def test_a_reading_pair_needs_a_larger_blank_than_the_same_frame_for_distance() -> None:
    edits = {NEAR: {"right": 30, "left": 30}, BLANK: 66} | BOTH
    assert answer(edits).decision == "accept"
    assert findings(edited(edits | {USE: "near"}), "blank-may-be-too-small")


def test_the_fit_of_a_reading_pair_is_judged_by_the_reading_power() -> None:
    # ANSI Z80.1 forgives 0.67 of horizontal prism or 2.5 mm: -4.00 forgives 2.5 mm, and +1.00 makes it 6.7 mm.
    edits = {f"{R}/sphere": -1.0, f"{L}/sphere": -1.0, NEAR: {"both": 60}} | BOTH
    far, near = answer(edits).fit, answer(edits | {USE: "near", ADD_R: 5.0, ADD_L: 5.0}).fit
    assert far is not None
    assert near is not None
    assert far.right is not None
    assert near.right is not None
    assert far.right.centration_slack_mm is not None
    assert near.right.centration_slack_mm is not None
    assert far.right.centration_slack_mm.horizontal == pytest.approx(6.7, abs=0.01)
    assert near.right.centration_slack_mm.horizontal == 2.5


@pytest.mark.parametrize(
    ("edits", "code"),
    [
        ({USE: "near"}, "near-use-without-add"),
        ({USE: "near", ADD_R: 2.0}, "near-power-to-confirm"),
        ({USE: "near", ADD_R: -2.0, ADD_L: -2.0}, "near-power-to-confirm"),
        ({USE: "near", f"{R}/cylinder": -1.0} | BOTH, "near-power-to-confirm"),
        ({USE: "intermediate"} | BOTH, "near-power-to-confirm"),
        ({USE: "intermediate"}, "near-use-without-add"),
    ],
    ids=str,
)
def test_where_the_power_to_cut_does_not_follow_a_person_is_asked(edits: Edits, code: str) -> None:
    found = answer(edits)
    assert code in [finding.code for finding in found.findings]
    assert found.decision != "accept"


def test_an_intermediate_pair_is_centred_for_its_own_distance() -> None:
    found = answer({USE: "intermediate", NEAR: {"right": 30, "left": 30}} | BOTH)
    assert found.near is not None
    assert found.near.working_distance_mm == 650
    assert found.near.near_pd_mm == pytest.approx(64 * 650 / 677, abs=1e-4)
    assert found.fit is not None
    assert found.fit.right is not None
    assert found.fit.right.pd_mm == pytest.approx(32 * 650 / 677, abs=1e-4)


def test_the_lens_with_less_plus_in_the_vertical_gets_the_slab_off() -> None:
    # 20/20, bicentric grinding: base up in the lens most minus. |-4 - (-2)| x 10 mm = 2 prism dioptres.
    edits = {f"{R}/sphere": -4.0, f"{L}/sphere": -2.0, NEAR: {"right": 30, "left": 30}, USE: "bifocal"} | BOTH
    imbalance = near_of(edits).imbalance
    assert imbalance is not None
    assert (imbalance.level_mm, imbalance.inset_mm, imbalance.slab_off) == (10.0, 2.0, "right")
    # Each eye looks 2 mm in and 10 mm down: 0.8 and 0.4 base in (minus lens, base away from its centre), 4 and 2 base down.
    assert (imbalance.horizontal, imbalance.vertical) == (pytest.approx(1.2), pytest.approx(-2.0))
    assert near_of(edits | {USE: "distance"}).imbalance.slab_off is None  # type: ignore[union-attr]
    assert near_of(edits | {f"{R}/sphere": -3.25}).imbalance.slab_off is None  # type: ignore[union-attr]
    assert near_of(edits | {USE: "near"}).imbalance is None
    other = check(Order.model_validate(mirrored(edited(edits))), SHOP, LATER).near
    assert other is not None
    assert other.imbalance is not None
    assert (other.imbalance.slab_off, other.imbalance.vertical) == ("left", pytest.approx(2.0))


def test_a_nearer_distance_makes_the_near_pd_smaller() -> None:
    taken = [near_of(READING | {WORKING: mm}).near_pd_mm or 0.0 for mm in (2000, 600, 400, 330, 150)]
    assert taken == sorted(taken, reverse=True)
    assert len(set(taken)) == 5


def test_the_sheet_of_a_reading_pair_shows_the_powers_to_cut() -> None:
    order = edited(READING | {f"{R}/sphere": -1.0, NEAR: {"right": 30, "left": 30}})
    lenses = drawing(DrawingRequest.model_validate({"order": order}), SHOP, LATER).sheet.lenses
    assert {lens.eye: lens.notation for lens in lenses} == {"right": "+1.00 DS", "left": "+0.00 DS"}
    assert {lens.eye: lens.pupil[0] for lens in lenses} == {"right": 5.0, "left": -5.0}


VERTEX: Edits = {"/prescription/vertex_distance_mm": 13, "/as_worn/vertex_distance_mm": 18}


@pytest.mark.parametrize(
    ("edits", "power"),
    [
        # +10 sends parallel light on as 10; 5 mm further out that must be 10 / 1.05, and the addition comes on top.
        ({ADD_R: 2.5, ADD_L: 2.5}, 10 / 1.05 + 2.5),
        # Without an addition the power is that for 400 mm: of +12.50 it sends on 10.
        ({f"{R}/sphere": 12.5, f"{L}/sphere": 12.5}, 10 / 1.05 + 2.5),
    ],
    ids=str,
)
def test_a_reading_lens_keeps_what_it_sends_on_from_the_near_point(edits: Edits, power: float) -> None:
    reading = {f"{R}/sphere": 10.0, f"{L}/sphere": 10.0, USE: "near"} | VERTEX | edits
    found = answer(reading)
    assert found.vertex is not None
    assert found.vertex.right is not None
    assert found.vertex.right.compensated.sphere == pytest.approx(power, abs=1e-4)
    # For distance the same power would be changed by more.
    far = answer(reading | {USE: "distance", f"{R}/sphere": 12.5, f"{L}/sphere": 12.5}).vertex
    assert far is not None
    assert far.right is not None
    assert far.right.compensated.sphere == pytest.approx(12.5 / 1.0625, abs=1e-4)


def test_what_is_said_of_a_reading_pair_is_said_of_the_powers_that_are_cut() -> None:
    # -3.00 with +0.75 and +3.50: to cut are -2.25 and +0.50, which differ by 2.75 D; 10 mm down that makes 2.75.
    unequal = {f"{R}/sphere": -3.0, f"{L}/sphere": -3.0, ADD_R: 0.75, ADD_L: 3.5, USE: "near"}
    ready = {f"{R}/sphere": -2.25, f"{L}/sphere": 0.5, USE: "near"}
    for code in ("vertical-imbalance", "magnification-differs"):
        (worked_out,), (as_written,) = findings(edited(unequal), code), findings(edited(ready), code)
        assert worked_out.value == as_written.value
    assert findings(edited(unequal), "vertical-imbalance")[0].value == pytest.approx(2.75)
    # -5.00 with +2.50 is cut as -2.50, of which the vertex distance does not matter; +3.00 with +3.00 as +6.00.
    weak = {f"{R}/sphere": -5.0, f"{L}/sphere": -5.0, ADD_R: 2.5, ADD_L: 2.5, USE: "near"}
    assert not findings(edited(weak), "vertex-distance-not-known")
    strong = {f"{R}/sphere": 3.0, f"{L}/sphere": 3.0, ADD_R: 3.0, ADD_L: 3.0, USE: "near"}
    assert findings(edited(strong), "vertex-distance-not-known")


SEGMENTS: Edits = {USE: "bifocal", "/lens/segment": {"height_mm": {"right": 16, "left": 16}, "top_to_centre_mm": 14}}


def test_unequal_additions_make_prism_between_the_eyes_through_their_segments() -> None:
    # Pupils at 20, tops 4 mm and centres 18 mm below them: 10 mm down the eyes look 8 mm above the segments' centres, where
    # +1 and +3 make 0.8 and 2.4 prism dioptres base down.
    edits = SEGMENTS | {ADD_R: 1.0, ADD_L: 3.0}
    imbalance = near_of(edits).imbalance
    assert imbalance is not None
    assert (imbalance.level_mm, imbalance.segments_counted) == (10.0, True)
    assert (imbalance.vertical, imbalance.slab_off) == (pytest.approx(1.6), "left")
    (finding,) = findings(edited(edits), "vertical-imbalance-when-reading")
    assert finding.value == pytest.approx(1.6)
    unknown = near_of(edits | {"/lens/segment/top_to_centre_mm": GONE}).imbalance
    assert unknown is not None
    assert (unknown.vertical, unknown.segments_counted) == (0.0, False)
    alike = near_of(SEGMENTS | BOTH).imbalance
    assert alike is not None
    assert (alike.vertical, alike.slab_off) == (0.0, None)


def test_reading_is_judged_where_the_reading_part_is_looked_through() -> None:
    # The top 12 mm below the pupil, and 5 mm on into the segment: 17 mm at 1.25 D between the eyes.
    low = {"height_mm": {"right": 14, "left": 14}}
    edits = {
        f"{R}/sphere": -3.25,
        "/fitting_height_mm": {"right": 26, "left": 26},
        USE: "bifocal",
        "/lens/segment": low,
    } | BOTH
    imbalance = near_of(edits).imbalance
    assert imbalance is not None
    assert (imbalance.level_mm, abs(imbalance.vertical)) == (17.0, pytest.approx(2.125))
    (finding,) = findings(edited(edits), "vertical-imbalance-when-reading")
    assert (finding.value, "Looking 17 mm below" in finding.message) == (pytest.approx(2.125), True)
    corridor = near_of({USE: "progressive", "/lens/progressive": {"corridor_mm": 16}} | BOTH).imbalance
    assert corridor is not None
    assert corridor.level_mm == 16


def test_the_imbalance_that_is_judged_is_the_one_that_is_told() -> None:
    # A cylinder at 45 turns the 2 mm that the eyes look in into vertical prism.
    edits = {
        f"{R}/sphere": -1.0, f"{R}/cylinder": -4.0, f"{R}/axis": 45, f"{L}/sphere": 0.0, f"{L}/cylinder": -4.0,
        f"{L}/axis": 45, USE: "bifocal", NEAR: {"right": 30, "left": 30},
    } | BOTH  # fmt: skip
    found = answer(edits)
    assert found.near is not None
    assert found.near.imbalance is not None
    assert found.prism is not None
    assert found.prism.reading_level is not None
    # Straight down 1 D x 10 mm; J45 of +2 D either side, 2 mm in of one and 2 mm out of the other as seen: 0.8 more.
    assert found.near.imbalance.vertical == pytest.approx(-1.8)
    assert found.prism.reading_level.imbalance == pytest.approx(1.8)
    (finding,) = findings(edited(edits), "vertical-imbalance-when-reading")
    assert finding.value == pytest.approx(1.8)


def test_who_sees_with_one_eye_meets_no_imbalance() -> None:
    edits = {f"{R}/sphere": -1.0, f"{L}/sphere": -5.0, USE: "bifocal"} | BOTH
    assert findings(edited(edits), "vertical-imbalance-when-reading")
    one = edits | {"/wearer/useful_eyes": "right"}
    assert not findings(edited(one), "vertical-imbalance-when-reading")
    assert near_of(one).imbalance.slab_off is None  # type: ignore[union-attr]


def test_a_near_pd_that_an_intermediate_pair_does_not_use_is_not_lost_in_silence() -> None:
    edits = {USE: "intermediate", NEAR: {"both": 55}} | BOTH
    assert assumed(edits)[NEAR] == pytest.approx(64 * 650 / 677, abs=1e-3)
    assert NEAR not in assumed(edits | {USE: "near"})


@pytest.mark.parametrize(("add", "distance", "speaks"), [(3.5, 800, True), (2.5, 800, False), (3.5, 571, False)])
def test_half_an_addition_can_be_too_strong_for_an_intermediate_distance(
    add: float, distance: float, speaks: bool
) -> None:
    edits = {USE: "intermediate", ADD_R: add, ADD_L: add, WORKING: distance}
    found = findings(edited(edits), "add-too-strong-for-distance")
    assert bool(found) == speaks
    if found:
        assert (found[0].value, found[0].limit) == (1.75, 1.25)


def test_a_reading_pair_can_do_with_a_near_pd() -> None:
    found = answer({USE: "near", "/pd_mm": {"near": {"both": 60}}} | BOTH)
    assert found.decision == "review"
    assert "pd-missing" not in [one.code for one in found.findings]
    assert found.fit is not None
    assert found.fit.right is not None
    assert found.fit.left is not None
    assert (found.fit.right.pd_mm, found.fit.left.pd_mm) == (30.0, 30.0)
    # For any other use, or with the half of one eye alone, a PD is still asked for.
    for edits in ({USE: "intermediate", "/pd_mm": {"near": {"both": 60}}}, {"/pd_mm": {"near": {"both": 60}}}):
        assert findings(edited(edits | BOTH), "pd-missing")
    (finding,) = findings(edited({USE: "near", "/pd_mm": {"near": {"right": 30}}} | BOTH), "pd-missing")
    assert finding.eye == "left"


@pytest.mark.parametrize(("vertex", "way"), [(13, 27), (20, 34), (10, 24)])
def test_how_far_the_glasses_sit_before_the_eyes_counts_for_the_near_pd(vertex: float, way: float) -> None:
    # PD x W / (W + s), s 14 mm more than the vertex distance.
    edits = {USE: "near", "/as_worn/vertex_distance_mm": vertex} | BOTH
    assert near_of(edits).near_pd_mm == pytest.approx(64 * 400 / (400 + way), abs=1e-4)
    tilted = answer({"/as_worn/vertex_distance_mm": vertex, "/as_worn/pantoscopic_deg": 10}).as_worn
    assert tilted is not None
    assert tilted.right is not None
    assert tilted.right.centre_drop_mm is not None
    assert tilted.right.centre_drop_mm.exact_mm == pytest.approx(way * 0.17364818, abs=1e-4)


@pytest.mark.parametrize(("sphere", "inset"), [(12.0, 2.905), (-12.0, 1.552), (0.0, 2.023)])
def test_a_strong_lens_moves_the_place_where_the_eye_looks_through_its_segment(sphere: float, inset: float) -> None:
    # One ray from 400 mm: 32 / (1 + 400 (1 / 27 - F / 1000)), worked out by hand.
    edits = SEGMENTS | {f"{R}/sphere": sphere, f"{L}/sphere": sphere} | BOTH
    segment = near_of(edits).right.segment
    assert segment is not None
    assert segment.place_mm.in_ == pytest.approx(3.0 + inset, abs=5e-4)
    # A near PD that was measured is taken as it is.
    segment = near_of(edits | {NEAR: {"right": 30, "left": 30}}).right.segment
    assert segment is not None
    assert segment.place_mm.in_ == 5.0


def test_nothing_is_centred_by_a_near_pd_that_nobody_is_likely_to_have() -> None:
    for near in ({"both": 33}, {"right": 60, "left": 60}):
        found = answer({USE: "near", "/pd_mm": {"near": near}} | BOTH)
        assert found.decision == "reject"
        assert found.fit is not None
        assert (found.fit.right, found.fit.left) == (None, None)
        assert "near-pd-alone-not-usual" in [one.code for one in found.findings]


def test_a_trifocal_is_read_through_below_its_intermediate_part() -> None:
    # The top 5 mm below the pupil, 7 mm of intermediate part and 5 mm on: 17 mm at 1.25 D between the eyes.
    segment = {"height_mm": {"right": 18, "left": 18}}
    edits = {
        f"{R}/sphere": -3.25,
        "/fitting_height_mm": {"right": 23, "left": 23},
        USE: "trifocal",
        "/lens/segment": segment,
    }
    imbalance = near_of(edits | BOTH).imbalance
    assert imbalance is not None
    assert (imbalance.level_mm, abs(imbalance.vertical)) == (17.0, pytest.approx(2.125))
    assert near_of(edits | BOTH | {USE: "bifocal"}).imbalance.level_mm == 10.0  # type: ignore[union-attr]


def test_the_corridor_that_is_assumed_fits_into_the_least_height_of_the_design() -> None:
    for least, level in ((14, 10.0), (16, 12.0), (18, 14.0), (20, 14.0)):
        imbalance = near_of({USE: "progressive", "/lens/progressive": {"least_height_mm": least}} | BOTH).imbalance
        assert imbalance is not None
        assert imbalance.level_mm == level
