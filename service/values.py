"""Core values of an order: plain figures, defaults filled in, no judgement yet."""

from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

EyeName = Literal["right", "left"]
Base = Literal["in", "out", "up", "down"]


@dataclass(frozen=True, slots=True)
class EyeValues:
    """One eye's figures as written."""

    eye: EyeName
    sphere_d: float
    cylinder_d: float | None
    axis_deg: float | None
    add_d: float | None
    prism: tuple[tuple[float, Base | float], ...]


@dataclass(frozen=True, slots=True)
class PrescriptionValues:
    """Both eyes and what belongs to the prescription as a whole."""

    right: EyeValues
    left: EyeValues
    vertex_refracted_mm: float | None
    issued_on: date | None
    expires_on: date | None
    as_of: date


@dataclass(frozen=True, slots=True)
class PdValues:
    """PD as given and as used."""

    given_right_mm: float | None
    given_left_mm: float | None
    given_both_mm: float | None
    right_mm: float | None
    left_mm: float | None
    near_mm: float | None


@dataclass(frozen=True, slots=True)
class FrameValues:
    """Boxed sizes; `ed_mm` is None where none was given or the given one cannot exist."""

    a_mm: float
    b_mm: float
    dbl_mm: float
    given_ed_mm: float | None
    ed_mm: float | None
    usual_ed_mm: float
    diagonal_mm: float
    largest_side_mm: float


@dataclass(frozen=True, slots=True)
class TracedOutline:
    """One lens's outline as sent: an array of points of shape (n, 2) in mm, or None where there is not exactly one form."""

    eye: EyeName
    pointer: str
    points: Any
    both_forms: bool


@dataclass(frozen=True, slots=True)
class TraceValues:
    """The outlines that were sent and how the lens is cut to them."""

    outlines: tuple[TracedOutline, ...]
    size_change_mm: float
    bevel_mm: float


@dataclass(frozen=True, slots=True)
class LensValues:
    """Material, use and tint."""

    material: str
    use: str
    use_named: bool
    tint: str
    polarised: bool


@dataclass(frozen=True, slots=True)
class BlankValues:
    """Blank considered and those in stock for the material. Offsets are in and up, from its middle to its optical centre."""

    diameter_mm: float | None
    named: bool
    stocked_mm: tuple[float, ...]
    offset_right_mm: tuple[float, float] | None
    offset_left_mm: tuple[float, float] | None
    top_marked: bool


@dataclass(frozen=True, slots=True)
class OrderValues:
    """Everything the facts are made from."""

    prescription: PrescriptionValues
    pd: PdValues
    pd_source: str | None
    frame: FrameValues
    trace: TraceValues | None
    height_right_mm: float | None
    height_left_mm: float | None
    lens: LensValues
    blank: BlankValues
    vertex_worn_mm: float | None
    age_years: float | None
    useful_eyes: str
