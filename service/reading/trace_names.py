"""The names of the columns of a trace file: which of them make an outline, and in which unit.

One outline is x and y, or angle and radius, or radius alone. Every other column is set aside, and named.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from service.reading.trace_remarks import TraceRemark, named, quoted, trace_remark

Quantity = Literal["x", "y", "angle", "radius"]

_QUANTITIES: Final[dict[str, Quantity]] = {
    "x": "x",
    "y": "y",
    "angle": "angle",
    "angles": "angle",
    "theta": "angle",
    "θ": "angle",
    "radius": "radius",
    "radii": "radius",
    "r": "radius",
}
_RADIANS: Final = frozenset({"rad", "radian", "radians"})
_LENGTH_UNITS: Final = frozenset({"", "mm", "millimetre", "millimetres"})
_ANGLE_UNITS: Final = frozenset({"", "deg", "degree", "degrees", "°"}) | _RADIANS
# What may stand between a quantity and its unit: x_mm, x (mm), x [mm], x/mm, x-mm.
_BETWEEN: Final = re.compile(r"[\s_()\[\]/-]+")
_OUTLINES: Final[tuple[tuple[Quantity, ...], ...]] = (("x", "y"), ("angle", "radius"))


@dataclass(frozen=True, slots=True)
class Header:
    """What a header row names: the quantities that are read with their columns, and what is set aside."""

    line: int
    quantities: tuple[Quantity, ...]
    columns: tuple[int, ...]
    is_in_radians: bool
    set_aside: tuple[str, ...]
    faults: tuple[TraceRemark, ...] = ()


@dataclass(frozen=True, slots=True)
class _Name:
    quantity: Quantity
    unit: str

    @property
    def has_known_unit(self) -> bool:
        return self.unit in (_ANGLE_UNITS if self.quantity == "angle" else _LENGTH_UNITS)


def header_of(cells: Sequence[str], line: int) -> Header:
    """The header in a row of names."""
    meant = [_name(cell) for cell in cells]
    places: dict[Quantity, list[int]] = {}
    for at, name in enumerate(meant):
        if name is not None and name.has_known_unit:
            places.setdefault(name.quantity, []).append(at)
    whole = [quantities for quantities in _OUTLINES if places.keys() >= set(quantities)]
    if len(whole) > 1:
        names = "x and y, and as angle and radius"
        return _faulty(line, trace_remark("trace-file-two-outlines", line, names=names))
    foreign = next((cells[at] for at, name in enumerate(meant) if name is not None and not name.has_known_unit), None)
    if not whole and foreign is not None:
        return _faulty(line, trace_remark("trace-file-unit-not-known", line, said=quoted(foreign)))
    # A radius beside a lone x, y or angle is no outline that anybody would name so.
    used: tuple[Quantity, ...] = whole[0] if whole else ("radius",) if places.keys() == {"radius"} else ()
    if not used:
        return _faulty(line, trace_remark("trace-file-header-not-known", line, names=named(cells)))
    for quantity in used:
        if len(places[quantity]) > 1:
            names = named(cells[at] for at in places[quantity])
            return _faulty(line, trace_remark("trace-file-column-twice", line, quantity=quantity, names=names))
    columns = tuple(places[quantity][0] for quantity in used)
    angle = meant[columns[0]]
    return Header(
        line=line,
        quantities=used,
        columns=columns,
        is_in_radians=angle is not None and angle.unit in _RADIANS,
        set_aside=tuple(cell for at, cell in enumerate(cells) if at not in columns),
    )


def _name(cell: str) -> _Name | None:
    quantity, _, unit = _BETWEEN.sub("_", cell.lower()).strip("_").partition("_")
    return _Name(_QUANTITIES[quantity], unit) if quantity in _QUANTITIES else None


def _faulty(line: int, fault: TraceRemark) -> Header:
    return Header(line, (), (), False, (), (fault,))
