"""Placement of a pair: where both optical centres may sit, and what blanks they need together.

Standards limit the prism that a mounted pair asks of the two eyes: horizontally the sum of both eyes' base in, and
vertically the difference in height. In each dimension a pair is within its limits if the unwanted prism is, or if
the misplacement in millimetres is: four combinations, each of them a convex problem, of which the best is taken.

Of prism that moves both eyes alike these limits say nothing, and by them alone both lenses could be shifted without
end. Here each eye by itself keeps to the limits of the pair as well, in the same criterion: stricter than the
standard, on purpose.

Signs: x to the observer's right for both lenses, so that the sum of base in is the right eye's x less the left's;
y up, origin at each boxed centre; lengths in mm, prism in prism dioptres (pd).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from optics_core._boxes import demand_allowance, demand_blank
from optics_core._numeric import demand, single_numbers
from optics_core._pair_search import Combination, Pair
from optics_core.placement import Criterion, EyeTask, Place, PreparedTask, exact_centre
from optics_core.tolerance import PrismLimits

# Needs that differ by less are equal, shares likewise; a blank that lacks no more than this will do. [mm, 1]
_EQUAL = 1e-9
# Prism and distances below this are what rounding leaves of 0. [pd, mm]
_ROUNDING = 1e-12

_CRITERIA: tuple[Criterion, Criterion] = ("prism", "distance")


@dataclass(frozen=True, slots=True, kw_only=True)
class PairLimits:
    """Limits of a pair in each dimension: of unwanted prism [pd] and of misplacement [mm]; either criterion will do."""

    horizontal_pd: float
    horizontal_mm: float
    vertical_pd: float
    vertical_mm: float

    def __post_init__(self) -> None:
        for name in self.__slots__:
            (limit,) = single_numbers((name,), getattr(self, name))
            demand(limit >= 0.0, argument=name, rule="A limit of 0 or more is expected.", value=limit)
            object.__setattr__(self, name, limit)

    def horizontal(self, by: Criterion) -> float:
        """The limit across, in the unit of its criterion."""
        return self.horizontal_pd if by == "prism" else self.horizontal_mm

    def vertical(self, by: Criterion) -> float:
        """The limit up and down, in the unit of its criterion."""
        return self.vertical_pd if by == "prism" else self.vertical_mm


@dataclass(frozen=True, slots=True)
class PairPlace:
    """Both places, the larger of the two needs [mm], and the share of the limits they use, 1 at the limit [1]."""

    right: Place
    left: Place
    blank_mm: float
    share_of_limit: float


def pair_limits(limits: PrismLimits) -> PairLimits:
    """The limits of a standard as a pair's placement needs them.

    Parameters
    ----------
    limits : PrismLimits
        From `tolerance.mounted_prism_limits`.

    Returns
    -------
    PairLimits
        Limits of prism [pd] and of misplacement [mm].

    Raises
    ------
    DomainError
        If a limit is not finite, or negative.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, section prism_mounted.
    """
    return PairLimits(
        horizontal_pd=limits.horizontal_pd,
        horizontal_mm=limits.horizontal_mm,
        vertical_pd=limits.vertical_pd,
        vertical_mm=limits.vertical_mm,
    )


def pair_least_blank(right: EyeTask, left: EyeTask, *, limits: PairLimits, allowance_mm: float) -> PairPlace | None:
    """Where both optical centres may sit so that the larger of the two blanks they need is least.

    Of all such places those are meant that move the optical centres least from their exact places: the eye that
    does not decide stays there if it can.

    Parameters
    ----------
    right : EyeTask
        The right lens.
    left : EyeTask
        The left lens.
    limits : PairLimits
        Limits of the pair, which each eye keeps to as well.
    allowance_mm : float
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    PairPlace, or None
        Both places, the larger need [mm] and the share of the limits; None if nothing is within the limits.

    Raises
    ------
    DomainError
        If the allowance is not a finite number of 0 or more.

    Source
    ------
    derived, four convex problems; tables/tolerances_<standard>_<year>.toml, either criterion will do.
    """
    (allowance,) = single_numbers(("allowance_mm",), allowance_mm)
    demand_allowance(allowance)
    eyes = PreparedTask.of(right), PreparedTask.of(left)
    pairs = _exact_pairs(eyes)
    enough = min((_squared_reach(eyes, pair) for pair in pairs), default=math.inf)
    for combination in _combinations(eyes, limits, 1.0):
        pair = combination.least_blank((math.sqrt(enough) + _EQUAL / 2.0) ** 2)
        if pair is not None:
            pairs.append(pair)
            enough = min(enough, _squared_reach(eyes, pair))
    places = [_pair_place((right, left), eyes, pair, limits, allowance) for pair in pairs]
    return _least(places, [place.blank_mm for place in places], eyes)


def pair_least_share(
    right: EyeTask,
    left: EyeTask,
    *,
    limits: PairLimits,
    allowance_mm: float,
    right_blank_mm: float,
    left_blank_mm: float,
) -> PairPlace | None:
    """Where both optical centres may sit with given blanks so that they use the least share of the limits.

    An eye that does not decide is moved no farther from its exact place than it must. If both exact places do, it is
    those.

    Parameters
    ----------
    right : EyeTask
        The right lens.
    left : EyeTask
        The left lens.
    limits : PairLimits
        Limits of the pair, which each eye keeps to as well.
    allowance_mm : float
        Taken off the diameters for chipping and handling, 0 or more. [mm]
    right_blank_mm : float
        Diameter of the right blank. [mm]
    left_blank_mm : float
        Diameter of the left blank. [mm]

    Returns
    -------
    PairPlace, or None
        Both places, the larger need [mm] and the share of the limits; None if the blanks do not do within the limits.
        A need may exceed its blank by rounding, 1e-9 mm at most.

    Raises
    ------
    DomainError
        If a number is not finite, a blank is not above 0 or the allowance below.

    Source
    ------
    derived, four convex problems; tables/tolerances_<standard>_<year>.toml, either criterion will do.
    """
    names = ("right_blank_mm", "left_blank_mm", "allowance_mm")
    right_blank, left_blank, allowance = single_numbers(names, right_blank_mm, left_blank_mm, allowance_mm)
    demand_blank(right_blank, allowance)
    demand_blank(left_blank, allowance)
    radii = (right_blank - allowance) / 2.0, (left_blank - allowance) / 2.0
    if min(radii) < 0.0:
        return None
    tasks, eyes = (right, left), (PreparedTask.of(right), PreparedTask.of(left))
    for pair in _exact_pairs(eyes):
        if all(math.sqrt(eyes[k].squared_reach(pair[k])) <= radii[k] + _EQUAL / 2.0 for k in (0, 1)):
            return _pair_place(tasks, eyes, pair, limits, allowance)
    squared_radii = radii[0] ** 2, radii[1] ** 2
    found = [combination.least_share(squared_radii) for combination in _combinations(eyes, limits, 1.0)]
    places = [_pair_place(tasks, eyes, pair, limits, allowance) for pair in found if pair is not None]
    places = [place for place in places if place.share_of_limit <= 1.0 + _EQUAL]
    if not places:
        # Blanks that will only just do leave the search no room; then the place of the least blank is the one.
        least = pair_least_blank(right, left, limits=limits, allowance_mm=allowance)
        fits = least is not None and (
            least.right.blank_mm <= right_blank + _EQUAL and least.left.blank_mm <= left_blank + _EQUAL
        )
        return least if fits else None
    return _least(places, [place.share_of_limit for place in places], eyes)


def by_eye_least_blank(
    right: EyeTask, left: EyeTask, *, limits: PairLimits, share: float = 0.5, allowance_mm: float
) -> PairPlace | None:
    """The same with each eye on its own, with a share of each limit, whatever the other eye does.

    Both eyes keep to the same criterion in each dimension. With a share of one half or less the pair is within its
    limits; with more it need not be.

    Parameters
    ----------
    right : EyeTask
        The right lens.
    left : EyeTask
        The left lens.
    limits : PairLimits
        Limits of the pair.
    share : float
        Part of each limit for one eye, 0 to 1. [1]
    allowance_mm : float
        Added to the diameter for chipping and handling, 0 or more. [mm]

    Returns
    -------
    PairPlace, or None
        Each eye's best place, the larger need [mm] and the share of the limits; None if nothing is within the limits.

    Raises
    ------
    DomainError
        If a number is not finite, the share not within 0 to 1, or the allowance negative.

    Source
    ------
    derived, each eye by `placement.least_blank_place`; common-practice, one half of a pair's limit for each eye.
    """
    part, allowance = single_numbers(("share", "allowance_mm"), share, allowance_mm)
    demand(0.0 <= part <= 1.0, argument="share", rule="A share of 0 to 1 is expected.", value=part)
    demand_allowance(allowance)
    eyes = PreparedTask.of(right), PreparedTask.of(left)
    pairs: list[Pair] = []
    for combination in _combinations(eyes, limits, part):
        points = combination.alone(0), combination.alone(1)
        if points[0] is not None and points[1] is not None:
            pairs.append((points[0], points[1]))
    places = [_pair_place((right, left), eyes, pair, limits, allowance) for pair in pairs]
    return _least(places, [place.blank_mm for place in places], eyes)


def share_of_limit(
    right_task: EyeTask, left_task: EyeTask, right_place: Place, left_place: Place, limits: PairLimits
) -> float:
    """The part of its limits that a pair uses: of the two dimensions the worse, by its kinder criterion.

    In each dimension the largest of the right eye's figure, the left eye's and their difference counts.

    Parameters
    ----------
    right_task : EyeTask
        The right lens.
    left_task : EyeTask
        The left lens.
    right_place : Place
        Where the right optical centre sits, with the unwanted prism there.
    left_place : Place
        Where the left optical centre sits, with the unwanted prism there.
    limits : PairLimits
        Limits of the pair.

    Returns
    -------
    float
        0 for exact places, 1 at the limit, infinite where a limit of 0 is broken. [1]

    Raises
    ------
    DomainError
        If a figure of a place is not finite.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, either criterion will do; derived, the eyes by themselves as well.
    """
    for place in (right_place, left_place):
        names = ("x_mm", "y_mm", "prism_x_pd", "prism_y_pd")
        single_numbers(names, place.x_mm, place.y_mm, place.prism_x_pd, place.prism_y_pd)
    horizontal = [_share_of_one(right_place.prism_x_pd, left_place.prism_x_pd, limits.horizontal_pd)]
    vertical = [_share_of_one(right_place.prism_y_pd, left_place.prism_y_pd, limits.vertical_pd)]
    exact = exact_centre(right_task), exact_centre(left_task)
    if exact[0] is not None and exact[1] is not None:
        right_x, right_y = right_place.x_mm - exact[0][0], right_place.y_mm - exact[0][1]
        left_x, left_y = left_place.x_mm - exact[1][0], left_place.y_mm - exact[1][1]
        horizontal.append(_share_of_one(right_x, left_x, limits.horizontal_mm))
        vertical.append(_share_of_one(right_y, left_y, limits.vertical_mm))
    return max(min(horizontal), min(vertical))


def _share_of_one(right: float, left: float, limit: float) -> float:
    amount = max(abs(right), abs(left), abs(right - left))
    if amount <= _ROUNDING:
        return 0.0
    return amount / limit if limit > 0.0 else math.inf


def _combinations(eyes: tuple[PreparedTask, PreparedTask], limits: PairLimits, share: float) -> Iterator[Combination]:
    """Both criteria in both dimensions, as far as there are exact places to count distances from."""
    for horizontal in _CRITERIA:
        for vertical in _CRITERIA:
            sizes = share * limits.horizontal(horizontal), share * limits.vertical(vertical)
            combination = Combination.of(eyes, sizes, (horizontal, vertical))
            if combination is not None:
                yield combination


def _exact_pairs(eyes: tuple[PreparedTask, PreparedTask]) -> list[Pair]:
    return [(eyes[0].base, eyes[1].base)] if eyes[0].is_exact and eyes[1].is_exact else []


def _squared_reach(eyes: tuple[PreparedTask, PreparedTask], pair: Pair) -> float:
    return max(eyes[0].squared_reach(pair[0]), eyes[1].squared_reach(pair[1]))


def _pair_place(
    tasks: tuple[EyeTask, EyeTask],
    eyes: tuple[PreparedTask, PreparedTask],
    pair: Pair,
    limits: PairLimits,
    allowance: float,
) -> PairPlace:
    right, left = eyes[0].place(pair[0], allowance), eyes[1].place(pair[1], allowance)
    share = share_of_limit(*tasks, right, left, limits)
    return PairPlace(right, left, max(right.blank_mm, left.blank_mm), share)


def _least(places: list[PairPlace], sizes: list[float], eyes: tuple[PreparedTask, PreparedTask]) -> PairPlace | None:
    """Of the places whose size is least but for rounding, the one that moves the optical centres least."""
    if not places:
        return None

    def moved(place: PairPlace) -> float:
        moves = (
            eyes[0].move_to((place.right.x_mm, place.right.y_mm)),
            eyes[1].move_to((place.left.x_mm, place.left.y_mm)),
        )
        return sum(x * x + y * y for x, y in moves)

    least = min(sizes)
    return min((place for place, size in zip(places, sizes, strict=True) if size <= least + _EQUAL), key=moved)
