"""What follows from a prescription by itself: one frozen object, computed once."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from optics_core.power_vectors import widest_difference
from optics_core.prism import (
    Prism,
    amount_and_base,
    base_angle,
    combined,
    inward,
    prism_from_base,
    vertical_imbalance,
)
from optics_core.sphero_cylinder import LensForms, lens_forms, minus_cylinder, normal_axis, spherical_equivalent
from service.profile.loader import Limits
from service.rounding import settled
from service.values import Base, EyeName, EyeValues, PrescriptionValues

STEP_D = 0.25
# An eighth, written out or cut to two decimals (-1.62 for -1.625), as the trade does.
_EIGHTHS = frozenset({0.12, 0.125, 0.13, 0.37, 0.375, 0.38, 0.62, 0.625, 0.63, 0.87, 0.875, 0.88})


@dataclass(frozen=True, slots=True)
class WrittenPower:
    """A figure that does not lie on a quarter dioptre."""

    member: Literal["sphere", "cylinder", "add"]
    value: float
    step: Literal["eighth", "other"]


@dataclass(frozen=True, slots=True)
class EyePower:
    """One eye: the figures as written and what follows from them. `optics` is None where they cannot be relied on."""

    eye: EyeName
    pointer: str
    sphere_d: float
    cylinder_d: float
    cylinder_given: bool
    axis_given: float | None
    axis_deg: float | None
    add_d: float | None
    off_step: tuple[WrittenPower, ...]
    beyond_reach: tuple[tuple[str, float], ...]
    optics: LensForms | None
    prism: Prism | None
    prism_amount_pd: float
    prism_base_deg: float
    prism_in_pd: float
    prism_bases_cancel: bool


@dataclass(frozen=True, slots=True)
class PairPowers:
    """The powers of both eyes side by side.

    `difference_d` and `opposite_spheres` (right and left in minus-cylinder form, where their signs differ) need no axis, and
    are known while one is still missing. `widest` is the meridian in which the lenses differ most, and the right power less the
    left along it. `reading_imbalance_pd` is the vertical imbalance at the profile's reading level.
    """

    difference_d: float | None
    widest: tuple[float, float] | None
    opposite_spheres: tuple[float, float] | None
    sign_may_be_lost: bool
    opposite_difference_d: float
    strongest_d: float
    strongest_meridian_d: float
    reading_imbalance_pd: float | None


@dataclass(frozen=True, slots=True)
class PrescriptionFacts:
    """Both eyes, and the prescription as a whole."""

    right: EyePower
    left: EyePower
    eyes: tuple[EyePower, EyePower]
    pair: PairPowers
    cylinder_signs_differ: bool
    prism_vertical_agree: bool
    prescribed_prism: bool
    vertex_refracted_mm: float | None
    issued_on: date | None
    expires_on: date | None
    as_of: date
    age_days: int | None

    def of(self, eye: EyeName) -> EyePower:
        """That of one eye."""
        return self.right if eye == "right" else self.left


def prescription_facts(values: PrescriptionValues, limits: Limits) -> PrescriptionFacts:
    """Work out everything that the rules on the prescription read."""
    readable = limits.profile.power.readable_d
    right, left = _eye_power(values.right, readable), _eye_power(values.left, readable)
    up_right = right.prism.y_pd if right.prism else 0.0
    up_left = left.prism.y_pd if left.prism else 0.0
    return PrescriptionFacts(
        right=right,
        left=left,
        eyes=(right, left),
        pair=pair_powers(right, left, limits),
        cylinder_signs_differ=right.cylinder_d * left.cylinder_d < 0,
        # Half a thousandth: an oblique base given as an angle of 0 or 180 leaves a trace of rounding.
        prism_vertical_agree=up_right * up_left > 0 and min(abs(up_right), abs(up_left)) > 5e-4,
        prescribed_prism=right.prism is not None or left.prism is not None,
        vertex_refracted_mm=values.vertex_refracted_mm,
        issued_on=values.issued_on,
        expires_on=values.expires_on,
        as_of=values.as_of,
        age_days=None if values.issued_on is None else (values.as_of - values.issued_on).days,
    )


def pair_powers(right: EyePower, left: EyePower, limits: Limits) -> PairPowers:
    """The powers of both eyes side by side."""
    power = limits.profile.power
    powers = [along for eye in (right, left) if eye.optics is not None for _, along in eye.optics.meridians]
    strongest = max(powers, key=abs, default=0.0)
    difference = imbalance = widest = None
    if right.optics is not None and left.optics is not None:
        imbalance = settled(
            vertical_imbalance(
                right=right.optics.vector, left=left.optics.vector, level_mm=limits.profile.prism.reading_level_mm
            )
        )
        meridian, apart_d = widest_difference(right=right.optics.vector, left=left.optics.vector)
        widest = settled(float(meridian)), settled(float(apart_d))
    opposite = None
    least = apart = 0.0
    if not right.beyond_reach and not left.beyond_reach:
        difference = settled(abs(_equivalent(right) - _equivalent(left)))
        first, second = _minus_sphere(right), _minus_sphere(left)
        if first * second < 0:
            opposite = first, second
            least, apart = min(abs(first), abs(second)), settled(abs(abs(first) - abs(second)))
    return PairPowers(
        difference_d=difference,
        widest=widest,
        opposite_spheres=opposite,
        sign_may_be_lost=opposite is not None
        and least >= power.lost_sign_least_d
        and apart <= power.lost_sign_difference_d,
        opposite_difference_d=apart,
        strongest_d=abs(strongest),
        strongest_meridian_d=strongest,
        reading_imbalance_pd=imbalance,
    )


def _equivalent(eye: EyePower) -> float:
    if eye.optics is not None:
        return eye.optics.vector.m_d
    return spherical_equivalent(sphere_d=eye.sphere_d, cylinder_d=eye.cylinder_d)


def _minus_sphere(eye: EyePower) -> float:
    """The sphere of the form with minus cylinder: the same for every axis, so that it is known without one."""
    if eye.optics is not None:
        return eye.optics.minus.sphere_d
    return minus_cylinder(sphere_d=eye.sphere_d, cylinder_d=eye.cylinder_d, axis_deg=180.0).sphere_d


def _eye_power(values: EyeValues, readable_d: float) -> EyePower:
    cylinder = values.cylinder_d if values.cylinder_d is not None else 0.0
    axis = values.axis_deg
    usable_axis = normal_axis(axis_deg=axis) if axis is not None and 0 <= axis <= 180 else None
    written: tuple[tuple[Literal["sphere", "cylinder", "add"], float | None], ...] = (
        ("sphere", values.sphere_d),
        ("cylinder", values.cylinder_d),
        ("add", values.add_d),
    )
    beyond = tuple((member, value) for member, value in written if value is not None and abs(value) > readable_d)
    if not beyond and abs(values.sphere_d + cylinder) > readable_d:
        # The other principal power, so that the same lens in the other form is judged alike.
        beyond = (("cylinder", values.sphere_d + cylinder),)
    lacks_axis = cylinder != 0 and usable_axis is None
    prism = prism_of(values.eye, values.prism)
    amount, base = amount_and_base(x_pd=prism.x_pd, y_pd=prism.y_pd) if prism else (0.0, 0.0)
    return EyePower(
        eye=values.eye,
        pointer=f"/prescription/{values.eye}",
        sphere_d=values.sphere_d,
        cylinder_d=cylinder,
        cylinder_given=values.cylinder_d is not None,
        axis_given=axis,
        axis_deg=usable_axis,
        add_d=values.add_d or None,  # an addition of 0 is none
        off_step=_off_step(written),
        beyond_reach=beyond,
        optics=None
        if beyond or lacks_axis
        else lens_forms(sphere_d=values.sphere_d, cylinder_d=cylinder, axis_deg=usable_axis),
        prism=prism,
        prism_amount_pd=settled(amount),
        prism_base_deg=base,
        prism_in_pd=inward(eye=values.eye, x=prism.x_pd) if prism else 0.0,
        prism_bases_cancel=_bases_cancel(values),
    )


def _off_step(
    written: tuple[tuple[Literal["sphere", "cylinder", "add"], float | None], ...],
) -> tuple[WrittenPower, ...]:
    found = []
    for member, value in written:
        if value is None or (value / STEP_D).is_integer():
            continue
        eighth = round(abs(value) % 1, 6) in _EIGHTHS
        found.append(WrittenPower(member, value, "eighth" if eighth else "other"))
    return tuple(found)


def prism_of(eye: EyeName, components: Iterable[tuple[float, Base | float]]) -> Prism | None:
    """Components with their bases as one prism; None where there is none."""
    parts = [
        prism_from_base(amount_pd=amount, base_deg=base_angle(eye=eye, base=base) if isinstance(base, str) else base)
        for amount, base in components
        if amount > 0
    ]
    return combined(parts) if parts else None


def _bases_cancel(values: EyeValues) -> bool:
    bases = {base for amount, base in values.prism if amount > 0}
    return bases >= {"in", "out"} or bases >= {"up", "down"}
