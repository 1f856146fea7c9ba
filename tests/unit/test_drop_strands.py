"""Strands, gametes, chicks and pedigrees, and what is read off them, by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.drop.fixed import drop_pedigree, levels_of
from matchmaker.genetics.drop.grid import Grid, packed, unpacked
from matchmaker.genetics.drop.reading import bits_at, inbreeding, labels_at, segment
from matchmaker.genetics.drop.strands import chicks, founder_strands, planes_for

if TYPE_CHECKING:
    from matchmaker.genetics.drop.grid import Words

GRID = Grid.of({"1": 300.0, "2": 80.0, "Z": 50.0})
EVERYWHERE = np.arange(GRID.places)


def flock(birds: int, planes: int = 6) -> Words:
    labels = np.arange(2 * birds).reshape(-1, 2)
    return founder_strands(GRID, labels, labels % 3 == 0, planes)


@pytest.mark.parametrize(
    ("labels", "planes"), [(0, 1), (1, 1), (2, 2), (3, 3), (4, 3), (5, 4), (64, 7), (65, 8)]
)
def test_planes(labels: int, planes: int) -> None:
    assert planes_for(labels) == planes


def test_founders_are_of_one_label_and_breed_throughout() -> None:
    bits = flock(5)
    assert bits.shape == (5, 2, 6, GRID.words)
    labels = np.arange(10).reshape(-1, 2)
    assert (labels_at(bits, EVERYWHERE) == labels[..., None]).all()
    assert (bits_at(bits[..., 0, :], EVERYWHERE) == (labels % 3 == 0)[..., None]).all()
    assert not (bits[..., -1] >> np.uint64(GRID.places % 64)).any()


@pytest.mark.parametrize("labels", [[[0, 4]], [[-1, 0]]])
def test_labels_must_fit_the_planes(labels: list[list[int]]) -> None:
    with pytest.raises(ValueError, match="between 0 and 3"):
        founder_strands(GRID, np.array(labels), np.ones((1, 2), dtype=bool), 3)


def test_chicks_have_a_strand_of_each_parent() -> None:
    bits = flock(4)
    sires, dams = np.array([0, 1] * 300), np.array([2, 3] * 300)
    found = labels_at(chicks(GRID, bits, sires, dams, np.random.default_rng(1)), EVERYWHERE)
    assert (found[:, 0] // 2 == sires[:, None]).all()
    assert (found[:, 1] // 2 == dams[:, None]).all()
    both = (found[:, 0] % 2).mean(axis=0)
    assert ((both > 0.35) & (both < 0.65)).all()
    assert (found[:, 1][:, GRID.is_z] % 2 == 0).all()
    assert ((found[:, 1][:, ~GRID.is_z] % 2).mean(axis=0) > 0.35).all()


def test_breed_and_label_go_together() -> None:
    bits = flock(6)
    rng = np.random.default_rng(2)
    for _ in range(3):
        bits = chicks(
            GRID, bits, rng.integers(0, len(bits), 40), rng.integers(0, len(bits), 40), rng
        )
    breeds = bits_at(bits[..., 0, :], EVERYWHERE)
    assert (breeds == (labels_at(bits, EVERYWHERE) % 3 == 0)).all()


def test_as_many_sires_as_dams() -> None:
    with pytest.raises(ValueError, match="2 sires but 1 dams"):
        chicks(GRID, flock(2), np.array([0, 0]), np.array([1]), np.random.default_rng(1))


@pytest.mark.parametrize("parent", [-1, 2])
def test_parents_of_chicks_are_birds(parent: int) -> None:
    with pytest.raises(ValueError, match="numbers of birds, 0 to 1"):
        chicks(GRID, flock(2), np.array([0]), np.array([parent]), np.random.default_rng(1))


def test_levels_stand_after_all_they_descend_from() -> None:
    parents = np.array([[3, 2], [-1, -1], [1, -1], [1, 2], [-1, -1], [4, 1]])
    assert [level.tolist() for level in levels_of(parents)] == [[2, 5], [3], [0]]


def test_a_pedigree_of_founders_or_of_nobody() -> None:
    none = np.empty(0, dtype=int)
    rng = np.random.default_rng(1)
    assert drop_pedigree(GRID, none, none, 3, rng).shape == (3, 0, 2, 1, GRID.words)
    founders = np.full(3, -1)
    found = labels_at(drop_pedigree(GRID, founders, founders, 2, rng), np.array([0, 50]))
    assert (found == np.arange(6).reshape(3, 2, 1)).all()


@pytest.mark.parametrize("parent", [5, -2])
def test_parents_are_birds_of_the_pedigree(parent: int) -> None:
    sires = np.array([-1, parent])
    with pytest.raises(ValueError, match="numbers of birds, −1 to 1"):
        drop_pedigree(GRID, sires, np.array([-1, 0]), 1, np.random.default_rng(1))


def test_nobody_descends_from_itself() -> None:
    with pytest.raises(ValueError, match="descends from itself"):
        drop_pedigree(GRID, np.array([1, 0]), np.array([-1, -1]), 1, np.random.default_rng(1))


def test_a_missing_parent_is_a_founder_strand_of_its_own() -> None:
    """A bird whose dam alone is missing: half a founder."""
    bits = drop_pedigree(
        GRID,
        np.array([-1, 0, 0]),
        np.array([-1, -1, -1]),
        50,
        np.random.default_rng(1),
        recurrent=np.array([True, False, True]),
    )
    labels = labels_at(bits, EVERYWHERE)
    assert (labels[:, 0] == [[0], [1]]).all()
    assert (labels[:, 1:, 1] == [[2], [3]]).all()
    assert set(labels[:, 1:, 0].ravel().tolist()) == {0, 1}
    breeds = bits_at(bits[..., 0, :], EVERYWHERE)
    assert (breeds == np.isin(labels, [0, 1, 3])).all()


def test_breeds_of_founders_strand_by_strand() -> None:
    founders = np.full(2, -1)
    breeds = np.array([[True, False], [False, True]])
    bits = drop_pedigree(GRID, founders, founders, 1, np.random.default_rng(1), recurrent=breeds)
    assert (bits_at(bits[0, ..., 0, :], np.array([7]))[..., 0] == breeds).all()


def test_rows_may_stand_in_any_order() -> None:
    """Chicks above their parents: brother by sister, the mean inbreeding a quarter."""
    sires, dams = np.array([1, 3, 3, -1, -1]), np.array([2, 4, 4, -1, -1])
    many = Grid.of({str(at): 1.0 for at in range(60)})
    bits = drop_pedigree(many, sires, dams, 300, np.random.default_rng(1))
    assert abs(inbreeding(many, bits)[:, 0].mean() - 0.25) < 0.02


def test_pieces_around_a_place() -> None:
    grid = Grid.of({"1": 40.0, "2": 30.0})  # eight places, then six
    rows = ["00111100 111111", "11111111 000000", "01010111 000001"]
    flags = np.array([[one == "1" for one in row if one != " "] for row in rows])
    strands = packed(grid, flags)[:, None]
    assert segment(grid, strands, 3).tolist() == [[7.5, 12.5], [17.5, 22.5], [2.5, 2.5]]
    assert segment(grid, strands, 0).tolist() == [[2.5, 7.5], [2.5, 37.5], [2.5, 2.5]]
    assert segment(grid, strands, 13).tolist() == [[27.5, 2.5], [27.5, 2.5], [2.5, 2.5]]
    assert unpacked(grid, strands[:, 0]).tolist() == flags.astype(int).tolist()
