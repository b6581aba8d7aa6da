"""How much larger things appear through each lens of a pair, and how unlike that is."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from optics_core.errors import DomainError
from optics_core.magnification import Magnification, magnification_difference, spectacle_magnification
from optics_core.materials import Material
from optics_core.sphero_cylinder import LensForms, power_in_meridian
from optics_core.thickness import usual_front_power
from service.facts_prescription import EyePower, PrescriptionFacts
from service.facts_thickness import EyeThickness
from service.profile.loader import Limits
from service.rounding import settled
from service.values import OrderValues


@dataclass(frozen=True, slots=True)
class Body:
    """Front and centre of one lens, and where they come from."""

    front_power_d: float
    centre_mm: float
    taken_from: Literal["thickness", "usual"]


@dataclass(frozen=True, slots=True)
class WidestMagnification:
    """Where the lenses magnify most unlike: the meridian, each lens along it, and right less left; shape included."""

    meridian_deg: float
    right_percent: float
    left_percent: float
    difference_percent: float


@dataclass(frozen=True, slots=True)
class MagnificationFacts:
    """Magnification of both lenses by their mean powers, and in the meridian in which they differ most."""

    vertex_mm: float
    entrance_pupil_mm: float
    right: Magnification
    left: Magnification
    difference_percent: float
    difference_total_percent: float
    widest: WidestMagnification


def lens_body(eye: EyePower, values: OrderValues, limits: Limits, thickness: Sequence[EyeThickness]) -> Body:
    """Front and centre of a lens whose power is known: as worked out for its thickness, or else as ordered, or the usual."""
    for known in thickness:
        if known.eye == eye.eye and known.centre_mm is not None:
            return Body(known.front_power_d, known.centre_mm, "thickness")
    mean = 0.0 if eye.optics is None else eye.optics.vector.m_d
    front, centre = values.body.front_power_d, values.body.centre_mm
    if front is None:
        front = usual_front_power(spherical_equivalent_d=mean)
    return Body(front, limits.profile.thickness.least_centre_mm if centre is None else centre, "usual")


def magnification_facts(
    rx: PrescriptionFacts,
    values: OrderValues,
    material: Material | None,
    limits: Limits,
    thickness: Sequence[EyeThickness],
) -> MagnificationFacts | None:
    """Magnification of both eyes; None where the powers are much alike in every meridian, or too little is known."""
    usual, widest = limits.profile.worn, rx.pair.widest
    right, left = rx.right.optics, rx.left.optics
    if right is None or left is None or widest is None or material is None:
        return None
    meridian, apart = widest
    if abs(apart) < usual.magnification_from_d:
        return None
    vertex = values.vertex_worn_mm
    if vertex is None:
        vertex = rx.vertex_refracted_mm
    if vertex is None:
        vertex = limits.profile.shop.usual_vertex_mm
    distance = vertex + usual.entrance_pupil_mm
    bodies = [lens_body(eye, values, limits, thickness) for eye in rx.eyes]

    def seen(powers: tuple[float, float]) -> tuple[Magnification, Magnification]:
        one, other = (
            spectacle_magnification(
                front_power_d=body.front_power_d,
                thickness_mm=body.centre_mm,
                index=material.index_d,
                back_vertex_power_d=power,
                entrance_pupil_mm=distance,
            )
            for body, power in zip(bodies, powers, strict=True)
        )
        return one, other

    try:
        mean_right, mean_left = seen((right.vector.m_d, left.vector.m_d))
        across = [_along(axis, seen((_power(right, axis), _power(left, axis)))) for axis in _principal(meridian)]
    except DomainError:
        return None  # a lens that focuses before the pupil shows no image of that kind
    thin_right, thin_left = (Magnification(1.0, one.power, one.power) for one in (mean_right, mean_left))
    return MagnificationFacts(
        vertex_mm=vertex,
        entrance_pupil_mm=settled(distance),
        right=mean_right,
        left=mean_left,
        difference_percent=settled(magnification_difference(right=thin_right, left=thin_left)),
        difference_total_percent=settled(magnification_difference(right=mean_right, left=mean_left)),
        # Of two alike the more level one, so that mirrored eyes are told the same.
        widest=max(across, key=lambda one: (abs(one.difference_percent), abs(one.meridian_deg - 90.0))),
    )


def _principal(meridian_deg: float) -> tuple[float, float]:
    """A meridian in which two lenses differ most or least, and the one across it."""
    return meridian_deg, meridian_deg + 90.0 if meridian_deg <= 90.0 else meridian_deg - 90.0


def _power(lens: LensForms, meridian_deg: float) -> float:
    minus = lens.minus
    return power_in_meridian(
        sphere_d=minus.sphere_d, cylinder_d=minus.cylinder_d, axis_deg=minus.axis_deg, meridian_deg=meridian_deg
    )


def _along(meridian_deg: float, seen: tuple[Magnification, Magnification]) -> WidestMagnification:
    right, left = seen
    return WidestMagnification(
        meridian_deg=meridian_deg,
        right_percent=settled(100.0 * (right.total - 1.0)),
        left_percent=settled(100.0 * (left.total - 1.0)),
        difference_percent=settled(magnification_difference(right=right, left=left)),
    )
