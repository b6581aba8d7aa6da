"""The search by steps against looking at every step."""

import math
from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from service.step_search import last_within

RISES = st.lists(st.floats(0, 10) | st.just(0.0), min_size=0, max_size=300)


@given(RISES, st.integers(-20, 500), st.floats(0, 60), st.integers(0, 300))
def test_the_last_step_within_is_the_one_that_a_look_at_each_finds(
    rises: list[float], start: int, most: float, unknown_from: int
) -> None:
    figures, figure = [], 0.0
    for number, rise in enumerate(rises):
        figure += rise
        figures.append(math.nan if number >= unknown_from else figure)
    steps = range(start, start + len(figures))
    asked: list[int] = []

    def looked_at(some: Sequence[int]) -> list[float]:
        assert set(some) <= set(steps)
        asked.extend(some)
        return [figures[step - start] for step in some]

    within = [step for step in steps if figures[step - start] <= most]
    assert last_within(steps, looked_at, most) == (within[-1] if within else None)
    assert len(asked) == len(set(asked))


def test_a_smooth_figure_is_found_in_few_rounds() -> None:
    rounds = []

    def looked_at(some: Sequence[int]) -> list[float]:
        rounds.append(some)
        return [float(step**2) for step in some]

    for limit in range(90_000, 300_000, 100):
        rounds.clear()
        assert last_within(range(300, 540), looked_at, limit) == min(math.isqrt(limit), 539)
        assert len(rounds) <= 3
