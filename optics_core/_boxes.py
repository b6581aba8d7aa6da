"""Sums and ranges that boxing and the limits of a blank share; the physics stands in `optics_core.boxing`.

Lengths in mm; in (nasal) and up are positive.
"""

from __future__ import annotations

from typing import Any

from optics_core._numeric import demand

ABOVE_ZERO = "A length above 0 mm is expected."
NOT_NEGATIVE = "A length of 0 mm or more is expected."
NOT_BELOW_BOX = "ED is at least the larger of A and B."
NOT_ABOVE_DIAGONAL = "ED is at most the diagonal of the box, the square root of A squared + B squared."

# An ED taken from the boxed sizes themselves may differ from them in its last binary digits.
_ROUNDING = 1e-12


def inward_offset(a: Any, dbl: Any, pd: Any) -> Any:
    """From the boxed centre to the pupil, in positive: half the frame PD less the PD of the eye."""
    return (a + dbl) / 2.0 - pd


def at_most(library: Any, ed: Any, inward: Any, upward: Any, allowance: Any) -> Any:
    """Blank that is enough for every shape: the triangle inequality from the boxed centre."""
    return ed + 2.0 * library.hypot(inward, upward) + allowance


def farthest_of_rounded(library: Any, a: Any, b: Any, radius: Any, inward: Any, upward: Any) -> Any:
    """Greatest distance from a point to a rounded rectangle: through the centre of the opposite corner.

    `inward` and `upward` are the sizes of the offset, 0 or more; by symmetry its direction does not matter.
    """
    return library.hypot(a / 2.0 - radius + inward, b / 2.0 - radius + upward) + radius


def radius_of_corner(library: Any, a: Any, b: Any, ed: Any) -> Any:
    """Corner radius r of the rounded rectangle A x B with ED/2 = hypot(A/2 - r, B/2 - r) + r.

    With half sizes a, b, E the smaller root is (a + b - E) - sqrt(2 (E - a)(E - b)). It is written as the
    quotient of the roots' product by the larger root, which loses no digits near the diagonal, where r is 0.
    """
    half_a, half_b, half_ed = a / 2.0, b / 2.0, ed / 2.0
    half_diagonal = library.hypot(half_a, half_b)
    product = (half_diagonal - half_ed) * (half_diagonal + half_ed)
    # Within the allowed ED both factors are 0 or more, but for their last binary digit: hence the size.
    root = library.sqrt(2.0 * abs((half_ed - half_a) * (half_ed - half_b)))
    return product / (half_a + half_b - half_ed + root)


def radius_within_box(library: Any, a: Any, b: Any, ed: Any) -> Any:
    """The corner radius without a last binary digit below 0 or beyond half the smaller boxed size."""
    radius = library.maximum(radius_of_corner(library, a, b, ed), 0.0)
    return library.minimum(radius, library.minimum(a, b) / 2.0)


def demand_box(a: Any, b: Any) -> None:
    """Both boxed sizes are above 0."""
    demand(a > 0.0, argument="a_mm", rule=ABOVE_ZERO, value=a)
    demand(b > 0.0, argument="b_mm", rule=ABOVE_ZERO, value=b)


def demand_frame(a: Any, dbl: Any) -> None:
    """The boxed width is above 0 and the distance between lenses not below."""
    demand(a > 0.0, argument="a_mm", rule=ABOVE_ZERO, value=a)
    demand(dbl >= 0.0, argument="dbl_mm", rule=NOT_NEGATIVE, value=dbl)


def demand_ed(library: Any, a: Any, b: Any, ed: Any) -> None:
    """The boxed sizes are above 0 and ED is one that a shape of these sizes can have."""
    least, most = 1.0 - _ROUNDING, library.hypot(a, b) * (1.0 + _ROUNDING)
    if ((a > 0.0) & (b > 0.0) & (ed >= a * least) & (ed >= b * least) & (ed <= most)) is True:
        return  # a single order in good order: one look instead of four
    demand_box(a, b)
    demand(ed >= library.maximum(a, b) * least, argument="ed_mm", rule=NOT_BELOW_BOX, value=ed)
    demand(ed <= most, argument="ed_mm", rule=NOT_ABOVE_DIAGONAL, value=ed)


def demand_allowance(allowance: Any) -> None:
    """The allowance is not below 0."""
    demand(allowance >= 0.0, argument="allowance_mm", rule=NOT_NEGATIVE, value=allowance)


def demand_blank(blank: Any, allowance: Any) -> None:
    """The blank is above 0 and the allowance not below."""
    demand(blank > 0.0, argument="blank_mm", rule=ABOVE_ZERO, value=blank)
    demand_allowance(allowance)
