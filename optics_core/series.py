"""Readings one after another: their mean and spread, and whether they drift.

Each of a batch of pairs is measured, and how far off each figure is makes a series in the order of making. A machine
that wears, warms up or was set wrongly shows as a slope of that series. Any series has some slope by chance; the
straight line of least squares tells it together with its standard error, and how often readings that do not drift,
and scatter alike about their mean, would show one as steep. A slope is notable where that is seldom enough.

How often follows from Student's t, the slope over its standard error. With t = sqrt(n) tan(a), n being the degrees of
freedom, its density becomes that of cos^(n-1)(a), which partial integration turns into a sum of few terms.

That reckons with readings without steps. Three readings in whole steps of an instrument lie in a straight line by
chance far too often (7 times in 100 where they scatter by a step), so that their slope is told, but never notable.

The readings are of one quantity in one unit, whatever it is; a slope is positive where later readings are greater.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from optics_core._numeric import demand, single_numbers
from optics_core.errors import DomainError

READINGS = "At least 1 finite number is expected, in a single row."
WITHIN_REACH = "Readings up to 1000000 are expected."
RISING = "A place for each reading is expected, each above the one before."
A_CHANCE = "A chance above 0 and below 1 is expected."

LEAST_FOR_SLOPE = 3
LEAST_FOR_NOTABLE = 4

_FARTHEST = 1e6
# Readings no more different than this, or than this part of the greatest one, are equal but for rounding.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Series:
    """How many readings there are, their mean, sample standard deviation (None of a single one), least and greatest."""

    count: int
    mean: float
    spread: float | None
    least: float
    greatest: float


@dataclass(frozen=True, slots=True)
class Drift:
    """Slope from one place in the sequence to the next, its standard error, how often chance alone would do as much, and whether
    that is seldom enough to be told. The figures are None where there are too few readings."""

    per_step: float | None
    standard_error: float | None
    chance: float | None
    notable: bool


def summary(values: npt.ArrayLike) -> Series:
    """Mean, spread and extremes of some readings.

    Parameters
    ----------
    values : array of shape (n,)
        Readings of one quantity, at least 1. [any]

    Returns
    -------
    Series
        Count; mean; sample standard deviation, from n - 1, None below 2 readings; least; greatest. [any]

    Raises
    ------
    DomainError
        If there is no reading, or one is not finite or beyond 1e6.

    Source
    ------
    derived, the definitions of mean and sample standard deviation.
    """
    readings = _checked(values)
    mean = _mean(readings)
    # The mean of equal figures is that figure, and no mean lies outside: rounding must not say otherwise.
    mean = min(max(mean, min(readings)), max(readings))
    spread = None
    if len(readings) > 1:
        spread = math.sqrt(math.fsum((each - mean) ** 2 for each in readings) / (len(readings) - 1))
    return Series(len(readings), mean, spread, min(readings), max(readings))


def drift(values: npt.ArrayLike, *, places: npt.ArrayLike | None = None, most_chance: float = 0.01) -> Drift:
    """Whether readings rise or fall in the order in which they were made.

    Parameters
    ----------
    values : array of shape (n,)
        Readings of one quantity in their order, at least 1. [any]
    places : array of shape (n,) or None
        Where in the sequence each was made, rising; None where no place was left out. [1]
    most_chance : float
        A slope is notable where chance alone would make one as steep less often than this, above 0 and below 1.
        Where many series are looked at together, divide it by their number. [1]

    Returns
    -------
    Drift
        Slope and standard error [any, for a step of 1], both None below 3 readings; chance, 0 to 1 [1]; and whether
        the slope is notable, never below 4 readings.

    Raises
    ------
    DomainError
        If there is no reading, one is not finite or beyond 1e6, the places are not as many or do not rise, or the chance
        is out of range.

    Source
    ------
    derived, line of least squares over the places and two-sided test of its slope by Student's t with n - 2 degrees of
    freedom.
    """
    (most,) = single_numbers(("most_chance",), most_chance)
    demand(0.0 < most < 1.0, argument="most_chance", rule=A_CHANCE, value=most)
    readings = _checked(values)
    count = len(readings)
    at = _checked_places(places, count)
    if count < LEAST_FOR_SLOPE:
        return Drift(None, None, None, False)
    if max(readings) - min(readings) <= _ROUNDING * max(1.0, *map(abs, readings)):
        return Drift(0.0, 0.0, 1.0, False)
    mean, middle = _mean(readings), _mean(at)
    steps = math.fsum((place - middle) ** 2 for place in at)
    slope = math.fsum((place - middle) * (each - mean) for place, each in zip(at, readings, strict=True)) / steps
    left = math.fsum((each - mean - slope * (place - middle)) ** 2 for place, each in zip(at, readings, strict=True))
    error = math.sqrt(left / (count - 2) / steps)
    chance = chance_of_t(t=slope / error, freedom=count - 2) if error > 0.0 else 0.0
    return Drift(slope, error, chance, chance < most and count >= LEAST_FOR_NOTABLE)


def chance_of_t(*, t: float, freedom: int) -> float:
    """How often Student's t is at least so far from 0, to either side.

    Parameters
    ----------
    t : float
        Student's t. [1]
    freedom : int
        Degrees of freedom, 1 or more. [1]

    Returns
    -------
    float
        Chance, 0 to 1; below about 1e-15 it is lost in rounding. [1]

    Raises
    ------
    DomainError
        If t is not finite, or the degrees of freedom are not a whole number of 1 or more.

    Source
    ------
    derived, with t = sqrt(n) tan a the density is that of cos^(n-1) a, integrated by parts two powers at a time.
    """
    (given,) = single_numbers(("t",), t)
    if isinstance(freedom, bool) or not isinstance(freedom, int) or freedom < 1:
        raise DomainError("freedom", "A whole number of 1 or more is expected.", freedom)
    angle = math.atan2(abs(given), math.sqrt(freedom))
    sine, cosine = math.sin(angle), math.cos(angle)
    # The integral of cos^k from 0 to a is cos^(k-1) sin / k + (k-1)/k times that of cos^(k-2); over the one from 0 to
    # a right angle, `whole`, it is a sum that starts at k = 0 or 1 and ends at k = n - 1.
    power = (freedom - 1) % 2
    whole = 1.0 if power else math.pi / 2.0
    within = sine if power else angle / whole
    while power < freedom - 1:
        power += 2
        whole *= (power - 1) / power
        within += cosine ** (power - 1) * sine / (power * whole)
    return min(max(1.0 - within, 0.0), 1.0)


def _checked_places(places: npt.ArrayLike | None, count: int) -> list[float]:
    if places is None:
        return [float(place) for place in range(count)]
    at = _checked(places, "places")
    if len(at) != count or any(after <= before for before, after in pairwise(at)):
        raise DomainError("places", RISING, places)
    return at


def _checked(values: npt.ArrayLike, name: str = "values") -> list[float]:
    try:
        readings = np.asarray(values)
    except ValueError:  # rows of different lengths
        raise DomainError(name, READINGS, values) from None
    if readings.dtype.kind not in "iuf" or readings.ndim != 1 or readings.size < 1:
        raise DomainError(name, READINGS, values)
    readings = readings.astype(np.float64)
    for holds, rule in ((np.isfinite(readings), READINGS), (np.abs(readings) <= _FARTHEST, WITHIN_REACH)):
        if not holds.all():
            raise DomainError(name, rule, float(readings[~holds][0]))
    listed: list[float] = readings.tolist()
    return listed


def _mean(readings: list[float]) -> float:
    return math.fsum(readings) / len(readings)
