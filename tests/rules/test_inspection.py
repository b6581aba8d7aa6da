"""Rules on finished pairs, and on batches of them: silent within their limit, speaking beyond it, for either eye.

The limits are those of ANSI Z80.1-2015 as collected (handbook, standards 1), and where it is said ISO 21987:2017 (section 2),
whose axis and prism limits are from memory there. The order is the ordinary one of the desk with a cylinder of 1.00 D.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from desk import GONE, LATER, SHOP, Case, Edits, edited, mirrored, near, overriding
from scipy import stats
from test_every_rule import JARGON

from service.contract.answer import Finding
from service.contract.inspect import InspectAnswer, InspectRequest
from service.contract.inspect_many import InspectManyAnswer, InspectManyRequest
from service.contract.order import Order
from service.inspecting import inspect
from service.inspecting_many import inspect_many
from service.order_digest import order_digest
from service.rules.registry import RULES

Document = dict[str, Any]

RX, MEASURED = "/ordered/prescription", "/measured"
LENS = "/ordered/lens"
PAIR: Document = {
    "ordered": edited(
        {
            "/prescription/right": {"sphere": -2.0, "cylinder": -1.0, "axis": 30},
            "/prescription/left": {"sphere": -2.0, "cylinder": -1.0, "axis": 150},
        }
    ),
    "measured": {
        "right": {"sphere": -2.0, "cylinder": -1.0, "axis": 30},
        "left": {"sphere": -2.0, "cylinder": -1.0, "axis": 150},
        "optical_centre_from_bridge_mm": {"right": 32, "left": 32},
        "optical_centre_height_mm": {"right": 20, "left": 20},
    },
    "standard": "ansi-z80.1-2015",
}
# Across each lens has -2.25 D, upright -2.75 D: 0.67 prism dioptres are 2.98 mm, 0.33 are 1.2 mm, beyond the millimetres.
SPHERE, CYLINDER, AXIS = (f"{MEASURED}/right/{name}" for name in ("sphere", "cylinder", "axis"))
PRISM_R, PRISM_L = f"{MEASURED}/right/prism", f"{MEASURED}/left/prism"
BRIDGE, HEIGHT = f"{MEASURED}/optical_centre_from_bridge_mm", f"{MEASURED}/optical_centre_height_mm"
DISTANCE = f"{MEASURED}/optical_centre_distance_mm"
VERIFICATION = "/verification/right"
VERIFIED: Edits = {VERIFICATION: {"sphere": -2.0, "cylinder": -1.0, "axis": 30}}
ISO: Edits = {"/standard": "iso-21987-2017"}
BIFOCAL: Edits = {
    f"{LENS}/use": "bifocal",
    f"{RX}/right/add": 2.0,
    f"{RX}/left/add": 2.0,
    "/ordered/pd_mm/near": {"right": 30.0, "left": 30.0},
    f"{LENS}/segment": {"height_mm": {"right": 17, "left": 17}},
    f"{MEASURED}/right/add": 2.0,
    f"{MEASURED}/left/add": 2.0,
    f"{MEASURED}/right/segment_height_mm": 17,
    f"{MEASURED}/left/segment_height_mm": 17,
    f"{MEASURED}/right/segment_from_bridge_mm": 30,
    f"{MEASURED}/left/segment_from_bridge_mm": 30,
}
PROGRESSIVE: Edits = {
    f"{LENS}/use": "progressive",
    f"{RX}/right/add": 2.0,
    f"{RX}/left/add": 2.0,
    f"{MEASURED}/right/add": 2.0,
    f"{MEASURED}/left/add": 2.0,
    f"{MEASURED}/right/fitting_point_height_mm": 20,
    f"{MEASURED}/left/fitting_point_height_mm": 20,
    f"{MEASURED}/right/fitting_point_from_bridge_mm": 32,
    f"{MEASURED}/left/fitting_point_from_bridge_mm": 32,
}
READING: Edits = {f"{LENS}/use": "near", f"{RX}/right/add": 2.0, f"{RX}/left/add": 2.0}
READ_POWERS: Edits = {SPHERE: 0.0, f"{MEASURED}/left/sphere": 0.0}


def prism(pointer: str, amount: Any, base: str) -> Edits:
    """A prism read on one lens, and none on the other."""
    return {PRISM_R: [], PRISM_L: []} | {pointer: [{"amount": amount, "base": base}]}


def beyond(pointer: str, value: float, limit: float, unit: str, *, eye: str | None = "right", **edits: Any) -> Case:
    return Case(
        code="beyond-tolerance", severity="reject", pointer=pointer, eye=eye, value=value, limit=limit, unit=unit, **edits
    )  # fmt: skip


def missing(pointer: str, within: Edits, without: Edits, eye: str | None = "right") -> Case:
    return Case(code="not-measured", severity="review", within=(within,), beyond=without, pointer=pointer, eye=eye)


def apart(pointer: str, value: float, limit: float, unit: str, within: Edits, edits: Edits, eye: str | None) -> Case:
    return Case(
        code="readings-apart", severity="review", within=(within,), beyond=edits, pointer=pointer, eye=eye, value=value,
        limit=limit, unit=unit,
    )  # fmt: skip


def faulty(code: str, pointer: str, within: Edits, edits: Edits, value: float | None = None) -> Case:
    return Case(
        code=code, severity="review", within=(within,), beyond=edits, pointer=pointer, eye="right", value=value,
        unit=None if value is None else "°",
    )  # fmt: skip


CASES: tuple[Case, ...] = (
    beyond(SPHERE, 0.14, 0.13, "D", within=({SPHERE: -2.13}, {SPHERE: -1.87}), beyond={SPHERE: -2.14}),
    beyond(SPHERE, 0.14, 0.13, "D", within=({SPHERE: -1.87},), beyond={SPHERE: -1.86}),
    beyond(CYLINDER, 0.14, 0.13, "D", within=({CYLINDER: -1.13}, {CYLINDER: -0.87}), beyond={CYLINDER: -1.14}),
    beyond(AXIS, 4.0, 3.0, "°", within=({AXIS: 33}, {AXIS: 27}), beyond={AXIS: 34}),
    beyond(AXIS, 4.0, 3.0, "°", within=({AXIS: 27},), beyond={AXIS: 26}),
    beyond(
        MEASURED, 0.68, 0.67, "Δ", eye=None, within=(prism(PRISM_R, 0.67, "in"), prism(PRISM_L, 0.67, "out")),
        beyond=prism(PRISM_R, 0.68, "in"),
    ),
    beyond(
        MEASURED, 0.34, 0.33, "Δ", eye=None, within=(prism(PRISM_R, 0.33, "up"), prism(PRISM_L, 0.33, "up")),
        beyond=prism(PRISM_L, 0.34, "down"),
    ),
    # 3 mm too far apart are 0.675 prism dioptres, all before one lens.
    beyond(
        DISTANCE, 0.675, 0.67, "Δ", eye=None, within=({BRIDGE: {}, DISTANCE: 66.5}, {BRIDGE: {}, DISTANCE: 61.5}),
        beyond={BRIDGE: {}, DISTANCE: 67},
    ),
    beyond(
        f"{MEASURED}/right/add", 0.13, 0.12, "D", within=(BIFOCAL, BIFOCAL | {f"{MEASURED}/right/add": 2.12}),
        beyond=BIFOCAL | {f"{MEASURED}/right/add": 2.13},
    ),
    beyond(
        f"{MEASURED}/right/segment_height_mm", 1.1, 1.0, "mm",
        within=(BIFOCAL | {f"{MEASURED}/right/segment_height_mm": 18},),
        beyond=BIFOCAL | {f"{MEASURED}/{eye}/segment_height_mm": 18.1 for eye in ("right", "left")},
    ),
    beyond(
        f"{MEASURED}/right/segment_height_mm", 1.1, 1.0, "mm", eye=None,
        within=(BIFOCAL | {f"{MEASURED}/right/segment_height_mm": 18},),
        beyond=BIFOCAL | {f"{MEASURED}/right/segment_height_mm": 17.6, f"{MEASURED}/left/segment_height_mm": 16.5},
    ),
    beyond(
        f"{MEASURED}/right/segment_from_bridge_mm", 2.6, 2.5, "mm", eye=None,
        within=(BIFOCAL | {f"{MEASURED}/left/segment_from_bridge_mm": 32.5},),
        beyond=BIFOCAL | {f"{MEASURED}/left/segment_from_bridge_mm": 32.6},
    ),
    beyond(
        f"{MEASURED}/right/segment_tilt_deg", 2.1, 2.0, "°", within=(BIFOCAL | {f"{MEASURED}/right/segment_tilt_deg": -2},),
        beyond=BIFOCAL | {f"{MEASURED}/right/segment_tilt_deg": -2.1},
    ),
    beyond(
        f"{MEASURED}/right/fitting_point_height_mm", 1.1, 1.0, "mm",
        within=(PROGRESSIVE | {f"{MEASURED}/right/fitting_point_height_mm": 19},),
        beyond=PROGRESSIVE | {f"{MEASURED}/right/fitting_point_height_mm": 18.9},
    ),
    beyond(
        f"{MEASURED}/right/centre_thickness_mm", 0.31, 0.3, "mm",
        within=(
            {f"{LENS}/centre_thickness_mm": 2.0, f"{MEASURED}/right/centre_thickness_mm": 2.3},
            {f"{MEASURED}/right/centre_thickness_mm": 5.0},
        ),
        beyond={f"{LENS}/centre_thickness_mm": 2.0, f"{MEASURED}/right/centre_thickness_mm": 2.31},
    ),
    beyond(
        f"{MEASURED}/right/front_power_d", 0.76, 0.75, "D",
        within=({f"{LENS}/front_power_d": 4.0, f"{MEASURED}/right/front_power_d": 4.75},),
        beyond={f"{LENS}/front_power_d": 4.0, f"{MEASURED}/right/front_power_d": 4.76},
    ),
    # The pair as such keeps to its limit: prism that turns both eyes to one side, base up both, one in and one out.
    Case(
        code="lenses-off-alike",
        severity="review",
        within=(
            {},
            {f"{HEIGHT}": {"right": 21.2, "left": 21.2}},
            prism(PRISM_R, 0.33, "up") | {PRISM_L: [{"amount": 0.33, "base": "up"}]},
            # Where the pair fails, that is said instead.
            prism(PRISM_R, 0.5, "up"),
        ),
        beyond={PRISM_R: [{"amount": 0.34, "base": "up"}], PRISM_L: [{"amount": 0.3, "base": "up"}]},
        pointer=PRISM_R,
        eye="right",
        value=0.34,
        limit=0.33,
        unit="Δ",
    ),
    Case(
        code="lenses-off-alike",
        severity="review",
        within=({BRIDGE: {"right": 29.5, "left": 34.5}},),
        beyond={BRIDGE: {"right": 29.0, "left": 35.0}},
        pointer=f"{BRIDGE}/right",
        eye="right",
        value=0.675,
        limit=0.67,
        unit="Δ",
    ),
    # Yoked prism that was ordered up and made down: nothing between the eyes, and both lenses wrong by twice as much.
    Case(
        code="lenses-off-alike",
        severity="review",
        within=({f"{RX}/{eye}/prism": [{"amount": 2, "base": "up"}] for eye in ("right", "left")}
                | {pointer: [{"amount": 2, "base": "up"}] for pointer in (PRISM_R, PRISM_L)},),
        beyond={f"{RX}/{eye}/prism": [{"amount": 2, "base": "up"}] for eye in ("right", "left")}
        | {pointer: [{"amount": 2, "base": "down"}] for pointer in (PRISM_R, PRISM_L)},
        pointer=PRISM_R,
        eye="right",
        value=4.0,
        limit=0.33,
        unit="Δ",
    ),
    Case(
        code="sheet-of-another-order",
        severity="review",
        within=({}, {"/sheet_digest": order_digest(Order.model_validate(PAIR["ordered"]))}),
        beyond={"/sheet_digest": "0" * 64},
        pointer="/sheet_digest",
    ),
    Case(
        code="inspected-order-rejected",
        severity="review",
        within=({}, {f"{RX}/issued_on": "2020-01-01"}),
        beyond={f"{LENS}/blank_diameter_mm": 40},
        pointer="/ordered",
    ),
    Case(
        code="verification-power-unusable",
        severity="review",
        within=({"/verification/right": {"sphere": -2.0, "cylinder": -1.0, "axis": 30}},),
        beyond={"/verification/right": {"sphere": -2.0, "cylinder": -1.0}},
        pointer="/verification/right",
        eye="right",
    ),
    Case(
        code="beyond-recalled-tolerance",
        severity="review",
        within=(ISO | {AXIS: 34}, ISO | {AXIS: 26}, {AXIS: 35}),
        beyond=ISO | {AXIS: 35},
        pointer=AXIS,
        eye="right",
        value=5.0,
        limit=4.0,
        unit="°",
    ),
    Case(
        code="beyond-recalled-tolerance",
        severity="review",
        within=(ISO | prism(PRISM_R, 0.5, "up"),),
        beyond=ISO | prism(PRISM_R, 0.51, "up"),
        pointer=MEASURED,
        value=0.51,
        limit=0.5,
        unit="Δ",
    ),
    missing(SPHERE, {}, {f"{MEASURED}/right": {}}),
    missing(DISTANCE, {BRIDGE: {}, DISTANCE: 64}, {BRIDGE: {"right": 32}}, eye=None),
    missing(HEIGHT, {}, {HEIGHT: {"right": 20}}, eye=None),
    *(missing(f"{MEASURED}/right/{name}", BIFOCAL, BIFOCAL | {f"{MEASURED}/right/{name}": None})
      for name in ("add", "segment_height_mm", "segment_from_bridge_mm")),
    *(missing(f"{MEASURED}/right/{name}", PROGRESSIVE, PROGRESSIVE | {f"{MEASURED}/right/{name}": None})
      for name in ("add", "fitting_point_height_mm", "fitting_point_from_bridge_mm")),
    # What was read and cannot be held against the order is told too: the segment's place without a near PD of that eye,
    # an addition that the order lacks, one on a lens that should have none.
    missing(f"{MEASURED}/right/add", BIFOCAL, BIFOCAL | {f"{RX}/right/add": None}),
    missing(f"{MEASURED}/right/add", {f"{MEASURED}/right/add": 0}, {f"{MEASURED}/right/add": 2.0}),
    missing(f"{MEASURED}/right/segment_height_mm", {}, {f"{MEASURED}/right/segment_height_mm": 17}),
    missing(f"{MEASURED}/right/marks_tilt_deg", PROGRESSIVE | {f"{MEASURED}/right/marks_tilt_deg": 1},
            BIFOCAL | {f"{MEASURED}/right/marks_tilt_deg": 1}),
    # A pair for near whose powers do not follow from the order.
    missing(SPHERE, READING | READ_POWERS, READING | READ_POWERS | {f"{RX}/left/add": None}),
    missing(
        SPHERE,
        READING | {f"{LENS}/use": "intermediate", "/verification": {eye: {"sphere": -1.0} for eye in ("right", "left")}},
        READING | {f"{LENS}/use": "intermediate"},
    ),
    apart(SPHERE, 0.14, 0.13, "D", {SPHERE: [-2.07, -1.94]}, {SPHERE: [-2.07, -1.93]}, "right"),
    apart(CYLINDER, 0.14, 0.13, "D", {CYLINDER: [-1.0, -1.13]}, {CYLINDER: [-1.0, -1.14, -1.1]}, "right"),
    apart(AXIS, 4.0, 3.0, "°", {AXIS: [28.5, 31.5]}, {AXIS: [28, 32]}, "right"),
    # Axes lie on a ring: 179 and 2 are three degrees apart.
    apart(
        AXIS, 4.0, 3.0, "°", {f"{RX}/right/axis": 180, AXIS: [179, 2]}, {f"{RX}/right/axis": 180, AXIS: [178, 2]}, "right"
    ),
    # Of prism and millimetres the kinder: 2.9 mm are 0.6525 prism dioptres, 3 mm are 0.675.
    apart(
        DISTANCE, 0.675, 0.67, "Δ", {BRIDGE: {}, DISTANCE: [62.55, 65.45]}, {BRIDGE: {}, DISTANCE: [62.5, 65.5]}, None
    ),
    # The ranges of the two lenses add up: 1.5 mm each.
    apart(
        BRIDGE, 0.675, 0.67, "Δ", {BRIDGE: {"right": [31.3, 32.7], "left": [31.3, 32.8]}},
        {BRIDGE: {"right": [31.25, 32.75], "left": [32.75, 31.25]}}, None,
    ),
    # 1.2 mm are 0.33 prism dioptres before a lens of -2.75 D.
    apart(HEIGHT, 0.341, 0.33, "Δ", {HEIGHT: {"right": [19.4, 20.6], "left": 20}},
          {HEIGHT: {"right": [19.38, 20.62], "left": 20}}, None),
    apart(MEASURED, 0.68, 0.67, "Δ", prism(PRISM_R, [0, 0.67], "in"), prism(PRISM_R, [0, 0.68], "in"), None),
    apart(
        f"{MEASURED}/right/segment_from_bridge_mm", 2.6, 2.5, "mm",
        BIFOCAL | {f"{MEASURED}/right/segment_from_bridge_mm": [28.75, 31.25]},
        BIFOCAL | {f"{MEASURED}/right/segment_from_bridge_mm": [28.7, 31.3]}, None,
    ),
    faulty("reading-without-sphere", SPHERE, {f"{MEASURED}/right": {}}, {SPHERE: GONE}),
    faulty("reading-without-axis", AXIS, {CYLINDER: 0, AXIS: GONE}, {AXIS: GONE}),
    faulty("reading-axis-out-of-range", AXIS, {f"{RX}/right/axis": 180, AXIS: 0}, {AXIS: 180.5}, 180.5),
    faulty("reading-axis-out-of-range", AXIS, {f"{RX}/right/axis": 180, AXIS: 180}, {AXIS: [30, -0.5]}, -0.5),
    faulty(
        "readings-do-not-pair", SPHERE, {SPHERE: [-2.0, -2.0], AXIS: [30, 30]}, {SPHERE: [-2.0, -2.0, -2.0], AXIS: [30, 30]}
    ),
    Case(
        code="verification-power-far-from-order",
        severity="review",
        within=({"/verification/right": {"sphere": -2.99, "cylinder": -1.0, "axis": 30}},),
        beyond={"/verification/right": {"sphere": -3.0, "cylinder": -1.0, "axis": 30}},
        pointer="/verification/right",
        eye="right",
        value=1.0,
        limit=1.0,
        unit="D",
        key="inspection.verification_differs_d",
        moved=0.9,
    ),
    Case(
        code="verification-prism-far-from-order",
        severity="review",
        within=(VERIFIED | {f"{VERIFICATION}/prism": [{"amount": 1.49, "base": "in"}]}, VERIFIED),
        beyond=VERIFIED | {f"{VERIFICATION}/prism": [{"amount": 1.5, "base": "in"}]},
        pointer=f"{VERIFICATION}/prism",
        eye="right",
        value=1.5,
        limit=1.5,
        unit="Δ",
        key="inspection.verification_prism_differs_pd",
        moved=1.4,
    ),
    # 3 mm are 0.675 prism dioptres: just beyond what is allowed, by prism and by distance.
    Case(
        code="readings-contradict",
        severity="review",
        within=(
            {PRISM_R: [], PRISM_L: [], BRIDGE: {}, DISTANCE: 66.5},
            {PRISM_R: [], PRISM_L: []},
            # Where the prism fails, that is said instead.
            {PRISM_R: [{"amount": 3, "base": "in"}], PRISM_L: [], BRIDGE: {}, DISTANCE: 67},
        ),
        beyond={PRISM_R: [], PRISM_L: [], BRIDGE: {}, DISTANCE: 67},
        pointer=DISTANCE,
        value=0.675,
        limit=0.67,
        unit="Δ",
    ),
    Case(
        code="centre-far-from-middle",
        severity="review",
        within=({"/ordered/fitting_height_mm": {}, HEIGHT: {"right": 26.9, "left": 26.9}}, {HEIGHT: {"right": 28, "left": 28}}),
        beyond={"/ordered/fitting_height_mm": {}, HEIGHT: {"right": 27, "left": 26.9}},
        pointer=f"{HEIGHT}/right",
        eye="right",
        value=7.0,
        limit=7.0,
        unit="mm",
        key="inspection.centre_off_middle_mm",
        moved=6.5,
    ),
    Case(
        code="inspected-order-under-review",
        severity="note",
        within=({},),
        beyond={"/ordered/prescription/issued_on": "2020-01-01"},
        pointer="/ordered",
    ),
    Case(
        code="power-by-recalled-limits-only",
        severity="review",
        within=(ISO | {SPHERE: -2.1}, PROGRESSIVE | {SPHERE: -2.1}, PROGRESSIVE | ISO),
        beyond=PROGRESSIVE | ISO | {SPHERE: -2.05},
        pointer="/standard",
        eye="right",
    ),
    Case(code="limits-recalled", severity="note", within=({},), beyond=ISO, pointer="/standard"),
    Case(
        code="residual-power",
        severity="note",
        within=({SPHERE: -2.19}, {SPHERE: -1.81}),
        beyond={SPHERE: -2.2},
        pointer=f"{MEASURED}/right",
        eye="right",
        value=0.2,
        limit=0.2,
        unit="D",
        key="inspection.residual_noted_d",
        moved=0.19,
    ),
    Case(
        code="residuals-opposed",
        severity="note",
        within=({SPHERE: -2.12, f"{MEASURED}/left/sphere": -1.88}, {SPHERE: -2.12, f"{MEASURED}/left/sphere": -2.12}),
        beyond={SPHERE: -2.12, f"{MEASURED}/left/sphere": -1.87},
        pointer=MEASURED,
        value=0.25,
        limit=0.25,
        unit="D",
        key="inspection.between_eyes_noted_d",
        moved=0.24,
    ),
)  # fmt: skip
OF_BATCHES = {"deviation-drifts"}


def answered(document: Document) -> InspectAnswer:
    return inspect(InspectRequest.model_validate(document), SHOP, LATER)


def spoken(document: Document, case: Case) -> list[Finding]:
    """What the case's rule finds about the case's eye, at its place."""
    found = [one for one in answered(document).findings if (one.code, one.eye) == (case.code, case.eye)]
    return [one for one in found if one.pointer == case.pointer]


def one_spoken(document: Document, case: Case) -> Finding:
    found = spoken(document, case)
    assert len(found) == 1, f"{case.code} spoke {len(found)} times"
    return found[0]


def pair(edits: Edits) -> Document:
    return edited(edits, of=PAIR)


def test_an_exact_pair_is_passed_and_not_remarked_on() -> None:
    answer = answered(PAIR)
    assert (answer.result, answer.findings, answer.likely_causes, answer.if_it_fails) == ("pass", [], [], None)
    assert answer.ordered_decision == "accept"


@pytest.mark.parametrize("exact", [BIFOCAL, PROGRESSIVE, READING | READ_POWERS], ids=["bifocal", "progressive", "near"])
def test_an_exact_pair_of_another_kind_is_passed_too(exact: Edits) -> None:
    edits = dict(exact)
    if edits[f"{LENS}/use"] == "near":
        edits |= {"/ordered/pd_mm/near": {"right": 30.0, "left": 30.0}, BRIDGE: {"right": 30, "left": 30}}
    answer = answered(pair(edits))
    assert [one.code for one in answer.findings if one.severity != "note"] == []
    assert answer.result == "pass"


def test_every_rule_on_finished_pairs_is_shown_at_its_limit() -> None:
    scopes = ("inspect", "inspect-many")
    assert {one.code for one in RULES if one.scope in scopes} == {case.code for case in CASES} | OF_BATCHES


@pytest.mark.parametrize("case", CASES, ids=str)
def test_it_is_silent_at_its_limit_and_speaks_beyond_it(case: Case) -> None:
    for edits in case.within:
        assert spoken(pair(edits), case) == []
    answer = answered(pair(case.beyond))
    finding = one_spoken(pair(case.beyond), case)
    assert (finding.severity, finding.unit) == (case.severity, case.unit)
    assert finding.value == near(case.value)
    assert finding.limit == near(case.limit)
    assert finding.limit_from == (f"shipped default, {case.key}" if case.key else None)
    assert finding.remedies == []
    if case.severity == "reject":
        assert answer.result == "fail"
        assert answer.if_it_fails is not None
    if case.severity == "review":
        assert answer.result in ("review", "fail")


@pytest.mark.parametrize("case", CASES, ids=str)
def test_the_texts_are_filled_in_and_plain_for_the_wearer(case: Case) -> None:
    finding = one_spoken(pair(case.beyond), case)
    for text in (finding.message, finding.customer_message):
        assert text.strip() == text != ""
        assert text[0].isupper()
        assert text.endswith(".")
        assert not set("{}") & set(text)
        assert "None" not in text
        assert "  " not in text
    assert not [word for word in JARGON if word.lower() in finding.customer_message.lower()]
    assert finding.source


@pytest.mark.parametrize("case", CASES, ids=str)
def test_the_figures_compared_stand_in_the_message_and_differ_there(case: Case) -> None:
    finding = one_spoken(pair(case.beyond), case)
    for figure in (case.value, case.limit):
        if isinstance(figure, float):
            assert f"{abs(figure):.2f}".rstrip("0").rstrip(".")[:4] in finding.message


OF_ONE_EYE = tuple(case for case in CASES if case.eye is not None)


@pytest.mark.parametrize("case", OF_ONE_EYE, ids=str)
def test_what_holds_for_one_eye_holds_for_the_other(case: Case) -> None:
    finding = one_spoken(pair(case.beyond), case)
    turned = replace(case, eye=mirrored(case.eye), pointer="/".join(mirrored(case.pointer.split("/"))))
    other = one_spoken(mirrored(pair(case.beyond)), turned)
    assert (other.value, other.limit, other.severity) == (finding.value, finding.limit, finding.severity)
    assert mirrored(other.message.lower().split()) == finding.message.lower().split()


OVERRIDDEN = tuple(case for case in CASES if case.key is not None)


@pytest.mark.parametrize("case", OVERRIDDEN, ids=str)
def test_a_limit_set_by_the_order_holds_and_is_said_to_come_from_there(case: Case) -> None:
    assert case.key is not None
    document = pair(case.within[0])
    document["ordered"] = edited(overriding(case.key, case.moved), of=document["ordered"])
    finding = one_spoken(document, case)
    assert finding.limit == near(case.moved)
    assert finding.limit_from == f"request, /profile/{case.key.replace('.', '/')}"


def test_a_deviation_that_would_be_rounded_to_its_limit_is_told_with_more_decimals() -> None:
    answer = answered(pair({SPHERE: [-2.13, -2.134, -2.138]}))
    (finding,) = [one for one in answer.findings if one.code == "beyond-tolerance"]
    assert "0.134 D off; 0.130 D is allowed" in finding.message


def test_a_recalled_limit_warns_and_neither_fails_nor_is_called_a_pass() -> None:
    for axis, result in ((30, "not_judged"), (34, "not_judged"), (35, "warn"), (120, "warn")):
        answer = answered(pair(ISO | {AXIS: axis}))
        (check,) = [one for one in answer.checks if (one.eye, one.quantity) == ("right", "axis")]
        assert (check.result, check.mark) == (result, "memory")
        assert (answer.result == "review") == (result == "warn")


# Batches.


def batch(deviations: Sequence[float], *, member: str = SPHERE) -> InspectManyAnswer:
    pairs = [pair({member: round(-2.0 + deviation, 6)}) for deviation in deviations]
    return inspect_many(InspectManyRequest.model_validate({"pairs": pairs}), SHOP, LATER)


def drifts(deviations: Sequence[float]) -> list[Finding]:
    return [one for one in batch(deviations).findings if one.code == "deviation-drifts"]


def test_a_drift_beyond_chance_is_told_and_scatter_is_not() -> None:
    assert drifts([0.0] * 8) == []
    assert drifts([0.02, -0.02, 0.03, -0.03, 0.02, -0.01, 0.0, -0.02]) == []
    # Three in a line are told by no test; four that rise evenly are.
    assert drifts([0.0, 0.02, 0.04]) == []
    (finding,) = drifts([0.0, 0.02, 0.04, 0.06])
    assert (finding.severity, finding.pointer, finding.unit, finding.limit) == ("note", "/pairs", "D", None)
    # The left lens does not change, so that the mean of both eyes rises half as fast.
    assert finding.value == near(0.01)
    assert "+0.010 D from pair to pair" in finding.message
    assert "sphere" in finding.message


@pytest.mark.parametrize(
    ("rises", "told"),
    [([0.0, 0.02, 0.01, 0.03, 0.02, 0.04], False), ([0.0, 0.01, 0.02, 0.03, 0.05, 0.05], True)],
)
def test_a_drift_is_told_where_chance_is_below_one_in_a_hundred_shared_among_the_quantities(
    rises: list[float], told: bool
) -> None:
    """Against the regression of a general library."""
    answer = batch(rises)
    (sphere,) = [one for one in answer.summary if one.quantity == "sphere"]
    line = stats.linregress(range(len(rises)), [rise / 2 for rise in rises])  # the left lens does not change
    assert sphere.drift is not None
    assert sphere.drift.per_pair == pytest.approx(line.slope, abs=5.1e-5)
    assert sphere.drift.standard_error == pytest.approx(line.stderr, abs=5.1e-5)
    assert sphere.drift.beyond_chance == told == (line.pvalue < 0.01 / len(answer.summary))
    assert [one.code for one in answer.findings] == ["deviation-drifts"] * told


def test_pairs_on_which_a_quantity_was_not_measured_keep_their_places_in_the_sequence() -> None:
    read = {0: 0.0, 4: 0.08, 8: 0.16, 12: 0.24}
    pairs = [pair({"/measured/right/warpage_d": read[number]} if number in read else {}) for number in range(13)]
    answer = inspect_many(InspectManyRequest.model_validate({"pairs": pairs}), SHOP, LATER)
    (warpage,) = [one for one in answer.summary if one.quantity == "warpage"]
    assert warpage.drift is not None
    assert warpage.drift.per_pair == near(0.02)


@pytest.mark.parametrize("finding", drifts([0.0, 0.02, 0.04, 0.06]), ids=lambda one: one.code)
def test_the_texts_on_a_batch_are_filled_in_and_plain(finding: Finding) -> None:
    for text in (finding.message, finding.customer_message):
        assert not set("{}") & set(text)
        assert "None" not in text
        assert "  " not in text
    assert not [word for word in JARGON if word.lower() in finding.customer_message.lower()]
