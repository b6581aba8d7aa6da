"""Two ways to round, both harmless to what an order says.

Sums of decimal figures leave traces of binary arithmetic (72 - 31.7 - 31.7 is not exactly 8.6). Facts are *settled* to a
billionth, far below anything that can be measured, so that a figure exactly at its limit is judged to be at it. Answers
are *shown* with four decimals.
"""

SETTLED_DECIMALS = 9
_SHOWN_DECIMALS = 4
# Below this a figure times a billion is a whole number that a float holds exactly, and its quotient is the float nearest
# to the decimal, as numpy has it; `round` goes through text, three times more slowly, and differs in ties alone.
_FAST_BELOW = 1e6


def settled(value: float) -> float:
    """The figure without traces of binary arithmetic."""
    if (8.0 * value).is_integer():  # as most figures are
        return value + 0.0
    if -_FAST_BELOW < value < _FAST_BELOW:
        return round(value * 1e9) / 1e9
    return round(value, SETTLED_DECIMALS)


def for_display(value: float) -> float:
    """The figure as an answer shows it."""
    if (8.0 * value).is_integer():
        return value + 0.0
    if -_FAST_BELOW < value < _FAST_BELOW:
        return round(value * 1e4) / 1e4
    return round(value, _SHOWN_DECIMALS)


def shown_if_any(value: float | None) -> float | None:
    """The figure as an answer shows it, or None where there is none."""
    return None if value is None else for_display(value)
