"""Genotype probabilities the slow way: every combination of genotypes, weighed one by one.

Written apart from the package: nothing of ``matchmaker.genetics`` is used but the records that
describe a locus and its evidence. Alleles go by their symbols; a haplotype is a tuple of them.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.genetics.genotypes.observed import ChickCount, Evidence, Sighting
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.loci.locus import Locus

Haplotype: TypeAlias = tuple[str, ...]
State: TypeAlias = tuple[Sex, tuple[Haplotype, ...]]
Gamete: TypeAlias = tuple[tuple[Haplotype, float], ...]
Told: TypeAlias = list[tuple[int, Evidence]]
"""Evidence with the place (0 or 1) of the locus it speaks of."""


class Enumeration:
    """All joint states of a small pedigree with their weights, at one locus or at two."""

    def __init__(
        self,
        pedigree: Pedigree,
        locus: Locus,
        evidence: Sequence[Evidence],
        recurrent: str,
        second: tuple[Locus, Sequence[Evidence], float] | None = None,
    ) -> None:
        """``second`` is another locus, what was seen there, and their recombination."""
        self.pedigree = pedigree
        self.loci = (locus, second[0]) if second else (locus,)
        self.recombination = second[2] if second else 0.0
        self.recurrent = recurrent
        self.at = {bird: place for place, bird in enumerate(pedigree.birds)}
        self.told: Told = [(0, one) for one in evidence]
        self.told += [(1, one) for one in second[1]] if second else []
        self.born_to: dict[tuple[Sex | None, Gamete, Gamete], Mapping[State, float]] = {}
        self.families = self.clutches()
        self.weights = dict(self.all_states())
        self.total = sum(self.weights.values())

    def clutches(self) -> list[list[int]]:
        """Birds that share their unknown parents: by clutch, those of two chicks or more."""
        members = defaultdict(list)
        for bird in range(len(self.at)):
            members[self.pedigree.clutch_of(bird)].append(bird)
        members.pop(None, None)
        return [chicks for chicks in members.values() if len(chicks) > 1]

    def all_states(self) -> Iterator[tuple[tuple[State, ...], float]]:
        """Joint states of all birds with their weights, those that weigh nothing left out."""
        together = {bird for family in self.families for bird in family}

        def extended(
            states: tuple[State, ...], weight: float
        ) -> Iterator[tuple[tuple[State, ...], float]]:
            bird = len(states)
            if weight == 0:
                return
            if bird == len(self.at):
                whole = weight * self.rest(states)
                if whole:
                    yield states, whole
                return
            for state in self.choices(bird):
                share = self.descent(bird, state, states)
                if bird in together:  # weighed with its clutch mates, if possible at all
                    share = float(share > 0)
                yield from extended((*states, state), weight * share * self.shown(bird, state))

        yield from extended((), 1.0)

    def choices(self, bird: int) -> list[State]:
        """Every (sex, haplotypes) a bird may have."""
        known = self.pedigree.sexes[bird]
        haplotypes = list(itertools.product(*(locus.alleles for locus in self.loci)))
        return [
            (sex, held)
            for sex in ([known] if known else list(Sex))
            for held in itertools.combinations_with_replacement(haplotypes, self.ploidy(sex))
        ]

    def ploidy(self, sex: Sex) -> int:
        return 1 if self.loci[0].z_linked and sex is Sex.HEN else 2

    def rest(self, states: tuple[State, ...]) -> float:
        """What depends on several birds: clutches and counts of chicks."""
        families = math.prod(self.family(chicks, states) for chicks in self.families)
        counts = (
            self.counted(place, one, states)
            for place, one in self.told
            if isinstance(one, ChickCount)
        )
        return families * math.prod(counts)

    def descent(self, bird: int, state: State, states: tuple[State, ...]) -> float:
        """P(state of a bird | its possible parents), over every pair of parents."""
        return sum(
            sire_share * dam_share * self.born(self.pedigree.sexes[bird], sire, dam).get(state, 0.0)
            for sire, sire_share in self.sides(self.pedigree.sires[bird], states)
            for dam, dam_share in self.sides(self.pedigree.dams[bird], states)
        )

    def family(self, chicks: list[int], states: tuple[State, ...]) -> float:
        """P(states of all chicks of a clutch | everyone else): one sire and one dam for all."""
        one = chicks[0]
        return sum(
            sire_share
            * dam_share
            * math.prod(
                self.born(self.pedigree.sexes[bird], sire, dam).get(states[bird], 0.0)
                for bird in chicks
            )
            for sire, sire_share in self.birds(self.pedigree.sires[one], Sex.COCK, states)
            for dam, dam_share in self.birds(self.pedigree.dams[one], Sex.HEN, states)
        )

    def sides(self, links: Links, states: tuple[State, ...]) -> Iterator[tuple[Gamete, float]]:
        """(Gamete of a possible parent, probability of that parent); pools give a mean gamete."""
        first = self.pedigree.first_bird
        mean: dict[Haplotype, float] = defaultdict(float)
        for node, share in links:
            for haplotype, chance in self.pool(node) if node < first else ():
                mean[haplotype] += share * chance
        if mean:
            total = sum(mean.values())
            yield tuple((haplotype, p / total) for haplotype, p in mean.items()), total
        for node, share in links:
            if node >= first:
                yield self.gamete(states[node - first]), share

    def birds(
        self, links: Links, sex: Sex, states: tuple[State, ...]
    ) -> Iterator[tuple[Gamete, float]]:
        """The same where the parent is one bird for several chicks: also out of a pool."""
        first = self.pedigree.first_bird
        for node, share in links:
            if node >= first:
                yield self.gamete(states[node - first]), share
                continue
            gamete = self.pool(node)
            for state, chance in self.born(sex, gamete, gamete).items():
                yield self.gamete(state), share * chance

    def pool(self, node: int) -> Gamete:
        """Haplotypes of a founder's gamete: alleles combined at random within the breed."""
        breed = self.pedigree.pools[node].breed
        rows = [
            list(zip(locus.alleles, locus.allele_frequencies(breed, self.recurrent), strict=True))
            for locus in self.loci
        ]
        return tuple(
            (tuple(symbol for symbol, _ in pick), math.prod(p for _, p in pick))
            for pick in itertools.product(*rows)
        )

    def gamete(self, state: State) -> Gamete:
        """What a bird gives: at each locus one of its two haplotypes, by recombination."""
        held = state[1]
        if len(held) == 1:
            return ((held[0], 1.0),)
        if len(self.loci) == 1:
            return tuple((haplotype, 0.5) for haplotype in held)
        apart = self.recombination / 2
        return tuple(
            ((held[one][0], held[two][1]), apart if one != two else 0.5 - apart)
            for one, two in itertools.product((0, 1), repeat=2)
        )

    def born(self, known: Sex | None, sire: Gamete, dam: Gamete) -> Mapping[State, float]:
        """P(a living chick is in each state), sex given or one half each."""
        key = (known, sire, dam)
        if key not in self.born_to:
            possible: dict[State, float] = defaultdict(float)
            for sex in [known] if known else list(Sex):
                for (of_sire, p), (of_dam, q) in itertools.product(sire, dam):
                    pair = (of_sire,) if self.ploidy(sex) == 1 else self.ordered(of_sire, of_dam)
                    if all(self.lives(place, sex, pair) for place in range(len(self.loci))):
                        possible[sex, pair] += p * q
            alive = sum(possible.values())
            found = {state: p / alive for state, p in possible.items()} if alive else {}
            self.born_to[key] = found
        return self.born_to[key]

    def ordered(self, one: Haplotype, two: Haplotype) -> tuple[Haplotype, ...]:
        ranks = [
            [locus.alleles.index(s) for locus, s in zip(self.loci, h, strict=True)]
            for h in (one, two)
        ]
        return (one, two) if ranks[0] <= ranks[1] else (two, one)

    def lives(self, place: int, sex: Sex, held: tuple[Haplotype, ...]) -> bool:
        copies = self.copies(place, held)
        return (2 * copies if self.ploidy(sex) == 1 else copies) not in self.loci[place].dies

    def copies(self, place: int, held: tuple[Haplotype, ...]) -> int:
        return [haplotype[place] for haplotype in held].count(self.loci[place].symbol)

    def shown(self, bird: int, state: State) -> float:
        """Likelihood of what was seen of one bird."""
        return math.prod(
            self.fits(place, one.weights, state)
            for place, one in self.told
            if isinstance(one, Sighting) and one.bird == self.pedigree.birds[bird]
        )

    def fits(
        self, place: int, weights: tuple[tuple[float, ...], tuple[float, ...]], state: State
    ) -> float:
        sex, held = state
        alleles = self.loci[place].alleles
        genotype = sorted(alleles.index(haplotype[place]) for haplotype in held)
        order = itertools.combinations_with_replacement(range(len(alleles)), self.ploidy(sex))
        return (weights[1] if sex is Sex.HEN else weights[0])[list(order).index(tuple(genotype))]

    def counted(self, place: int, one: ChickCount, states: tuple[State, ...]) -> float:
        hen, cock = (states[self.at[bird]] for bird in (one.hen, one.cock))
        if hen[0] is not Sex.HEN or cock[0] is not Sex.COCK:
            return 0.0 if self.loci[0].z_linked else self.of_pair(place, one, hen, cock)
        return self.of_pair(place, one, hen, cock)

    def of_pair(self, place: int, one: ChickCount, hen: State, cock: State) -> float:
        chicks = self.born(one.sex, self.gamete(cock), self.gamete(hen))
        return math.prod(
            sum(chance * self.fits(place, weights, state) for state, chance in chicks.items())
            ** count
            for weights, count in one.classes
        )

    def marginal(self, bird: str, place: int = 0) -> list[float]:
        """P(0, 1, 2 copies) of a bird."""
        found = [0.0, 0.0, 0.0]
        for states, weight in self.weights.items():
            found[self.copies(place, states[self.at[bird]][1])] += weight / self.total
        return found

    def joint(self, hen: str, cock: str, place: int = 0) -> list[list[float]]:
        """P(copies of the hen, copies of the cock)."""
        found = [[0.0] * 3 for _ in range(3)]
        for states, weight in self.weights.items():
            hen_copies, cock_copies = (
                self.copies(place, states[self.at[bird]][1]) for bird in (hen, cock)
            )
            found[hen_copies][cock_copies] += weight / self.total
        return found

    def held(self, bird: str) -> dict[tuple[Haplotype, ...], float]:
        """P(haplotypes) of a bird."""
        found: dict[tuple[Haplotype, ...], float] = defaultdict(float)
        for states, weight in self.weights.items():
            found[states[self.at[bird]][1]] += weight / self.total
        return dict(found)

    def chicks(self, hen: str, cock: str, sex: Sex) -> list[list[float]]:
        """P(copies at the first locus, copies at the second) of chicks conceived by a pair."""
        found = [[0.0] * 3 for _ in range(3)]
        for states, weight in self.weights.items():
            of_hen, of_cock = (self.gamete(states[self.at[bird]]) for bird in (hen, cock))
            for (one, p), (two, q) in itertools.product(of_hen, of_cock):
                pair = (two,) if self.ploidy(sex) == 1 else (one, two)
                first, second = (self.copies(place, pair) for place in (0, 1))
                found[first][second] += weight / self.total * p * q
        return found
