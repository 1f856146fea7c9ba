"""What pairs give for so many days: the season's own figures, cut to what is left of it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Protocol

from matchmaker.pairs.rules import Rule
from matchmaker.pairs.table import judge_pairs
from matchmaker.pairs.value import DAYS_TO_FERTILE, credited_days
from matchmaker.plan.posing.pose import cock_limit, pose_problem, rows_for
from matchmaker.plan.posing.problem import PenKind
from matchmaker.plan.posing.terms import season_terms
from matchmaker.plan.posing.turns import Turn

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import Candidate, CockLimit, PlanProblem
    from matchmaker.plan.posing.terms import SeasonTerms

Birds = tuple[str, str]
"""A hen and a cock."""


class Season(Protocol):
    """What a response is posed from; days are those on which eggs are kept, as fertile as usual."""

    @property
    def problem(self) -> PlanProblem:
        """The season's problem: its lines, limits, tests, wishes."""

    def pens(self, day: dt.date) -> Mapping[str, tuple[PenKind, dt.date]]:
        """The pens that can be used on a day, each a kind and a turn of its own, and until when."""

    @property
    def first(self) -> dt.date:
        """The first day on which eggs are kept."""

    @property
    def last(self) -> dt.date:
        """The last day on which eggs are kept."""

    @property
    def pairs(self) -> Mapping[Birds, Sequence[Candidate]]:
        """The pairs that may be chosen, one for each row open to them, for the whole season."""

    def of_birds(self, hen: str, cock: str) -> Sequence[Candidate]:
        """The pairs of two birds that stand together, a rule broken or not; none of no line."""

    def part(
        self,
        pair: Candidate,
        amount: float,
        *,
        counted: float = 0.0,
        pen: str = "",
        kept: bool = False,
    ) -> Candidate:
        """What a pair gives on so many days, its hen having ``counted`` wanted chicks already.

        ``pen`` is the turn in which it is counted, ``kept`` whether it stands already.
        """

    def limit(self, cock: str) -> CockLimit:
        """How many hens and pens a cock may have."""


@dataclass(frozen=True, kw_only=True)
class FlockSeason:
    """The season of a flock, its birds judged as they are on a day."""

    table: PairTable
    gone: frozenset[str] = frozenset()
    """Birds whose absence alone is no reason here to reject a pair: their eggs are still about."""

    @cached_property
    def terms(self) -> SeasonTerms:
        """The terms of the season."""
        return season_terms(self.table)

    @cached_property
    def problem(self) -> PlanProblem:
        """The season's problem, without a standing plan and without the kinship of the group."""
        return replace(pose_problem(self.table, fresh=True), group=None)

    @cached_property
    def first(self) -> dt.date:
        """The first day on which eggs are kept."""
        settings = self.flock.tables.settings
        assert settings is not None  # noqa: S101  a table of pairs has settings
        return settings.collect_from

    @cached_property
    def last(self) -> dt.date:
        """The last day on which eggs are kept."""
        settings = self.flock.tables.settings
        assert settings is not None  # noqa: S101  as above
        return settings.collect_until

    def pens(self, day: dt.date) -> Mapping[str, tuple[PenKind, dt.date]]:
        """The pens that can be used on a day, each a kind and a turn of its own, and until when."""
        return {
            pen.pen: (
                PenKind(
                    pens=(pen.pen,),
                    hens_max=pen.hens_max,
                    hens_min=pen.hens_min,
                    line=pen.line,
                    rows=rows_for(self.table, pen.use),
                    dam_known=pen.dam_known,
                    turn=pen.pen,
                ),
                min(pen.last_day or self.last, self.last),
            )
            for pen in self.flock.tables.pens
            if pen.open
            and (pen.first_day is None or pen.first_day <= day)
            and (pen.last_day is None or day <= pen.last_day)
        }

    @property
    def flock(self) -> Flock:
        """The flock."""
        return self.table.study.flock

    @cached_property
    def _whole(self) -> int:
        return max(credited_days(self.flock.settings), 1)

    @cached_property
    def _pair_of(self) -> dict[tuple[str, str, str], Pair]:
        return {pair.key: pair for pair in self.table.pairs}

    @cached_property
    def pairs(self) -> Mapping[Birds, Sequence[Candidate]]:
        """The pairs that may be chosen, one for each row open to them, for the whole season."""
        found: dict[Birds, list[Candidate]] = {}
        for pair in self.table.pairs:
            if self._may_pair(pair):
                one = self._candidate(pair, self._whole)
                found.setdefault((pair.hen, pair.cock), []).append(one)
        return found

    def _may_pair(self, pair: Pair) -> bool:
        """Whether nothing but a bird's being gone rejects a pair."""
        if pair.allowed:
            return True
        return pair.crossing is not None and all(
            one.rule is Rule.NOT_AVAILABLE and one.facts.get("bird") in self.gone
            for one in pair.broken
        )

    def of_birds(self, hen: str, cock: str) -> Sequence[Candidate]:
        """The pairs of two birds that stand together; a rejected one is tolerated, for nothing."""
        if (hen, cock) in self.pairs:
            return self.pairs[hen, cock]
        entries = self.table.by_birds.get((hen, cock), ())
        lines = [goal.line for goal in self.problem.lines]
        if not entries or not lines:
            return ()
        pair = entries[0]
        line = pair.line or self.flock.by_band()[hen].line
        nothing = self._candidate(pair, 0.0)
        return (replace(nothing, line=line if line in lines else lines[0], tested=""),)

    def part(
        self,
        pair: Candidate,
        amount: float,
        *,
        counted: float = 0.0,
        pen: str = "",
        kept: bool = False,
    ) -> Candidate:
        """What a pair gives on so many days, its hen having ``counted`` wanted chicks already.

        ``pen`` is the turn in which it is counted, ``kept`` whether it stands already.
        """
        full = self._pair_of.get((pair.hen, pair.cock, pair.row))
        if full is None or pair.value == pair.wanted == pair.test_chicks == 0.0:
            return replace(pair, turn=pen, kept=kept)
        key = (pair.hen, pair.cock, pair.row, amount, counted, pen, kept)
        if key not in self._parts:
            self._parts[key] = self._candidate(full, amount, counted=counted, pen=pen, kept=kept)
        return self._parts[key]

    @cached_property
    def _parts(self) -> dict[tuple[object, ...], Candidate]:
        """What was asked before: for one loss after another the same is asked again and again."""
        return {}

    def _candidate(
        self, pair: Pair, amount: float, *, counted: float = 0.0, pen: str = "", kept: bool = False
    ) -> Candidate:
        turn = Turn(
            label=pen,
            first=self.first,
            last=self.last,
            eggs_from=self.first,
            days=round(amount),
            part=amount / self._whole,
        )
        return self.terms.candidate(pair, turn, kept=kept, counted=counted)

    def limit(self, cock: str) -> CockLimit:
        """How many hens and pens a cock may have."""
        return cock_limit(self.flock.by_band()[cock], self.flock.settings)


def judged_on(study: Study, day: dt.date) -> PairTable:
    """All pairs with the birds as they are on a day: ages, quarantines; as many days for eggs.

    The season is shifted as a whole, so that a pair raises as many chicks as before.
    """
    flock = study.flock
    whole = credited_days(flock.settings)
    first = day + dt.timedelta(days=DAYS_TO_FERTILE)
    shifted = {
        "pen_up": day,
        "collect_from": first,
        "collect_until": first + dt.timedelta(days=whole - 1),
    }
    year = flock.settings.year.model_copy(update=shifted)
    settings = flock.settings.model_copy(update={"year": year})
    return judge_pairs(replace(study, flock=replace(flock, settings=settings)))
