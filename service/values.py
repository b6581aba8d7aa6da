"""Core values of an order: plain figures, defaults filled in, no judgement yet."""

from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from service.profile.blanks import FinishedBlank
from service.values_near import NearValues, WornValues

EyeName = Literal["right", "left"]
# Kinds of lens that have a reading part.
NEAR_USES = frozenset({"near", "intermediate"})
NEEDS_ADD = frozenset({"bifocal", "trifocal", "progressive"})
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

    @property
    def taken_ed_mm(self) -> float:
        """The given effective diameter or, without a usable one, the usual one of such a frame."""
        return self.usual_ed_mm if self.ed_mm is None else self.ed_mm


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
    bevel_given: bool


@dataclass(frozen=True, slots=True)
class LensValues:
    """Material, use and tint."""

    material: str
    use: str
    use_named: bool
    tint: str
    polarised: bool
    segment_given: bool
    progressive_given: bool


@dataclass(frozen=True, slots=True)
class BlankValues:
    """Blanks considered and those in stock for the material. Offsets are in and up, from a blank's middle to its optical
    centre.

    `listed` holds the rows of the shop's list in the material, most often none. Where it gives the eyes unlike sizes
    `right_mm` and `left_mm` differ; `diameter_mm` is then the smaller, and so is `largest_mm`, the largest in stock in which
    the powers of both eyes come. `top_marked` tells for which eyes the blank may not be turned because of its marks.
    """

    diameter_mm: float | None
    right_mm: float | None
    left_mm: float | None
    named: bool
    stocked_mm: tuple[float, ...]
    largest_mm: float | None
    listed: tuple[FinishedBlank, ...]
    offset_right_mm: tuple[float, float] | None
    offset_left_mm: tuple[float, float] | None
    top_marked: tuple[EyeName, ...]


@dataclass(frozen=True, slots=True)
class BodyValues:
    """What the thickness of the lenses depends on, beside power and outline. None where it was not given."""

    front_power_d: float | None
    centre_mm: float | None
    supply: str
    supply_given: bool
    rim: str
    rim_depth_mm: float | None
    bevel_from_front_mm: float


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
    body: BodyValues
    vertex_worn_mm: float | None
    worn: WornValues | None
    near: NearValues | None
    age_years: float | None
    useful_eyes: str
