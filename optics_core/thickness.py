# mypy: disable-error-code="no-any-return"
"""The lens as a body: a spherical front, a toric back, and the thickness at every place, above all at the edge.

Measured along the lens's axis, the thickness at a place follows from how far the two surfaces fall away from the
planes that touch them at the pole: edge + front sag = centre + back sag. A minus lens is thinnest at its pole, a
plus lens at the edge farthest from it; a ground prism adds a wedge, and then a minus lens is thinnest off its pole.
The back is curved so that the back vertex power is the prescription's, so a thicker centre needs a hollower back.

Signs: as in `optics_core.surfaces` for curvatures and in `optics_core.prism` for prism, whose base (the thick side)
is towards +x and +y. The pole is the optical centre of the lens without its ground prism; with ground prism it is
the place where the centre thickness and the prism are meant, the pupil. Outlines are points about the boxed centre,
the pole is told from there; x to the observer's right, y up. The axial thickness is not the one square to a
surface, which a caliper shows: that is less, by the cosine of the surface's slope. Lengths in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from optics_core._body import (
    ABOVE_1,
    NOT_NEGATIVE,
    ReachError,
    axes_of,
    checked_points,
    front_at_back,
    hollow,
    profile,
    refused,
    single_lens,
    slopes,
    thickness,
    turned,
    unturned,
)
from optics_core._lens import LENS, checked_lens, within_half_turn
from optics_core._numeric import ARRAY, SCALAR, Array, Number, Numbers, demand, numbers, single_numbers

# The least centre is a subject of its own; it stands in a module of its own for its length.
from optics_core.centre_thickness import centre_for, round_blank

__all__ = [
    "EdgeSummary",
    "LensBody",
    "ThinnestPlace",
    "centre_for",
    "edge_profile",
    "edge_summary",
    "lens_body",
    "round_blank",
    "showing",
    "thickness_at",
    "thinnest_inside",
    "usual_front_power",
]

WITHIN_THE_EDGE = "The bevel's apex lies within the edge: from 0 mm to the edge's thickness behind its front."

_LEAST_FRONT_D, _MOST_FRONT_D = 0.5, 12.0
_BODY = (*LENS, "index", "front_power_d", "centre_mm", "prism_x_pd", "prism_y_pd")
_FIELDS = (
    "index", "front_power_d", "back_along_d", "back_across_d", "axis_deg", "centre_mm", "prism_x_pd", "prism_y_pd",
)  # fmt: skip
_STEPS_ALONG_A_SIDE = 4  # the thickness along a side is nearly a parabola


@dataclass(frozen=True, slots=True)
class LensBody:
    """A lens with its surfaces, as `lens_body` makes it. [1, D, D, D, deg, mm, pd, pd]

    `back_along_d` is the back's power in the meridian of `axis_deg`, where the back vertex power is the sphere;
    `back_across_d` the one across, where it is sphere + cylinder. Arrays of one shape where arrays were given.
    """

    index: float
    front_power_d: float
    back_along_d: float
    back_across_d: float
    axis_deg: float
    centre_mm: float
    prism_x_pd: float
    prism_y_pd: float


@dataclass(frozen=True, slots=True)
class EdgeSummary:
    """The thinnest and the thickest point of an edge. [mm, deg]; angles about the boxed centre, 0 <= angle < 360."""

    thinnest_mm: float
    thinnest_deg: float
    thickest_mm: float
    thickest_deg: float


@dataclass(frozen=True, slots=True)
class ThinnestPlace:
    """The thinnest place of a lens, told from the boxed centre, and how far it lies from the pole. [mm]

    `inside` tells that it lies within the outline, away from its edge.
    """

    thickness_mm: float
    x_mm: float
    y_mm: float
    from_pole_mm: float
    inside: bool


def usual_front_power(*, spherical_equivalent_d: Number) -> Number:
    """Front power by Vogel's rule: SE + 6 for plus lenses, SE / 2 + 6 for minus, kept within 0.5 to 12 D.

    A rule of thumb: stock lenses come with a front of their own. The two ends, of this service's own choosing, keep
    extreme powers within what can be made: beyond about +6 lenses are made with flatter fronts than the rule asks for.

    Parameters
    ----------
    spherical_equivalent_d : float or array
        Sphere + half the cylinder. [D]

    Returns
    -------
    float or array
        Front power. [D]

    Raises
    ------
    DomainError
        If the number is not finite.

    Source
    ------
    memory, Vogel's rule; house, the ends.
    """
    library, mean = numbers(("spherical_equivalent_d",), spherical_equivalent_d)
    power = library.where(mean >= 0.0, mean, mean / 2.0) + 6.0
    return library.minimum(library.maximum(power, _LEAST_FRONT_D), _MOST_FRONT_D)


def lens_body(
    *,
    sphere_d: Numbers,
    cylinder_d: Numbers,
    axis_deg: Numbers | None,
    index: Numbers,
    front_power_d: Numbers,
    centre_mm: Numbers,
    prism_x_pd: Numbers = 0.0,
    prism_y_pd: Numbers = 0.0,
) -> LensBody:
    """The body of a prescription: its back powers from the back vertex power, F2 = Fv - F1 / (1 - (t/n) F1).

    Parameters
    ----------
    sphere_d : float or array
        Back vertex power in the meridian of the axis. [D]
    cylinder_d : float or array
        What is added to it across the axis, of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]
    index : float or array
        Refractive index, above 1. [1]
    front_power_d : float or array
        Power of the spherical front. [D]
    centre_mm : float or array
        Thickness at the pole, 0 or more. [mm]
    prism_x_pd : float or array
        Ground prism, base towards the observer's right positive. [pd]
    prism_y_pd : float or array
        Ground prism, base up positive. [pd]

    Returns
    -------
    LensBody
        The lens; its axis in (0, 180], 180 where there is no cylinder.

    Raises
    ------
    DomainError
        If a number is not finite or out of range, a cylinder other than 0 has no axis, or the front would focus
        within the lens.

    Source
    ------
    optiboard, loop for plus lenses in D. Meister's explanation; nfos, module 11, vertex powers.
    """
    library, sphere, cylinder, axis, glass, front, centre, prism_x, prism_y = checked_lens(
        _BODY, sphere_d, cylinder_d, axis_deg, index, front_power_d, centre_mm, prism_x_pd, prism_y_pd
    )
    demand(glass > 1.0, argument="index", rule=ABOVE_1, value=glass)
    demand(centre >= 0.0, argument="centre_mm", rule=NOT_NEGATIVE, value=centre)
    arriving = front_at_back(front, glass, centre)
    axis = library.where(cylinder == 0.0, 180.0, within_half_turn(library, axis))
    along, across = sphere - arriving, sphere + cylinder - arriving
    return LensBody(glass, front, along, across, axis, centre, prism_x, prism_y)


def thickness_at(body: LensBody, *, x_mm: Number, y_mm: Number) -> Number:
    """Thickness at a place: centre + back sag - front sag + wedge, the wedge (Px x + Py y) / (100 (n - 1)).

    Where the centre is too thin for so large a lens the surfaces cross before the place, and the thickness comes out
    negative.

    Parameters
    ----------
    body : LensBody
        The lens; arrays of lenses go with arrays of places.
    x_mm : float or array
        Place from the pole, to the observer's right. [mm]
    y_mm : float or array
        Place from the pole, upwards. [mm]

    Returns
    -------
    float or array
        Thickness along the lens's axis. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, or a surface does not reach the place.

    Source
    ------
    jalie-lens-talk, May-June 2023 p. 112, thickness identity; memory, the wedge.
    """
    if isinstance(body.index, np.ndarray):
        fields = [getattr(body, name) for name in _FIELDS]
        library, x, y, *shaped = numbers(("x_mm", "y_mm", *_FIELDS), x_mm, y_mm, *fields)
        body = LensBody(*shaped)
    else:
        library, x, y = numbers(("x_mm", "y_mm"), x_mm, y_mm)
    axes = axes_of(library, body)
    try:
        return thickness(library, axes, x * axes.q_x + y * axes.q_y, y * axes.q_x - x * axes.q_y)
    except ReachError as found:
        raise refused("x_mm, y_mm", found, x, y) from None


def edge_profile(points: npt.ArrayLike, body: LensBody, *, x_mm: float, y_mm: float) -> Array:
    """Thickness at every point of an outline.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline about the boxed centre. [mm]
    body : LensBody
        One lens.
    x_mm : float
        Its pole from the boxed centre, to the observer's right. [mm]
    y_mm : float
        Its pole from the boxed centre, upwards. [mm]

    Returns
    -------
    array of shape (n,)
        Thickness along the lens's axis, in the order of the points. [mm]

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite, or a surface does not reach the outline.

    Source
    ------
    jalie-lens-talk, May-June 2023 p. 112, thickness identity; memory, the wedge.
    """
    x, y = single_numbers(("x_mm", "y_mm"), x_mm, y_mm)
    return profile(checked_points(points), axes_of(SCALAR, single_lens(body)), x, y)


def edge_summary(points: npt.ArrayLike, body: LensBody, *, x_mm: float, y_mm: float) -> EdgeSummary:
    """The thinnest and the thickest of the points of an edge; of equals the first.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline about the boxed centre. [mm]
    body : LensBody
        One lens.
    x_mm : float
        Its pole from the boxed centre, to the observer's right. [mm]
    y_mm : float
        Its pole from the boxed centre, upwards. [mm]

    Returns
    -------
    EdgeSummary
        Thickness [mm] and direction from the boxed centre, counter-clockwise from +x [deg], of both.

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite, or a surface does not reach the outline.

    Source
    ------
    derived, the least and the greatest of `edge_profile`.
    """
    x, y = single_numbers(("x_mm", "y_mm"), x_mm, y_mm)
    outline = checked_points(points)
    edge = profile(outline, axes_of(SCALAR, single_lens(body)), x, y)
    least, most = edge.argmin(), edge.argmax()
    return EdgeSummary(
        float(edge[least]), _direction(*outline[least].tolist()), float(edge[most]), _direction(*outline[most].tolist())
    )


def thinnest_inside(points: npt.ArrayLike, body: LensBody, *, x_mm: float, y_mm: float) -> ThinnestPlace:
    """The thinnest place of a lens, anywhere within its outline: at a corner, along a side, or inside.

    Inside it can only be where the thickness is level and rises in all directions: the pole of a minus lens, shifted
    by a ground prism away from its base.

    Parameters
    ----------
    points : array of shape (n, 2)
        Points x, y of the outline about the boxed centre. [mm]
    body : LensBody
        One lens.
    x_mm : float
        Its pole from the boxed centre, to the observer's right. [mm]
    y_mm : float
        Its pole from the boxed centre, upwards. [mm]

    Returns
    -------
    ThinnestPlace
        Least thickness [mm], its place from the boxed centre and its distance from the pole [mm].

    Raises
    ------
    DomainError
        If there are fewer than 3 points, a number is not finite, or a surface does not reach the outline.

    Source
    ------
    derived, a smooth function is least at its border or where it is level.
    """
    x, y = single_numbers(("x_mm", "y_mm"), x_mm, y_mm)
    outline, axes = checked_points(points), axes_of(SCALAR, single_lens(body))
    corners = turned(outline, axes, x, y)
    sides = np.roll(corners, -1, axis=1) - corners
    share = np.full(sides.shape[1], 0.5)
    try:
        for _ in range(_STEPS_ALONG_A_SIDE):  # Newton's steps along all sides at once
            by_q, by_p, by_qq, by_qp, by_pp = slopes(ARRAY, axes, *(corners + share * sides))
            rise = by_q * sides[0] + by_p * sides[1]
            bend = by_qq * sides[0] ** 2 + 2.0 * by_qp * sides[0] * sides[1] + by_pp * sides[1] ** 2
            step = np.divide(rise, bend, out=np.zeros_like(rise), where=bend > 0.0)
            share = np.clip(share - step, 0.0, 1.0)
        places = np.concatenate((corners, corners + share * sides), axis=1)
        edge = thickness(ARRAY, axes, *places)
    except ReachError as found:
        raise refused("points", found, outline[:, 0], outline[:, 1]) from None
    least = int(edge.argmin())
    best = (float(edge[least]), float(places[0, least]), float(places[1, least]))
    within = hollow(corners, axes)
    inside = within is not None and within[0] <= best[0]
    if within is not None and inside:
        best = within
    from_x, from_y = unturned(axes, best[1], best[2])
    return ThinnestPlace(best[0], x + from_x, y + from_y, math.hypot(from_x, from_y), inside)


def showing(*, edge_mm: Number, rim_depth_mm: Number, bevel_from_front_mm: Number) -> tuple[Number, Number]:
    """How far an edge shows in front of the rim and behind it, the bevel's apex sitting in the middle of the rim.

    Parameters
    ----------
    edge_mm : float or array
        Thickness of the edge, 0 or more. [mm]
    rim_depth_mm : float or array
        Depth of the rim from front to back, 0 or more. [mm]
    bevel_from_front_mm : float or array
        From the edge's front to the bevel's apex, 0 to the edge's thickness. [mm]

    Returns
    -------
    tuple of two floats or arrays
        What shows in front and what shows behind, each 0 or more. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, lengths along the edge.
    """
    library, edge, depth, bevel = numbers(
        ("edge_mm", "rim_depth_mm", "bevel_from_front_mm"), edge_mm, rim_depth_mm, bevel_from_front_mm
    )
    demand(edge >= 0.0, argument="edge_mm", rule=NOT_NEGATIVE, value=edge)
    demand(depth >= 0.0, argument="rim_depth_mm", rule=NOT_NEGATIVE, value=depth)
    within = (bevel >= 0.0) & (bevel <= edge)
    demand(within, argument="bevel_from_front_mm", rule=WITHIN_THE_EDGE, value=bevel)
    before, behind = bevel - depth / 2.0, edge - bevel - depth / 2.0
    return library.maximum(before, 0.0), library.maximum(behind, 0.0)


def _direction(x: float, y: float) -> float:
    turn = math.degrees(math.atan2(y, x)) % 360.0
    return turn if turn < 360.0 else 0.0  # the remainder of a last digit below 0 is 360
