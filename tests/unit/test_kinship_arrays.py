"""Kinship from arrays: pruning, the moving table, the sweeps, and what they may not change."""

from __future__ import annotations

from functools import partialmethod
from typing import TYPE_CHECKING
from unittest.mock import Mock

import numpy as np
import pytest
from numpy.testing import assert_allclose

from matchmaker.genetics.kin import kinship, moving_table, sweeps
from matchmaker.genetics.kin.ancestry import Ancestry, ancestry_of, ancestry_of_parents
from matchmaker.genetics.kin.kinship import inbreeding_of, kinship_matrix, kinship_of
from matchmaker.genetics.kin.layers import layers_of
from tests.kinship_helpers import simulated_flock, with_clutches
from tests.strategies import BREEDS, RELATED, Shape, pedigree_by_seed

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix

FLOCK = simulated_flock(1500, seasons=12, seed=3)
SIBS = ancestry_of_parents([-1, -1, 0, 0, 0], [-1, -1, 1, 1, 1], sexes=[1, 2, 1, 2, 0])


def tabular(ancestry: Ancestry) -> Matrix:
    """Whole table of a certain pedigree, bird by bird: slow and plain."""
    size = ancestry.first_mixture
    table = np.zeros((size, size))
    table[:1, :1] = ancestry.bases
    for at in range(1, size):
        sire, dam = ancestry.sires[at - 1], ancestry.dams[at - 1]
        table[at, :at] = table[:at, at] = (table[sire, :at] + table[dam, :at]) / 2
        table[at, at] = (1 + table[sire, dam]) / 2
    return table


WHOLE = tabular(FLOCK.ancestry)


@pytest.fixture(params=["table", "small table", "sweeps"])
def any_way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Answer by one wide table, by one packed over and over, or by sweeps."""
    if request.param == "table":
        monkeypatch.setattr(moving_table, "ROWS_KEPT", 10**4)
    elif request.param == "small table":
        monkeypatch.setattr(moving_table, "ROWS_KEPT", 0)
        monkeypatch.setattr(moving_table, "ROWS_AT_ONCE", 7)
        monkeypatch.setattr(moving_table, "SLACK", 1.0)
    else:
        monkeypatch.setattr(kinship, "TABLE_ROWS_MAX", 0)


@pytest.mark.usefixtures("any_way")
class TestEveryWay:
    def test_inbreeding_of_all(self) -> None:
        found = inbreeding_of(FLOCK.ancestry)
        assert_allclose(found, 2 * WHOLE.diagonal()[1:] - 1, atol=1e-14)

    def test_kinship_of_the_youngest(self) -> None:
        nodes = FLOCK.of_last_seasons(120, seed=1) + 1
        assert_allclose(kinship_of(FLOCK.ancestry, nodes), WHOLE[np.ix_(nodes, nodes)], atol=1e-14)

    def test_kinship_of_birds_of_all_seasons_in_any_order(self) -> None:
        nodes = np.random.default_rng(2).permutation(FLOCK.ancestry.birds)[:200]
        assert_allclose(kinship_of(FLOCK.ancestry, nodes), WHOLE[np.ix_(nodes, nodes)], atol=1e-14)

    @pytest.mark.parametrize("z_linked", [False, True])
    @pytest.mark.parametrize("seed", range(5))
    def test_mixtures_clutches_and_related_founders(self, seed: int, *, z_linked: bool) -> None:
        """Against the whole table of the same birds, worked out before the ways were changed."""
        shape = Shape(birds=40, founders=5, uncertain=0.4, bases=RELATED)
        pedigree = with_clutches(pedigree_by_seed(seed, shape), seed)
        found = kinship_matrix(pedigree, z_linked=z_linked)
        assert_allclose(found.values, MIXED[seed, z_linked], atol=1e-14)
        bred = inbreeding_of(ancestry_of(pedigree), z_linked=z_linked)
        assert_allclose(bred, 2 * found.values.diagonal() - 1, atol=1e-14)

    def test_repeated_nodes_and_pools(self) -> None:
        base = ancestry_of_parents([-1, -1], [-1, -1], base=0.25)
        expected = [[0.625, 0.25, 0.625], [0.25, 0.25, 0.25], [0.625, 0.25, 0.625]]
        assert kinship_of(base, [2, 0, 2]).tolist() == expected


def _mixed() -> dict[tuple[int, bool], Matrix]:
    shape = Shape(birds=40, founders=5, uncertain=0.4, bases=RELATED)
    return {
        (seed, z_linked): kinship_matrix(
            with_clutches(pedigree_by_seed(seed, shape), seed), z_linked=z_linked
        ).values
        for seed in range(5)
        for z_linked in (False, True)
    }


MIXED = _mixed()


def test_a_small_table_is_packed_and_sweeps_are_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else the ways above would be one and the same."""
    packed, swept = Mock(wraps=moving_table._Table._pack), Mock(wraps=sweeps.answer_by_sweeps)
    monkeypatch.setattr(moving_table._Table, "_pack", partialmethod(packed))
    monkeypatch.setattr(sweeps, "answer_by_sweeps", swept)
    monkeypatch.setattr(moving_table, "ROWS_KEPT", 0)
    inbreeding_of(FLOCK.ancestry)
    assert packed.called
    assert not swept.called
    monkeypatch.setattr(kinship, "TABLE_ROWS_MAX", 0)
    inbreeding_of(FLOCK.ancestry)
    assert swept.called


def test_a_table_holds_breeders_and_not_the_pedigree() -> None:
    """Rows needed for all inbreeding: about the birds that breed within three seasons."""
    sizes = {}
    for seasons in (10, 40):
        ancestry = simulated_flock(200 * seasons, seasons=seasons, seed=1).ancestry
        needed = np.ones(ancestry.size, dtype=np.bool_)
        layers = layers_of(ancestry, needed)
        question = moving_table.Question(
            kept=np.empty(0, np.int64),
            firsts=layers.sires[layers.pools :],
            seconds=layers.dams[layers.pools :],
        )
        sizes[seasons] = moving_table.stays(layers, question).rows
    assert sizes[40] < 1.5 * sizes[10] < 1000


def test_founders_bought_late_enter_late() -> None:
    """A hundred generations, each out of a new cock: two or three rows at a time."""
    sires = [-1, -1, *[-1, 0] * 100]
    dams = [-1, -1, *[-1, 0] * 100]
    for at in range(100):
        cock, chick = 2 * at + 2, 2 * at + 3
        sires[chick], dams[chick] = cock, chick - 2
    ancestry = ancestry_of_parents(sires, dams)
    layers = layers_of(ancestry, np.ones(ancestry.size, dtype=np.bool_))
    last = np.array([layers.place_of[ancestry.first_mixture - 1]])
    none = np.empty(0, np.int64)
    question = moving_table.Question(kept=last, firsts=none, seconds=none)
    assert moving_table.stays(layers, question).rows <= 5


def test_full_sibs_without_chicks_share_a_row() -> None:
    """Five hundred sibs of one pair need no table of five hundred."""
    ancestry = ancestry_of_parents([-1, -1, *[0] * 500], [-1, -1, *[1] * 500])
    nodes = ancestry.birds[2:]
    stand_ins = kinship._stand_ins(ancestry, nodes, np.ones(ancestry.size, dtype=np.bool_))
    assert set(stand_ins.tolist()) == {3}
    found = kinship_of(ancestry, nodes)
    assert (found.diagonal() == 0.5).all()
    assert (found[~np.eye(500, dtype=bool)] == 0.25).all()


def test_brothers_and_sisters_are_not_alike_on_the_z() -> None:
    """B2 of two unrelated parents: brothers 3/8, brother and sister 1/4, sisters 1/2."""
    ancestry = ancestry_of_parents(
        [-1, -1, 0, 0, 0, 0], [-1, -1, 1, 1, 1, 1], sexes=[1, 2, 1, 1, 2, 2]
    )
    found = kinship_of(ancestry, [3, 4, 5, 6], z_linked=True)
    assert found.tolist() == [
        [0.5, 0.375, 0.25, 0.25],
        [0.375, 0.5, 0.25, 0.25],
        [0.25, 0.25, 1.0, 0.5],
        [0.25, 0.25, 0.5, 1.0],
    ]


def test_a_bird_of_unknown_sex_is_the_mean_of_both_on_the_z() -> None:
    cock, hen, unknown = kinship_of(SIBS, [3, 4, 5, 1, 2], z_linked=True)[:3]
    assert unknown[3:].tolist() == ((cock + hen) / 2)[3:].tolist()
    assert unknown[2] == (cock[0] + hen[1]) / 2


def test_inbreeding_on_the_z_by_sex() -> None:
    """Chicks of full sibs: the cock 1/4 (kinship of the two), the hen 1, else between."""
    chicks = ancestry_of_parents(
        [-1, -1, 0, 0, 2, 2, 2], [-1, -1, 1, 1, 3, 3, 3], sexes=[1, 2, 1, 2, 1, 2, 0]
    )
    assert inbreeding_of(chicks, [5, 6, 7], z_linked=True).tolist() == [0.25, 1.0, 0.625]


def test_nothing_asked_nothing_answered() -> None:
    assert kinship_of(SIBS, []).shape == (0, 0)
    assert inbreeding_of(SIBS, []).shape == (0,)


@pytest.mark.parametrize("node", [-1, 6])
def test_a_node_that_is_not_there_is_refused(node: int) -> None:
    with pytest.raises(IndexError, match="0 to 5"):
        kinship_of(SIBS, [1, node])


@pytest.mark.parametrize("node", [0, 6])
def test_only_birds_are_inbred(node: int) -> None:
    with pytest.raises(IndexError, match="1 to 5"):
        inbreeding_of(SIBS, [node])


@pytest.mark.parametrize(("sires", "dams"), [([-1, 1], [-1, 0]), ([-2], [-1]), ([1, -1], [-1, -1])])
def test_parents_must_come_first(sires: list[int], dams: list[int]) -> None:
    with pytest.raises(ValueError, match="after its parents"):
        ancestry_of_parents(sires, dams)


def test_equal_choices_are_one_mixture_and_clutches_their_own() -> None:
    pedigree = with_clutches(
        pedigree_by_seed(1, Shape(birds=30, founders=4, uncertain=1.0)), seed=1, share=0.5
    )
    ancestry = ancestry_of(pedigree)
    sides = [*pedigree.sires, *pedigree.dams]
    clutches = [*pedigree.clutches, *pedigree.clutches]
    drawn_for_each = {
        links
        for links, clutch in zip(sides, clutches, strict=True)
        if clutch is None and len(links) > 1
    }
    of_clutches = {
        (clutch, at < 30)
        for at, (links, clutch) in enumerate(zip(sides, clutches, strict=True))
        if clutch is not None and (len(links) > 1 or links[0][0] < len(BREEDS))
    }
    assert np.count_nonzero(ancestry.drawn == 0) == len(drawn_for_each)
    assert np.count_nonzero(ancestry.drawn > 0) == len(of_clutches)
