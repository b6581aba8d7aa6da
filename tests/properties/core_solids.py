"""A lens as a solid, by another road than optics_core: implicit equations of sphere and torus, and root finding.

A line parallel to the lens's axis is cut with each surface; where it meets them is searched for, not computed. Nothing
here uses optics_core.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

SCAN = np.linspace(-1.0, 1.0, 65)


@dataclass(frozen=True, slots=True)
class Solid:
    """A lens from its prescription; the back powers by tracing a parallel pencil through the front."""

    sphere_d: float
    cylinder_d: float
    axis_deg: float
    index: float
    front_power_d: float
    centre_mm: float
    prism_x_pd: float = 0.0
    prism_y_pd: float = 0.0

    def back_radius(self, vertex_power_d: float) -> float:
        """Radius of the back, in mm, positive for a hollow one; light is followed from surface to surface."""
        metres = self.centre_mm / 1000
        inside = math.inf if self.front_power_d == 0 else self.index / self.front_power_d  # focus behind the front, m
        at_back = self.index / (inside - metres)
        needed = vertex_power_d - at_back
        return math.inf if needed == 0 else 1000 * (self.index - 1) / -needed

    def thickness(self, x_mm: float, y_mm: float) -> float:
        front = 1000 * (self.index - 1) / self.front_power_d if self.front_power_d else math.inf
        along = self.back_radius(self.sphere_d)
        across = self.back_radius(self.sphere_d + self.cylinder_d)
        place = complex(x_mm, y_mm) / complex(
            math.cos(math.radians(self.axis_deg)), math.sin(math.radians(self.axis_deg))
        )
        back = torus_depth(along, across, place.real, place.imag)
        wedge = (self.prism_x_pd * x_mm + self.prism_y_pd * y_mm) / 100 / (self.index - 1)
        return self.centre_mm + back - torus_depth(front, front, x_mm, y_mm) + wedge


def torus_depth(along_mm: float, across_mm: float, u: float, v: float) -> float:
    """Depth of a torus under its vertex plane at (u, v), its two radii given; the smaller circle is turned.

    The torus is the set of points at distance r (the smaller radius) from a circle of radius |R - r|, which lies
    about a line through the centre of the larger circle; R and r count with their signs.
    """
    if abs(across_mm) < abs(along_mm) or (abs(across_mm) == abs(along_mm) and across_mm > along_mm):
        along_mm, across_mm, u, v = across_mm, along_mm, v, -u
    small, large = along_mm, across_mm
    if small < 0:
        return -torus_depth(-small, -large, u, v)
    if math.isinf(small):
        return 0.0
    if math.isinf(large):  # a cylinder
        return first_root(lambda z: u * u + (z - small) ** 2 - small * small, small)
    ring = abs(large - small)

    def outside(z: float) -> float:
        return (math.hypot(v, z - large) - ring) ** 2 + u * u - small * small

    return first_root(outside, small)


def first_root(function: Callable[[float], float], reach: float) -> float:
    """The first place from -reach to reach where one comes from outside into the solid, closed in upon.

    Below the vertex plane by the smaller radius one is outside a tyre, or in the hole of a pulley; no lens surface is
    deeper than that radius.
    """
    steps = (SCAN * reach).tolist()
    values = [function(step) for step in steps]
    found = next(i for i in range(len(values) - 1) if values[i] >= 0 > values[i + 1])
    return float(brentq(function, steps[found], steps[found + 1], xtol=1e-13, rtol=1e-14))
