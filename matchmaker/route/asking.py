"""From a flock's books to the task of a route: its target, its donor, its rates."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.rebalance.eggs import HATCH_DAYS
from matchmaker.route.genome import Genome, genome_of
from matchmaker.route.task import BACKCROSSES, BIRDS, Source, Task, share_after
from matchmaker.season.lots import weeks_of
from matchmaker.season.rates import rates
from matchmaker.tables.dates import years_on
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.genetics.study import Study

MOST_LOCI = 3
"""More loci at once than this make more kinds of birds than can be searched."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the keeper asks: backcrosses, birds of each class that go on, egg to chick reared.

    None: the default; ``set_to_reared`` is the chance that an egg set becomes a chick reared.
    """

    backcrosses: int | None = None
    birds: int | None = None
    set_to_reared: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Posed:
    """A task with the breeds behind it and the defaults it leans on."""

    task: Task
    donor: str
    donor_sexes: tuple[Sex, ...]
    backcrosses: int
    defaults: tuple[str, ...]


def pose(study: Study, asked: Asked) -> Posed:
    """The task of a flock's route from the donor on.

    Raises
    ------
    UsageError
        If nothing is to be brought in, a bird must not have the copies wanted, or there are too
        many loci at once.
    """
    settings = study.flock.settings
    symbols = list(settings.target)
    genome = genome_of({symbol: study.loci[symbol] for symbol in symbols})
    wanted = tuple(settings.target[symbol] for symbol in symbols)
    _refuse(genome, wanted)
    donor, sexes = _donors(study)
    defaults = []
    if asked.backcrosses is None:
        defaults.append(
            f"{BACKCROSSES} backcrosses (three to five are common practice: three for plain use, "
            "four or five for a show type)"
        )
    if not sexes:
        defaults.append("donor cocks and donor hens both taken as to be had")
    times = BACKCROSSES if asked.backcrosses is None else asked.backcrosses
    birds = _birds(study) if asked.birds is None else asked.birds
    if asked.birds is None:
        defaults.append(f"{birds} birds of each class kept go on, one for each family of a line")
    rate = rates(study.flock).raised
    task = Task(
        genome=genome,
        wanted=wanted,
        share=share_after(times),
        sources=_sources(study, genome, donor, sexes or tuple(Sex)),
        birds=birds,
        age=days_of_age(study),
        reared=rate if asked.set_to_reared is None else asked.set_to_reared,
        testers=_testers(study, genome, donor, sexes or tuple(Sex)),
    )
    return Posed(
        task=task,
        donor=donor,
        donor_sexes=sexes,
        backcrosses=times,
        defaults=tuple(defaults),
    )


def days_of_age(study: Study) -> int:
    """Days from the last hatch of this season to the pens of the next."""
    settings = study.flock.settings
    sets = weeks_of(settings.collect_from, settings.collect_until)
    last = (sets[-1].set_on if sets else settings.collect_until) + dt.timedelta(days=HATCH_DAYS)
    return (years_on(settings.pen_up, 1) - last).days


def _refuse(genome: Genome, wanted: tuple[int, ...]) -> None:
    if not any(wanted):
        raise UsageError(
            "target in matchmaker.toml asks for no copies of anything: there is nothing to bring "
            "in, and so no route. Give the locus you want 1 or 2 copies, as in target = {O = 2}"
        )
    if len(wanted) > MOST_LOCI:
        raise UsageError(
            f"target in matchmaker.toml names {len(wanted)} loci; a route is searched for "
            f"{MOST_LOCI} at most. Bring them in one after the other: leave some out for now"
        )
    for locus, copies in zip(genome.loci, wanted, strict=True):
        for sex in Sex:
            most = min(copies, locus.copy_numbers(sex)[-1])
            if most and locus.is_lethal(most, sex):
                raise UsageError(
                    f"target in matchmaker.toml asks for {copies} copies of {locus.symbol} "
                    f"({locus.name}), and {sex}s with {most} die or are crippled. Write "
                    f"{locus.symbol} = 1, or leave it out, and ask a veterinarian"
                )


def _donors(study: Study) -> tuple[str, tuple[Sex, ...]]:
    """The donor's breed, and the sexes of its birds that the books know, gone ones included."""
    recurrent = study.flock.settings.recurrent.casefold()
    counts: dict[str, int] = {}
    sexes: set[Sex] = set()
    for bird in study.flock.birds:
        breeds = [breed for breed, share in bird.record.breed.items() if share > 0]
        if study.recurrent_share[bird.band] > 0 or any(b.casefold() == recurrent for b in breeds):
            continue
        for breed in breeds:
            counts[breed] = counts.get(breed, 0) + 1
        if bird.sex is not None:
            sexes.add(bird.sex)
    donor = max(sorted(counts), key=lambda breed: counts[breed], default="donor")
    return donor, tuple(sex for sex in Sex if sex in sexes)


def _birds(study: Study) -> int:
    lines = study.flock.settings.lines.values()
    return max((line.families for line in lines if line.step != "hold"), default=BIRDS)


def _frequencies(study: Study, genome: Genome, breed: str) -> tuple[Fraction, ...]:
    recurrent = study.flock.settings.recurrent
    return tuple(Fraction(str(locus.founder_frequency(breed, recurrent))) for locus in genome.loci)


def recurrent_sources(study: Study, genome: Genome) -> tuple[Source, ...]:
    """Birds of the recurrent breed, both sexes."""
    recurrent = study.flock.settings.recurrent
    frequencies = _frequencies(study, genome, recurrent)
    return tuple(
        Source(name=recurrent, sex=sex, mix=genome.founders(sex, frequencies), share=Fraction(1))
        for sex in Sex
    )


def _sources(
    study: Study, genome: Genome, donor: str, sexes: tuple[Sex, ...]
) -> tuple[Source, ...]:
    frequencies = _frequencies(study, genome, donor)
    donors = (
        Source(name=donor, sex=sex, mix=genome.founders(sex, frequencies), share=Fraction(0))
        for sex in sexes
    )
    return (*recurrent_sources(study, genome), *donors)


def _testers(
    study: Study, genome: Genome, donor: str, sexes: tuple[Sex, ...]
) -> dict[tuple[Sex, int], frozenset[int]]:
    """Copies that mates of test matings can be had with, by their sex and the locus."""
    recurrent = study.flock.settings.recurrent
    found = {}
    for sex in Sex:
        for at, locus in enumerate(genome.loci):
            copies = set()
            for breed, here in ((recurrent, True), (donor, sex in sexes)):
                frequency = locus.founder_frequency(breed, recurrent)
                if here and frequency in (0.0, 1.0):
                    copies.add(locus.copy_numbers(sex)[-1] if frequency else 0)
            found[sex, at] = frozenset(copies)
    return found
