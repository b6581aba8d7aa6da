"""Our answer to each kind of published worked example, under the names the examples use.

One function a kind: it takes the printed inputs and gives every figure that kind may print. The tests compare these
with `examples.json`, whose rows carry the printed answer, its source and how exactly it was printed.
"""

import json
import math
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numpy as np

from optics_core import boxing, outline, prism, sphero_cylinder, vergence
from optics_core.sphero_cylinder import SpheroCylinder

Row = dict[str, Any]
Answers = dict[str, Any]

ROWS: tuple[Row, ...] = tuple(json.loads((Path(__file__).parent / "examples.json").read_text(encoding="utf-8")))

EYES = ("right", "left")


def lens_of(inputs: Row) -> Row:
    """The lens among the inputs, as keyword arguments; a bare power is a sphere."""
    if "power_d" in inputs:
        return {"sphere_d": inputs["power_d"], "cylinder_d": 0.0, "axis_deg": None}
    return {name: inputs[name] for name in ("sphere_d", "cylinder_d", "axis_deg")}


def as_list(lens: SpheroCylinder) -> list[Any]:
    return [lens.sphere_d, lens.cylinder_d, lens.axis_deg]


def as_keywords(lens: SpheroCylinder) -> Row:
    return {"sphere_d": lens.sphere_d, "cylinder_d": lens.cylinder_d, "axis_deg": lens.axis_deg}


def one_value(values: Iterable[float]) -> float:
    """The common value of several routes to one figure; they must agree."""
    found = list(values)
    assert max(found) - min(found) < 1e-9, f"the routes differ: {found}"
    return found[0]


def vertical_base(y_pd: float) -> str:
    return "up" if y_pd > 0 else "down"


def horizontal_base(eye: str, x_pd: float) -> str:
    return "in" if prism.inward(eye=eye, x=x_pd) > 0 else "out"


# --- notation -------------------------------------------------------------------------------------------------------


def transposition(inputs: Row) -> Answers:
    lens = lens_of(inputs)
    return {
        "transposed": as_list(sphero_cylinder.transposed(**lens)),
        "minus_form": as_list(sphero_cylinder.minus_cylinder(**lens)),
        "plus_form": as_list(sphero_cylinder.plus_cylinder(**lens)),
    }


def spherical_equivalent(inputs: Row) -> Answers:
    return {
        "spherical_equivalent_d": sphero_cylinder.spherical_equivalent(
            sphere_d=inputs["sphere_d"], cylinder_d=inputs["cylinder_d"]
        )
    }


def power_in_meridian(inputs: Row) -> Answers:
    if "power_at_37_d" in inputs:  # printed as two principal powers: the first is the sphere of the form with axis 37
        along, across = inputs["power_at_37_d"], inputs["power_at_127_d"]
        lens = {"sphere_d": along, "cylinder_d": across - along, "axis_deg": 37}
    else:
        lens = lens_of(inputs)
    meridians = {f"power_at_{m}_d": m for m in (90, 180, 45, 122)}
    if "meridian_deg" in inputs:
        meridians["power_d"] = inputs["meridian_deg"]
    return {
        name: sphero_cylinder.power_in_meridian(**lens, meridian_deg=meridian) for name, meridian in meridians.items()
    }


def power_vector(inputs: Row) -> Answers:
    vector = sphero_cylinder.power_vector(**lens_of(inputs))
    return {"m": vector.m_d, "j0": vector.j0_d, "j45": vector.j45_d}


def crossed_cylinders(inputs: Row) -> Answers:
    total = sphero_cylinder.crossed_sum([SpheroCylinder(**inputs["lens_1"]), SpheroCylinder(**inputs["lens_2"])])
    return as_keywords(total) | {
        "minus_form": as_list(total),
        "plus_form": as_list(sphero_cylinder.plus_cylinder(**as_keywords(total))),
        "spherical_equivalent_d": sphero_cylinder.spherical_equivalent(
            sphere_d=total.sphere_d, cylinder_d=total.cylinder_d
        ),
    }


def residual_of_a_turned_cylinder(inputs: Row) -> Answers:
    """Wanted lens minus the same lens at a turned axis: its size must not depend on the axis it was turned from."""
    cylinder, error = inputs["cylinder_d"], inputs["axis_error_deg"]
    residuals = [
        sphero_cylinder.crossed_sum(
            [SpheroCylinder(0.0, cylinder, float(axis)), SpheroCylinder(0.0, -cylinder, float(axis + error))]
        )
        for axis in (5, 45, 90, 135)
    ]
    for residual in residuals:  # a pure cross-cylinder
        assert abs(residual.sphere_d + residual.cylinder_d / 2) < 1e-12
    return {"residual_cylinder_d": one_value(abs(residual.cylinder_d) for residual in residuals)}


# --- prism ----------------------------------------------------------------------------------------------------------


def prentice(inputs: Row) -> Answers:
    """The eye is not printed: both must give the same answer."""
    answers = [_prentice_of(inputs, eye) for eye in EYES]
    assert {answer["base"] for answer in answers} == {answers[0]["base"]}
    return {"prism_pd": one_value(answer["prism_pd"] for answer in answers), "base": answers[0]["base"]}


def _prentice_of(inputs: Row, eye: str) -> Answers:
    # The optical centre lies above a line of sight that passes below it.
    up = inputs.get("gaze_below_oc_mm", 0) - inputs.get("oc_below_pupil_mm", 0) + inputs.get("decentration_mm", 0)
    x_mm = prism.inward(eye=eye, x=-inputs.get("oc_moved_out_mm", 0))
    made = prism.prism_from_decentration(**lens_of(inputs), x_mm=x_mm, y_mm=up)
    base = vertical_base(made.y_pd) if up else horizontal_base(eye, made.x_pd)
    return {"prism_pd": math.hypot(made.x_pd, made.y_pd), "base": base}


def prentice_inverse(inputs: Row) -> Answers:
    wanted = prism.prism_from_base(
        amount_pd=inputs["prism_pd"], base_deg=prism.base_angle(eye="right", base=inputs.get("base", "up"))
    )
    x_mm, y_mm = prism.decentration_for_prism(**lens_of(inputs), x_pd=wanted.x_pd, y_pd=wanted.y_pd)
    distance = math.hypot(x_mm, y_mm)
    return {"distance_mm": distance, "decentration_mm": distance, "direction": horizontal_base("right", x_mm)}


def prism_of_spherocylinder(inputs: Row) -> Answers:
    eye = inputs["eye"]
    # A line of sight that passes in of the optical centre has the centre out of it.
    inward_mm = -inputs.get("oc_out_mm", 0) - inputs.get("gaze_in_of_oc_mm", 0)
    up_mm = inputs.get("oc_up_mm", 0) + inputs.get("gaze_below_oc_mm", 0)
    made = prism.prism_from_decentration(**lens_of(inputs), x_mm=prism.inward(eye=eye, x=inward_mm), y_mm=up_mm)
    return {
        "vertical_pd": abs(made.y_pd),
        "vertical_base": vertical_base(made.y_pd),
        "horizontal_pd": abs(made.x_pd),
        "horizontal_base": horizontal_base(eye, made.x_pd),
    }


def iso_v_prism_band(inputs: Row) -> Answers:
    """The zone of +3.00 +2.00 x 060 with under 2 prism dioptres of vertical prism (lens and level as the source says).

    The printed way there is the construction `oj_mm` sin(`beta_deg`); ours is the second row of the power matrix.
    """
    lens = {"sphere_d": 3.0, "cylinder_d": 2.0, "axis_deg": 60}
    matrix = sphero_cylinder.power_matrix(**lens)
    steepest = math.hypot(matrix.xy_d, matrix.yy_d)
    half_mm = 10 * 2.0 / steepest
    at_the_edge = prism.prism_from_decentration(
        **lens, x_mm=half_mm * matrix.xy_d / steepest, y_mm=half_mm * matrix.yy_d / steepest
    )
    assert abs(at_the_edge.y_pd - 2.0) < 1e-12
    assert abs(half_mm - inputs["oj_mm"] * math.sin(math.radians(inputs["beta_deg"]))) < 0.005
    return {"half_width_mm": half_mm, "band_mm": 2 * half_mm}


def combine_prism(inputs: Row) -> Answers:
    eye = inputs["eye"]
    parts = [
        prism.prism_from_base(
            amount_pd=amount, base_deg=prism.base_angle(eye=eye, base=base) if isinstance(base, str) else base
        )
        for amount, base in inputs["prisms"]
    ]
    total = prism.combined(parts)
    amount, base_deg = prism.amount_and_base(x_pd=total.x_pd, y_pd=total.y_pd)
    return {"prism_pd": amount, "base_deg_360": base_deg}


def resolve_prism(inputs: Row) -> Answers:
    eye = inputs["eye"]
    given = prism.prism_from_base(amount_pd=inputs["prism_pd"], base_deg=inputs["base_deg_360"])
    added = prism.prism_from_base(amount_pd=inputs["add_base_in_pd"], base_deg=prism.base_angle(eye=eye, base="in"))
    total = prism.combined([given, added])
    amount, base_deg = prism.amount_and_base(x_pd=total.x_pd, y_pd=total.y_pd)
    return {"vertical_pd": given.y_pd, "horizontal_pd": given.x_pd, "total_pd": amount, "total_deg": base_deg}


def vertical_imbalance(inputs: Row) -> Answers:
    if "vertical_power_difference_d" in inputs:
        right, left = lens_of({"power_d": inputs["vertical_power_difference_d"]}), lens_of({"power_d": 0.0})
    else:
        right, left = inputs["right"], inputs["left"]
    # Reading below the optical centres, the centres lie above the lines of sight.
    reading = {"x_mm": 0.0, "y_mm": inputs["reading_level_mm"]}
    _, right_up_pd = prism.pair_imbalance(
        right=prism.prism_from_decentration(**right, **reading), left=prism.prism_from_decentration(**left, **reading)
    )
    # Base up for the eye that has less of it, or base down (reverse slab-off) for the other.
    side = "right" if right_up_pd > 0 else "left"
    amount = prism.vertical_imbalance(
        right=sphero_cylinder.power_vector(**right),
        left=sphero_cylinder.power_vector(**left),
        level_mm=inputs["reading_level_mm"],
    )
    return {"imbalance_pd": amount, "reverse_slab_off": f"base down, {side}"}


def prism_by_decentration(inputs: Row) -> Answers:
    eye = inputs["eye"]
    wanted = prism.prism_from_base(
        amount_pd=inputs["prism_pd"], base_deg=prism.base_angle(eye=eye, base=inputs["base"])
    )
    lens = lens_of(inputs)
    x_mm, y_mm = prism.decentration_for_prism(**lens, x_pd=wanted.x_pd, y_pd=wanted.y_pd)
    made = prism.prism_from_decentration(**lens, x_mm=x_mm, y_mm=y_mm)
    return {
        "possible": math.isclose(made.x_pd, wanted.x_pd, abs_tol=1e-12),
        "oc_up_mm": y_mm,
        "gives_in_pd": prism.inward(eye=eye, x=made.x_pd),
        "gives_up_pd": made.y_pd,
    }


def direction_of_narrow_centres(inputs: Row) -> Answers:
    """Optical centres closer together than the eyes: each lies in of its line of sight."""
    each_mm = inputs["oc_separation_less_than_pd_mm"] / 2
    bases = {
        horizontal_base(
            eye,
            prism.prism_from_decentration(**lens_of(inputs), x_mm=prism.inward(eye=eye, x=each_mm), y_mm=0.0).x_pd,
        )
        for eye in EYES
    }
    assert len(bases) == 1
    return {"base": bases.pop()}


def image_jump(inputs: Row) -> Answers:
    """At the segment's top the segment's own optical centre lies below the line of sight."""
    down_mm = inputs["segment_top_to_segment_oc_mm"]
    jump = prism.prism_from_decentration(**lens_of({"power_d": inputs["add_d"]}), x_mm=0.0, y_mm=-down_mm)
    assert jump.y_pd < 0, "the jump of a plus add is base down"
    return {"jump_pd": -jump.y_pd}


# --- boxes and blanks -----------------------------------------------------------------------------------------------


def decentration(inputs: Row) -> Answers:
    each = boxing.decentration_in(a_mm=inputs["a_mm"], dbl_mm=inputs["dbl_mm"], pd_mm=inputs["pd_mm"] / 2)
    return {"decentration_in_mm": each}


def total_inset(inputs: Row) -> Answers:
    """The printed frame PD may be split into A and DBL in any way."""
    frame, near = inputs["frame_pd_mm"], inputs["near_pd_mm"]
    each = (boxing.decentration_in(a_mm=frame - dbl, dbl_mm=dbl, pd_mm=near / 2) for dbl in (14.0, 18.0, 22.0))
    return {"total_inset_per_eye_mm": one_value(each)}


def vertical_decentration(inputs: Row) -> Answers:
    up = boxing.decentration_up(b_mm=inputs["b_mm"], fitting_height_mm=inputs["height_mm"])
    return {"above_datum_mm": up}


def minimum_blank(inputs: Row) -> Answers:
    """The printed rule is ED + 2 d + allowance: our `at_most`. It must not depend on the sizes that are not printed."""
    ed = inputs["ed_mm"]
    a = inputs.get("a_mm", ed)
    answers = []
    for share in (0.3, 0.6, 0.9, 1.0):  # B anywhere between the least that reaches this ED and the ED itself
        least_b = math.sqrt(max(ed * ed - a * a, 0.0))
        b = least_b + share * (ed - least_b)
        bounds = boxing.blank_bounds(
            a_mm=a, b_mm=b, ed_mm=ed, in_mm=_each_in(inputs), up_mm=0.0, allowance_mm=inputs["allowance_mm"]
        )
        answers.append(bounds.at_most_mm)
    return {"minimum_blank_mm": one_value(answers)}


def _each_in(inputs: Row) -> float:
    """Decentration of one eye: printed for one eye, printed as the total of both, or to be found from the frame."""
    if "decentration_mm" in inputs:
        return inputs["decentration_mm"]
    if "total_decentration_mm" in inputs:
        return inputs["total_decentration_mm"] / 2
    frame_pd = inputs.get("frame_pd_mm") or boxing.frame_pd(a_mm=inputs["a_mm"], dbl_mm=inputs["dbl_mm"])
    return boxing.decentration_in(a_mm=frame_pd - 18.0, dbl_mm=18.0, pd_mm=inputs["pd_mm"] / 2)


def effective_diameter(inputs: Row) -> Answers:
    a, b = inputs["a_mm"], inputs["b_mm"]
    diagonal = boxing.box_diagonal(a_mm=a, b_mm=b)
    points = outline.rounded_rectangle(a_mm=a, b_mm=b, ed_mm=diagonal, count=72_000)
    corner = points[np.argmax(np.hypot(points[:, 0], points[:, 1]))]
    return {"ed_mm": diagonal, "ed_angle_deg": math.degrees(math.atan2(abs(corner[1]), abs(corner[0])))}


def exact_blank(inputs: Row) -> Answers:
    across = inputs.get("diameter_mm")
    half_a, half_b = (across or inputs["a_mm"]) / 2, (across or inputs["b_mm"]) / 2
    if inputs["shape"] == "rectangle":
        points = np.array([[half_a, half_b], [-half_a, half_b], [-half_a, -half_b], [half_a, -half_b]])
    else:
        turn = np.linspace(0, 2 * np.pi, 3600, endpoint=False)
        points = np.column_stack([half_a * np.cos(turn), half_b * np.sin(turn)])
    offset = {"x_mm": inputs["decentration_mm"], "y_mm": inputs.get("oc_up_mm", 0.0)}
    return {"exact_blank_mm": outline.minimum_blank(points, **offset, allowance_mm=0.0)}


# --- vertex ---------------------------------------------------------------------------------------------------------


def vertex(inputs: Row) -> Answers:
    refracted, worn = inputs["vertex_refracted_mm"], inputs["vertex_worn_mm"]
    lens = vergence.vertex_changed(**lens_of(inputs), refracted_mm=refracted, worn_mm=worn)
    power = vergence.effective_power(power_d=inputs["power_d"], shift_m=(refracted - worn) / 1000)
    compensated = one_value([lens.sphere_d, power])
    return {"compensated_d": compensated, "change_d": abs(compensated - inputs["power_d"])}


def vertex_of_a_toric_lens(inputs: Row) -> Answers:
    lens = vergence.vertex_changed(
        **lens_of(inputs), refracted_mm=inputs["vertex_refracted_mm"], worn_mm=inputs["vertex_worn_mm"]
    )
    powers = dict(sphero_cylinder.principal_powers(**as_keywords(lens)))
    return {f"power_at_{axis:g}_d": power for axis, power in powers.items()} | {"cylinder_d": lens.cylinder_d}


ANSWERS: dict[str, Callable[[Row], Answers]] = {
    "transposition": transposition,
    "spherical_equivalent": spherical_equivalent,
    "power_in_meridian": power_in_meridian,
    "power_vector": power_vector,
    "add_crossed_cylinders": crossed_cylinders,
    "residual_error": residual_of_a_turned_cylinder,
    "prentice": prentice,
    "prentice_inverse": prentice_inverse,
    "prism_of_spherocylinder": prism_of_spherocylinder,
    "iso_v_prism_band": iso_v_prism_band,
    "combine_prism": combine_prism,
    "resolve_prism": resolve_prism,
    "vertical_imbalance": vertical_imbalance,
    "prism_inverse": prism_by_decentration,
    "prism_direction": direction_of_narrow_centres,
    "image_jump": image_jump,
    "decentration": decentration,
    "total_inset": total_inset,
    "vertical_decentration": vertical_decentration,
    "minimum_blank": minimum_blank,
    "effective_diameter": effective_diameter,
    "exact_blank": exact_blank,
    "vertex": vertex,
    "vertex_toric": vertex_of_a_toric_lens,
}
