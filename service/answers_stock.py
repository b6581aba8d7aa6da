"""From facts to the answer's stock: what the list of finished blanks has for the pair. Figures are rounded for display."""

from dataclasses import replace

from service.contract.answer import Assumption
from service.contract.answer_fields import EyeName
from service.contract.stock import BlankCandidate, EyeBlanks, Stock
from service.facts import OrderFacts
from service.facts_stock import Candidate, EyeStock
from service.rounding import for_display, shown_if_any

_MOST_SHOWN = 20


def stock(facts: OrderFacts) -> Stock | None:
    """What the list has for the pair; None where it has no rows in the material."""
    found = facts.stock
    if found is None:
        return None
    return Stock(_eye(found.right), _eye(found.left), shown_if_any(found.pair_price))


def assumed_blanks(facts: OrderFacts) -> list[Assumption]:
    """The rows of the list that were taken because the order names no blank."""
    if facts.stock is None or facts.blank.named:
        return []
    right, left = _assumed("right", facts.stock.right, facts), _assumed("left", facts.stock.left, facts)
    if right == left:
        return [replace(right, reason=f"No blank was named: {right.reason}")]
    return [
        replace(one, reason=f"No blank was named: for the {eye} eye {one.reason}")
        for eye, one in (("right", right), ("left", left))
    ]


def _assumed(eye: EyeName, found: EyeStock | None, facts: OrderFacts) -> Assumption:
    diameter = facts.blank.right_mm if eye == "right" else facts.blank.left_mm
    if found is not None and found.best is not None:
        taken = f"{found.best.row.name!r} was taken, the best of the shop's list for this pair."
    elif found is not None and found.in_power_mm:
        taken = "none with this power in the shop's list is large enough, and the largest of them was taken."
    else:
        taken = "none of the shop's list is known to make this lens, and the largest was taken."
    return Assumption("/lens/blank_diameter_mm", diameter or 0.0, taken)


def _eye(found: EyeStock | None) -> EyeBlanks | None:
    if found is None:
        return None
    row = None if found.best is None else found.best.row
    return EyeBlanks(
        best=None if row is None else row.name,
        front_power_d=None if row is None else shown_if_any(row.front_power_d),
        diameter_mm=None if row is None else for_display(row.diameter_mm),
        centre_mm=None if row is None else shown_if_any(row.centre_mm),
        price=None if row is None else shown_if_any(row.price),
        candidates=[_candidate(one) for one in found.candidates[:_MOST_SHOWN]],
        not_shown=max(len(found.candidates) - _MOST_SHOWN, 0),
    )


def _candidate(one: Candidate) -> BlankCandidate:
    return BlankCandidate(one.row.name, for_display(one.row.diameter_mm), one.fits, list(one.reasons))
