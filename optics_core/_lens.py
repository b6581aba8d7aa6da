# mypy: disable-error-code="no-any-return"
"""What the modules on sphere, cylinder and axis share: the lens as written, its checks, its turns.

Signs as in `optics_core.sphero_cylinder`. A lens without a cylinder has no axis: None for single numbers, nan
within arrays; the formulas then see any axis at all, for a cylinder of 0 it makes no difference.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from optics_core._numeric import demand, numbers
from optics_core.errors import DomainError

AN_AXIS = "A cylinder other than 0 needs an axis: a finite number of degrees."
LENS = ("sphere_d", "cylinder_d", "axis_deg")


@dataclass(frozen=True, slots=True)
class SpheroCylinder:
    """A thin lens as written. [D, D, deg]; arrays of one shape where arrays were given."""

    sphere_d: float
    cylinder_d: float
    axis_deg: float | None


def checked_lens(names: tuple[str, ...], sphere_d: Any, cylinder_d: Any, axis_deg: Any, *more: Any) -> tuple[Any, ...]:
    """Library, checked sphere, cylinder and axis, and what more was given; `names` begins with LENS."""
    if type(axis_deg) is float:
        return numbers(names, sphere_d, cylinder_d, axis_deg, *more)
    if axis_deg is None:
        library, sphere, cylinder, axis, *rest = numbers(names, sphere_d, cylinder_d, 0.0, *more)
        if not library.all(cylinder == 0.0):
            raise DomainError("axis_deg", AN_AXIS, None)
        return (library, sphere, cylinder, axis, *rest)
    if isinstance(axis_deg, np.ndarray) and axis_deg.dtype.kind == "f":
        axis_deg = _axis_where_needed(sphere_d, cylinder_d, axis_deg)
    return numbers(names, sphere_d, cylinder_d, axis_deg, *more)


def _axis_where_needed(sphere_d: Any, cylinder_d: Any, axis_deg: Any) -> Any:
    """Within arrays nan stands for no axis: refused beside a cylinder, 0 beside none."""
    missing = np.isnan(axis_deg)
    filled = np.where(missing, 0.0, axis_deg)
    _, _, cylinder, shaped = numbers(LENS, sphere_d, cylinder_d, filled)
    allowed = ~np.broadcast_to(missing, np.shape(shaped)) | (cylinder == 0.0)
    demand(allowed, argument="axis_deg", rule=AN_AXIS, value=np.broadcast_to(axis_deg, np.shape(shaped)))
    return filled


def vector_parts(library: Any, sphere: Any, cylinder: Any, axis: Any) -> tuple[Any, Any, Any]:
    """M = S + C/2, J0 = -(C/2) cos 2A, J45 = -(C/2) sin 2A."""
    sine, cosine = library.sine_and_cosine(2.0 * axis)
    half = cylinder / -2.0
    return sphere - half, half * cosine + 0.0, half * sine + 0.0


def matrix_parts(library: Any, sphere: Any, cylinder: Any, axis: Any) -> tuple[Any, Any, Any]:
    """The power matrix's xx, xy and yy: M + J0, J45, M - J0."""
    mean, j0, j45 = vector_parts(library, sphere, cylinder, axis)
    return mean + j0, j45, mean - j0


def within_half_turn(library: Any, axis: Any) -> Any:
    """The same axis in (0, 180]."""
    # An axis already in range is kept as it is: the remainder would cost its last digits.
    turned = axis % 180.0
    return library.where((axis > 0.0) & (axis <= 180.0), axis, library.where(turned > 0.0, turned, 180.0))


def quarter_turned(library: Any, axis: Any) -> Any:
    """An axis of (0, 180] turned by 90, in the same range."""
    return library.where(axis <= 90.0, axis + 90.0, axis - 90.0)
