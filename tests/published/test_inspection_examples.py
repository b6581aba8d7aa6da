"""Printed examples on finished pairs, through the service: what a turned cylinder leaves, and where the axis bands come from.

The residual of a turned cylinder, 2 C sin e, is in the textbooks as 17 % of the cylinder at 5 degrees, 35 % at 10 and all of it
at 30 (handbook, formulas 1, `t1-residual-misaxis-1` to `-3`, derived there). The turn that leaves 0.12 D is the basis of the axis
bands in the OLA white paper on Z80.1-2005 (D. Torgersen 2006, [V:A7] in the handbook's standards 1).
"""

import json
from datetime import date
from math import asin, degrees
from typing import Any

import pytest
from published_answers import ROWS

from service.contract.inspect import EXAMPLE_INSPECTION, InspectAnswer, InspectRequest
from service.inspecting import inspect
from service.profile.loader import load

SHOP = load(None)
MISAXIS = [row for row in ROWS if row["id"].startswith("t1-residual-misaxis")]


def answered(cylinder_d: float, off_deg: float) -> InspectAnswer:
    """The example pair with a right cylinder whose axis is turned."""
    document: dict[str, Any] = json.loads(json.dumps(EXAMPLE_INSPECTION))
    lens = {"sphere": -1.0, "cylinder": cylinder_d, "axis": 60}
    document["ordered"]["prescription"]["right"] = lens
    document["measured"]["right"] = {**lens, "axis": 60 + off_deg}
    return inspect(InspectRequest.model_validate(document), SHOP, date(2026, 11, 25))


@pytest.mark.parametrize("row", MISAXIS, ids=lambda row: row["id"])
def test_a_turned_cylinder_leaves_the_printed_residual_and_no_mean_power(row: dict[str, Any]) -> None:
    inputs = row["inputs"]
    residual = answered(inputs["cylinder_d"], inputs["axis_error_deg"]).residual.right
    assert residual is not None
    printed = row["expected"]["residual_cylinder_d"]
    assert abs(residual.cylinder) == pytest.approx(printed, abs=1e-4)
    assert residual.sphere + residual.cylinder / 2 == pytest.approx(0, abs=1e-4)
    assert residual.length == pytest.approx(printed / 2, abs=1e-4)


def test_all_the_printed_residuals_are_there() -> None:
    assert [row["inputs"]["axis_error_deg"] for row in MISAXIS] == [5, 10, 30]


@pytest.mark.parametrize(("cylinder_d", "printed_deg"), [(0.25, 13.9), (0.50, 6.9), (0.75, 4.6)])
def test_the_turn_on_which_an_axis_band_rests_leaves_an_eighth_and_just_passes(
    cylinder_d: float, printed_deg: float
) -> None:
    """[V:A7]: asin(0.12 / 2 C); the bands are these turns in whole degrees, rounded up."""
    turn = degrees(asin(0.12 / (2 * cylinder_d)))
    assert turn == pytest.approx(printed_deg, abs=0.05)
    answer = answered(-cylinder_d, turn)
    assert answer.residual.right is not None
    assert abs(answer.residual.right.cylinder) == pytest.approx(0.12, abs=1e-4)
    (axis,) = [one for one in answer.checks if (one.eye, one.quantity) == ("right", "axis")]
    assert axis.result == "pass"
    assert axis.limit is not None
    assert 0 <= axis.limit - turn < 1
