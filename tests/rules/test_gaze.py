"""Prism between unlike lenses when both eyes look aside: Prentice's rule at each lens [long-1976], worked out by hand."""

from desk import LATER, SHOP, Edits, edited

from service.checking import check
from service.contract.answer import GazePrism
from service.contract.order import Order


def across(edits: Edits) -> list[GazePrism]:
    answer = check(Order.model_validate(edited(edits)), SHOP, LATER)
    assert answer.prism is not None
    return answer.prism.across


def test_lenses_much_alike_are_not_spoken_of() -> None:
    assert across({"/prescription/left/sphere": -3.75}) == []


def test_unlike_lenses_make_prism_in_every_direction_but_none_for_the_pair_sideways_alike() -> None:
    # -2.00 D before the right eye, -5.00 D before the left, 10 mm from the centres: 2 pd and 5 pd. Looking down, a minus lens
    # has its base down; looking to the wearer's right the right eye's base is out (2 pd), the left eye's in (5 pd).
    found = {
        one.gaze: (one.away_mm, one.horizontal, one.vertical) for one in across({"/prescription/left/sphere": -5.0})
    }
    assert found == {
        "right": (10.0, 3.0, 0.0),
        "left": (10.0, -3.0, 0.0),
        "up": (10.0, 0.0, -3.0),
        "down": (10.0, 0.0, 3.0),
    }
