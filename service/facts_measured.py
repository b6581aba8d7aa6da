"""What the readings of a finished pair come to: means and spreads, and which readings cannot be used."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from optics_core.prism import Prism
from optics_core.residual import Spread, mean_power, reading_spread
from optics_core.series import summary
from optics_core.sphero_cylinder import SpheroCylinder
from service.facts_prescription import prism_of
from service.rounding import settled
from service.values import EyeName
from service.values_measured import LensReadings, PairReadings, Readings

FaultKind = Literal["sphere-missing", "axis-missing", "axis-range", "counts-differ"]


@dataclass(frozen=True, slots=True)
class Figure:
    """Mean of the readings of one quantity, how many there were, and greatest less least; None for one."""

    mean: float
    count: int
    spread: float | None


@dataclass(frozen=True, slots=True)
class MeasuredPower:
    """Mean power of one lens, of how many readings, and how far they lie apart; None for one."""

    lens: SpheroCylinder
    count: int
    spread: Spread | None


@dataclass(frozen=True, slots=True)
class ReadingFault:
    """Readings that cannot be used, and why."""

    kind: FaultKind
    eye: EyeName
    pointer: str
    value: float | None


@dataclass(frozen=True, slots=True)
class MeasuredLens:
    """One lens as measured. What was not measured is None or absent.

    `prism_spread` is how far repeated readings lie apart, across and up, both 0 or more; None where each was read once.
    """

    eye: EyeName
    pointer: str
    power: MeasuredPower | None
    cylinder_found: bool
    prism: Prism | None
    prism_spread: Prism | None
    prism_count: int
    others: Mapping[str, Figure]
    fault: ReadingFault | None


@dataclass(frozen=True, slots=True)
class MeasuredPair:
    """The finished pair as measured."""

    right: MeasuredLens
    left: MeasuredLens
    centre_distance: Figure | None
    right_from_bridge: Figure | None
    left_from_bridge: Figure | None
    right_height: Figure | None
    left_height: Figure | None


def measured_pair(readings: PairReadings) -> MeasuredPair:
    """Means, spreads and faults of the readings of a pair."""
    return MeasuredPair(
        right=_lens(readings.right),
        left=_lens(readings.left),
        centre_distance=_figure(readings.centre_distances_mm),
        right_from_bridge=_figure(readings.right_from_bridge_mm),
        left_from_bridge=_figure(readings.left_from_bridge_mm),
        right_height=_figure(readings.right_heights_mm),
        left_height=_figure(readings.left_heights_mm),
    )


def _lens(readings: LensReadings) -> MeasuredLens:
    fault = _fault(readings)
    prism = None
    if readings.prism is not None:
        means = tuple((_mean(amounts), base) for amounts, base in readings.prism)
        prism = prism_of(readings.eye, means) or Prism(0.0, 0.0)
    return MeasuredLens(
        eye=readings.eye,
        pointer=readings.pointer,
        power=_power(readings) if fault is None and readings.spheres_d else None,
        cylinder_found=bool(readings.cylinders_d),
        prism=prism,
        prism_spread=_prism_spread(readings),
        prism_count=max((len(amounts) for amounts, _ in readings.prism or ()), default=1),
        others={name: figure for name, read in readings.others.items() if (figure := _figure(read)) is not None},
        fault=fault,
    )


def _fault(readings: LensReadings) -> ReadingFault | None:
    given = {"sphere": readings.spheres_d, "cylinder": readings.cylinders_d, "axis": readings.axes_deg}

    def fault(kind: FaultKind, member: str, value: float | None = None) -> ReadingFault:
        return ReadingFault(kind, readings.eye, f"{readings.pointer}/{member}", value)

    if not readings.spheres_d:
        return fault("sphere-missing", "sphere") if readings.cylinders_d or readings.axes_deg else None
    for axis in readings.axes_deg:
        if not 0 <= axis <= 180:
            return fault("axis-range", "axis", axis)
    if any(readings.cylinders_d) and not readings.axes_deg:
        return fault("axis-missing", "axis")
    if len({len(read) for read in given.values() if len(read) > 1}) > 1:
        return fault("counts-differ", "sphere")
    return None


def _power(readings: LensReadings) -> MeasuredPower:
    parts = (readings.spheres_d, readings.cylinders_d or (0.0,), readings.axes_deg or (0.0,))
    count = max(len(part) for part in parts)
    # One figure beside several of another holds for all of them.
    lenses = [
        SpheroCylinder(sphere, cylinder, axis if cylinder else None)
        for sphere, cylinder, axis in zip(
            *(part if len(part) == count else part * count for part in parts), strict=True
        )
    ]
    spread = reading_spread(lenses) if count > 1 else None
    return MeasuredPower(mean_power(lenses) if count > 1 else lenses[0], count, spread)


def _figure(read: Readings) -> Figure | None:
    if not read:
        return None
    series = summary(read)
    return Figure(settled(series.mean), len(read), settled(series.greatest - series.least) if len(read) > 1 else None)


def _prism_spread(readings: LensReadings) -> Prism | None:
    """The ranges of all components: those of different components do not belong together one by one, and add up."""
    if all(len(amounts) == 1 for amounts, _ in readings.prism or ()):
        return None
    ranges = [
        prism_of(readings.eye, ((summary(amounts).greatest - summary(amounts).least, base),))
        for amounts, base in readings.prism or ()
    ]
    known = [one for one in ranges if one is not None]
    return Prism(settled(sum(abs(one.x_pd) for one in known)), settled(sum(abs(one.y_pd) for one in known)))


def _mean(read: Readings) -> float:
    return settled(summary(read).mean)
