"""The coming seasons of a flock: prepared, played through many times, and put together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.ahead.assumed import assumptions, doubts_of_the_past
from matchmaker.ahead.fan_out import fan_out
from matchmaker.ahead.outlook import Ahead, Outlook, Subject, stacked
from matchmaker.ahead.places import size_of
from matchmaker.ahead.playing import Player, Task
from matchmaker.ahead.policies import PLAN, policies
from matchmaker.ahead.scoring import patterns
from matchmaker.ahead.steps import READY
from matchmaker.ahead.today import prepare_past
from matchmaker.plan.season.season_plan import plan_season

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from concurrent.futures import Executor

    from matchmaker.ahead.policies import Policy
    from matchmaker.pairs.table import PairTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Horizon:
    """How far and how often to look ahead.

    ``seed`` is the number from which all chance comes, ``ready`` the recurrent share from which a
    line's carriers are crossed with each other.
    """

    seasons: int = 6
    replicates: int = 200
    seed: int = 1
    ready: float = READY


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """Who does the work, and who is told of it; as in ``fan_out``."""

    workers: int | None = None
    executor: Executor | None = None
    told: Callable[[int, int], None] | None = None


def look_ahead(
    table: PairTable,
    horizon: Horizon | None = None,
    *,
    compare: Sequence[str] = (),
    hands: Hands | None = None,
) -> Ahead:
    """Play the coming seasons of a flock through, under its plan and under other policies.

    ``compare`` names policies (``policies.NAMES``) to set beside the plan, each replicate from the
    same birds as they may truly be; one that the flock cannot have (a line fewer of a single one)
    is left out.

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules and wishes.
    SolverStoppedError
        If time ran out before any plan was found.
    WorkersLostError
        If worker processes end again and again without an answer.
    """
    horizon, hands = horizon or Horizon(), hands or Hands()
    pens = plan_season(table).solution.pens
    size = size_of(table, pens)
    names = tuple(dict.fromkeys((PLAN, *compare)))
    player = player_of(table, horizon, tuple(policies(names, table, size, pens)))
    chosen = player.policies
    tasks = [
        Task(policy=at, replicate=replicate)
        for replicate in range(horizon.replicates)
        for at in range(len(chosen))
    ]
    tallies = fan_out(
        player, tasks, executor=hands.executor, workers=hands.workers, told=hands.told
    )
    return Ahead(
        seed=horizon.seed,
        subject=player.subject,
        outlooks=tuple(
            Outlook(
                policy=policy.name,
                sentence=policy.sentence,
                subject=player.subject,
                tally=stacked(tallies[at :: len(chosen)]),
            )
            for at, policy in enumerate(chosen)
        ),
        defaults=(
            *assumptions(table.study.flock.settings, size, horizon.ready),
            *doubts_of_the_past(player.past),
        ),
    )


def player_of(table: PairTable, horizon: Horizon, chosen: Sequence[Policy]) -> Player:
    """Who plays the seasons of a flock, under the first policy from its books as they are."""
    study = table.study
    return Player(
        tables=study.flock.tables,
        past=prepare_past(study, horizon.replicates, horizon.seed),
        policies=chosen,
        subject=subject_of(table, horizon.seasons),
        patterns=patterns(study),
        seed=horizon.seed,
        ready=horizon.ready,
    )


def subject_of(table: PairTable, seasons: int) -> Subject:
    """What is simulated: the springs from this one on, the living lines, target and traits."""
    study, settings = table.study, table.study.flock.settings
    lines = tuple(sorted({bird.line for bird in study.flock.living} | set(table.needs)))
    return Subject(
        springs=tuple(range(settings.season, settings.season + seasons + 1)),
        lines=lines,
        working=tuple(line not in table.steps.hold for line in lines),
        importance=tuple(settings.line(line).importance for line in lines),
        target=settings.target,
        traits=tuple(aim.trait for aim in study.aims),
        units=tuple(aim.unit for aim in study.aims),
    )
