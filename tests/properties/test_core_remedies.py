"""What would make an order fit: each answer, applied, must make the guaranteed blank exactly the blank at hand."""

import math
from typing import Any

import numpy as np
import pytest
from core_strategies import boxes, steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core.boxing import (
    blank_bounds,
    centre_shift,
    decentration_in,
    decentration_reachable,
    largest_a,
    largest_dbl,
    largest_ed,
)
from optics_core.errors import DomainError

Frame = dict[str, float]


@st.composite
def frames(draw: st.DrawFn) -> Frame:
    return draw(boxes()) | {
        "dbl_mm": draw(st.floats(8, 30)),
        "pd_mm": draw(st.floats(22, 40)),
        "up_mm": draw(st.one_of(st.just(0.0), st.floats(-8, 8))),
        "allowance_mm": draw(st.floats(0, 4)),
    }


blanks = st.floats(40, 90)


def at_most(frame: Frame) -> float:
    """What the frame needs at most, through the bounds themselves."""
    inward = decentration_in(a_mm=frame["a_mm"], dbl_mm=frame["dbl_mm"], pd_mm=frame["pd_mm"])
    sizes = {name: frame[name] for name in ("a_mm", "b_mm", "ed_mm", "up_mm", "allowance_mm")}
    return blank_bounds(**sizes, in_mm=inward).at_most_mm


def scaled(frame: Frame, a_mm: float) -> Frame:
    """The same proportions at another A; the bridge, the PD and the pupil's height above the centre stay."""
    scale = a_mm / frame["a_mm"]
    a, b = a_mm, frame["b_mm"] * scale
    ed = min(max(frame["ed_mm"] * scale, a, b), math.hypot(a, b))  # the limits scale too, but for the last bit
    return frame | {"a_mm": a, "b_mm": b, "ed_mm": ed}


@steady
@given(frames(), blanks)
def test_the_largest_ed_makes_the_frame_need_just_the_blank(frame: Frame, blank: float) -> None:
    inward = decentration_in(a_mm=frame["a_mm"], dbl_mm=frame["dbl_mm"], pd_mm=frame["pd_mm"])
    ed = largest_ed(blank_mm=blank, in_mm=inward, up_mm=frame["up_mm"], allowance_mm=frame["allowance_mm"])
    if max(frame["a_mm"], frame["b_mm"]) <= ed <= math.hypot(frame["a_mm"], frame["b_mm"]):
        assert at_most(frame | {"ed_mm": ed}) == pytest.approx(blank, abs=1e-9)
    else:  # no shape of this box has that ED; the sum itself must still be right
        assert ed + 2 * math.hypot(inward, frame["up_mm"]) + frame["allowance_mm"] == pytest.approx(blank, abs=1e-9)


@steady
@given(frames(), blanks)
def test_the_largest_a_is_the_largest(frame: Frame, blank: float) -> None:
    a = largest_a(blank_mm=blank, **frame)
    if a is None:
        # Not even the smallest frame of these proportions is sure to fit.
        assert at_most(scaled(frame, 1e-6)) > blank - 1e-5
        return
    assert 0 < a <= frame["a_mm"]
    assert at_most(scaled(frame, a)) <= blank + 1e-6
    if a < frame["a_mm"]:
        assert at_most(scaled(frame, a)) == pytest.approx(blank, abs=1e-6) or frame["ed_mm"] == frame["a_mm"]
        # Nothing between it and the A at hand fits either.
        for larger in np.linspace(a, frame["a_mm"], 40)[1:]:
            assert at_most(scaled(frame, float(larger))) >= blank - 1e-6


@steady
@given(frames(), st.floats(0.2, 0.999))
def test_a_frame_shrunk_to_the_largest_a_needs_just_the_blank(frame: Frame, share: float) -> None:
    # A blank between what the smallest and the full frame need always has an answer, and it uses the blank up.
    smallest, full = at_most(scaled(frame, 1e-9)), at_most(frame)
    blank = smallest + share * (full - smallest)
    if full - blank < 0.01:
        return
    a = largest_a(blank_mm=blank, **frame)
    assert a is not None
    assert at_most(scaled(frame, a)) == pytest.approx(blank, abs=1e-6)


@steady
@given(frames(), blanks)
def test_the_largest_dbl_is_the_largest(frame: Frame, blank: float) -> None:
    found = largest_dbl(blank_mm=blank, **frame)
    fitting = [dbl for dbl in np.linspace(0, frame["dbl_mm"], 600) if at_most(frame | {"dbl_mm": float(dbl)}) <= blank]
    if found is None:
        assert not fitting
        return
    assert 0 <= found <= frame["dbl_mm"] + 1e-12
    assert at_most(frame | {"dbl_mm": found}) <= blank + 1e-6
    assert not fitting or max(fitting) <= found + 1e-9
    if found < frame["dbl_mm"]:
        assert at_most(frame | {"dbl_mm": found}) == pytest.approx(blank, abs=1e-6)


def test_a_frame_that_fits_keeps_its_a_and_its_dbl() -> None:
    frame: dict[str, Any] = {
        "a_mm": 54.0, "b_mm": 40.0, "ed_mm": 58.0, "dbl_mm": 18.0, "pd_mm": 31.5, "up_mm": 2.0, "allowance_mm": 2.0,
    }  # fmt: skip
    assert largest_a(blank_mm=70.0, **frame) == 54.0
    assert largest_dbl(blank_mm=70.0, **frame) == 18.0


def test_a_blank_smaller_than_the_ed_leaves_no_dbl() -> None:
    frame = {"a_mm": 54.0, "b_mm": 40.0, "ed_mm": 58.0, "dbl_mm": 18.0, "pd_mm": 31.5, "up_mm": 2.0}
    assert largest_dbl(blank_mm=57.0, **frame, allowance_mm=2.0) is None


def test_a_pupil_further_from_the_boxed_centre_than_the_blank_reaches_leaves_no_a() -> None:
    # A frame shrunk to nothing still has its boxed centre 15 mm from the pupil: 30 mm of blank and the allowance.
    frame = {"a_mm": 54.0, "b_mm": 40.0, "ed_mm": 58.0, "dbl_mm": 30.0, "pd_mm": 30.0, "up_mm": 0.0}
    assert largest_a(blank_mm=31.0, **frame, allowance_mm=2.0) is None


@steady
@given(frames(), blanks)
def test_the_shifted_centre_needs_just_the_blank_and_is_the_nearest_that_does(frame: Frame, blank: float) -> None:
    inward = decentration_in(a_mm=frame["a_mm"], dbl_mm=frame["dbl_mm"], pd_mm=frame["pd_mm"])
    reach = decentration_reachable(blank_mm=blank, ed_mm=frame["ed_mm"], allowance_mm=frame["allowance_mm"])
    if reach < 0:
        with pytest.raises(DomainError) as caught:
            centre_shift(in_mm=inward, up_mm=frame["up_mm"], reach_mm=reach)
        assert caught.value.argument == "reach_mm"
        return
    shift = centre_shift(in_mm=inward, up_mm=frame["up_mm"], reach_mm=reach)
    sizes = {name: frame[name] for name in ("a_mm", "b_mm", "ed_mm", "allowance_mm")}
    moved = inward + shift.in_mm, frame["up_mm"] + shift.up_mm
    needed = blank_bounds(**sizes, in_mm=moved[0], up_mm=moved[1]).at_most_mm
    assert shift.distance_mm == pytest.approx(math.hypot(shift.in_mm, shift.up_mm), abs=1e-9)
    if at_most(frame) <= blank:
        assert shift.distance_mm == pytest.approx(0.0, abs=1e-9)
        return
    assert needed == pytest.approx(blank, abs=1e-9)
    # Brute force: no place within the reach is nearer the pupil.
    for turn in np.linspace(0, 2 * math.pi, 73):
        there = reach * math.cos(turn), reach * math.sin(turn)
        assert math.hypot(there[0] - inward, there[1] - frame["up_mm"]) >= shift.distance_mm - 1e-9
