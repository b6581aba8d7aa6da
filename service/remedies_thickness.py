"""Changes that would make a lens thinner, or thick enough, found by searching with the core.

A thicker centre makes every edge thicker. A smaller frame about the same pupil moves each point of a minus lens along a
straight line, so the sizes with which no edge is too thick are one stretch: if the least does, all do up to the largest.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from math import ceil, floor
from typing import Any

import numpy as np

from optics_core.boxing import decentration_in
from optics_core.materials import materials
from optics_core.modelled import modelled_outlines, with_feet
from optics_core.prism import inward
from optics_core.solids import Solids, lens_solids
from service.contract.answer import Remedy
from service.contract.order import LARGEST_CENTRE_MM
from service.facts import OrderFacts
from service.facts_place import EyePlace
from service.facts_thickness import EyeThickness, stock_centre_mm
from service.profile.loader import Limits
from service.rounding import settled
from service.step_search import last_within

_STEPS = 10  # to a millimetre
_SLACK = 1e-9


def surfaced() -> list[Remedy]:
    """A lens ground for this frame, where a finished blank will not do."""
    return [Remedy("/lens/supply", one_of=["surfaced"])]


def thicker_centre(facts: OrderFacts, body: EyeThickness) -> list[Remedy]:
    """The least centre, in tenths of a millimetre, with which the edge is thick enough for its rim."""
    if body.centre_mm is None:
        return []
    if body.inside is not None:
        return _centre_by_rule(facts, body)

    def edge(step: int) -> float:
        rows = _rows(facts, body, index=body.index, centre_mm=step / _STEPS)
        return settled(float(rows.thinnest_mm[0]))

    steps = range(floor(body.centre_mm * _STEPS + _SLACK) + 1, floor(LARGEST_CENTRE_MM * _STEPS) + 1)
    # Beyond some centre the back may be too hollow to reach the edge, which is then not a number.
    found = bisect_left(steps, True, key=lambda step: not edge(step) < body.least_edge_mm)
    if found == len(steps) or not edge(steps[found]) >= body.least_edge_mm:
        return []
    return [Remedy("/lens/centre_thickness_mm", at_least=steps[found] / _STEPS)]


def _centre_by_rule(facts: OrderFacts, body: EyeThickness) -> list[Remedy]:
    """The centre with which neither the edge nor any place inside is too thin, as the rule for the centre finds it."""
    found = _rows(facts, body, index=body.index, least_edge_mm=body.least_edge_mm).centre_mm.item(0)
    step = ceil(found * _STEPS - _SLACK) if found <= LARGEST_CENTRE_MM else None
    return [] if step is None else [Remedy("/lens/centre_thickness_mm", at_least=step / _STEPS)]


def thinner_edges(facts: OrderFacts, body: EyeThickness, limits: Limits, most_mm: float) -> list[Remedy]:
    """The materials in stock, and the largest frame of the same shape, with which no edge is thicker than this."""
    if body.blank_rules_centre or body.front_from == "stock":
        return []  # another material or frame is another blank, of another diameter and front
    frames: Iterator[Remedy] = iter(())
    # In a smaller frame another listed blank may do, with a front of its own; and of a lens that is cut to another size than
    # its frame not the lens but the frame would shrink.
    outline = _place(facts, body).outline
    if not facts.blank.listed and (outline is None or not outline.size_change_mm):
        frames = _smaller_frame(facts, body, limits, most_mm)
    return [*_other_materials(facts, body, limits, most_mm), *frames]


def smaller_blanks(facts: OrderFacts, body: EyeThickness, limits: Limits, most_mm: float) -> list[Remedy]:
    """The stocked diameters that still cover the lens and make it less thick than this beyond what the frame asks for."""
    place, surfaced = _place(facts, body), body.surfaced_centre_mm
    if place.blank_mm is None or surfaced is None:
        return []
    found = []
    for diameter in sorted(_diameters(facts, body)):
        if not place.sure_blank_mm <= diameter < place.blank_mm:
            continue
        centre = stock_centre_mm(facts.cut, place, body, diameter, limits)
        if centre is not None and centre - surfaced < most_mm:
            found.append(diameter)
    return [Remedy("/lens/blank_diameter_mm", one_of=found)] if found else []


def _other_materials(facts: OrderFacts, body: EyeThickness, limits: Limits, most_mm: float) -> Iterator[Remedy]:
    usual = limits.profile.thickness.least_centre_mm
    listed = {row.material for row in limits.profile.blanks}  # blanks with fronts of their own
    stocked = [
        (row.material, usual if row.least_centre_mm is None else row.least_centre_mm)
        for row in limits.profile.stock
        if row.material != facts.lens.material and (body.front_from == "order" or row.material not in listed)
    ]
    if not stocked:
        return
    rows = _rows(
        facts,
        body,
        [1.0] * len(stocked),
        index=[materials()[name].index_d for name, _ in stocked],
        least_centre_mm=[centre for _, centre in stocked],
        centre_mm=None if body.centre_from == "rule" else body.centre_mm,
    )
    # With a centre that was ordered another index may leave too little at the edge.
    enough = body.least_edge_mm if body.thinnest is None else min(body.thinnest.edge_mm, body.least_edge_mm)
    thin = [
        name
        for (name, _), thickest, thinnest in zip(stocked, rows.thickest_mm, rows.thinnest_mm, strict=True)
        if settled(float(thickest)) <= most_mm and settled(float(thinnest)) >= enough
    ]
    if thin:
        yield Remedy("/lens/material", one_of=thin)


def _smaller_frame(facts: OrderFacts, body: EyeThickness, limits: Limits, most_mm: float) -> Iterator[Remedy]:
    least, now = limits.profile.frame.a_least_mm, _place(facts, body).a_mm
    centre = None if body.centre_from == "rule" else body.centre_mm

    def thickest(steps: Sequence[int]) -> list[float]:
        rows = _rows(facts, body, [step / _STEPS / now for step in steps], index=body.index, centre_mm=centre)
        return [settled(edge) for edge in rows.thickest_mm.tolist()]

    steps = range(ceil(least * _STEPS - _SLACK), ceil(now * _STEPS - _SLACK))
    found = last_within(steps, thickest, most_mm)
    if found is not None:
        yield Remedy("/frame/a_mm", at_most=found / _STEPS)


def blank_of(facts: OrderFacts, body: EyeThickness) -> float | None:
    """The diameter of the blank that the lens is cut from."""
    return _place(facts, body).blank_mm


def _diameters(facts: OrderFacts, body: EyeThickness) -> set[float]:
    """Those in stock; of a list those that are sure to do and come with the same front."""
    listed = () if facts.stock is None else facts.stock.eyes
    own = next((one for one in listed if one.eye == body.eye), None)
    if own is None:
        return set(facts.blank.stocked_mm)
    front = body.front_power_d if body.front_from == "stock" else None
    other = {row.diameter_mm for row in own.sure if body.front_from != "order" and row.front_power_d != front}
    return {row.diameter_mm for row in own.sure} - other


def _place(facts: OrderFacts, body: EyeThickness) -> EyePlace:
    return next(place for place in facts.places if place.eye == body.eye)


def _rows(facts: OrderFacts, body: EyeThickness, scales: Sequence[float] = (1.0,), **changed: Any) -> Solids:
    """The lens once for each size of its outline, with what is changed about it. The pupil keeps its height."""
    place = _place(facts, body)
    power = facts.cut.of(body.eye)
    minus, prism = (None if power.optics is None else power.optics.minus), power.prism
    poles = [
        inward(eye=body.eye, x=decentration_in(a_mm=place.a_mm * scale, dbl_mm=facts.frame.dbl_mm, pd_mm=place.pd_mm))
        for scale in scales
    ]
    x, y = body.x_mm, body.y_mm
    if body.basis == "modelled":  # without the feet, which lie elsewhere in a frame of another size
        x, y = modelled_outlines(a_mm=facts.frame.a_mm, b_mm=facts.frame.b_mm, ed_mm=facts.frame.taken_ed_mm)
    x, y = np.multiply.outer(scales, x), np.multiply.outer(scales, y)
    pole_x, pole_y = np.array(poles), np.full(len(scales), place.up_taken_mm)
    if body.basis == "modelled":
        x, y = with_feet(x, y, pole_x_mm=pole_x, pole_y_mm=pole_y)
    return lens_solids(
        x - pole_x[:, None],
        y - pole_y[:, None],
        sphere_d=0.0 if minus is None else minus.sphere_d,
        cylinder_d=0.0 if minus is None else minus.cylinder_d,
        axis_deg=180.0 if minus is None or minus.axis_deg is None else minus.axis_deg,
        front_power_d=body.front_power_d,
        prism_x_pd=0.0 if prism is None else prism.x_pd,
        prism_y_pd=0.0 if prism is None else prism.y_pd,
        with_volume=False,
        **{"least_centre_mm": body.least_centre_mm, "least_edge_mm": body.edge_of_centre_mm, **changed},
    )
