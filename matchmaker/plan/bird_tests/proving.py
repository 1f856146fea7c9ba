"""Test chicks for one bird: by whom, how many, how many eggs, and when they will have answered."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from math import ceil
from statistics import fmean
from typing import TYPE_CHECKING, Final

from matchmaker import tolerance
from matchmaker.genetics.genotypes.observed import birds_of
from matchmaker.genetics.genotypes.progeny import (
    LEVELS,
    Obstacle,
    ProgenyTest,
    Question,
    chicks_to_hatch,
    progeny_tests,
)
from matchmaker.pairs.value import DAYS_TO_FERTILE
from matchmaker.plan.posing.pose import cock_limit
from matchmaker.tables.ages import INCUBATION
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.table import PairTable

MATE_CERTAINTY: Final = 0.99
"""A bird serves as a mate of known copies from this chance on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChickTrial:
    """The best way to prove a bird by test chicks in this flock.

    ``mates`` are the birds here that would serve, the least related first; where there are none,
    ``test`` is the best way there would be with any mate. ``eggs`` are enough for the chicks of
    the lower level with 95 %; ``seen_on`` is the first day on which those chicks can all have
    been judged; both are ``None`` where no number of chicks would do. ``in_time`` says whether
    that is by the day the pens are made up.
    """

    test: ProgenyTest
    mates: tuple[str, ...]
    eggs: int | None
    seen_on: dt.date | None
    in_time: bool

    @property
    def chicks(self) -> int | None:
        """Chicks that settle it at the lower level of ``LEVELS``."""
        return self.test.chicks(LEVELS[0])


def chick_trial(table: PairTable, band: str, symbol: str) -> ChickTrial | None:
    """The best trial of a bird at a locus; ``None`` for one that cannot breed this spring.

    What is to be proved: that it carries none, or, of a certain carrier, that it breeds true.
    Where no chicks can prove it, that the only way would do harm is said before anything else.
    """
    bird = table.study.flock.by_band()[band]
    if bird.sex is None or table.of_birds.get(band, ()):
        return None
    prior = [float(chance) for chance in table.study.genotypes[symbol].of(band)]
    question = Question.FREE if prior[0] > 0 else Question.BREEDS_TRUE
    tests = progeny_tests(prior, table.study.loci[symbol], bird.sex, question)
    found = [(test, _mates(table, bird, symbol, test.mate_copies)) for test in tests]
    usable = [one for one in found if one[0].chicks(LEVELS[0]) is not None]
    found.sort(key=lambda one: one[0].obstacle is not Obstacle.HARMFUL)
    test, mates = next((one for one in usable if one[1]), (usable or found)[0])
    return _dated(table, bird, test, mates)


def shows_itself(table: PairTable, band: str, symbol: str) -> bool:
    """Whether a look at the bird would tell more, and nobody has written down what it shows."""
    study = table.study
    bird, locus = study.flock.by_band()[band], study.loci[symbol]
    if bird.sex is None or not locus.can_show(bird.sex):
        return False
    age = bird.age_on(study.flock.today)
    known = study.genotypes[symbol]
    looks = {locus.phenotype(at, bird.sex) for at, chance in enumerate(known.of(band)) if chance}
    told = any(birds_of(one) == (band,) for one in known.evidence)
    return len(looks) > 1 and not told and (age is None or age >= locus.shows_at_days)


def _mates(table: PairTable, bird: Bird, symbol: str, copies: int) -> tuple[str, ...]:
    """Birds of the other sex that surely have so many copies and are not too closely related."""
    study = table.study
    related = {
        other.band: study.kinship.between(bird.band, other.band)
        for other in study.flock.living
        if other.sex not in {None, bird.sex} and not table.of_birds.get(other.band, ())
    }
    limit = study.flock.settings.limits.kinship_max + tolerance.LIMIT
    sure = study.genotypes[symbol]
    serving = [
        band
        for band, kinship in related.items()
        if kinship <= limit and sure.of(band)[copies] >= MATE_CERTAINTY
    ]
    return tuple(sorted(serving, key=lambda band: (related[band], band)))


def _dated(table: PairTable, bird: Bird, test: ProgenyTest, mates: tuple[str, ...]) -> ChickTrial:
    flock = table.study.flock
    chicks = test.chicks(LEVELS[0])
    seen_on, eggs = None, None
    if chicks is not None:
        eggs = chicks_to_hatch(chicks, _judged_per_egg(table, bird, test)) if chicks else 0
        seen_on = None if eggs is None else _seen_on(table, bird, test, mates, eggs)
    in_time = bool(mates) and seen_on is not None and seen_on <= flock.settings.pen_up
    return ChickTrial(test=test, mates=mates, eggs=eggs, seen_on=seen_on, in_time=in_time)


def _judged_per_egg(table: PairTable, bird: Bird, test: ProgenyTest) -> float:
    """Chance that an egg gives a chick that lives to be judged, of a sex that counts."""
    year = table.study.flock.settings.year
    own = bird.record.fertility
    fertility = year.fertility if own is None else own
    lives = year.rearing if test.days > 1 else 1.0
    return fertility * year.hatch_of_fertile * lives * (1.0 if test.judged is None else 0.5)


def _seen_on(
    table: PairTable, bird: Bird, test: ProgenyTest, mates: Sequence[str], eggs: int
) -> dt.date | None:
    """Today, a week until eggs are fertile, the days to lay them, incubation, and the growing."""
    flock = table.study.flock
    laid = _eggs_a_day(table, bird, mates)
    if laid == 0:
        return None
    days = DAYS_TO_FERTILE + ceil(eggs / laid) + INCUBATION.days + test.days
    return flock.today + dt.timedelta(days=days if eggs else 0)


def _eggs_a_day(table: PairTable, bird: Bird, mates: Sequence[str]) -> float:
    """A hen lays by herself; a cock has as many of his mates as he may, one where none is here."""
    flock = table.study.flock
    birds = flock.by_band()
    hens = [bird] if bird.sex is Sex.HEN else [birds[band] for band in mates]
    usual = flock.settings.year.lay_per_week
    lays = [usual if hen.record.lay_per_week is None else hen.record.lay_per_week for hen in hens]
    most = 1 if bird.sex is Sex.HEN else cock_limit(bird, flock.settings).hens_max
    return fmean(lays or [usual]) / 7 * max(1, min(len(hens), most))
