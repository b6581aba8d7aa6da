"""The modelled outlines of few points against the one of many, and against brute geometry."""

import numpy as np
import pytest
from core_shapes import rounded_box
from core_strategies import boxes, steady
from hypothesis import given

from optics_core.modelled import modelled_outlines
from optics_core.outline import outline_sizes, rounded_rectangle
from optics_core.outline_checks import first_crossing


@steady
@given(boxes())
def test_the_modelled_outline_has_exactly_the_boxed_sizes_asked_for(box: dict[str, float]) -> None:
    x, y = modelled_outlines(**box)
    assert x.shape == y.shape == (40,)
    sizes = outline_sizes(np.column_stack((x, y)))
    assert (sizes.a_mm, sizes.b_mm, sizes.ed_mm) == pytest.approx((box["a_mm"], box["b_mm"], box["ed_mm"]), abs=1e-9)


def test_its_points_lie_on_the_shape_found_by_halving_and_dense_sampling() -> None:
    for a, b, ed in ((54.0, 40.0, 58.0), (50.0, 26.0, 52.0), (46.0, 46.0, 47.0), (60.0, 30.0, 67.0)):
        x, y = modelled_outlines(a_mm=a, b_mm=b, ed_mm=ed)
        dense = rounded_box(a, b, ed)
        for point in zip(x, y, strict=True):
            on_a_side = abs(abs(point[0]) - a / 2) < 1e-9 or abs(abs(point[1]) - b / 2) < 1e-9
            gap = np.hypot(dense[:, 0] - point[0], dense[:, 1] - point[1]).min()
            assert on_a_side or gap < 0.01


def test_it_runs_counter_clockwise_without_crossing_itself_and_nearly_fills_the_shape() -> None:
    for a, b, ed in ((54.0, 40.0, 58.0), (50.0, 26.0, 52.0), (46.0, 46.0, 47.0), (60.0, 30.0, 67.0)):
        points = np.column_stack(modelled_outlines(a_mm=a, b_mm=b, ed_mm=ed))
        assert first_crossing(points) is None
        x, y = points.T
        area = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
        full = outline_sizes(rounded_rectangle(a_mm=a, b_mm=b, ed_mm=ed, count=3600)).area_mm2
        assert 0.985 * full < area <= full * (1 + 1e-9)


def test_many_outlines_at_once_are_the_ones_made_one_by_one() -> None:
    a, b, ed = np.array([54.0, 50.0, 46.0]), np.array([40.0, 26.0, 46.0]), np.array([58.0, 52.0, 47.0])
    x, y = modelled_outlines(a_mm=a, b_mm=b, ed_mm=ed)
    for index in range(3):
        alone = modelled_outlines(a_mm=float(a[index]), b_mm=float(b[index]), ed_mm=float(ed[index]))
        assert np.allclose(x[index], alone[0], rtol=0, atol=1e-12)
        assert np.allclose(y[index], alone[1], rtol=0, atol=1e-12)
