"""Sampling of tangled networks: what it gives, what it refuses, and its parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.inference.arithmetic import drawn
from matchmaker.genetics.inference.blocks import block
from matchmaker.genetics.inference.chains import Seen, Stretch
from matchmaker.genetics.inference.cutset import cut_sets
from matchmaker.genetics.inference.elimination import TooTangledError, clique_cells, neighbours
from matchmaker.genetics.inference.factors import ContradictionError, Network, Table
from matchmaker.genetics.inference.logfactors import Factor
from matchmaker.genetics.inference.sampling import ERROR_MAX, Sampled, sampled
from matchmaker.genetics.inference.starts import NoStartError, starting_states
from tests.sampling_helpers import all_alike, exact_of, hidden_mode, ladder, network_of, tangled

if TYPE_CHECKING:
    from numpy.typing import NDArray

BIRDS = 24


def run(network: Network, *, seed: int = 1, narrow: int = 27, sweeps_max: int = 512) -> Sampled:
    generator = np.random.default_rng(seed)
    return sampled(network, generator, narrow=narrow, sweeps_max=sweeps_max)


def test_equal_input_gives_equal_output() -> None:
    network = network_of(tangled(BIRDS, 1))
    one, two = run(network), run(network)
    assert np.array_equal(one.samples, two.samples)
    assert all(map(np.array_equal, one.marginals, two.marginals))
    assert all(map(np.array_equal, one.errors, two.errors))


def test_another_seed_gives_other_draws() -> None:
    network = network_of(tangled(BIRDS, 1))
    assert not np.array_equal(run(network).samples, run(network, seed=2).samples)


def test_probabilities_sum_to_one() -> None:
    found = run(network_of(tangled(BIRDS, 2)))
    assert [row.sum() for row in found.marginals] == pytest.approx([1.0] * len(found.marginals))


def test_samples_agree_with_the_probabilities_given() -> None:
    found = run(network_of(tangled(BIRDS, 2)))
    for variable, row in enumerate(found.marginals):
        counts = np.bincount(found.samples[:, variable], minlength=len(row))
        # Up to 4,096 samples: half a percent standard deviation were they independent.
        assert counts / len(found.samples) == pytest.approx(row, abs=0.05)


def test_no_sample_is_impossible() -> None:
    network = network_of(tangled(BIRDS, 3))
    found = run(network)
    for table, scope in network.factors:
        assert np.isfinite(table.logs[tuple(found.samples[:, list(scope)].T)]).all()


def test_no_error_stated_is_over_the_limit() -> None:
    assert 0 < run(network_of(tangled(BIRDS, 3))).error <= ERROR_MAX


def test_what_is_narrow_is_exact() -> None:
    network = ladder(6, seed=1)
    found = run(network)
    assert found.error == pytest.approx(0.0, abs=1e-12)
    assert np.concatenate(found.marginals) == pytest.approx(np.concatenate(exact_of(network)))


def test_a_settled_variable_has_no_error() -> None:
    network = Network()
    network.add(Table.of(np.array([0.0, 1.0])), network.variable(2))
    found = run(network)
    assert (found.marginals[0].tolist(), found.errors[0].tolist()) == ([0.0, 1.0], [0.0, 0.0])
    assert set(found.samples[:, 0].tolist()) == {1}


def test_a_network_of_nothing_has_no_probabilities() -> None:
    assert (run(Network()).marginals, run(Network()).error) == ((), 0.0)


@pytest.mark.parametrize("chance", [0.5, 0.1, 0.01])
def test_modes_that_no_chain_can_cross_are_refused(chance: float) -> None:
    with pytest.raises(TooTangledError, match="do not settle"):
        run(all_alike(8, chance), narrow=4, sweeps_max=64)


@pytest.mark.parametrize("seed", range(6))
def test_a_mode_that_random_starts_hardly_come_upon_is_not_overlooked(seed: int) -> None:
    network = hidden_mode(18, seed)
    assert exact_of(network)[0] == pytest.approx([0.5, 0.5])
    with pytest.raises(TooTangledError, match="do not settle"):
        run(network, seed=seed, narrow=8, sweeps_max=64)


def test_modes_narrow_enough_to_sum_are_exact() -> None:
    assert run(all_alike(8, 0.3), narrow=256).marginals[7] == pytest.approx([0.7, 0.3])


def test_a_certain_state_among_modes_is_found() -> None:
    assert run(all_alike(8, 1.0), narrow=4).marginals[7].tolist() == [0.0, 1.0]


def test_evidence_that_trimming_finds_impossible_is_a_contradiction() -> None:
    network = all_alike(3, 1.0)
    network.add(Table.of(np.array([1.0, 0.0])), 2)
    with pytest.raises(ContradictionError):
        run(network)


def test_evidence_that_only_a_sum_finds_impossible_is_a_contradiction() -> None:
    network = all_alike(2, 0.5)
    network.add(Table.of(1 - np.eye(2)), 0, 1)
    with pytest.raises(ContradictionError):
        run(network)


def test_no_start_is_found_where_nothing_is_possible() -> None:
    network = all_alike(8, 0.5)
    network.add(Table.of(1 - np.eye(2)), 0, 7)
    with pytest.raises(TooTangledError, match="to start from"):
        run(network, narrow=2)


def test_too_few_sweeps_are_refused_and_more_agree() -> None:
    network = ladder(12, seed=3)
    for one, two in ((0, 13), (2, 15), (4, 17), (6, 19), (8, 21), (1, 20), (3, 22), (0, 23)):
        network.add(Table.of(np.eye(3) + 0.01), one, two)
    with pytest.raises(TooTangledError):
        run(network, narrow=3, sweeps_max=16)
    exact = np.concatenate(exact_of(network))
    assert np.concatenate(run(network, narrow=81).marginals) == pytest.approx(exact, abs=0.03)


@pytest.mark.parametrize("chains", [1, 33, 100])
def test_chains_that_fall_into_no_even_groups_are_a_mistake(chains: int) -> None:
    with pytest.raises(ValueError, match="chains must be"):
        sampled(ladder(3, 1), np.random.default_rng(1), chains=chains)


def test_a_large_family_does_not_leave_the_range_of_numbers() -> None:
    network = Network()
    parents = [network.variable(3) for _ in range(5)]
    for one, two in zip(parents, parents[1:] + parents[:1], strict=True):
        network.add(Table.of(np.eye(3) + 0.5), one, two)
    rare = Table.of(np.array([1e-200, 2e-200, 1e-200]))
    for parent in parents:
        for _ in range(40):
            network.add(rare, parent)
    found = run(network, narrow=9)
    assert found.marginals[0] == pytest.approx([0.0, 1.0, 0.0], abs=1e-3)


def test_every_variable_is_free_in_some_cut_set() -> None:
    network = ladder(12, seed=1)
    near = neighbours([scope for _, scope in network.factors], dict.fromkeys(range(24), 3))
    cuts = cut_sets(near, dict.fromkeys(near, 3), 9)
    assert set.intersection(*(set(one.cut) for one in cuts)) == set()


def test_cliques_outside_a_cut_set_are_narrow() -> None:
    network = ladder(12, seed=1)
    sizes = dict.fromkeys(range(24), 3)
    near = neighbours([scope for _, scope in network.factors], sizes)
    for one in cut_sets(near, sizes, 9):
        assert all(3 ** (1 + len(others)) <= 9 for _, others in one.steps)
        assert {variable for variable, _ in one.steps} | set(one.cut) == set(near)
    assert clique_cells(1, near, sizes) > 9


def test_a_block_draws_in_proportion_to_the_weights() -> None:
    rng = np.random.default_rng(5)
    logs = np.log(rng.random((3, 3, 3)))
    cut = next(one for one in cut_sets({0: {1, 2}, 1: {0, 2}, 2: {0, 1}}, sizes3(), 9) if one.cut)
    fixed = cut.cut[0]
    states = np.full((3, 40_000), 1)
    block(cut, [Factor((0, 1, 2), logs)], sizes3()).draw(states, rng)
    free = [variable for variable in range(3) if variable != fixed]
    counts = np.zeros((3, 3))
    np.add.at(counts, tuple(states[free]), 1 / 40_000)
    weights = np.exp(logs).take(1, axis=fixed)
    # Standard deviation of a share of 40,000 draws: 0.0025 at most.
    assert counts == pytest.approx(weights / weights.sum(), abs=0.0125)


def sizes3() -> dict[int, int]:
    return dict.fromkeys(range(3), 3)


def test_a_state_without_chance_is_never_drawn() -> None:
    chances = np.array([[0.0, 0.0], [1.0, 0.3], [0.0, 0.7]])
    assert drawn(chances, np.array([0.0, 0.0])).tolist() == [1, 1]
    assert drawn(chances, np.array([1 - 1e-16, 1 - 1e-16])).tolist() == [1, 2]


def test_chains_start_in_different_possible_states() -> None:
    with np.errstate(divide="ignore"):
        unlike = np.log(1 - np.eye(3))
    ring = [Factor((at, at + 1), unlike) for at in range(9)]
    starts = starting_states(ring, dict.fromkeys(range(10), 3), 32, np.random.default_rng(1))
    assert (starts[1:] != starts[:-1]).all()
    assert len({tuple(column) for column in starts.T.tolist()}) > 16


def test_every_possible_state_of_a_variable_is_the_start_of_some_chain() -> None:
    with np.errstate(divide="ignore"):
        follows = np.log(np.array([[1.0, 1.0], [0.0, 1.0]]))
    star = [Factor((0, leaf), follows) for leaf in range(1, 30)]
    starts = starting_states(star, dict.fromkeys(range(30), 2), 8, np.random.default_rng(1))
    assert (starts.min(axis=1) == 0).all()
    assert (starts.max(axis=1) == 1).all()
    assert (starts[1:] >= starts[0]).all()


def test_a_choice_that_is_taken_back_is_made_anew() -> None:
    """States 2 are dead ends that show only once chosen; of the rest the two must differ."""
    differ, ends = np.ones((3, 3)), [np.ones((3, 2)), np.ones((3, 2))]
    differ[0, 0] = differ[1, 1] = 0.0
    ends[0][2, 1] = ends[1][2, 0] = 0.0
    with np.errstate(divide="ignore"):
        rules = [Factor((0, 1), np.log(differ))]
        rules += [Factor((at, at + 2), np.log(end)) for at in (0, 1) for end in ends]
    for seed in range(20):
        sizes = {0: 3, 1: 3, 2: 2, 3: 2}
        one, two, *_ = starting_states(rules, sizes, 8, np.random.default_rng(seed))
        assert (one != two).all()


def test_a_ring_that_cannot_be_coloured_gives_no_start() -> None:
    with np.errstate(divide="ignore"):
        unlike = np.log(1 - np.eye(2))
    ring = [Factor((0, 1), unlike), Factor((1, 2), unlike), Factor((0, 2), unlike)]
    with pytest.raises(NoStartError):
        starting_states(ring, dict.fromkeys(range(3), 2), 4, np.random.default_rng(1))


def stretch(values: list[float]) -> Stretch:
    """Two sweeps in which every chain gave its own value for a state, unchanging."""
    means = np.array([[values, [1.0 - value for value in values]]])
    squares: NDArray[np.float64] = np.square(means)
    return Stretch(means, squares, np.zeros((2, 1, len(values)), dtype=np.uint8))


def test_chains_that_stay_apart_disagree() -> None:
    seen = Seen([stretch([0.0, 1.0]), stretch([0.0, 1.0])], [2])
    assert seen.disagreements()[0] > 10


def test_chains_that_are_alike_do_not_disagree() -> None:
    seen = Seen([stretch([0.4, 0.4]), stretch([0.4, 0.4])], [2])
    assert seen.disagreements()[0] == pytest.approx(1.0)


def test_stretches_that_differ_disagree_though_chains_are_alike() -> None:
    seen = Seen([stretch([0.0, 0.0]), stretch([1.0, 1.0])], [2])
    assert seen.disagreements()[0] > 10
