"""Traced outlines. The frame of the desk's order, A 52, B 40, is traced in shapes whose sizes are plain from their points.

An ellipse of that box; a rectangle told every 2 mm, whose sides are all as long; and shapes that no lens has. The ED is
taken out of the order but where a case speaks of it, so that only what the case is about differs.
"""

import math
from typing import Any

import pytest
from desk import ED, GONE, ORDINARY, A, Case, Edits, edited, findings, near, prove

TRACE = "/frame/trace"
TRACE_R, TRACE_L = f"{TRACE}/right", f"{TRACE}/left"
SIZE = f"{TRACE}/size_change_mm"
B = "/frame/b_mm"
Points = list[list[float]]


def ellipse(a_mm: float = 52.0, b_mm: float = 40.0, count: int = 72) -> Points:
    """Points of an ellipse, with its four ends exactly; counter-clockwise from the right."""
    turns = (math.radians(360 * number / count) for number in range(count))
    ends = {0: [a_mm / 2, 0.0], 1: [0.0, b_mm / 2], 2: [-a_mm / 2, 0.0], 3: [0.0, -b_mm / 2]}
    points = [[a_mm / 2 * math.cos(turn), b_mm / 2 * math.sin(turn)] for turn in turns]
    for quarter, end in ends.items():
        points[quarter * count // 4] = end
    return points


def rectangle() -> Points:
    """52 x 40 told every 2 mm, counter-clockwise from the middle of the right side."""
    right, top = 26, 20
    up = [(right, y) for y in range(-top, top, 2)]
    left = [(x, top) for x in range(right, -right, -2)]
    half = up + left
    points = half + [(-x, -y) for x, y in half]
    return [[float(x), float(y)] for x, y in points[top // 2 :] + points[: top // 2]]


def with_notch(depth_mm: float) -> Points:
    """The rectangle with the middle of its right side pressed in: there the way turns by 180 degrees less 2 atan(2/depth)."""
    return [[26.0 - depth_mm, 0.0], *rectangle()[1:]]


def turn_of_notch(depth_mm: float) -> float:
    return 180 - 2 * math.degrees(math.atan2(2, depth_mm))


def waisted() -> Points:
    """52 x 40 with a waist 1 mm high: an inward change of 0.5 mm or more leaves two pieces."""
    upper = [[float(x), 0.5 + 19.5 * (x / 26) ** 2] for x in range(26, -27, -2)]
    return upper + [[-x, -y] for x, y in upper]


def half_ring() -> Points:
    """Half a ring: its box's middle lies outside it."""
    turns = [math.radians(6 * number) for number in range(31)]
    outer = [[26 * math.cos(turn), 40 * math.sin(turn)] for turn in turns]
    return outer + [[20 * math.cos(turn), 30 * math.sin(turn)] for turn in reversed(turns)]


def crossed() -> Points:
    points = ellipse()
    points[10], points[14] = points[14], points[10]
    return points


def moved(points: Points, x: float, y: float) -> Points:
    return [[one + x, other + y] for one, other in points]


def traced(points: Points, **more: Any) -> Edits:
    return {ED: GONE, TRACE: {"right": {"points_mm": points}, **more}}


SOUND = traced(ellipse())
ROUND = [20.0] * 36

CASES = (
    Case(
        code="trace-without-outline",
        severity="review",
        within=(SOUND, {ED: GONE}),
        beyond={TRACE: {}},
        pointer=TRACE,
    ),
    Case(
        code="trace-without-outline",
        severity="review",
        within=(SOUND,),
        beyond={ED: GONE, TRACE: {"right": {}}},
        eye="right",
        pointer=TRACE_R,
    ),
    Case(
        code="trace-in-two-forms",
        severity="reject",
        within=(SOUND, {ED: GONE, TRACE: {"right": {"radii_mm": ROUND}}}),
        beyond={ED: GONE, TRACE: {"right": {"radii_mm": ROUND, "points_mm": ellipse()}}},
        eye="right",
        pointer=TRACE_R,
    ),
    Case(
        code="trace-too-coarse",
        severity="reject",
        within=(traced(ellipse(count=24)), {ED: GONE, TRACE: {"right": {"radii_mm": [20.0] * 24}}}),
        beyond={ED: GONE, TRACE: {"right": {"radii_mm": [20.0] * 23}}},
        eye="right",
        pointer=TRACE_R,
        value=23.0,
        limit=24.0,
        unit="points",
    ),
    Case(
        code="trace-crosses-itself",
        severity="reject",
        within=(SOUND, traced(ellipse()[::-1])),
        beyond=traced(crossed()),
        eye="right",
        pointer=TRACE_R,
    ),
    Case(
        code="trace-misses-its-centre",
        severity="reject",
        within=(SOUND, traced(waisted())),
        beyond=traced(half_ring()),
        eye="right",
        pointer=TRACE_R,
    ),
    Case(
        code="trace-cannot-be-resized",
        severity="reject",
        within=(traced(waisted(), size_change_mm=-0.4), traced(waisted(), size_change_mm=2.0)),
        beyond=traced(waisted(), size_change_mm=-0.6),
        eye="right",
        pointer=SIZE,
        value=-0.6,
        unit="mm",
    ),
    Case(
        code="trace-open",
        severity="review",
        # The last side is 2 mm for each point taken out, and 2 mm; three times the others is 6 mm.
        within=(traced(rectangle()[:-2]), traced(rectangle())),
        beyond=traced(rectangle()[:-3]),
        eye="right",
        pointer=TRACE_R,
        value=8.0,
        limit=6.0,
        unit="mm",
        key="trace.gap_times",
        moved=2.5,
        moved_limit=5.0,
    ),
    Case(
        code="trace-spike",
        severity="review",
        within=(traced(with_notch(3.0)), SOUND, traced(rectangle())),
        beyond=traced(with_notch(4.0)),
        eye="right",
        pointer=TRACE_R,
        value=turn_of_notch(4.0),
        limit=120.0,
        unit="°",
        key="trace.spike_deg",
        moved=110.0,
    ),
    *(
        Case(
            code="trace-differs-from-frame",
            severity="review",
            within=(SOUND | {pointer: size + 0.5}, SOUND | {pointer: size - 0.5}),
            beyond=SOUND | {pointer: size + 0.6},
            eye="right",
            pointer=pointer,
            value=size,
            limit=0.5,
            unit="mm",
            key="trace.box_differs_mm",
            moved=0.4,
        )
        for pointer, size in ((A, 52.0), (B, 40.0))
    ),
    Case(
        code="trace-differs-from-frame",
        severity="review",
        within=(SOUND | {ED: 52.5}, SOUND),
        beyond=SOUND | {ED: 56.0},
        eye="right",
        pointer=ED,
        value=52.0,
        limit=0.5,
        unit="mm",
        key="trace.box_differs_mm",
        moved=0.4,
    ),
    *(
        Case(
            code="traces-of-eyes-differ",
            severity="review",
            within=(traced(ellipse(), left={"points_mm": ellipse(*near_sizes)}), SOUND),
            beyond=traced(ellipse(), left={"points_mm": ellipse(*sizes)}),
            pointer=TRACE,
            value=0.75,
            limit=0.5,
            unit="mm",
            key="trace.eyes_differ_mm",
            moved=0.4,
        )
        for near_sizes, sizes in (((51.5, 40.0), (51.25, 40.0)), ((52.0, 40.5), (52.0, 40.75)))
    ),
    Case(
        code="trace-off-centre",
        severity="note",
        within=(traced(moved(ellipse(), 0.5, 0.0)), traced(moved(ellipse(), -0.3, 0.4))),
        beyond=traced(moved(ellipse(), -0.75, 0.0)),
        eye="right",
        pointer=TRACE_R,
        value=0.75,
        limit=0.5,
        unit="mm",
        key="trace.off_centre_mm",
        moved=0.25,
    ),
)
FAULTS = ("trace-in-two-forms", "trace-too-coarse", "trace-crosses-itself", "trace-misses-its-centre")
OF_A_FAULT = tuple(case for case in CASES if case.code in (*FAULTS, "trace-cannot-be-resized"))


@pytest.mark.parametrize("case", CASES, ids=str)
def test_trace_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def codes(edits: Edits) -> list[str]:
    return [one.code for one in findings(edited(edits)) if one.code.startswith("trace")]


def test_a_sound_trace_of_the_frame_is_not_remarked_on() -> None:
    assert findings(edited(SOUND)) == []
    assert findings(edited(traced(ellipse(), left={"points_mm": ellipse()}))) == []
    assert codes(SOUND | {ED: 52.0}) == []


@pytest.mark.parametrize("case", OF_A_FAULT, ids=str)
def test_a_faulty_trace_is_left_aside_and_the_boxed_sizes_are_judged(case: Case) -> None:
    faulty = findings(edited(case.beyond | {"/lens/blank_diameter_mm": 58}))
    boxed = findings(edited({ED: GONE, "/lens/blank_diameter_mm": 58}))
    assert [one for one in faulty if not one.code.startswith("trace")] == boxed
    # Whatever else might be said of an outline, it is said of none that was left aside.
    assert [one.code for one in faulty if one.code.startswith("trace")] == [case.code]


def test_a_faulty_trace_is_not_replaced_in_silence_by_the_other_eyes() -> None:
    document = edited(traced(crossed(), left={"points_mm": ellipse()}) | {"/lens/blank_diameter_mm": 58})
    of = {eye: [one.code for one in findings(document) if one.eye == eye] for eye in ("right", "left")}
    assert of["right"][:2] == ["trace-crosses-itself", "blank-too-small"]
    assert "blank-too-small" not in of["left"]
    # The pair is not known, so that a shift within its limits can be neither found nor ruled out.
    assert "blank-too-small-at-pupil" in of["left"]


@pytest.mark.parametrize(
    ("points", "code"),
    [
        ([[0.0, 0.0]] * 30, "trace-too-coarse"),
        (ellipse(count=12) * 3, "trace-crosses-itself"),
        ([point for point in ellipse(count=23) for _ in range(3)], "trace-too-coarse"),
        ([[float(x), 0.0] for x in range(-15, 15)], "trace-crosses-itself"),
        ([[float(x), float(2 * x)] for x in range(-15, 15)], "trace-crosses-itself"),
        ([[25 * math.sin(n / 10), 18 * math.sin(n / 5)] for n in range(62)], "trace-crosses-itself"),
        ([[1e-12 * x, 1e-12 * y] for x, y in ellipse()], "trace-too-coarse"),
        ([], "trace-too-coarse"),
    ],
    ids=[
        "one-place",
        "three-times-round",
        "each-point-thrice",
        "level-line",
        "slope",
        "eight",
        "a-speck",
        "none",
    ],
)
def test_what_is_no_outline_is_refused_by_name(points: Points, code: str) -> None:
    found = findings(edited(traced(points)))
    assert [(one.code, one.severity) for one in found if one.code.startswith("trace")] == [(code, "reject")]


def test_radii_of_nothing_are_too_coarse_and_so_are_three() -> None:
    for radii, count in (([0.0] * 30, 1), ([20.0] * 3, 3), ([20.0], 1), ([], 0)):
        found = findings(edited({ED: GONE, TRACE: {"right": {"radii_mm": radii}}}), "trace-too-coarse")
        assert [(one.value, one.limit) for one in found] == [(float(count), 24.0)]


def test_half_a_lens_is_open_of_another_size_and_off_its_centre() -> None:
    assert codes(traced(ellipse()[:37])) == ["trace-open", "trace-differs-from-frame", "trace-off-centre"]


@pytest.mark.parametrize("step", [1, -1], ids=["counter-clockwise", "clockwise"])
def test_the_point_of_a_spike_is_counted_as_it_was_sent(step: int) -> None:
    points = ellipse()
    points[10] = [40.0, 28.0]
    sent = points[::step]
    (finding,) = findings(edited(traced(sent)), "trace-spike")
    assert f"at point {sent.index([40.0, 28.0])}," in finding.message


def test_the_sides_that_cross_are_counted_as_they_were_sent() -> None:
    # Points 10 and 14 changed places: 9 to 14 and 10 to 15 pass over each other, and side 9 is the first to meet another.
    (finding,) = findings(edited(traced(crossed())), "trace-crosses-itself")
    assert "between points 9 and " in finding.message


def test_the_sides_that_cross_are_counted_as_they_were_sent_also_where_points_are_repeated() -> None:
    twice = [point for point in crossed() for _ in range(2)]
    (finding,) = findings(edited(traced(twice)), "trace-crosses-itself")
    assert "between points 19 and " in finding.message


def test_a_difference_is_told_with_both_sizes() -> None:
    (finding,) = findings(edited(SOUND | {A: 53}), "trace-differs-from-frame")
    for words in ("A was traced as 52 mm", "the order says 53 mm", "1.00 mm apart", "more than 0.5 mm"):
        assert words in finding.message
    wider = edited(traced(ellipse(), left={"points_mm": ellipse(53.0)}))
    (finding,) = findings(wider, "traces-of-eyes-differ")
    for words in ("A was traced as 52.00 mm on the right and 53.00 mm on the left", "1 mm apart"):
        assert words in finding.message


def test_sizes_as_stated_are_held_against_the_trace_and_not_against_the_lens_as_cut() -> None:
    assert codes(traced(ellipse(), size_change_mm=2.0)) == []
    assert codes(traced(ellipse(56.0, 44.0), size_change_mm=-2.0)) == ["trace-differs-from-frame"] * 2


def test_a_trace_off_its_centre_is_judged_about_its_box() -> None:
    at_home = findings(edited(SOUND | {"/lens/blank_diameter_mm": 58}))
    away = findings(edited(traced(moved(ellipse(), 30.0, -20.0)) | {"/lens/blank_diameter_mm": 58}))
    note = [one for one in away if one.code == "trace-off-centre"]
    assert [one.value for one in note] == [near(math.hypot(30, 20))]
    assert [one for one in away if one not in note] == at_home


def test_the_order_of_the_desk_has_the_box_that_is_traced_here() -> None:
    assert (ORDINARY["frame"]["a_mm"], ORDINARY["frame"]["b_mm"]) == (52, 40)
    for points in (ellipse(), rectangle(), waisted()):
        assert [max(side) - min(side) for side in zip(*points, strict=True)] == [near(52.0), near(40.0)]


def test_figures_that_are_compared_have_a_unit() -> None:
    for case in CASES:
        for one in findings(edited(case.beyond), case.code):
            assert one.unit is not None or not isinstance(one.value, float) or not isinstance(one.limit, float), (
                case.code
            )
