"""Words that several texts share: sides, heights, ways in and up, and the standard that sets a limit."""

from typing import Literal

from optics_core.tolerance import PrismLimits


def side(in_mm: float) -> Literal["nasal", "temporal"]:
    """On which side of the boxed centre a place lies that is so far in from it; straight above or below is nasal."""
    return "nasal" if in_mm >= 0 else "temporal"


def height(above_deg: float) -> str:
    """How a direction from the boxed centre stands to the horizontal, as in "13° below the centre line"."""
    return f"{abs(above_deg):.0f}° {'above' if above_deg >= 0 else 'below'} the centre line"


def in_and_up(in_: float, up: float, unit: str) -> str:
    """A shift or a prism in both dimensions, as in "1.20 mm in and 0.50 mm down"; in and up are positive."""
    return f"{abs(in_):.2f} {unit} {'in' if in_ >= 0 else 'out'} and {abs(up):.2f} {unit} {'up' if up >= 0 else 'down'}"


def named(standard: PrismLimits) -> str:
    """The tolerance standard by name; limits that were not read in it are to be looked up before they are relied on."""
    from_memory = " (its limits are from memory here: look them up)" if standard.mark == "memory" else ""
    return f"{standard.standard}{from_memory}"
