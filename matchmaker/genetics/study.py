"""Everything genetics can say of a flock, computed once: what pairs and reports are built on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.errors import Fault, InputError
from matchmaker.flock.flock import Flock, in_order
from matchmaker.genetics.clash.clashes import clash_faults
from matchmaker.genetics.genotypes.inferred import LociClashError, infer
from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.genetics.index import (
    TraitAim,
    merit_of,
    predict_traits,
    trait_aims,
    trait_defaults,
    trait_gains,
)
from matchmaker.genetics.kin.kinship import KinshipMatrix, kinship_matrix
from matchmaker.genetics.shares.share import recurrent_shares

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.genetics.genotypes.genotype import Genotypes
    from matchmaker.genetics.genotypes.inferred import Inferred
    from matchmaker.genetics.genotypes.linked import LinkedGenotypes
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.genotypes.reading import LocusReading
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.genetics.merit import TraitPrediction


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """Kinship, shares, genotype probabilities and merit of the birds of a flock.

    ``kinship`` covers the living birds and those of the standing plan; shares, genotypes and
    predictions cover every bird of the books.
    """

    flock: Flock
    kinship: KinshipMatrix
    recurrent_share: Mapping[str, float]
    loci: Mapping[str, Locus]
    inferred: Inferred
    aims: tuple[TraitAim, ...]
    predictions: Mapping[str, TraitPrediction]
    defaults: tuple[str, ...]

    @property
    def genotypes(self) -> Mapping[str, Genotypes]:
        """Genotype probabilities by locus."""
        return self.inferred.genotypes

    @property
    def linked(self) -> Mapping[tuple[str, str], LinkedGenotypes]:
        """Linked loci that are worked out together."""
        return self.inferred.linked

    def informed(self, locus: str, added: Sequence[Evidence]) -> Study:
        """The study as it would be with more evidence at a locus; relatives learn too.

        Only genotype probabilities change: kinship, shares and merit do not hang on them.

        Raises
        ------
        LociClashError
            If the evidence added cannot be true together with what is known.
        """
        return replace(self, inferred=self.inferred.informed(locus, added))

    def kinship_with(self, birds: Iterable[str]) -> KinshipMatrix:
        """The kinship of the living birds and of some others, which may be long gone."""
        missing = sorted(set(birds) - set(self.kinship.birds))
        if not missing:
            return self.kinship
        return kinship_matrix(self.flock.pedigree, [*self.kinship.birds, *missing])

    def gains(self, hen: str, cock: str) -> dict[str, float]:
        """Expected worth of a pair's chicks per trait, in genetic SDs."""
        return trait_gains(hen, cock, self.aims, self.predictions)

    def merit(self, bird: str) -> float:
        """A bird's own merit: its weighted sum of standardised predictions."""
        return merit_of(self.gains(bird, bird), self.aims)

    def reliability(self, bird: str) -> float:
        """How far to trust the merit: the mean reliability over the traits, by their weights."""
        weights = {aim.trait: aim.weight for aim in self.aims}
        total = sum(weights.values())
        if total == 0:
            return 0.0
        return sum(w * self.predictions[t].reliability[bird] for t, w in weights.items()) / total


def study_flock(flock: Flock, also: Iterable[str] = ()) -> Study:
    """Work out kinship, shares, genotype probabilities and merit of a flock.

    Pairs are judged among the living birds, those of the standing plan and those in ``also``.

    Raises
    ------
    InputError
        If loci or evidence hold faults, or records contradict each other.
    """
    reading = read_loci(flock.tables)
    if reading.faults:
        raise InputError(in_order(reading.faults))
    try:
        inferred = infer(flock.pedigree, reading.loci, reading.evidence, flock.settings.recurrent)
    except LociClashError as error:
        raise InputError(in_order(_clashes(flock, reading, error))) from None
    settings, tables = flock.settings, flock.tables
    aims = trait_aims(settings, tables.traits)
    return Study(
        flock=flock,
        kinship=kinship_matrix(flock.pedigree, _in_view(flock, set(also))),
        recurrent_share=recurrent_shares(flock.pedigree, settings.recurrent),
        loci=reading.loci,
        inferred=inferred,
        aims=aims,
        predictions=predict_traits(flock, aims),
        defaults=(*flock.defaults, *trait_defaults(settings, tables.traits)),
    )


def _clashes(flock: Flock, reading: LocusReading, error: LociClashError) -> list[Fault]:
    if not error.together:
        return clash_faults(flock, reading.loci, reading.evidence, error.loci)
    one, two = error.loci
    return [
        flock.tables.setting_fault(
            f"loci.{one}",
            kind="contradiction",
            value=one,
            problem=f"what was seen of {one} and of {two} cannot all be true of the same parents, "
            "though it can of each alone",
            mend="check the birds with several possible parents, and the breeds' frequencies "
            f"under [loci.{one}] and [loci.{two}]",
        )
    ]


def share_doubts(study: Study) -> list[Fault]:
    """Typed breed shares that the pedigree contradicts; the pedigree is what counts."""
    recurrent = study.flock.settings.recurrent
    return [
        study.flock.tables.fault(
            "birds",
            bird.record.row,
            "breed",
            kind="breed-against-pedigree",
            value=f"{bird.record.breed.get(recurrent, 0.0):g}",
            problem=f"{bird.band} is written as {bird.record.breed.get(recurrent, 0.0):.1%} "
            f"{recurrent}, its parents make it {study.recurrent_share[bird.band]:.1%}",
            mend="check the parents; the share by pedigree is used",
        )
        for bird in study.flock.birds
        if bird.record.breed
        and abs(bird.record.breed.get(recurrent, 0.0) - study.recurrent_share[bird.band]) > 0.01
    ]


def _in_view(flock: Flock, also: set[str]) -> list[str]:
    """The living birds, those of the standing plan and some more."""
    planned = also | {band for row in flock.tables.plan for band in (row.hen, row.cock)}
    return [b.band for b in flock.birds if b.alive_here or b.band in planned]
