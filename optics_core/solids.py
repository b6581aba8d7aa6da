# mypy: disable-error-code="no-any-return"
"""Many lens bodies at once: the least centre, the edge at every point and the volume, in one pass over all lenses.

The same lenses as in `optics_core.thickness` and `optics_core.volume`, without a call for each: the two of an order,
or one prescription in thousands of frames. What cannot be made is nan, so that one frame does not spoil a catalogue.

Signs: as in `optics_core.thickness`; places are told from the pole, x to the observer's right, y up. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from optics_core._body import axes_from, steep_first
from optics_core._numeric import ARRAY, SCALAR, Array
from optics_core._solid_table import (
    FEW,
    FRONT,
    LEAST_CENTRE,
    LEAST_EDGE,
    ForEach,
    demand_finite,
    given_centre,
    lens_table,
    outlines,
)
from optics_core._solids import cut, edges, is_wedged, least, thinnest_by_parabolas
from optics_core.centre_thickness import centre_for
from optics_core.errors import DomainError
from optics_core.thickness import LensBody
from optics_core.volume import lens_volume

# What makes edges and volumes: `_body`, or `_edges_only`.
_Body: TypeAlias = Callable[..., tuple[Array, Array]]

_EXACT_MM = 1e-10
_CROSSED_MM = 1e-9  # so much below 0 and more, and the surfaces cross
_SETTLED_MM = 1e-8  # the step after one as short as this would be a hundred times shorter
_ROUNDS = 60
_HALVINGS = 3  # sides of up to 96 mm
_TINY = 1e-300  # added to a difference of squares that may be 0


@dataclass(frozen=True, slots=True)
class Solids:
    """m lenses cut to outlines of n points. [D, mm, mm, 1, mm, 1, mm3, mm]; arrays of shape (m,), the edge (m, n).

    The indices count an outline's points from 0; of equals the first. Of a lens that cannot be made everything but
    its front power is nan, and its indices mean nothing. Where a centre that was given is too thin for the outline,
    the surfaces cross before they reach it: the edge is then negative there, and of the rest the volume alone is nan.
    """

    front_power_d: Array
    centre_mm: Array
    thinnest_mm: Array
    thinnest_index: npt.NDArray[np.intp]
    thickest_mm: Array
    thickest_index: npt.NDArray[np.intp]
    volume_mm3: Array
    edge_mm: Array


def lens_solids(
    x_mm: Array | Sequence[Array],
    y_mm: Array | Sequence[Array],
    *,
    sphere_d: ForEach,
    cylinder_d: ForEach,
    axis_deg: ForEach | None,
    index: ForEach,
    front_power_d: ForEach,
    prism_x_pd: ForEach,
    prism_y_pd: ForEach,
    least_centre_mm: ForEach,
    least_edge_mm: ForEach,
    centre_mm: ForEach | None = None,
    with_volume: bool = True,
) -> Solids:
    """Centre, edge and volume of m lenses, each cut to an outline of its own.

    Centre and edge are those of `centre_for` and `edge_profile` to 1e-9 mm. The volume is that of `lens_volume` to
    1e-5 of it for smooth outlines about the pole, to 1e-4 for any; sides longer than 12 mm are halved for it. Lenses
    with (c h)^2 above 0.8 (c the curvature of the more curved surface, h the distance of the farthest point) have the
    very volume of `lens_volume`, and its time; and a lens with prism that may be thinnest inside its outline has its
    centre from `centre_for`. Whatever lenses stand beside it, a lens has the same answer, to the last digits.

    No lens is refused for its size: it is nan where a surface does not reach the outline, where the front would
    focus within the lens, or where no centre gives the edge asked for.

    Parameters
    ----------
    x_mm : array of shape (m, n), or a sequence of m arrays
        Points of the outlines from the pole, to the observer's right. [mm]
    y_mm : array of shape (m, n), likewise
        The same points, upwards. [mm]
    sphere_d : float, or one for each
        Back vertex power in the meridian of the axis; like all that follows one for all lenses,
        or an array or a list with one for each. [D]
    cylinder_d : float, or one for each
        What is added to it across the axis, of either sign. [D]
    axis_deg : float, one for each, or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]
    index : float, or one for each
        Refractive index, above 1. [1]
    front_power_d : float, or one for each
        Power of the spherical front. [D]
    prism_x_pd : float, or one for each
        Ground prism, base towards the observer's right positive. [pd]
    prism_y_pd : float, or one for each
        Ground prism, base up positive. [pd]
    least_centre_mm : float, or one for each
        Least thickness of the centre, 0 or more. [mm]
    least_edge_mm : float, or one for each
        Least thickness of the edge, 0 or more. [mm]
    centre_mm : float, one for each, or None
        Thickness at the pole, 0 or more, taken as it is; None for the least that `centre_for` allows. [mm]
    with_volume : bool
        False leaves every volume nan, which takes a third less time; a lens whose surfaces reach every point, but not
        all of a long side between two, is then not told from others.

    Returns
    -------
    Solids
        The lenses, in the order given.

    Raises
    ------
    DomainError
        If a number is not finite or out of range, a cylinder other than 0 has no axis, or shapes do not go together.

    Source
    ------
    jalie-lens-talk, May-June 2023 p. 112, thickness identity; derived, the centre and the volume.
    """
    x, y = outlines(x_mm, y_mm)
    table = lens_table(
        x.shape[0], sphere_d, cylinder_d, axis_deg, index, front_power_d, prism_x_pd, prism_y_pd,
        least_centre_mm, least_edge_mm,
    )  # fmt: skip
    given = None if centre_mm is None else given_centre(x.shape[0], centre_mm)
    with np.errstate(all="ignore"):  # what cannot be made turns into nan by itself
        if given is None:
            centre, edge, volume = _by_rule(x, y, table, _body if with_volume else _edges_only)
        else:
            centre, (edge, volume) = given, (_body if with_volume else _edges_only)(x, y, table, given)
        solids = _summed_up(table[FRONT], centre, edge, volume)
        if math.isnan(least(volume)):
            demand_finite(x_mm=x, y_mm=y)
    if not with_volume:
        volume.fill(math.nan)
    return solids


# --- the centre -----------------------------------------------------------------------------------------------------


def _by_rule(x: Array, y: Array, table: Array, body: _Body) -> tuple[Array, Array, Array]:
    """Centre, edge and volume, the centre by the three rules of `centre_for`."""
    least_centre, least_edge = table[LEAST_CENTRE], table[LEAST_EDGE]
    axes = _axes(table, least_centre)
    wedged = is_wedged(axes)
    if not wedged and least(axes[1:3] - axes[0]) >= 0.0 and least(least_centre - least_edge) >= 0.0:
        return (least_centre.copy(), *body(x, y, table, least_centre, axes))  # nowhere thinner than at the pole
    each = np.arange(least_centre.size)
    worst = thinnest_by_parabolas(x, y, axes)
    centre = _served(table, least_centre, x[each, worst], y[each, worst])
    edge, volume = body(x, y, table, centre)
    for _ in range(_ROUNDS):  # mostly none: the parabolas name the right point
        worst = edge.argmin(axis=1)
        rows = np.flatnonzero(edge[each, worst] < least_edge - _EXACT_MM)
        if not rows.size:
            break
        at = rows, worst[rows]
        centre[rows] = _served(table[:, rows], centre[rows], x[at], y[at])
        edge[rows], volume[rows] = body(x[rows], y[rows], table[:, rows], centre[rows])
    else:
        centre[rows] = edge[rows] = math.nan
    if wedged:
        axes = _axes(table, centre)[:, :, 0]
        # Hollow at the pole, where the search of `centre_for` for a thinner place inside begins.
        rows = np.flatnonzero((axes[7:] != 0.0).any(axis=0) & (axes[1:3] > axes[0]).all(axis=0))
        if rows.size:
            centre[rows] = [_centre_with_hollow(x[row], y[row], table[:, row]) for row in rows.tolist()]
            edge[rows], volume[rows] = body(x[rows], y[rows], table[:, rows], centre[rows])
    return centre, edge, volume


def _axes(table: Array, centre: Array) -> Array:
    """The lenses as `cut` is told them."""
    if centre.size <= FEW:
        each = zip(table.T.tolist(), centre.tolist(), strict=True)
        return np.array([_axes_at(SCALAR, lens, middle) for lens, middle in each]).T[:, :, None]
    return np.array(_axes_at(ARRAY, table, centre))[:, :, None]


def _axes_at(library: Any, lens: Any, centre: Any) -> tuple[Any, ...]:
    sphere, cylinder, sine, index, front, prism_x, prism_y, _, _, cosine = lens
    along = sphere - _at_back(library, front, index, centre)
    axes = axes_from(library, index, front, along, along + cylinder, sine, cosine, centre, prism_x, prism_y)
    return (*axes[:3], -axes.q_y, axes.q_x, axes.q_y, centre, axes.wedge_p, axes.wedge_q)


def _at_back(library: Any, front: Any, index: Any, centre: Any) -> Any:
    """The front's power at the back vertex, as `front_at_back` has it; nan where it focuses within the lens."""
    weakening = 1.0 - centre / 1000.0 / index * front
    return front / library.where(weakening > 0.0, weakening, math.nan)


def _served(table: Array, centre: Array, x: Array, y: Array) -> Array:
    """The centres with which one point of each lens is thick enough, from those they have; none below the least."""
    if centre.size <= FEW:
        each = zip(table.T.tolist(), centre.tolist(), x.tolist(), y.tolist(), strict=True)
        return np.array([_centre_serving(SCALAR, _root, *one) for one in each])
    return np.asarray(_centre_serving(ARRAY, np.sqrt, table, centre, x, y))


def _root(value: float) -> float:
    return math.sqrt(value) if value >= 0.0 else math.nan


def _centre_serving(library: Any, root: Any, lens: Any, centre: Any, x: Any, y: Any) -> Any:
    """Newton's steps; only the back changes with the centre, and both its curvatures by the same.

    A sag z at h that belongs to a circle grows by (h^2 + z^2)^2 / (2 (h^2 - z^2)) with its curvature; a torus comes
    near enough for each step to leave less than a hundredth.
    """
    sphere, cylinder, sine, index, front, prism_x, prism_y, least_centre, least_edge, cosine = lens
    thousand = 1000.0 * (index - 1.0)
    along, across = x * cosine + y * sine, y * cosine - x * sine
    along_squared, across_squared = along * along, across * across
    h_squared = along_squared + across_squared
    curve = front / thousand
    rest = 10.0 * (prism_x * x + prism_y * y) / thousand - curve * h_squared / (
        1.0 + root(1.0 - curve * curve * h_squared)
    )
    step = math.inf
    for _ in range(_ROUNDS):
        arriving = _at_back(library, front, index, centre)
        back = (arriving - sphere) / thousand
        turned, steep, flat = steep_first(library, back, back - cylinder / thousand)
        q_squared = library.where(turned, across_squared, along_squared)
        sag = steep * q_squared / (1.0 + root(1.0 - steep * steep * q_squared))
        left = 1.0 - flat * sag
        bent = flat * (h_squared - q_squared)
        sag = (sag * (1.0 + left) + bent) / (1.0 + root(left * left - flat * bent))
        sag_squared = sag * sag
        both = h_squared + sag_squared
        growth = both * both / (2.0 * abs(h_squared - sag_squared) + _TINY)
        slope = 1.0 + arriving * arriving / (1000.0 * index * thousand) * growth
        before = centre
        centre = library.maximum(least_centre, centre + (least_edge - centre - sag - rest) / slope)
        step = abs(centre - before)
        if library.all((step <= _SETTLED_MM) | (step != step)):
            return centre
    return library.where(step <= _SETTLED_MM, centre, math.nan)


def _centre_with_hollow(x: Array, y: Array, lens: Array) -> float:
    sphere, cylinder, sine, index, front, prism_x, prism_y, least_centre, least_edge, cosine = lens.tolist()
    try:
        return centre_for(
            np.column_stack((x, y)),
            sphere_d=sphere, cylinder_d=cylinder, axis_deg=math.degrees(math.atan2(sine, cosine)), index=index,
            front_power_d=front, prism_x_pd=prism_x, prism_y_pd=prism_y, x_mm=0.0, y_mm=0.0,
            least_centre_mm=least_centre, least_edge_mm=least_edge,
        )  # fmt: skip
    except DomainError:  # all it was given is sound: there is no such lens
        return math.nan


# --- the body -------------------------------------------------------------------------------------------------------


def _body(x: Array, y: Array, table: Array, centre: Array, axes: Array | None = None) -> tuple[Array, Array]:
    """Edges and volumes."""
    axes = _axes(table, centre) if axes is None else axes
    edge, volume, rows = cut(x, y, axes)
    if rows.size:
        finer_x, finer_y = x[rows], y[rows]
        for _ in range(_HALVINGS):
            # A long side is two short ones; what is rough for its curves stays so.
            finer_x, finer_y = _halved_sides(finer_x), _halved_sides(finer_y)
            _, volume[rows], still = cut(finer_x, finer_y, axes[:, rows])
            rows, finer_x, finer_y = rows[still], finer_x[still], finer_y[still]
            if not rows.size:
                break
    for row in rows.tolist():
        volume[row] = _volume_with_care(x[row], y[row], table[:, row], float(centre[row]), edge[row])
    return edge, volume


def _edges_only(x: Array, y: Array, table: Array, centre: Array, axes: Array | None = None) -> tuple[Array, Array]:
    """Edges, and noughts for the volumes."""
    return edges(x, y, _axes(table, centre) if axes is None else axes), np.zeros(centre.size)


def _halved_sides(places: Array) -> Array:
    """The same outlines with the middle of every side as a point of its own."""
    finer = np.empty((places.shape[0], 2 * places.shape[1]))
    finer[:, ::2] = places
    finer[:, 1::2] = (places + np.roll(places, -1, axis=1)) / 2.0
    return finer


def _volume_with_care(x: Array, y: Array, lens: Array, centre: float, edge: Array) -> float:
    if not least(edge) >= -_CROSSED_MM:
        return math.nan
    sphere, cylinder, sine, index, front, prism_x, prism_y, _, _, cosine = lens.tolist()
    along, axis = sphere - _at_back(SCALAR, front, index, centre), math.degrees(math.atan2(sine, cosine))
    # A hair thicker, so that an edge of 0 is not taken for less.
    body = LensBody(index, front, along, along + cylinder, axis, centre + _CROSSED_MM, prism_x, prism_y)
    try:
        return lens_volume(np.column_stack((x, y)), body, x_mm=0.0, y_mm=0.0)
    except DomainError:  # a surface reaches the corners, but not all of a long side
        return math.nan


def _summed_up(front: Array, centre: Array, edge: Array, volume: Array) -> Solids:
    each = np.arange(centre.size)
    thinnest, thickest = edge.argmin(axis=1), edge.argmax(axis=1)
    thinnest_mm, thickest_mm = edge[each, thinnest], edge[each, thickest]
    if not least(np.minimum(thinnest_mm, volume)) >= 0.0:
        volume[thinnest_mm < -_CROSSED_MM] = 0.0
        impossible = np.isnan(thinnest_mm) | np.isnan(volume)
        centre[impossible] = edge[impossible] = math.nan
        thinnest_mm[impossible] = thickest_mm[impossible] = math.nan
        volume[impossible | (thinnest_mm < -_CROSSED_MM)] = math.nan
    return Solids(front, centre, thinnest_mm, thinnest, thickest_mm, thickest, volume, edge)
