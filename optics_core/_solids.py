# mypy: disable-error-code="no-any-return"
"""The edge and the volume of many lens bodies in one pass, unchecked: the sums behind `optics_core.solids`.

The volume is summed over triangles with their tip at the pole, as in `optics_core.volume`, but the surfaces are looked
at on the outline only. A section from the pole outwards is a circle, or nearly one. With z its sag at the distance h
and Y = z^2 / h^2, a circle's sag s, summed as s r dr from the pole to h and divided by h^2, comes to z (3 - Y) / 12.
A section of a torus departs from the circle that has its curvature c at the pole, by D = z - c h^2 (1 + Y) / 2; then
D (1 + Y (1 + C)) / 12 is taken away, C the square of the cosine of the section's angle to the more curved meridian:
right to the fourth power of h, for weak cylinders to the sixth. Along a side Simpson's rule takes both corners and the
middle.

Arrays are written over wherever a value is not needed again: much of the speed is in that. What cannot be is nan.

Signs: as in `optics_core._body`. The lenses are told by an array of shape (9, m, 1), whose order saves turning and
picking: curvature of the front, steep and flat curvature of the back, -q_y, q_x, q_y, centre, wedge by p and by q.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from optics_core._numeric import Array

_AT_ONCE = 3_500  # points; the largest array then stays below 128 kB, beyond which memory is often fetched anew
# What the sum below answers for: the square of the longest side in mm2, and (c h)^2 as in `share_of_reach`.
_LONG_SIDE_SQUARED = 144.0
_MOST_REACH = 0.8
_TINY = 1e-300  # added to the square of a distance, which may be 0


class Cut(NamedTuple):
    """Edges (m, n), volumes (m,), and which lenses need more places for their volume than were taken here."""

    edge: Array
    volume: Array
    rough: npt.NDArray[np.intp]


def least(values: Array) -> float:
    """The least of all, nan if one is; for a few values several times faster than `min`."""
    return float(values.item(values.argmin()))


def most(values: Array) -> float:
    """The greatest of all, nan if one is."""
    return float(values.item(values.argmax()))


def edges(x: Array, y: Array, axes: Array) -> Array:
    """The edges alone, of shape (m, n), the same as those of `cut`."""
    places = np.empty((2, *x.shape))
    _turned_to_axes(x, y, axes, places)
    p, q = places
    wedge = axes[7] * p + axes[8] * q if is_wedged(axes) else None
    _, sags = _sags_at(axes, *_squared(places, axes))
    thickness = sags[1] - sags[0]
    if wedge is not None:
        thickness += wedge
    thickness += axes[6]
    return thickness


def cut(x: Array, y: Array, axes: Array) -> Cut:
    """The lenses cut to their outlines, whose points are told from the pole; a thickness may come out negative."""
    many, count = x.shape
    step = max(1, _AT_ONCE // count)
    if many <= step:
        return _cut(x, y, axes)
    starts = range(0, many, step)
    parts = [_cut(x[at : at + step], y[at : at + step], axes[:, at : at + step]) for at in starts]
    rough = [part.rough + at for part, at in zip(parts, starts, strict=True)]
    return Cut(
        np.concatenate([part.edge for part in parts]),
        np.concatenate([part.volume for part in parts]),
        np.concatenate(rough),
    )


def _cut(x: Array, y: Array, axes: Array) -> Cut:
    count = x.shape[1]
    places = _corners_and_middles(x, y, axes)
    p, q = places
    half_turns = q[:, :count] * p[:, count + 1 :]  # the signed area of each triangle
    half_turns -= p[:, :count] * q[:, count + 1 :]
    wedge = axes[7] * p + axes[8] * q if is_wedged(axes) else None
    squares, flat_part = _squared(places, axes)
    rough = _rough(squares[0], count, axes[:2])
    bent, sags = _sags_at(axes, squares, flat_part)
    thickness = sags[1] - sags[0]
    if wedge is not None:
        thickness += wedge
    edge = thickness[:, :count] + axes[6]
    means = _means(squares, bent, sags)
    if wedge is not None:
        wedge *= 4.0  # a wedge grows as r: summed as r times r dr it comes to a third, here in twelfths
        means += wedge
    along = 4.0 * means[:, count + 1 :]
    along += means[:, :count]
    along += means[:, 1 : count + 1]
    along /= 36.0
    along += axes[6]
    return Cut(edge, abs(np.vecdot(half_turns, along)), rough)


def is_wedged(axes: Array) -> bool:
    """Whether any of the lenses has ground prism."""
    return most(abs(axes[7:])) > 0.0


def thinnest_by_parabolas(x: Array, y: Array, axes: Array) -> npt.NDArray[np.intp]:
    """Which point of each outline is thinnest, each sag taken for c h^2 / 2."""
    places = x * axes[3:5]
    places += y * axes[4:6]
    rises = places * places
    rises *= axes[2:0:-1] - axes[0]
    if is_wedged(axes):
        places *= axes[7:]
        places *= 2.0
        rises += places
    rises[0] += rises[1]
    return rises[0].argmin(axis=1)


def _corners_and_middles(x: Array, y: Array, axes: Array) -> Array:
    """Rows of p and of q, of shape (2, m, 2 n + 1): the corners, the first again, and the middles of the sides."""
    many, count = x.shape
    places = np.empty((2, many, 2 * count + 1))
    corners, middles = places[:, :, :count], places[:, :, count + 1 :]
    _turned_to_axes(x, y, axes, corners)
    places[:, :, count] = places[:, :, 0]
    np.add(corners, places[:, :, 1 : count + 1], out=middles)
    middles *= 0.5
    return places


def _turned_to_axes(x: Array, y: Array, axes: Array, places: Array) -> None:
    """Fills rows of p and of q."""
    np.multiply(x, axes[3:5], out=places)
    places += y * axes[4:6]


def _squared(places: Array, axes: Array) -> tuple[Array, Array]:
    """The squares of the distance from the pole and of q, and f p^2 of the flat curvature; the places are spent."""
    places *= places
    flat_part = axes[2] * places[0]
    places[0] += places[1]
    return places, flat_part


def _rough(distances: Array, count: int, curves: Array) -> npt.NDArray[np.intp]:
    """Lenses with a long side, or with a surface that is nearly half a ball at the edge."""
    # |a - b|^2 = 2 |a|^2 + 2 |b|^2 - 4 |(a + b) / 2|^2
    sides = distances[:, :count] + distances[:, 1 : count + 1]
    sides -= 2.0 * distances[:, count + 1 :]
    steepest = curves * curves
    if 2.0 * most(sides) <= _LONG_SIDE_SQUARED and most(steepest) * most(distances) <= _MOST_REACH:
        return np.empty(0, np.intp)
    reach = steepest.max(axis=0)[:, 0] * distances.max(axis=1)
    return np.flatnonzero((2.0 * sides.max(axis=1) > _LONG_SIDE_SQUARED) | (reach > _MOST_REACH))


def _sags_at(axes: Array, squares: Array, flat_part: Array) -> tuple[Array, Array]:
    """c h^2 of each surface, and front and back sag, `spherical` and `toric` of `_body`."""
    curves, flat = axes[:2], axes[2]
    bent = curves * squares  # of the back S q^2, until the flat part is added
    sags = curves * bent
    np.subtract(1.0, sags, out=sags)
    np.sqrt(sags, out=sags)
    sags += 1.0
    np.divide(bent, sags, out=sags)
    # `toric` says s (1 + left) + f p^2 over 1 + root with left = 1 - f s and root^2 = left^2 - f^2 p^2. Call the
    # numerator N, then root^2 = 1 - f N.
    back = sags[1]
    root = flat * back
    np.subtract(2.0, root, out=root)
    back *= root
    back += flat_part
    np.multiply(flat, back, out=root)
    np.subtract(1.0, root, out=root)
    np.sqrt(root, out=root)
    root += 1.0
    back /= root
    bent[1] += flat_part
    return bent, sags


def _means(squares: Array, bent: Array, sags: Array) -> Array:
    """Twelve times the sums from the pole outwards, back less front; `bent` is c h^2 of each surface. All is spent."""
    squares[0] += _TINY
    distances, q_squared = squares
    ratios = sags * sags
    ratios /= distances
    means = 3.0 - ratios
    means *= sags
    share = ratios[1]  # of the back
    q_squared /= distances
    q_squared += 1.0
    q_squared *= share
    q_squared += 1.0
    share += 1.0
    share *= bent[1]
    share *= 0.5
    share -= sags[1]
    share *= q_squared  # what the torus departs from a circle, with its sign turned
    share += means[1]
    share -= means[0]
    return share
