"""Everything genetics can say of a flock, computed once: what pairs and reports are built on."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault, InputError
from matchmaker.flock.flock import Flock, in_order
from matchmaker.genetics.clash.clashes import clash_faults
from matchmaker.genetics.genotypes.inferred import LociClashError, infer
from matchmaker.genetics.genotypes.posterior import ANY_NUMBER
from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.genetics.kin.kinship import KinshipMatrix, kinship_matrix
from matchmaker.genetics.traits.aims import trait_defaults
from matchmaker.genetics.traits.doubts import forecast_defaults
from matchmaker.genetics.traits.forecast import forecast
from matchmaker.genetics.traits.prospects import Prospects
from matchmaker.genetics.traits.standing import Standing
from matchmaker.tables.records import Sex
from matchmaker.tables.toml_names import section

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.genotypes.genotype import Genotypes
    from matchmaker.genetics.genotypes.inferred import Inferred
    from matchmaker.genetics.genotypes.linked import LinkedGenotypes
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.genotypes.reading import LocusReading
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.genetics.traits.forecast import Forecast

RECENT_DAYS: Final = 365
"""Birds that left no longer ago than this still belong to those that a pair is measured against."""

LIFE_DAYS: Final = 6 * 365
"""Few breeding birds are kept longer than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """Kinship, shares, genotype probabilities and merit of the birds of a flock.

    ``kinship`` covers the living birds and those of the standing plan; shares, genotypes, the
    forecast of traits and the birds' own standing cover every bird of the books. ``prospects``
    are those of the chicks of all hens and cocks in view and of all recent ones.
    """

    flock: Flock
    kinship: KinshipMatrix
    recurrent_share: Mapping[str, float]
    loci: Mapping[str, Locus]
    inferred: Inferred
    forecast: Forecast
    standing: Standing
    prospects: Prospects
    defaults: tuple[str, ...]

    @property
    def aims(self) -> tuple[TraitAim, ...]:
        """The aims of all traits that have scores and settings."""
        return self.forecast.aims

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

    def merit(self, bird: str) -> float:
        """A bird's own merit: how much more, or less, a wanted chick like it counts."""
        return float(self.standing.merit[self.forecast.position(bird)])

    def reliability(self, bird: str) -> float:
        """How far to trust the merit, 0 to 1."""
        return float(self.standing.reliability[self.forecast.position(bird)])


def study_flock(flock: Flock, also: Iterable[str] = (), *, left_max: int = ANY_NUMBER) -> Study:
    """Work out kinship, shares, genotype probabilities and merit of a flock.

    Pairs are judged among the living birds, those of the standing plan and those in ``also``.

    Raises
    ------
    InputError
        If loci or evidence hold faults, or records contradict each other.
    TooTangledError
        If over ``left_max`` variables that hang together would have to be sampled.
    """
    inferred, loci = genotypes_of_flock(flock, left_max)
    return _assembled(flock, inferred, loci, forecast(flock), set(also))


def with_other_sexes(study: Study, flock: Flock) -> Study:
    """The study of the same flock in which some birds without scores are of another sex.

    What their scores and those of their kin promise does not hang on it and is kept; genotypes and
    the chicks of pairs do.

    Raises
    ------
    InputError
        If loci or evidence hold faults, or what was seen cannot be of birds of these sexes.
    """
    inferred, loci = genotypes_of_flock(flock)
    return _assembled(flock, inferred, loci, study.forecast, set())


def genotypes_of_flock(
    flock: Flock, left_max: int = ANY_NUMBER
) -> tuple[Inferred, Mapping[str, Locus]]:
    """What is known of every bird at every locus, and the loci.

    Raises
    ------
    InputError
        If loci or evidence hold faults, or records contradict each other.
    TooTangledError
        If over ``left_max`` variables that hang together would have to be sampled.
    """
    reading = read_loci(flock.tables)
    if reading.faults:
        raise InputError(in_order(reading.faults))
    recurrent = flock.settings.recurrent
    try:
        found = infer(flock.pedigree, reading.loci, reading.evidence, recurrent, left_max=left_max)
    except LociClashError as error:
        raise InputError(in_order(_clashes(flock, reading, error))) from None
    return found, reading.loci


def _assembled(
    flock: Flock,
    inferred: Inferred,
    loci: Mapping[str, Locus],
    found: Forecast,
    also: set[str],
) -> Study:
    settings, tables = flock.settings, flock.tables
    view = _in_view(flock, also)
    kinship = kinship_matrix(flock.pedigree, _with_recent(flock, view))
    return Study(
        flock=flock,
        kinship=_part_of(kinship, view),
        recurrent_share=dict(zip(found.birds, found.shares.tolist(), strict=True)),
        loci=loci,
        inferred=inferred,
        forecast=found,
        standing=Standing.of(found),
        prospects=Prospects.of(found, flock.pedigree, kinship, _by_sex(flock, kinship.birds)),
        defaults=(
            *flock.defaults,
            *trait_defaults(settings, tables.traits),
            *forecast_defaults(found),
        ),
    )


def is_recent(flock: Flock, bird: Bird) -> bool:
    """Whether a bird was here within the year before the pens are made up.

    One that is gone, nobody having written when, may have been as long as it can have lived.
    """
    if bird.alive_here:
        return True
    left, days = bird.record.left_on, RECENT_DAYS
    if left is None:
        left, days = bird.hatched, LIFE_DAYS
    return left is None or left >= flock.settings.pen_up - dt.timedelta(days=days)


def _with_recent(flock: Flock, view: Sequence[str]) -> list[str]:
    """The birds in view, and behind them the others of known sex that were here of late."""
    seen = set(view)
    recent = (bird for bird in flock.birds if bird.sex and is_recent(flock, bird))
    return [*view, *(bird.band for bird in recent if bird.band not in seen)]


def _part_of(kinship: KinshipMatrix, birds: Sequence[str]) -> KinshipMatrix:
    """The first rows and columns of a matrix, which are those of ``birds``."""
    values = kinship.values[: len(birds), : len(birds)]
    return KinshipMatrix(birds=tuple(birds), values=values)


def _by_sex(flock: Flock, bands: Iterable[str]) -> tuple[list[str], list[str]]:
    """Hens and cocks, each in order of their bands."""
    birds, chosen = flock.by_band(), sorted(bands)
    hens, cocks = ([b for b in chosen if birds[b].sex is sex] for sex in (Sex.HEN, Sex.COCK))
    return hens, cocks


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
            f"under {section('loci', one)} and {section('loci', two)}",
        )
    ]


def _in_view(flock: Flock, also: set[str]) -> list[str]:
    """The living birds, those of the standing plan and some more."""
    planned = also | {band for row in flock.tables.plan for band in (row.hen, row.cock)}
    return [b.band for b in flock.birds if b.alive_here or b.band in planned]
