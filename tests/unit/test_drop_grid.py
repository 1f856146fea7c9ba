"""Places along the chromosomes, and flags by place as words."""

from __future__ import annotations

import math

import numpy as np
import pytest

from matchmaker.genetics.drop.grid import Grid, packed, unpacked
from matchmaker.genetics.shares.genome_map import chicken_map

MAP = {"1": 32.0, "Z": 20.0, "2": 9.0}


def test_stretches_are_equal_and_at_most_the_spacing() -> None:
    grid = Grid.of(MAP)
    assert grid.chromosomes == ("1", "2", "Z")
    assert grid.lengths == (32.0, 9.0, 20.0)
    assert np.bincount(grid.chromosome_of).tolist() == [7, 2, 4]
    assert grid.positions[:7] == pytest.approx([32 / 7 * (at + 0.5) for at in range(7)])
    assert grid.is_z.tolist() == [False] * 9 + [True] * 4
    assert (grid.places, grid.words) == (13, 1)


def test_weights_are_parts_of_the_autosomes_and_of_the_z() -> None:
    grid = Grid.of(MAP)
    assert grid.weights[:9] == pytest.approx([32 / 7 / 41] * 7 + [4.5 / 41] * 2)
    assert grid.weights[9:].tolist() == [0.0] * 4
    assert grid.z_weights[9:] == pytest.approx([0.25] * 4)
    assert not grid.z_weights[:9].any()


def test_neighbours_recombine_as_haldane_has_it() -> None:
    grid = Grid.of(MAP, placed=[("1", 3.0)])
    for place in range(1, grid.places):
        if grid.chromosome_of[place] != grid.chromosome_of[place - 1]:
            assert grid.recombination[place] == 0.5
        else:
            apart = (grid.positions[place] - grid.positions[place - 1]) / 100
            assert grid.recombination[place] == pytest.approx((1 - math.exp(-2 * apart)) / 2)
    assert grid.recombination[0] == 0.5


def test_places_asked_for_stand_in_order_and_weigh_nothing() -> None:
    grid = Grid.of(MAP, placed=[("Z", 20.0), ("1", 3.0), ("1", 0.0), ("1", 3.0)])
    assert grid.places == 17
    assert (np.diff(grid.positions)[np.diff(grid.chromosome_of) == 0] >= 0).all()
    assert grid.positions[grid.placed_at].tolist() == [20.0, 3.0, 0.0, 3.0]
    assert grid.chromosome_of[grid.placed_at].tolist() == [2, 0, 0, 0]
    assert len(set(grid.placed_at.tolist())) == 4
    assert not grid.weights[grid.placed_at].any()
    assert not grid.z_weights[grid.placed_at].any()
    assert grid.weights.sum() == pytest.approx(1)
    assert grid.z_weights.sum() == pytest.approx(1)
    twins = sorted(grid.placed_at[[1, 3]].tolist())
    assert grid.recombination[twins[1]] == 0


def test_stretch_of_a_place_is_its_chromosome() -> None:
    grid = Grid.of(MAP)
    assert [grid.stretch(place) for place in (0, 6, 7, 8, 12)] == [
        (0, 7),
        (0, 7),
        (7, 9),
        (7, 9),
        (9, 13),
    ]


def test_a_map_without_autosomes_or_without_z() -> None:
    assert not Grid.of({"Z": 20.0}).weights.any()
    assert not Grid.of({"1": 20.0}).z_weights.any()


def test_the_map_of_the_fowl_fits_ten_words() -> None:
    grid = Grid.of(chicken_map().lengths)
    assert (len(grid.chromosomes), grid.places, grid.words) == (31, 623, 10)
    assert grid.chromosomes[-1] == "Z"


def test_arrays_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        Grid.of(MAP).weights[0] = 1


@pytest.mark.parametrize("lengths", [{}, {"1": 0.0}, {"1": -2.0}, {"1": float("nan")}])
def test_chromosomes_have_lengths(lengths: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="longer than nought"):
        Grid.of(lengths)


def test_spacing_is_above_nought() -> None:
    with pytest.raises(ValueError, match="longer than nought"):
        Grid.of(MAP, spacing=0)


@pytest.mark.parametrize("place", [("3", 1.0), ("1", -0.1), ("1", 32.1)])
def test_places_lie_on_a_chromosome(place: tuple[str, float]) -> None:
    with pytest.raises(ValueError, match="no place at"):
        Grid.of(MAP, placed=[place])


def test_flags_come_back_from_words() -> None:
    grid = Grid.of({"1": 700.0})
    flags = np.random.default_rng(3).random((4, 2, grid.places)) < 0.5
    words = packed(grid, flags)
    assert words.shape == (4, 2, 3)
    assert (unpacked(grid, words) == flags).all()
    for place in (0, 63, 64, 139):
        bit = words[..., place // 64] >> np.uint64(place % 64) & np.uint64(1)
        assert (bit == flags[..., place]).all()
    assert not (words[..., 2] >> np.uint64(140 - 128)).any()
