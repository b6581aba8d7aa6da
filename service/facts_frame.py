"""The largest frame that works: for this PD and the blanks at hand, each size by itself."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import cycle

from optics_core.boxing import largest_a, largest_dbl, largest_ed
from optics_core.frame_limits import largest_dbl_for_outline, largest_scale
from service.contract.order import LARGEST_A_MM, LARGEST_DBL_MM
from service.facts_place import EyePlace
from service.facts_trace import EyeOutline
from service.rounding import settled
from service.values import FrameValues

_LAST_DIGIT_MM = 1e-9

# The largest size up to a given one with which a blank is sure to do; None where there is none.
_Solve = Callable[[float], float | None]


@dataclass(frozen=True, slots=True)
class LargestFrame:
    """The largest frame for which a blank is sure to do: each size by itself. None where no size does.

    A is that of a frame of the same proportions, DBL that of the same lens shape, ED that with A, B and DBL as they are.
    """

    blank_mm: float
    a_mm: float | None
    dbl_mm: float | None
    ed_mm: float


def largest_frame(places: tuple[EyePlace, ...], frame: FrameValues, blank_mm: float) -> LargestFrame:
    """The largest frame that the blank is sure to serve for all these lenses, of which there is one at least."""
    solved = [_solvers(place, frame, blank_mm) for place in places]
    return LargestFrame(
        blank_mm=blank_mm,
        a_mm=_largest_for_all([of_a for of_a, _ in solved], LARGEST_A_MM),
        dbl_mm=_largest_for_all([of_dbl for _, of_dbl in solved], LARGEST_DBL_MM),
        ed_mm=min(
            settled(
                largest_ed(
                    blank_mm=blank_mm,
                    in_mm=place.in_mm - place.better_offset_mm[0],
                    up_mm=place.up_taken_mm - place.better_offset_mm[1],
                    allowance_mm=place.allowance_mm,
                )
            )
            for place in places
        ),
    )


def _largest_for_all(solvers: list[_Solve], most: float) -> float | None:
    """Each lens has one range of sizes; the largest common one is found when all in a row leave it as it is."""
    in_a_row = 0
    for solve in cycle(solvers):
        found = solve(most)
        if found is None:
            return None
        # What a lens has cut down to its own largest suits it; a last digit is no change.
        in_a_row = in_a_row + 1 if found >= most - _LAST_DIGIT_MM else 1
        most = min(most, found)
        if in_a_row == len(solvers):
            break
    return most


def _solvers(place: EyePlace, frame: FrameValues, blank_mm: float) -> tuple[_Solve, _Solve]:
    if place.outline is None:
        return _boxed(place, frame, blank_mm)
    return _traced(place, place.outline, frame, blank_mm)


def _traced(place: EyePlace, outline: EyeOutline, frame: FrameValues, blank_mm: float) -> tuple[_Solve, _Solve]:
    # A lens cut larger all round by so much needs twice that more; one cut smaller needs no more than that less.
    points, allowance = outline.frame_points, place.allowance_mm + 2 * outline.size_change_mm
    if allowance < 0:
        blank_mm, allowance = blank_mm - allowance, 0.0
    offset_in, offset_up = place.better_offset_mm

    def of_a(most: float) -> float | None:
        scale = largest_scale(
            points,
            eye=place.eye,
            dbl_mm=frame.dbl_mm,
            pd_mm=place.pd_mm,
            up_mm=place.up_taken_mm,
            offset_in_mm=offset_in,
            offset_up_mm=offset_up,
            blank_mm=blank_mm,
            allowance_mm=allowance,
            most=most / place.a_mm,
        )
        return None if scale is None else scale * place.a_mm

    def of_dbl(most: float) -> float | None:
        return largest_dbl_for_outline(
            points,
            eye=place.eye,
            pd_mm=place.pd_mm,
            up_mm=place.up_taken_mm,
            offset_in_mm=offset_in,
            offset_up_mm=offset_up,
            blank_mm=blank_mm,
            allowance_mm=allowance,
            most_mm=most,
        )

    return of_a, of_dbl


def _boxed(place: EyePlace, frame: FrameValues, blank_mm: float) -> tuple[_Solve, _Solve]:
    ed = frame.taken_ed_mm
    # A blank whose optical centre is off its middle acts like one that is centred for another PD and height.
    offset_in, offset_up = place.better_offset_mm
    pd_mm, up_mm = place.pd_mm + offset_in, place.up_taken_mm - offset_up

    def of_a(most: float) -> float | None:
        growth = most / frame.a_mm
        if pd_mm <= 0:
            return None
        return largest_a(
            blank_mm=blank_mm,
            a_mm=frame.a_mm * growth,
            b_mm=frame.b_mm * growth,
            dbl_mm=frame.dbl_mm,
            ed_mm=ed * growth,
            pd_mm=pd_mm,
            up_mm=up_mm,
            allowance_mm=place.allowance_mm,
        )

    def of_dbl(most: float) -> float | None:
        if pd_mm <= 0:
            return None
        return largest_dbl(
            blank_mm=blank_mm,
            a_mm=frame.a_mm,
            b_mm=frame.b_mm,
            dbl_mm=most,
            ed_mm=ed,
            pd_mm=pd_mm,
            up_mm=up_mm,
            allowance_mm=place.allowance_mm,
        )

    return of_a, of_dbl
