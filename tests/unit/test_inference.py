"""Factors, elimination and the two passes, on networks without any genetics."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.inference import exact
from matchmaker.genetics.inference.arithmetic import Logs
from matchmaker.genetics.inference.elimination import TooTangledError, clique_tree
from matchmaker.genetics.inference.exact import consistent, marginals, reduced
from matchmaker.genetics.inference.factors import ContradictionError, Network, Table, trimmed

if TYPE_CHECKING:
    from numpy.typing import NDArray


def random_network(seed: int) -> Network:
    """Seven variables of two to four states under ten factors with many zeros."""
    rng = np.random.default_rng(seed)
    network = Network()
    for size in rng.integers(2, 5, size=7):
        network.variable(int(size))
    for _ in range(10):
        scope = rng.choice(7, size=int(rng.integers(1, 4)), replace=False).tolist()
        shape = [network.sizes[variable] for variable in scope]
        values = rng.random(shape) * (rng.random(shape) < 0.8)
        network.add(Table.of(values), *scope)
    return network


def by_hand(network: Network) -> list[NDArray[np.float64]]:
    """Sum the whole joint table at once; all zero if no joint state is possible."""
    count = len(network.sizes)
    joint = np.ones(network.sizes)
    for table, scope in network.factors:
        grid = np.ix_(*map(np.arange, network.sizes))
        joint = joint * table.values[tuple(grid[variable] for variable in scope)]
    total = joint.sum() or 1.0
    return [
        joint.sum(axis=tuple(other for other in range(count) if other != variable)) / total
        for variable in range(count)
    ]


@pytest.mark.parametrize("seed", range(15))
@pytest.mark.parametrize("how", ["plain", "logarithms"])
def test_marginals_are_those_of_all_joint_states(
    seed: int, how: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if how == "logarithms":
        monkeypatch.setattr(exact, "Plain", Logs)
    network = random_network(seed)
    expected = by_hand(network)
    if not expected[0].any():
        with pytest.raises(ContradictionError):
            marginals(reduced(network))
        return
    for row, right in zip(marginals(reduced(network)), expected, strict=True):
        assert np.abs(row[0] - right).max() < 1e-12


@pytest.mark.parametrize("seed", range(15))
def test_conditional_marginals_are_those_with_the_state_given(seed: int) -> None:
    network = random_network(seed)
    expected = by_hand(network)
    if not expected[0].any():
        return
    fixed = [(v, int(s)) for v in (0, 3, 6) for s in np.flatnonzero(expected[v])]
    found = marginals(reduced(network), fixed)
    for batch, (variable, state) in enumerate(fixed):
        one_hot = np.eye(network.sizes[variable])[state]
        given = Network(network.sizes, [*network.factors, (Table.of(one_hot), (variable,))])
        for row, right in zip(found, by_hand(given), strict=True):
            assert np.abs(row[batch] - right).max() < 1e-12


def test_a_batch_too_large_for_the_room_is_done_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    network = random_network(3)
    fixed = [(v, int(s)) for v in range(7) for s in np.flatnonzero(by_hand(network)[v])]
    whole = marginals(reduced(network), fixed)
    net = reduced(network)
    monkeypatch.setattr(exact, "CELLS_MAX", 3 * net.cells)
    for one, two in zip(whole, marginals(net, fixed), strict=True):
        assert one.shape == two.shape
        assert np.abs(one - two).max() < 1e-14


@pytest.mark.parametrize("seed", range(40))
def test_consistent_where_some_joint_state_is_possible(seed: int) -> None:
    network = random_network(seed)
    for _ in range(4):
        network.add(Table.of(np.eye(network.sizes[seed % 7])[0]), seed % 7)
    try:
        found = consistent(reduced(network))
    except ContradictionError:
        found = False
    assert found == bool(by_hand(network)[0].any())


def test_trimming_follows_a_chain_to_its_end() -> None:
    network = Network()
    variables = [network.variable(3) for _ in range(5)]
    for one, two in itertools.pairwise(variables):
        network.add(Table.of(np.eye(3)), one, two)
    network.add(Table.of(np.array([0.0, 0.0, 1.0])), variables[4])
    assert trimmed(network) == [0b100] * 5


def test_trimming_alone_finds_a_plain_contradiction() -> None:
    network = Network()
    variable = network.variable(2)
    network.add(Table.of(np.array([0.0, 1.0])), variable)
    network.add(Table.of(np.array([1.0, 0.0])), variable)
    with pytest.raises(ContradictionError):
        trimmed(network)


def two_colours_of_a_triangle(third_colour: float) -> Network:
    """Three corners, each unlike the others in colour 0 or 1, or all in colour 2.

    Two colours do not suffice, though every pair of corners finds two that fit; colour 2 has the
    log weight ``third_colour``.
    """
    network = Network()
    corners = [network.variable(3) for _ in range(3)]
    fits = np.array([[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    for one, two in itertools.combinations(corners, 2):
        network.add(Table.of(fits), one, two)
    network.add(Table(np.array([0.0, 0.0, third_colour])), corners[0])
    return network


def test_weights_beyond_floats_are_compared_as_logarithms() -> None:
    """All that is possible weighs e^-2000, which is no float; what outweighs it is impossible."""
    found = marginals(reduced(two_colours_of_a_triangle(-2000.0)))
    assert [row[0].tolist() for row in found] == [[0.0, 0.0, 1.0]] * 3


def test_a_contradiction_that_no_single_factor_shows() -> None:
    network = reduced(two_colours_of_a_triangle(-np.inf))
    assert not consistent(network)
    with pytest.raises(ContradictionError):
        marginals(network)


def test_what_is_possible_is_consistent_however_unlikely() -> None:
    assert consistent(reduced(two_colours_of_a_triangle(-5000.0)))


@pytest.mark.parametrize("count", [1, 2, 9])
def test_a_chain_never_needs_more_than_pairs(count: int) -> None:
    scopes = [(n, n + 1) for n in range(count)]
    cliques = clique_tree(scopes, dict.fromkeys(range(count + 1), 3))
    assert max(len(clique.scope) for clique in cliques) == 2
    assert sorted(clique.scope[0] for clique in cliques) == list(range(count + 1))


def test_a_network_wider_than_the_cap_is_refused() -> None:
    """Eighteen variables of three states in one clique: 3^18 cells."""
    scopes = list(itertools.combinations(range(18), 2))
    with pytest.raises(TooTangledError, match="30,000,000 table cells"):
        clique_tree(scopes, dict.fromkeys(range(18), 3))
