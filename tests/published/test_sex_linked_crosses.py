"""Crosses of Z-linked genes.

Silver and gold: "A case of non-disjunction in the fowl", Proc R Soc Edinb (abstract read): gold
daughters, silver sons of a gold cock on silver hens. Slow and fast feathering: Groen Kennisnet
(read). The other matings follow from the rule that a hen's Z goes to her sons; arithmetic exact.
"""

from __future__ import annotations

import pytest

from matchmaker.genetics.loci.catalogue import catalogue
from tests.locus_helpers import chicks_of

SURE, NONE, HALF = [0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [1 / 2, 1 / 2, 0.0]


SILVER = {
    "gold cock on silver hen: silver sons, gold daughters": (1, 0, SURE, NONE),
    "silver cock on gold hen: all silver": (0, 2, SURE, SURE),
    "split cock on gold hen: half of each": (0, 1, HALF, HALF),
    "split cock on silver hen": (1, 1, [0.0, 1 / 2, 1 / 2], HALF),
    "pure silver": (1, 2, [0.0, 0.0, 1.0], SURE),
}
"""Copies of the hen and of the cock, and of how many copies sons and daughters are."""


@pytest.mark.parametrize("mating", SILVER)
def test_silver_and_gold(mating: str) -> None:
    hen, cock, sons, daughters = SILVER[mating]
    chicks = chicks_of("S", hen, cock)
    assert (chicks.sons.tolist(), chicks.daughters.tolist()) == (sons, daughters)


def test_chicks_of_a_fast_cock_on_slow_hens_are_sexed_by_the_wing() -> None:
    """Fast cock (no copy) on slow hen: daughters fast, sons slow (Groen Kennisnet)."""
    chicks = chicks_of("K", 1, 0)
    assert (chicks.sons.tolist(), chicks.daughters.tolist()) == (SURE, NONE)


def test_a_silver_hen_gives_her_sons_silver_and_no_son_gold() -> None:
    """A hobby page claims the contrary; a hen has one Z, so it cannot be."""
    assert chicks_of("S", 1, 0).sons[0] == 0.0


@pytest.mark.parametrize("symbol", [s for s, locus in catalogue().items() if locus.z_linked])
def test_a_recurrent_cock_takes_any_z_linked_gene_from_the_daughters(symbol: str) -> None:
    """So carriers alternate sex in a backcross through hens: exactly none, exactly all."""
    chicks = chicks_of(symbol, 1, 0)
    assert (chicks.sons.tolist(), chicks.daughters.tolist()) == (SURE, NONE)
