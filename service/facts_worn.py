"""What follows for lenses as worn: what to order for tilt and wrap."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

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
from optics_core.materials import Material
from optics_core.power_vectors import power_vector, widest_difference
from optics_core.segments import gaze_imbalance
from optics_core.sphero_cylinder import SpheroCylinder
from service.facts_magnification import Body, lens_body
from service.facts_prescription import EyePower, PrescriptionFacts
from service.facts_thickness import EyeThickness
from service.profile.loader import Limits
from service.rounding import settled
from service.values import EyeName, OrderValues
from service.values_near import WornValues, rotation_centre_mm

# The change of a thick lens may be half as much again as that of a thin one: from this share of the limit on it is traced.
_LOOKED_AT = 0.6


@dataclass(frozen=True, slots=True)
class EyeWorn:
    """One lens as worn: what is wanted, what to order, what the wanted power does when it is made as it is.

    `to_order` is for a thin lens with its optical centre at the pupil, `traced` the same for the lens as it is thick, where
    the change matters and such a lens is found. `lowered` is for an optical centre lowered for the tilt, so that the wrap
    alone is left; None without tilt and for progressive lenses. `with_vertex` counts the change of the vertex distance too;
    None where there is none.
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
    """Both lenses as worn. The drops are from the pupil down to where the optical centre belongs; None without tilt and for
    progressive lenses.

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
    # The fitting point of a progressive lens stays at the pupil.
    moves = bool(tilt) and values.lens.use != "progressive"
    drop = settled(centre_drop_mm(pantoscopic_deg=tilt, rotation_centre_mm=centre)) if moves else None
    return WornFacts(
        pantoscopic_deg=tilt,
        face_form_deg=worn.face_form_deg,
        index=material.index_d,
        drop_mm=drop,
        ruled_drop_mm=settled(ruled_centre_drop_mm(pantoscopic_deg=tilt)) if moves else None,
        drop_imbalance_pd=None if drop is None else _imbalance_of_drop(rx, drop),
        eyes=tuple(
            _eye_worn(
                eye,
                _Position(worn, moves, material.index_d, lens_body(eye, values, limits, thickness)),
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


@dataclass(frozen=True, slots=True)
class _Position:
    """How one lens sits, and what it is made of."""

    worn: WornValues
    centre_moves: bool
    index: float
    body: Body

    def of(self, function: Callable[..., SpheroCylinder], eye: EyeName, lens: SpheroCylinder) -> SpheroCylinder:
        """What a formula for thin lenses makes of a power."""
        worn = self.worn
        return self._of(function, eye, lens, worn.pantoscopic_deg, worn.face_form_deg)

    def lowered(self, eye: EyeName, lens: SpheroCylinder) -> SpheroCylinder | None:
        """The power to order with the optical centre lowered for the tilt."""
        worn = self.worn
        return self._of(power_to_order, eye, lens, 0.0, worn.face_form_deg) if self.centre_moves else None

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
    """Power of the lens that would turn the old one into the new one, in its strongest meridian."""
    one, other = (
        power_vector(sphere_d=lens.sphere_d, cylinder_d=lens.cylinder_d, axis_deg=lens.axis_deg) for lens in (new, old)
    )
    _, apart = widest_difference(right=one, left=other)
    return settled(abs(float(apart)))
