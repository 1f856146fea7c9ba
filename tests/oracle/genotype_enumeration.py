"""Genotype probabilities the slow way: every combination of genotypes, weighed one by one.

Written apart from the package: nothing of ``matchmaker.genetics`` is used but the records that
describe a locus and its evidence.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.genetics.evidence import ChickCount, Evidence, Sighting
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.loci import Locus

State: TypeAlias = tuple[Sex, int]


class Enumeration:
    """All joint states of a small pedigree with their weights."""

    def __init__(
        self, pedigree: Pedigree, locus: Locus, evidence: list[Evidence], recurrent: str
    ) -> None:
        self.pedigree = pedigree
        self.locus = locus
        self.frequency = [locus.founder_frequency(pool.breed, recurrent) for pool in pedigree.pools]
        self.at = {bird: place for place, bird in enumerate(pedigree.birds)}
        self.weights = {
            states: weight
            for states in itertools.product(*(self.choices(k) for k in range(len(self.at))))
            if (weight := self.weight(states, evidence)) > 0
        }
        self.total = sum(self.weights.values())

    def choices(self, bird: int) -> list[State]:
        """Every (sex, copies) a bird may have."""
        sex = self.pedigree.sexes[bird]
        return [
            (one, copies)
            for one in ([sex] if sex else list(Sex))
            for copies in range(2 if self.locus.z_linked and one is Sex.HEN else 3)
        ]

    def weight(self, states: tuple[State, ...], evidence: list[Evidence]) -> float:
        """Prior times likelihood of one joint state."""
        product = 1.0
        for bird, state in enumerate(states):
            product *= self.descent(bird, state, states)
            if product == 0:
                return 0.0
        for one in evidence:
            product *= self.seen(one, states)
        return product

    def descent(self, bird: int, state: State, states: tuple[State, ...]) -> float:
        """P(state of a bird | its possible parents), over every pair of parents."""
        return sum(
            sire_share * dam_share * self.born(state, self.pedigree.sexes[bird], sire, dam)
            for sire, sire_share in self.sides(self.pedigree.sires[bird], states)
            for dam, dam_share in self.sides(self.pedigree.dams[bird], states)
        )

    def sides(self, links: Links, states: tuple[State, ...]) -> Iterator[tuple[float, float]]:
        """(Chance that the parent's gamete has the allele, probability of that parent)."""
        first = self.pedigree.first_bird
        pools = [(self.frequency[node], share) for node, share in links if node < first]
        if pools:
            together = sum(share for _, share in pools)
            yield sum(chance * share for chance, share in pools) / together, together
        for node, share in links:
            if node >= first:
                sex, copies = states[node - first]
                alleles = 1 if self.locus.z_linked and sex is Sex.HEN else 2
                yield copies / alleles, share

    def born(self, state: State, known: Sex | None, sire: float, dam: float) -> float:
        """P(a living chick has this state | gamete chances), sex given or one half each."""
        possible: dict[State, float] = defaultdict(float)
        for sex in [known] if known else list(Sex):
            for from_sire, from_dam in itertools.product((0, 1), repeat=2):
                chance = (sire if from_sire else 1 - sire) * (dam if from_dam else 1 - dam)
                hemizygous = self.locus.z_linked and sex is Sex.HEN
                copies = from_sire if hemizygous else from_sire + from_dam
                if (2 * copies if hemizygous else copies) not in self.locus.dies:
                    possible[sex, copies] += chance
        alive = sum(possible.values())
        return possible[state] / alive if alive else 0.0

    def seen(self, one: Evidence, states: tuple[State, ...]) -> float:
        """Likelihood of one piece of evidence."""
        if isinstance(one, Sighting):
            sex, copies = states[self.at[one.bird]]
            cock, hen = one.weights
            return (hen if sex is Sex.HEN else cock)[copies]
        return self.counted(one, states)

    def counted(self, one: ChickCount, states: tuple[State, ...]) -> float:
        hen_copies = states[self.at[one.hen]][1]
        cock_copies = states[self.at[one.cock]][1]
        dam = hen_copies / (1 if self.locus.z_linked else 2)
        product = 1.0
        for weights, count in one.classes:
            chance = 0.0
            for sex in [one.sex] if one.sex else list(Sex):
                table = weights[1] if sex is Sex.HEN else weights[0]
                share = 1.0 if one.sex else 0.5
                for copies, weight in enumerate(table):
                    chance += share * weight * self.born((sex, copies), sex, cock_copies / 2, dam)
            product *= chance**count
        return product

    def marginal(self, bird: str) -> list[float]:
        """P(0, 1, 2 copies) of a bird."""
        found = [0.0, 0.0, 0.0]
        for states, weight in self.weights.items():
            found[states[self.at[bird]][1]] += weight / self.total
        return found

    def joint(self, hen: str, cock: str) -> list[list[float]]:
        """P(copies of the hen, copies of the cock)."""
        found = [[0.0] * 3 for _ in range(3)]
        for states, weight in self.weights.items():
            found[states[self.at[hen]][1]][states[self.at[cock]][1]] += weight / self.total
        return found
