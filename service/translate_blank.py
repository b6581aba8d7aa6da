"""The blanks of an order: as named, or else the largest in stock, which is listed as an assumption."""

from service.contract.answer import Assumption
from service.contract.order import CentreOffset, Order
from service.profile.loader import Limits
from service.stocked import listed_blanks, stocked_diameters
from service.values import BlankValues, LensValues


def blank_values(order: Order, lens: LensValues, limits: Limits, assumptions: list[Assumption]) -> BlankValues:
    """Blanks named or assumed, those in stock, and how they lie."""
    listed = listed_blanks(limits.profile, lens.material)
    stocked = stocked_diameters(limits.profile, lens.material)
    largest = max(stocked, default=None)
    named = order.lens.blank_diameter_mm
    diameter = largest if named is None else named
    # Which one of a list is best follows from the place of the lens: the facts take it, and it is assumed then.
    if named is None and largest is not None and not listed:
        reason = f"No blank was named: the largest one stocked in {lens.material} was taken."
        assumptions.append(Assumption("/lens/blank_diameter_mm", largest, reason))
    blank = order.lens.blank
    right, left = blank.centre_offset_mm.right, blank.centre_offset_mm.left
    tells_top = "top_marked" in blank.model_fields_set or (named is None and listed)
    if (right is not None or left is not None) and not tells_top:
        reason = "Nothing was said of a marked top: a blank that may be turned was taken."
        assumptions.append(Assumption("/lens/blank/top_marked", "false", reason))
    return BlankValues(
        diameter_mm=diameter,
        right_mm=diameter,
        left_mm=diameter,
        named=named is not None,
        stocked_mm=stocked,
        largest_mm=largest,
        listed=listed,
        offset_right_mm=_offset(right),
        offset_left_mm=_offset(left),
        top_marked=("right", "left") if blank.top_marked else (),
    )


def _offset(given: CentreOffset | None) -> tuple[float, float] | None:
    return None if given is None else (given.in_, given.up)
