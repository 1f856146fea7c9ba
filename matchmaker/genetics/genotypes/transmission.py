"""Mendel's laws as tables: what a chick can be, given the gametes its parents can give.

A *haplotype* is what one gamete carries of the loci followed: an allele of one locus, or one of
each of two linked loci. A bird's *state* is its sex with the haplotypes it holds: two, or the one
on a hen's Z.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import combinations_with_replacement, product
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.loci.inheritance import Genotype, Inheritance

Held: TypeAlias = tuple[int, ...]
"""Numbers of the haplotypes a bird holds, ascending: two (phase known), or the one of a hen's Z."""

State: TypeAlias = tuple[Sex, Held]

Gametes: TypeAlias = tuple[tuple[float, ...], ...]
"""Chance of each haplotype in a gamete: one row for each state a parent can be in."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """The piece of chromosome that is followed: one locus, or two that are linked.

    ``recombination`` is the share of gametes (0 to 0.5) that part two loci; hens do not recombine
    on their only Z.

    Examples
    --------
    A cock with two loci in coupling gives each parental gamete in (1 − 0.1) / 2 of cases:

    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> pair = Stretch((Inheritance(z_linked=False), Inheritance(z_linked=False)), 0.1)
    >>> pair.haplotypes
    ((0, 0), (0, 1), (1, 0), (1, 1))
    >>> len(pair.states(Sex.COCK)), pair.gametes(Sex.COCK)[3]
    (10, (0.45, 0.05, 0.05, 0.45))
    """

    loci: tuple[Inheritance, ...]
    recombination: float = 0.0

    @property
    def z_linked(self) -> bool:
        """Whether it is on the Z."""
        return self.loci[0].z_linked

    @property
    def haplotypes(self) -> tuple[tuple[int, ...], ...]:
        """Alleles (one of each locus) of every haplotype, by its number."""
        return tuple(product(*(range(locus.alleles) for locus in self.loci)))

    def states(self, sex: Sex | None) -> tuple[State, ...]:
        """The states of a bird; one of unknown sex has a cock's and then a hen's.

        Off the Z the sex does not matter, so one set of states serves (listed as a cock's).

        Examples
        --------
        >>> from matchmaker.genetics.loci.inheritance import Inheritance
        >>> on_the_z = Stretch((Inheritance(z_linked=True),))
        >>> [(str(sex), held) for sex, held in on_the_z.states(Sex.HEN)]
        [('hen', (0,)), ('hen', (1,))]
        """
        return _states(self, sex)

    def gametes(self, sex: Sex) -> Gametes:
        """Chance of each haplotype in a gamete (a hen's Z), by the state of the parent."""
        return _gametes(self, sex)

    def genotype(self, held: Held, place: int) -> Genotype:
        """The genotype at one of the loci (0 or 1) of a bird with these haplotypes."""
        return tuple(sorted(self.haplotypes[number][place] for number in held))

    def lives(self, sex: Sex, held: Held) -> bool:
        """Whether a chick in this state can live to be banded."""
        return all(
            locus.lives(sex, self.genotype(held, place)) for place, locus in enumerate(self.loci)
        )


@cache
def _states(stretch: Stretch, sex: Sex | None) -> tuple[State, ...]:
    numbers = range(len(stretch.haplotypes))
    cock = tuple((Sex.COCK, held) for held in combinations_with_replacement(numbers, 2))
    hen = tuple((Sex.HEN, (number,)) for number in numbers)
    if not stretch.z_linked or sex is Sex.COCK:
        return cock
    return hen if sex is Sex.HEN else cock + hen


@cache
def _gametes(stretch: Stretch, sex: Sex) -> Gametes:
    rows = []
    for _, held in stretch.states(sex):
        row = [0.0] * len(stretch.haplotypes)
        for number, chance in _passed(stretch, held):
            row[number] += chance
        rows.append(tuple(row))
    return tuple(rows)


def _passed(stretch: Stretch, held: Held) -> list[tuple[int, float]]:
    """(Haplotype, chance) of the gametes of a bird: two it holds, and two recombined."""
    if len(held) == 1:
        return [(held[0], 1.0)]
    parted = stretch.recombination / 2 if len(stretch.loci) > 1 else 0.0
    first, second = (stretch.haplotypes[number] for number in held)
    crossed = ((first[0], *second[1:]), (second[0], *first[1:]))
    whole = [(number, 0.5 - parted) for number in held]
    return whole + [(stretch.haplotypes.index(alleles), parted) for alleles in crossed]


@lru_cache(maxsize=4096)
def chick_table(
    stretch: Stretch, sex: Sex | None, sire_gametes: Gametes, dam_gametes: Gametes
) -> NDArray[np.float64]:
    """Return P(state of a chick | state of sire, state of dam), shape (sire, dam, chick).

    Among chicks that live: states that die are left out and the rest scaled to one. Two parents
    who can have no living chick give a row of zeros.

    Examples
    --------
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> one = Stretch((Inheritance(z_linked=False),))
    >>> both = one.gametes(Sex.COCK)
    >>> chick_table(one, None, both, both)[1, 1].tolist()
    [0.25, 0.5, 0.25]
    >>> on_the_z = Stretch((Inheritance(z_linked=True),))
    >>> parents = on_the_z.gametes(Sex.COCK), on_the_z.gametes(Sex.HEN)
    >>> chick_table(on_the_z, Sex.HEN, *parents)[0, 1].tolist()
    [1.0, 0.0]
    """
    states = stretch.states(sex)
    table = np.stack(
        [_chance(held, np.array(sire_gametes), np.array(dam_gametes)) for _, held in states], -1
    )
    if len({which for which, _ in states}) == 2:
        table /= 2
    dead = [not stretch.lives(*state) for state in states]
    if any(dead):
        table = np.where(dead, 0.0, table)
        total = table.sum(axis=-1, keepdims=True)
        table = np.divide(table, total, out=np.zeros_like(table), where=total > 0)
    table.flags.writeable = False
    return table


def _chance(held: Held, sire: NDArray[np.float64], dam: NDArray[np.float64]) -> NDArray[np.float64]:
    """Chance of a chick holding these haplotypes, shape (sire, dam)."""
    if len(held) == 1:
        # A daughter has her only Z from her sire; her dam gave the W.
        return np.repeat(sire[:, held[0], None], len(dam), axis=1)
    one, two = held
    found: NDArray[np.float64] = np.multiply.outer(sire[:, one], dam[:, two])
    return found if one == two else found + np.multiply.outer(sire[:, two], dam[:, one])
