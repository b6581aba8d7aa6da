"""The last of many steps that still is within a limit, where asking for a few at once takes hardly longer than for one."""

from collections.abc import Callable, Sequence
from math import floor, isnan, nan

_PARTS = 5  # into which the steps are divided at first


def last_within(steps: range, figures: Callable[[Sequence[int]], list[float]], most: float) -> int | None:
    """The last step whose figure is at most this, a few asked for at once; None if the first is beyond it.

    Whatever lies before a step within lies within, and nan lies beyond.
    """
    if not steps:
        return None
    low, high = steps.start - 1, steps.stop
    asked = sorted({steps.start + (len(steps) - 1) * part // _PARTS for part in range(_PARTS + 1)})
    at_low = at_high = nan
    while asked:
        for step, figure in zip(asked, figures(asked), strict=True):
            if not figure <= most:
                high, at_high = step, figure
                break
            low, at_low = step, figure
        asked = _near_crossing(low, high, (most - at_low) / (at_high - at_low) if at_high > at_low else nan)
    return None if low < steps.start else low


def _near_crossing(low: int, high: int, share: float) -> list[int]:
    """Steps between two: the middle, and those about the place to which a straight line points."""
    inside = range(low + 1, high)
    guess = low if isnan(share) else low + floor((high - low) * share)
    return sorted({step for step in (guess - 1, guess, guess + 1, guess + 2, (low + high) // 2) if step in inside})
