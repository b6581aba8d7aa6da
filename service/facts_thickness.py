"""What follows for the lenses as bodies: how thick, where, how heavy, and what shows beside the rim."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

from optics_core.centre_thickness import edges_on_blank
from optics_core.clearance import direction_deg
from optics_core.errors import DomainError
from optics_core.materials import Material
from optics_core.prism import inward
from optics_core.segments import progressive_thinning
from optics_core.solids import Solids
from optics_core.thickness import lens_body, showing, thinnest_inside
from optics_core.volume import lens_weight
from service.facts_body import (
    Centres,
    Lens,
    Making,
    centres_of,
    go_together,
    known_figure,
    least_centres,
    lenses_of,
    solids_of,
    whole_blank,
)
from service.facts_place import EyePlace
from service.facts_prescription import PrescriptionFacts
from service.facts_stock import StockFacts
from service.profile.loader import Limits
from service.rounding import settled
from service.values import BodyValues, EyeName, OrderValues


@dataclass(frozen=True, slots=True)
class EdgePlace:
    """An edge thickness and its direction from the boxed centre, counter-clockwise from +x."""

    edge_mm: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class InsidePlace:
    """The thinnest place of a lens, away from its edge, and how far it lies from the optical centre of its power."""

    thickness_mm: float
    away_mm: float


@dataclass(frozen=True, slots=True)
class EyeThickness:
    """One lens as a body. Where no such body exists (a surface does not reach the edge) the figures are None.

    `edge_of_centre_mm` is the edge that the rule for the centre keeps to. `stock_centre_mm` and `surfaced_centre_mm` are
    known for lenses that the blank's diameter makes thicker: `blank_rules_centre` tells which, blank or no blank. `inside` is
    the thinnest place of a lens with ground prism whose centre was given, unless that is at the edge; where the rule for the
    centre finds it, it sees to it that no place is too thin. A finished round blank has no edge beyond its own, so that
    `thinnest` lies within it.
    `edges` holds every edge with its direction.
    """

    eye: EyeName
    index: float
    front_power_d: float
    front_from: Literal["order", "stock", "rule"]
    centre_from: Literal["order", "stock", "rule"]
    lower_edge_with_add_mm: float | None
    least_centre_mm: float
    least_edge_mm: float
    edge_of_centre_mm: float
    basis: Literal["trace", "modelled"]
    centre_mm: float | None
    inside: InsidePlace | None
    thinnest: EdgePlace | None
    thickest: EdgePlace | None
    weight_g: float | None
    blank_rules_centre: bool
    stock_centre_mm: float | None
    surfaced_centre_mm: float | None
    shows_front_mm: float | None
    shows_behind_mm: float | None
    x_mm: Any
    y_mm: Any
    edges_mm: Any

    @property
    def stock_adds_mm(self) -> float | None:
        """What the round blank adds to the centre, beyond what this frame asks for."""
        if self.stock_centre_mm is None or self.surfaced_centre_mm is None:
            return None
        return settled(self.stock_centre_mm - self.surfaced_centre_mm)

    @property
    def is_no_finished_blank(self) -> bool:
        """Whether the lens could be ground for this frame, but not come as a round blank."""
        return self.stock_centre_mm is None and self.surfaced_centre_mm is not None

    @property
    def edges(self) -> Iterable[EdgePlace]:
        """Every edge, in the order of the outline; a point that stands twice is told once."""
        before = self.x_mm.item(-1), self.y_mm.item(-1)
        for x, y, edge in zip(self.x_mm.tolist(), self.y_mm.tolist(), self.edges_mm.tolist(), strict=True):
            if (x, y) != before:
                yield EdgePlace(edge, direction_deg(x_mm=x, y_mm=y))
            before = x, y


def thickness_facts(
    values: OrderValues,
    rx: PrescriptionFacts,
    places: tuple[EyePlace, ...],
    material: Material | None,
    stock: StockFacts | None,
    limits: Limits,
) -> tuple[EyeThickness, ...]:
    """Both lenses as bodies; none where the power or the material is not known."""
    if material is None:
        return ()
    lenses = lenses_of(values.frame, values.body, rx, places, stock)
    if not lenses:
        return ()
    full_edge, least_edge = limits.profile.thickness.least_edge_full_mm, least_edge_of(values.body.rim, limits)
    making = Making(
        values,
        material,
        _least_centre(values, limits),
        least_edge,
        full_edge,
        # A finished blank has the edge that it has, whatever the rim asks for.
        full_edge if values.body.supply == "stock" else least_edge,
        _corridor_mm(values),
    )
    centres = centres_of(lenses, making)
    return tuple(_eye(lens, solid, row, own, making) for lens, own, solid, row in _bodies(lenses, centres, making))


def stock_centre_mm(
    rx: PrescriptionFacts, place: EyePlace, body: EyeThickness, diameter_mm: float, limits: Limits
) -> float | None:
    """Centre of a finished round blank of that diameter, with the same front; None where there is no such body."""
    pole_x, pole_y = inward(eye=place.eye, x=place.in_mm), place.up_taken_mm
    power = rx.of(place.eye)
    lens = Lens(power, place, body.x_mm, body.y_mm, pole_x, pole_y, body.front_power_d, body.front_from, None)
    least_edge = limits.profile.thickness.least_edge_full_mm
    return least_centres([whole_blank(lens, diameter_mm)], body.index, body.least_centre_mm, least_edge)[0]


def least_edge_of(rim: str, limits: Limits) -> float:
    """The least edge that such a rim asks for."""
    usual = limits.profile.thickness
    return {
        "full": usual.least_edge_full_mm,
        "grooved": usual.least_edge_grooved_mm,
        "drilled": usual.least_edge_drilled_mm,
    }[rim]


def _corridor_mm(values: OrderValues) -> float | None:
    design = None if values.near is None else values.near.progressive
    return None if design is None else design.corridor_mm


def _least_centre(values: OrderValues, limits: Limits) -> float:
    rows = (row.least_centre_mm for row in limits.profile.stock if row.material == values.lens.material)
    return next((centre for centre in rows if centre is not None), limits.profile.thickness.least_centre_mm)


def _bodies(lenses: list[Lens], centres: list[Centres], making: Making) -> Iterator[tuple[Lens, Centres, Solids, int]]:
    """Each lens with its body: together where they can be worked out together, which is twice as fast."""
    index, least_centre, least_edge = making.material.index_d, making.least_centre_mm, making.edge_of_centre_mm
    given = [own.given_mm for own in centres]
    if len(lenses) == 2 and go_together(lenses) and (given[0] is None) == (given[1] is None):
        both = solids_of(lenses, index, least_centre, least_edge, None if given[0] is None else given)
        yield lenses[0], centres[0], both, 0
        yield lenses[1], centres[1], both, 1
        return
    for lens, own in zip(lenses, centres, strict=True):
        centre = None if own.given_mm is None else [own.given_mm]
        yield lens, own, solids_of([lens], index, least_centre, least_edge, centre), 0


def _eye(lens: Lens, solid: Solids, row: int, centres: Centres, making: Making) -> EyeThickness:
    body, material = making.values.body, making.material
    thickest = _edge(lens, solid.thickest_mm.item(row), solid.thickest_index.item(row))
    inside = _inside(lens, solid, row, centres, making)
    volume = None if inside is not None and inside.thickness_mm <= 0 else known_figure(solid.volume_mm3.item(row))
    front, behind = _shows(body, thickest)
    return EyeThickness(
        eye=lens.place.eye,
        index=material.index_d,
        front_power_d=settled(lens.front_power_d),
        front_from=lens.front_from,
        centre_from=_centre_from(body, lens),
        lower_edge_with_add_mm=_lower_edge_with_add(lens, solid.edge_mm[row], making),
        least_centre_mm=making.least_centre_mm,
        least_edge_mm=making.least_edge_mm,
        edge_of_centre_mm=making.edge_of_centre_mm,
        basis="modelled" if lens.place.outline is None else "trace",
        centre_mm=known_figure(solid.centre_mm.item(row)),
        inside=inside,
        thinnest=_thinnest(lens, solid, row, body),
        thickest=thickest,
        weight_g=None
        if volume is None
        else settled(lens_weight(volume_mm3=volume, density_g_cm3=material.density_g_cm3)),
        blank_rules_centre=centres.blank_rules,
        stock_centre_mm=centres.stock_mm,
        surfaced_centre_mm=centres.surfaced_mm,
        shows_front_mm=front,
        shows_behind_mm=behind,
        x_mm=lens.x_mm,
        y_mm=lens.y_mm,
        edges_mm=solid.edge_mm[row],
    )


def _thinnest(lens: Lens, solid: Solids, row: int, body: BodyValues) -> EdgePlace | None:
    """The thinnest edge; of a finished blank the thinnest that lies on the blank, where not all of the outline does."""
    # A blank that is sure to do holds all of it.
    if body.supply == "stock" and lens.place.blank_mm is not None and not (lens.place.spare_mm or 0.0) >= 0.0:
        edges = solid.edge_mm[row]
        offset_in, offset_up = lens.place.offset_mm
        x = lens.x_mm - lens.pole_x_mm + inward(eye=lens.place.eye, x=offset_in)
        y = lens.y_mm - lens.pole_y_mm + offset_up
        kept = edges_on_blank(edges, x_mm=x, y_mm=y, diameter_mm=lens.place.blank_mm)
        if kept is not edges:
            index = int(kept.argmin())
            return _edge(lens, kept.item(index), index)
    return _edge(lens, solid.thinnest_mm.item(row), solid.thinnest_index.item(row))


def _inside(lens: Lens, solid: Solids, row: int, centres: Centres, making: Making) -> InsidePlace | None:
    """Where prism is ground and the centre was given, the thinnest place of all; None where there is no such lens."""
    prism, power = lens.power.prism, lens.power.optics
    centre = solid.centre_mm.item(row)
    ruled = centres.given_mm is None or centres.blank_rules
    if prism is None or power is None or ruled or not centre >= 0.0:
        return None
    minus = power.minus
    try:
        body = lens_body(
            sphere_d=minus.sphere_d,
            cylinder_d=minus.cylinder_d,
            axis_deg=minus.axis_deg,
            index=making.material.index_d,
            front_power_d=lens.front_power_d,
            centre_mm=centre,
            prism_x_pd=prism.x_pd,
            prism_y_pd=prism.y_pd,
        )
        points = tuple(zip(lens.x_mm, lens.y_mm, strict=True))
        place = thinnest_inside(points, body, x_mm=lens.pole_x_mm, y_mm=lens.pole_y_mm)
    except DomainError:
        return None  # there is no such body; a rule of its own says so
    return InsidePlace(settled(place.thickness_mm), settled(place.from_pole_mm)) if place.inside else None


def _shows(body: BodyValues, thickest: EdgePlace | None) -> tuple[float | None, float | None]:
    """What stands out in front of the rim and behind it at the thickest place; None where no rim holds the lens."""
    if body.rim == "drilled" or body.rim_depth_mm is None or thickest is None or thickest.edge_mm <= 0:
        return None, None
    front, behind = showing(
        edge_mm=thickest.edge_mm,
        rim_depth_mm=body.rim_depth_mm,
        bevel_from_front_mm=min(body.bevel_from_front_mm, thickest.edge_mm),
    )
    return settled(front), settled(behind)


def _centre_from(body: BodyValues, lens: Lens) -> Literal["order", "stock", "rule"]:
    if body.centre_mm is not None:
        return "order"
    return "rule" if lens.listed_centre_mm is None else "stock"


def _lower_edge_with_add(lens: Lens, edges: Any, making: Making) -> float | None:
    """The thinnest edge below the fitting point of a progressive lens, by the model of `progressive_thinning`."""
    add = lens.power.add_d
    index, corridor = making.material.index_d, making.corridor_mm
    if corridor is None or not add:
        return None
    lower = [
        edge - progressive_thinning(add_d=add, index=index, depth_mm=lens.pole_y_mm - y, corridor_mm=corridor)
        for y, edge in zip(lens.y_mm.tolist(), edges.tolist(), strict=True)
        if y < lens.pole_y_mm
    ]
    return known_figure(min(lower)) if lower else None


def _edge(lens: Lens, edge: float, index: int) -> EdgePlace | None:
    thick = known_figure(edge)
    if thick is None:
        return None
    return EdgePlace(thick, direction_deg(x_mm=lens.x_mm.item(index), y_mm=lens.y_mm.item(index)))
