"""What a row of a comparison is about: the two lenses of an order side by side, and the figures of the pair."""

from collections.abc import Sequence
from dataclasses import dataclass

from optics_core.chromatic import strongest_prism, transverse_chromatic_aberration
from optics_core.materials import Material
from service.facts import OrderFacts
from service.facts_prescription import EyePower
from service.facts_thickness import EyeThickness
from service.profile.loader import Limits
from service.rounding import settled


@dataclass(frozen=True, slots=True)
class LensFigures:
    """One lens. `chromatic_pd` is its transverse chromatic aberration at the profile's distance, in the worst direction."""

    body: EyeThickness | None
    margin_mm: float | None
    chromatic_pd: float | None


@dataclass(frozen=True, slots=True)
class PairFigures:
    """Both lenses, and what the pair is ordered by. A figure of the pair is None where one of its lenses lacks it."""

    right: LensFigures
    left: LensFigures
    centre_mm: float | None
    thickest_edge_mm: float | None
    weight_g: float | None
    price: float | None
    colour_fringes: bool | None


def pair_figures(facts: OrderFacts, limits: Limits) -> PairFigures:
    """What a comparison tells of an order."""
    right, left = _lens(facts.cut.right, facts, limits), _lens(facts.cut.left, facts, limits)
    bodies = [right.body, left.body]
    centres = _of_both([None if body is None else body.centre_mm for body in bodies])
    edges = _of_both([None if body is None or body.thickest is None else body.thickest.edge_mm for body in bodies])
    weights = _of_both([None if body is None else body.weight_g for body in bodies])
    return PairFigures(
        right=right,
        left=left,
        centre_mm=max(centres, default=None),
        thickest_edge_mm=max(edges, default=None),
        weight_g=settled(sum(weights)) if weights else None,
        price=None if facts.stock is None else facts.stock.pair_price,
        colour_fringes=_fringes([right.chromatic_pd, left.chromatic_pd], limits.profile.chromatic.noticed_pd),
    )


def _lens(power: EyePower, facts: OrderFacts, limits: Limits) -> LensFigures:
    return LensFigures(
        body=next((body for body in facts.thickness if body.eye == power.eye), None),
        margin_mm=next((place.margin_mm for place in facts.places if place.eye == power.eye), None),
        chromatic_pd=_chromatic(power, facts.material, limits.profile.chromatic.distance_mm),
    )


def _chromatic(power: EyePower, material: Material | None, distance_mm: float) -> float | None:
    if power.optics is None or material is None:
        return None
    prism = strongest_prism(sphere_d=power.sphere_d, cylinder_d=power.cylinder_d, distance_mm=distance_mm)
    return settled(transverse_chromatic_aberration(prism_pd=prism, abbe=material.abbe))


def _of_both(figures: Sequence[float | None]) -> list[float]:
    """Both figures, or none where one of them is not known."""
    known = [figure for figure in figures if figure is not None]
    return known if len(known) == len(figures) else []


def _fringes(figures: Sequence[float | None], noticed_pd: float) -> bool | None:
    if any(figure is not None and figure > noticed_pd for figure in figures):
        return True
    return None if None in figures else False
