"""Finished pairs for the property tests: a plain one, and how a document is inspected."""

from order_strategies import AS_OF, EYES, Document, shipped

from service.contract.inspect import InspectAnswer, InspectRequest
from service.inspecting import inspect

ANSI, ISO = STANDARDS = ("ansi-z80.1-2015", "iso-21987-2017")


def answered(document: Document) -> InspectAnswer:
    """The answer of the service, with its shipped profile."""
    return inspect(InspectRequest.model_validate(document), shipped(), AS_OF)


def plain_pair(standard: str) -> Document:
    """An exact pair of spheres, measured by its optical centres."""
    order = {
        "prescription": {eye: {"sphere": -3.0} for eye in EYES},
        "pd_mm": {"right": 32.0, "left": 31.0},
        "frame": {"a_mm": 52, "b_mm": 38, "dbl_mm": 18},
        "fitting_height_mm": {"right": 21, "left": 20},
        "lens": {"material": "polycarbonate", "use": "distance", "blank_diameter_mm": 80},
        "as_of": AS_OF.isoformat(),
    }
    measured = {
        "right": {"sphere": -3.0},
        "left": {"sphere": -3.0},
        "optical_centre_from_bridge_mm": {"right": 32.0, "left": 31.0},
        "optical_centre_height_mm": {"right": 21, "left": 20},
    }
    return {"ordered": order, "measured": measured, "standard": standard}
