"""Heterozygosity between breeds against gene dropping, and its bounds, on random pedigrees."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import pytest
from hypothesis import given
from numpy.typing import NDArray

from matchmaker.genetics.shares.share import breed_shares
from matchmaker.genetics.traits.heterozygosity import heterozygosity_of
from tests.kinship_helpers import with_clutches
from tests.strategies import RELATED, Shape, pedigree_by_seed, pedigrees

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Links, Pedigree

Numbers: TypeAlias = NDArray[np.int64]

SHAPE = Shape(birds=14, founders=5, bases=RELATED)
DROPS = 20_000


def drop_breeds(pedigree: Pedigree, seed: int) -> NDArray[np.float64]:
    """Share of drops in which a bird's two alleles are of different breeds, shape (birds,).

    Each drop draws parents (one for all chicks of a clutch) and then one of their two alleles. The
    unknown parent of a clutch out of a pool is pure.
    """
    rng = np.random.default_rng(seed)
    pools = [pool.breed == "sussex" for pool in pedigree.pools]
    alleles = [np.repeat(np.full((1, DROPS), breed), 2, axis=0) for breed in pools]
    drawn: dict[tuple[int, str], Numbers] = {}

    def parents(links: Links) -> Numbers:
        return rng.choice([node for node, _ in links], DROPS, p=[chance for _, chance in links])

    def gamete(links: Links, clutch: int | None, side: str) -> NDArray[np.bool_]:
        if clutch is None:
            chosen = parents(links)
        else:
            chosen = drawn.setdefault((clutch, side), parents(links))
        strand = rng.integers(0, 2, DROPS)
        passed = np.empty(DROPS, dtype=np.bool_)
        for node, _ in links:
            here = chosen == node
            passed[here] = alleles[node][strand[here], np.flatnonzero(here)]
        return passed

    for at, (sires, dams) in enumerate(zip(pedigree.sires, pedigree.dams, strict=True)):
        clutch = pedigree.clutch_of(at)
        alleles.append(np.vstack((gamete(sires, clutch, "sire"), gamete(dams, clutch, "dam"))))
    return np.array([(one[0] != one[1]).mean() for one in alleles[len(pools) :]])


@pytest.mark.parametrize("seed", range(8))
def test_dropped_alleles_differ_as_often(seed: int) -> None:
    """Within five standard errors of 20,000 drops, clutches and uncertain parents among them."""
    pedigree = with_clutches(pedigree_by_seed(seed, SHAPE), seed)
    exact = heterozygosity_of(pedigree)
    error = np.sqrt(exact * (1 - exact) / DROPS)
    assert (np.abs(drop_breeds(pedigree, seed) - exact) <= 5 * error + 1e-12).all()


@given(pedigree=pedigrees(SHAPE))
def test_never_more_than_the_share_allows(pedigree: Pedigree) -> None:
    """At most twice the smaller share: every crossed place holds an allele of each breed."""
    crossed = heterozygosity_of(pedigree)
    least = breed_shares(pedigree)[1].min(axis=1)
    assert (crossed >= -1e-12).all()
    assert (crossed <= 2 * least + 1e-12).all()
