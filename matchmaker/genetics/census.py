"""The flock as a whole: its lines, founders and rates, and what is doubtful about its birds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from statistics import fmean
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.kin.diversity import (
    GeneDiversity,
    LineKinship,
    effective_size_by_sexes,
    gene_diversity,
    line_kinship,
)
from matchmaker.genetics.kin.founders import FounderGenes, founder_genes
from matchmaker.genetics.kin.generations import (
    GenerationInterval,
    InbreedingRate,
    generation_interval,
    inbreeding_rate,
)
from matchmaker.tables.records import Origin, Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.flock.bird import Bird
    from matchmaker.flock.pedigree import Links
    from matchmaker.genetics.study import Study

UNSURE: Final = (0.1, 0.9)
"""A chance of carrying between these is doubtful."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineCensus:
    """One line: its living birds, and how its breeders are related.

    ``within`` is the mean kinship of its breeders with each other (each with itself included),
    ``to_others`` with the breeders of all other lines; ``None`` where there are none.
    """

    line: str
    cocks: int
    hens: int
    unsexed: int
    breeders: int
    within: float | None
    to_others: float | None
    recurrent_share: float


SEED: Final = 20
"""Of the dropping of founders' genes."""


class DoubtKind(StrEnum):
    """What may be wrong or is only half known."""

    SEX = "sex-unknown"
    SEVERAL_PARENTS = "several-parents"
    PARENT_UNKNOWN = "parent-unknown"
    FOUNDER_ASSUMED = "founder-assumed"
    COPIES = "copies-unsure"
    CHANCES = "chances-not-exact"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlockDoubt:
    """One kind of doubt and the birds it concerns; ``locus`` where it is about one."""

    kind: DoubtKind
    birds: tuple[str, ...]
    locus: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """How fast variety is lost among the living breeders, and how many birds they are worth.

    ``size_by_sexes`` counts cocks and hens alone; ``inbreeding`` looks at the pedigree.
    """

    inbreeding: InbreedingRate
    interval: GenerationInterval
    diversity: GeneDiversity | None
    size_by_sexes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Census:
    """Lines, founders (``None`` without breeders), rates and doubts of a flock."""

    lines: tuple[LineCensus, ...]
    founders: FounderGenes | None
    rates: Rates
    doubts: tuple[FlockDoubt, ...]


def census(study: Study) -> Census:
    """Gather what there is to say of the flock as a whole.

    Founders' genes are dropped with a fixed seed, so the same tables give the same numbers.
    """
    pedigree = study.flock.pedigree
    breeders = [bird.band for bird in study.flock.breeders]
    rng = np.random.default_rng(SEED)
    return Census(
        lines=line_census(study),
        founders=founder_genes(pedigree, breeders, rng) if breeders else None,
        rates=flock_rates(study),
        doubts=flock_doubts(study),
    )


def flock_rates(study: Study) -> Rates:
    """Rates of inbreeding, generation interval and effective size of the living breeders."""
    flock = study.flock
    breeders = [bird.band for bird in flock.breeders]
    hatched = {bird.band: bird.hatched for bird in flock.birds}
    cocks = sum(bird.sex is Sex.COCK for bird in flock.breeders)
    hens = sum(bird.sex is Sex.HEN for bird in flock.breeders)
    return Rates(
        inbreeding=inbreeding_rate(flock.pedigree, breeders),
        interval=generation_interval(flock.pedigree, hatched, breeders),
        diversity=gene_diversity(study.kinship, breeders),
        size_by_sexes=effective_size_by_sexes(cocks, hens),
    )


def line_census(study: Study) -> tuple[LineCensus, ...]:
    """Return each line with living birds, in order of their names."""
    kinship = line_kinship(study.kinship, {b.band: b.line for b in study.flock.breeders})
    lines = sorted({bird.line for bird in study.flock.living})
    return tuple(_line(study, line, kinship) for line in lines)


def _line(study: Study, line: str, kinship: LineKinship) -> LineCensus:
    birds = [bird for bird in study.flock.living if bird.line == line]
    sizes = dict(zip(kinship.lines, kinship.birds, strict=True))
    return LineCensus(
        line=line,
        cocks=sum(bird.sex is Sex.COCK for bird in birds),
        hens=sum(bird.sex is Sex.HEN for bird in birds),
        unsexed=sum(bird.sex is None for bird in birds),
        breeders=sizes.get(line, 0),
        within=kinship.within(line) if line in sizes else None,
        to_others=_to_others(kinship, line, sizes),
        recurrent_share=fmean(study.recurrent_share[bird.band] for bird in birds),
    )


def _to_others(kinship: LineKinship, line: str, sizes: dict[str, int]) -> float | None:
    """Mean kinship with the birds of all other lines, each bird counting alike."""
    others = [other for other in sizes if other != line]
    if line not in sizes or not others:
        return None
    birds = sum(sizes[other] for other in others)
    return sum(kinship.between(line, other) * sizes[other] for other in others) / birds


def flock_doubts(study: Study) -> tuple[FlockDoubt, ...]:
    """Return what is doubtful of the living birds, one entry per kind (and locus) that occurs."""
    living = study.flock.living
    found = [
        FlockDoubt(kind=DoubtKind.SEX, birds=_bands(b for b in living if b.sex is None)),
        FlockDoubt(
            kind=DoubtKind.SEVERAL_PARENTS,
            birds=_bands(b for b in living if _several_written(b)),
        ),
        FlockDoubt(
            kind=DoubtKind.PARENT_UNKNOWN,
            birds=_bands(b for b in living if _parent_drawn(study, b)),
        ),
        FlockDoubt(
            kind=DoubtKind.FOUNDER_ASSUMED,
            birds=_bands(b for b in study.flock.birds if _founder_assumed(study, b)),
        ),
        *_locus_doubts(study),
    ]
    return tuple(doubt for doubt in found if doubt.birds)


def _locus_doubts(study: Study) -> Iterator[FlockDoubt]:
    """Living birds that may or may not carry a target's gene, and chances that are not exact."""
    low, high = UNSURE
    for symbol in study.flock.settings.target:
        chance = study.genotypes[symbol].carrier_probability
        unsure = (bird for bird in study.flock.living if low < chance(bird.band) < high)
        yield FlockDoubt(kind=DoubtKind.COPIES, birds=_bands(unsure), locus=symbol)
    for symbol, genotypes in study.genotypes.items():
        if genotypes.method != "exact":
            open_birds = (b for b in study.flock.living if max(genotypes.of(b.band)) < 1)
            yield FlockDoubt(kind=DoubtKind.CHANCES, birds=_bands(open_birds), locus=symbol)


def _bands(birds: Iterator[Bird]) -> tuple[str, ...]:
    return tuple(bird.band for bird in birds)


def _several_written(bird: Bird) -> bool:
    return any(len(cell.candidates) > 1 for cell in (bird.record.sire, bird.record.dam))


def _sides(study: Study, bird: Bird) -> Iterator[tuple[Origin, Links]]:
    """What is written of each parent, and the pedigree's links for it."""
    pedigree = study.flock.pedigree
    at = pedigree.node_of()[bird.band] - pedigree.first_bird
    yield bird.record.sire.origin, pedigree.sires[at]
    yield bird.record.dam.origin, pedigree.dams[at]


def _parent_drawn(study: Study, bird: Bird) -> bool:
    """Whether a parent nobody wrote down is taken as one of the birds then alive."""
    first = study.flock.pedigree.first_bird
    return any(
        origin is Origin.UNKNOWN and any(node >= first for node, _ in links)
        for origin, links in _sides(study, bird)
    )


def _founder_assumed(study: Study, bird: Bird) -> bool:
    """Whether a bird of unwritten parents is taken as a founder."""
    first = study.flock.pedigree.first_bird
    return all(
        origin is Origin.UNKNOWN and all(node < first for node, _ in links)
        for origin, links in _sides(study, bird)
    )
