"""One good call of every public function of optics_core that takes numbers: the ground for claims about all of them."""

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

import numpy as np

from optics_core import (
    as_worn,
    boxing,
    chromatic,
    clearance,
    enclosing,
    frame_limits,
    magnification,
    modelled,
    near,
    outline,
    outline_checks,
    outline_offset,
    pair_imbalance,
    pair_placement,
    placement,
    power_tolerance,
    prism,
    re_edging,
    segments,
    solids,
    sphero_cylinder,
    surfaces,
    thickness,
    tolerance,
    tracing,
    vergence,
    volume,
)


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
        Call(outline.edge_margins, {"x_mm": 2.5, "y_mm": -1.5, "blank_mm": 66.0, "allowance_mm": 2.0}, {}, (POINTS,)),
        Call(outline_checks.encloses, {"x_mm": 2.5, "y_mm": -1.5}, {}, (POINTS,)),
        Call(outline_offset.offset_outline, {"by_mm": 0.4, "tolerance_mm": 0.002}, {}, (POINTS,)),
        Call(tolerance.horizontal_limit, {"power_d": -4.25}, {"limits": limits()}),
        Call(tolerance.vertical_limit, {"power_d": -4.25}, {"limits": limits()}),
        Call(tolerance.horizontal_slack, {"power_d": -4.25}, {"limits": limits()}),
        Call(tolerance.vertical_slack, {"power_d": -4.25}, {"limits": limits()}),
        Call(frame_limits.largest_scale, BLANK_PLACE | {"dbl_mm": 18.0, "most": 2.0}, {"eye": "left"}, (POINTS,)),
        Call(frame_limits.largest_dbl_for_outline, BLANK_PLACE | {"most_mm": 40.0}, {"eye": "left"}, (POINTS,)),
        Call(
            clearance.tightest_place,
            {"x_mm": 2.5, "y_mm": -1.5, "blank_mm": 66.0, "allowance_mm": 2.0},
            {},
            (POINTS,),
        ),
        Call(clearance.direction_deg, {"x_mm": -12.5, "y_mm": -3.5}, {}),
        Call(modelled.modelled_outlines, BOX, {}),
        Call(chromatic.transverse_chromatic_aberration, {"prism_pd": 4.5, "abbe": 41.0}, {}),
        Call(chromatic.strongest_prism, {"sphere_d": -2.3, "cylinder_d": -0.85, "distance_mm": 15.0}, {}),
        *calls_of_worn_lenses(),
        *calls_of_lens_bodies(),
        *calls_of_placement(),
        *calls_of_inspection(),
        *calls_of_re_edging(),
    ]


def calls_of_worn_lenses() -> list[Call]:
    right, left = sphero_cylinder.PowerVector(-3.0, 0.5, 0.25), sphero_cylinder.PowerVector(-1.5, 0.0, -1.5)
    worn = LENS | {"pantoscopic_deg": 10.0, "face_form_deg": 5.0, "index": 1.6}
    thick = {"front_power_d": 4.0, "centre_mm": 2.0}
    angled = thick | {"index": 1.6, "angle_deg": 10.0}
    sight = {"pd_mm": 31.5, "working_mm": 400.0, "rotation_centre_mm": 27.0}
    segment = {"a_mm": 54.0, "b_mm": 40.0, "dbl_mm": 18.0, "near_pd_mm": 29.5, "segment_height_mm": 17.0}
    on_blank = {"segment_in_mm": 6.5, "segment_up_mm": -3.0, "blank_segment_in_mm": 5.0, "blank_segment_drop_mm": 4.0}
    through = {"add_d": 2.0, "x_mm": 2.5, "y_mm": 9.0, "segment_x_mm": 0.5, "segment_y_mm": -3.0}
    return [
        Call(as_worn.tilted_power, worn, {"eye": "left"}),
        Call(as_worn.martin_power, worn, {"eye": "left"}),
        Call(as_worn.power_to_order, worn, {"eye": "left"}),
        Call(as_worn.traced_power_to_order, worn | thick, {"eye": "left"}),
        Call(as_worn.wrap_prism, angled, {}),
        Call(as_worn.centre_drop_mm, {"pantoscopic_deg": 10.0, "rotation_centre_mm": 27.0}, {}),
        Call(as_worn.ruled_centre_drop_mm, {"pantoscopic_deg": 10.0}, {}),
        Call(tracing.traced_lens, worn | thick, {"eye": "right"}),
        Call(tracing.traced_wrap_prism, angled, {}),
        Call(
            magnification.spectacle_magnification,
            {
                "front_power_d": 8.0, "thickness_mm": 5.0, "index": 1.5, "back_vertex_power_d": 6.0,
                "entrance_pupil_mm": 17.0,
            },
            {},
        ),
        Call(near.near_pd, sight, {}),
        Call(near.near_inset, sight | {"power_d": -4.0}, {}),
        Call(near.near_pd_through_lens, sight | {"power_d": -4.0}, {}),
        Call(near.ruled_inset, {"working_mm": 400.0}, {}),
        Call(near.segment_inset, {"pd_mm": 63.0, "near_pd_mm": 59.0}, {}),
        Call(near.reading_power, LENS | {"add_d": 2.0}, {}),
        Call(near.intermediate_power, LENS | {"add_d": 2.0, "share": 0.5}, {}),
        Call(near.accommodation_asked, {"add_d": 2.0, "working_mm": 400.0}, {}),
        Call(near.farthest_clear_mm, {"add_d": 2.0}, {}),
        Call(near.expected_add, {"working_mm": 400.0, "amplitude_d": 2.0}, {}),
        Call(segments.total_inset, {"frame_pd_mm": 72.0, "near_pd_mm": 59.0}, {}),
        Call(segments.segment_place, segment, {}),
        Call(segments.blank_middle, on_blank, {}),
        Call(
            segments.progressive_room,
            {"b_mm": 40.0, "fitting_height_mm": 22.0, "corridor_mm": 14.0, "near_zone_mm": 4.0},
            {},
        ),
        Call(segments.vertical_room, {"x_mm": 2.5, "y_mm": -1.5}, {}, (POINTS,)),
        Call(
            segments.progressive_thinning,
            {"add_d": 2.0, "index": 1.6, "depth_mm": 19.0, "corridor_mm": 14.0},
            {},
        ),
        Call(segments.image_jump, {"add_d": 2.0, "top_to_centre_mm": 5.0}, {}),
        Call(segments.prism_through_segment, LENS | through, {}),
        Call(
            segments.gaze_imbalance, {"x_mm": 8.0, "y_mm": -6.0, "inset_mm": 2.0}, {"right": right, "left": left}
        ),
    ]  # fmt: skip


def calls_of_lens_bodies() -> list[Call]:
    ground = {"index": 1.6, "front_power_d": 5.0, "prism_x_pd": 1.5, "prism_y_pd": -0.5}
    pole = {"x_mm": 2.5, "y_mm": -1.5}
    body = thickness.lens_body(**LENS, **ground, centre_mm=2.0)
    back = {"along_per_mm": 0.012, "across_per_mm": 0.0135, "axis_deg": 17.0}
    return [
        Call(surfaces.surface_curvature, {"power_d": -6.25, "index": 1.6}, {}),
        Call(surfaces.spherical_sag, {"curvature_per_mm": 0.012, "height_mm": 27.0}, {}),
        Call(surfaces.toric_sag, back | {"x_mm": 12.5, "y_mm": -17.5}, {}),
        Call(thickness.usual_front_power, {"spherical_equivalent_d": -2.725}, {}),
        Call(thickness.lens_body, LENS | ground | {"centre_mm": 2.0}, {}),
        Call(thickness.thickness_at, {"x_mm": 12.5, "y_mm": -17.5}, {"body": body}),
        Call(thickness.edge_profile, pole, {"body": body}, (POINTS,)),
        Call(thickness.edge_summary, pole, {"body": body}, (POINTS,)),
        Call(thickness.thinnest_inside, pole, {"body": body}, (POINTS,)),
        Call(
            thickness.centre_for, LENS | ground | pole | {"least_centre_mm": 2.0, "least_edge_mm": 4.0}, {}, (POINTS,)
        ),
        Call(thickness.round_blank, pole | {"diameter_mm": 70.0}, {"count": 36}),
        Call(thickness.showing, {"edge_mm": 5.2, "rim_depth_mm": 2.0, "bevel_from_front_mm": 1.8}, {}),
        Call(
            solids.lens_solids,
            LENS | ground | {"least_centre_mm": 2.0, "least_edge_mm": 4.0},
            {},
            (np.stack([POINTS[:, 0], POINTS[:, 0] - 2.5]), np.stack([POINTS[:, 1]] * 2)),
        ),
        Call(volume.lens_volume, pole, {"body": body}, (POINTS,)),
        Call(volume.lens_weight, {"volume_mm3": 5200.0, "density_g_cm3": 1.3}, {}),
    ]


def calls_of_placement() -> list[Call]:
    pupil = {"pupil_x_mm": 4.5, "pupil_y_mm": 2.0}
    right = placement.EyeTask(POINTS, **pupil, **LENS)
    left = placement.EyeTask(POINTS * [-1, 1], **(pupil | {"pupil_x_mm": -4.0}), **LENS)
    bounds = placement.Bounds(horizontal=0.33, vertical=0.5, horizontal_by="prism", vertical_by="distance")
    pair = {"limits": pair_placement.pair_limits(limits())}
    turned = {"x_mm": 2.5, "y_mm": -1.5, "offset_x_mm": 1.5, "offset_y_mm": 0.5, "blank_mm": 70.0, "allowance_mm": 2.0}
    blanks = {"allowance_mm": 2.0, "right_blank_mm": 63.0, "left_blank_mm": 63.5}
    return [
        Call(enclosing.nearest_centre, {"x_mm": 6.5, "y_mm": -1.5, "radius_mm": 29.0}, {}, (POINTS,)),
        Call(placement.place_at, {"x_mm": 2.5, "y_mm": -1.5, "allowance_mm": 2.0}, {}, (right,)),
        Call(placement.least_blank_place, {"allowance_mm": 2.0}, {"bounds": bounds}, (right,)),
        Call(placement.half_turn_margins, turned, {}, (POINTS,)),
        Call(pair_placement.pair_least_blank, {"allowance_mm": 2.0}, pair, (right, left)),
        Call(pair_placement.pair_least_share, blanks, pair, (right, left)),
        Call(pair_placement.by_eye_least_blank, {"share": 0.5, "allowance_mm": 2.0}, pair, (right, left)),
    ]


def calls_of_inspection() -> list[Call]:
    standard = {"standard": "iso-21987-2017"}
    pair = standard | {"lens": "single_vision"}
    error = pair_imbalance.EyeError(0.25, -0.125, -0.75, 0.5, -3.25, -2.5)
    off = {"off_mm": -2.5, "power_right_d": -3.25, "power_left_d": 1.5, "prescribed_horizontal_pd": 2.5}
    prescribed = {"prescribed_horizontal_pd": 2.5, "prescribed_vertical_pd": -1.5}
    return [
        Call(power_tolerance.add_comparison, {"ordered_d": 2.25, "measured_d": 2.5}, standard),
        Call(power_tolerance.deviation_of_axis, {"ordered_deg": 178.0, "measured_deg": 3.0}, {}),
        Call(pair_imbalance.imbalances, prescribed, pair | {"right": error, "left": error}),
        Call(pair_imbalance.distance_imbalance, off, pair),
    ]


def calls_of_re_edging() -> list[Call]:
    moved = {"shift_x_mm": 0.5, "shift_y_mm": -0.5, "turn_deg": 7.0}
    off = {"centre_x_mm": 1.5, "centre_y_mm": 1.5, "pd_mm": 31.5, "dbl_mm": 16.0, "up_mm": 2.0, "turn_deg": 7.0}
    rims = (POINTS * 0.8, POINTS)
    return [
        Call(re_edging.clearance_within, moved, {}, rims),
        Call(re_edging.fits_within, moved | {"margin_mm": 0.5}, {}, rims),
        Call(re_edging.largest_re_edge, off | {"margin_mm": 0.5, "least_scale": 0.5}, {"eye": "left"}, rims),
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
