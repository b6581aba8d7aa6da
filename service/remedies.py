"""Changes that would take a finding away, found by solving with the core, rounded to the safe side."""

from math import ceil, floor

from service.contract.answer import Remedy
from service.contract.order import LARGEST_BLANK_MM
from service.facts import EyePlace, OrderFacts
from service.facts_frame import largest_frame
from service.profile.loader import Limits

_BLANK_STEP_MM = 0.5
_FRAME_STEP_MM = 0.1
_SLACK = 1e-9


def larger_blank_than(diameter_mm: float) -> list[Remedy]:
    """A blank of at least this diameter, rounded up to the half millimetre; none if there are no such blanks."""
    least = ceil(diameter_mm / _BLANK_STEP_MM - _SLACK) * _BLANK_STEP_MM
    return [Remedy("/lens/blank_diameter_mm", at_least=least)] if least <= LARGEST_BLANK_MM else []


def smaller_frame(facts: OrderFacts, place: EyePlace, limits: Limits) -> list[Remedy]:
    """The largest A of a frame of the same proportions, and the largest DBL, with which this blank is sure to do."""
    if place.blank_mm is None:
        return []
    usual, largest = limits.profile.frame, largest_frame((place,), facts.frame, place.blank_mm)
    offers = (
        ("/frame/a_mm", largest.a_mm, usual.a_least_mm, facts.frame.a_mm),
        ("/frame/dbl_mm", largest.dbl_mm, usual.dbl_least_mm, facts.frame.dbl_mm),
    )
    # A frame smaller than any is no help; one that would have to be larger is not what is offered here.
    return [
        Remedy(pointer, at_most=_down(most))
        for pointer, most, least, now in offers
        if most is not None and least <= most < now
    ]


def narrower_frame(facts: OrderFacts, place: EyePlace, limits: Limits, most_in_mm: float) -> list[Remedy]:
    """The largest A, and the largest DBL, with which the pupil sits no further inward than this."""
    usual, less = limits.profile.frame, 2 * (place.in_mm - most_in_mm)
    offers = (
        ("/frame/a_mm", facts.frame.a_mm - less, usual.a_least_mm),
        ("/frame/dbl_mm", facts.frame.dbl_mm - less, usual.dbl_least_mm),
    )
    return [Remedy(pointer, at_most=_down(most)) for pointer, most, least in offers if most >= least]


def wider_frame(facts: OrderFacts, place: EyePlace, limits: Limits, most_out_mm: float) -> list[Remedy]:
    """The smallest A, and the smallest DBL, with which the pupil sits no further outward than this."""
    usual, more = limits.profile.frame, 2 * (-place.in_mm - most_out_mm)
    offers = (
        ("/frame/a_mm", facts.frame.a_mm + more, usual.a_most_mm),
        ("/frame/dbl_mm", facts.frame.dbl_mm + more, usual.dbl_most_mm),
    )
    return [Remedy(pointer, at_least=_up(least)) for pointer, least, most in offers if least <= most]


def _up(size_mm: float) -> float:
    return round(ceil(size_mm / _FRAME_STEP_MM - _SLACK) * _FRAME_STEP_MM, 1)


def _down(size_mm: float) -> float:
    return round(floor(size_mm / _FRAME_STEP_MM + _SLACK) * _FRAME_STEP_MM, 1)
