"""One wearer against a catalogue of frames. No web here.

What a frame changes is worked out for thousands of frames at once (`screen_columns`); what it does not change is found by one
whole check. Orders in which more hangs on the frame (reading parts, a list of finished blanks, blanks whose optical centre lies
off their middle) are checked frame by frame, the same way as every order, and then fewer frames are taken at once.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Final

import numpy as np

from service.catalogue import Catalogue, CatalogueError, catalogue_from_csv, catalogue_of
from service.checking import Judged, ReadyOrder, decision, judged, ready_order
from service.contract.answer import Decision, Finding
from service.contract.order import Frame, Order
from service.contract.screen import ScreenAnswer, ScreenRequest
from service.facts import OrderFacts
from service.limits import MAX_CHECKED_FRAMES
from service.profile.loader import Limits
from service.rules.catalogue import ScreenFacts
from service.rules.registry import screen_findings
from service.screen_answer import DECISIONS, PLACE, SEVERITY, Screened, is_of_frame, screen_answer
from service.screen_columns import ScreenColumns, Wearer, screen_columns
from service.screen_flags import screened_findings
from service.translate import order_values
from service.values import NEEDS_ADD

# Enough for numpy to be fast and little enough to stay in the processor's own memory.
_AT_ONCE: Final = 2_000


def screen(request: ScreenRequest, listed: Catalogue | None, limits: Limits, today: date) -> ScreenAnswer:
    """Screen a catalogue. `listed` is the one that the profile names."""
    catalogue = _catalogue(request, listed)
    if isinstance(catalogue, ScreenFacts):
        return _refused(request, limits, catalogue)
    ready = ready_order(_with_frame(request.order, catalogue, 0), limits)
    limits = ready.limits
    found = judged(ready, today)
    if found.facts is None:
        return screen_answer(
            request, limits, found, catalogue, _nothing(len(catalogue), found.findings), same=found.findings
        )
    if _in_columns(found.facts):
        screened = _by_columns(ready, found, catalogue, today)
        same = [one for one in found.findings if one.code not in _FRAME_CODES and not is_of_frame(one.pointer)]
    elif len(catalogue) > MAX_CHECKED_FRAMES:
        return _refused(request, limits, ScreenFacts("too-long", (), len(catalogue), MAX_CHECKED_FRAMES))
    else:
        screened = _by_checks(ready, catalogue, today)
        same = [one for one in found.findings if screened.flags.get(one.code, np.zeros(1, np.bool_)).all()]
    return screen_answer(request, limits, found, catalogue, screened, same=same)


def _catalogue(request: ScreenRequest, listed: Catalogue | None) -> Catalogue | ScreenFacts:
    if request.frames is not None and request.frames_csv is not None:
        return ScreenFacts("twice")
    if request.frames is not None:
        return catalogue_of(request.frames)
    if request.frames_csv is not None:
        try:
            return catalogue_from_csv(request.frames_csv)
        except CatalogueError as error:
            return ScreenFacts("unreadable", error.faults)
    return ScreenFacts("missing") if listed is None else listed


def _refused(request: ScreenRequest, limits: Limits, facts: ScreenFacts) -> ScreenAnswer:
    """A catalogue of which nothing was screened."""
    answer = screen_answer(request, limits, Judged(None, [], []), catalogue_of([]), _nothing(0), same=[])
    return replace(answer, findings=screen_findings(facts, limits))


def _with_frame(order: Any, catalogue: Catalogue, index: int) -> Order:
    members = {name: getattr(order, name) for name in type(order).model_fields if name != "frame"}
    return Order.model_construct(
        _fields_set={*order.model_fields_set, "frame"}, **members, frame=Frame(**catalogue.frame(index))
    )


def _in_columns(facts: OrderFacts) -> bool:
    """Whether all that hangs on the frame can be worked out for many frames at once."""
    blank = facts.blank
    if facts.worn is not None:
        return False  # what tilt and wrap do rests on the thickness, which hangs on the frame
    if facts.rx.prescribed_prism:
        # With a centre of its own such a lens may be thinnest anywhere inside; and a finished one hangs on what the blank allows.
        ordered = any(body.centre_from == "order" for body in facts.thickness)
        if ordered or (facts.supply_given and facts.supply == "stock"):
            return False
    marked = blank.offset_right_mm is not None or blank.offset_left_mm is not None
    return facts.lens.use not in NEEDS_ADD and not blank.listed and not marked


# Codes that hang on the frame where the columns are used; graver ones are worked out there, notes are not told.
_FRAME_CODES: Final = (
    "ed-below-box", "ed-above-diagonal", "b-larger-than-a", "frame-size-unusual", "fitting-height-outside-lens",
    "fitting-height-near-edge", "blank-too-small", "blank-may-be-too-small", "blank-may-be-too-small-without-ed",
    "blank-close-to-limit", "blank-rests-on-usual-ed", "lens-body-impossible", "lens-runs-out", "edge-too-thin",
    "centre-too-thin", "material-brittle-for-drilling", "edge-thick-for-drilling", "edge-unusually-thick", "edge-thick",
    "lens-shows-behind-rim", "lens-shows-in-front", "bevel-off-edge", "centre-thick", "magnification-differs",
    "stock-lens-thicker", "safety-bevel-advised", "decentration-outward", "decentration-large",
    "decentration-noticeable", "prism-at-pupil", "horizontal-prism-over-tolerance", "vertical-prism-over-tolerance",
)  # fmt: skip


def _by_columns(ready: ReadyOrder, found: Judged, catalogue: Catalogue, today: date) -> Screened:
    assert found.facts is not None
    assert ready.source.structured is not None
    values = order_values(ready.order, ready.source.structured, ready.limits, today).values
    wearer = Wearer(values, found.facts, ready.limits)
    always = [one.severity for one in found.findings if one.code not in _FRAME_CODES]
    least = 2 if "reject" in always else 1 if "review" in always else 0
    slices = [slice(at, at + _AT_ONCE) for at in range(0, len(catalogue), _AT_ONCE)]
    parts = [_slice(screen_columns(catalogue, rows, wearer), least) for rows in slices]
    screened = Screened(
        decision=np.concatenate([part.decision for part in parts]),
        flags={code: np.concatenate([part.flags[code] for part in parts]) for code in parts[0].flags},
        in_mm=np.concatenate([part.in_mm for part in parts]),
        minimum_blank_mm=np.concatenate([part.minimum_blank_mm for part in parts]),
        margin_mm=np.concatenate([part.margin_mm for part in parts]),
        spare_mm=np.concatenate([part.spare_mm for part in parts]),
        thickest_edge_mm=np.concatenate([part.thickest_edge_mm for part in parts]),
        weight_g=np.concatenate([part.weight_g for part in parts]),
    )
    for one in found.findings:
        if one.code not in _FRAME_CODES and one.severity != "note":
            screened.flags[one.code] = np.ones(len(catalogue), np.bool_)
    return screened


def _slice(columns: ScreenColumns, least: int) -> Screened:
    flags = dict(screened_findings(columns))
    found = np.full(len(columns.a_mm), least, np.int8)
    for code, has in flags.items():
        np.maximum(found, np.where(has, 2 if SEVERITY[code] == "reject" else 1, 0).astype(np.int8), out=found)
    both = len(columns.eyes) == 2
    weights = [eye.weight_g for eye in columns.eyes]
    return Screened(
        decision=found,
        flags=flags,
        in_mm=columns.worst(lambda eye: eye.in_mm, np.maximum),
        minimum_blank_mm=columns.worst(lambda eye: eye.expected_mm, np.maximum),
        margin_mm=columns.worst(lambda eye: eye.margin_mm, np.minimum),
        spare_mm=columns.worst(lambda eye: eye.spare_mm, np.minimum),
        thickest_edge_mm=columns.worst(lambda eye: eye.thickest_mm, np.maximum),
        weight_g=weights[0] + weights[1] if both else np.full(len(columns.a_mm), np.nan),
    )


def _by_checks(ready: ReadyOrder, catalogue: Catalogue, today: date) -> Screened:
    """Every frame by a whole check."""
    rows = [_checked(ready, catalogue, index, today) for index in range(len(catalogue))]
    codes = sorted({code for _, found, _ in rows for code in found}, key=PLACE.__getitem__)
    figures = np.array([figures for _, _, figures in rows])
    return Screened(
        decision=np.array([DECISIONS.index(decided) for decided, _, _ in rows], np.int8),
        flags={code: np.array([code in found for _, found, _ in rows]) for code in codes},
        in_mm=figures[:, 0],
        minimum_blank_mm=figures[:, 1],
        margin_mm=figures[:, 2],
        spare_mm=figures[:, 3],
        thickest_edge_mm=figures[:, 4],
        weight_g=figures[:, 5],
    )


def _checked(
    ready: ReadyOrder, catalogue: Catalogue, index: int, today: date
) -> tuple[Decision, frozenset[str], tuple[float, ...]]:
    order = _with_frame(ready.order, catalogue, index)
    found = judged(replace(ready, order=order), today)
    codes = frozenset(one.code for one in found.findings if one.severity != "note")
    return decision(found.findings), codes, _NO_FIGURES if found.facts is None else _figures(found.facts)


_NO_FIGURES: Final = (np.nan,) * 6


def _figures(facts: OrderFacts) -> tuple[float, ...]:
    """The figures of the pair as the columns have them."""

    def of_places(figures: list[float | None], choose: Callable[[list[float]], float]) -> float:
        known = [np.nan if figure is None else figure for figure in figures]
        return choose(known) if known and not any(one != one for one in known) else np.nan

    bodies = {body.eye: body for body in facts.thickness}
    edges = [bodies[place.eye].thickest if place.eye in bodies else None for place in facts.places]
    weights = [bodies[place.eye].weight_g if place.eye in bodies else None for place in facts.places]
    return (
        of_places([place.in_mm for place in facts.places], max),
        of_places([place.best.expected_mm for place in facts.places], max),
        of_places([place.margin_mm for place in facts.places], min),
        of_places([place.spare_mm for place in facts.places], min),
        of_places([None if edge is None else edge.edge_mm for edge in edges], max),
        of_places(weights, sum) if len(facts.places) == 2 else np.nan,
    )


def _nothing(count: int, found: Sequence[Finding] = ()) -> Screened:
    """An order that cannot be worked with: no frame will do, and for the same reasons."""
    unknown = np.full(count, np.nan)
    reasons = {one.code: np.ones(count, np.bool_) for one in found if one.severity != "note"}
    return Screened(np.full(count, 2, np.int8), reasons, unknown, unknown, unknown, unknown, unknown, unknown)
