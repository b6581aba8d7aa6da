"""Power of a finished lens against its order, in the convention of a named standard.

A sphero-cylinder is three numbers, and standards do not agree which three are compared. One convention writes both
lenses with a minus cylinder and compares sphere, cylinder and axis, each with a band of its own. Another compares the
powers of the two principal meridians, like with like, and takes the band from the meridian of the higher power. Only
the look-up of bands is common to the two; which meridian governs is settled apart for each. Neither depends on the
form, plus or minus cylinder, in which order or measurement are written.

Deviation is measured less ordered, converging power positive; of an axis it is the smaller turn, counter-clockwise
positive. A limit is a size and holds for either sign. A deviation just at the limit is within it. Where a maker states
the power that a focimeter should read (verification power), that is what is ordered.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

from optics_core._lens import SpheroCylinder
from optics_core._numeric import single_numbers
from optics_core._tolerance_rows import Row, demand_lens_type, row_in_force, settled, single_minus_form
from optics_core.errors import DomainError
from optics_core.tolerance import LensType, tolerances

Unit: TypeAlias = Literal["D", "deg", "pd", "mm"]

_UNITS: Mapping[str, Unit] = {"limit_d": "D", "limit_deg": "deg", "limit_pd": "pd", "limit_mm": "mm"}
_LISTED = ("segment", "fitting_cross", "physical")


@dataclass(frozen=True, slots=True)
class Limit:
    """One row of a standard's table as it is in force for one order: its size, where it is from, how it is known."""

    size: float
    unit: Unit
    source: str
    mark: Literal["read", "memory"]
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """One quantity, ordered and measured, and its limit; None where the standard sets none. [D or deg]"""

    quantity: str
    ordered: float
    measured: float
    deviation: float
    limit: Limit | None

    @property
    def share(self) -> float | None:
        """Part of the limit that the deviation uses up, 1 at the limit; None without a limit."""
        return None if self.limit is None else settled(abs(self.deviation) / self.limit.size)

    @property
    def within(self) -> bool | None:
        """Whether the deviation is no more than the limit; None without a limit."""
        return None if self.share is None else self.share <= 1.0


def power_comparisons(
    *, standard: str, lens: LensType, ordered: SpheroCylinder, measured: SpheroCylinder
) -> tuple[Comparison, ...]:
    """Everything the standard compares of one lens's power: two powers, the cylinder's and its axis.

    The axis is left out where order or measurement have no cylinder, and has no limit where the ordered cylinder is
    below the least for which the standard sets one.

    Parameters
    ----------
    standard : str
        One of `tolerance.standards()`.
    lens : "single_vision" or "progressive"
        Kind of lens; multifocals count as single vision.
    ordered : SpheroCylinder
        Power as ordered, in either form. [D, deg]
    measured : SpheroCylinder
        Power as measured, in either form. [D, deg]

    Returns
    -------
    tuple of Comparison
        Sphere, cylinder and axis of the minus-cylinder form, or both principal meridians (the one of higher ordered
        power first; of two alike the more plus), cylinder and axis. [D, deg]

    Raises
    ------
    DomainError
        If there is no table for that standard, the kind of lens is neither of the two, a number is not a single finite
        one, or a cylinder other than 0 has no axis.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, sections sphere, power, cylinder and axis.
    """
    table = tolerances(standard=standard)
    demand_lens_type(lens)
    compared = _as_minus_cylinder if table["cylinder_form"] == "minus" else _as_principal_powers
    return compared(table, lens, single_minus_form(ordered), single_minus_form(measured))


def add_comparison(*, standard: str, ordered_d: float, measured_d: float) -> Comparison:
    """The addition of one lens, measured against ordered.

    Parameters
    ----------
    standard : str
        One of `tolerance.standards()`.
    ordered_d : float
        Addition as ordered. [D]
    measured_d : float
        Addition as measured. [D]

    Returns
    -------
    Comparison
        The addition with its limit. [D]

    Raises
    ------
    DomainError
        If there is no table for that standard, or a number is not a single finite one.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, section add.
    """
    table = tolerances(standard=standard)
    ordered, measured = single_numbers(("ordered_d", "measured_d"), ordered_d, measured_d)
    row = row_in_force(table["add"], kind={}, sizes={"max_d": ordered})
    return _comparison("add", ordered, measured, _limit(row, ordered))


def deviation_of_axis(*, ordered_deg: float, measured_deg: float) -> float:
    """The smaller turn from the ordered axis to the measured one: 178 to 3 is 5 counter-clockwise.

    Parameters
    ----------
    ordered_deg : float
        Axis as ordered; half turns do not matter. [deg]
    measured_deg : float
        Axis as measured; half turns do not matter. [deg]

    Returns
    -------
    float
        Turn, counter-clockwise positive, above -90 and at most 90. [deg]

    Raises
    ------
    DomainError
        If a number is not a single finite one.

    Source
    ------
    derived, an axis is the same after half a turn; iso-8429, direction of angles.
    """
    ordered, measured = single_numbers(("ordered_deg", "measured_deg"), ordered_deg, measured_deg)
    turn = settled((measured - ordered + 90.0) % 180.0 - 90.0)
    return turn if turn > -90.0 else 90.0  # the same turn


def listed_limit(*, standard: str, section: str, quantity: str) -> Limit | None:
    """A limit that depends on no power: of segments, of fitting crosses, of thickness and curves.

    Parameters
    ----------
    standard : str
        One of `tolerance.standards()`.
    section : "segment", "fitting_cross" or "physical"
        Section of the table.
    quantity : str
        Its name there, such as "height" or "centre_thickness".

    Returns
    -------
    Limit or None
        The limit; None where the table has none for that quantity. [mm, deg or D]

    Raises
    ------
    DomainError
        If there is no table for that standard, or the section is none of the three.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, sections segment, fitting_cross and physical.
    """
    table = tolerances(standard=standard)
    if section not in _LISTED:
        raise DomainError("section", f"One of {', '.join(_LISTED)} is expected.", section)
    row = next((row for row in table.get(section, ()) if row["quantity"] == quantity), None)
    return None if row is None else _limit(row, 0.0)


def _as_minus_cylinder(
    table: Mapping[str, Any], lens: LensType, ordered: SpheroCylinder, measured: SpheroCylinder
) -> tuple[Comparison, ...]:
    """Sphere, cylinder and axis of the minus-cylinder form; the sphere's band is by the sphere, whichever is stronger."""
    kind = {"lens": lens}
    sphere = row_in_force(table["sphere"], kind=kind, sizes={"max_d": ordered.sphere_d})
    cylinder = row_in_force(table["cylinder"], kind=kind, sizes={"max_d": ordered.cylinder_d})
    return (
        _comparison("sphere", ordered.sphere_d, measured.sphere_d, _limit(sphere, ordered.sphere_d)),
        _comparison("cylinder", ordered.cylinder_d, measured.cylinder_d, _limit(cylinder, ordered.cylinder_d)),
        *_axes(table, ordered, measured),
    )


def _as_principal_powers(
    table: Mapping[str, Any], lens: LensType, ordered: SpheroCylinder, measured: SpheroCylinder
) -> tuple[Comparison, ...]:
    """Principal powers like with like, cylinder and axis; all bands are by the higher of the ordered powers."""
    kind = {"lens": lens}
    # In minus-cylinder form the sphere is the more plus of the two, so like meets like.
    pairs = [
        (ordered.sphere_d, measured.sphere_d),
        (ordered.sphere_d + ordered.cylinder_d, measured.sphere_d + measured.cylinder_d),
    ]
    if settled(abs(pairs[1][0])) > settled(abs(pairs[0][0])):
        pairs.reverse()
    stronger, weaker = pairs
    power = _limit(row_in_force(table["power"], kind=kind, sizes={"max_d": stronger[0]}), stronger[0])
    ends = {"max_power_d": stronger[0], "max_cylinder_d": ordered.cylinder_d}
    cylinder = _limit(row_in_force(table["cylinder"], kind=kind, sizes=ends), ordered.cylinder_d)
    return (
        _comparison("stronger_meridian", *stronger, power),
        _comparison("weaker_meridian", *weaker, power),
        _comparison("cylinder", ordered.cylinder_d, measured.cylinder_d, cylinder),
        *_axes(table, ordered, measured),
    )


def _axes(table: Mapping[str, Any], ordered: SpheroCylinder, measured: SpheroCylinder) -> tuple[Comparison, ...]:
    """The axis, where both have one; its band is by the ordered cylinder in either convention."""
    if ordered.axis_deg is None or measured.axis_deg is None:
        return ()
    limit = None
    if settled(abs(ordered.cylinder_d)) >= table["axis_least_cylinder_d"]:
        row = row_in_force(table["axis"], kind={}, sizes={"max_cylinder_d": ordered.cylinder_d})
        limit = _limit(row, ordered.cylinder_d)
    turn = deviation_of_axis(ordered_deg=ordered.axis_deg, measured_deg=measured.axis_deg)
    return (Comparison("axis", ordered.axis_deg, measured.axis_deg, turn, limit),)


def _comparison(quantity: str, ordered: float, measured: float, limit: Limit) -> Comparison:
    return Comparison(quantity, settled(ordered), settled(measured), settled(measured - ordered), limit)


def _limit(row: Row, ordered_d: float) -> Limit:
    """The row's limit; a part in a hundred is of the ordered power."""
    known = row["source"], row["mark"], row.get("remark", "")
    if "limit_percent" in row:
        return Limit(settled(abs(ordered_d) * row["limit_percent"] / 100.0), "D", *known)
    size, unit = next((row[name], unit) for name, unit in _UNITS.items() if name in row)
    return Limit(size, unit, *known)
