"""What the property tests of optics_core draw from, and how: always the same draws, no clock in the verdict."""

from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

steady = settings(
    derandomize=True,
    database=None,
    deadline=None,
    max_examples=300,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)

EYES = ("right", "left")

quarters = st.integers(-80, 80).map(lambda steps: steps / 4)
quarter_cylinders = st.integers(-40, 40).filter(bool).map(lambda steps: steps / 4)
whole_axes = st.integers(1, 180)

powers = st.floats(-25, 25)
cylinders = st.floats(-8, 8).filter(lambda power: abs(power) > 1e-3)
axes = st.floats(0, 180, exclude_min=True)
angles = st.floats(-360, 720)
distances = st.floats(-15, 15)


def lens(sphere: Any, cylinder: Any, axis: Any) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({"sphere_d": sphere, "cylinder_d": cylinder, "axis_deg": axis})


quarter_lenses = lens(quarters, quarter_cylinders, whole_axes)
toric_lenses = lens(powers, cylinders, axes)
spheres = lens(powers, st.just(0.0), st.none())
lenses = st.one_of(quarter_lenses, toric_lenses, spheres)


@st.composite
def boxes(draw: st.DrawFn) -> dict[str, float]:
    """Boxed sizes with an ED that some shape can have: from the larger of A and B to the diagonal, both included."""
    a = draw(st.floats(30, 70))
    b = draw(st.floats(15, 60))
    share = draw(st.one_of(st.just(0.0), st.just(1.0), st.floats(0, 1)))
    least, most = max(a, b), (a * a + b * b) ** 0.5
    return {"a_mm": a, "b_mm": b, "ed_mm": min(least + share * (most - least), most)}
