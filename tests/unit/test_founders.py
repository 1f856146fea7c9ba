"""Founders, what they gave, and how much of them is left."""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.flock.pedigree import Pedigree, Pool
from matchmaker.genetics.kin import gene_drop
from matchmaker.genetics.kin.founders import (
    Founder,
    FounderGenes,
    effective_founders,
    founder_contributions,
    founder_genes,
)
from tests.descent_helpers import backcross_chain
from tests.descent_helpers import pedigree as flock
from tests.strategies import Shape, pedigree_by_seed


def genes(pedigree: Pedigree, *birds: str, drops: int = 2000) -> FounderGenes:
    return founder_genes(pedigree, birds, np.random.default_rng(31), drops)


def test_a_backcross_halves_the_donors_part() -> None:
    found = founder_contributions(backcross_chain(3), ["X3"])
    assert found == {Founder("R"): 15 / 16, Founder("D"): 1 / 16}


def test_a_living_founder_keeps_all_its_own() -> None:
    found = genes(backcross_chain(1), "R", "X1")
    recurrent, donor = found.parts
    assert (recurrent.retention, recurrent.retention_error) == (1.0, 0.0)
    assert donor.retention == pytest.approx(0.25, abs=5 * donor.retention_error)


def test_an_unwritten_parent_is_a_founder_of_one_allele() -> None:
    pedigree = flock("A cock recurrent recurrent", "B hen A donor")
    found = genes(pedigree, "B")
    assert [part.founder for part in found.parts] == [Founder("A"), Founder("B", "dam")]
    assert [part.contribution for part in found.parts] == [0.5, 0.5]
    assert found.parts[1].retention == 0.5


def test_a_crossbred_founder_is_one_founder() -> None:
    pedigree = flock("A cock donor|recurrent donor|recurrent", "B hen A recurrent")
    assert list(founder_contributions(pedigree, ["B"])) == [Founder("A"), Founder("B", "dam")]


def test_a_parent_from_a_pool_only_perhaps_counts_by_its_chance() -> None:
    pedigree = flock("A cock recurrent recurrent", "B hen A:0.75|recurrent:0.25 A")
    found = founder_contributions(pedigree, ["B"])
    assert found == {Founder("A"): 0.875, Founder("B", "sire"): 0.125}


def test_birds_bought_and_lost_before_they_bred_are_no_founders() -> None:
    pedigree = flock("A cock recurrent recurrent", "B hen A donor", "U hen donor donor")
    assert Founder("U") not in founder_contributions(pedigree, ["B"])
    assert Founder("U") in founder_contributions(pedigree, ["B", "U"])


def test_a_chick_that_left_nothing_brings_no_founder() -> None:
    pedigree = flock("A cock recurrent recurrent", "B hen A donor", "C hen A donor")
    assert Founder("C", "dam") not in founder_contributions(pedigree, ["B"])


def test_a_founder_whose_young_all_died_out_is_counted_as_lost() -> None:
    pedigree = flock("A cock recurrent recurrent", "H hen donor donor", "B hen A H")
    found = genes(pedigree, "A")
    assert [part.retention for part in found.parts] == [1.0, 0.0]
    assert found.genomes_left == 1.0


def test_contributions_sum_to_one_and_bound_the_numbers() -> None:
    """Equivalents ≤ effective founders, equivalents ≤ genomes left ≤ founders."""
    for seed in range(8):
        pedigree = pedigree_by_seed(seed, Shape(birds=25, founders=6))
        found = genes(pedigree, *pedigree.birds[-8:], drops=500)
        assert sum(part.contribution for part in found.parts) == pytest.approx(1)
        assert found.genome_equivalents <= found.effective_founders + 1e-9
        assert found.genome_equivalents <= found.genomes_left + 5 * found.genomes_left_error
        assert found.genomes_left <= len(found.parts)


def test_one_clutch_has_one_sire() -> None:
    """Of two equally likely cocks a clutch keeps half; chicks sired apart keep more."""
    birds = ["A cock recurrent recurrent", "B cock recurrent recurrent", "H hen donor donor"]
    apart = flock(*birds, *(f"C{at} hen A|B H" for at in range(4)))
    clutch = flock(*birds, *(f"C{at} hen A|B H 1" for at in range(4)))
    chicks = [f"C{at}" for at in range(4)]
    left = [genes(one, *chicks, drops=20_000) for one in (apart, clutch)]
    kept = [found.parts[0].retention for found in left]
    # Both alleles of a sire of k chicks: 1 − 2⁻ᵏ; k is 4 or 0 in a clutch, else binomial.
    expected = [1 - (3 / 4) ** 4, (1 - 0.5**4) / 2]
    for found, value, exact in zip(left, kept, expected, strict=True):
        assert abs(value - exact) <= 5 * found.parts[0].retention_error


def test_same_seed_same_numbers() -> None:
    pedigree = pedigree_by_seed(2, Shape(birds=30, founders=6))
    assert genes(pedigree, "B29", "B28") == genes(pedigree, "B29", "B28")


def test_blocks_of_drops_add_up(monkeypatch: pytest.MonkeyPatch) -> None:
    pedigree = pedigree_by_seed(2, Shape(birds=30, founders=6))
    whole = genes(pedigree, "B29", "B28", drops=4000)
    monkeypatch.setattr(gene_drop, "BLOCK_ALLELES", 30 * 2 * 700)
    parted = genes(pedigree, "B29", "B28", drops=4000)
    assert parted.drops == 4000
    error = (whole.genomes_left_error**2 + parted.genomes_left_error**2) ** 0.5
    assert abs(whole.genomes_left - parted.genomes_left) <= 5 * error
    assert parted.genomes_left_error == pytest.approx(whole.genomes_left_error, rel=0.1)


def test_nobody_keeps_nothing() -> None:
    found = genes(backcross_chain(1))
    assert (found.genomes_left, found.genome_equivalents, found.effective_founders) == (0, 0, 0)


def test_equal_founders_are_worth_their_number() -> None:
    assert effective_founders([0.25] * 4) == 4.0
    assert effective_founders([]) == 0.0


def clutch_of_four(*, sire_in_the_books: bool) -> Pedigree:
    """Four chicks of one hen and one cock; the cock is written down, or only their clutch is."""
    names = (("S",) if sire_in_the_books else ()) + ("D", "W", "X", "Y", "Z")
    founders = len(names) - 4
    pool, sire, dam = ((0, 1.0),), ((1, 1.0),), ((founders, 1.0),)
    return Pedigree(
        pools=(Pool("sussex"),),
        bases=((0.0,),),
        birds=names,
        sexes=(None,) * len(names),
        sires=(pool,) * founders + (sire if sire_in_the_books else pool,) * 4,
        dams=(pool,) * founders + (dam,) * 4,
        clutches=(None,) * founders + ((None,) * 4 if sire_in_the_books else (0,) * 4),
    )


def test_the_unwritten_sire_of_a_clutch_is_one_founder() -> None:
    """As much is left of two founders whether the sire has a band or is only known to be one."""
    chicks = ["W", "X", "Y", "Z"]
    found = [
        founder_genes(clutch_of_four(sire_in_the_books=known), chicks, np.random.default_rng(1))
        for known in (True, False)
    ]
    assert [one.effective_founders for one in found] == [2.0, 2.0]
    for genes in found:
        assert abs(genes.genomes_left - 1.875) < 5 * genes.genomes_left_error
    assert {part.founder for part in found[1].parts} == {Founder("D"), Founder("W", "sire")}
