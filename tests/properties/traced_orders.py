"""Orders whose right lens is traced, for the property tests, and what plain geometry says of them.

Shapes are drawn at random and brought to a box. The need of a lens is found by looking at every point; the prism of a shift
by the power matrix (Prentice's rule, p = F d: [long-1976]).
"""

import copy
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from core_shapes import boxed, convex, farthest, smooth, star
from hypothesis import assume
from hypothesis import strategies as st
from order_strategies import EYES, Document, changed, tenths
from pydantic import TypeAdapter

from service.contract.answer import CheckAnswer, EyeFit

ALLOWANCE_MM = 2.0
SHORT = ("blank-too-small-for-outline", "blank-does-only-shifted")
OF_BOXED_SIZES = (
    "blank-too-small",
    "blank-may-be-too-small",
    "blank-may-be-too-small-without-ed",
    "blank-rests-on-usual-ed",
)
# Answers show four decimals; two such figures that come from one may differ by one in the last.
SHOWN = 1.01e-4
Points = np.ndarray
_WRITER = TypeAdapter(CheckAnswer)


# Shapes.


def densely(points: Points, least: int = 30) -> Points:
    """The same polygon with its sides divided, so that there are enough points, none of them twice."""
    parts = math.ceil(least / len(points))
    ends = np.roll(points, -1, axis=0)
    return (
        np.concatenate([points + (ends - points) * part / parts for part in range(parts)])
        .reshape(parts, len(points), 2)
        .transpose(1, 0, 2)
        .reshape(-1, 2)
    )


def winds_round_the_origin(points: Points) -> bool:
    """Angles from point to point add up to one turn, and the origin is clearly within."""
    if np.hypot(*points.T).min() < 0.5:
        return False
    ends = np.roll(points, -1, axis=0)
    turns = np.arctan2(points[:, 0] * ends[:, 1] - points[:, 1] * ends[:, 0], (points * ends).sum(axis=1))
    return abs(turns.sum()) > 1.0


def spread(points: Points) -> bool:
    """No two points so near that they could be taken for one."""
    return bool(np.hypot(*(np.roll(points, -1, axis=0) - points).T).min() > 1e-6)


@st.composite
def outlines(draw: st.DrawFn, a_mm: float, b_mm: float, *, only_smooth: bool = False) -> Points:
    """A simple polygon of 30 points or more about its boxed centre, counter-clockwise, with exactly this box."""
    maker = smooth if only_smooth else draw(st.sampled_from([smooth, smooth, convex, star]))
    points = densely(boxed(maker(np.random.default_rng(draw(st.integers(0, 10**6)))), a_mm, b_mm))
    assume(winds_round_the_origin(points) and spread(points))
    if (
        maker is star
    ):  # simple only if no gap between its directions is half a turn: then the origin of the star is within
        assume(is_simple(points))
    return points


def is_simple(points: Points) -> bool:
    """No two sides that are no neighbours have a point in common, by plain orientation of every pair."""
    start, end = points, np.roll(points, -1, axis=0)

    def side(of: int) -> tuple[Points, Points]:
        along = end[of] - start[of]
        return tuple(along[0] * (at[:, 1] - start[of, 1]) - along[1] * (at[:, 0] - start[of, 0]) for at in (start, end))

    hands = [side(of) for of in range(len(points))]
    for one in range(len(points)):
        for other in range(one + 2, len(points) - (one == 0)):
            parted = hands[one][0][other] * hands[one][1][other] > 0 or hands[other][0][one] * hands[other][1][one] > 0
            if not parted:
                return False
    return True


def turned_over(points: Points) -> Points:
    """The outline in the mirror: that of the other eye."""
    return points * np.array([-1.0, 1.0])


def sent(points: Points) -> list[list[float]]:
    return [[float(x), float(y)] for x, y in points]


# Orders.


@dataclass(frozen=True)
class Traced:
    """An order that carries the trace of its right lens, and that trace."""

    order: Document
    points: Points

    @property
    def untraced(self) -> Document:
        order = copy.deepcopy(self.order)
        del order["frame"]["trace"]
        return order

    def with_blank(self, diameter_mm: float) -> Document:
        return changed(self.order, "/lens/blank_diameter_mm", diameter_mm)

    def with_trace(self, trace: Document) -> Document:
        return changed(self.order, "/frame/trace", trace)

    def place(self, eye: str) -> tuple[float, float]:
        """Where the pupil lies, in and up from the boxed centre."""
        frame = self.order["frame"]
        up = self.order.get("fitting_height_mm", {}).get(eye, frame["b_mm"] / 2) - frame["b_mm"] / 2
        return (frame["a_mm"] + frame["dbl_mm"]) / 2 - self.order["pd_mm"][eye], up

    def need(self, in_mm: float, up_mm: float) -> float:
        """The blank with its middle there, which is one figure for both eyes: they mirror each other."""
        return 2 * farthest(self.points, in_mm, up_mm) + ALLOWANCE_MM

    def need_at_pupil(self, eye: str) -> float:
        return self.need(*self.place(eye))


@st.composite
def eyes(draw: st.DrawFn) -> Document:
    eye: Document = {"sphere": draw(st.integers(-32, 24)) / 4}
    if draw(st.booleans()):
        eye |= {"cylinder": draw(st.integers(1, 16)) / -4, "axis": draw(st.integers(1, 180))}
    return eye


@st.composite
def traced_orders(draw: st.DrawFn, *, only_smooth: bool = False) -> Traced:
    """Orders in which little but the blank is in doubt; the blank is left out."""
    a, dbl = draw(tenths(40, 58)), draw(tenths(14, 22))
    b = draw(tenths(26, a - 2))
    points = draw(outlines(a, b, only_smooth=only_smooth))
    sideways = {eye: draw(tenths(-1.9, 6)) for eye in EYES}
    order: Document = {
        "prescription": {**{eye: draw(eyes()) for eye in EYES}, "issued_on": "2026-06-01", "vertex_distance_mm": 13},
        "pd_mm": {eye: round((a + dbl) / 2 - sideways[eye], 3) for eye in EYES},
        "frame": {"a_mm": a, "b_mm": b, "dbl_mm": dbl, "rim": "full", "trace": {"right": {"points_mm": sent(points)}}},
        "lens": {"material": "hard-resin-1.50", "use": "distance"},
        "as_of": "2026-11-25",
    }
    if draw(st.booleans()):
        order["fitting_height_mm"] = {eye: round(b / 2 + draw(tenths(-3, 4)), 3) for eye in EYES}
    return Traced(order, points)


def fit_of(answer: CheckAnswer, eye: str) -> EyeFit:
    assert answer.fit is not None
    fit = getattr(answer.fit, eye)
    assert isinstance(fit, EyeFit)
    return fit


def codes(answer: CheckAnswer, eye: str | None = None) -> list[str]:
    return [one.code for one in answer.findings if eye is None or one.eye == eye]


def said(answer: CheckAnswer) -> list[tuple[str, str, str | None]]:
    """What was found, less that only the way of tracing differs."""
    return [(one.code, one.severity, one.eye) for one in answer.findings if not one.code.startswith("trace-off")]


def figures(node: Any, place: str = "") -> Iterator[tuple[str, Any]]:
    """Every leaf of a document with its place."""
    if isinstance(node, dict):
        for name, inner in node.items():
            yield from figures(inner, f"{place}/{name}")
    elif isinstance(node, list):
        for number, inner in enumerate(node):
            yield from figures(inner, f"{place}/{number}")
    else:
        yield place, node


def plain(answer: CheckAnswer) -> Document:
    document = json.loads(_WRITER.dump_json(answer, by_alias=True))
    assert isinstance(document, dict)
    return document


def assert_alike(one: Document, other: Document, within: float = SHOWN) -> None:
    """The same members, the same words, and figures that are the same as far as they are shown."""
    first, second = dict(figures(one)), dict(figures(other))
    assert first.keys() == second.keys()
    for place, value in first.items():
        if isinstance(value, float):
            assert second[place] == pytest.approx(value, abs=within, rel=0), place
        else:
            assert second[place] == value, place


@st.composite
def offsets(draw: st.DrawFn) -> Document:
    """Where a blank's optical centre lies, in and up from its middle."""
    return {"in": draw(tenths(-6, 6)), "up": draw(tenths(-4, 4))}


@st.composite
def turnable_orders(draw: st.DrawFn) -> Traced:
    traced = draw(traced_orders(only_smooth=True))
    offset = {"right": draw(offsets()), "left": draw(offsets())}
    blank = {"centre_offset_mm": offset, "top_marked": False}
    return Traced(changed(traced.order, "/lens/blank", blank), traced.points)


@st.composite
def tight_orders(draw: st.DrawFn) -> Traced:
    """Orders with a blank a little smaller than one of the eyes needs."""
    traced = draw(traced_orders())
    least = max(traced.need_at_pupil(eye) for eye in EYES)
    diameter = math.floor((least - draw(tenths(0.1, 4))) * 10) / 10
    assume(diameter >= 20)
    return Traced(traced.with_blank(diameter), traced.points)


def power_matrix(eye: Document) -> Points:
    """F of a sphero-cylinder; the power along the axis is the sphere's."""
    cylinder, axis = eye.get("cylinder", 0.0), math.radians(eye.get("axis", 0))
    across = np.array([-math.sin(axis), math.cos(axis)])
    return eye["sphere"] * np.eye(2) + cylinder * np.outer(across, across)
