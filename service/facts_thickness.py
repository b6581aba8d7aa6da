"""What follows for the lenses as bodies: how thick, where, how heavy, and what shows beside the rim."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from optics_core.centre_thickness import edges_on_blank, round_blank
from optics_core.clearance import direction_deg
from optics_core.errors import DomainError
from optics_core.materials import Material
from optics_core.modelled import modelled_outlines, with_feet
from optics_core.prism import inward
from optics_core.segments import progressive_thinning
from optics_core.solids import Solids, lens_solids
from optics_core.thickness import lens_body, showing, thinnest_inside, usual_front_power
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
class InsidePlace:
    """The thinnest place of a lens, anywhere within its outline, and how far it lies from the optical centre of its power."""

    thickness_mm: float
    away_mm: float


@dataclass(frozen=True, slots=True)
class EyeThickness:
    """One lens as a body. Where no such body exists (a surface does not reach the edge) the figures are None.

    `edge_of_centre_mm` is the edge that the rule for the centre keeps to. `stock_centre_mm` and `surfaced_centre_mm` are
    known for lenses that the blank's diameter makes thicker: `blank_rules_centre` tells which, blank or no blank. `inside` is
    the thinnest place where prism is ground and the centre was given; where the rule for the centre finds it, it sees to it
    that no place is too thin. A finished round blank has no edge beyond its own, so that `thinnest` lies within it.
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


@dataclass(frozen=True, slots=True)
class _Making:
    """What both lenses of a pair are made by: the order, its material, and what the shop asks of centres and edges."""

    values: OrderValues
    material: Material
    least_centre_mm: float
    least_edge_mm: float
    full_edge_mm: float
    edge_of_centre_mm: float
    corridor_mm: float | None


@dataclass(frozen=True, slots=True)
class _Centres:
    """Centre that one lens is given; None where the rule finds it. The others are those of `EyeThickness`."""

    given_mm: float | None
    blank_rules: bool
    stock_mm: float | None = None
    surfaced_mm: float | None = None


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
    full_edge, least_edge = limits.profile.thickness.least_edge_full_mm, least_edge_of(values.body.rim, limits)
    making = _Making(
        values,
        material,
        _least_centre(values, limits),
        least_edge,
        full_edge,
        # A finished blank has the edge that it has, whatever the rim asks for.
        full_edge if values.body.supply == "stock" else least_edge,
        _corridor_mm(values),
    )
    centres = _centres(lenses, making)
    return tuple(_eye(lens, solid, row, own, making) for lens, own, solid, row in _bodies(lenses, centres, making))


def stock_centre_mm(
    rx: PrescriptionFacts, place: EyePlace, body: EyeThickness, diameter_mm: float, limits: Limits
) -> float | None:
    """Centre of a finished round blank of that diameter, with the same front; None where there is no such body."""
    pole_x, pole_y = inward(eye=place.eye, x=place.in_mm), place.up_taken_mm
    power = rx.of(place.eye)
    lens = _Lens(power, place, body.x_mm, body.y_mm, pole_x, pole_y, body.front_power_d, body.front_from, None)
    least_edge = limits.profile.thickness.least_edge_full_mm
    return _least_centres([_whole(lens, diameter_mm)], body.index, body.least_centre_mm, least_edge)[0]


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
        power = rx.of(place.eye)
        if power.optics is None:
            continue
        if place.outline is None:
            modelled = modelled or modelled_outlines(a_mm=frame.a_mm, b_mm=frame.b_mm, ed_mm=frame.taken_ed_mm)
            x, y = modelled
            x, y = with_feet(x, y, pole_x_mm=inward(eye=place.eye, x=place.in_mm), pole_y_mm=place.up_taken_mm)
        else:
            x, y = place.outline.points[:, 0], place.outline.points[:, 1]
        listed = None if stock is None or body.supply != "stock" else stock.of(place.eye)
        front, front_from = _front(body, power.optics.vector.m_d, listed)
        own_centre = None
        # A list gives the centre of plus blanks; a minus lens has the least that its material allows.
        if listed is not None and listed.best is not None and _blank_rules_centre(body, power):
            own_centre = listed.best.row.centre_mm
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


def _centres(lenses: list[_Lens], making: _Making) -> list[_Centres]:
    """The centres that were ordered or that the list gives, or else those that the round blanks ask for."""
    body = making.values.body
    given = [lens.listed_centre_mm if body.centre_mm is None else body.centre_mm for lens in lenses]
    ruled = [
        centre is None and _blank_rules_centre(body, lens.power) for lens, centre in zip(lenses, given, strict=True)
    ]
    found = {}
    if any(ruled):
        of_blanks = [(lens, lens.place.blank_mm) for lens, by_blank in zip(lenses, ruled, strict=True) if by_blank]
        cut = [lens for lens, blank_mm in of_blanks if blank_mm is not None]
        whole = [_whole(lens, blank_mm) for lens, blank_mm in of_blanks if blank_mm is not None]
        index, least_centre = making.material.index_d, making.least_centre_mm
        rounded = _least_centres(whole, index, least_centre, making.full_edge_mm)
        surfaced = _least_centres(cut, index, least_centre, making.least_edge_mm)
        for lens, of_blank, of_outline in zip(cut, rounded, surfaced, strict=True):
            found[lens.place.eye] = _Centres(of_blank, True, of_blank, of_outline)
    return [
        found.get(lens.place.eye, _Centres(centre, by_blank))
        for lens, centre, by_blank in zip(lenses, given, ruled, strict=True)
    ]


def _blank_rules_centre(body: BodyValues, power: EyePower) -> bool:
    """The rim of a round blank asks for more than the outline only where there is plus power, or prism."""
    if body.supply != "stock":
        return False
    return power.prism is not None or (
        power.optics is not None and any(along > 0 for _, along in power.optics.meridians)
    )


def _whole(lens: _Lens, diameter_mm: float) -> _Lens:
    """The same lens as a whole round blank, about the same pole."""
    offset_in, offset_up = lens.place.offset_mm
    rim = round_blank(
        diameter_mm=diameter_mm,
        x_mm=lens.pole_x_mm - inward(eye=lens.place.eye, x=offset_in),
        y_mm=lens.pole_y_mm - offset_up,
        count=_RIM_POINTS,
    )
    return replace(lens, x_mm=rim[:, 0], y_mm=rim[:, 1])


def _least_centres(lenses: list[_Lens], index: float, least_centre: float, least_edge: float) -> list[float | None]:
    """The thinnest centres with which no edge is thinner than it may be; None where there is no such lens."""
    if not _go_together(lenses):
        return [_least_centres([lens], index, least_centre, least_edge)[0] for lens in lenses]
    found = _solids(lenses, index, least_centre, least_edge, with_volume=False)
    return [_figure(centre) for centre in found.centre_mm.tolist()]


def _go_together(lenses: list[_Lens]) -> bool:
    """Whether there are lenses, and their outlines have as many points."""
    return len({len(lens.x_mm) for lens in lenses}) == 1


def _bodies(
    lenses: list[_Lens], centres: list[_Centres], making: _Making
) -> Iterator[tuple[_Lens, _Centres, Solids, int]]:
    """Each lens with its body: together where they can be worked out together, which is twice as fast."""
    index, least_centre, least_edge = making.material.index_d, making.least_centre_mm, making.edge_of_centre_mm
    given = [own.given_mm for own in centres]
    if len(lenses) == 2 and _go_together(lenses) and (given[0] is None) == (given[1] is None):
        both = _solids(lenses, index, least_centre, least_edge, None if given[0] is None else given)
        yield lenses[0], centres[0], both, 0
        yield lenses[1], centres[1], both, 1
        return
    for lens, own in zip(lenses, centres, strict=True):
        centre = None if own.given_mm is None else [own.given_mm]
        yield lens, own, _solids([lens], index, least_centre, least_edge, centre), 0


def _solids(
    lenses: list[_Lens],
    index: float,
    least_centre: float,
    least_edge: float,
    centres: Any = None,
    *,
    with_volume: bool = True,
) -> Solids:
    """The lenses as bodies."""
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
        with_volume=with_volume,
    )


def _eye(lens: _Lens, solid: Solids, row: int, centres: _Centres, making: _Making) -> EyeThickness:
    body, material = making.values.body, making.material
    thickest = _edge(lens, solid.thickest_mm.item(row), solid.thickest_index.item(row))
    inside = _inside(lens, solid, row, centres, making)
    volume = None if inside is not None and inside.thickness_mm <= 0 else _figure(solid.volume_mm3.item(row))
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
        centre_mm=_figure(solid.centre_mm.item(row)),
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


def _thinnest(lens: _Lens, solid: Solids, row: int, body: BodyValues) -> EdgePlace | None:
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


def _inside(lens: _Lens, solid: Solids, row: int, centres: _Centres, making: _Making) -> InsidePlace | None:
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


def _centre_from(body: BodyValues, lens: _Lens) -> Literal["order", "stock", "rule"]:
    if body.centre_mm is not None:
        return "order"
    return "rule" if lens.listed_centre_mm is None else "stock"


def _lower_edge_with_add(lens: _Lens, edges: Any, making: _Making) -> float | None:
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
    return _figure(min(lower)) if lower else None


def _edge(lens: _Lens, edge: float, index: int) -> EdgePlace | None:
    thick = _figure(edge)
    if thick is None:
        return None
    return EdgePlace(thick, direction_deg(x_mm=lens.x_mm.item(index), y_mm=lens.y_mm.item(index)))


def _figure(value: float) -> float | None:
    """A plain figure; None for one that is not a number: there is no such body."""
    return settled(value) if value == value else None
