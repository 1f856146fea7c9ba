"""All that genetics can say of one bird, gathered for a report or for another program."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.account import Account, account
from matchmaker.genetics.genotypes.progeny import ProgenyTest, Question, progeny_tests
from matchmaker.genetics.kin.forebears import Parent, parents, relation
from matchmaker.genetics.kin.shared_forebears import SharedForebear, shared_forebears
from matchmaker.genetics.shares.segment import DonorSegment, donor_segment
from matchmaker.genetics.shares.spread import ShareRange, share_ranges

if TYPE_CHECKING:
    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.kin.kinship import KinshipMatrix
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.genetics.study import Study

NEAREST: Final = 5
"""How many of the nearest relatives among possible mates are named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kinsman:
    """A possible mate, its kinship with the bird, and what it is to it ("" if no short word)."""

    band: str
    kinship: float
    relation: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LocusPortrait:
    """One locus of a bird: how its chances came about, and which test chicks would settle them.

    ``segment`` is the donor's piece around the gene if the bird carries it, ``None`` if it cannot
    or the donor did not bring it. ``tests`` holds the best progeny test for each question that is
    open.
    """

    locus: Locus
    account: Account
    segment: DonorSegment | None
    tests: tuple[ProgenyTest, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Portrait:
    """One bird: forebears, share, inbreeding, nearest possible mates, and each locus."""

    bird: Bird
    parents: tuple[Parent, ...]
    recurrent_share: float
    share_range: ShareRange
    inbreeding: float
    inbred_through: tuple[SharedForebear, ...]
    mean_kinship: float
    nearest: tuple[Kinsman, ...]
    loci: tuple[LocusPortrait, ...]


def portrait(study: Study, band: str) -> Portrait:
    """Gather what is known of one bird, living or not.

    Raises
    ------
    KeyError
        If the bird is not in the books.
    """
    bird = study.flock.by_band()[band]
    kinship = study.kinship_with([band])
    breeders = [other.band for other in study.flock.breeders]
    return Portrait(
        bird=bird,
        parents=parents(study.flock, band),
        recurrent_share=study.recurrent_share[band],
        share_range=share_ranges(study.flock.pedigree, study.flock.settings.recurrent, [band])[
            band
        ],
        inbreeding=kinship.inbreeding()[band],
        inbred_through=shared_forebears(study.flock.pedigree, band),
        mean_kinship=kinship.mean_with(breeders)[band],
        nearest=tuple(_nearest(study, kinship, bird)),
        loci=tuple(_locus(study, bird, symbol) for symbol in study.loci),
    )


def _nearest(study: Study, kinship: KinshipMatrix, bird: Bird) -> list[Kinsman]:
    """The living breeders of the other sex that are most closely related, nearest first."""
    mates = [
        other
        for other in study.flock.breeders
        if other.band != bird.band and (bird.sex is None or other.sex is not bird.sex)
    ]
    row = {other.band: kinship.between(bird.band, other.band) for other in mates}
    closest = sorted((m for m in mates if row[m.band] > 0), key=lambda m: (-row[m.band], m.band))
    return [
        Kinsman(
            band=mate.band,
            kinship=row[mate.band],
            relation=relation(study.flock.pedigree, bird.band, mate.band, mate.sex),
        )
        for mate in closest[:NEAREST]
    ]


def _locus(study: Study, bird: Bird, symbol: str) -> LocusPortrait:
    genotypes, locus = study.genotypes[symbol], study.loci[symbol]
    found = account(genotypes, bird.band)
    copies = {band: genotypes.of(band).tolist() for band in genotypes.birds}
    segment = donor_segment(
        study.flock.pedigree, bird.band, locus, study.flock.settings.recurrent, copies
    )
    return LocusPortrait(
        locus=locus, account=found, segment=segment, tests=_tests(found, locus, bird)
    )


def _tests(found: Account, locus: Locus, bird: Bird) -> tuple[ProgenyTest, ...]:
    """The best test for each question that the bird's chances leave open."""
    if bird.sex is None:
        return ()
    most = locus.copy_numbers(bird.sex)[-1]
    asked = {Question.FREE: found.end[0], Question.BREEDS_TRUE: found.end[most]}
    return tuple(
        progeny_tests(found.end, locus, bird.sex, question)[0]
        for question, chance in asked.items()
        if 0 < chance < 1
    )
