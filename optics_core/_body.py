# mypy: disable-error-code="no-any-return"
"""The lens body in its own axes, unchecked: what `surfaces`, `thickness` and `volume` share.

A place is told by q along the more curved meridian of the back and p across it, from the pole, in mm. In these
axes the back is a tyre without any turning, and only the squares of q and p matter to the sags.

Signs: curvatures in 1/mm, positive for the usual meniscus on both surfaces (front bulging, back hollow); a sag is
positive where the surface falls away from its vertex plane towards the eye; a wedge is positive towards its base.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from optics_core._numeric import ARRAY, SCALAR, Array, demand
from optics_core.errors import DomainError

ABOVE_1 = "A refractive index above 1 is expected."
NOT_NEGATIVE = "A thickness of 0 mm or more is expected."
BEFORE_ITS_FOCUS = "The front must not focus within the lens: 1 - thickness x front power / index is above 0."
REACH = "Both surfaces must reach the place; a sphere reaches no farther from its vertex than its radius."
A_SINGLE_LENS = "One lens at a time is expected, made of single numbers."
POINTS = "At least 3 points of 2 finite numbers each, x and y, are expected."

_CLOSE_MM = 1e-11
_ROUNDS = 20


class ReachError(ValueError):
    """There is no such place on a surface; `index` says where in the arrays, None for single numbers."""

    def __init__(self, index: int | None) -> None:
        super().__init__(index)
        self.index = index


class Axes(NamedTuple):
    """A body in its own axes: curvatures [1/mm], direction of q, thickness at the pole [mm], slope of the wedge [1]."""

    front: Any
    steep: Any
    flat: Any
    q_x: Any
    q_y: Any
    centre: Any
    wedge_q: Any
    wedge_p: Any


def curvature(power: Any, index: Any) -> Any:
    """F / (1000 (n - 1)), in 1/mm."""
    return power / (1000.0 * (index - 1.0))


def front_at_back(front: Any, index: Any, centre: Any) -> Any:
    """What the front's power has become at the back vertex: F1 / (1 - (t/n) F1), the thickness given in mm."""
    weakening = 1.0 - centre / 1000.0 / index * front
    demand(weakening > 0.0, argument="front_power_d", rule=BEFORE_ITS_FOCUS, value=front)
    return front / weakening


def steep_first(library: Any, along: Any, across: Any) -> tuple[Any, Any, Any]:
    """Whether the meridian across the axis is the more curved one, then the greater and the lesser curvature.

    Between equal and opposite curvatures the positive one goes first, so that the notation makes no difference.
    """
    first = (abs(across) > abs(along)) | ((abs(across) == abs(along)) & (across > along))
    return first, library.where(first, across, along), library.where(first, along, across)


def axes_of(library: Any, body: Any) -> Axes:
    """A body's own axes."""
    sine, cosine = library.sine_and_cosine(body.axis_deg)
    backs = body.back_along_d, body.back_across_d
    return axes_from(
        library, body.index, body.front_power_d, *backs, sine, cosine, body.centre_mm, body.prism_x_pd, body.prism_y_pd
    )


def axes_from(
    library: Any,
    index: Any,
    front: Any,
    back_along: Any,
    back_across: Any,
    sine: Any,
    cosine: Any,
    centre: Any,
    prism_x: Any,
    prism_y: Any,
) -> Axes:
    """The axes of a body told by its powers, the sine and cosine of its axis, its centre and its prism."""
    across_is_steep, steep, flat = steep_first(library, -curvature(back_along, index), -curvature(back_across, index))
    q_x, q_y = library.where(across_is_steep, -sine, cosine), library.where(across_is_steep, cosine, sine)
    hundred = 100.0 * (index - 1.0)
    x, y = prism_x / hundred, prism_y / hundred
    return Axes(curvature(front, index), steep, flat, q_x, q_y, centre, x * q_x + y * q_y, y * q_x - x * q_y)


def thicker_outwards(axes: Axes) -> bool:
    """Whether a single lens is nowhere thinner than at its pole: the tyre's sag grows with either curvature."""
    return bool(axes.flat >= axes.front and axes.steep >= axes.front and not (axes.wedge_q or axes.wedge_p))


def share_of_reach(axes: Axes, places: Array) -> float:
    """(c h)^2 of the most curved surface at the farthest place; below 1 both surfaces reach all places."""
    return max(axes.front * axes.front, axes.steep * axes.steep) * farthest_squared(places)


def turned(outline: Array, axes: Axes, x: float, y: float) -> Array:
    """Points about the boxed centre as rows of q and of p about a pole at (x, y)."""
    turn = np.array(((axes.q_x, axes.q_y), (-axes.q_y, axes.q_x)))
    return turn @ (outline - np.array((x, y))).T


def farthest_squared(places: Array) -> float:
    """Square of the distance from the pole to the farthest of places given in rows."""
    return float((places[0] * places[0] + places[1] * places[1]).max())


def unturned(axes: Axes, q: float, p: float) -> tuple[float, float]:
    """A place q, p as x and y from the pole."""
    return q * axes.q_x - p * axes.q_y, q * axes.q_y + p * axes.q_x


def spherical(library: Any, curve: Any, height_squared: Any) -> Any:
    """c h^2 / (1 + sqrt(1 - c^2 h^2)): the sphere's sag, in the form that loses no digits."""
    return curve * height_squared / (1.0 + _root(library, 1.0 - curve * curve * height_squared))


def toric(library: Any, steep: Any, flat: Any, q_squared: Any, p_squared: Any) -> Any:
    """The tyre's sag: the steep circle, swung about an axis through the centre of the flat one.

    At q the steep circle lies 1/f - s from that axis, s its sag and f the flat curvature; swung by p it comes
    to 1/f - z = sqrt((1/f - s)^2 - p^2). Written as a quotient by 1 + root, f may be 0.
    """
    if type(steep) is float and steep == flat:
        return spherical(library, steep, q_squared + p_squared)
    sag = spherical(library, steep, q_squared)
    left = 1.0 - flat * sag  # never below 0, for s <= 1/|steep| <= 1/|flat|
    root = _root(library, left * left - flat * flat * p_squared)
    return (sag * (1.0 + left) + flat * p_squared) / (1.0 + root)


def thickness(library: Any, axes: Axes, q: Any, p: Any) -> Any:
    """Centre + back sag - front sag + wedge."""
    q_squared, p_squared = q * q, p * p
    back = toric(library, axes.steep, axes.flat, q_squared, p_squared)
    front = spherical(library, axes.front, q_squared + p_squared)
    return axes.centre + (back - front) + (axes.wedge_q * q + axes.wedge_p * p)


def profile(outline: Array, axes: Axes, x: float, y: float) -> Array:
    """Thickness at each point of an outline about the boxed centre, the pole at (x, y)."""
    q, p = turned(outline, axes, x, y)
    try:
        return thickness(ARRAY, axes, q, p)
    except ReachError as found:
        raise refused("points", found, outline[:, 0], outline[:, 1]) from None


def slopes(library: Any, axes: Axes, q: Any, p: Any) -> tuple[Any, Any, Any, Any, Any]:
    """The thickness's derivatives by q and p, then its second ones by qq, qp and pp."""
    steep, flat, front = axes.steep, axes.flat, axes.front
    root = _root(library, 1.0 - steep * steep * q * q)
    left = 1.0 - flat * (steep * q * q / (1.0 + root))
    rest = _root(library, left * left - flat * flat * p * p)
    ball = _root(library, 1.0 - front * front * (q * q + p * p))
    lean, bend = steep * q / root, steep / root**3
    tilt_q, tilt_p, curl = left * lean / rest, flat * p / rest, front / ball
    by_qq = (left * bend - flat * lean * lean) / rest + flat * tilt_q * tilt_q / rest
    by_qp = flat * tilt_p * tilt_q / rest
    by_pp = flat * (1.0 + tilt_p * tilt_p) / rest
    return (
        tilt_q - curl * q + axes.wedge_q,
        tilt_p - curl * p + axes.wedge_p,
        by_qq - curl * (1.0 + curl * curl * q * q),
        by_qp - curl * curl * curl * q * p,
        by_pp - curl * (1.0 + curl * curl * p * p),
    )


def hollow(places: Array, axes: Axes) -> tuple[float, float, float] | None:
    """Where a single lens is thinnest away from its edge, within an outline given in q and p; None if at its edge.

    Newton's steps from the pole, shortened where they would leave the lens. The answer is thickness, q and p.
    """
    farthest = farthest_squared(places)
    q = p = 0.0
    for _ in range(_ROUNDS):
        try:
            by_q, by_p, by_qq, by_qp, by_pp = slopes(SCALAR, axes, q, p)
        except (ReachError, ZeroDivisionError):  # at the rim of a half ball the slope has no end
            return None
        size = by_qq * by_pp - by_qp * by_qp
        if by_qq <= 0.0 or size <= 0.0:
            return None  # not hollow there: a saddle or a hill has its thinnest place at the edge
        step_q, step_p = (by_qp * by_p - by_pp * by_q) / size, (by_qp * by_q - by_qq * by_p) / size
        while (q + step_q) ** 2 + (p + step_p) ** 2 > farthest and math.hypot(step_q, step_p) > _CLOSE_MM:
            step_q, step_p = step_q / 2.0, step_p / 2.0
        q, p = q + step_q, p + step_p
        if math.hypot(step_q, step_p) <= _CLOSE_MM:
            return (thickness(SCALAR, axes, q, p), q, p) if inside(places, q, p) else None
    return None


def single_lens(body: Any) -> Any:
    """The body, refused where it holds many lenses."""
    if isinstance(body.index, np.ndarray):
        raise DomainError("body", A_SINGLE_LENS, body)
    return body


def checked_points(points: npt.ArrayLike) -> Array:
    """The points of an outline as an array of floats of shape (n, 2)."""
    try:
        outline = np.asarray(points)
    except ValueError:  # rows of different lengths
        raise DomainError("points", POINTS, points) from None
    if outline.dtype.kind not in "iuf" or outline.ndim != 2 or outline.shape[0] < 3 or outline.shape[1] != 2:
        raise DomainError("points", POINTS, points)
    outline = outline.astype(np.float64)
    if not np.isfinite(outline).all():
        raise DomainError("points", POINTS, points)
    return outline


def refused(argument: str, found: ReachError, *places: Any) -> DomainError:
    """The error that names the place out of reach; arrays of places repeat along the last axis."""
    values = places
    if found.index is not None:
        values = tuple(np.ravel(place)[found.index % np.size(place)] for place in places)
    read = tuple(float(value) for value in values)
    return DomainError(argument, REACH, read if len(read) > 1 else read[0])


def _root(library: Any, rest: Any) -> Any:
    if type(rest) is float:
        if rest >= 0.0:
            return library.sqrt(rest)
        raise ReachError(None)
    if rest.size == 0 or rest.item(rest.argmin()) >= 0.0:
        return library.sqrt(rest)
    raise ReachError(int(rest.argmin()))


def inside(places: Array, q: float, p: float) -> bool:
    """Whether a place lies within an outline: a line from it to the right crosses an odd number of sides."""
    here_q, here_p = places
    there_q, there_p = np.roll(places, -1, axis=1)
    crossing = (here_p > p) != (there_p > p)
    from_q, from_p = here_q[crossing], here_p[crossing]
    at_q = from_q + (p - from_p) / (there_p[crossing] - from_p) * (there_q[crossing] - from_q)
    return bool(np.count_nonzero(q < at_q) % 2)
