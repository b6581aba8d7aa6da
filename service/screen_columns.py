"""One order against many frames, column by column: the figures of the single check, for a slice at once.

No optics here: the figures come from the same functions of the core as those of a single order, given arrays. They are settled
as the facts of a single order are.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from optics_core.boxing import blank_bounds, box_diagonal, decentration_in, decentration_up, usual_ed
from optics_core.centre_thickness import edges_on_blank
from optics_core.modelled import modelled_outlines, with_feet
from optics_core.prism import inward
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
    taken_ed_mm: Column
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
        taken_ed_mm=taken,
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
    pole_x = inward(eye=place.eye, x=in_mm)
    x, y = with_feet(*frame.outlines, pole_x_mm=pole_x, pole_y_mm=up_mm)
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
    thinnest = solids.thinnest_mm
    if finished and place.blank_mm is not None:
        from_middle = {"x_mm": x - pole_x[:, None], "y_mm": y - up_mm[:, None]}
        edges = edges_on_blank(solids.edge_mm, **from_middle, diameter_mm=place.blank_mm)
        thinnest = edges.min(axis=1)
    density: Any = material.density_g_cm3
    weight: Any = lens_weight(volume_mm3=np.nan_to_num(solids.volume_mm3), density_g_cm3=density)
    return {
        "centre_mm": settled(solids.centre_mm),
        "thinnest_mm": settled(thinnest),
        "thickest_mm": settled(solids.thickest_mm),
        "weight_g": settled(np.where(np.isnan(solids.volume_mm3), np.nan, weight)),
        "body": body,
    }
