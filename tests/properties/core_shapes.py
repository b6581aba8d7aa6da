"""Random lens shapes as polygons, brought to a box: brute geometry to hold the closed forms against.

Nothing here uses optics_core: a shape is a cloud of corners, its box and its farthest corner are found by looking.
"""

import math
from collections.abc import Callable

import numpy as np

Points = np.ndarray
Maker = Callable[[np.random.Generator], Points]


def star(rng: np.random.Generator) -> Points:
    """Star-shaped and jagged: any radius at any direction."""
    turn = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(5, 60)))
    radius = rng.uniform(0.2, 1.0, turn.size)
    return np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])


def smooth(rng: np.random.Generator) -> Points:
    """A real lens's kind of outline: a circle with a few harmonics."""
    turn = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    radius = np.ones_like(turn)
    for harmonic in range(2, 6):
        radius += rng.uniform(0, 0.15) * np.cos(harmonic * turn + rng.uniform(0, 2 * np.pi))
    return np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])


def convex(rng: np.random.Generator) -> Points:
    """Corners in convex position: directions sorted, sides laid head to tail, the sum closed."""
    sides = rng.normal(size=(rng.integers(4, 30), 2))
    sides -= sides.mean(axis=0)
    order = np.argsort(np.arctan2(sides[:, 1], sides[:, 0]))
    return np.cumsum(sides[order], axis=0)


def tangled(rng: np.random.Generator) -> Points:
    """Not even simple: the bounds speak of the farthest point only, so they hold for any cloud."""
    return rng.normal(size=(rng.integers(4, 40), 2))


MAKERS: tuple[Maker, ...] = (star, smooth, convex, tangled)


def boxed(points: Points, a_mm: float, b_mm: float) -> Points:
    """The shape stretched and moved so that its box is A x B around the origin."""
    low, high = points.min(axis=0), points.max(axis=0)
    return (points - (low + high) / 2) / (high - low) * np.array([a_mm, b_mm])


def farthest(points: Points, x_mm: float, y_mm: float) -> float:
    return float(np.hypot(points[:, 0] - x_mm, points[:, 1] - y_mm).max())


def rounded_box(a_mm: float, b_mm: float, ed_mm: float, each_corner: int = 4000) -> Points:
    """A rectangle with round corners and that ED, the radius found by halving, the arcs by dense sampling."""
    a, b, reach = a_mm / 2, b_mm / 2, ed_mm / 2
    low, high = 0.0, min(a, b)
    for _ in range(200):
        radius = (low + high) / 2
        if math.hypot(a - radius, b - radius) + radius > reach:  # the farthest point falls as the corner is rounded
            low = radius
        else:
            high = radius
    turn = np.linspace(0, np.pi / 2, each_corner)
    x, y = a - radius + radius * np.cos(turn), b - radius + radius * np.sin(turn)
    return np.concatenate([np.column_stack([sx * x, sy * y]) for sx in (1, -1) for sy in (1, -1)])
