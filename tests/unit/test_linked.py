"""Two linked loci: phase, what one locus tells of the other, chicks, and which loci are paired."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.genotypes.chicks import chick_distribution
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.linked import LinkedGenotypes, linked_genotypes
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.linkage import link_faults, linked_pairs
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence, seen_row

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.loci.locus import Locus

LOCI = {symbol: replace(locus, linkages=()) for symbol, locus in catalogue().items()}
EGG = replace(LOCI["O"], linked_to="P", recombination=0.04)
COMB = LOCI["P"]
SILVER = replace(LOCI["S"], linked_to="K", recombination=0.1)
SLOW = LOCI["K"]
COUPLING = (
    "A cock donor donor",
    "R hen recurrent recurrent",
    "F1 cock A R",
    "R2 hen recurrent recurrent",
    "B1 hen F1 R2",
    "B2 cock F1 R2",
)


def together(
    flock: Pedigree,
    one: Locus,
    two: Locus,
    seen_one: dict[str, str] | None = None,
    seen_two: dict[str, str] | None = None,
) -> LinkedGenotypes:
    told = (evidence(flock, one, seen_one or {}), evidence(flock, two, seen_two or {}))
    return linked_genotypes(flock, (one, two), told, "recurrent")


class TestPhase:
    def test_a_donor_pure_at_both_gives_coupling(self) -> None:
        found = together(pedigree(*COUPLING), EGG, COMB)
        assert found.haplotypes("F1") == {"O P/o+ p+": 1.0}

    def test_donors_of_one_locus_each_give_repulsion(self) -> None:
        egg = replace(EGG, frequency={"donor": 1.0, "recurrent": 0.0})
        comb = replace(COMB, frequency={"donor": 0.0, "recurrent": 1.0})
        found = together(pedigree(*COUPLING[:3]), egg, comb)
        assert found.haplotypes("F1") == {"O p+/o+ P": 1.0}

    @pytest.mark.parametrize("recombination", [0.0, 0.0036, 0.125, 0.3, 0.5])
    def test_coupling_by_double_recessive_gives_each_parental_class_in_half_the_rest(
        self, recombination: float
    ) -> None:
        """(1 - r) / 2 of each parental class, r / 2 of each recombinant one (any textbook)."""
        found = together(
            pedigree(*COUPLING), replace(EGG, recombination=recombination), COMB
        ).chicks(["R2"], ["F1"])
        whole, parted = (1 - recombination) / 2, recombination / 2
        expected = [[whole, parted, 0.0], [parted, whole, 0.0], [0.0, 0.0, 0.0]]
        for chicks in (found.sons, found.daughters):
            assert chicks[0, 0] == pytest.approx(np.array(expected))

    def test_phase_is_learned_from_chicks(self) -> None:
        """A bird with both genes of unknown phase: a plain chick shows which one it is."""
        half = {"donor": 0.5, "recurrent": 0.0}
        egg, comb = replace(EGG, frequency=half), replace(COMB, frequency=half)
        flock = pedigree("F cock donor donor", "R hen recurrent recurrent", "C hen F R")
        tested = {"F": "1 copy"}
        before = together(flock, egg, comb, tested, tested).haplotypes("F")
        assert before == {"O P/o+ p+": 0.5, "O p+/o+ P": 0.5}
        seen = {"C": "0 copies"}
        after = together(flock, egg, comb, tested | seen, tested | seen).haplotypes("F")
        assert after["O P/o+ p+"] == pytest.approx(0.96)

    def test_counted_chicks_tell_of_one_locus(self) -> None:
        flock = pedigree(*COUPLING)
        row = seen_row(pair=("R", "B2"), what=(("single", 5),), how="day-old", locus="P")
        told = (), evidence(flock, COMB, {}, row)
        found = linked_genotypes(flock, (EGG, COMB), told, "recurrent")
        alone = genotype_probabilities(flock, COMB, told[1], "recurrent")
        assert found.of("P").of("B2") == pytest.approx(alone.of("B2"))
        assert found.of("O").carrier_probability("B2") < 0.1


class TestEachLocus:
    def test_a_comb_tells_of_the_egg(self) -> None:
        found = together(pedigree(*COUPLING), EGG, COMB, {}, {"B2": "pea", "B1": "single"})
        assert found.of("O").carrier_probability("B2") == pytest.approx(0.96)
        assert found.of("O").carrier_probability("B1") == pytest.approx(0.04)

    def test_without_evidence_at_the_other_it_is_the_locus_alone(self) -> None:
        flock, seen = pedigree(*COUPLING), {"B1": "blue"}
        alone = genotype_probabilities(flock, EGG, evidence(flock, EGG, seen), "recurrent")
        found = together(flock, EGG, COMB, seen).of("O")
        assert found.probabilities == pytest.approx(alone.probabilities)
        assert found.locus is EGG
        assert found.method == "exact"

    def test_free_recombination_is_two_loci_apart(self) -> None:
        egg = replace(EGG, recombination=0.5)
        flock, blue, pea = pedigree(*COUPLING), {"B1": "blue"}, {"B1": "pea", "B2": "single"}
        found = together(flock, egg, COMB, blue, pea)
        for symbol, locus, seen in (("O", egg, blue), ("P", COMB, pea)):
            alone = genotype_probabilities(flock, locus, evidence(flock, locus, seen), "recurrent")
            assert found.of(symbol).probabilities == pytest.approx(alone.probabilities)
        chicks = found.chicks(["B1"], ["B2"]).sons[0, 0]
        margins = [
            chick_distribution(found.of(symbol).joint(["B1"], ["B2"]), locus).sons[0, 0]
            for symbol, locus in (("O", egg), ("P", COMB))
        ]
        assert chicks == pytest.approx(np.outer(*margins))

    def test_margins_of_the_chicks_are_those_of_each_locus(self) -> None:
        flock = pedigree(*COUPLING, "X hen B2 B1", "Y cock B2 B1")
        found = together(flock, EGG, COMB, {"X": "blue"}, {"Y": "pea"})
        chicks = found.chicks(["X", "B1"], ["Y", "B2"])
        for axis, (symbol, locus) in enumerate((("O", EGG), ("P", COMB))):
            joint = found.of(symbol).joint(["X", "B1"], ["Y", "B2"])
            expected = chick_distribution(joint, locus)
            assert chicks.sons.sum(axis=3 - axis) == pytest.approx(expected.sons)
            assert chicks.daughters.sum(axis=3 - axis) == pytest.approx(expected.daughters)

    def test_neither_locus_is_a_key_error(self) -> None:
        with pytest.raises(KeyError):
            together(pedigree(*COUPLING), EGG, COMB).of("R")

    def test_records_that_clash_only_together_are_impossible(self) -> None:
        egg = replace(EGG, recombination=0.0)
        with pytest.raises(ContradictionError):
            together(pedigree(*COUPLING), egg, COMB, {"B1": "blue"}, {"B1": "single"})

    def test_loci_on_different_kinds_of_chromosomes_are_refused(self) -> None:
        with pytest.raises(ValueError, match="cannot lie on one chromosome"):
            together(pedigree(*COUPLING), LOCI["O"], SILVER)


class TestOnTheZ:
    def test_a_hen_has_one_haplotype_and_gives_it_to_her_sons(self) -> None:
        flock = pedigree("N cock recurrent recurrent", "D hen donor donor", "SON cock N D")
        found = together(flock, SILVER, SLOW)
        assert found.haplotypes("D") == {"S K/W": 1.0}
        assert found.haplotypes("SON") == {"S K/s+ k+": 1.0}
        chicks = found.chicks(["D"], ["N"])
        assert chicks.sons[0, 0, 1, 1] == 1.0
        assert chicks.daughters[0, 0, 0, 0] == 1.0

    def test_cocks_recombine_on_the_z(self) -> None:
        flock = pedigree("N cock recurrent recurrent", "D hen donor donor", "SON cock N D")
        daughters = together(flock, SILVER, SLOW).chicks(["D"], ["SON"]).daughters[0, 0]
        assert daughters == pytest.approx(
            np.array([[0.45, 0.05, 0.0], [0.05, 0.45, 0.0], [0.0, 0.0, 0.0]])
        )

    def test_unknown_sex_keeps_both(self) -> None:
        flock = pedigree("A cock donor donor", "R hen recurrent recurrent", "C ? A R")
        found = together(flock, SILVER, SLOW)
        assert found.haplotypes("C") == {"S K/s+ k+": 0.5, "S K/W": 0.5}


class TestPairing:
    def link(self, **recombination: float) -> dict[str, Locus]:
        """Loci with the links O–P, P–R and S–K as given."""
        loci = {symbol: LOCI[symbol] for symbol in "OPRSK"}
        for pair, figure in recombination.items():
            one, two = pair.split("_")
            loci[one] = replace(loci[one], linked_to=two, recombination=figure)
        return loci

    def test_the_tightest_go_first_and_the_rest_is_named(self) -> None:
        found = linked_pairs(self.link(O_P=0.04, R_P=0.01, S_K=0.1))
        assert found.pairs == (("P", "R"), ("K", "S"))
        assert found.left == (("O", "P"),)

    def test_full_linkage_is_the_tightest(self) -> None:
        assert linked_pairs(self.link(O_P=0.0, R_P=0.01)).pairs == (("O", "P"),)

    def test_one_half_is_no_link(self) -> None:
        found = linked_pairs(self.link(O_P=0.5))
        assert (found.pairs, found.left) == ((), ())

    def test_only_loci_present_are_paired(self) -> None:
        loci = self.link(O_P=0.04)
        del loci["P"]
        assert linked_pairs(loci).pairs == ()

    def test_the_order_of_the_loci_does_not_matter(self) -> None:
        loci = self.link(O_P=0.04, R_P=0.04, S_K=0.1)
        assert linked_pairs(loci) == linked_pairs(dict(reversed(loci.items())))

    def test_a_link_of_a_z_linked_and_an_autosomal_locus_is_a_fault_and_not_used(self) -> None:
        loci = self.link(P_S=0.1)
        (fault,) = link_faults(loci)
        assert (fault.file, fault.column, fault.value) == ("matchmaker.toml", "loci.P", "S")
        assert linked_pairs(loci).pairs == ()

    def test_sound_links_are_no_faults(self) -> None:
        assert link_faults(self.link(O_P=0.04, S_K=0.1)) == []
