"""One replicate played through: plan, breed, band, see, score, grade, and plan again."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.ahead.books import DAY, Chick, Year, a_year_on
from matchmaker.ahead.breeding import breed
from matchmaker.ahead.chicks import hatch
from matchmaker.ahead.first_look import Chances, Hopeful, banded
from matchmaker.ahead.looks import seen_as
from matchmaker.ahead.losses import losses
from matchmaker.ahead.luck import Event, Luck
from matchmaker.ahead.outlook import stacked
from matchmaker.ahead.retaining import retain
from matchmaker.ahead.scoring import scores_of
from matchmaker.ahead.steps import with_steps
from matchmaker.ahead.tallying import Measured, Scale, tally
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.study import study_flock
from matchmaker.pairs.chances import chick_table
from matchmaker.pairs.table import judge_pairs
from matchmaker.plan.pose import pose_problem
from matchmaker.route.played import HATCH
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.ahead.birds import Birds, Nature
    from matchmaker.ahead.breeding import Family, Filled
    from matchmaker.ahead.outlook import Subject, Tally
    from matchmaker.ahead.places import Size
    from matchmaker.ahead.policies import Policy
    from matchmaker.ahead.scoring import Pattern
    from matchmaker.ahead.today import Past
    from matchmaker.pairs.table import PairTable
    from matchmaker.tables.folder import FolderTables

YOUNG_DAYS: Final = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One replicate under one policy, both by number."""

    policy: int
    replicate: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class World:
    """The living birds as they are in truth, by band."""

    bands: tuple[str, ...]
    birds: Birds

    def at(self, bands: Sequence[str]) -> np.ndarray:
        """The numbers of birds."""
        place = {band: at for at, band in enumerate(self.bands)}
        return np.array([place[band] for band in bands], dtype=np.int64)

    def only(self, bands: set[str]) -> World:
        """Those of the birds that are named."""
        at = [number for number, band in enumerate(self.bands) if band in bands]
        kept = tuple(self.bands[number] for number in at)
        return World(bands=kept, birds=self.birds.take(np.array(at, dtype=np.int64)))


@dataclass(frozen=True, kw_only=True)
class Player:
    """Plays replicates; what it carries is sent once to every worker.

    ``tables`` are the books as they are, ``size`` how many birds are kept from spring to spring,
    ``ready`` the share from which lines are crossed with each other.
    """

    tables: FolderTables
    past: Past
    policies: Sequence[Policy]
    subject: Subject
    patterns: Sequence[Pattern]
    size: Size
    seed: int
    ready: float
    _firsts: dict[int, PairTable] = field(default_factory=dict, repr=False)

    def __call__(self, task: Task) -> Tally:
        """The tally of every spring, shape (springs, ...)."""
        policy = self.policies[task.policy]
        table = self._first(task.policy)
        truth = self.past.truth(task.replicate)
        nature = truth.nature
        everyone = World(bands=truth.bands, birds=truth.birds)
        scale = Scale.of(
            self._measured(everyone, _lines_of(self._first(0)), self._first(0)),
            nature,
            self.subject,
            table.study.aims,
            self._first(0).study.flock.settings,
        )
        world = everyone.only({bird.band for bird in table.study.flock.living})
        rows = [tally(self._measured(world, _lines_of(table), table), scale)]
        for season in range(self.subject.seasons):
            luck = Luck(seed=self.seed, replicate=task.replicate, season=season)
            given = policy.first if season == 0 else None
            pens = given or policy.pens(table, pose_problem(table, fresh=True), luck.of(Event.PENS))
            world, table, used = self._season(world, table, pens, (nature, luck))
            rows.append(tally(self._measured(world, _lines_of(table), table), scale, used))
        return stacked(rows)

    def _first(self, number: int) -> PairTable:
        """This spring's pairs under a policy's settings, judged once in each process."""
        if number not in self._firsts:
            self._firsts[number] = judged(self.policies[number].change(self.tables))
        return self._firsts[number]

    def _season(
        self, world: World, table: PairTable, pens: Sequence[Filled], given: tuple[Nature, Luck]
    ) -> tuple[World, PairTable, tuple[float, float]]:
        nature, luck = given
        flock = table.study.flock
        lost = losses(flock, luck.of(Event.DEATHS))
        families = breed(flock, pens, lost, luck.of(Event.EGGS))
        brood = Brood.of(world, families, (nature, luck))
        chicks, birds = brood.banded(table, self.size, (nature, luck))
        living = world.only(set(world.bands) - set(lost))
        grown = World(
            bands=(*living.bands, *(one.band for one in chicks)), birds=living.birds.joined(birds)
        )
        year = Year(
            chicks=chicks,
            lost=lost,
            looks=tuple(_looks(chicks, birds, table, (nature, luck))),
            scores=self._scores(grown, table, (nature, luck)),
            sexed=_sexed(world),
        )
        grown_up = study_flock(build_flock(a_year_on(flock.tables, year)))
        spring = retain(judge_pairs(with_steps(grown_up, self.ready), open_only=True), self.size)
        used = (float(sum(one.raised for one in families)), float(sum(f.eggs for f in families)))
        return grown.only(set(grown.bands) - spring.gone), spring.table, used

    def _measured(self, world: World, lines: Mapping[str, str], table: PairTable) -> Measured:
        flock = table.study.flock
        hatched = {bird.band: bird.hatched for bird in flock.living}
        newest = flock.settings.pen_up - dt.timedelta(days=YOUNG_DAYS)
        days = [hatched[band] for band in world.bands]
        return Measured(
            birds=world.birds,
            lines=np.array([self.subject.lines.index(lines[band]) for band in world.bands]),
            young=np.array([day is not None and day > newest for day in days], dtype=np.bool_),
        )

    def _scores(
        self, world: World, table: PairTable, given: tuple[Nature, Luck]
    ) -> Mapping[str, Mapping[str, float]]:
        """What is scored between two springs: the traits whose age a bird reaches in that time."""
        nature, luck = given
        pen_up = table.study.flock.settings.pen_up
        known = {bird.band: bird.hatched for bird in table.study.flock.living}
        hatched = [known.get(band, pen_up + HATCH) for band in world.bands]
        ages = np.array([-1 if day is None else (pen_up - day).days for day in hatched])
        found = scores_of(
            world.birds,
            nature,
            self.patterns,
            luck.of(Event.SCORES),
            groups=np.maximum(ages, -365) // 365 + 1,
        )
        scored: dict[str, dict[str, float]] = {}
        for at, one in enumerate(self.patterns):
            age = one.age_days or 0
            due = (ages < age) & (ages + 365 >= age) & ~np.isnan(found[:, at])
            for number in np.flatnonzero(due):
                scored.setdefault(world.bands[number], {})[one.trait] = float(found[number, at])
        return scored


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Brood:
    """All chicks raised in a season, with the family of each by number."""

    families: Sequence[Family]
    birds: Birds
    of_family: np.ndarray

    @classmethod
    def of(cls, world: World, families: Sequence[Family], given: tuple[Nature, Luck]) -> Brood:
        """The chicks of the families; what cannot live is not raised."""
        nature, luck = given
        numbers = np.repeat(np.arange(len(families)), [one.raised for one in families])
        sires = world.at([families[at].pair.cock for at in numbers])
        dams = world.at([families[at].pair.hen for at in numbers])
        birds = hatch(world.birds, nature, sires, dams, luck.of(Event.GENES))
        alive = nature.can_live(birds)
        return cls(families=families, birds=birds.take(alive), of_family=numbers[alive])

    def banded(
        self, table: PairTable, size: Size, given: tuple[Nature, Luck]
    ) -> tuple[tuple[Chick, ...], Birds]:
        """The chicks that get a band, with what the keeper knows of them."""
        nature, luck = given
        hens = sorted({one.pair.hen for one in self.families})
        cocks = sorted({one.pair.cock for one in self.families})
        chances = Chances(chick_table(table.study, hens, cocks))
        rows = {one.name: one for one in table.crossings}
        rows |= {p.crossing.name: p.crossing for p in table.pairs if p.crossing is not None}
        copies = nature.copies(self.birds)
        hopefuls = []
        for at, number in enumerate(self.of_family):
            pair = self.families[number].pair
            sex = _sex(self.birds, at)
            own = dict(zip(nature.loci, copies[at].tolist(), strict=True))
            chance = chances.of(rows[pair.row], (pair.hen, pair.cock), sex, own)
            hopefuls.append(
                Hopeful(at=at, place=(pair.line, sex), family=int(number), chance=chance)
            )
        kept = banded(hopefuls, size.places(_old(table)), luck.of(Event.CHOICE))
        season = table.study.flock.settings.season
        chicks = tuple(
            Chick(
                band=f"{hopefuls[at].place[0]}-{season}-{number:03}",
                sex=_sex(self.birds, at),
                line=hopefuls[at].place[0],
                cock=self.families[hopefuls[at].family].pair.cock,
                mates=self.families[hopefuls[at].family].mates,
            )
            for number, at in enumerate(kept, start=1)
        )
        return chicks, self.birds.take(np.array(kept, dtype=np.int64))


def judged(tables: FolderTables) -> PairTable:
    """The flock of some books, its pairs judged."""
    return judge_pairs(study_flock(build_flock(tables)), open_only=True)


def _old(table: PairTable) -> dict[tuple[str, Sex], int]:
    """Birds by line and sex that breed this spring."""
    found: dict[tuple[str, Sex], int] = {}
    for bird in table.study.flock.living:
        if bird.sex is not None:
            found[bird.line, bird.sex] = found.get((bird.line, bird.sex), 0) + 1
    return found


def _lines_of(table: PairTable) -> Mapping[str, str]:
    return {bird.band: bird.line for bird in table.study.flock.living}


def _sex(birds: Birds, at: int) -> Sex:
    return Sex.HEN if birds.hens[at] else Sex.COCK


def _sexed(world: World) -> Mapping[str, Sex]:
    return {band: _sex(world.birds, at) for at, band in enumerate(world.bands)}


def _looks(
    chicks: Sequence[Chick], birds: Birds, table: PairTable, given: tuple[Nature, Luck]
) -> list[tuple[str, str, str]]:
    """What chicks show by next spring, by band and locus, in words."""
    nature, luck = given
    rng = luck.of(Event.LOOKS)
    settings = table.study.flock.settings
    age = (settings.pen_up + dt.timedelta(days=365) - DAY - settings.pen_up - HATCH).days
    copies = nature.copies(birds)
    found = []
    for at, one in enumerate(chicks):
        for place, symbol in enumerate(nature.loci):
            locus = table.study.loci[symbol]
            if locus.shows_at_days > age:
                continue
            words = seen_as(
                locus, birds.alleles[at, :, place], int(copies[at, place]), one.sex, rng
            )
            if words is not None:
                found.append((one.band, symbol, words))
    return found
