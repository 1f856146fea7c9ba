"""What birds hold at the loci of a target, and what they pass on: exact fractions, no rounding.

Loci that are linked lie in one *stretch*; stretches pass on independently. A bird's *state* is
what it holds of every stretch: two haplotypes (phase known), or the one on a hen's Z. A *mix* is
what a class of birds can be: states with their chances.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.genetics.loci.linkage import UNLINKED, linked_pairs
from matchmaker.genetics.loci.locus import recombination_between
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.genetics.loci.locus import Locus

Haplotype: TypeAlias = tuple[int, ...]
"""For each locus of a stretch 1 if the named allele lies on it, else 0."""

Held: TypeAlias = tuple[Haplotype, ...]
"""What a bird holds of one stretch: two haplotypes in order, or the one on a hen's Z."""

State: TypeAlias = tuple[Held, ...]
"""What a bird holds of every stretch."""

Mix: TypeAlias = tuple[tuple[State, Fraction], ...]
"""States with their chances, in order, none of them 0."""

Gametes: TypeAlias = dict[tuple[Haplotype, ...], Fraction]
"""Chance of each haplotype of every stretch in a gamete; () where none is passed on."""

HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Loci that pass on together, by their number; ``parted`` is how often two are parted."""

    loci: tuple[int, ...]
    z_linked: bool
    parted: Fraction = HALF


@dataclass(frozen=True)
class Genome:
    """The loci of a target, in order, and the stretches they lie in.

    ``left`` are pairs of linked loci that are counted as independent, each because one of the
    two lies nearer to a third.
    """

    loci: tuple[Locus, ...]
    stretches: tuple[Stretch, ...]
    left: tuple[tuple[str, str], ...] = ()

    @cached_property
    def places(self) -> tuple[tuple[int, int], ...]:
        """Where each locus is found in a state: number of its stretch, place within it."""
        found = {
            locus: (number, place)
            for number, stretch in enumerate(self.stretches)
            for place, locus in enumerate(stretch.loci)
        }
        return tuple(found[locus] for locus in range(len(self.loci)))

    @cached_property
    def _counted(self) -> dict[State, tuple[int, ...]]:
        return {}

    def copies(self, state: State) -> tuple[int, ...]:
        """Copies of each locus's named allele."""
        if state not in self._counted:
            self._counted[state] = tuple(
                sum(haplotype[place] for haplotype in state[number])
                for number, place in self.places
            )
        return self._counted[state]

    def gametes(self, mix: Mix, *, without_z: bool = False) -> Gametes:
        """Chances of the gametes of a class of birds.

        ``without_z`` are those of a hen that give her daughters: the W, and no Z.
        """
        found: Gametes = {}
        for state, chance in mix:
            parts = [
                {(): Fraction(1)} if without_z and stretch.z_linked else passed(stretch, held)
                for stretch, held in zip(self.stretches, state, strict=True)
            ]
            for chosen in product(*(part.items() for part in parts)):
                gamete = tuple(haplotype for haplotype, _ in chosen)
                weight = chance
                for _, share in chosen:
                    weight *= share
                found[gamete] = found.get(gamete, Fraction(0)) + weight
        return found

    def chicks(self, cocks: Mix, hens: Mix, sex: Sex) -> Mix:
        """What chicks of one sex can be that a class of cocks has with a class of hens.

        As conceived: states that do not live are among them.

        Examples
        --------
        A hen gives her Z to her sons only:

        >>> from matchmaker.genetics.loci.catalogue import catalogue
        >>> genome = genome_of({"choc": catalogue()["choc"]})
        >>> cocks, hens = genome.pure(Sex.COCK, (0,)), genome.pure(Sex.HEN, (1,))
        >>> for sex in (Sex.COCK, Sex.HEN):
        ...     print(sex, [(s, str(p)) for s, p in genome.chicks(cocks, hens, sex)])
        cock [((((0,), (1,)),), '1')]
        hen [((((0,),),), '1')]
        """
        sire, dam = self.gametes(cocks), self.gametes(hens, without_z=sex is Sex.HEN)
        found: dict[State, Fraction] = {}
        for one, first in sire.items():
            for two, second in dam.items():
                state = tuple(
                    tuple(sorted((a, b))) if b else (a,) for a, b in zip(one, two, strict=True)
                )
                found[state] = found.get(state, Fraction(0)) + first * second
        return tuple(sorted(found.items()))

    def pure(self, sex: Sex, alleles: Iterable[int]) -> Mix:
        """A class that is pure for one allele (1: the named one) at every locus.

        Examples
        --------
        >>> from matchmaker.genetics.loci.catalogue import catalogue
        >>> genome_of({"O": catalogue()["O"]}).pure(Sex.HEN, [1])
        (((((1,), (1,)),), Fraction(1, 1)),)
        """
        listed = tuple(alleles)
        state = tuple(
            (tuple(listed[locus] for locus in stretch.loci),) * self.ploidy(stretch, sex)
            for stretch in self.stretches
        )
        return ((state, Fraction(1)),)

    def founders(self, sex: Sex, frequencies: Iterable[Fraction]) -> Mix:
        """A class whose gametes hold each locus's named allele so often, loci independent.

        Examples
        --------
        >>> from matchmaker.genetics.loci.catalogue import catalogue
        >>> genome = genome_of({"O": catalogue()["O"]})
        >>> [str(chance) for _, chance in genome.founders(Sex.HEN, [Fraction(1, 2)])]
        ['1/4', '1/2', '1/4']
        """
        listed = tuple(frequencies)
        parts: list[dict[Held, Fraction]] = []
        for stretch in self.stretches:
            single: dict[Haplotype, Fraction] = {}
            for haplotype in product((0, 1), repeat=len(stretch.loci)):
                chance = Fraction(1)
                for locus, allele in zip(stretch.loci, haplotype, strict=True):
                    chance *= listed[locus] if allele else 1 - listed[locus]
                if chance:
                    single[haplotype] = chance
            parts.append(_drawn(single, self.ploidy(stretch, sex)))
        return _joined(parts)

    @staticmethod
    def ploidy(stretch: Stretch, sex: Sex) -> int:
        """How many haplotypes of a stretch a bird of this sex holds."""
        return 1 if stretch.z_linked and sex is Sex.HEN else 2


def passed(stretch: Stretch, held: Held) -> dict[tuple[int, ...], Fraction]:
    """Chance of each haplotype in a gamete of a bird that holds these two (or, on a hen's Z, one).

    Examples
    --------
    >>> coupled = Stretch(loci=(0, 1), z_linked=False, parted=Fraction(1, 25))
    >>> {h: str(p) for h, p in sorted(passed(coupled, ((0, 0), (1, 1))).items())}
    {(0, 0): '12/25', (0, 1): '1/50', (1, 0): '1/50', (1, 1): '12/25'}
    """
    if len(held) == 1:
        return {held[0]: Fraction(1)}
    parted = stretch.parted / 2 if len(stretch.loci) > 1 else Fraction(0)
    one, two = held
    crossed = ((one[0], *two[1:]), (two[0], *one[1:]))
    found: dict[tuple[int, ...], Fraction] = {}
    for haplotypes, share in ((held, HALF - parted), (crossed, parted)):
        for haplotype in haplotypes if share else ():
            found[haplotype] = found.get(haplotype, Fraction(0)) + share
    return found


def genome_of(loci: Mapping[str, Locus]) -> Genome:
    """Return the genome of some loci; two that are linked share a stretch, the tightest first.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> both = {symbol: catalogue()[symbol] for symbol in ("O", "choc", "P")}
    >>> [(stretch.loci, stretch.z_linked) for stretch in genome_of(both).stretches]
    [((0, 2), False), ((1,), True)]
    """
    symbols = list(loci)
    linked = linked_pairs(loci)
    stretches, placed = [], set()
    for one, two in linked.pairs:
        together = tuple(sorted((symbols.index(one), symbols.index(two))))
        parted = recombination_between(loci[one], loci[two])
        share = Fraction(str(UNLINKED if parted is None else parted))
        stretches.append(Stretch(together, loci[one].z_linked, share))
        placed |= {one, two}
    stretches += [
        Stretch((at,), loci[symbol].z_linked)
        for at, symbol in enumerate(symbols)
        if symbol not in placed
    ]
    stretches.sort(key=lambda stretch: stretch.loci)
    return Genome(tuple(loci.values()), tuple(stretches), linked.left)


def _drawn(single: dict[Haplotype, Fraction], ploidy: int) -> dict[Held, Fraction]:
    found: dict[Held, Fraction] = {}
    for chosen in product(single, repeat=ploidy):
        held = tuple(sorted(chosen))
        chance = Fraction(1)
        for haplotype in chosen:
            chance *= single[haplotype]
        found[held] = found.get(held, Fraction(0)) + chance
    return found


def _joined(parts: Iterable[dict[Held, Fraction]]) -> Mix:
    found = []
    for chosen in product(*(part.items() for part in parts)):
        chance = Fraction(1)
        for _, share in chosen:
            chance *= share
        found.append((tuple(held for held, _ in chosen), chance))
    return tuple(sorted(found))
