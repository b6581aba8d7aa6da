"""One good call of every public function of optics_core that takes numbers: the ground for claims about all of them."""

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

import numpy as np

from optics_core import boxing, frame_limits, outline, prism, sphero_cylinder, tolerance, vergence


@dataclass(frozen=True, slots=True)
class Call:
    """A function, numbers it can answer for, and what else it needs."""

    function: Callable[..., Any]
    numbers: dict[str, float]
    others: dict[str, Any]
    first: tuple[Any, ...] = ()

    @property
    def name(self) -> str:
        return self.function.__name__

    def answer(self, **changed: Any) -> Any:
        return self.function(*self.first, **self.others, **(self.numbers | changed))


LENS = {"sphere_d": -2.3, "cylinder_d": -0.85, "axis_deg": 17.0}
BOX = {"a_mm": 54.0, "b_mm": 40.0, "ed_mm": 58.0}
PLACE = {"in_mm": 3.5, "up_mm": 2.0, "allowance_mm": 2.0}
FRAME = BOX | {"dbl_mm": 18.0, "pd_mm": 31.5, "up_mm": 2.0, "allowance_mm": 2.0}
BLANK_PLACE = {
    "pd_mm": 31.5, "up_mm": 2.0, "offset_in_mm": 0.5, "offset_up_mm": -0.5, "blank_mm": 70.0, "allowance_mm": 2.0,
}  # fmt: skip
POINTS = np.array([[27.0, 1.0], [10.0, 20.0], [-27.0, 3.0], [-12.0, -20.0], [15.0, -16.0]])


def limits() -> tolerance.PrismLimits:
    return tolerance.mounted_prism_limits(standard="ansi-z80.1-2015", lens="single_vision")


def calls() -> list[Call]:
    lens_only = (
        sphero_cylinder.transposed, sphero_cylinder.minus_cylinder, sphero_cylinder.plus_cylinder,
        sphero_cylinder.principal_powers, sphero_cylinder.power_matrix, sphero_cylinder.power_vector,
        sphero_cylinder.lens_forms,
    )  # fmt: skip
    powers = {"sphere_d": -2.3, "cylinder_d": -0.85}
    return [
        *(Call(function, LENS, {}) for function in lens_only),
        Call(sphero_cylinder.spherical_equivalent, powers, {}),
        Call(sphero_cylinder.normal_axis, {"axis_deg": 217.0}, {}),
        Call(sphero_cylinder.power_in_meridian, LENS | {"meridian_deg": 71.0}, {}),
        Call(sphero_cylinder.from_power_vector, {"m_d": -2.7, "j0_d": 0.35, "j45_d": 0.13}, {}),
        Call(vergence.effective_power, {"power_d": 7.3, "shift_m": 0.004}, {}),
        Call(vergence.vertex_changed, LENS | {"refracted_mm": 12.0, "worn_mm": 14.5}, {}),
        Call(prism.prism_from_decentration, LENS | {"x_mm": 2.5, "y_mm": -1.5}, {}),
        Call(prism.decentration_for_prism, LENS | {"x_pd": 0.7, "y_pd": -0.4}, {}),
        Call(prism.prism_from_base, {"amount_pd": 2.5, "base_deg": 35.0}, {}),
        Call(prism.amount_and_base, {"x_pd": 0.7, "y_pd": -0.4}, {}),
        Call(
            prism.vertical_imbalance,
            {"level_mm": 9.0},
            {
                "right": sphero_cylinder.PowerVector(-3.0, 0.5, 0.25),
                "left": sphero_cylinder.PowerVector(-1.5, 0.0, -1.5),
            },
        ),
        Call(prism.inward, {"x": 2.5}, {"eye": "left"}),
        Call(boxing.frame_pd, {"a_mm": 54.0, "dbl_mm": 18.0}, {}),
        Call(boxing.box_diagonal, {"a_mm": 54.0, "b_mm": 40.0}, {}),
        Call(boxing.decentration_in, {"a_mm": 54.0, "dbl_mm": 18.0, "pd_mm": 31.5}, {}),
        Call(boxing.decentration_up, {"b_mm": 40.0, "fitting_height_mm": 22.0}, {}),
        Call(boxing.usual_ed, {"a_mm": 54.0, "b_mm": 40.0}, {}),
        Call(boxing.corner_radius, BOX, {}),
        Call(boxing.blank_bounds, BOX | PLACE, {}),
        Call(boxing.largest_ed, PLACE | {"blank_mm": 68.0}, {}),
        Call(boxing.largest_a, FRAME | {"blank_mm": 66.0}, {}),
        Call(boxing.largest_dbl, FRAME | {"blank_mm": 66.0}, {}),
        Call(boxing.decentration_reachable, {"blank_mm": 68.0, "ed_mm": 58.0, "allowance_mm": 2.0}, {}),
        Call(boxing.centre_shift, {"in_mm": 4.5, "up_mm": -2.0, "reach_mm": 1.5}, {}),
        Call(outline.rounded_rectangle, BOX, {"count": 36}),
        Call(outline.farthest_distance, {"x_mm": 2.5, "y_mm": -1.5}, {}, (POINTS,)),
        Call(outline.minimum_blank, {"x_mm": 2.5, "y_mm": -1.5, "allowance_mm": 2.0}, {}, (POINTS,)),
        Call(tolerance.horizontal_limit, {"power_d": -4.25}, {"limits": limits()}),
        Call(tolerance.vertical_limit, {"power_d": -4.25}, {"limits": limits()}),
        Call(tolerance.horizontal_slack, {"power_d": -4.25}, {"limits": limits()}),
        Call(tolerance.vertical_slack, {"power_d": -4.25}, {"limits": limits()}),
        Call(frame_limits.largest_scale, BLANK_PLACE | {"dbl_mm": 18.0, "most": 2.0}, {"eye": "left"}, (POINTS,)),
        Call(frame_limits.largest_dbl_for_outline, BLANK_PLACE | {"most_mm": 40.0}, {"eye": "left"}, (POINTS,)),
    ]


def flat(answer: Any) -> list[Any]:
    """Every number of an answer, in order."""
    if is_dataclass(answer) and not isinstance(answer, type):
        return flat([getattr(answer, field.name) for field in fields(answer)])
    if isinstance(answer, list | tuple):
        return [number for part in answer for number in flat(part)]
    if isinstance(answer, np.ndarray) and answer.ndim == 0:
        return [float(answer)]
    return [answer]
