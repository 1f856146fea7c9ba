"""One replicate played through: plan, breed, band, see, score, grade, and plan again."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.ahead.books import Year, a_year_on, sound
from matchmaker.ahead.breeding import breed
from matchmaker.ahead.brood import brood_of, with_bands
from matchmaker.ahead.losses import losses
from matchmaker.ahead.luck import Event, Luck
from matchmaker.ahead.outlook import stacked
from matchmaker.ahead.seen import looks, scores
from matchmaker.ahead.steps import with_steps
from matchmaker.ahead.tallying import Measured, Scale, Used, tally
from matchmaker.ahead.uncollected import collecting_later
from matchmaker.ahead.world import Fate, World
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.study import study_flock
from matchmaker.pairs.table import survey_pairs
from matchmaker.plan.posing.pose import pose_problem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.ahead.outlook import Subject, Tally
    from matchmaker.ahead.policies import Policy
    from matchmaker.ahead.scoring import Pattern
    from matchmaker.ahead.today import Past
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.table import PairTable, Survey
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.tables.folder import FolderTables

YOUNG: Final = dt.timedelta(days=365)
"""A bird hatched less than a year before the pens are made up is young."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One replicate under one policy, both by number."""

    policy: int
    replicate: int


@dataclass(frozen=True, kw_only=True, eq=False)
class Player:
    """Plays replicates; what it carries is sent once to every worker.

    ``tables`` are the books as they are, ``past`` what the birds of today may truly be, ``ready``
    the recurrent share from which lines are crossed with each other. The first of the ``policies``
    plans from the books as they are: its scale counts the birds of all.
    """

    tables: FolderTables
    past: Past
    policies: Sequence[Policy]
    subject: Subject
    patterns: Sequence[Pattern]
    seed: int
    ready: float
    _firsts: dict[int, PairTable] = field(default_factory=dict, repr=False)

    def __call__(self, task: Task) -> Tally:
        """The tally of every spring, shape (springs, ...)."""
        with collecting_later():
            return self._played(task)

    def _played(self, task: Task) -> Tally:
        policy, table, base = self.policies[task.policy], self._first(task.policy), self._first(0)
        truth = self.past.truth(task.replicate)
        everyone = World(bands=truth.bands, birds=truth.birds)
        scale = Scale.of(self._measured(everyone, base), truth.nature, self.subject, base.study)
        world = everyone.only({bird.band for bird in table.study.flock.living})
        rows = [tally(self._measured(world, table), scale)]
        for season in range(self.subject.seasons):
            used = Used()
            if world.bands:  # an empty farm stays empty
                fate = Fate(truth.nature, self._luck(task, season))
                pens = policy.first if season == 0 else None
                if pens is None:
                    problem = pose_problem(table, fresh=True)
                    pens = policy.pens(table, problem, fate.stream(Event.PENS))
                world, table, used = self._season(world, table, (policy, pens), fate)
            rows.append(tally(self._measured(world, table), scale, used))
        return stacked(rows)

    def _luck(self, task: Task, season: int) -> Luck:
        return Luck(seed=self.seed, replicate=task.replicate, season=season)

    def _first(self, number: int) -> PairTable:
        """The pairs of the spring that is now, under a policy; judged once in each process."""
        if number not in self._firsts:
            policy = self.policies[number]
            study = study_flock(build_flock(policy.change(self.tables)))
            table = _surveyed(study).table()
            self._firsts[number] = _with_rejected(table) if policy.sees_all else table
        return self._firsts[number]

    def _season(
        self, world: World, table: PairTable, done: tuple[Policy, Sequence[PlannedPen]], fate: Fate
    ) -> tuple[World, PairTable, Used]:
        """From the pens of one spring to the graded flock of the next."""
        (policy, pens), flock = done, table.study.flock
        lost = losses(flock, fate.stream(Event.DEATHS))
        families = breed(flock, pens, lost, fate.stream(Event.EGGS))
        brood = brood_of(world, families, fate)
        chicks, birds = with_bands(brood, table, policy.size, fate)
        living = world.only(set(world.bands) - set(lost))
        grown = living.joined([one.band for one in chicks], birds)
        year = Year(
            chicks=chicks,
            lost=lost,
            looks=tuple(looks(chicks, birds, table, fate)),
            scores=scores(grown, flock, self.patterns, fate),
            sexed=world.sexes(),
        )
        study = study_flock(sound(a_year_on(flock, year)))
        spring = policy.keep(_surveyed(with_steps(study, self.ready)), policy.size)
        left = _with_rejected(spring.table) if policy.sees_all else spring.table
        used = Used(chicks=len(brood.birds), eggs=sum(one.eggs for one in families))
        return grown.only(set(grown.bands) - spring.gone), left, used

    def _measured(self, world: World, table: PairTable) -> Measured:
        flock = table.study.flock
        living, newest = flock.by_band(), flock.settings.pen_up - YOUNG
        birds = [living[band] for band in world.bands]
        numbers = {line: at for at, line in enumerate(self.subject.lines)}
        hatched = [bird.hatched for bird in birds]
        return Measured(
            birds=world.birds,
            lines=np.array([numbers[bird.line] for bird in birds], dtype=np.int64),
            young=np.array([day is not None and day > newest for day in hatched], dtype=np.bool_),
        )


def _surveyed(study: Study) -> Survey:
    return survey_pairs(study, open_only=True, allowed_only=True)


def _with_rejected(table: PairTable) -> PairTable:
    """The table with all pairs of its living birds in open rows, those that rules reject too."""
    living = {bird.band for bird in table.study.flock.living}
    return survey_pairs(table.study, open_only=True).among(living)
