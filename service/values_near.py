"""Core values of an order for near work and for lenses as worn: plain figures, defaults filled in."""

from dataclasses import dataclass
from typing import Literal

from service.contract.answer_fields import EyeName
from service.profile.loader import Limits
from service.rounding import settled

PdFrom = Literal["order", "split", "geometry"]


def rotation_centre_mm(vertex_worn_mm: float | None, limits: Limits) -> float:
    """From the lens to the eye's centre of rotation: the profile's figure holds for the usual vertex distance."""
    usual = limits.profile.worn.rotation_centre_mm
    if vertex_worn_mm is None:
        return usual
    return settled(usual + vertex_worn_mm - limits.profile.shop.usual_vertex_mm)


@dataclass(frozen=True, slots=True)
class WornValues:
    """Tilt and wrap; an angle that was not given counts as none."""

    pantoscopic_deg: float
    face_form_deg: float


@dataclass(frozen=True, slots=True)
class NearPdValues:
    """Near PD of one eye as used, None where there is nothing to find it from, and where it comes from."""

    eye: EyeName
    pd_mm: float | None
    taken_from: PdFrom | None


@dataclass(frozen=True, slots=True)
class SegmentValues:
    """Segment of a bifocal or trifocal: where it belongs in the frame and where it lies on the blank."""

    height_right_mm: float | None
    height_left_mm: float | None
    blank_in_mm: float | None
    blank_drop_mm: float | None
    top_to_centre_mm: float | None


@dataclass(frozen=True, slots=True)
class ProgressiveValues:
    """Height that the design of a progressive lens asks for below the fitting point; whether the order gave it.

    `corridor_mm` is the way down to the reading power: that of the order, or else the profile's.
    """

    least_height_mm: float
    given: bool
    corridor_mm: float


@dataclass(frozen=True, slots=True)
class NearValues:
    """Near work: distance, near PDs, reading part. `differs_mm` is by how far the given near PDs contradict each other."""

    working_mm: float
    working_given: bool
    right: NearPdValues
    left: NearPdValues
    differs_mm: float | None
    segment: SegmentValues | None
    progressive: ProgressiveValues | None
