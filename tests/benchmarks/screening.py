"""A catalogue of 100,000 frames: the screening against the bare numpy sums that it cannot do without, in the same run.

The bare sums take the same figures of the same frames, for both eyes: decentration, bounds on the blank, exact sags at the
same places (the 44 of the outline and the middles between them, which the volume asks for), volume over the same triangles.
They check nothing, round nothing, judge nothing, and hold for one minus lens only.
"""

import time
import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from typing import Any

import numpy as np

from optics_core.modelled import modelled_outlines, with_feet
from service.catalogue import Catalogue
from service.contract.screen import EXAMPLE_SCREENING, ScreenRequest
from service.profile.loader import load
from service.routes.context import today_utc
from service.screening import screen

FRAMES = 100_000
AT_ONCE = 2_000


@dataclass(frozen=True, slots=True)
class Timed:
    """Seconds of each round, and how much more memory than before was held at most."""

    name: str
    seconds: tuple[float, ...]
    peak_mb: float


def catalogue(count: int) -> Catalogue:
    """Frames of usual sizes, half of them without an ED."""
    rng = np.random.default_rng(7)
    a = np.round(rng.uniform(42, 60, count))
    b = np.round(a * rng.uniform(0.55, 0.85, count))
    ed = np.where(rng.random(count) < 0.5, np.nan, np.maximum(a, 0.93 * np.hypot(a, b)))
    rim = np.zeros(count, np.int8)
    return Catalogue([f"f{number}" for number in range(count)], a, b, np.round(rng.uniform(14, 22, count)), ed, rim)


def measured(rounds: int, count: int = FRAMES) -> tuple[Timed, Timed]:
    """The bare sums and the screening, interleaved."""
    listed, shop, today = catalogue(count), load(None), today_utc()
    request = ScreenRequest.model_validate({**EXAMPLE_SCREENING, "frames": None})
    works: dict[str, Callable[[], Any]] = {
        "bare numpy sums": lambda: bare(listed),
        "screening, top 3": lambda: screen(request, listed, shop, today),
    }
    seconds: dict[str, list[float]] = {name: [] for name in works}
    for number in range(-1, rounds):
        for name, work in works.items():
            start = time.perf_counter()
            work()
            if number >= 0:
                seconds[name].append(time.perf_counter() - start)
    one, other = (Timed(name, tuple(seconds[name]), _peak(work)) for name, work in works.items())
    return one, other


def print_screening(rounds: int, count: int = FRAMES) -> None:
    """The table and the ratio."""
    floor, ours = measured(rounds, count)
    print(f"\nScreening {count} frames, both eyes, seconds, {rounds} interleaved rounds, min / median / max\n")
    for one in (floor, ours):
        low, middle, high = min(one.seconds), median(one.seconds), max(one.seconds)
        print(f"  {one.name:32} {low:.3f} / {middle:.3f} / {high:.3f}   peak {one.peak_mb:.0f} MB")
    ratios = [mine / bare_one for mine, bare_one in zip(ours.seconds, floor.seconds, strict=True)]
    print(f"  screening / bare  {min(ratios):.2f} / {median(ratios):.2f} / {max(ratios):.2f}   aim 3 or less")


def bare(listed: Catalogue) -> float:
    """The sums alone, slice by slice; the answer only keeps them from being left out."""
    kept = 0.0
    sphere, cylinder, axis, index, front, centre = -2.25, -0.75, np.radians(10.0), 1.586, 4.7, 1.5
    thousand = 1000.0 * (index - 1.0)
    at_back = front / (1.0 - centre / 1000.0 / index * front)
    steep, flat = (at_back - sphere - cylinder) / thousand, (at_back - sphere) / thousand
    curve, sine, cosine = front / thousand, np.sin(axis), np.cos(axis)
    for start in range(0, len(listed), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        a, b, dbl, ed = listed.a_mm[rows], listed.b_mm[rows], listed.dbl_mm[rows], listed.ed_mm[rows]
        diagonal, largest = np.hypot(a, b), np.maximum(a, b)
        ed = np.where(np.isnan(ed), np.maximum(largest, 0.93 * diagonal), np.minimum(np.maximum(ed, largest), diagonal))
        outlines = modelled_outlines(a_mm=a, b_mm=b, ed_mm=ed)
        for pd, way in ((31.5, 1.0), (32.0, -1.0)):
            decentration = (a + dbl) / 2.0 - pd
            x, y = with_feet(*outlines, pole_x_mm=way * decentration, pole_y_mm=np.zeros(len(a)))
            least = np.maximum(a + 2.0 * abs(decentration), b) + 2.0
            most, any_shape = ed + 2.0 * abs(decentration) + 2.0, diagonal + 2.0 * abs(decentration) + 2.0
            across = x - way * decentration[:, None]
            across, up = (np.hstack((each, (each + np.roll(each, -1, axis=1)) / 2.0)) for each in (across, y))
            q, p = across * cosine + up * sine, up * cosine - across * sine
            q2, p2 = q * q, p * p
            h2 = q2 + p2
            ahead = curve * h2 / (1.0 + np.sqrt(1.0 - curve * curve * h2))
            sag = steep * p2 / (1.0 + np.sqrt(1.0 - steep * steep * p2))
            left = 1.0 - flat * sag
            behind = (sag * (1.0 + left) + flat * q2) / (1.0 + np.sqrt(left * left - flat * flat * q2))
            thickness = centre + behind - ahead
            count = x.shape[1]
            edge, middle, q, p = thickness[:, :count], thickness[:, count:], q[:, :count], p[:, :count]
            turn = q * np.roll(p, -1, axis=1) - p * np.roll(q, -1, axis=1)
            along = (edge + 4.0 * middle + np.roll(edge, -1, axis=1)) / 6.0
            volume = abs(turn * (2.0 * along + centre)).sum(axis=1) / 6.0
            kept += float(edge.max(axis=1).sum() + edge.min(axis=1).sum() + volume.sum() + least.sum())
            kept += float(most.sum() + any_shape.sum())
    return kept


def _peak(work: Callable[[], Any]) -> float:
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6
