"""Two ways to round, both harmless to what an order says.

Sums of decimal figures leave traces of binary arithmetic (72 - 31.7 - 31.7 is not exactly 8.6). Facts are *settled* to a
billionth, far below anything that can be measured, so that a figure exactly at its limit is judged to be at it. Answers
are *shown* with four decimals.
"""

SETTLED_DECIMALS = 9
_SHOWN_DECIMALS = 4


def settled(value: float) -> float:
    """The figure without traces of binary arithmetic."""
    # Most figures are whole eighths, and rounding is slow.
    return (value if (8.0 * value).is_integer() else round(value, SETTLED_DECIMALS)) + 0.0


def for_display(value: float) -> float:
    """The figure as an answer shows it."""
    return (value if (8.0 * value).is_integer() else round(value, _SHOWN_DECIMALS)) + 0.0


def shown_if_any(value: float | None) -> float | None:
    """The figure as an answer shows it, or None where there is none."""
    return None if value is None else for_display(value)
