"""Which finished blanks of the shop's list make each lens, and which two make the pair.

A blank makes a lens if the power comes in it and its diameter is enough. Nothing is changed about a finished blank but its
outline, so prescribed prism and reading parts are for surfaced blanks. Of those that do, the smallest is best: the centre
of a finished plus lens is as thick as the whole blank asks, by about the sag F (d/2)^2 / (2000 (n - 1)), which grows with
the square of the diameter d; a minus lens becomes no thicker by it. Then the price decides, then the order of the list.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from service.facts_place import EyePlace
from service.facts_prescription import EyePower, PrescriptionFacts
from service.profile.blanks import FinishedBlank
from service.rounding import settled
from service.stocked import PowerReason, out_of_range_d, power_reasons
from service.values import NEEDS_ADD, EyeName, LensValues, OrderValues

Fits = Literal["sure", "maybe", "no"]
Reason = PowerReason | Literal["too-small", "may-be-too-small", "place-not-known", "surfaced-only"]
_ADD_MAY_BE_PART = frozenset({"near", "intermediate"})
EYES: tuple[EyeName, EyeName] = ("right", "left")
_RANK = {"sure": 0, "maybe": 1, "no": 2}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A row of the list held against one lens. `position` is its place among the rows of the material."""

    row: FinishedBlank
    position: int
    fits: Fits
    reasons: tuple[Reason, ...]
    comes_in_power: bool


@dataclass(frozen=True, slots=True)
class EyeStock:
    """What the list has for one lens.

    `candidates` are all rows, best first. `best` is one of those considered: the rows of the diameter that the order names,
    or else all. `nearest` is the row whose ranges are nearest to the power, where it comes in none. `needed_mm` is sure to
    do, None where the place of the lens is not known. `sure` are rows that are sure to do, whatever the order names,
    smallest first; `in_power_mm` the diameters in which the power comes. A lens that must be surfaced has neither.
    """

    eye: EyeName
    pointer: str
    sphere_d: float
    cylinder_d: float
    axis_deg: float | None
    must_be_surfaced: bool
    candidates: tuple[Candidate, ...]
    best: Candidate | None
    nearest: FinishedBlank | None
    needed_mm: float | None
    sure: tuple[FinishedBlank, ...]
    in_power_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class StockFacts:
    """Both eyes, None where the power to cut is not settled; and the pair of their best rows."""

    right: EyeStock | None
    left: EyeStock | None
    eyes: tuple[EyeStock, ...]
    bases_apart_d: float | None
    pair_price: float | None

    def of(self, eye: EyeName) -> EyeStock | None:
        """That of one eye."""
        return self.right if eye == "right" else self.left


def stock_facts(
    rx: PrescriptionFacts, cut: PrescriptionFacts, places: tuple[EyePlace, ...], values: OrderValues
) -> StockFacts | None:
    """What the shop's list has for the powers that are cut; None where it has no rows in the material."""
    listed = values.blank.listed
    if not listed:
        return None
    at = {place.eye: place for place in places}
    # With an addition that was not added a person must say whether it is part of the power that is cut.
    adds = any(eye.add_d is not None for eye in rx.eyes)
    is_settled = cut is not rx or not adds or values.lens.use not in _ADD_MAY_BE_PART
    judged = {eye.eye: _judged(eye, at.get(eye.eye), listed, values.lens) if is_settled else None for eye in cut.eyes}
    named = values.blank.diameter_mm if values.blank.named else None
    best = _best_pair(*(_considered(judged[eye], named) for eye in EYES))
    right, left = (
        None if optics is None or rows is None else _eye(eye, at.get(eye.eye), rows, chosen, values)
        for eye, optics, rows, chosen in (
            (cut.right, cut.right.optics, judged["right"], best[0]),
            (cut.left, cut.left.optics, judged["left"], best[1]),
        )
    )
    bases = [None if one is None else one.row.front_power_d for one in best]
    prices = [None if one is None else one.row.price for one in best]
    return StockFacts(
        right=right,
        left=left,
        eyes=tuple(one for one in (right, left) if one is not None),
        bases_apart_d=None if bases[0] is None or bases[1] is None else settled(abs(bases[0] - bases[1])),
        pair_price=None if prices[0] is None or prices[1] is None else settled(prices[0] + prices[1]),
    )


def with_best_blanks(values: OrderValues, stock: StockFacts) -> OrderValues:
    """The order on the best blanks of the list, unless it names a blank.

    Where none fits, the largest with this power is taken, or else the largest of all: the others lack as much or more.
    """
    blank, own = values.blank, {eye.eye: eye for eye in stock.eyes}
    most = max(row.diameter_mm for row in blank.listed)
    largest = {eye: max(own[eye].in_power_mm, default=most) if eye in own else most for eye in EYES}
    blank = replace(blank, largest_mm=min(largest.values()))
    if not blank.named:
        best = {eye.eye: eye.best.row for eye in stock.eyes if eye.best is not None}
        sizes = largest | {eye: row.diameter_mm for eye, row in best.items()}
        marked = tuple(eye for eye, row in best.items() if row.top_marked)
        blank = replace(
            blank,
            right_mm=sizes["right"],
            left_mm=sizes["left"],
            diameter_mm=min(sizes.values()),
            top_marked=(*blank.top_marked, *marked),
        )
    return replace(values, blank=blank)


def _judged(
    eye: EyePower, place: EyePlace | None, listed: tuple[FinishedBlank, ...], lens: LensValues
) -> tuple[Candidate, ...] | None:
    """Every row against one lens, best first; None where its power cannot be relied on."""
    if eye.optics is None:
        return None
    minus = eye.optics.minus
    surfaced = _must_be_surfaced(eye, lens)
    found = []
    for position, row in enumerate(listed):
        reasons: list[Reason] = list(power_reasons(row, minus.sphere_d, minus.cylinder_d))
        comes_in_power = not reasons
        if surfaced:
            reasons.append("surfaced-only")
        fits: Fits = "no" if reasons else "sure"
        size = _size_reason(row, place)
        if size is not None:
            reasons.append(size)
            fits = "no" if fits == "no" or size == "too-small" else "maybe"
        found.append(Candidate(row, position, fits, tuple(reasons), comes_in_power))
    return tuple(sorted(found, key=_goodness))


def _must_be_surfaced(eye: EyePower, lens: LensValues) -> bool:
    return eye.prism_amount_pd > 0 or lens.use in NEEDS_ADD


def _size_reason(
    row: FinishedBlank, place: EyePlace | None
) -> Literal["too-small", "may-be-too-small", "place-not-known"] | None:
    if place is None:
        return "place-not-known"
    if row.diameter_mm >= _sure_mm(place, row.top_marked):
        return None
    if place.outline is not None or row.diameter_mm < _least_mm(place, row.top_marked):
        return "too-small"
    return "may-be-too-small"


def _least_mm(place: EyePlace, top_marked: bool) -> float:
    """What no shape can do without, whichever way up the blank may lie; it need not be the way up that is sooner sure."""
    turned = None if top_marked or place.half_turn is None else place.half_turn.turned_bounds
    least = place.bounds.at_least_mm
    return least if turned is None else min(least, turned.at_least_mm)


def _sure_mm(place: EyePlace, top_marked: bool) -> float:
    """The diameter that is sure to do: the better way up, unless a marked top must stay where it is."""
    if top_marked or place.blank_mm is None or place.best_spare_mm is None:
        return place.sure_blank_mm
    return settled(place.blank_mm - place.best_spare_mm)


def _size_key(one: Candidate) -> float:
    """Of those that are sure to do the smallest goes first; of the rest the one that is likelier to do."""
    return one.row.diameter_mm if one.fits == "sure" else -one.row.diameter_mm


def _goodness(one: Candidate) -> tuple[int, int, float, bool, float, int]:
    """The lesser, the better: fit, fewer reasons against it, size, price, place in the list."""
    price = one.row.price
    reasons = len(one.reasons) if one.fits == "no" else 0
    return _RANK[one.fits], reasons, _size_key(one), price is None, price or 0.0, one.position


def _considered(rows: tuple[Candidate, ...] | None, named_mm: float | None) -> list[Candidate]:
    """The rows from which the best is taken: as good a fit as there is, of the diameter that the order names."""
    fit = [one for one in rows or () if one.fits != "no" and named_mm in (None, one.row.diameter_mm)]
    return [one for one in fit if one.fits == fit[0].fits]


def _best_pair(right: list[Candidate], left: list[Candidate]) -> tuple[Candidate | None, Candidate | None]:
    """The best two: front surfaces as much alike as can be, as far as they are known; then size, price, place."""
    if not right or not left:
        return (right[0] if right else None), (left[0] if left else None)
    return min(_pairs(right, left), key=_pair_goodness)


def _pairs(right: list[Candidate], left: list[Candidate]) -> Iterator[tuple[Candidate, Candidate]]:
    """The pairs among which the best is. For one front surface only its best row and the nearest others matter."""
    right_by_base, left_by_base = _best_by_base(right), _best_by_base(left)
    if None in right_by_base and None in left_by_base:
        yield right_by_base[None], left_by_base[None]
    yield from ((right_by_base[None], left[0]),) if None in right_by_base else ()
    yield from ((right[0], left_by_base[None]),) if None in left_by_base else ()
    known = sorted({base for base in (*right_by_base, *left_by_base) if base is not None})
    for base in known:
        if base in right_by_base and base in left_by_base:
            yield right_by_base[base], left_by_base[base]
    # Any two that are nearest across the eyes, with none of either eye between them, stand side by side.
    for low, high in pairwise(known):
        for one, other in ((low, high), (high, low)):
            if one in right_by_base and other in left_by_base:
                yield right_by_base[one], left_by_base[other]


def _best_by_base(rows: Iterable[Candidate]) -> dict[float | None, Candidate]:
    best: dict[float | None, Candidate] = {}
    for one in rows:  # best first
        best.setdefault(one.row.front_power_d, one)
    return best


def _pair_goodness(pair: tuple[Candidate, Candidate]) -> tuple[float, ...]:
    right, left = pair
    bases = right.row.front_power_d, left.row.front_power_d
    # Whether a front that is not known matches one that is cannot be told: such a pair is taken where there is no other.
    untold = (bases[0] is None) != (bases[1] is None)
    apart = 0.0 if bases[0] is None or bases[1] is None else settled(abs(bases[0] - bases[1]))
    prices = right.row.price, left.row.price
    return (
        untold,
        apart,
        _size_key(right) + _size_key(left),
        prices.count(None),
        sum(price for price in prices if price is not None),
        min(right.position, left.position),
        max(right.position, left.position),
    )


def _eye(
    eye: EyePower, place: EyePlace | None, rows: tuple[Candidate, ...], best: Candidate | None, values: OrderValues
) -> EyeStock | None:
    if eye.optics is None:
        return None
    minus = eye.optics.minus
    surfaced = _must_be_surfaced(eye, values.lens)
    in_power = () if surfaced else sorted({one.row.diameter_mm for one in rows if one.comes_in_power})
    comes = any(one.comes_in_power for one in rows)
    return EyeStock(
        eye=eye.eye,
        pointer=eye.pointer,
        sphere_d=minus.sphere_d,
        cylinder_d=minus.cylinder_d,
        axis_deg=minus.axis_deg,
        must_be_surfaced=surfaced,
        candidates=rows,
        best=best,
        nearest=None if comes else _nearest(values.blank.listed, minus.sphere_d, minus.cylinder_d),
        needed_mm=None if place is None else _sure_mm(place, top_marked=False),
        sure=tuple(one.row for one in rows if one.fits == "sure"),
        in_power_mm=tuple(in_power),
    )


def _nearest(listed: tuple[FinishedBlank, ...], sphere_d: float, cylinder_d: float) -> FinishedBlank:
    return min(listed, key=lambda row: settled(out_of_range_d(row, sphere_d, cylinder_d)))
