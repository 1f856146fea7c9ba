"""Small flocks on the morning of a loss, drawn at random: all birds and figures are invented."""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import Candidate, CockLimit, LineGoal, PenKind, PlanProblem
from matchmaker.rebalance.clock import Waits
from matchmaker.rebalance.diary import Diary, Stay
from matchmaker.rebalance.standing import Standing, lose

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

UP = dt.date(2027, 2, 1)
"""When the pens of a small flock were made up."""

WHOLE = 60
"""Days for which the figures of a small season's pairs stand."""


@dataclass(frozen=True, kw_only=True)
class SmallSeason:
    """A problem as a season: figures of pairs are for 60 days, and in proportion to their days.

    ``rejected`` are pairs that may not be begun, and stand for nothing where they stand already.
    """

    problem: PlanProblem
    first: dt.date
    last: dt.date
    until: Mapping[str, dt.date]
    rejected: tuple[Candidate, ...] = ()

    def pens(self, day: dt.date) -> Mapping[str, tuple[PenKind, dt.date]]:
        return {
            pen: (replace(kind, pens=(pen,), turn=pen), self.until[pen])
            for kind in self.problem.kinds
            for pen in kind.pens
            if day <= self.until[pen]
        }

    @cached_property
    def pairs(self) -> dict[tuple[str, str], Sequence[Candidate]]:
        return _by_birds(self.problem.candidates)

    def of_birds(self, hen: str, cock: str) -> Sequence[Candidate]:
        both = self.pairs | _by_birds(self.rejected)
        return both.get((hen, cock), ())

    def part(
        self,
        pair: Candidate,
        amount: float,
        *,
        counted: float = 0.0,
        pen: str = "",
        kept: bool = False,
    ) -> Candidate:
        assert counted >= 0
        part = round(amount, 9) / WHOLE
        whole = self._wholes.get((pair.hen, pair.cock, pair.row), pair)
        return replace(
            pair,
            value=round(whole.value * part, 3),
            wanted=whole.wanted * part,
            test_chicks=whole.test_chicks * part,
            turn=pen,
            kept=kept,
        )

    @cached_property
    def _wholes(self) -> dict[tuple[str, str, str], Candidate]:
        return {(one.hen, one.cock, one.row): one for one in self.problem.candidates}

    def limit(self, cock: str) -> CockLimit:
        return next(one for one in self.problem.cocks if one.cock == cock)


def _by_birds(pairs: Sequence[Candidate]) -> dict[tuple[str, str], Sequence[Candidate]]:
    birds = dict.fromkeys((one.hen, one.cock) for one in pairs)
    return {two: [one for one in pairs if (one.hen, one.cock) == two] for two in birds}


@dataclass(frozen=True, kw_only=True)
class SmallFlock:
    """Pens as they stand before a loss, who is lost and which pens are closed."""

    season: SmallSeason
    before: Standing
    lost: Mapping[str, dt.date]
    closed: frozenset[str] = frozenset()

    @cached_property
    def after(self) -> Standing:
        """The same morning after the loss."""
        return lose(self.before, self.lost, self.closed)


class FlockMaker:
    """Invents a small flock on the morning of a loss; ``quiet`` ones have no earlier moves."""

    def __init__(self, seed: int, *, quiet: bool) -> None:
        self.rng = random.Random(f"response {seed}")  # noqa: S311
        self.quiet = quiet
        rng = self.rng
        self.pens = [f"P{place}" for place in range(1, rng.randint(2, 4) + 1)]
        self.cocks = [f"C{place}" for place in range(1, rng.randint(3, 5) + 1)]
        most = {2: 6, 3: 5, 4: 4}[len(self.pens)]
        self.hens = [f"H{place}" for place in range(1, rng.randint(3, most) + 1)]
        self.lines = ("Alder", "Birch")[: rng.randint(1, 2)]
        self.rows = [("back", self.lines[0]), ("cross", self.lines[-1])]
        self.day = UP + dt.timedelta(days=rng.randint(8, 40))
        self.last = self.day + dt.timedelta(days=rng.randint(15, 60))
        self.told = frozenset(pen for pen in self.pens if rng.random() < 0.5)
        self.row_of = {pen: rng.choice(self.rows) for pen in self.pens}
        self.pairs = list(self._pairs())
        self.stays: list[Stay] = []

    def make(self) -> SmallFlock:
        """Return the pens as they stand, and who is lost."""
        rng, day = self.rng, self.day
        season = SmallSeason(
            problem=self._problem(),
            first=UP + dt.timedelta(days=7),
            last=self.last,
            until={p: self.last - dt.timedelta(days=rng.choice((0, 0, 0, 6))) for p in self.pens},
            rejected=tuple(self._rejected()),
        )
        self._settle(season.problem)
        if not self.quiet:
            self._remember()
        cocks = frozenset(self.cocks)
        waits = Waits(
            clean_out=rng.choice((14, 21, 21, 28)), eggs_after=rng.choice((7, 10, 14, 14))
        )
        standing = Standing(
            day=day,
            diary=Diary(stays=tuple(self.stays), cocks=cocks, told_apart=self.told, waits=waits),
            pen_of={stay.bird: stay.pen for stay in self.stays if stay.last is None},
        )
        stand = sorted(standing.pen_of.keys() & cocks)
        gone = rng.sample(stand, min(len(stand), rng.choice((1, 1, 1, 2))))
        gone += rng.sample(self.hens, rng.choice((0, 0, 0, 1)))
        ago = dt.timedelta(days=0 if self.quiet else rng.choice((0, 0, 1, 3, 6)))
        came: dict[str, dt.date] = {}
        for stay in self.stays:
            came[stay.bird] = max(came.get(stay.bird, UP), stay.first or UP)
        return SmallFlock(
            season=season,
            before=standing,
            lost={bird: max(day - ago, came.get(bird, UP)) for bird in gone},
            closed=frozenset(rng.sample(self.pens, rng.choice((0, 0, 0, 1)))),
        )

    def _pairs(self) -> Iterator[Candidate]:
        for hen, cock in product(self.hens, self.cocks):
            rows = self.rng.sample(self.rows, self.rng.choice((1, 1, 2)))
            for row, line in rows if self.rng.random() < 0.8 else ():
                value = round(self.rng.uniform(0.3, 6.0), 3)
                yield pair_of(hen, cock, row, line, value)

    def _rejected(self) -> Iterator[Candidate]:
        known = {(one.hen, one.cock) for one in self.pairs}
        for hen, cock in product(self.hens, self.cocks):
            if (hen, cock) not in known:
                yield pair_of(hen, cock, *self.rows[0], 0.0)

    def _problem(self) -> PlanProblem:
        rng = self.rng
        kinds = tuple(
            PenKind(
                pens=(pen,),
                hens_max=rng.randint(1, 3),
                hens_min=rng.choice((0, 0, 0, 1)),
                line=rng.choice(("", "", "", self.lines[0])),
                dam_known=pen in self.told,
            )
            for pen in self.pens
        )
        limits = tuple(
            CockLimit(cock=cock, hens_max=rng.randint(2, 4), pens_max=rng.choice((1, 1, 1, 2)))
            for cock in self.cocks
        )
        goals = tuple(
            LineGoal(
                line=line,
                importance=rng.choice((0.5, 1.0, 2.0)),
                chicks_wanted=rng.choice((1.5, 4.0, 9.0)),
                hens_min=rng.choice((0, 0, 0, 0, 1)),
                wanted_min=rng.choice((0.0, 0.0, 0.0, 1.0)),
            )
            for line in self.lines
        )
        return PlanProblem(candidates=tuple(self.pairs), kinds=kinds, cocks=limits, lines=goals)

    def _settle(self, problem: PlanProblem) -> None:
        """Put cocks and hens into pens so that what stands keeps the rules."""
        rng = self.rng
        cocks, hens = (rng.sample(birds, len(birds)) for birds in (self.cocks, self.hens))
        cock, room = "", 0
        for kind in problem.kinds:
            if len(cocks) < 2 or rng.random() < 0.15:
                continue
            limit = next((one for one in problem.cocks if one.cock == cock), None)
            if room < 1 or limit is None or limit.pens_max < 2 or rng.random() < 0.5:
                cock = cocks.pop()
                room = next(one.hens_max for one in problem.cocks if one.cock == cock)
            first = rng.choice((None, UP, UP, UP + dt.timedelta(days=4)))
            own = [hen for hen in hens if self._may_stand(hen, cock, kind)]
            own = own[: rng.randint(1, min(kind.hens_max, room))]
            if kind.dam_known:
                strays = [hen for hen in hens if hen not in own]
                own += strays[: len(own) < kind.hens_max and rng.random() < 0.2]
            hens = [hen for hen in hens if hen not in own]
            room -= len(own)
            (pen,) = kind.pens
            self.stays.append(Stay(bird=cock, pen=pen, first=first))
            self.stays += [Stay(bird=hen, pen=pen, first=first) for hen in own]

    def _may_stand(self, hen: str, cock: str, kind: PenKind) -> bool:
        """Whether the pair has the row of a pen whose eggs are not told apart, or any."""
        rows = {(one.row, one.line) for one in self.pairs if (one.hen, one.cock) == (hen, cock)}
        if kind.line:
            rows = {one for one in rows if one[1] == kind.line}
        return bool(rows) if kind.dam_known else self.row_of[kind.pens[0]] in rows

    def _remember(self) -> None:
        """Let some birds have been elsewhere before, or stand in no pen any more."""
        rng = self.rng
        earlier: list[Stay] = []
        for place, stay in enumerate(self.stays):
            when = self.day - dt.timedelta(days=rng.randint(2, min(25, (self.day - UP).days - 5)))
            pen = rng.choice(self.pens)
            if pen == stay.pen or rng.random() < 0.4:
                continue
            if stay.bird in self.cocks:
                seen = {one.bird for one in (*self.stays, *earlier)}
                others = [cock for cock in self.cocks if cock not in seen]
                if others:
                    former = rng.choice(others)
                    earlier.append(Stay(bird=former, pen=stay.pen, first=UP, last=when))
                    self.stays[place] = replace(stay, first=when + dt.timedelta(days=1))
            elif rng.random() < 0.3:
                self.stays[place] = replace(stay, first=stay.first, last=when)
            else:
                earlier.append(Stay(bird=stay.bird, pen=pen, first=stay.first, last=when))
                self.stays[place] = replace(stay, first=when + dt.timedelta(days=1))
        self.stays += earlier


def pair_of(hen: str, cock: str, row: str, line: str, value: float) -> Candidate:
    """A pair whose value is also the number of its wanted chicks, in 60 days."""
    return Candidate(hen=hen, cock=cock, row=row, line=line, value=value, wanted=value)
