"""Random lenses with their prism, pole and outline, as orders bring them: what the tests of the lens as a body draw from."""

from typing import Any

import numpy as np
from core_shapes import boxed, smooth, star

Lens = dict[str, Any]


def random_lens(rng: np.random.Generator) -> Lens:
    """A lens as ordered: powers in quarters, axis in whole degrees, a front by the usual rule and not quite."""
    sphere, cylinder = rng.integers(-40, 25) / 4, rng.integers(-16, 17) / 4
    mean = sphere + cylinder / 2
    usual = mean + 6 if mean > 0 else mean / 2 + 6
    return {
        "sphere_d": sphere,
        "cylinder_d": cylinder,
        "axis_deg": float(rng.integers(1, 181)),
        "index": rng.choice([1.498, 1.53, 1.586, 1.6, 1.67, 1.74]),
        "front_power_d": max(0.5, usual + rng.uniform(-1.5, 1.5)),
    }


def random_prism(rng: np.random.Generator, most: float = 6.0) -> Lens:
    return {"prism_x_pd": rng.uniform(-most, most), "prism_y_pd": rng.uniform(-most, most)}


def random_pole(rng: np.random.Generator) -> Lens:
    return {"x_mm": rng.uniform(-7, 7), "y_mm": rng.uniform(-5, 5)}


def random_shape(rng: np.random.Generator) -> np.ndarray:
    maker = smooth if rng.random() < 0.7 else star
    return boxed(maker(rng), rng.uniform(40, 58), rng.uniform(25, 45))


def reached(lens: Lens, points: np.ndarray, pole: Lens) -> bool:
    """Whether the surfaces of such a lens go far enough, by the plainest look at it."""
    farthest = np.hypot(points[:, 0] - pole["x_mm"], points[:, 1] - pole["y_mm"]).max()
    front = lens["front_power_d"]
    lowest = min(lens["sphere_d"], lens["sphere_d"] + lens["cylinder_d"]) - 1.3 * front
    return max(front, -lowest) / (1000 * (lens["index"] - 1)) * farthest < 0.9
