"""How far the repeated readings of a pair's prism lie apart, in the two reckonings by which the prism itself is judged.

The readings of the two lenses do not belong together one by one, so that their ranges add up.
"""

from collections.abc import Iterator
from typing import Literal

from optics_core.pair_imbalance import EyeError, distance_imbalance, error_of_centre, error_of_prism, imbalances
from optics_core.power_vectors import PowerMatrix, power_matrix
from optics_core.sphero_cylinder import SpheroCylinder
from optics_core.tolerance import LensType
from service.facts_inspect_lens import NO_PRISM, LensInspection
from service.facts_judged import Repeats
from service.facts_measured import Figure

Direction = Literal["horizontal", "vertical"]


def repeats_of_lenses(
    lenses: tuple[LensInspection, LensInspection],
    direction: Direction,
    standard: str,
    kind: LensType,
    prescribed_pd: tuple[float, float],
) -> Repeats:
    """Repeated readings of the prism or of the optical centre of each lens; `prescribed_pd` is across and up."""
    ranges = [found for lens in lenses for found in _ranges(lens, direction)]
    count = min((number for number, _ in ranges), default=1)
    if len(ranges) != 2 or all(number == 1 for number, _ in ranges):
        return Repeats(count, None)
    known = imbalances(
        standard=standard,
        lens=kind,
        right=_one_way(ranges[0][1], 1.0),
        left=_one_way(ranges[1][1], 1.0 if direction == "horizontal" else -1.0),
        prescribed_horizontal_pd=prescribed_pd[0],
        prescribed_vertical_pd=prescribed_pd[1],
    )
    return Repeats(count, next((one for one in known if one.direction == direction), None))


def repeats_of_distance(distance: Figure, powers_d: tuple[float, float], standard: str, kind: LensType) -> Repeats:
    """Repeated readings of the distance between the optical centres."""
    if distance.spread is None:
        return Repeats(distance.count, None)
    right, left = powers_d
    apart = distance_imbalance(
        standard=standard, lens=kind, off_mm=distance.spread, power_right_d=right, power_left_d=left
    )
    return Repeats(distance.count, apart)


def matrix_of(lens: SpheroCylinder) -> PowerMatrix:
    """The power of a lens along and across."""
    return power_matrix(sphere_d=lens.sphere_d, cylinder_d=lens.cylinder_d, axis_deg=lens.axis_deg)


def _ranges(lens: LensInspection, direction: Direction) -> Iterator[tuple[int, EyeError]]:
    """Number of readings of one lens, and the range of them as if it were an error."""
    if lens.ordered.optics is None:
        return
    power, read = matrix_of(lens.ordered.optics.minus), lens.measured
    if read.prism is not None:
        spread = read.prism_spread or NO_PRISM
        yield read.prism_count, error_of_prism(eye=lens.eye, power=power, measured=spread, ordered=NO_PRISM)
        return
    figure = lens.from_bridge if direction == "horizontal" else lens.height
    if figure is not None:
        spread_mm = figure.spread or 0.0
        across, up = (spread_mm, None) if direction == "horizontal" else (None, spread_mm)
        yield figure.count, error_of_centre(eye=lens.eye, power=power, in_mm=across, up_mm=up, ordered=NO_PRISM)


def _one_way(error: EyeError, sign: float) -> EyeError:
    """The same sizes, all to one side, so that nothing of two ranges cancels."""

    def turned(size: float | None) -> float | None:
        return None if size is None else sign * abs(size)

    return EyeError(
        turned(error.horizontal_pd),
        turned(error.vertical_pd),
        turned(error.in_mm),
        turned(error.up_mm),
        error.horizontal_d,
        error.vertical_d,
    )
