"""Haplotypes, states and gametes of one locus, of a series and of two linked loci."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from matchmaker.genetics.genotypes.transmission import Stretch, chick_table
from matchmaker.genetics.loci.inheritance import Inheritance
from matchmaker.tables.records import Sex

PLAIN, ON_Z = Inheritance(z_linked=False), Inheritance(z_linked=True)
STRETCHES = {
    "one locus": Stretch((PLAIN,)),
    "one on the Z": Stretch((ON_Z,)),
    "three alleles": Stretch((Inheritance(z_linked=False, alleles=3, named=0),)),
    "lethal": Stretch((Inheritance(z_linked=False, dies=(2,)),)),
    "lethal on the Z": Stretch((Inheritance(z_linked=True, dies=(2,)),)),
    "linked": Stretch((PLAIN, PLAIN), 0.04),
    "linked on the Z": Stretch((ON_Z, ON_Z), 0.2),
    "linked, one with three alleles": Stretch(
        (PLAIN, Inheritance(z_linked=False, alleles=3, named=2)), 0.1
    ),
}
EVERY = pytest.mark.parametrize("stretch", STRETCHES.values(), ids=STRETCHES.keys())


@EVERY
@pytest.mark.parametrize("sex", Sex)
def test_gametes_sum_to_one(stretch: Stretch, sex: Sex) -> None:
    assert [sum(row) for row in stretch.gametes(sex)] == pytest.approx(
        [1.0] * len(stretch.states(sex))
    )


@EVERY
@pytest.mark.parametrize("sex", [None, *Sex])
def test_living_chicks_sum_to_one_or_there_are_none(stretch: Stretch, sex: Sex | None) -> None:
    table = chick_table(stretch, sex, stretch.gametes(Sex.COCK), stretch.gametes(Sex.HEN))
    totals = table.sum(axis=-1)
    assert np.all((np.abs(totals - 1) < 1e-12) | (totals == 0))


@pytest.mark.parametrize("stretch", [STRETCHES["lethal"], STRETCHES["lethal on the Z"]])
def test_nobody_lives_in_a_state_that_dies(stretch: Stretch) -> None:
    table = chick_table(stretch, None, stretch.gametes(Sex.COCK), stretch.gametes(Sex.HEN))
    dead = [not stretch.lives(*state) for state in stretch.states(None)]
    assert any(dead)
    assert not table[..., dead].any()


def test_phase_is_kept() -> None:
    """AB/ab and Ab/aB are two states of the same genotypes."""
    linked = STRETCHES["linked"]
    double = [
        held
        for _, held in linked.states(Sex.COCK)
        if linked.genotype(held, 0) == linked.genotype(held, 1) == (0, 1)
    ]
    assert double == [(0, 3), (1, 2)]


@pytest.mark.parametrize(("held", "whole"), [((0, 3), (0, 3)), ((1, 2), (1, 2))])
def test_coupling_and_repulsion_give_their_own_haplotypes_most(
    held: tuple[int, int], whole: tuple[int, int]
) -> None:
    linked = STRETCHES["linked"]
    states = [state for _, state in linked.states(Sex.COCK)]
    row = linked.gametes(Sex.COCK)[states.index(held)]
    assert [chance for chance in row if chance > 0.1] == [0.48, 0.48]
    assert [number for number, chance in enumerate(row) if chance > 0.1] == list(whole)


def test_a_hen_gives_her_z_whole() -> None:
    linked = STRETCHES["linked on the Z"]
    assert np.array(linked.gametes(Sex.HEN)).tolist() == np.eye(4).tolist()


def test_free_recombination_is_two_loci_apart() -> None:
    free, one = Stretch((PLAIN, PLAIN), 0.5), STRETCHES["one locus"]
    alone = dict(
        zip((held for _, held in one.states(Sex.COCK)), one.gametes(Sex.COCK), strict=True)
    )
    pairs = zip(free.states(Sex.COCK), free.gametes(Sex.COCK), strict=True)
    for (_, held), row in pairs:
        first, second = (alone[free.genotype(held, place)] for place in (0, 1))
        expected = [p * q for p, q in itertools.product(first, second)]
        assert row == pytest.approx(expected)


def test_alleles_but_the_named_can_be_lumped() -> None:
    """Copies of one allele of three go from parents to chicks as if the others were one."""
    three, two = STRETCHES["three alleles"], STRETCHES["one locus"]
    parents = three.gametes(Sex.COCK), three.gametes(Sex.HEN)
    fine = chick_table(three, None, *parents)
    coarse = chick_table(two, None, two.gametes(Sex.COCK), two.gametes(Sex.HEN))
    locus = three.loci[0]
    copies = [locus.copies(three.genotype(held, 0)) for _, held in three.states(None)]
    lumped = fine @ np.eye(3)[copies]
    for (sire, one), (dam, other) in itertools.product(enumerate(copies), repeat=2):
        assert lumped[sire, dam] == pytest.approx(coarse[one, other])
