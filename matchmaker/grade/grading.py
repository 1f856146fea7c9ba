"""Young birds graded on a day for next spring's pens: keep, let go or wait."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.grade.choosing import Pool, choose
from matchmaker.grade.known import Eve, eve_of, known_on
from matchmaker.grade.places import (
    USUAL_FACTOR,
    cocks_of,
    fit_older,
    penned_birds,
    places_of,
)
from matchmaker.grade.prospect import Prospect, by_band, prospects_of
from matchmaker.grade.rounds import choices, rounds_of
from matchmaker.grade.sexed import as_either_sex, judged
from matchmaker.grade.spring import next_spring, set_for
from matchmaker.grade.unseen import unseen_of, watched
from matchmaker.grade.verdicts import Verdict, rulings
from matchmaker.grade.worth import worths
from matchmaker.grade.young import families, not_yet_breeders, young_birds
from matchmaker.plan.solvers.watch import Watch, listening
from matchmaker.tables.records import Sex, Status

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.grade.places import Place, Places
    from matchmaker.grade.rounds import Round
    from matchmaker.grade.spring import Spring
    from matchmaker.grade.unseen import Unseen
    from matchmaker.grade.verdicts import Ruling
    from matchmaker.grade.worth import Worth
    from matchmaker.pairs.table import PairTable
    from matchmaker.pairs.wishes import Wishes
    from matchmaker.tables.folder import FolderTables


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """One young bird: its age in days, its verdict, what is not seen yet and what it is worth.

    ``prospects`` are one, or two where nobody has told its sex. ``choice`` says which plan takes
    it (1 is next spring's), ``worth`` what that plan loses without it; both are ``None`` where
    there is none, or no time was left. ``gone_since`` says that it left after the day.
    """

    bird: Bird
    age: int
    family: str
    prospects: tuple[Prospect, ...]
    ruling: Ruling
    unseen: tuple[Unseen, ...]
    choice: int | None
    worth: Worth | None
    gone_since: bool

    @property
    def verdict(self) -> Verdict:
        """Keep, let go or wait."""
        return self.ruling.verdict

    @property
    def best(self) -> Prospect:
        """The bird as the sex, of those it may have, whose best pair counts most."""
        return max(self.prospects, key=lambda one: (one.value, one.sex))


@dataclass(frozen=True, slots=True, kw_only=True)
class Grading:
    """The young birds of a flock graded on a day for next spring.

    ``table`` is the flock as it was known then, judged for that spring; ``rounds`` are the plan
    and those without its first choices; ``factor`` birds are kept for each in a pen. ``undated``
    are young birds whose hatching nobody wrote down: they are not graded.
    """

    eve: Eve
    spring: Spring
    factor: float
    table: PairTable
    rounds: tuple[Round, ...]
    places: Mapping[Place, Places]
    grades: tuple[Grade, ...]
    cocks_penned: int
    cocks_old: int
    undated: tuple[str, ...]

    @property
    def day(self) -> dt.date:
        """The day of the grading."""
        return self.eve.day

    def alone(self, grade: Grade) -> bool:
        """Whether a bird is the only one of its line and sex, young or older, fit to breed."""
        if grade.bird.sex is None or not grade.best.fit:
            return False
        place = grade.best.place
        fit = [one for one in self.grades if one.bird.sex and one.best.fit]
        return self.places[place].old + sum(one.best.place == place for one in fit) == 1

    def of(self, verdict: Verdict) -> tuple[Grade, ...]:
        """The birds with a verdict, in order of their bands."""
        return tuple(one for one in self.grades if one.verdict is verdict)


def grade_young(
    judged_now: PairTable,
    day: dt.date,
    *,
    factor: float = USUAL_FACTOR,
    patience: float | None = None,
    watch: Watch | None = None,
) -> Grading:
    """Grade the young birds of a flock on a day.

    Parameters
    ----------
    judged_now
        The flock judged as its folder is written.
    day
        The day: what is dated later is not used, birds hatched later are not there.
    factor
        Birds kept for each that will stand in a pen.
    patience
        Seconds for the search of what birds are worth; verdicts do not hang on it. ``None``: as
        long as it takes.
    watch
        May end that search too.

    Raises
    ------
    InputError
        If records contradict each other.
    UsageError
        If the day is far from the season.
    """
    tables, loci = judged_now.study.flock.tables, judged_now.study.loci
    spring = next_spring(judged_now.study.flock.settings, day)
    ready = not_yet_breeders(set_for(known_on(tables, day, loci), spring), day)
    table = judged_now if ready == tables else judged(ready)
    birds = young_birds(table.study.flock, spring)
    prospects = _prospects(table, ready, birds)
    told = frozenset(bird.band for bird in birds if bird.sex is not None)
    rounds = rounds_of(table, told, factor)
    pool = _pool(table, birds, prospects, rounds, (factor, tables))
    return Grading(
        eve=eve_of(tables, day),
        spring=spring,
        factor=factor,
        table=table,
        rounds=rounds,
        places=pool.places,
        grades=tuple(_grades(tables, pool, _worths(rounds, patience, watch), day)),
        cocks_penned=pool.cocks_penned,
        cocks_old=pool.cocks_old,
        undated=tuple(
            bird.band
            for bird in table.study.flock.living
            if bird.hatched is None and bird.record.status is Status.YOUNG
        ),
    )


def _worths(
    rounds: Sequence[Round], patience: float | None, watch: Watch | None
) -> Mapping[str, Worth]:
    """What the plans lose without each bird, as far as that is known in the time."""
    watch = watch or Watch()
    if patience is not None:
        watch.until = time.perf_counter() + patience
    with listening(watch):
        return worths(rounds, watch=watch)


def _prospects(
    table: PairTable, ready: FolderTables, birds: Sequence[Bird]
) -> tuple[Prospect, ...]:
    """The prospects of all, those of unknown sex as hens and as cocks.

    One that what was seen allows to be of neither together with the others waits, without pairs.
    """
    found = prospects_of(birds, table)
    unsexed = {bird.band: bird for bird in birds if bird.sex is None}
    for sex, (judged_so, chosen) in as_either_sex(table, ready, unsexed).items():
        found += prospects_of([unsexed[band] for band in sorted(chosen)], judged_so, sex)
    told = {one.band for one in found}
    found += prospects_of([bird for bird in birds if bird.band not in told], table, Sex.HEN)
    return tuple(sorted(found, key=lambda one: (one.band, one.sex)))


def _pool(
    table: PairTable,
    birds: Sequence[Bird],
    prospects: Sequence[Prospect],
    rounds: Sequence[Round],
    asked: tuple[float, FolderTables],
) -> Pool:
    factor, tables = asked
    old = fit_older(table, {bird.band for bird in birds})
    penned = penned_birds(table, rounds, tables.plan)
    return Pool(
        prospects=prospects,
        places=places_of(prospects, penned, old, factor),
        choices=choices(tuple(rounds)),
        families=families(birds),
        wished=_wished(table.wishes),
        cocks_penned=cocks_of(penned),
        cocks_old=cocks_of(old),
    )


def _wished(wishes: Wishes) -> frozenset[str]:
    """The birds that a wish asks for: to be used, in a pen or with another."""
    pairs = (*wishes.together, *wishes.hens_together)
    named = {band for pair in pairs for band in pair} | {band for band, _ in wishes.in_pen}
    return frozenset(named | set(wishes.use))


def _grades(
    tables: FolderTables, pool: Pool, worth: Mapping[str, Worth], day: dt.date
) -> list[Grade]:
    own = by_band(pool.prospects)
    if not own:
        return []
    flock = pool.prospects[0].table.study.flock
    seen = watched(flock.tables.scores, flock.by_band())
    unseen = {band: unseen_of(ones, day, seen) for band, ones in own.items()}
    found = rulings(pool, choose(pool), unseen)
    left = {record.bird for record in tables.birds if not record.status.alive_here}
    return [
        Grade(
            bird=own[band][0].bird,
            age=own[band][0].bird.age_on(day) or 0,
            family=pool.families[band],
            prospects=own[band],
            ruling=ruling,
            unseen=unseen[band],
            choice=pool.choices.get(band),
            worth=worth.get(band),
            gone_since=band in left,
        )
        for band, ruling in found.items()
    ]
