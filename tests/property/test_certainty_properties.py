"""What makes a number of chicks sure: laws over random trials."""

from __future__ import annotations

from itertools import product
from math import prod

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.pairs.certainty import chance_of_reaching, poisson_mean

CHANCES = st.lists(st.floats(0.0, 1.0), min_size=1, max_size=60)


@given(st.integers(1, 12), st.floats(0.3, 0.999), CHANCES)
def test_trials_of_that_mean_reach_the_number_at_least_so_often(
    count: int, chance: float, chances: list[float]
) -> None:
    """Whatever the chances, scaled or filled up to the mean that is asked for."""
    mean = poisson_mean(count, chance)
    missing = mean - sum(chances)
    filled = [
        *chances,
        *([missing / (int(missing) + 1)] * (int(missing) + 1) if missing > 0 else []),
    ]
    assert chance_of_reaching(count, [(1, p) for p in filled]) >= chance - 1e-9


@given(st.integers(1, 6), st.floats(0.5, 0.99), st.integers(0, 2**32 - 1))
def test_birds_that_are_parents_of_many_do_no_harm(count: int, chance: float, seed: int) -> None:
    """Shared parents make chicks depend on each other; with each at its worst it is still safe.

    Two parents in doubt each decide the chance of a wanted chick in several pairs; every pair is
    reckoned with the least over what its parents may be, and the sum of those reaches the mean.
    """
    random = np.random.default_rng(seed)
    prior = random.random(2)
    pairs = [(int(random.integers(2)), random.random(2), random.integers(1, 9)) for _ in range(5)]
    least = sum(eggs * min(by_state) for _, by_state, eggs in pairs)
    mean = poisson_mean(count, chance)
    more = int(np.ceil(max(mean - least, 0.0)))
    proven = (more, max(mean - least, 0.0))
    reached = 0.0
    for states in product((0, 1), repeat=2):
        weight = prod(p if state else 1 - p for p, state in zip(prior, states, strict=True))
        parts = [(eggs, eggs * by_state[states[parent]]) for parent, by_state, eggs in pairs]
        reached += weight * chance_of_reaching(count, [*parts, proven])
    assert reached >= chance - 1e-9
