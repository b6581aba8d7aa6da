"""Random lenses to be placed, and what comes of a place, written out again without the placement modules.

The unwanted prism goes by `prism_from_decentration`, which has tests of its own; needs are found by looking.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
from core_shapes import MAKERS, boxed, farthest
from scipy.optimize import linprog

from optics_core.placement import EyeTask, exact_centre
from optics_core.prism import prism_from_decentration

Vector = np.ndarray

POWERS = ("plano", "plano cylinder", "plano sphere", "sphere", "toric")
ORDINARY = ("sphere", "toric")


def random_power(rng: np.random.Generator, kind: str) -> dict[str, Any]:
    sphere, cylinder, axis = rng.uniform(-25, 25), rng.uniform(-8, 8), float(rng.uniform(0, 180))
    if kind == "plano":
        return {"sphere_d": 0.0, "cylinder_d": 0.0, "axis_deg": None}
    if kind == "plano cylinder":  # no power along the axis
        return {"sphere_d": 0.0, "cylinder_d": cylinder, "axis_deg": axis}
    if kind == "plano sphere":  # no power across the axis
        return {"sphere_d": sphere, "cylinder_d": -sphere, "axis_deg": axis}
    if kind == "sphere":
        return {"sphere_d": sphere, "cylinder_d": 0.0, "axis_deg": None}
    return {"sphere_d": sphere, "cylinder_d": cylinder, "axis_deg": axis}


def random_task(rng: np.random.Generator, kind: str | None = None, points: Vector | None = None) -> EyeTask:
    """Any outline, power, pupil; prescribed prism and a decentred blank in every other one."""
    if points is None:
        points = boxed(MAKERS[rng.integers(len(MAKERS))](rng), rng.uniform(30, 70), rng.uniform(15, 60))
    power = random_power(rng, kind or POWERS[rng.integers(len(POWERS))])
    prism = rng.uniform(-4, 4, 2) if rng.uniform() < 0.5 else np.zeros(2)
    offset = rng.uniform(-4, 4, 2) if rng.uniform() < 0.5 else np.zeros(2)
    return EyeTask(
        points,
        pupil_x_mm=rng.uniform(-8, 8),
        pupil_y_mm=rng.uniform(-5, 5),
        prism_x_pd=prism[0],
        prism_y_pd=prism[1],
        offset_x_mm=offset[0],
        offset_y_mm=offset[1],
        **power,
    )


def changed(task: EyeTask, **fields: Any) -> EyeTask:
    names = [name for name in EyeTask.__slots__ if name != "points"]
    given = {name: getattr(task, name) for name in names} | fields
    return EyeTask(given.pop("points", task.points), **given)


def mirrored(task: EyeTask) -> EyeTask:
    """The other eye's task: seen in a mirror, the axis turns the other way."""
    return changed(
        task,
        points=task.points * [-1, 1],
        pupil_x_mm=-task.pupil_x_mm,
        axis_deg=None if task.axis_deg is None else 180 - task.axis_deg,
        prism_x_pd=-task.prism_x_pd,
        offset_x_mm=-task.offset_x_mm,
    )


def unwanted_prism(task: EyeTask, place: Vector) -> Vector:
    made = prism_from_decentration(
        sphere_d=task.sphere_d,
        cylinder_d=task.cylinder_d,
        axis_deg=task.axis_deg,
        x_mm=float(place[0]) - task.pupil_x_mm,
        y_mm=float(place[1]) - task.pupil_y_mm,
    )
    return np.array([made.x_pd - task.prism_x_pd, made.y_pd - task.prism_y_pd])


def cloud_of(task: EyeTask) -> Vector:
    """The outline as seen from the blank's middle, counted from the optical centre."""
    return task.points + np.array([task.offset_x_mm, task.offset_y_mm])


def need(task: EyeTask, place: Vector) -> float:
    return 2 * farthest(task.points, place[0] - task.offset_x_mm, place[1] - task.offset_y_mm)


def figures(task: EyeTask, by: tuple[str, str]) -> tuple[Vector, Vector] | None:
    """Matrix and constant of what is bounded, q = matrix @ place + constant; None if a distance has no start."""
    at_origin = unwanted_prism(task, np.zeros(2))
    matrix = np.column_stack([unwanted_prism(task, one) - at_origin for one in np.eye(2)])
    exact = exact_centre(task)
    if "distance" in by and exact is None:
        return None
    rows = [(matrix[k], at_origin[k]) if by[k] == "prism" else (np.eye(2)[k], -(exact or (0, 0))[k]) for k in (0, 1)]
    return np.array([row for row, _ in rows]), np.array([constant for _, constant in rows])


@dataclass(frozen=True, slots=True)
class PairRows:
    """What a pair's limits bound in one combination, as shares: |matrix @ (right, left) + constants| <= 1."""

    matrix: Vector
    constants: Vector

    def share(self, places: Vector) -> float:
        return float(np.abs(self.matrix @ places + self.constants).max())

    def can_be_kept(self) -> bool:
        both_sides = np.vstack([self.matrix, -self.matrix])
        room = np.concatenate([1 - self.constants, 1 + self.constants])
        return linprog(np.zeros(4), A_ub=both_sides, b_ub=room, bounds=(None, None)).status == 0


def combinations(right: EyeTask, left: EyeTask, limit: Callable[[int, str], float]) -> Iterator[PairRows]:
    """The four ways to keep to a pair's limits, as far as there is something to count distances from."""
    for by in product(("prism", "distance"), repeat=2):
        parts = [figures(task, by) for task in (right, left)]
        if parts[0] is None or parts[1] is None:
            continue
        matrix, constants = np.zeros((6, 4)), np.zeros(6)
        for k, part in enumerate(parts):
            assert part is not None
            matrix[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] = part[0]
            constants[2 * k : 2 * k + 2] = part[1]
        matrix[4:], constants[4:] = matrix[:2] - matrix[2:4], constants[:2] - constants[2:4]
        sizes = np.tile([limit(k, by[k]) for k in (0, 1)], 3)
        yield PairRows(matrix / sizes[:, None], constants / sizes)
