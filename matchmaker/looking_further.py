"""Of this spring's best plan and others as good, or less related, the one that leads furthest."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from matchmaker.ahead.choosing import BEST, Lead, chosen_plan, leads, most_ahead
from matchmaker.ahead.fan_out import fanning
from matchmaker.ahead.outlook import Outlook, stacked
from matchmaker.ahead.places import size_of
from matchmaker.ahead.playing import Task
from matchmaker.ahead.policies import Policy
from matchmaker.ahead.racing import Race, RaceRules, RaceStoppedError, race_together
from matchmaker.looking import Hands, Horizon, player_of
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.nearly_best.alternatives import alternatives, moved_hens
from matchmaker.plan.posing.pedigree_terms import kinship_terms
from matchmaker.plan.searching.less_related import less_related
from matchmaker.plan.season.season_plan import SeasonPlan, season_plan_of
from matchmaker.plan.solvers.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.ahead.fan_out import Fan
    from matchmaker.ahead.outlook import Tally
    from matchmaker.ahead.playing import Player
    from matchmaker.plan.arithmetic.result import PlannedPen

ALTERNATIVES: Final = 3
"""Plans nearly as good as the best, and as different as can be, that are looked at."""

ROUND: Final = 20
"""Replicates of every plan in a round."""

INDIFFERENT: Final = 0.01
"""How much further a plan must lead to be worth a change: a hundredth of a bird in the goal."""


class Kind(StrEnum):
    """Why a plan is looked at."""

    BEST = "best"
    NEAR = "near-equal"
    LESS_RELATED = "less-related"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contender:
    """A plan that is looked at, numbered from 1: the best of this spring.

    ``given_up`` is how much less it is worth this spring than the best, in wanted chicks (below 0
    where that is the best under a price of kinship); ``moved`` how many hens have another place.
    """

    number: int
    kind: Kind
    plan: SeasonPlan
    given_up: float
    moved: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Raced:
    """How the race of the plans went; all are by plan, from the best one.

    ``leads`` tell how far each is ahead of the best plan, ``most_ahead`` how far any can be, and
    ``outlooks`` what each led to in the replicates that it was played through.
    """

    race: Race
    leads: tuple[Lead, ...]
    outlooks: tuple[Outlook, ...]
    most_ahead: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ByOutcome:
    """The plan chosen by what it leads to, and the evidence.

    ``raced`` is ``None`` where there was no other plan, or the race was stopped in its first round:
    the best plan is then the one chosen.
    """

    horizon: Horizon
    rules: RaceRules
    contenders: tuple[Contender, ...]
    raced: Raced | None
    at: int

    @property
    def chosen(self) -> Contender:
        """The plan to take."""
        return self.contenders[self.at]

    @property
    def springs(self) -> tuple[int, int]:
        """The spring that is now and the one whose birds are compared."""
        season = self.contenders[BEST].plan.table.study.flock.settings.season
        return season, season + self.horizon.seasons


def plan_by_outcome(
    best: SeasonPlan,
    horizon: Horizon | None = None,
    *,
    fresh: bool = False,
    hands: Hands | None = None,
    watch: Watch | None = None,
) -> ByOutcome:
    """Of the best plan and others near it, the one whose birds count most after some seasons.

    Looked at are the best plan, up to three within 1 % of it that differ most, and up to three with
    less kinship of the parents for at most 0.5, 2 and 5 % of its value. They race: all are played
    through on the same luck, later springs planned as ever, and those surely behind are played no
    further. The best plan stays unless another is surely ahead (``chosen_plan``).

    Parameters
    ----------
    best
        The best plan of this spring.
    horizon
        How far to look ahead, and how often at most each plan is played through.
    fresh
        Whether the best plan was made without a look at the standing one.
    hands
        Who does the work; ``told`` hears how many parts are done, of how many at most.
    watch
        May stop the work; the race is then judged by the rounds that were ended.

    Raises
    ------
    WorkersLostError
        If worker processes end again and again without an answer.
    """
    horizon, hands, watch = horizon or Horizon(), hands or Hands(), watch or Watch()
    contenders = contenders_of(best, fresh=fresh, watch=watch)
    rules = rules_for(horizon.replicates)
    raced = _raced(contenders, horizon, rules, (hands, watch)) if len(contenders) > 1 else None
    return ByOutcome(
        horizon=horizon,
        rules=rules,
        contenders=contenders,
        raced=raced,
        at=BEST if raced is None else chosen_plan(raced.race, raced.leads, rules.indifferent),
    )


def rules_for(most: int) -> RaceRules:
    """How plans race that are played through so often at most.

    Examples
    --------
    >>> rules_for(200).rounds()[0], rules_for(5).rounds()
    (range(0, 20), (range(0, 5),))
    """
    return RaceRules(first=min(ROUND, most), step=ROUND, most=most, indifferent=INDIFFERENT)


def contenders_of(
    best: SeasonPlan, *, fresh: bool = False, watch: Watch | None = None
) -> tuple[Contender, ...]:
    """The plans to look at, the best first; none that equals an earlier one."""
    found = [Contender(number=1, kind=Kind.BEST, plan=best, given_up=0.0, moved=0)]
    for kind, pens in _others(best, watch):
        if all(moved_hens(one.plan.solution.pens, pens) for one in found):
            plan = _plan_of(best, pens, fresh=fresh)
            found.append(
                Contender(
                    number=len(found) + 1,
                    kind=kind,
                    plan=plan,
                    given_up=best.solution.value - plan.solution.value,
                    moved=len(moved_hens(best.solution.pens, pens)),
                )
            )
    return tuple(found)


def _others(best: SeasonPlan, watch: Watch | None) -> Iterator[tuple[Kind, tuple[PlannedPen, ...]]]:
    problem, solution = best.problem, best.solution
    for one in alternatives(problem, solution, ALTERNATIVES):
        yield Kind.NEAR, one.pens
    birds = sorted({bird for one in problem.candidates for bird in (one.hen, one.cock)})
    terms = problem.group or kinship_terms(best.table.study, birds)
    for pens in less_related(problem, solution, terms, watch=watch):
        yield Kind.LESS_RELATED, pens


def _plan_of(best: SeasonPlan, pens: tuple[PlannedPen, ...], *, fresh: bool) -> SeasonPlan:
    score = evaluate(best.problem, pens)
    solution = replace(best.solution, pens=pens, lines=score.lines, value=score.value)
    return season_plan_of(best.table, best.problem, solution, fresh=fresh)


def _raced(
    contenders: Sequence[Contender], horizon: Horizon, rules: RaceRules, by: tuple[Hands, Watch]
) -> Raced | None:
    """The race; ``None`` if it was stopped in its first round."""
    hands, watch = by
    best = contenders[BEST].plan
    size = size_of(best.table, best.solution.pens)
    policies = [
        Policy(
            name=f"plan {one.number}",
            sentence="this spring this plan, later springs the best plan",
            size=size,
            first=one.plan.solution.pens,
        )
        for one in contenders
    ]
    player = player_of(best.table, horizon, policies)
    with fanning(player, executor=hands.executor, workers=hands.workers) as fan:
        played = _Played(fan=fan, most=rules.most, hands=hands, watch=watch)
        try:
            race = race_together(played.outcomes, len(contenders), rules)
        except RaceStoppedError:
            return None
    tallies = [stacked(played.tallies[one.plan]) for one in race.standings]
    found = leads([tally.goal[:, -1] for tally in tallies], rules)
    return Raced(
        race=race,
        leads=found,
        outlooks=tuple(_outlooks(player, tallies)),
        most_ahead=most_ahead(race, found),
    )


def _outlooks(player: Player, tallies: Sequence[Tally]) -> Iterator[Outlook]:
    for policy, tally in zip(player.policies, tallies, strict=True):
        yield Outlook(
            policy=policy.name, sentence=policy.sentence, subject=player.subject, tally=tally
        )


@dataclass(slots=True, kw_only=True)
class _Played:
    """The replicates played so far, by plan; what a race asks for its outcomes."""

    fan: Fan[Task, Tally]
    most: int
    hands: Hands
    watch: Watch
    done: int = 0
    tallies: dict[int, list[Tally]] = field(default_factory=dict)

    def outcomes(self, racing: Sequence[int], replicates: range) -> list[list[float]]:
        """What the birds of the last spring count for, in each replicate, of each plan."""
        at_most = self.done + len(racing) * (self.most - replicates.start)
        tasks = [
            Task(policy=plan, replicate=replicate) for replicate in replicates for plan in racing
        ]
        found = self.fan(tasks, lambda done, _parts: self._tell(self.done + done, at_most))
        self.done += len(tasks)
        own = [found[at :: len(racing)] for at in range(len(racing))]
        for plan, tallies in zip(racing, own, strict=True):
            self.tallies.setdefault(plan, []).extend(tallies)
        return [[float(tally.goal[-1]) for tally in tallies] for tallies in own]

    def _tell(self, done: int, at_most: int) -> None:
        if self.watch.over:
            raise RaceStoppedError
        if self.hands.told is not None:
            self.hands.told(done, at_most)
