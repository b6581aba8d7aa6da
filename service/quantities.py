"""The quantities of an inspection: their stable names, their words for people, and where they stand in a request."""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity. `member` is that of the measured lens; for the pair it is the whole way below /measured."""

    name: str
    words: str
    member: str
    unit: str


def _listed(*rows: Quantity) -> dict[str, Quantity]:
    return {row.name: row for row in rows}


OF_A_LENS: Final = _listed(
    Quantity("sphere", "sphere", "sphere", "D"),
    Quantity("stronger_meridian", "stronger principal meridian", "sphere", "D"),
    Quantity("weaker_meridian", "weaker principal meridian", "sphere", "D"),
    Quantity("cylinder", "cylinder", "cylinder", "D"),
    Quantity("axis", "axis", "axis", "°"),
    Quantity("add", "addition", "add", "D"),
    Quantity("horizontal_prism", "horizontal prism (base in is positive)", "prism", "Δ"),
    Quantity("vertical_prism", "vertical prism (base up is positive)", "prism", "Δ"),
    Quantity("optical_centre_from_bridge", "optical centre from the bridge", "", "mm"),
    Quantity("optical_centre_height", "height of the optical centre", "", "mm"),
    Quantity("segment_height", "segment height", "segment_height_mm", "mm"),
    Quantity("segment_tilt", "tilt of the segment", "segment_tilt_deg", "°"),
    Quantity("fitting_point_height", "height of the fitting point", "fitting_point_height_mm", "mm"),
    Quantity("fitting_point_from_bridge", "fitting point from the bridge", "fitting_point_from_bridge_mm", "mm"),
    Quantity("marks_tilt", "tilt of the alignment marks", "marks_tilt_deg", "°"),
    Quantity("centre_thickness", "centre thickness", "centre_thickness_mm", "mm"),
    Quantity("front_power", "front surface", "front_power_d", "D"),
    Quantity("warpage", "warpage of the front surface", "warpage_d", "D"),
)

OF_THE_PAIR: Final = _listed(
    Quantity("horizontal_imbalance", "horizontal prism of the pair", "optical_centre_distance_mm", "Δ"),
    Quantity("vertical_imbalance", "vertical prism of the pair", "optical_centre_height_mm", "Δ"),
    Quantity("optical_centre_distance", "distance between the optical centres", "optical_centre_distance_mm", "mm"),
    Quantity("segment_height_difference", "difference of the segment heights", "right/segment_height_mm", "mm"),
    Quantity("segment_distance", "distance between the segments", "right/segment_from_bridge_mm", "mm"),
    Quantity(
        "fitting_point_height_difference",
        "difference of the heights of the fitting points",
        "right/fitting_point_height_mm",
        "mm",
    ),
)


def quantity(name: str) -> Quantity:
    """The quantity of that name."""
    return OF_A_LENS.get(name) or OF_THE_PAIR[name]
