"""What the modules on tolerances share: which row of a table is in force, and figures settled before they are compared.

Bands are by size, of either sign. A row holds up to its max_*, that value included; a row without one is the last.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any, get_args

from optics_core._lens import LENS, SpheroCylinder
from optics_core._numeric import single_numbers
from optics_core.errors import DomainError
from optics_core.sphero_cylinder import minus_cylinder
from optics_core.tolerance import LensType

Row = Mapping[str, Any]

# Figures of the trade have two or three decimals; nine keep them and drop what binary fractions leave behind.
_DECIMALS = 9


def settled(value: float) -> float:
    """The figure that is meant: 2.38 - 2.25 is 0.13, which it is not in binary."""
    return round(value, _DECIMALS) + 0.0


def row_in_force(rows: Iterable[Row], *, kind: Mapping[str, str], sizes: Mapping[str, float]) -> Row:
    """The first row of that kind whose ends, of those named in `sizes`, are not passed."""
    return next(
        row
        for row in rows
        if all(row.get(name, word) == word for name, word in kind.items())
        and all(settled(abs(size)) <= row.get(end, math.inf) for end, size in sizes.items())
    )


def demand_lens_type(lens: Any) -> None:
    if lens not in get_args(LensType):
        raise DomainError("lens", "Either single_vision or progressive is expected.", lens)


def single_minus_form(lens: SpheroCylinder) -> SpheroCylinder:
    """One lens, checked, in minus-cylinder form."""
    # Arrays are refused here, by name; the axis may be missing, and is left to the check of lenses.
    for name in LENS:
        if getattr(lens, name) is not None:
            single_numbers((name,), getattr(lens, name))
    return minus_cylinder(sphere_d=lens.sphere_d, cylinder_d=lens.cylinder_d, axis_deg=lens.axis_deg)
