# mypy: disable-error-code="no-any-return"
"""The least value of one figure within many convex bounds, found from the inside.

Each bound is v Q v + J v + c <= 0 with a Q that a whole family of bounds shares: discs of one size about many
points are such a family, straight borders one with a Q of 0. Every bound has a price; at the best place the prices
balance the figure to be lessened, and price times room is 0 for each bound. Newton's steps solve for both, with
price times room = mu and mu ever smaller, and are cut short of the first border (a primal-dual interior-point
method). All places on the way lie within the bounds, and so does what is returned, whatever rounding does.

There are no units and no signs of the trade here: callers scale their figures to be about 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from optics_core._numeric import Array

# Some 15 to 25 steps are usual; the end is for figures that rounding keeps from settling.
_MOST_STEPS = 100
_SHORT_OF_BORDER = 0.99
# Prices times room, in all, and what the prices may leave unbalanced.
_SMALL_GAP = 1e-13
_BALANCED = 1e-9


@dataclass(frozen=True, slots=True)
class Family:
    """Bounds with one curvature: v Q v + slopes v + constants <= 0, one bound a row."""

    curvature: Array
    slopes: Array
    constants: Array


def least_within(*, families: list[Family], start: Array) -> Array:
    """The v whose last figure is least within all bounds; `start` lies within them with room to each."""
    slopes = np.concatenate([family.slopes for family in families])
    constants = np.concatenate([family.constants for family in families])
    ends = np.cumsum([0] + [len(family.constants) for family in families])
    curved = [
        (slice(ends[k], ends[k + 1]), family.curvature) for k, family in enumerate(families) if family.curvature.any()
    ]
    cost = np.zeros_like(start)
    cost[-1] = 1.0
    v, prices, aim = start, np.zeros_like(constants), 0.1
    ahead = start
    for count in range(_MOST_STEPS):
        gradients, values = slopes.copy(), slopes @ ahead + constants
        for rows, curvature in curved:
            bent = curvature @ ahead
            values[rows] += ahead @ bent
            gradients[rows] += 2.0 * bent
        room = -values
        if room.min() <= 0.0:  # rounding has carried the step across a border: the place before it stands
            break
        v = ahead
        if count == 0:
            prices = 1.0 / (len(room) * room)
        gap = float(prices @ room)
        if gap <= _SMALL_GAP and float(np.abs(cost + prices @ gradients).max()) <= _BALANCED:
            break
        hessian = (gradients.T * (prices / room)) @ gradients
        for rows, curvature in curved:
            hessian += (2.0 * float(prices[rows].sum())) * curvature
        mu = aim * gap / len(room)
        step = _solution(hessian, -(cost + (mu / room) @ gradients))
        along = gradients @ step
        price_step = (mu + prices * along) / room - prices
        bend = np.zeros_like(room)
        for rows, curvature in curved:
            bend[rows] = max(float(step @ curvature @ step), 0.0)
        # The inverse of how many such steps lead to each border, and to the first price of 0.
        nearness = (along + np.sqrt(along * along + 4.0 * bend * room)) / (2.0 * room)
        nearest = max(float(nearness.max()), float((-price_step / prices).max()))
        length = 1.0 if nearest <= _SHORT_OF_BORDER else _SHORT_OF_BORDER / nearest
        ahead, prices = v + length * step, prices + length * price_step
        aim = 0.05 if length > 0.9 else 0.3 if length > 0.3 else 0.7
    return v


def _solution(matrix: Array, right: Array) -> Array:
    """Of a linear system; the shortest where a direction is free, which a regular solver cannot give."""
    try:
        solved: Any = np.linalg.solve(matrix, right)
    except np.linalg.LinAlgError:
        solved = np.linalg.lstsq(matrix, right, rcond=None)[0]
    return solved
