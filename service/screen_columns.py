"""One order against many frames, column by column: the figures and the grave findings of the single check, for a slice at once.

No optics here: the figures come from the same functions of the core as those of a single order, given arrays. The comparisons
are those of the rules with the same codes; `tests/properties/test_screening.py` holds every one of them against the check.
Figures are settled as the facts of a single order are.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from optics_core.blank_limits import centre_shift, decentration_reachable
from optics_core.boxing import blank_bounds, box_diagonal, decentration_in, decentration_up, usual_ed
from optics_core.modelled import modelled_outlines
from optics_core.prism import Prism, inward, pair_imbalance, prism_from_decentration
from optics_core.solids import lens_solids
from optics_core.thickness import usual_front_power
from optics_core.volume import lens_weight
from service.catalogue import RIMS, Catalogue
from service.facts import OrderFacts
from service.facts_place import EyePlace
from service.facts_prescription import EyePower
from service.facts_thickness import EyeThickness, least_edge_of
from service.profile.loader import Limits
from service.rounding import SETTLED_DECIMALS
from service.values import OrderValues

Column = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
DRILLED: Final = RIMS.index("drilled")


@dataclass(frozen=True, slots=True)
class Wearer:
    """What is the same for every frame: the order as it is judged with any one of them, and its limits."""

    values: OrderValues
    facts: OrderFacts
    limits: Limits


@dataclass(frozen=True, slots=True)
class EyeColumns:
    """One lens in every frame. A figure that is not known is nan."""

    place: EyePlace
    power: EyePower
    in_mm: Column
    up_mm: Column | None
    at_least_mm: Column
    expected_mm: Column
    at_most_mm: Column
    margin_mm: Column
    spare_mm: Column
    centre_mm: Column
    thinnest_mm: Column
    thickest_mm: Column
    weight_g: Column
    body: EyeThickness | None


@dataclass(frozen=True, slots=True)
class ScreenColumns:
    """A slice of the catalogue for this wearer."""

    wearer: Wearer
    a_mm: Column
    b_mm: Column
    dbl_mm: Column
    given_ed_mm: Column
    ed_mm: Column
    largest_side_mm: Column
    diagonal_mm: Column
    rim: npt.NDArray[np.int8]
    least_edge_mm: Column
    eyes: tuple[EyeColumns, ...]

    def of_any_eye(self, flags: Callable[[EyeColumns], Flags]) -> Flags:
        """Whether it holds of either lens."""
        found = np.zeros(len(self.a_mm), dtype=np.bool_)
        for eye in self.eyes:
            found |= flags(eye)
        return found

    def worst(self, figure: Callable[[EyeColumns], Column], choose: Any) -> Column:
        """The greater or smaller figure of the two lenses; nan where there is none of a lens."""
        columns = [figure(eye) for eye in self.eyes]
        if not columns:
            return np.full(len(self.a_mm), np.nan)
        return columns[0] if len(columns) == 1 else np.asarray(choose(columns[0], columns[1]))


def settled(values: Any) -> Column:
    """The figures without traces of binary arithmetic, as `service.rounding` has it for one."""
    return np.asarray(np.round(values, SETTLED_DECIMALS) + 0.0)


def screen_columns(catalogue: Catalogue, rows: slice, wearer: Wearer) -> ScreenColumns:
    """The figures of a slice of the catalogue."""
    a, b, dbl, given = (column[rows] for column in (catalogue.a_mm, catalogue.b_mm, catalogue.dbl_mm, catalogue.ed_mm))
    rim, limits = catalogue.rim[rows], wearer.limits
    diagonal, largest_side = np.asarray(box_diagonal(a_mm=a, b_mm=b)), np.maximum(a, b)
    rounding = limits.profile.frame.rounding_mm
    usable = (largest_side - rounding <= given) & (given <= diagonal + rounding)
    ed = np.where(usable, np.minimum(np.maximum(given, largest_side), diagonal), np.nan)
    taken = np.where(usable, ed, settled(usual_ed(a_mm=a, b_mm=b)))
    least_edges = np.array([least_edge_of(name, limits) for name in RIMS])
    outlines = modelled_outlines(a_mm=a, b_mm=b, ed_mm=taken)
    frame = _Frames(a, b, dbl, ed, taken, diagonal, least_edges[rim], outlines)
    return ScreenColumns(
        wearer=wearer,
        a_mm=a,
        b_mm=b,
        dbl_mm=dbl,
        given_ed_mm=given,
        ed_mm=ed,
        largest_side_mm=largest_side,
        diagonal_mm=diagonal,
        rim=rim,
        least_edge_mm=frame.least_edge_mm,
        eyes=tuple(_eye(place, frame, wearer) for place in wearer.facts.places),
    )


@dataclass(frozen=True, slots=True)
class _Frames:
    a_mm: Column
    b_mm: Column
    dbl_mm: Column
    ed_mm: Column
    taken_ed_mm: Column
    diagonal_mm: Column
    least_edge_mm: Column
    outlines: tuple[Column, Column]


def _eye(place: EyePlace, frame: _Frames, wearer: Wearer) -> EyeColumns:
    a, b = frame.a_mm, frame.b_mm
    in_mm = settled(decentration_in(a_mm=a, dbl_mm=frame.dbl_mm, pd_mm=np.full(len(a), place.pd_mm)))
    up_mm = None
    if place.height_mm is not None:
        up_mm = settled(decentration_up(b_mm=b, fitting_height_mm=np.full(len(b), place.height_mm)))
    up_taken = np.zeros(len(a)) if up_mm is None else up_mm
    needs: dict[str, Any] = {
        "a_mm": a,
        "b_mm": b,
        "in_mm": in_mm,
        "up_mm": up_taken,
        "allowance_mm": place.allowance_mm,
    }
    sure = blank_bounds(**needs, ed_mm=frame.taken_ed_mm)
    most = np.asarray(sure.at_most_mm)
    unknown = np.isnan(frame.ed_mm)
    if unknown.any():
        # The shape is unknown: what is enough for every shape follows from the box's diagonal.
        most = np.where(unknown, blank_bounds(**needs, ed_mm=frame.diagonal_mm).at_most_mm, most)
    blank = np.nan if place.blank_mm is None else place.blank_mm
    bodies = _bodies(place, frame, in_mm, up_taken, wearer)
    return EyeColumns(
        place=place,
        power=wearer.facts.cut.of(place.eye),
        in_mm=in_mm,
        up_mm=up_mm,
        at_least_mm=settled(sure.at_least_mm),
        expected_mm=settled(sure.expected_mm),
        at_most_mm=settled(most),
        margin_mm=settled(blank - settled(most)),
        spare_mm=settled(blank - settled(sure.at_most_mm)),
        **bodies,
    )


def _bodies(place: EyePlace, frame: _Frames, in_mm: Column, up_mm: Column, wearer: Wearer) -> dict[str, Any]:
    facts, values, limits = wearer.facts, wearer.values, wearer.limits
    power, body = facts.cut.of(place.eye), next((one for one in facts.thickness if one.eye == place.eye), None)
    material = facts.material
    if power.optics is None or material is None or body is None:
        nothing = np.full(len(in_mm), np.nan)
        names = ("centre_mm", "thinnest_mm", "thickest_mm", "weight_g")
        return {**dict.fromkeys(names, nothing), "body": None}
    x, y = frame.outlines
    pole_x = inward(eye=place.eye, x=in_mm)
    # Given with the order, or what the round blank asks for, which is the same in every frame.
    given = values.body.centre_mm if values.body.centre_mm is not None else body.stock_centre_mm
    finished = values.body.supply == "stock"
    front = values.body.front_power_d
    minus, prism = power.optics.minus, power.prism
    solids = lens_solids(
        x - pole_x[:, None],
        y - up_mm[:, None],
        sphere_d=minus.sphere_d,
        cylinder_d=minus.cylinder_d,
        axis_deg=180.0 if minus.axis_deg is None else minus.axis_deg,
        index=material.index_d,
        front_power_d=usual_front_power(spherical_equivalent_d=power.optics.vector.m_d) if front is None else front,
        prism_x_pd=0.0 if prism is None else prism.x_pd,
        prism_y_pd=0.0 if prism is None else prism.y_pd,
        least_centre_mm=body.least_centre_mm,
        least_edge_mm=limits.profile.thickness.least_edge_full_mm if finished else frame.least_edge_mm,
        centre_mm=given,
    )
    density: Any = material.density_g_cm3
    weight: Any = lens_weight(volume_mm3=np.nan_to_num(solids.volume_mm3), density_g_cm3=density)
    return {
        "centre_mm": settled(solids.centre_mm),
        "thinnest_mm": settled(solids.thinnest_mm),
        "thickest_mm": settled(solids.thickest_mm),
        "weight_g": settled(np.where(np.isnan(solids.volume_mm3), np.nan, weight)),
        "body": body,
    }


# The grave findings that depend on the frame, by the codes of their rules.


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
    usual, drilled = found.wearer.limits.profile.thickness, found.rim == DRILLED

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
    taken: Any = np.where(np.isnan(found.ed_mm), settled(usual_ed(a_mm=found.a_mm, b_mm=found.b_mm)), found.ed_mm)
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
