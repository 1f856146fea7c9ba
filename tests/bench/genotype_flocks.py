"""Invented pedigrees of overlapping generations, with looks and DNA results at one locus."""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from matchmaker.flock.pedigree import Links, Pedigree, Pool
from matchmaker.genetics.genotypes.observed import Place, Sighting
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.genetics.loci.locus import Locus

POOLS = (Pool("donor"), Pool("recurrent"))
FREQUENCIES = (0.7, 0.25)
"""Of the allele in the two pools: no founder is settled by its breed."""
HENS_PER_COCK = 5
HEN_SEASONS = 3
NOWHERE = Place(file="seen.csv", row=2, column="what", words="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """How a flock was kept and how much is known of it; shares are of the birds, 0 to 1.

    Every season ``cocks`` and five times as many hens breed, chosen among the birds at most
    ``sire_seasons`` (cocks) and three (hens) seasons old; ``chicks`` hatch of them. A bird of
    unsure parents has one of ``possible`` sires (dams) of that season, equally likely.
    """

    birds: int
    cocks: int
    chicks: int
    sire_seasons: int = 3
    unsure_sires: float = 0.1
    unsure_dams: float = 0.0
    possible: int = 2
    looks: float = 0.5
    dna: float = 0.05


def plain(birds: int) -> Keeping:
    """Return a flock of overlapping generations: a cock serves up to three seasons."""
    cocks = round(1 + birds**0.5 / 4)
    return Keeping(birds=birds, cocks=cocks, chicks=12 * cocks)


def heavy(birds: int) -> Keeping:
    """Return a flock with heavy loops: few sires, each kept six seasons and mated to his kin."""
    cocks = round(1 + birds**0.5 / 10)
    return Keeping(birds=birds, cocks=cocks, chicks=15 * cocks, sire_seasons=6)


def certain(birds: int) -> Keeping:
    """Return the same flock with every sire known."""
    return replace(plain(birds), unsure_sires=0.0)


def unsure(birds: int) -> Keeping:
    """Return a flock where every dam is one of eight: nobody saw who laid which egg."""
    return replace(plain(birds), unsure_sires=0.0, unsure_dams=1.0, possible=8)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A pedigree, its locus and what was seen."""

    pedigree: Pedigree
    locus: Locus
    evidence: tuple[Sighting, ...]


@dataclass(slots=True)
class _Grown:
    """The birds so far: hatching season, sex, parents, and the copies they really have."""

    seasons: list[int] = field(default_factory=list)
    sexes: list[Sex] = field(default_factory=list)
    sires: list[Links] = field(default_factory=list)
    dams: list[Links] = field(default_factory=list)
    copies: list[int] = field(default_factory=list)

    def breeders(self, sex: Sex, season: int, oldest: int, count: int) -> list[int]:
        """Return the youngest ``count`` birds of a sex, of those at most ``oldest`` seasons old."""
        able = [
            at
            for at, one in enumerate(self.sexes)
            if one is sex and season - oldest <= self.seasons[at] < season
        ]
        return able[-3 * count :]

    def add(self, season: int, sex: Sex, parents: tuple[Links, Links], copies: int) -> None:
        self.seasons.append(season)
        self.sexes.append(sex)
        self.sires.append(parents[0])
        self.dams.append(parents[1])
        self.copies.append(copies)


def flock(keeping: Keeping, seed: int, *, z_linked: bool = False) -> Known:
    """Return a pedigree of ``keeping.birds`` birds with evidence that gene dropping made true."""
    rng = random.Random(seed)  # noqa: S311
    shares = {pool.breed: share for pool, share in zip(POOLS, FREQUENCIES, strict=True)}
    locus = replace(catalogue()["K" if z_linked else "P"], frequency=shares)
    grown = _Grown()
    for sex, count in ((Sex.COCK, keeping.cocks), (Sex.HEN, HENS_PER_COCK * keeping.cocks)):
        for place in range(count):
            pool = place % len(POOLS)
            gametes = [int(rng.random() < FREQUENCIES[pool]) for _ in range(2)]
            hemizygous = z_linked and sex is Sex.HEN
            links: Links = ((pool, 1.0),)
            grown.add(0, sex, (links, links), gametes[0] + (0 if hemizygous else gametes[1]))
    season = 1
    while len(grown.sexes) < keeping.birds:
        _hatch(grown, keeping, season, rng, z_linked=z_linked)
        season += 1
    return Known(
        pedigree=Pedigree(
            pools=POOLS,
            bases=((0.0, 0.0), (0.0, 0.0)),
            birds=tuple(f"B{at:04d}" for at in range(len(grown.sexes))),
            sexes=tuple(grown.sexes),
            sires=tuple(grown.sires),
            dams=tuple(grown.dams),
        ),
        locus=locus,
        evidence=tuple(_sightings(grown, keeping, locus, rng)),
    )


def _hatch(
    grown: _Grown, keeping: Keeping, season: int, rng: random.Random, *, z_linked: bool
) -> None:
    cocks = grown.breeders(Sex.COCK, season, keeping.sire_seasons, keeping.cocks)
    hens = grown.breeders(Sex.HEN, season, HEN_SEASONS, HENS_PER_COCK * keeping.cocks)
    cocks = rng.sample(cocks, min(keeping.cocks, len(cocks)))
    hens = rng.sample(hens, min(HENS_PER_COCK * keeping.cocks, len(hens)))
    for place in range(min(keeping.chicks, keeping.birds - len(grown.sexes))):
        sire, dam = rng.choice(cocks), rng.choice(hens)
        sex = (Sex.COCK, Sex.HEN)[place % 2]
        from_sire = int(rng.random() < grown.copies[sire] / 2)
        from_dam = int(rng.random() < grown.copies[dam] / (1 if z_linked else 2))
        sires = _links(sire, cocks, keeping.unsure_sires, keeping.possible, rng)
        dams = _links(dam, hens, keeping.unsure_dams, keeping.possible, rng)
        hemizygous = z_linked and sex is Sex.HEN
        grown.add(season, sex, (sires, dams), from_sire + (0 if hemizygous else from_dam))


def _links(
    real: int, others: Sequence[int], unsure_share: float, possible: int, rng: random.Random
) -> Links:
    """Return the real parent, or with some chance that parent among others, as nodes."""
    names = [real]
    if rng.random() < unsure_share:
        rest = [other for other in others if other != real]
        names += rng.sample(rest, min(possible - 1, len(rest)))
    return tuple((len(POOLS) + at, 1 / len(names)) for at in sorted(names))


def _sightings(grown: _Grown, keeping: Keeping, locus: Locus, rng: random.Random) -> list[Sighting]:
    found = []
    for at, (sex, copies) in enumerate(zip(grown.sexes, grown.copies, strict=True)):
        chance = rng.random()
        if chance < keeping.dna:
            told: list[tuple[object]] = [(other,) for other in range(3)]
        elif chance < keeping.dna + keeping.looks:
            told = [
                (locus.phenotype(min(other, locus.copy_numbers(sex)[-1]), sex),)
                for other in range(3)
            ]
        else:
            continue
        weights = tuple(float(one == told[copies]) for one in told)
        found.append(
            Sighting(
                bird=f"B{at:04d}",
                weights=(weights, weights[: len(locus.copy_numbers(sex))]),
                place=NOWHERE,
            )
        )
    return found
