"""Breeding values taken apart: relationship of all birds comes out again, however it is tangled."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.flock.pedigree import Pedigree, Pool
from matchmaker.genetics.kin import kinship as module
from matchmaker.genetics.kin.ancestry import ancestry_of, ancestry_of_parents, on_the_z
from matchmaker.genetics.kin.kinship import kinship_matrix, kinship_of
from matchmaker.genetics.traits.kindred import WITHIN_MIN, Kindred, kindred_of
from tests.kinship_helpers import simulated_flock, with_clutches
from tests.strategies import RELATED, UNRELATED, Shape, pedigree_by_seed

SEEDS = st.integers(0, 10**6)


def tangled(seed: int, bases: tuple[tuple[float, ...], ...]) -> Pedigree:
    shape = Shape(birds=25, founders=6, bases=bases)
    return with_clutches(pedigree_by_seed(seed, shape), seed)


def assert_relationships(found: Kindred, pedigree: Pedigree) -> None:
    expected = 2 * kinship_matrix(pedigree).values
    among = np.linalg.inv(found.dense_inverse())[np.ix_(found.birds, found.birds)]
    np.testing.assert_allclose(among, expected, atol=1e-9)
    np.testing.assert_allclose(found.own, expected.diagonal(), atol=1e-12)


@given(SEEDS, st.sampled_from([UNRELATED, RELATED]))
def test_the_inverse_is_that_of_the_relationships(
    seed: int, bases: tuple[tuple[float, ...], ...]
) -> None:
    pedigree = tangled(seed, bases)
    assert_relationships(kindred_of(ancestry_of(pedigree)), pedigree)


@given(SEEDS)
def test_every_unknown_stands_after_what_it_comes_from(seed: int) -> None:
    found = kindred_of(ancestry_of(tangled(seed, RELATED)))
    owners = np.repeat(np.arange(found.unknowns), np.diff(found.starts))
    assert (found.parents < owners).all()
    assert (np.diff(found.birds) > 0).all()
    assert (found.within > 0).all()


def test_sparse_and_dense_inverses_are_the_same() -> None:
    found = kindred_of(ancestry_of(tangled(3, RELATED)))
    np.testing.assert_allclose(found.inverse().toarray(), found.dense_inverse(), atol=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_wide_flocks_go_by_sweeps_to_the_same_end(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "TABLE_ROWS_MAX", 3)
    pedigree = tangled(seed, RELATED)
    assert_relationships(kindred_of(ancestry_of(pedigree)), pedigree)


def pen(clutches: tuple[int | None, ...]) -> Pedigree:
    """Two chicks of one hen by one of two unrelated cocks."""
    return Pedigree(
        pools=(Pool("sussex"),),
        bases=((0.0,),),
        birds=("A", "B", "H", "X", "Y"),
        sexes=(None,) * 5,
        sires=(*[((0, 1.0),)] * 3, *[((1, 0.5), (2, 0.5))] * 2),
        dams=(*[((0, 1.0),)] * 3, *[((3, 1.0),)] * 2),
        clutches=clutches,
    )


def test_a_sire_drawn_for_each_chick_is_no_unknown() -> None:
    """The mean of two strangers has half the variance of a bird: 1 − (½ + 1) / 4 are left."""
    found = kindred_of(ancestry_of(pen((None,) * 5)))
    assert found.unknowns == 5
    assert found.within.tolist() == [1, 1, 1, 0.625, 0.625]
    assert found.weights[found.starts[3] : found.starts[4]].tolist() == [0.25, 0.25, 0.5]


def test_a_sire_drawn_once_is_one_before_its_chicks() -> None:
    """Half of it is told by its candidates; its chicks have a half of their own as any others."""
    found = kindred_of(ancestry_of(pen((None, None, None, 0, 0))))
    assert found.birds.tolist() == [0, 1, 2, 4, 5]
    assert found.within.tolist() == [1, 1, 1, 0.5, 0.5, 0.5]
    assert found.parents[found.starts[3] : found.starts[5]].tolist() == [0, 1, 2, 3]


def test_birds_of_a_pool_have_its_root_in_common() -> None:
    """Two gametes of one pool are alike with a chance of ⅛: birds of it are related by ¼."""
    found = kindred_of(ancestry_of_parents([-1, -1], [-1, -1], base=0.125))
    assert found.unknowns == 3
    assert found.weights.tolist() == [0.5, 0.5]
    np.testing.assert_allclose(found.within, [1, 0.875, 0.875])
    np.testing.assert_allclose(found.own, [1.125, 1.125])


def test_pools_that_share_nothing_share_no_root() -> None:
    pedigree = replace(
        pedigree_by_seed(1, Shape(birds=3, founders=3, uncertain=0)),
        bases=((0.1, 0.0, 0.0), (0.0, 0.05, 0.05), (0.0, 0.05, 0.125)),
    )
    arrays = ancestry_of(pedigree)
    found = kindred_of(replace(arrays, sires=np.array([0, 1, 2]), dams=np.array([0, 1, 2])))
    assert found.unknowns == 6
    assert sorted(np.diff(found.starts[3:]).tolist()) == [1, 1, 2]


def test_fully_inbred_parents_leave_the_least_there_is() -> None:
    found = kindred_of(ancestry_of_parents([-1, 0], [-1, 0], base=1.0))
    assert found.within.tolist() == [1, WITHIN_MIN, WITHIN_MIN]
    assert np.isfinite(found.dense_inverse()).all()


def test_nobody_has_no_relationships() -> None:
    found = kindred_of(ancestry_of_parents([], []))
    assert found.unknowns == 0
    assert found.dense_inverse().shape == (0, 0)


def test_descent_on_the_z_is_refused() -> None:
    family = ancestry_of_parents([-1, -1, 0], [-1, -1, 1], sexes=[1, 2, 2])
    with pytest.raises(ValueError, match="autosomal"):
        kindred_of(on_the_z(family))


def test_large_flocks_agree_with_kinship() -> None:
    flock = simulated_flock(2_000, seed=4)
    found = kindred_of(flock.ancestry)
    whole = found.inverse()
    late = flock.of_last_seasons(5, seed=1)
    expected = 2 * kinship_of(flock.ancestry, flock.ancestry.birds)
    for bird in late:
        product = whole @ expected[:, bird]
        product[bird] -= 1
        assert np.abs(product).max() < 1e-10


def test_small_flocks_do_without_scipy() -> None:
    """Its import costs a third of a second."""
    code = """
import sys
from matchmaker.genetics.kin.ancestry import ancestry_of_parents
from matchmaker.genetics.traits.kindred import kindred_of
kindred_of(ancestry_of_parents([-1, -1, 0, 2], [-1, -1, 1, 1])).dense_inverse()
sys.exit("scipy" in sys.modules)
"""
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
