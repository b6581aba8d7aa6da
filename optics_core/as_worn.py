# mypy: disable-error-code="no-any-return"
"""A lens as worn: tilted and wrapped before the eye, it has another power there than in the focimeter.

Light that meets a thin lens at an angle is bent more. With n sin theta' = sin theta, the power along the axis of the
turn grows by k = (n cos theta' - cos theta) / (n - 1), across it by k / cos^2 theta, and the mixed part of the power
matrix by k / cos theta (Coddington's equations at both surfaces; the form for sphero-cylinders is Keating's). So a
tilted sphere gains a cylinder of its own sign with its axis along the axis of the turn: 180 for tilt, 90 for wrap.
Martin's older k = 1 + sin^2 theta / 2n is close at small angles. What must be ordered is the inverse.

Tilt and wrap together are one turn: cos theta = cos tilt cos wrap. The front is wrapped first, then tilted as a
whole, which also turns each lens a little in its own plane, by about half of tilt x wrap. So the axis of the turn
stands at one angle on the lens and at another before the eye; an axis ordered counts from the lens's own horizontal,
a prescribed one from the face's.

Signs: seen from the front, x to the observer's right, y up; axes counter-clockwise from +x. Pantoscopic tilt is
positive when the lower rim is nearer the face, face form (wrap) when the temporal side is nearer the head.
"""

from __future__ import annotations

from typing import Any

from optics_core._lens import LENS, SpheroCylinder, checked_lens, vector_parts
from optics_core._numeric import Number, Numbers, demand, numbers
from optics_core._tilt import (
    Turn,
    Vector,
    checked_turn,
    demand_angle,
    demand_index,
    demand_thickness,
    unworn,
    worn,
    written,
)
from optics_core.power_vectors import from_power_vector
from optics_core.prism import Eye, inward
from optics_core.tracing import traced_lens

NOT_FOUND = "No lens was found whose traced effect is the prescription: a smaller angle or thickness is expected."

_LENS_AND_TURN = (*LENS, "pantoscopic_deg", "face_form_deg", "index")
_LENS_BEFORE_THE_EYE = (*_LENS_AND_TURN, "front_power_d", "centre_mm")

_MOST_ROUNDS = 150
_SETTLED = 1e-13
_FOUND = 1e-9


def tilted_power(
    *,
    sphere_d: Numbers,
    cylinder_d: Numbers,
    axis_deg: Numbers | None,
    pantoscopic_deg: Numbers,
    face_form_deg: Numbers,
    eye: Eye,
    index: Numbers,
) -> SpheroCylinder:
    """What a thin lens does to the eye when it is tilted and wrapped; exact for a thin lens.

    Parameters
    ----------
    sphere_d : float or array
        Sphere of the lens by itself, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis on the lens; None (nan within arrays) only where the cylinder is 0. [deg]
    pantoscopic_deg : float or array
        Pantoscopic tilt, positive when the lower rim is nearer the face. [deg]
    face_form_deg : float or array
        Wrap, positive when the temporal side is nearer the head. [deg]
    eye : "right" or "left"
        Whose lens.
    index : float or array
        Refractive index, above 1. [1]

    Returns
    -------
    SpheroCylinder
        Effect before the eye [D], axis in the face [deg]; with the sign of the cylinder given, minus for a sphere.

    Raises
    ------
    DomainError
        If a number is not finite or out of range, or a cylinder other than 0 has no axis.

    Source
    ------
    derived, Coddington's equations at two surfaces in contact, checked by ray tracing; memory, Keating, Optom Vis
    Sci 1993 and 1995, the form for sphero-cylinders.
    """
    library, lens, turn, ratio = _given(sphere_d, cylinder_d, axis_deg, pantoscopic_deg, face_form_deg, index, eye=eye)
    return _effect(library, lens, turn, _coddington(library, turn, ratio))


def martin_power(
    *,
    sphere_d: Numbers,
    cylinder_d: Numbers,
    axis_deg: Numbers | None,
    pantoscopic_deg: Numbers,
    face_form_deg: Numbers,
    eye: Eye,
    index: Numbers,
) -> SpheroCylinder:
    """The same by Martin's formula, k = 1 + sin^2 / 2n, as it is taught; to be shown beside `tilted_power`.

    Parameters
    ----------
    sphere_d : float or array
        Sphere of the lens by itself, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis on the lens; None (nan within arrays) only where the cylinder is 0. [deg]
    pantoscopic_deg : float or array
        Pantoscopic tilt, positive when the lower rim is nearer the face. [deg]
    face_form_deg : float or array
        Wrap, positive when the temporal side is nearer the head. [deg]
    eye : "right" or "left"
        Whose lens.
    index : float or array
        Refractive index, above 1. [1]

    Returns
    -------
    SpheroCylinder
        Effect before the eye [D], axis in the face [deg]; with the sign of the cylinder given, minus for a sphere.

    Raises
    ------
    DomainError
        If a number is not finite or out of range, or a cylinder other than 0 has no axis.

    Source
    ------
    durham-nfos, lesson on lens tilt (with 3 for 2n); optiboard, thread on Martin's formula for tilt.
    """
    library, lens, turn, ratio = _given(sphere_d, cylinder_d, axis_deg, pantoscopic_deg, face_form_deg, index, eye=eye)
    return _effect(library, lens, turn, 1.0 + turn.sine**2 / (2.0 * ratio))


def power_to_order(
    *,
    sphere_d: Numbers,
    cylinder_d: Numbers,
    axis_deg: Numbers | None,
    pantoscopic_deg: Numbers,
    face_form_deg: Numbers,
    eye: Eye,
    index: Numbers,
) -> SpheroCylinder:
    """The thin lens whose effect, tilted and wrapped, is the prescription: the inverse of `tilted_power`.

    Parameters
    ----------
    sphere_d : float or array
        Sphere prescribed, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis in the face; None (nan within arrays) only where the cylinder is 0. [deg]
    pantoscopic_deg : float or array
        Pantoscopic tilt, positive when the lower rim is nearer the face. [deg]
    face_form_deg : float or array
        Wrap, positive when the temporal side is nearer the head. [deg]
    eye : "right" or "left"
        Whose lens.
    index : float or array
        Refractive index, above 1. [1]

    Returns
    -------
    SpheroCylinder
        Lens to order [D], axis on the lens [deg]; with the sign of the cylinder given, minus for a sphere.

    Raises
    ------
    DomainError
        If a number is not finite or out of range, or a cylinder other than 0 has no axis.

    Source
    ------
    derived, `tilted_power` divided by its own factors.
    """
    library, lens, turn, ratio = _given(sphere_d, cylinder_d, axis_deg, pantoscopic_deg, face_form_deg, index, eye=eye)
    order = unworn(vector_parts(library, *lens), turn, _coddington(library, turn, ratio))
    return written(library, order, lens, turn)


def traced_power_to_order(
    *,
    sphere_d: Numbers,
    cylinder_d: Numbers,
    axis_deg: Numbers | None,
    pantoscopic_deg: Numbers,
    face_form_deg: Numbers,
    eye: Eye,
    index: Numbers,
    front_power_d: Numbers,
    centre_mm: Numbers,
) -> SpheroCylinder:
    """The thick lens, toric on the back, whose traced effect is the prescription.

    The thin lens's inverse serves as the slope of Newton's method; each round leaves a small part of the error.

    Parameters
    ----------
    sphere_d : float or array
        Sphere prescribed, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis in the face; None (nan within arrays) only where the cylinder is 0. [deg]
    pantoscopic_deg : float or array
        Pantoscopic tilt, positive when the lower rim is nearer the face. [deg]
    face_form_deg : float or array
        Wrap, positive when the temporal side is nearer the head. [deg]
    eye : "right" or "left"
        Whose lens.
    index : float or array
        Refractive index, above 1. [1]
    front_power_d : float or array
        Power of the front surface. [D]
    centre_mm : float or array
        Centre thickness, 0 or more. [mm]

    Returns
    -------
    SpheroCylinder
        Back vertex power to order [D], axis on the lens [deg]; with the sign of the cylinder given, minus for a sphere.

    Raises
    ------
    DomainError
        If a number is not finite or out of range, a cylinder other than 0 has no axis, or no such lens is found.

    Source
    ------
    derived, `tracing.traced_lens` solved for the lens.
    """
    library, *lens, tilt, wrap, ratio, front, centre = checked_lens(
        _LENS_BEFORE_THE_EYE,
        sphere_d,
        cylinder_d,
        axis_deg,
        pantoscopic_deg,
        face_form_deg,
        index,
        front_power_d,
        centre_mm,
    )
    demand_thickness("centre_mm", centre)
    turn = checked_turn(library, tilt, wrap, ratio, inward(eye=eye, x=1.0))
    factor = _coddington(library, turn, ratio)
    wanted = vector_parts(library, *lens)
    order = unworn(wanted, turn, factor)
    for _ in range(_MOST_ROUNDS):
        tried = from_power_vector(m_d=order[0], j0_d=order[1], j45_d=order[2])
        power = traced_lens(
            sphere_d=tried.sphere_d,
            cylinder_d=tried.cylinder_d,
            axis_deg=tried.axis_deg,
            front_power_d=front,
            centre_mm=centre,
            index=ratio,
            pantoscopic_deg=tilt,
            face_form_deg=wrap,
            eye=eye,
        ).power
        got = ((power.xx_d + power.yy_d) / 2.0, (power.xx_d - power.yy_d) / 2.0, power.xy_d)
        lacking = (wanted[0] - got[0], wanted[1] - got[1], wanted[2] - got[2])
        left = abs(lacking[0]) + library.hypot(lacking[1], lacking[2])
        if library.all(left <= _SETTLED * (1.0 + abs(wanted[0]))):
            break
        change = unworn(lacking, turn, factor)
        order = (order[0] + change[0], order[1] + change[1], order[2] + change[2])
    demand(left <= _FOUND, argument="pantoscopic_deg, face_form_deg", rule=NOT_FOUND, value=left)
    return written(library, order, (lens[0], lens[1], lens[2]), turn)


def wrap_prism(*, front_power_d: Number, centre_mm: Number, index: Number, angle_deg: Number) -> Number:
    """Prism that comes of being wrapped, or tilted, alone: 100 tan(angle) (t/n) F1, with the thickness t in metres.

    The line of sight leaves at the back vertex and so meets the front beside its vertex. Wrap makes base out before
    each eye, and the same amount base in undoes it; tilt makes base down, alike before both. It is 1.5 % too little
    at 10 degrees and 6 % at 20: see `tracing.traced_wrap_prism`.

    Parameters
    ----------
    front_power_d : float or array
        Power of the front surface. [D]
    centre_mm : float or array
        Centre thickness, 0 or more. [mm]
    index : float or array
        Refractive index, above 1. [1]
    angle_deg : float or array
        Face form, or pantoscopic tilt, signs as above. [deg]

    Returns
    -------
    float or array
        Prism: base out for wrap, base down for tilt; negative the other way. [pd]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, Prentice's rule at the front surface, checked by ray tracing; memory, Meister and Sheedy, the same rule.
    """
    names = ("front_power_d", "centre_mm", "index", "angle_deg")
    library, front, centre, ratio, angle = numbers(names, front_power_d, centre_mm, index, angle_deg)
    demand_thickness("centre_mm", centre)
    demand_index(ratio)
    demand_angle("angle_deg", angle)
    sine, cosine = library.sine_and_cosine(angle)
    return sine / cosine * centre / (10.0 * ratio) * front + 0.0


def centre_drop_mm(*, pantoscopic_deg: Number, rotation_centre_mm: float = 27.0) -> Number:
    """How far the optical centre belongs below the line of sight, so that its axis passes the eye's centre of rotation.

    Parameters
    ----------
    pantoscopic_deg : float or array
        Pantoscopic tilt, positive when the lower rim is nearer the face. [deg]
    rotation_centre_mm : float
        From the lens to the eye's centre of rotation, 0 or more. [mm]

    Returns
    -------
    float or array
        Drop, down positive. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, s sin(tilt).
    """
    names = ("pantoscopic_deg", "rotation_centre_mm")
    library, tilt, distance = numbers(names, pantoscopic_deg, rotation_centre_mm)
    demand_angle("pantoscopic_deg", tilt)
    demand_thickness("rotation_centre_mm", distance)
    return distance * library.sine_and_cosine(tilt)[0] + 0.0


def ruled_centre_drop_mm(*, pantoscopic_deg: Number) -> Number:
    """The same by the rule of the trade: 1 mm for every 2 degrees of tilt.

    Parameters
    ----------
    pantoscopic_deg : float or array
        Pantoscopic tilt, positive when the lower rim is nearer the face. [deg]

    Returns
    -------
    float or array
        Drop, down positive. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    common-practice, 1 mm for 2 degrees; optiboard, thread on lens tilt and optical centres.
    """
    _, tilt = numbers(("pantoscopic_deg",), pantoscopic_deg)
    demand_angle("pantoscopic_deg", tilt)
    return tilt / 2.0


def _given(*lens_turn_and_index: Any, eye: Eye) -> tuple[Any, Vector, Turn, Any]:
    library, sphere, cylinder, axis, tilt, wrap, index = checked_lens(_LENS_AND_TURN, *lens_turn_and_index)
    turn = checked_turn(library, tilt, wrap, index, inward(eye=eye, x=1.0))
    return library, (sphere, cylinder, axis), turn, index


def _coddington(library: Any, turn: Turn, index: Any) -> Any:
    inner = library.sqrt(1.0 - (turn.sine / index) ** 2)
    return (index * inner - turn.cosine) / (index - 1.0)


def _effect(library: Any, lens: Vector, turn: Turn, factor: Any) -> SpheroCylinder:
    return written(library, worn(vector_parts(library, *lens), turn, factor), lens, turn)
