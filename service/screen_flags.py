"""Which frames have which grave finding: the comparisons of the rules, for a slice of a catalogue at once.

Each comparison is that of the rule with the same code, and only those stand here that hang on the frame;
`tests/properties/test_screening.py` holds every one of them against the check.
"""

from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np

from optics_core.blank_limits import centre_shift, decentration_reachable
from optics_core.prism import Prism, inward, pair_imbalance, prism_from_decentration
from service.catalogue import RIMS
from service.screen_columns import Column, EyeColumns, Flags, ScreenColumns, settled

_DRILLED: Final = RIMS.index("drilled")


def _outside(value: Column, least: float, most: float) -> Flags:
    return (value < least) | (value > most)


def _frame_flags(found: ScreenColumns) -> Iterator[tuple[str, Flags]]:
    frame, unusable = found.wearer.limits.profile.frame, ~np.isnan(found.given_ed_mm) & np.isnan(found.ed_mm)
    yield "ed-below-box", unusable & (found.given_ed_mm < found.largest_side_mm)
    yield "ed-above-diagonal", unusable & (found.given_ed_mm > found.diagonal_mm)
    yield "b-larger-than-a", found.b_mm > found.a_mm
    yield (
        "frame-size-unusual",
        _outside(found.a_mm, frame.a_least_mm, frame.a_most_mm)
        | _outside(found.b_mm, frame.b_least_mm, frame.b_most_mm)
        | _outside(found.dbl_mm, frame.dbl_least_mm, frame.dbl_most_mm),
    )
    fit = found.wearer.limits.profile.fit

    def outside(eye: EyeColumns) -> Flags:
        height = eye.place.height_mm
        return np.zeros(len(found.b_mm), np.bool_) if height is None else ~((height > 0) & (height < found.b_mm))

    def near_edge(eye: EyeColumns) -> Flags:
        height = eye.place.height_mm
        if height is None:
            return np.zeros(len(found.b_mm), np.bool_)
        return ((height < fit.room_below_mm) | (settled(found.b_mm - height) < fit.room_above_mm)) & ~outside(eye)

    yield "fitting-height-outside-lens", found.of_any_eye(outside)
    yield "fitting-height-near-edge", found.of_any_eye(near_edge)


def _blank_flags(found: ScreenColumns) -> Iterator[tuple[str, Flags]]:
    known = ~np.isnan(found.ed_mm)

    def too_small(eye: EyeColumns) -> Flags:
        blank = eye.place.blank_mm
        return np.zeros(len(known), np.bool_) if blank is None else blank < eye.at_least_mm

    def may_be(eye: EyeColumns) -> Flags:
        blank = eye.place.blank_mm
        if blank is None:
            return np.zeros(len(known), np.bool_)
        return known & (eye.at_least_mm <= blank) & (blank < eye.at_most_mm)

    def may_be_without_ed(eye: EyeColumns) -> Flags:
        return ~known & (eye.spare_mm < 0) & ~too_small(eye)

    yield "blank-too-small", found.of_any_eye(too_small)
    yield "blank-may-be-too-small", found.of_any_eye(may_be)
    yield "blank-may-be-too-small-without-ed", found.of_any_eye(may_be_without_ed)


def _body_flags(found: ScreenColumns) -> Iterator[tuple[str, Flags]]:
    usual, drilled = found.wearer.limits.profile.thickness, found.rim == _DRILLED

    def no_finished_blank(eye: EyeColumns) -> bool:
        """The round blank cannot be that steep; it is told of by one rule, and not as thin as well."""
        if eye.body is None or eye.place.blank_mm is None:
            return False
        return eye.body.blank_rules_centre and eye.body.stock_centre_mm is None

    def impossible(eye: EyeColumns) -> Flags:
        if eye.body is None:
            return np.zeros(len(drilled), np.bool_)
        return np.isnan(eye.centre_mm) | np.isnan(eye.thinnest_mm) | no_finished_blank(eye)

    def runs_out(eye: EyeColumns) -> Flags:
        return np.zeros(len(drilled), np.bool_) if no_finished_blank(eye) else eye.thinnest_mm <= 0

    def too_thin(eye: EyeColumns) -> Flags:
        if no_finished_blank(eye):
            return np.zeros(len(drilled), np.bool_)
        return (eye.thinnest_mm > 0) & (eye.thinnest_mm < found.least_edge_mm)

    def centre_too_thin(eye: EyeColumns) -> Flags:
        ordered = eye.body is not None and eye.body.centre_from == "order"
        least = 0.0 if eye.body is None else eye.body.least_centre_mm
        return (eye.centre_mm < least) & ordered

    yield "lens-body-impossible", found.of_any_eye(impossible)
    yield "lens-runs-out", found.of_any_eye(runs_out)
    yield "edge-too-thin", found.of_any_eye(too_thin)
    yield "centre-too-thin", found.of_any_eye(centre_too_thin)
    material = found.wearer.facts.material
    yield "material-brittle-for-drilling", drilled & (material is not None and material.brittle)
    yield (
        "edge-thick-for-drilling",
        found.of_any_eye(lambda eye: drilled & (eye.thickest_mm > usual.most_edge_drilled_mm)),
    )
    yield "edge-unusually-thick", found.of_any_eye(lambda eye: ~drilled & (eye.thickest_mm > usual.edge_unusual_mm))


def _centration_flags(found: ScreenColumns) -> Iterator[tuple[str, Flags]]:
    fit = found.wearer.limits.profile.fit
    yield "decentration-outward", found.of_any_eye(lambda eye: -eye.in_mm > fit.out_unusual_mm)
    yield "decentration-large", found.of_any_eye(lambda eye: eye.in_mm > fit.in_unusual_mm)
    horizontal, vertical = _pair_over(found)
    yield "horizontal-prism-over-tolerance", horizontal
    yield "vertical-prism-over-tolerance", vertical


def _pair_over(found: ScreenColumns) -> tuple[Flags, Flags]:
    """Whether the prism of optical centres that stop short of the pupils is over, horizontally and vertically."""
    none = np.zeros(len(found.a_mm), np.bool_)
    if len(found.eyes) != 2:
        return none, none
    shifts = [_short_of_pupil(found, eye) for eye in found.eyes]
    right, left = (_prism(eye, shift[0], shift[1]) for eye, shift in zip(found.eyes, shifts, strict=True))
    horizontal, vertical = pair_imbalance(right=right, left=left)
    standard = found.wearer.facts.prism_limits
    # A pair of which a lens is short and has no place within reach is not judged.
    known = (shifts[0][2] | shifts[1][2]) & ~shifts[0][3] & ~shifts[1][3]
    off_pd, off_height = -(shifts[0][0] + shifts[1][0]), shifts[0][1] - shifts[1][1]
    heights = all(eye.up_mm is not None for eye in found.eyes)
    return (
        known & (np.abs(horizontal) > standard.horizontal_pd) & (np.abs(off_pd) > standard.horizontal_mm),
        known & heights & (np.abs(vertical) > standard.vertical_pd) & (np.abs(off_height) > standard.vertical_mm),
    )


def _prism(eye: EyeColumns, in_mm: Column, up_mm: Column) -> Prism:
    if eye.power.optics is None:
        return Prism(np.zeros(len(in_mm)), np.zeros(len(in_mm)))  # type: ignore[arg-type]  # arrays, as everywhere here
    minus = eye.power.optics.minus
    return prism_from_decentration(
        sphere_d=minus.sphere_d,
        cylinder_d=minus.cylinder_d,
        axis_deg=minus.axis_deg,
        x_mm=inward(eye=eye.place.eye, x=in_mm),
        y_mm=up_mm,
    )


def _short_of_pupil(found: ScreenColumns, eye: EyeColumns) -> tuple[Column, Column, Flags, Flags]:
    """How far in and up the optical centre stops from the pupil, where the blank is short, and where no place is in reach."""
    none, nothing, short = np.zeros(len(found.a_mm)), np.zeros(len(found.a_mm), np.bool_), eye.spare_mm < 0
    blank: Any = eye.place.blank_mm
    if blank is None or eye.power.optics is None:
        return none, none, nothing, short
    taken: Any = found.taken_ed_mm
    reach = np.asarray(decentration_reachable(blank_mm=blank, ed_mm=taken, allowance_mm=eye.place.allowance_mm))
    up = np.zeros(len(reach)) if eye.up_mm is None else eye.up_mm
    shift = centre_shift(in_mm=eye.in_mm, up_mm=up, reach_mm=np.maximum(reach, 0.0))
    within = short & (reach >= 0)
    return np.where(within, shift.in_mm, 0.0), np.where(within, shift.up_mm, 0.0), within, short & (reach < 0)


_FAMILIES: Final = (_frame_flags, _blank_flags, _body_flags, _centration_flags)


def screened_findings(found: ScreenColumns) -> Mapping[str, Flags]:
    """Which frames have which grave finding, by the code of its rule; only those that depend on the frame."""
    with np.errstate(invalid="ignore"):
        return dict(pair for family in _FAMILIES for pair in family(found))
