"""What is left of founders' alleles, by listing every way they can fall, in exact fractions."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.flock.pedigree import Links, Pedigree

Gamete: TypeAlias = tuple[int, int]
"""A founding gamete: number of the bird that received it, and its side (0 of the sire)."""

State: TypeAlias = tuple[tuple[Gamete, Gamete], ...]
Memory: TypeAlias = frozenset[tuple[tuple[int, int], int]]


@dataclass(frozen=True)
class Left:
    """Chances that a founding gamete is left, and expected copies of it per bird asked about."""

    kept: dict[Gamete, Fraction]
    copies: dict[Gamete, Fraction]


def left(pedigree: Pedigree, birds: Sequence[str]) -> Left:
    """List all falls of the founders' alleles; each costs its chance."""
    states: dict[tuple[State, Memory], Fraction] = {((), frozenset()): Fraction(1)}
    for at in range(len(pedigree.birds)):
        after: defaultdict[tuple[State, Memory], Fraction] = defaultdict(Fraction)
        for (state, memory), chance in states.items():
            for pair, remembered, part in _births(pedigree, at, state, dict(memory)):
                after[(*state, pair), remembered] += chance * part
        states = dict(after)
    rows = [pedigree.birds.index(bird) for bird in birds]
    kept: defaultdict[Gamete, Fraction] = defaultdict(Fraction)
    copies: defaultdict[Gamete, Fraction] = defaultdict(Fraction)
    for (state, _), chance in states.items():
        alleles = [allele for row in rows for allele in state[row]]
        for allele in alleles:
            copies[allele] += chance / len(alleles)
        for allele in set(alleles):
            kept[allele] += chance
    return Left(kept, copies)


def _births(
    pedigree: Pedigree, at: int, state: State, memory: dict[tuple[int, int], int]
) -> Iterator[tuple[tuple[Gamete, Gamete], Memory, Fraction]]:
    clutch = pedigree.clutch_of(at)
    sides = (pedigree.sires[at], pedigree.dams[at])
    parents = [
        _options(links, None if clutch is None else memory.get((clutch, side)))
        for side, links in enumerate(sides)
    ]
    for (sire, p_sire), (dam, p_dam) in product(*parents):
        remembered = memory if clutch is None else {**memory, (clutch, 0): sire, (clutch, 1): dam}
        gametes = [
            _gametes(pedigree, state, parent, (at, side)) for side, parent in enumerate((sire, dam))
        ]
        for one, two in product(*gametes):
            chance = p_sire * p_dam / (len(gametes[0]) * len(gametes[1]))
            yield (one, two), frozenset(remembered.items()), chance


def _options(links: Links, drawn: int | None) -> list[tuple[int, Fraction]]:
    if drawn is not None:
        return [(drawn, Fraction(1))]
    return [(node, Fraction(chance)) for node, chance in links]


def _gametes(pedigree: Pedigree, state: State, node: int, own: Gamete) -> list[Gamete]:
    return [own] if node < pedigree.first_bird else list(state[node - pedigree.first_bird])
