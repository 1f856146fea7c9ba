"""Masks of strands: chances of patterns, recombination by Haldane, hens' Z, held places."""

from __future__ import annotations

import pickle
from itertools import product
from math import prod
from typing import Any, TypeAlias

import numpy as np
import pytest
from numpy.typing import NDArray

from matchmaker.genetics.drop.crossovers import BLOCK, held_masks, strand_masks
from matchmaker.genetics.drop.grid import Grid, unpacked
from matchmaker.genetics.drop.patterns import ENTRIES, PATTERNS, pattern_chances, pattern_tables
from matchmaker.genetics.shares.genome_map import chicken_map

Array: TypeAlias = NDArray[Any]

FOWL = Grid.of(chicken_map().lengths, placed=[("3", 100.0), ("3", 100.4), ("Z", 7.0)])


def off(found: Array, chance: Array, draws: int) -> float:
    """Largest distance of frequencies from their chances, in standard errors."""
    error = np.sqrt(np.maximum(chance * (1 - chance), 1e-12) / draws)
    return float((np.abs(found - chance) / error).max())


def test_chances_of_patterns_are_products_over_their_changes() -> None:
    recombination = [0.5, 0.04, 0.003, 0.2, 0.0]
    found = pattern_chances(np.array(recombination))
    for strands in product((0, 1), repeat=5):
        changes = [a != b for a, b in zip((0, *strands), strands, strict=False)]
        chance = prod(
            r if change else 1 - r for r, change in zip(recombination, changes, strict=True)
        )
        number = sum(strand << at for at, strand in enumerate(strands))
        assert found[number] == pytest.approx(chance, abs=1e-15)


def test_tables_give_each_pattern_its_chance() -> None:
    """Both draws together, added up: exact but for rounding."""
    tables = pattern_tables(FOWL)
    chances = np.zeros(len(tables.entries) * 8)
    chances[: FOWL.places] = FOWL.recombination
    seconds = 0.0
    for chunk, entries in enumerate(tables.entries):
        sure = int(tables.last_sure[chunk, 0]) + 1
        stands = (tables.others[chunk] >> np.uint64(8)) / 2**56
        other = (tables.others[chunk] & np.uint64(PATTERNS - 1)).astype(int)
        second = stands + np.bincount(other, weights=1 - stands, minlength=PATTERNS)
        first = np.bincount(entries[:sure], minlength=PATTERNS) / ENTRIES
        total = first + second / PATTERNS * (1 - sure / ENTRIES)
        expected = pattern_chances(chances[8 * chunk : 8 * chunk + 8])
        assert total == pytest.approx(expected, abs=1e-14)
        seconds += 1 - sure / ENTRIES
    assert seconds < 2  # second draws a gamete


def test_neighbours_and_chromosomes_recombine_as_they_should() -> None:
    draws = 30_000
    strands = unpacked(FOWL, strand_masks(FOWL, draws, np.random.default_rng(1)))
    assert off(strands.mean(axis=0), np.full(FOWL.places, 0.5), draws) < 5
    changes = strands[:, 1:] != strands[:, :-1]
    assert off(changes.mean(axis=0), FOWL.recombination[1:], draws) < 5


def test_far_places_recombine_as_haldane_has_it() -> None:
    """Pairs across the bounds of patterns and of words, from one to eighty places apart."""
    draws = 40_000
    grid = Grid.of({"1": 426.0})
    strands = unpacked(grid, strand_masks(grid, draws, np.random.default_rng(2)))
    for apart in (1, 3, 8, 16, 40, 80):
        pairs = strands[:, apart:] != strands[:, :-apart]
        distance = grid.positions[apart] - grid.positions[0]
        chance = np.full(pairs.shape[1], (1 - np.exp(-2 * distance / 100)) / 2)
        assert off(pairs.mean(axis=0), chance, draws) < 5


def test_changes_do_not_hinder_each_other() -> None:
    draws = 60_000
    grid = Grid.of({"1": 60.0})
    strands = unpacked(grid, strand_masks(grid, draws, np.random.default_rng(3))).astype(int)
    changes = np.diff(strands, axis=1) != 0
    both = np.array([(changes[:, i] & changes[:, j]).mean() for i in range(11) for j in range(i)])
    assert off(both, np.full(len(both), grid.recombination[1] ** 2), draws) < 5


def test_gametes_are_independent_of_each_other() -> None:
    """Neighbours in a draw, and the same place in the block after it."""
    strands = unpacked(FOWL, strand_masks(FOWL, 2 * BLOCK, np.random.default_rng(4)))
    for apart in (1, 2, 4, BLOCK):
        alike = (strands[apart:] == strands[:-apart]).mean()
        pairs = len(strands) - apart
        # about 31 chromosomes, each some two independent stretches: error of a mean over pairs
        assert abs(alike - 0.5) < 5 * 0.5 / np.sqrt(pairs * 31)


def test_same_seed_same_masks() -> None:
    one, other = (strand_masks(FOWL, 50, np.random.default_rng(9)) for _ in range(2))
    assert (one == other).all()
    assert not (strand_masks(FOWL, 50, np.random.default_rng(10)) == one).all(axis=1).any()


def test_a_grid_handed_to_another_process_gives_the_same_masks() -> None:
    other = pickle.loads(pickle.dumps(FOWL))  # noqa: S301
    one, two = (strand_masks(grid, 9, np.random.default_rng(9)) for grid in (FOWL, other))
    assert (one == two).all()
    assert pattern_tables(other) is pattern_tables(FOWL)


def test_no_gametes_no_masks() -> None:
    assert strand_masks(FOWL, 0, np.random.default_rng(1)).shape == (0, FOWL.words)


def test_bits_beyond_the_last_place_are_nought() -> None:
    masks = strand_masks(FOWL, 500, np.random.default_rng(5))
    assert not (masks[:, -1] >> np.uint64(FOWL.places % 64)).any()


def test_hens_pass_their_one_z_whole() -> None:
    hens = np.arange(400) % 2 == 0
    strands = unpacked(FOWL, strand_masks(FOWL, 400, np.random.default_rng(6), of_hens=hens))
    assert not strands[hens][:, FOWL.is_z].any()
    assert 0.4 < strands[~hens][:, FOWL.is_z].mean() < 0.6
    assert 0.4 < strands[hens][:, ~FOWL.is_z].mean() < 0.6


LINKED = Grid.of(
    {"1": 60.0, "2": 20.0, "Z": 10.0},
    placed=[("1", 40.0), ("1", 12.0), ("1", 21.0), ("2", 10.0), ("Z", 5.0)],
)


@pytest.mark.parametrize(
    "held",
    [(1, -1, -1, -1, -1), (0, 1, -1, -1, -1), (1, 0, 1, 0, 1), (-1, 1, 1, -1, 0), (0, 0, 1, 1, -1)],
)
def test_held_masks_are_free_ones_that_happen_to_agree(held: tuple[int, ...]) -> None:
    """Strands, and pairs of neighbouring strands, as among free masks with the held strands."""
    rng = np.random.default_rng(7)
    free = unpacked(LINKED, strand_masks(LINKED, 400_000, rng))
    asked = np.array(held)
    known = asked >= 0
    agree = (free[:, LINKED.placed_at][:, known] == asked[known]).all(axis=1)
    expected = free[agree]
    count = 20_000
    rows = np.tile(asked.astype(np.int8), (count, 1))
    found = unpacked(LINKED, held_masks(LINKED, count, rng, rows))
    assert (found[:, LINKED.placed_at][:, known] == asked[known]).all()
    for one, other in ((found, expected), (turns(found), turns(expected))):
        chance = other.mean(axis=0)
        free_of = chance * (1 - chance) + 1e-4
        error = np.sqrt(free_of * (1 / count + 1 / len(expected)))
        assert (np.abs(one.mean(axis=0) - chance) <= 5 * error).all()


def turns(strands: Array) -> Array:
    """Changes between neighbours, and whether two of them follow each other."""
    changes = strands[:, 1:] != strands[:, :-1]
    return np.concatenate([changes, changes[:, 1:] & changes[:, :-1]], axis=1)


def test_rows_hold_each_their_own() -> None:
    rng = np.random.default_rng(8)
    held = rng.integers(-1, 2, (500, 5)).astype(np.int8)
    found = unpacked(LINKED, held_masks(LINKED, 500, rng, held))[:, LINKED.placed_at]
    assert ((found == held) | (held < 0)).all()
    assert 0.4 < found[held < 0].mean() < 0.6


def test_places_closer_than_the_grid_can_be_parted() -> None:
    grid = Grid.of({"1": 50.0}, placed=[("1", 10.0), ("1", 10.001)])
    held = np.array([[0, 1]] * 50, dtype=np.int8)
    found = unpacked(grid, held_masks(grid, 50, np.random.default_rng(1), held))
    assert (found[:, grid.placed_at] == [0, 1]).all()


def test_the_same_place_cannot_be_parted() -> None:
    grid = Grid.of({"1": 50.0}, placed=[("1", 10.0), ("1", 10.0)])
    with pytest.raises(ValueError, match="no crossover parts"):
        held_masks(grid, 9, np.random.default_rng(1), np.array([[0, 1]] * 9, dtype=np.int8))


def test_hens_hold_their_only_z() -> None:
    rng = np.random.default_rng(1)
    held = np.full((40, 5), -1, dtype=np.int8)
    held[:, 4] = 0
    hens = np.ones(40, dtype=bool)
    assert not unpacked(LINKED, held_masks(LINKED, 40, rng, held, hens))[:, LINKED.is_z].any()
    held[3, 4] = 1
    with pytest.raises(ValueError, match="only Z"):
        held_masks(LINKED, 40, rng, held, hens)
    assert held_masks(LINKED, 40, rng, held, ~hens).shape == (40, 1)


def test_held_strands_of_another_shape() -> None:
    with pytest.raises(ValueError, match="held strands of shape"):
        held_masks(LINKED, 3, np.random.default_rng(1), np.zeros((3, 4), dtype=np.int8))
