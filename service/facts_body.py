"""What the bodies of a pair are made from: outlines about their poles, fronts and centres."""

from dataclasses import dataclass, replace
from typing import Any, Literal

from optics_core.centre_thickness import round_blank
from optics_core.materials import Material
from optics_core.modelled import modelled_outlines, with_feet
from optics_core.prism import inward
from optics_core.solids import Solids, lens_solids
from optics_core.thickness import usual_front_power
from service.facts_place import EyePlace
from service.facts_prescription import EyePower, PrescriptionFacts
from service.facts_stock import EyeStock, StockFacts
from service.rounding import settled
from service.values import BodyValues, FrameValues, OrderValues

# Round enough: with a cylinder of 4 D the edge of a stock blank of 70 mm is found to a hundredth of a millimetre.
_RIM_POINTS = 72


@dataclass(frozen=True, slots=True)
class Lens:
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
class Making:
    """What both lenses of a pair are made by: the order, its material, and what the shop asks of centres and edges."""

    values: OrderValues
    material: Material
    least_centre_mm: float
    least_edge_mm: float
    full_edge_mm: float
    edge_of_centre_mm: float
    corridor_mm: float | None


@dataclass(frozen=True, slots=True)
class Centres:
    """Centre that one lens is given; None where the rule finds it. The others are those of `EyeThickness`."""

    given_mm: float | None
    blank_rules: bool
    stock_mm: float | None = None
    surfaced_mm: float | None = None


def lenses_of(
    frame: FrameValues,
    body: BodyValues,
    rx: PrescriptionFacts,
    places: tuple[EyePlace, ...],
    stock: StockFacts | None,
) -> list[Lens]:
    modelled: tuple[Any, Any] | None = None
    lenses = []
    for place in places:
        power = rx.of(place.eye)
        if power.optics is None:
            continue
        pole_x, pole_y = inward(eye=place.eye, x=place.in_mm), place.up_taken_mm
        if place.outline is None:
            modelled = modelled or modelled_outlines(a_mm=frame.a_mm, b_mm=frame.b_mm, ed_mm=frame.taken_ed_mm)
            x, y = modelled
            x, y = with_feet(x, y, pole_x_mm=pole_x, pole_y_mm=pole_y)
        else:
            x, y = place.outline.points[:, 0], place.outline.points[:, 1]
        listed = None if stock is None or body.supply != "stock" else stock.of(place.eye)
        front, front_from = _front(body, power.optics.vector.m_d, listed)
        own_centre = None
        # A list gives the centre of plus blanks; a minus lens has the least that its material allows.
        if listed is not None and listed.best is not None and _blank_rules_centre(body, power):
            own_centre = listed.best.row.centre_mm
        lenses.append(
            Lens(
                power,
                place,
                x,
                y,
                pole_x,
                pole_y,
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


def centres_of(lenses: list[Lens], making: Making) -> list[Centres]:
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
        whole = [whole_blank(lens, blank_mm) for lens, blank_mm in of_blanks if blank_mm is not None]
        index, least_centre = making.material.index_d, making.least_centre_mm
        rounded = least_centres(whole, index, least_centre, making.full_edge_mm)
        surfaced = least_centres(cut, index, least_centre, making.least_edge_mm)
        for lens, of_blank, of_outline in zip(cut, rounded, surfaced, strict=True):
            found[lens.place.eye] = Centres(of_blank, True, of_blank, of_outline)
    return [
        found.get(lens.place.eye, Centres(centre, by_blank))
        for lens, centre, by_blank in zip(lenses, given, ruled, strict=True)
    ]


def _blank_rules_centre(body: BodyValues, power: EyePower) -> bool:
    """The rim of a round blank asks for more than the outline only where there is plus power, or prism."""
    if body.supply != "stock":
        return False
    return power.prism is not None or (
        power.optics is not None and any(along > 0 for _, along in power.optics.meridians)
    )


def whole_blank(lens: Lens, diameter_mm: float) -> Lens:
    """The same lens as a whole round blank, about the same pole."""
    offset_in, offset_up = lens.place.offset_mm
    rim = round_blank(
        diameter_mm=diameter_mm,
        x_mm=lens.pole_x_mm - inward(eye=lens.place.eye, x=offset_in),
        y_mm=lens.pole_y_mm - offset_up,
        count=_RIM_POINTS,
    )
    return replace(lens, x_mm=rim[:, 0], y_mm=rim[:, 1])


def least_centres(lenses: list[Lens], index: float, least_centre: float, least_edge: float) -> list[float | None]:
    """The thinnest centres with which no edge is thinner than it may be; None where there is no such lens."""
    if not go_together(lenses):
        return [least_centres([lens], index, least_centre, least_edge)[0] for lens in lenses]
    found = solids_of(lenses, index, least_centre, least_edge, with_volume=False)
    return [known_figure(centre) for centre in found.centre_mm.tolist()]


def go_together(lenses: list[Lens]) -> bool:
    """Whether there are lenses, and their outlines have as many points."""
    return len({len(lens.x_mm) for lens in lenses}) == 1


def solids_of(
    lenses: list[Lens],
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


def known_figure(value: float) -> float | None:
    """A plain figure; None for one that is not a number: there is no such body."""
    return settled(value) if value == value else None
