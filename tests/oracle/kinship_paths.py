"""Kinship by counting paths, in exact fractions: a slow second way that shares no formula.

Sewall Wright's coefficient of relationship by paths (Wright 1922, Am Nat 56:330, from memory):
kinship of two birds is the sum, over every common ancestor and every pair of paths that lead
down from it to the two birds and share no other bird, of (1/2) to the power of the birds on the
loop, times (1 + F) of the ancestor. On the Z a path never leads from a dam to her daughter, and
a daughter has her sire's allele for certain. Uncertain parents are enumerated: each realisation
of them is a certain pedigree, and kinship is the mean over all realisations.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import cache
from itertools import product
from math import prod
from typing import TypeAlias

Parents: TypeAlias = tuple[str | None, str | None]
"""Sire and dam of a bird; ``None`` for an unrelated founder's gamete."""

Family: TypeAlias = Mapping[str, Parents]
Choice: TypeAlias = tuple[tuple[str | None, Fraction], ...]
Sexes: TypeAlias = Mapping[str, str]
"""Sex of each bird, "cock" or "hen"."""

HALF = Fraction(1, 2)
COCK_OR_HEN = ("cock", "hen")


class Paths:
    """Kinship in one certain pedigree; on the Z if sexes are given."""

    def __init__(self, family: Family, sexes: Sexes | None = None) -> None:
        self._family = family
        self._hens = {bird for bird, sex in (sexes or {}).items() if sex == "hen"}
        self._kinship = cache(self._count)
        self._up = cache(lambda bird: tuple(self._climb(bird)))

    def kinship(self, first: str, second: str) -> Fraction:
        """Kinship of two birds; of a bird with itself, half of one plus its inbreeding."""
        if first == second:
            return Fraction(1) if first in self._hens else (1 + self.inbreeding(first)) / 2
        return self._kinship(*sorted((first, second)))

    def inbreeding(self, bird: str) -> Fraction:
        """Kinship of the parents."""
        sire, dam = self._family[bird]
        return Fraction(0) if sire is None or dam is None else self.kinship(sire, dam)

    def by_ancestor(self, first: str, second: str) -> dict[str, Fraction]:
        """What each common ancestor adds to the kinship of two different birds."""
        found: dict[str, Fraction] = {}
        for (one, _), added in self.each(first, second).items():
            found[one[-1]] = found.get(one[-1], Fraction(0)) + added
        return found

    def each(
        self, first: str, second: str
    ) -> dict[tuple[tuple[str, ...], tuple[str, ...]], Fraction]:
        """What each path between two different birds adds, as its way up from either."""
        found = {}
        for one in self._up(first):
            for other in self._up(second):
                if one[-1] == other[-1] and not set(one[:-1]) & set(other[:-1]):
                    steps = prod(map(self._passes, (*one[:-1], *other[:-1])), start=Fraction(1))
                    found[one, other] = steps * self.kinship(one[-1], one[-1])
        return found

    def _count(self, first: str, second: str) -> Fraction:
        return sum(self.by_ancestor(first, second).values(), Fraction(0))

    def _passes(self, chick: str) -> Fraction:
        """Chance that an allele drawn from a chick came from the parent on the path."""
        return Fraction(1) if chick in self._hens else HALF

    def _climb(self, bird: str) -> Iterator[tuple[str, ...]]:
        """Every path from a bird to itself or any of its ancestors, the bird first."""
        yield (bird,)
        for parent in self._family[bird][: 1 if bird in self._hens else 2]:
            if parent is not None:
                for path in self._up(parent):
                    yield (bird, *path)


def mean_kinship(
    choices: Mapping[str, tuple[Choice, Choice]],
    clutches: Mapping[str, int] | None = None,
    sexes: Mapping[str, str | None] | None = None,
) -> dict[tuple[str, str], Fraction]:
    """Kinship of every two birds as the mean over all realisations of uncertain parents.

    Each bird's parents are drawn independently of every other bird's, but for chicks of one
    clutch: they have one sire and one dam, and if these come out of a pool they are birds nobody
    wrote down. With ``sexes`` kinship on the Z; both sexes are tried where it is not known.
    """
    birds = list(choices)
    families = {bird: (clutches or {}).get(bird, bird) for bird in birds}
    first = {family: bird for bird, family in reversed(families.items())}
    draws = [(family, side) for family in first for side in (0, 1)]
    cells = [choices[first[family]][side] for family, side in draws]
    total = {pair: Fraction(0) for pair in product(birds, birds)}
    for drawn in product(*cells):
        chance = prod((share for _, share in drawn), start=Fraction(1))
        parent: dict[tuple[int | str, int], str | None] = {}
        unwritten: dict[str, str] = {}
        for (family, side), (name, _) in zip(draws, drawn, strict=True):
            parent[family, side] = name
            if name is None and family not in birds:
                parent[family, side] = f"unwritten {family} {side}"
                unwritten[f"unwritten {family} {side}"] = COCK_OR_HEN[side]
        whole: dict[str, Parents] = dict.fromkeys(unwritten, (None, None))
        whole |= {bird: (parent[families[bird], 0], parent[families[bird], 1]) for bird in birds}
        for sexed in _sexed(sexes):
            paths = Paths(whole, None if sexed is None else {**sexed, **unwritten})
            share = chance / _ways(sexes)
            for pair in total:
                total[pair] += share * paths.kinship(*pair)
    return total


def _sexed(sexes: Mapping[str, str | None] | None) -> Iterator[Sexes | None]:
    """All ways to fill in the sexes that are not known."""
    if sexes is None:
        yield None
        return
    for filled in product(*((sex,) if sex else COCK_OR_HEN for sex in sexes.values())):
        yield dict(zip(sexes, filled, strict=True))


def _ways(sexes: Mapping[str, str | None] | None) -> int:
    return 1 << sum(sex is None for sex in (sexes or {}).values())


def kinship_by_genes(family: Family, sexes: Sexes | None = None) -> dict[tuple[str, str], Fraction]:
    """Kinship by its definition: every way in which genes can be handed down is gone through.

    ``family`` has parents first. Each founder's gene is one of its own kind.
    """
    hens = {bird for bird, sex in (sexes or {}).items() if sex == "hen"}
    sides = [(bird, side) for bird in family for side in ((0,) if bird in hens else (0, 1))]
    handed = [
        (0,) if (parent := family[bird][side]) is None or parent in hens else (0, 1)
        for bird, side in sides
    ]
    total = {pair: Fraction(0) for pair in product(family, family)}
    for picks in product(*handed):
        genes: dict[str, list[object]] = {bird: [] for bird in family}
        for (bird, side), pick in zip(sides, picks, strict=True):
            parent = family[bird][side]
            genes[bird].append((bird, side) if parent is None else genes[parent][pick])
        for one, other in total:
            alike = [a == b for a in genes[one] for b in genes[other]]
            total[one, other] += Fraction(sum(alike), len(alike) * prod(map(len, handed)))
    return total
