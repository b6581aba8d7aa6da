"""Core values of an order: plain figures, defaults filled in, no judgement yet."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

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
class LensValues:
    """Material and use."""

    material: str
    use: str
    use_named: bool


@dataclass(frozen=True, slots=True)
class BlankValues:
    """Blank considered and those in stock for the material."""

    diameter_mm: float | None
    named: bool
    stocked_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class OrderValues:
    """Everything the facts are made from."""

    prescription: PrescriptionValues
    pd: PdValues
    frame: FrameValues
    height_right_mm: float | None
    height_left_mm: float | None
    lens: LensValues
    blank: BlankValues
    vertex_worn_mm: float | None
    age_years: float | None
    useful_eyes: str
