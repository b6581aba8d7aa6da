"""From a screened catalogue to its answer: which frames are kept, in which order, and how they are told."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from service.catalogue import RIMS, Catalogue
from service.checking import Judged, cautions, engine
from service.contract.answer import Decision, Finding
from service.contract.screen import (
    SCORE_FORMULA,
    Range,
    ScreenAnswer,
    ScreenCounts,
    ScreenedFrame,
    ScreenFilters,
    ScreenReason,
    ScreenRequest,
    ScreenSort,
)
from service.profile.loader import Limits
from service.rounding import for_display
from service.rules.registry import RULES
from service.screen_columns import Column

DECISIONS: Final[tuple[Decision, ...]] = ("accept", "review", "reject")
SEVERITY: Final = {one.code: one.severity for one in RULES}
PLACE: Final = {one.code: place for place, one in enumerate(RULES)}


@dataclass(frozen=True, slots=True)
class Screened:
    """Every frame of the catalogue with its figures, as columns; nan where a figure is not known."""

    decision: npt.NDArray[np.int8]
    flags: dict[str, npt.NDArray[np.bool_]]
    in_mm: Column
    minimum_blank_mm: Column
    margin_mm: Column
    spare_mm: Column
    thickest_edge_mm: Column
    weight_g: Column


def _kept(filters: ScreenFilters, catalogue: Catalogue, found: Screened) -> npt.NDArray[np.bool_]:
    kept = np.isin(found.decision, [DECISIONS.index(one) for one in filters.decisions])
    if filters.rims is not None:
        kept &= np.isin(catalogue.rim, [RIMS.index(rim) for rim in filters.rims])
    for bounds, column in (
        (filters.a_mm, catalogue.a_mm),
        (filters.b_mm, catalogue.b_mm),
        (filters.dbl_mm, catalogue.dbl_mm),
        (Range(at_least=None, at_most=filters.thickest_edge_at_most_mm), found.thickest_edge_mm),
        (Range(at_least=None, at_most=filters.weight_at_most_g), found.weight_g),
    ):
        if bounds is not None and bounds.at_least is not None:
            kept &= column >= bounds.at_least
        if bounds is not None and bounds.at_most is not None:
            kept &= column <= bounds.at_most
    if filters.margin_at_least_mm is not None:
        kept &= found.margin_mm >= filters.margin_at_least_mm
    return kept


def score(found: Screened) -> Column:
    """The score of every frame, by SCORE_FORMULA."""
    lacking = np.maximum(2.0 - found.spare_mm, 0.0)
    points = 100.0 - 4.0 * np.abs(found.in_mm) - 3.0 * found.thickest_edge_mm - 0.5 * found.weight_g - 5.0 * lacking
    points = np.maximum(points - 20.0 * (found.decision == 1), 0.0)
    return np.asarray(np.where(found.decision == 2, np.nan, points))


def _order_of(sort_by: ScreenSort, found: Screened, scores: Column, rows: npt.NDArray[np.intp]) -> npt.NDArray[np.intp]:
    if sort_by == "catalogue":
        return rows
    greatest_first = {"score": scores, "margin": found.margin_mm}
    smallest_first = {
        "minimum_blank": found.minimum_blank_mm,
        "thickest_edge": found.thickest_edge_mm,
        "weight": found.weight_g,
    }
    key = -greatest_first[sort_by] if sort_by in greatest_first else smallest_first[sort_by]
    return rows[np.argsort(key[rows], kind="stable")]  # what is not a number goes last


def is_of_frame(pointer: str) -> bool:
    """Whether a place in an order is in its frame."""
    return pointer == "/frame" or pointer.startswith("/frame/")


def screen_answer(
    request: ScreenRequest,
    limits: Limits,
    judgement: Judged,
    catalogue: Catalogue,
    found: Screened,
    *,
    same: Sequence[Finding],
) -> ScreenAnswer:
    kept, scores = _kept(request.filters, catalogue, found), score(found)
    rows = _order_of(request.sort_by, found, scores, np.flatnonzero(kept))
    counted = Counter(found.decision.tolist())
    reasons = [(code, int(has.sum())) for code, has in found.flags.items()]
    return ScreenAnswer(
        decision=DECISIONS[int(found.decision[kept].min())] if kept.any() else "reject",
        reference=request.order.reference,
        sorted_by=request.sort_by,
        score_formula=SCORE_FORMULA,
        counts=ScreenCounts(len(catalogue), counted[0], counted[1], counted[2], len(rows)),
        reasons=[
            ScreenReason(code, SEVERITY[code], count)
            for code, count in sorted(reasons, key=lambda one: (-one[1], PLACE[one[0]]))
            if count
        ],
        frames=list(_rows(catalogue, found, scores, rows[: request.top])),
        findings=[replace(one, pointer=f"/order{one.pointer}", remedies=[]) for one in same],
        cautions=cautions(limits),
        assumptions=[
            replace(one, pointer=f"/order{one.pointer}")
            for one in judgement.assumptions
            if not is_of_frame(one.pointer) and not one.pointer.startswith("/fitting_height_mm")
        ],
        engine=engine(limits),
    )


def _rows(catalogue: Catalogue, found: Screened, scores: Column, rows: npt.NDArray[np.intp]) -> Iterator[ScreenedFrame]:
    codes = sorted(found.flags, key=PLACE.__getitem__)
    for row in rows.tolist():
        yield ScreenedFrame(
            id=catalogue.ids[row],
            index=row,
            decision=DECISIONS[found.decision[row]],
            decentration_in_mm=_shown(found.in_mm, row),
            minimum_blank_mm=_shown(found.minimum_blank_mm, row),
            margin_mm=_shown(found.margin_mm, row),
            spare_mm=_shown(found.spare_mm, row),
            thickest_edge_mm=_shown(found.thickest_edge_mm, row),
            weight_g=_shown(found.weight_g, row),
            score=_shown(scores, row),
            codes=[code for code in codes if found.flags[code][row]],
        )


def _shown(column: Column, row: int) -> float | None:
    value = column.item(row)
    return None if value != value else for_display(value)
