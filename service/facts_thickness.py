"""What follows for the lenses as bodies: how thick, where, how heavy, and what shows beside the rim."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from optics_core.clearance import direction_deg
from optics_core.materials import Material
from optics_core.modelled import modelled_outlines
from optics_core.prism import inward
from optics_core.segments import progressive_thinning
from optics_core.solids import Solids, lens_solids
from optics_core.thickness import round_blank, showing, usual_front_power
from optics_core.volume import lens_weight
from service.facts_place import EyePlace
from service.facts_prescription import EyePower, PrescriptionFacts
from service.facts_stock import EyeStock, StockFacts
from service.profile.loader import Limits
from service.rounding import settled
from service.values import BodyValues, EyeName, FrameValues, OrderValues

# Round enough: with a cylinder of 4 D the edge of a stock blank of 70 mm is found to a hundredth of a millimetre.
_RIM_POINTS = 72


@dataclass(frozen=True, slots=True)
class EdgePlace:
    """An edge thickness and its direction from the boxed centre, counter-clockwise from +x."""

    edge_mm: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class EyeThickness:
    """One lens as a body. Where no such body exists (a surface does not reach the edge) the figures are None.

    `edge_of_centre_mm` is the edge that the rule for the centre keeps to. `stock_centre_mm` and `surfaced_centre_mm` are
    known for lenses that the blank's diameter makes thicker: `blank_rules_centre` tells which, blank or no blank.
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
        """Every edge, in the order of the outline."""
        for x, y, edge in zip(self.x_mm, self.y_mm, self.edges_mm, strict=True):
            yield EdgePlace(float(edge), direction_deg(x_mm=float(x), y_mm=float(y)))


@dataclass(frozen=True, slots=True)
class _Lens:
    """What one body is made from: points about the boxed centre, and where its pole lies."""

    power: EyePower
    place: EyePlace
    x_mm: Any
    y_mm: Any
    pole_x_mm: float
    pole_y_mm: float
    front_power_d: float
    front_from: Literal["order", "stock", "rule"]
    listed_centre_mm: float | None


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
    lenses = _lenses(values.frame, values.body, rx, places, stock)
    if not lenses:
        return ()
    least_centre, least_edge = _least_centre(values, limits), least_edge_of(values.body.rim, limits)
    given = values.body.centre_mm
    rounded: list[float | None] = [None] * len(lenses)
    surfaced: list[float | None] = [None] * len(lenses)
    centres: list[float | None] = [given] * len(lenses)
    if given is None and values.body.supply == "stock":
        for number, lens in enumerate(lenses):
            if lens.listed_centre_mm is not None:
                centres[number] = lens.listed_centre_mm
                continue
            if lens.place.blank_mm is None or not _blank_rules_centre(values.body, lens.power):
                continue
            rim = _rim(lens, lens.place.blank_mm)
            rounded[number] = _figure(
                _solids(
                    [rim], material.index_d, least_centre, limits.profile.thickness.least_edge_full_mm
                ).centre_mm.item(0)
            )
            centres[number] = rounded[number]
            surfaced[number] = _figure(_solids([lens], material.index_d, least_centre, least_edge).centre_mm.item(0))
    found: list[EyeThickness] = []
    # A finished blank has the edge that it has, whatever the rim asks for.
    of_centre = limits.profile.thickness.least_edge_full_mm if values.body.supply == "stock" else least_edge
    for number, body, row in _bodies(lenses, centres, material.index_d, least_centre, of_centre):
        found.append(
            _eye(
                lenses[number],
                body,
                row,
                values,
                material,
                least_centre,
                least_edge,
                of_centre,
                limits.profile.progressive.corridor_mm,
                rounded[number],
                surfaced[number],
            )
        )
    return tuple(found)


def stock_centre_mm(
    rx: PrescriptionFacts, place: EyePlace, body: EyeThickness, diameter_mm: float, limits: Limits
) -> float | None:
    """Centre of a finished round blank of that diameter, with the same front; None where there is no such body."""
    power = rx.right if place.eye == "right" else rx.left
    pole_x, pole_y = inward(eye=place.eye, x=place.in_mm), place.up_taken_mm
    lens = _Lens(power, place, body.x_mm, body.y_mm, pole_x, pole_y, body.front_power_d, body.front_from, None)
    rim = _rim(lens, diameter_mm)
    return _figure(
        _solids([rim], body.index, body.least_centre_mm, limits.profile.thickness.least_edge_full_mm).centre_mm.item(0)
    )


def least_edge_of(rim: str, limits: Limits) -> float:
    """The least edge that such a rim asks for."""
    usual = limits.profile.thickness
    return {
        "full": usual.least_edge_full_mm,
        "grooved": usual.least_edge_grooved_mm,
        "drilled": usual.least_edge_drilled_mm,
    }[rim]


def _least_centre(values: OrderValues, limits: Limits) -> float:
    rows = (row.least_centre_mm for row in limits.profile.stock if row.material == values.lens.material)
    return next((centre for centre in rows if centre is not None), limits.profile.thickness.least_centre_mm)


def _lenses(
    frame: FrameValues,
    body: BodyValues,
    rx: PrescriptionFacts,
    places: tuple[EyePlace, ...],
    stock: StockFacts | None,
) -> list[_Lens]:
    modelled: tuple[Any, Any] | None = None
    lenses = []
    for place in places:
        power = rx.right if place.eye == "right" else rx.left
        if power.optics is None:
            continue
        if place.outline is None:
            modelled = modelled or modelled_outlines(a_mm=frame.a_mm, b_mm=frame.b_mm, ed_mm=frame.taken_ed_mm)
            x, y = modelled
        else:
            x, y = place.outline.points[:, 0], place.outline.points[:, 1]
        listed = None if stock is None or body.supply != "stock" else _of(stock, place.eye)
        front, front_from = _front(body, power.optics.vector.m_d, listed)
        own_centre = None if listed is None or listed.best is None else listed.best.row.centre_mm
        lenses.append(
            _Lens(
                power,
                place,
                x,
                y,
                inward(eye=place.eye, x=place.in_mm),
                place.up_taken_mm,
                front,
                front_from,
                own_centre,
            )
        )
    return lenses


def _front(
    body: BodyValues, equivalent_d: float, stock: EyeStock | None
) -> tuple[float, Literal["order", "stock", "rule"]]:
    """The front that was ordered, else that of the finished blank, else that of the common rule."""
    if body.front_power_d is not None:
        return body.front_power_d, "order"
    if stock is not None and stock.best is not None and stock.best.row.front_power_d is not None:
        return stock.best.row.front_power_d, "stock"
    return usual_front_power(spherical_equivalent_d=equivalent_d), "rule"


def _of(stock: StockFacts, eye: EyeName) -> EyeStock | None:
    return stock.right if eye == "right" else stock.left


def _blank_rules_centre(body: BodyValues, power: EyePower) -> bool:
    """The rim of a round blank asks for more than the outline only where there is plus power, or prism."""
    if body.centre_mm is not None or body.supply != "stock":
        return False
    return power.prism is not None or (
        power.optics is not None and any(along > 0 for _, along in power.optics.meridians)
    )


def _rim(lens: _Lens, diameter_mm: float) -> _Lens:
    """The same lens as the whole round blank, about the same pole."""
    offset_in, offset_up = lens.place.offset_mm
    rim = round_blank(
        diameter_mm=diameter_mm,
        x_mm=lens.pole_x_mm - inward(eye=lens.place.eye, x=offset_in),
        y_mm=lens.pole_y_mm - offset_up,
        count=_RIM_POINTS,
    )
    return _Lens(
        lens.power,
        lens.place,
        rim[:, 0],
        rim[:, 1],
        lens.pole_x_mm,
        lens.pole_y_mm,
        lens.front_power_d,
        lens.front_from,
        None,
    )


def _bodies(
    lenses: list[_Lens], centres: list[float | None], index: float, least_centre: float, least_edge: float
) -> Iterable[tuple[int, Solids, int]]:
    """Each lens's body: together where they can be worked out together, which is twice as fast."""
    if len(lenses) == 2 and len(lenses[0].x_mm) == len(lenses[1].x_mm) and (centres[0] is None) == (centres[1] is None):
        both = _solids(lenses, index, least_centre, least_edge, None if centres[0] is None else centres)
        return [(0, both, 0), (1, both, 1)]
    return [
        (number, _solids([lens], index, least_centre, least_edge, None if centre is None else [centre]), 0)
        for number, (lens, centre) in enumerate(zip(lenses, centres, strict=True))
    ]


def _solids(
    lenses: list[_Lens],
    index: float,
    least_centre: float,
    least_edge: float,
    centres: Any = None,
) -> Solids:
    powers = [lens.power.optics.minus for lens in lenses if lens.power.optics is not None]
    prisms = [lens.power.prism for lens in lenses]
    return lens_solids(
        [lens.x_mm - lens.pole_x_mm for lens in lenses],
        [lens.y_mm - lens.pole_y_mm for lens in lenses],
        sphere_d=[power.sphere_d for power in powers],
        cylinder_d=[power.cylinder_d for power in powers],
        axis_deg=[180.0 if power.axis_deg is None else power.axis_deg for power in powers],
        index=index,
        front_power_d=[lens.front_power_d for lens in lenses],
        prism_x_pd=[0.0 if prism is None else prism.x_pd for prism in prisms],
        prism_y_pd=[0.0 if prism is None else prism.y_pd for prism in prisms],
        least_centre_mm=least_centre,
        least_edge_mm=least_edge,
        centre_mm=centres,
    )


def _eye(
    lens: _Lens,
    body: Solids,
    row: int,
    values: OrderValues,
    material: Material,
    least_centre: float,
    least_edge: float,
    of_centre: float,
    corridor_mm: float,
    rounded: float | None,
    surfaced: float | None,
) -> EyeThickness:
    centre = _figure(body.centre_mm.item(row))
    thinnest = _edge(lens, body.thinnest_mm.item(row), body.thinnest_index.item(row))
    thickest = _edge(lens, body.thickest_mm.item(row), body.thickest_index.item(row))
    volume = _figure(body.volume_mm3.item(row))
    shows: tuple[float | None, float | None] = (None, None)
    if (
        values.body.rim != "drilled"
        and values.body.rim_depth_mm is not None
        and thickest is not None
        and thickest.edge_mm > 0
    ):
        front, behind = showing(
            edge_mm=thickest.edge_mm,
            rim_depth_mm=values.body.rim_depth_mm,
            bevel_from_front_mm=min(values.body.bevel_from_front_mm, thickest.edge_mm),
        )
        shows = settled(front), settled(behind)
    return EyeThickness(
        eye=lens.place.eye,
        index=material.index_d,
        front_power_d=settled(lens.front_power_d),
        front_from=lens.front_from,
        centre_from=_centre_from(values.body, lens),
        lower_edge_with_add_mm=_lower_edge_with_add(lens, body.edge_mm[row], values, material, corridor_mm),
        least_centre_mm=least_centre,
        least_edge_mm=least_edge,
        edge_of_centre_mm=of_centre,
        basis="modelled" if lens.place.outline is None else "trace",
        centre_mm=centre,
        thinnest=thinnest,
        thickest=thickest,
        weight_g=None
        if volume is None
        else settled(lens_weight(volume_mm3=volume, density_g_cm3=material.density_g_cm3)),
        blank_rules_centre=lens.listed_centre_mm is None and _blank_rules_centre(values.body, lens.power),
        stock_centre_mm=rounded,
        surfaced_centre_mm=surfaced,
        shows_front_mm=shows[0],
        shows_behind_mm=shows[1],
        x_mm=lens.x_mm,
        y_mm=lens.y_mm,
        edges_mm=body.edge_mm[row],
    )


def _centre_from(body: BodyValues, lens: _Lens) -> Literal["order", "stock", "rule"]:
    if body.centre_mm is not None:
        return "order"
    return "rule" if lens.listed_centre_mm is None else "stock"


def _lower_edge_with_add(
    lens: _Lens, edges: Any, values: OrderValues, material: Material, corridor_mm: float
) -> float | None:
    """The thinnest edge below the fitting point of a progressive lens, by the model of `progressive_thinning`."""
    add = lens.power.add_d
    if values.lens.use != "progressive" or not add:
        return None
    lower = [
        edge
        - progressive_thinning(add_d=add, index=material.index_d, depth_mm=lens.pole_y_mm - y, corridor_mm=corridor_mm)
        for y, edge in zip(lens.y_mm.tolist(), edges.tolist(), strict=True)
        if y < lens.pole_y_mm
    ]
    return _figure(min(lower)) if lower else None


def _edge(lens: _Lens, edge: float, index: int) -> EdgePlace | None:
    thick = _figure(edge)
    if thick is None:
        return None
    return EdgePlace(thick, direction_deg(x_mm=lens.x_mm.item(index), y_mm=lens.y_mm.item(index)))


def _figure(value: float) -> float | None:
    """A plain figure; None for one that is not a number: there is no such body."""
    return settled(value) if value == value else None
