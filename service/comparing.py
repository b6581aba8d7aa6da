"""One order in several materials and on several blanks, side by side. No web here.

Each row goes the way of every check: the order with another material and blank, nothing else changed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from optics_core.materials import Material, materials
from service import answers_compare
from service.checking import Judged, ReadyOrder, cautions, decision, engine, found_within, judged, ready_order
from service.contract.answer import Assumption, Decision
from service.contract.compare import CompareAnswer, CompareRequest, SortBy
from service.contract.order import Order
from service.facts_compare import PairFigures, pair_figures
from service.facts_kept import Kept
from service.limits import MAX_COMPARED_ROWS
from service.profile.loader import Limits
from service.rules.compare import CompareFacts
from service.rules.registry import compare_findings, gravest_first
from service.stocked import stocked_diameters, stocked_materials

_IN_ORDER: Final = "/order"
_MILDEST: Final[tuple[Decision, ...]] = ("accept", "review", "reject")


@dataclass(frozen=True, slots=True)
class _Choice:
    """A material and a blank in which the order is checked. None for a material that is not in stock."""

    material: Material
    blank_mm: float | None


@dataclass(frozen=True, slots=True)
class _Row:
    """A choice and what the check says of it."""

    choice: _Choice
    checked: Judged
    figures: PairFigures
    decision: Decision

    @property
    def excluded(self) -> bool:
        return answers_compare.excluded(self.checked.findings) is not None


def compare(request: CompareRequest, limits: Limits, today: date) -> CompareAnswer:
    """The order in each choice, ordered. `today` is the day taken where the order names none."""
    ready = ready_order(request.order, limits)
    limits = ready.limits
    named = tuple(dict.fromkeys(request.materials or stocked_materials(limits.profile)))
    choices = [choice for name in named for choice in _choices(name, limits)]
    facts = CompareFacts(
        unknown=tuple((place, name) for place, name in enumerate(request.materials or ()) if name not in materials()),
        stocked=stocked_materials(limits.profile),
        rows_wanted=len(choices),
        rows_most=MAX_COMPARED_ROWS,
    )
    found = compare_findings(facts, limits)
    rows: list[_Row] = []
    if ready.workable:
        rows = _sorted(_rows(ready, choices[:MAX_COMPARED_ROWS], today), request.sort_by)
    if not rows:
        # Without a row the order itself is checked, so that nothing that keeps it from being worked with goes unsaid.
        found = gravest_first([*found, *(found_within(one, _IN_ORDER) for one in judged(ready, today).findings)])
    decided = [row.decision for row in rows]
    return CompareAnswer(
        decision=_gravest(decision(found), min(decided, key=_MILDEST.index, default="accept")),
        reference=request.order.reference,
        sorted_by=request.sort_by,
        rows=[
            answers_compare.row(
                row.choice.material, row.choice.blank_mm, row.decision, row.figures, row.checked.findings
            )
            for row in rows
        ],
        best=decided.index("accept") if "accept" in decided else None,
        findings=found,
        cautions=cautions(limits),
        assumptions=_assumed(request, rows),
        engine=engine(limits),
    )


def _choices(name: str, limits: Limits) -> Iterator[_Choice]:
    material = materials().get(name)
    if material is None:
        return
    for blank in stocked_diameters(limits.profile, name) or (None,):
        yield _Choice(material, blank)


def _rows(ready: ReadyOrder, choices: Sequence[_Choice], today: date) -> Iterator[_Row]:
    kept = Kept()
    for choice in choices:
        checked = judged(replace(ready, order=_ordered(ready.order, choice)), today, kept)
        if checked.facts is not None:
            figures = pair_figures(checked.facts, ready.limits)
            yield _Row(choice, checked, figures, decision(checked.findings))


def _ordered(order: Order, choice: _Choice) -> Order:
    """The order with this material and this blank."""
    changes = {"material": choice.material.id, "blank_diameter_mm": choice.blank_mm}
    return order.model_copy(update={"lens": order.lens.model_copy(update=changes)})


def _sorted(rows: Iterator[_Row], sort_by: SortBy) -> list[_Row]:
    """Rows that can be made first, then by the figure, by weight and by decision; otherwise as they came. Not known goes last."""

    def key(row: _Row) -> tuple[bool, bool, float, bool, float, int]:
        pair = row.figures
        figure = {
            "thickest_edge": pair.thickest_edge_mm,
            "weight": pair.weight_g,
            "centre": pair.centre_mm,
            "price": pair.price,
        }[sort_by]
        return row.excluded, *_known_first(figure), *_known_first(pair.weight_g), _MILDEST.index(row.decision)

    return sorted(rows, key=key)


def _known_first(figure: float | None) -> tuple[bool, float]:
    return figure is None, figure or 0.0


def _gravest(*decisions: Decision) -> Decision:
    return max(decisions, key=_MILDEST.index)


def _assumed(request: CompareRequest, rows: Sequence[_Row]) -> list[Assumption]:
    """The defaults of the comparison, and those of the order that every row rests on."""
    found = []
    if request.materials is None:
        found.append(Assumption("/materials", "stocked", "No materials were named: those in stock were compared."))
    if "sort_by" not in request.model_fields_set:
        reason = "No figure was named: the rows were ordered by the thickest edge of the pair."
        found.append(Assumption("/sort_by", request.sort_by, reason))
    first, *others = [row.checked.assumptions for row in rows] or [[]]
    common = (one for one in first if all(one in other for other in others))
    return found + [replace(one, pointer=_IN_ORDER + one.pointer) for one in common]
