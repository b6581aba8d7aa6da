"""The two finished lenses together: prism between the eyes, and how their reading parts lie to each other."""

from collections.abc import Iterator
from dataclasses import dataclass

from optics_core.pair_imbalance import (
    EyeError,
    Imbalance,
    distance_imbalance,
    error_of_centre,
    error_of_prism,
    imbalances,
)
from optics_core.prism import inward
from optics_core.tolerance import LensType
from service.facts import OrderFacts
from service.facts_inspect_lens import NO_PRISM, LensInspection
from service.facts_judged import Judged, Missing, OffAlike, figure_compared, listed, pair_compared, pointer_of
from service.facts_measured import Figure
from service.facts_repeats import matrix_of, repeats_of_distance, repeats_of_lenses
from service.rounding import settled

_HOW = "Read the prism at the reference points, or measure the optical centres of both lenses."


@dataclass(frozen=True, slots=True)
class PairInspection:
    """Both lenses, with how far each is off where the prism or the centre of it was measured."""

    right: LensInspection
    left: LensInspection
    right_error: EyeError | None
    left_error: EyeError | None
    centre_distance: Figure | None
    near_pd_mm: float | None
    heights_assumed: bool


def pair_inspection(
    right: LensInspection, left: LensInspection, order: OrderFacts, centre_distance: Figure | None
) -> PairInspection:
    """The pair as it was measured.

    Where no heights were ordered the two optical centres are expected at the same height, halfway between those measured.
    """
    halfway = None
    if right.height is not None and left.height is not None:
        halfway = settled((right.height.mean + left.height.mean) / 2)
    ordered = [None if lens.place is None else lens.place.height_mm for lens in (right, left)]
    assumed = halfway is not None and None in ordered
    errors = [_error(lens, halfway if assumed else height) for lens, height in zip((right, left), ordered, strict=True)]
    return PairInspection(
        right=right,
        left=left,
        right_error=errors[0],
        left_error=errors[1],
        centre_distance=centre_distance,
        near_pd_mm=None if order.near is None else order.near.pd_mm,
        heights_assumed=assumed and right.measured.prism is None and left.measured.prism is None,
    )


def pair_judged(pair: PairInspection, standard: str, kind: LensType) -> Iterator[Judged]:
    """Everything of the pair that was measured and can be compared."""
    yield from _prism(pair, standard, kind)
    if pair.centre_distance is not None and (expected := _expected_distance(pair)) is not None:
        yield figure_compared(None, "optical_centre_distance", expected, pair.centre_distance, None)
    yield from _segments(pair, standard)
    yield from _fitting_points(pair, standard)


def off_alike(pair: PairInspection, standard: str, kind: LensType) -> Iterator[OffAlike]:
    """Lenses that are off by themselves in a pair that is not: the limits for a pair say nothing of what moves both eyes."""
    right, left = pair.right_error, pair.left_error
    if right is None or left is None:
        return
    together = _imbalances(pair, right, left, standard, kind)
    for lens, one_right, one_left in (
        (pair.right, right, _exact(right)),
        (pair.left, _exact(left), left),
    ):
        alone = {one.direction: one for one in _imbalances(pair, one_right, one_left, standard, kind)}
        for one in together:
            if one.within and not alone[one.direction].within:
                centre = "optical_centre_from_bridge" if one.direction == "horizontal" else "optical_centre_height"
                read = f"{one.direction}_prism" if lens.measured.prism is not None else centre
                yield OffAlike(lens.eye, pointer_of(lens.eye, read), alone[one.direction])


def _exact(error: EyeError) -> EyeError:
    """A lens of the same power with nothing wrong."""
    return EyeError(0.0, 0.0, 0.0, 0.0, error.horizontal_d, error.vertical_d)


def pair_missing(found: tuple[Judged, ...]) -> Iterator[Missing]:
    """What belongs to the inspection of a pair and is not there."""
    names = {one.quantity for one in found}
    for name, words in (
        ("horizontal_imbalance", "the horizontal prism of the pair"),
        ("vertical_imbalance", "the vertical prism of the pair"),
    ):
        if name not in names:
            yield Missing(None, words, pointer_of(None, name), _HOW)


def _error(lens: LensInspection, height_mm: float | None) -> EyeError | None:
    """How far one lens is off; None where neither its prism nor its centre was measured, or its power is not known."""
    if lens.ordered.optics is None:
        return None
    power, ordered = matrix_of(lens.ordered.optics.minus), lens.ordered.prism or NO_PRISM
    if lens.measured.prism is not None:
        return error_of_prism(eye=lens.eye, power=power, measured=lens.measured.prism, ordered=ordered)
    in_mm = up_mm = None
    if lens.from_bridge is not None and lens.place is not None:
        in_mm = settled(lens.place.pd_mm - lens.from_bridge.mean)
    if lens.height is not None and height_mm is not None:
        up_mm = settled(lens.height.mean - height_mm)
    if in_mm is None and up_mm is None:
        return None
    return error_of_centre(eye=lens.eye, power=power, in_mm=in_mm, up_mm=up_mm, ordered=ordered)


def _expected_distance(pair: PairInspection) -> float | None:
    """Between the optical centres; None where a PD is not known, or prism moves the centres away from the pupils."""
    right, left = pair.right, pair.left
    if right.place is None or left.place is None or right.ordered.prism is not None or left.ordered.prism is not None:
        return None
    return settled(right.place.pd_mm + left.place.pd_mm)


def _prism(pair: PairInspection, standard: str, kind: LensType) -> Iterator[Judged]:
    right, left = pair.right.ordered.prism or NO_PRISM, pair.left.ordered.prism or NO_PRISM
    right_in, left_in = inward(eye="right", x=right.x_pd), inward(eye="left", x=left.x_pd)
    known: tuple[Imbalance, ...] = ()
    if pair.right_error is not None and pair.left_error is not None:
        known = _imbalances(pair, pair.right_error, pair.left_error, standard, kind)
    if not any(one.direction == "horizontal" for one in known):
        by_distance = _by_distance(pair, standard, kind)
        if by_distance is not None:
            yield by_distance
    prism_read = pair.right.measured.prism is not None or pair.left.measured.prism is not None
    for one in known:
        across_pair = one.direction == "horizontal"
        place = "optical_centre_from_bridge_mm" if across_pair else "optical_centre_height_mm"
        ordered_pd = right_in + left_in if across_pair else right.y_pd - left.y_pd
        repeats = repeats_of_lenses((pair.right, pair.left), one.direction, standard, kind, _prescribed(pair))
        yield pair_compared(one, ordered_pd, "/measured" if prism_read else f"/measured/{place}", repeats)


def _imbalances(
    pair: PairInspection, right: EyeError, left: EyeError, standard: str, kind: LensType
) -> tuple[Imbalance, ...]:
    across, up = _prescribed(pair)
    return imbalances(
        standard=standard,
        lens=kind,
        right=right,
        left=left,
        prescribed_horizontal_pd=across,
        prescribed_vertical_pd=up,
    )


def _prescribed(pair: PairInspection) -> tuple[float, float]:
    """The greater prescribed prism across and up, for standards that band by it."""
    right, left = pair.right.ordered.prism or NO_PRISM, pair.left.ordered.prism or NO_PRISM
    return max(abs(right.x_pd), abs(left.x_pd)), max(abs(right.y_pd), abs(left.y_pd))


def _by_distance(pair: PairInspection, standard: str, kind: LensType) -> Judged | None:
    """Where only the distance between the optical centres was measured."""
    expected, right, left = _expected_distance(pair), pair.right.ordered.optics, pair.left.ordered.optics
    if pair.centre_distance is None or expected is None or right is None or left is None:
        return None
    powers = matrix_of(right.minus).xx_d, matrix_of(left.minus).xx_d
    found = distance_imbalance(
        standard=standard,
        lens=kind,
        off_mm=settled(pair.centre_distance.mean - expected),
        power_right_d=powers[0],
        power_left_d=powers[1],
    )
    repeats = repeats_of_distance(pair.centre_distance, powers, standard, kind)
    return pair_compared(found, 0.0, pointer_of(None, found.direction + "_imbalance"), repeats)


def _segments(pair: PairInspection, standard: str) -> Iterator[Judged]:
    right, left = pair.right.measured.others, pair.left.measured.others
    one, other = (None if lens.near is None else lens.near.segment for lens in (pair.right, pair.left))
    heights = right.get("segment_height_mm"), left.get("segment_height_mm")
    if heights[0] is not None and heights[1] is not None and one is not None and other is not None:
        yield figure_compared(
            None,
            "segment_height_difference",
            settled(one.height_mm - other.height_mm),
            _taken_together(heights[0], heights[1], heights[0].mean - heights[1].mean),
            listed(standard, "segment", "pair_height_difference"),
        )
    across = right.get("segment_from_bridge_mm"), left.get("segment_from_bridge_mm")
    if across[0] is not None and across[1] is not None and pair.near_pd_mm is not None:
        yield figure_compared(
            None,
            "segment_distance",
            pair.near_pd_mm,
            _taken_together(across[0], across[1], across[0].mean + across[1].mean),
            listed(standard, "segment", "pair_horizontal"),
        )


def _fitting_points(pair: PairInspection, standard: str) -> Iterator[Judged]:
    heights = (lens.measured.others.get("fitting_point_height_mm") for lens in (pair.right, pair.left))
    ordered = (None if lens.place is None else lens.place.height_mm for lens in (pair.right, pair.left))
    (right, left), (wanted_right, wanted_left) = heights, ordered
    if right is None or left is None or wanted_right is None or wanted_left is None:
        return
    if pair.right.use == "progressive":
        yield figure_compared(
            None,
            "fitting_point_height_difference",
            settled(wanted_right - wanted_left),
            _taken_together(right, left, right.mean - left.mean),
            listed(standard, "fitting_cross", "pair_vertical_difference"),
        )


def _taken_together(right: Figure, left: Figure, value: float) -> Figure:
    """A figure that two measured ones make; it is as good as the one with fewer readings, and their ranges add up."""
    spread = None
    if right.spread is not None or left.spread is not None:
        spread = settled((right.spread or 0.0) + (left.spread or 0.0))
    return Figure(settled(value), min(right.count, left.count), spread)
