"""How prescribed prism could be made: shown beside the findings, never done. Prentice's rule is written out by hand."""

from typing import Any

import pytest
from desk import ADD_L, ADD_R, BLANK, LATER, SHOP, Edits, L, R, edited, findings, mirrored

from service.checking import check
from service.contract.order import Order
from service.contract.prescribed import PrescribedPrismAnswer

PRISM_R, PRISM_L = f"{R}/prism", f"{L}/prism"


def prism(*parts: tuple[float, Any]) -> list[dict[str, Any]]:
    return [{"amount": amount, "base": base} for amount, base in parts]


def prescribed(edits: Edits, *, mirror: bool = False) -> PrescribedPrismAnswer:
    document = edited(edits)
    found = check(Order.model_validate(mirrored(document) if mirror else document), SHOP, LATER).prism
    assert found is not None
    assert found.prescribed is not None
    return found.prescribed


def test_without_prescribed_prism_there_is_nothing_to_make() -> None:
    found = check(Order.model_validate(edited({})), SHOP, LATER).prism
    assert found is not None
    assert found.prescribed is None


def test_a_plus_lens_moves_towards_the_wanted_base_and_a_minus_lens_away() -> None:
    # t2-prentice-mrcophth-2 with another base: +4.00 and 2 prism dioptres, 5 mm towards the base.
    plus = prescribed({f"{R}/sphere": 4.0, PRISM_R: prism((2, "out"))}).right
    assert plus is not None
    assert plus.decentration_mm is not None
    assert (plus.decentration_mm.in_, plus.decentration_mm.up) == (-5.0, 0.0)
    minus = prescribed({f"{R}/sphere": -4.0, PRISM_R: prism((2, "up"))}).right
    assert minus is not None
    assert minus.decentration_mm is not None
    assert (minus.decentration_mm.in_, minus.decentration_mm.up) == (0.0, -5.0)


@pytest.mark.parametrize(
    ("blank", "allowed", "left"),
    [(70, 3.0, 0.8), (74, 5.0, 0.0), (76, 5.0, 0.0), (66, 1.0, 1.6), (64, 0.0, 2.0), (62, 0.0, 2.0)],
)
def test_what_the_blank_does_not_allow_is_left_to_grind(blank: float, allowed: float, left: float) -> None:
    # -4.00 and 2 base out: 5 mm in. At the pupil 64 mm are needed, 2 mm more for every millimetre in.
    found = prescribed({f"{R}/sphere": -4.0, PRISM_R: prism((2, "out")), BLANK: blank}).right
    assert found is not None
    assert found.allowed_mm is not None
    assert found.to_grind is not None
    assert (found.prism.horizontal, found.prism.vertical) == (-2.0, 0.0)
    assert (found.allowed_mm.in_, found.allowed_mm.up) == pytest.approx((allowed, 0.0), abs=1e-4)
    assert (found.to_grind.horizontal, found.to_grind.vertical) == pytest.approx((-left, 0.0), abs=1e-4)


@pytest.mark.parametrize(("blank", "allowed", "left"), [(67, 7.5, 0.0), (62, 5.0, 1.0), (58, 3.0, 1.8), (57, 0.0, 3.0)])
def test_a_blank_that_does_only_on_the_way_allows_that_part_of_it(blank: float, allowed: float, left: float) -> None:
    # -4.00 and 3 base in: 7.5 mm out, from 3 mm in to 4.5 mm out of the boxed centre. At the pupil 64 mm are needed, on the
    # centre 58, at the end 67.
    found = prescribed({f"{R}/sphere": -4.0, PRISM_R: prism((3, "in")), BLANK: blank}).right
    assert found is not None
    assert found.allowed_mm is not None
    assert found.to_grind is not None
    assert (found.allowed_mm.in_, found.allowed_mm.up) == pytest.approx((-allowed, 0.0), abs=1e-4)
    assert (found.to_grind.horizontal, found.to_grind.vertical) == pytest.approx((left, 0.0), abs=1e-4)


@pytest.mark.parametrize(("blank", "word"), [(74, "Decentration can make all of it"), (70, "have the lenses surfaced")])
def test_where_decentration_makes_all_of_the_prism_a_finished_blank_may_do(blank: float, word: str) -> None:
    edits = {f"{R}/sphere": -4.0, PRISM_R: prism((2, "out")), BLANK: blank, "/lens/supply": "stock"}
    (finding,) = findings(edited(edits), "stock-lens-cannot-have-it")
    assert word in finding.message


@pytest.mark.parametrize("power", [{f"{R}/sphere": 0.0}, {f"{R}/sphere": 2.0, f"{R}/cylinder": -2.0, f"{R}/axis": 30}])
def test_a_meridian_without_power_makes_no_prism_and_all_is_left_to_grind(power: Edits) -> None:
    found = prescribed(power | {PRISM_R: prism((2, "in"))}).right
    assert found is not None
    assert (found.decentration_mm, found.reason) == (None, "no-power")
    assert found.to_grind == found.prism


def test_a_lens_with_a_reading_part_is_not_moved() -> None:
    edits = {"/lens/use": "bifocal", ADD_R: 2.0, ADD_L: 2.0, PRISM_R: prism((2, "in"))}
    found = prescribed(edits).right
    assert found is not None
    assert (found.decentration_mm, found.reason) == (None, "reading-part")
    assert found.to_grind == found.prism


def test_a_cylinder_without_axis_has_no_way_to_be_moved() -> None:
    found = prescribed({f"{R}/cylinder": -1.0, PRISM_R: prism((2, "in"))}).right
    assert found is not None
    assert (found.decentration_mm, found.reason) == (None, "power-not-read")


def test_an_oblique_cylinder_needs_a_way_that_is_not_along_the_base() -> None:
    # The prism of -2.50 +5.00 x 135 is sideways for a move upwards: t2-sphcyl-forum-135, 12 mm up make 3 base in.
    found = prescribed({f"{R}/sphere": -2.5, f"{R}/cylinder": 5.0, f"{R}/axis": 135, PRISM_R: prism((3, "in"))}).right
    assert found is not None
    assert found.decentration_mm is not None
    assert (found.decentration_mm.in_, found.decentration_mm.up) == pytest.approx((0.0, 12.0), abs=1e-4)


def test_the_effect_for_the_pair_is_shared_evenly() -> None:
    # Handbook, section 2: 5 up right and 1 down left are 3 up right and 3 down left. In and in add up.
    found = prescribed({PRISM_R: prism((5, "up"), (1, "in")), PRISM_L: prism((1, "down"), (3, "in"))})
    assert (found.shared.right.vertical, found.shared.left.vertical) == (3.0, -3.0)
    assert (found.shared.right.horizontal, found.shared.left.horizontal) == (2.0, 2.0)
    one = prescribed({PRISM_L: prism((4, "out"))})
    assert one.right is None
    assert (one.shared.right.horizontal, one.shared.left.horizontal) == (-2.0, -2.0)


def test_a_mirrored_order_is_answered_mirrored() -> None:
    edits = {f"{R}/sphere": -3.0, f"{L}/sphere": -3.0, PRISM_R: prism((3, "out"), (1, "up")), BLANK: 68}
    there, mirrored_there = prescribed(edits), prescribed(edits, mirror=True)
    assert there.right == mirrored_there.left
    assert mirrored_there.right is None


def test_prescribed_prism_still_goes_to_a_person() -> None:
    assert findings(edited({PRISM_R: prism((2, "in"))}), "prescribed-prism-not-in-fit")


@pytest.mark.parametrize(("amount", "reason"), [(25.0, None), (25.25, "no-power")])
def test_a_way_of_more_than_a_metre_is_none(amount: float, reason: str | None) -> None:
    found = prescribed({f"{R}/sphere": 0.25, PRISM_R: prism((amount, "in"))}).right  # 10 P / F = 1000 mm
    assert found is not None
    assert found.reason == reason
    assert (found.decentration_mm is None) == (reason is not None)
