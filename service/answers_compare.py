"""From the facts of each row to the answer of a comparison. Figures are rounded here, for display."""

from collections.abc import Iterable, Sequence

from optics_core.materials import Material
from service.contract.answer import Decision, Finding
from service.contract.compare import ComparedLens, ComparedMaterial, ComparedPair, ComparedRow
from service.facts_compare import LensFigures, PairFigures
from service.rounding import for_display, shown_if_any
from service.rules.thickness import lens_body_impossible
from service.rules.wearer import impact_resistant_material_advised, one_useful_eye

_IMPACT_CODES = (impact_resistant_material_advised.code, one_useful_eye.code)


def row(
    material: Material, blank_mm: float | None, decided: Decision, figures: PairFigures, found: Sequence[Finding]
) -> ComparedRow:
    """One row. `found` are the findings of the check, gravest first."""
    return ComparedRow(
        material=ComparedMaterial(
            id=material.id,
            name=material.name,
            index_d=material.index_d,
            abbe=material.abbe,
            density_g_cm3=material.density_g_cm3,
            impact_resistant=material.impact_resistant,
        ),
        blank_mm=blank_mm,
        decision=decided,
        excluded=excluded(found),
        right=_lens(figures.right),
        left=_lens(figures.left),
        pair=ComparedPair(
            centre_mm=shown_if_any(figures.centre_mm),
            thickest_edge_mm=shown_if_any(figures.thickest_edge_mm),
            weight_g=shown_if_any(figures.weight_g),
            price=shown_if_any(figures.price),
        ),
        colour_fringes=figures.colour_fringes,
        impact_advice=_once(one.code for one in found if one.code in _IMPACT_CODES),
        codes=_once(one.code for one in found if one.severity != "note"),
    )


def excluded(found: Sequence[Finding]) -> str | None:
    """Why such a pair cannot be made; None where it can be, for all that was found."""
    grave = (one for one in found if one.severity == "reject" or one.code == lens_body_impossible.code)
    return next((one.message for one in grave), None)


def _lens(found: LensFigures) -> ComparedLens:
    body = found.body
    return ComparedLens(
        front_power_d=None if body is None else for_display(body.front_power_d),
        centre_mm=None if body is None else shown_if_any(body.centre_mm),
        thinnest_edge_mm=None if body is None or body.thinnest is None else for_display(body.thinnest.edge_mm),
        thickest_edge_mm=None if body is None or body.thickest is None else for_display(body.thickest.edge_mm),
        weight_g=None if body is None else shown_if_any(body.weight_g),
        shows_behind_mm=None if body is None else shown_if_any(body.shows_behind_mm),
        margin_mm=shown_if_any(found.margin_mm),
        chromatic_pd=shown_if_any(found.chromatic_pd),
    )


def _once(codes: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(codes))
