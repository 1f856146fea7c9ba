"""The quick no: never above what the best of all orders needs, and high where all is tangled."""

from __future__ import annotations

import itertools
import random
from math import prod
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.inference.bounds import least_cells
from matchmaker.genetics.inference.elimination import (
    CELLS_MAX,
    TooTangledError,
    clique_cells,
    clique_tree,
    join,
    neighbours,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.genetics.inference.elimination import Neighbours

PLENTY = 10**12


def graph(seed: int, variables: int = 6, part: float = 0.5) -> tuple[Neighbours, dict[int, int]]:
    rng = random.Random(seed)  # noqa: S311
    sizes = {variable: rng.choice((2, 3, 3, 7)) for variable in range(variables)}
    pairs = [two for two in itertools.combinations(sizes, 2) if rng.random() < part]
    return neighbours(pairs, sizes), sizes


def largest_clique(near: Neighbours, sizes: Mapping[int, int], order: Sequence[int]) -> int:
    left = {variable: set(others) for variable, others in near.items()}
    largest = 0
    for variable in order:
        largest = max(largest, clique_cells(variable, left, sizes))
        join(variable, left)
    return largest


@pytest.mark.parametrize("seed", range(12))
def test_no_order_needs_less(seed: int) -> None:
    """All 720 orders of six variables are tried."""
    near, sizes = graph(seed)
    best = min(largest_clique(near, sizes, order) for order in itertools.permutations(sizes))
    assert max(sizes.values()) <= least_cells(near, sizes, PLENTY) <= best


def test_a_clique_is_as_large_as_it_is() -> None:
    near, sizes = graph(3, part=1.0)
    assert least_cells(near, sizes, PLENTY) == prod(sizes.values())


def test_a_chain_of_equal_variables_is_two_wide() -> None:
    sizes = dict.fromkeys(range(9), 3)
    assert least_cells(neighbours(itertools.pairwise(sizes), sizes), sizes, PLENTY) == 9


def test_the_graph_is_left_as_it_was() -> None:
    near, sizes = graph(5)
    least_cells(near, sizes, PLENTY)
    assert (near, sizes) == graph(5)


def test_what_no_order_can_sum_is_refused_with_its_size() -> None:
    """A random graph of 150 variables, each with about ten neighbours."""
    near, sizes = graph(7, variables=150, part=0.07)
    scopes = [(one, two) for one, others in near.items() for two in others if one < two]
    with pytest.raises(TooTangledError) as refused:
        clique_tree(scopes, sizes)
    assert refused.value.cells > CELLS_MAX
    assert 100 < refused.value.left <= 150
