"""The sheet as an answer: every figure is that of the check, the lensmeter readings are those of the lens, and what is not
known is null."""

import copy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet_cases import CASES, NEVER, SHOP, example, rejected, sheet_of

from optics_core.sphero_cylinder import power_in_meridian
from service.checking import check
from service.contract.order import EXAMPLE_ORDER, Order
from service.contract.sheet import BenchSheet, EyeSheet, SheetRequest

EYES = ("right", "left")


def with_right(**power: Any) -> dict[str, Any]:
    order: dict[str, Any] = copy.deepcopy(EXAMPLE_ORDER)
    order["prescription"]["right"] = power
    return order


def codes(sheet: BenchSheet) -> list[str]:
    return [item.code for item in sheet.checklist]


@pytest.mark.parametrize("name", CASES)
def test_decision_findings_and_figures_are_those_of_the_check(name: str) -> None:
    sheet, answer = sheet_of(CASES[name]), check(Order.model_validate(CASES[name]), SHOP, NEVER)
    assert (sheet.decision, sheet.findings, sheet.assumptions) == (answer.decision, answer.findings, answer.assumptions)
    assert sheet.cautions == answer.cautions
    for eye in EYES:
        of_eye: EyeSheet | None = getattr(sheet, eye)
        assert (of_eye is None) == (answer.fit is None)
        fit = None if answer.fit is None else getattr(answer.fit, eye)
        if of_eye is None or fit is None:
            continue
        assert of_eye.pd_mm == fit.pd_mm
        assert of_eye.decentration_mm == fit.decentration_mm
        assert of_eye.blank is not None
        assert (of_eye.blank.diameter_mm, of_eye.blank.guaranteed_margin_mm) == (fit.blank_mm, fit.margin_mm)
        assert of_eye.blank.tightest == fit.tightest
        assert of_eye.blank.diameter_mm - of_eye.blank.needed_mm == pytest.approx(of_eye.blank.margin_mm, abs=2e-4)
        body = None if answer.thickness is None else getattr(answer.thickness, eye)
        if of_eye.body is not None:
            assert body is not None
            assert (of_eye.body.centre_mm, of_eye.body.weight_g) == (body.centre_mm, body.weight_g)
            if of_eye.body.thickest is not None:
                assert of_eye.body.thickest.mm == body.edge_mm.thickest.mm


# The convention of the lensmeter is common practice, as the handbook's optical cross has it: the lines of the sphere of a
# form are focused first, with the axis of that form; those of sphere + cylinder then.
def test_a_worked_example_reads_as_a_person_would_read_it() -> None:
    right = sheet_of(with_right(sphere=-2.25, cylinder=-0.75, axis=10)).right
    assert right is not None
    assert right.lensmeter is not None
    minus, plus = right.lensmeter.minus, right.lensmeter.plus
    assert (minus.first, minus.second, minus.axis) == (-2.25, -3.0, 10)
    assert (plus.first, plus.second, plus.axis) == (-3.0, -2.25, 100)


quarters = st.integers(-32, 32).map(lambda count: count / 4)


@given(sphere=quarters, cylinder=quarters.filter(lambda value: abs(value) <= 6), axis=st.integers(1, 180))
@settings(max_examples=60, deadline=None)
def test_the_readings_are_the_principal_powers_of_the_lens(sphere: float, cylinder: float, axis: int) -> None:
    right = sheet_of(with_right(sphere=sphere, cylinder=cylinder, axis=axis)).right
    assert right is not None
    assert right.lensmeter is not None
    for reading, sign in ((right.lensmeter.minus, -1), (right.lensmeter.plus, 1)):
        if not cylinder:
            assert (reading.first, reading.second, reading.axis) == (sphere, None, None)
            continue
        assert reading.second is not None
        assert reading.axis is not None
        assert reading.second - reading.first == sign * abs(cylinder)
        for turn, seen in ((0.0, reading.first), (90.0, reading.second)):
            along = power_in_meridian(
                sphere_d=sphere, cylinder_d=cylinder, axis_deg=float(axis), meridian_deg=reading.axis + turn
            )
            assert along == pytest.approx(seen, abs=1e-9)


def test_prism_is_told_in_two_parts_with_its_bases() -> None:
    order = with_right(sphere=-2.0, prism=[{"amount": 2, "base": "out"}, {"amount": 1.5, "base": "up"}])
    sheet = sheet_of(order)
    assert sheet.right is not None
    assert sheet.right.prism is not None
    assert (sheet.right.prism.horizontal, sheet.right.prism.vertical) == (pytest.approx(-2.0), pytest.approx(1.5))
    assert sheet.left is not None
    assert sheet.left.prism is None
    assert next(item for item in sheet.checklist if item.code == "centre-distance").words.count("reference points")


def test_a_power_that_is_not_settled_is_no_figure_to_cut() -> None:
    for name in ("intermediate", "cylinder-without-axis"):
        sheet = sheet_of(CASES[name])
        unsettled = [eye for eye in (sheet.right, sheet.left) if eye is not None and eye.power_from == "not-settled"]
        assert unsettled, name
        for eye in unsettled:
            assert eye.prescribed
            assert eye.notation is eye.minus_cylinder is eye.plus_cylinder is eye.lensmeter is eye.body is None


def test_a_reading_pair_is_cut_to_distance_plus_addition_and_centred_for_near() -> None:
    order = CASES["reading-pair"]
    sheet = sheet_of(order)
    assert sheet.right is not None
    assert sheet.right.power_from == "distance-plus-add"
    assert sheet.right.pd_for == "near"
    assert sheet.right.add is None
    assert sheet.right.minus_cylinder is not None
    written = order["prescription"]["right"]
    assert sheet.right.minus_cylinder.sphere == written["sphere"] + written["add"]
    assert sheet.right.prescribed != sheet.right.notation


def test_without_heights_they_are_not_invented() -> None:
    sheet = sheet_of(CASES["bifocal-with-prism"])
    assert sheet.right is not None
    assert sheet.right.height_mm is None
    assert sheet.right.decentration_mm is not None
    assert sheet.right.decentration_mm.up is None
    assert "measure" in next(item for item in sheet.checklist if item.code == "heights").words


def test_advice_is_that_of_the_drawing() -> None:
    turned, shifted, plain = (sheet_of(CASES[name]).right for name in ("turned", "shifted", "plain"))
    assert turned is not None
    assert turned.advice is not None
    assert turned.advice.turned
    assert turned.advice.prism is None
    assert shifted is not None
    assert shifted.advice is not None
    answer = check(Order.model_validate(CASES["shifted"]), SHOP, NEVER)
    assert answer.fit is not None
    assert answer.fit.right is not None
    assert answer.fit.right.placement is not None
    assert answer.fit.right.placement.this_blank is not None
    assert shifted.advice.shift_mm == answer.fit.right.placement.this_blank.shift_mm
    assert shifted.advice.prism == answer.fit.right.placement.this_blank.prism
    assert plain is not None
    assert plain.advice is None


def test_the_orders_own_profile_is_in_force_for_the_advice() -> None:
    order = {**CASES["turned"], "lens": {**CASES["turned"]["lens"], "blank_diameter_mm": 80}}
    gains = [sheet_of({**order, "profile": {"placement": {"turn_gain_mm": least}}}).right for least in (0.5, 10.0)]
    assert gains[0] is not None
    assert gains[1] is not None
    assert (gains[0].advice is not None, gains[1].advice is not None) == (True, False)


@pytest.mark.parametrize("rim", ["full", "grooved", "drilled"])
@pytest.mark.parametrize(("material", "is_glass"), [("polycarbonate", False), ("crown-glass", True)])
def test_the_checklist_depends_on_material_and_rim(material: str, is_glass: bool, rim: str) -> None:
    order = copy.deepcopy(EXAMPLE_ORDER)
    order["lens"]["material"], order["frame"]["rim"] = material, rim
    sheet = sheet_of(order)
    assert codes(sheet) == [
        "markings", "safety-bevel", "fit-in-rim", "power-and-axis", "centre-distance", "heights", "impact-resistance",
        "alignment", "cleaning", "dust", "coolant", *(["glass"] if is_glass else []), "sharp-edges",
    ]  # fmt: skip
    impact = next(item for item in sheet.checklist if item.code == "impact-resistance")
    assert "where US law applies" in impact.words
    assert "local law" in impact.words
    assert ("each finished glass lens by itself" in impact.words) == is_glass
    assert ("sample of each batch" in impact.words) == (not is_glass)
    # The rule is one of performance: no thickness is claimed from it.
    assert "mm" not in impact.words
    assert impact.source.endswith("[21-cfr-801.410]")
    assert sheet.edging is not None
    assert (sheet.edging.drilling is None) == (rim != "drilled")
    assert sheet.edging.mark == "practice"


def test_the_distance_of_the_centres_is_told_with_the_limits_of_the_standard_in_force() -> None:
    # ANSI Z80.1-2015, mounted single vision: 0.67 prism dioptres or 2.5 mm (handbook, standards.md 1.5).
    words = next(item for item in sheet_of(EXAMPLE_ORDER).checklist if item.code == "centre-distance").words
    assert "63.50 mm wanted" in words
    assert "2.5 mm or 0.67 Δ" in words


def test_an_order_that_cannot_be_worked_with_has_its_findings_and_nothing_to_cut() -> None:
    sheet = sheet_of(CASES["not-understood"])
    assert sheet.decision == "reject"
    assert sheet.findings
    assert sheet.cautions
    assert sheet.right is sheet.left is sheet.pair is sheet.edging is None
    assert sheet.checklist == []


def test_the_size_of_the_page_changes_nothing_in_the_answer() -> None:
    for order in (EXAMPLE_ORDER, rejected()):
        assert sheet_of(order, "a4") == sheet_of(order, "letter")


def test_an_edge_is_told_from_the_centre_line_and_the_nose() -> None:
    """A minus lens decentred in is thickest towards the temple, as the drawing of every textbook has it."""
    sheet = sheet_of(EXAMPLE_ORDER)
    for eye in (sheet.right, sheet.left):
        assert eye is not None
        assert eye.body is not None
        assert eye.body.thickest is not None
        assert eye.body.thickest.side == "temporal"
        assert eye.body.thinnest is not None
        assert eye.body.thinnest.side == "nasal"
        assert -90 <= eye.body.thickest.above_deg <= 90


def test_mirrored_orders_have_mirrored_sheets() -> None:
    order = example("everyday-pair")
    swapped = copy.deepcopy(order)
    for part in (swapped["prescription"], swapped["pd_mm"], swapped["fitting_height_mm"]):
        part["right"], part["left"] = part["left"], part["right"]
    for eye in EYES:
        if "axis" in swapped["prescription"][eye]:
            swapped["prescription"][eye]["axis"] = 180 - swapped["prescription"][eye]["axis"]
    one, other = sheet_of(order), sheet_of(swapped)
    assert one.right is not None
    assert other.left is not None
    assert one.right.decentration_mm == other.left.decentration_mm
    assert one.right.body is not None
    assert other.left.body is not None
    assert (one.right.body.thickest, one.right.body.centre_mm) == (other.left.body.thickest, other.left.body.centre_mm)


def test_the_example_of_the_request_is_one() -> None:
    for given_example in SheetRequest.model_json_schema()["examples"]:
        assert SheetRequest.model_validate(given_example).page == "a4"
