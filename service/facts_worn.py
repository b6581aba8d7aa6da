"""What follows for lenses as worn: what to order for tilt and wrap, and how much larger things appear."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from optics_core.as_worn import (
    centre_drop_mm,
    martin_power,
    power_to_order,
    ruled_centre_drop_mm,
    tilted_power,
    traced_power_to_order,
    wrap_prism,
)
from optics_core.errors import DomainError
from optics_core.magnification import Magnification, magnification_difference, spectacle_magnification
from optics_core.materials import Material
from optics_core.power_vectors import crossed_sum
from optics_core.segments import gaze_imbalance
from optics_core.sphero_cylinder import LensForms, SpheroCylinder, power_in_meridian, principal_powers
from optics_core.thickness import usual_front_power
from service.facts_prescription import EyePower, PrescriptionFacts
from service.facts_thickness import EyeThickness
from service.profile.loader import Limits
from service.rounding import settled
from service.values import EyeName, OrderValues
from service.values_near import WornValues, rotation_centre_mm

# The change of a thick lens may be half as much again as that of a thin one: from this share of the limit on it is traced.
_LOOKED_AT = 0.6


@dataclass(frozen=True, slots=True)
class Body:
    """Front and centre of one lens, and where they come from."""

    front_power_d: float
    centre_mm: float
    taken_from: Literal["thickness", "usual"]


@dataclass(frozen=True, slots=True)
class EyeWorn:
    """One lens as worn: what is wanted, what to order, what the wanted power does when it is made as it is.

    `to_order` is for a thin lens with its optical centre at the pupil, `traced` the same for the lens as it is thick, where
    the change matters and such a lens is found. `lowered` is for an optical centre lowered for the tilt, so that the wrap
    alone is left; None without tilt. `with_vertex` counts the change of the vertex distance too; None where there is none.
    """

    eye: EyeName
    wanted: SpheroCylinder
    to_order: SpheroCylinder
    traced: SpheroCylinder | None
    lowered: SpheroCylinder | None
    with_vertex: SpheroCylinder | None
    effect: SpheroCylinder
    effect_by_martin: SpheroCylinder
    change_d: float
    wrap_out_pd: float | None
    body: Body


@dataclass(frozen=True, slots=True)
class WornFacts:
    """Both lenses as worn. The drops are from the pupil down to where the optical centre belongs; None without tilt.

    `drop_imbalance_pd` is the vertical prism between the eyes straight ahead through centres so lowered: right base up less
    left.
    """

    pantoscopic_deg: float
    face_form_deg: float
    index: float
    drop_mm: float | None
    ruled_drop_mm: float | None
    drop_imbalance_pd: float | None
    eyes: tuple[EyeWorn, ...]

    @property
    def pair_wrap_out_pd(self) -> float | None:
        """Base-out prism that the wrap makes for both eyes; None without wrap."""
        parts = [eye.wrap_out_pd for eye in self.eyes if eye.wrap_out_pd is not None]
        return settled(sum(parts)) if parts else None


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


def worn_facts(
    rx: PrescriptionFacts,
    values: OrderValues,
    material: Material | None,
    limits: Limits,
    thickness: Sequence[EyeThickness],
    at_vertex: Mapping[EyeName, SpheroCylinder],
) -> WornFacts | None:
    """The lenses as worn; None where neither tilt nor wrap was given, or the material is not known.

    `at_vertex` holds the powers for the vertex distance as worn, of the eyes for which it changes.
    """
    worn = values.worn
    if worn is None or material is None:
        return None
    tilt, centre = worn.pantoscopic_deg, rotation_centre_mm(values.vertex_worn_mm, limits)
    drop = settled(centre_drop_mm(pantoscopic_deg=tilt, rotation_centre_mm=centre)) if tilt else None
    return WornFacts(
        pantoscopic_deg=tilt,
        face_form_deg=worn.face_form_deg,
        index=material.index_d,
        drop_mm=drop,
        ruled_drop_mm=settled(ruled_centre_drop_mm(pantoscopic_deg=tilt)) if tilt else None,
        drop_imbalance_pd=None if drop is None else _imbalance_of_drop(rx, drop),
        eyes=tuple(
            _eye_worn(
                eye,
                _Position(worn, material.index_d, lens_body(eye, values, limits, thickness)),
                at_vertex.get(eye.eye),
                limits.profile.worn.change_matters_d,
            )
            for eye in rx.eyes
            if eye.optics is not None
        ),
    )


def _imbalance_of_drop(rx: PrescriptionFacts, drop_mm: float) -> float | None:
    """Straight ahead the eyes then look so far above the optical centres."""
    right, left = rx.right.optics, rx.left.optics
    if right is None or left is None:
        return None
    _, up = gaze_imbalance(right=right.vector, left=left.vector, x_mm=0.0, y_mm=drop_mm)
    return settled(float(up))


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


@dataclass(frozen=True, slots=True)
class _Position:
    """How one lens sits, and what it is made of."""

    worn: WornValues
    index: float
    body: Body

    def of(self, function: Callable[..., SpheroCylinder], eye: EyeName, lens: SpheroCylinder) -> SpheroCylinder:
        """What a formula for thin lenses makes of a power."""
        worn = self.worn
        return self._of(function, eye, lens, worn.pantoscopic_deg, worn.face_form_deg)

    def lowered(self, eye: EyeName, lens: SpheroCylinder) -> SpheroCylinder | None:
        """The power to order with the optical centre lowered for the tilt."""
        worn = self.worn
        return self._of(power_to_order, eye, lens, 0.0, worn.face_form_deg) if worn.pantoscopic_deg else None

    def thick(self, eye: EyeName, lens: SpheroCylinder) -> SpheroCylinder:
        """The power to order for the lens as it is thick."""
        worn, body = self.worn, {"front_power_d": self.body.front_power_d, "centre_mm": self.body.centre_mm}
        return self._of(traced_power_to_order, eye, lens, worn.pantoscopic_deg, worn.face_form_deg, **body)

    def _of(
        self,
        function: Callable[..., SpheroCylinder],
        eye: EyeName,
        lens: SpheroCylinder,
        tilt_deg: float,
        wrap_deg: float,
        **body: float,
    ) -> SpheroCylinder:
        return function(
            sphere_d=lens.sphere_d,
            cylinder_d=lens.cylinder_d,
            axis_deg=lens.axis_deg,
            pantoscopic_deg=tilt_deg,
            face_form_deg=wrap_deg,
            eye=eye,
            index=self.index,
            **body,
        )


@lru_cache(maxsize=256)
def _traced(position: _Position, eye: EyeName, lens: SpheroCylinder) -> SpheroCylinder | None:
    """The power to order for a thick lens, None where there is none. One wearer's lens is asked about for many frames."""
    try:
        return position.thick(eye, lens)
    except DomainError:
        return None


def _eye_worn(eye: EyePower, position: _Position, at_vertex: SpheroCylinder | None, matters_d: float) -> EyeWorn:
    wanted = SpheroCylinder(eye.sphere_d, eye.cylinder_d, eye.axis_deg if eye.cylinder_d else None)
    to_order = position.of(power_to_order, eye.eye, wanted)
    change, traced = _largest_change(to_order, wanted), None
    if change > 0 and change >= _LOOKED_AT * matters_d:
        traced = _traced(position, eye.eye, wanted)
        change = change if traced is None else _largest_change(traced, wanted)
    matters = change > 0 and change >= matters_d
    together, lowered = None, position.lowered(eye.eye, wanted)
    if at_vertex is not None:
        together = _traced(position, eye.eye, at_vertex) if matters else None
        together = together or position.of(power_to_order, eye.eye, at_vertex)
    if matters and lowered is not None and position.worn.face_form_deg:
        upright = replace(position, worn=replace(position.worn, pantoscopic_deg=0.0))
        lowered = _traced(upright, eye.eye, wanted) or lowered
    out, wrap = None, position.worn.face_form_deg
    if wrap:
        body = position.body
        out = settled(
            wrap_prism(front_power_d=body.front_power_d, centre_mm=body.centre_mm, index=position.index, angle_deg=wrap)
        )
    return EyeWorn(
        eye=eye.eye,
        wanted=wanted,
        to_order=to_order,
        traced=traced if matters else None,
        lowered=lowered,
        with_vertex=together,
        effect=position.of(tilted_power, eye.eye, wanted),
        effect_by_martin=position.of(martin_power, eye.eye, wanted),
        change_d=change,
        wrap_out_pd=out,
        body=position.body,
    )


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
