"""What follows for lenses as worn: what to order for tilt and wrap, and how much larger things appear."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from optics_core.as_worn import (
    centre_drop_mm,
    martin_power,
    power_to_order,
    ruled_centre_drop_mm,
    tilted_power,
    wrap_prism,
)
from optics_core.errors import DomainError
from optics_core.magnification import Magnification, magnification_difference, spectacle_magnification
from optics_core.materials import Material
from optics_core.power_vectors import crossed_sum
from optics_core.sphero_cylinder import SpheroCylinder, principal_powers
from optics_core.thickness import usual_front_power
from service.facts_prescription import EyePower, PrescriptionFacts
from service.facts_thickness import EyeThickness
from service.profile.loader import Limits
from service.rounding import settled
from service.values import EyeName, OrderValues
from service.values_near import WornValues


@dataclass(frozen=True, slots=True)
class Body:
    """Front and centre of one lens, and where they come from."""

    front_power_d: float
    centre_mm: float
    taken_from: Literal["thickness", "usual"]


@dataclass(frozen=True, slots=True)
class EyeWorn:
    """One lens as worn: what is wanted, what to order, what the wanted power does when it is made as it is."""

    eye: EyeName
    wanted: SpheroCylinder
    to_order: SpheroCylinder
    effect: SpheroCylinder
    effect_by_martin: SpheroCylinder
    change_d: float
    wrap_out_pd: float | None
    body: Body


@dataclass(frozen=True, slots=True)
class WornFacts:
    """Both lenses as worn. The drops are from the pupil down to where the optical centre belongs; None without tilt."""

    pantoscopic_deg: float
    face_form_deg: float
    index: float
    drop_mm: float | None
    ruled_drop_mm: float | None
    eyes: tuple[EyeWorn, ...]

    @property
    def pair_wrap_out_pd(self) -> float | None:
        """Base-out prism that the wrap makes for both eyes; None without wrap."""
        parts = [eye.wrap_out_pd for eye in self.eyes if eye.wrap_out_pd is not None]
        return settled(sum(parts)) if parts else None


@dataclass(frozen=True, slots=True)
class MagnificationFacts:
    """Magnification of both lenses; the difference through the power alone does not rest on a thickness."""

    vertex_mm: float
    entrance_pupil_mm: float
    right: Magnification
    left: Magnification
    right_percent: float
    left_percent: float
    difference_percent: float
    difference_total_percent: float


def worn_facts(
    rx: PrescriptionFacts,
    values: OrderValues,
    material: Material | None,
    limits: Limits,
    thickness: Sequence[EyeThickness],
) -> WornFacts | None:
    """The lenses as worn; None where neither tilt nor wrap was given, or the material is not known."""
    worn = values.worn
    if worn is None or material is None:
        return None
    tilt = worn.pantoscopic_deg
    return WornFacts(
        pantoscopic_deg=tilt,
        face_form_deg=worn.face_form_deg,
        index=material.index_d,
        drop_mm=settled(centre_drop_mm(pantoscopic_deg=tilt, rotation_centre_mm=limits.profile.worn.rotation_centre_mm))
        if tilt
        else None,
        ruled_drop_mm=settled(ruled_centre_drop_mm(pantoscopic_deg=tilt)) if tilt else None,
        eyes=tuple(
            _eye_worn(eye, worn, material.index_d, lens_body(eye, limits, thickness))
            for eye in rx.eyes
            if eye.optics is not None
        ),
    )


def lens_body(eye: EyePower, limits: Limits, thickness: Sequence[EyeThickness]) -> Body:
    """Front and centre of a lens whose power is known: as worked out for its thickness, or else the usual ones."""
    for known in thickness:
        if known.eye == eye.eye and known.centre_mm is not None:
            return Body(known.front_power_d, known.centre_mm, "thickness")
    mean = 0.0 if eye.optics is None else eye.optics.vector.m_d
    return Body(usual_front_power(spherical_equivalent_d=mean), limits.profile.thickness.least_centre_mm, "usual")


def _eye_worn(eye: EyePower, worn: WornValues, index: float, body: Body) -> EyeWorn:
    wanted = SpheroCylinder(eye.sphere_d, eye.cylinder_d, eye.axis_deg if eye.cylinder_d else None)
    tilt, wrap, name = worn.pantoscopic_deg, worn.face_form_deg, eye.eye
    to_order, effect, by_martin = (
        function(
            sphere_d=wanted.sphere_d,
            cylinder_d=wanted.cylinder_d,
            axis_deg=wanted.axis_deg,
            pantoscopic_deg=tilt,
            face_form_deg=wrap,
            eye=name,
            index=index,
        )
        for function in (power_to_order, tilted_power, martin_power)
    )
    out = None
    if wrap:
        out = settled(
            wrap_prism(front_power_d=body.front_power_d, centre_mm=body.centre_mm, index=index, angle_deg=wrap)
        )
    return EyeWorn(name, wanted, to_order, effect, by_martin, _largest_change(to_order, wanted), out, body)


def _largest_change(new: SpheroCylinder, old: SpheroCylinder) -> float:
    """The strongest meridian of the lens that would turn the old power into the new one."""
    between = crossed_sum((new, SpheroCylinder(-old.sphere_d, -old.cylinder_d, old.axis_deg)))
    powers = principal_powers(sphere_d=between.sphere_d, cylinder_d=between.cylinder_d, axis_deg=between.axis_deg)
    return settled(max(abs(power) for _, power in powers))


def magnification_facts(
    rx: PrescriptionFacts,
    values: OrderValues,
    material: Material | None,
    limits: Limits,
    thickness: Sequence[EyeThickness],
) -> MagnificationFacts | None:
    """Magnification of both eyes; None where the powers are much alike, or too little is known."""
    usual = limits.profile.worn
    if rx.difference_d is None or rx.difference_d < usual.magnification_from_d or material is None:
        return None
    vertex = values.vertex_worn_mm
    if vertex is None:
        vertex = rx.vertex_refracted_mm
    if vertex is None:
        vertex = limits.profile.shop.usual_vertex_mm
    distance = vertex + usual.entrance_pupil_mm
    right, left = (
        _magnification(eye, distance, material.index_d, lens_body(eye, limits, thickness)) for eye in rx.eyes
    )
    if right is None or left is None:
        return None
    thin_right, thin_left = (Magnification(1.0, one.power, one.power) for one in (right, left))
    return MagnificationFacts(
        vertex_mm=vertex,
        entrance_pupil_mm=settled(distance),
        right=right,
        left=left,
        right_percent=settled(100.0 * (right.power - 1.0)),
        left_percent=settled(100.0 * (left.power - 1.0)),
        difference_percent=settled(magnification_difference(right=thin_right, left=thin_left)),
        difference_total_percent=settled(magnification_difference(right=right, left=left)),
    )


def _magnification(eye: EyePower, distance_mm: float, index: float, body: Body) -> Magnification | None:
    if eye.optics is None:
        return None
    try:
        return spectacle_magnification(
            front_power_d=body.front_power_d,
            thickness_mm=body.centre_mm,
            index=index,
            back_vertex_power_d=eye.optics.vector.m_d,
            entrance_pupil_mm=distance_mm,
        )
    except DomainError:
        return None  # a lens that focuses before the pupil shows no image of that kind
