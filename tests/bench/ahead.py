"""Measure the coming seasons: ``python -m tests.bench ahead``.

The peer is the same seasons without what makes them quick: every spring all pairs of the flock are
written down, and the plan is proved best. It is played for a few replicates, and what all would
take is reckoned from them.
"""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.ahead.fan_out import fanning
from matchmaker.ahead.one_thread import one_thread_here
from matchmaker.ahead.places import size_of
from matchmaker.ahead.playing import Player, Task
from matchmaker.ahead.policies import PLAN, policies
from matchmaker.checking import tables_of
from matchmaker.errors import NoPlanError
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.study import study_flock
from matchmaker.looking import Horizon, player_of
from matchmaker.pairs.table import judge_pairs
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.season.season_plan import plan_season
from tests.bench.folder_flocks import EXAMPLES
from tests.bench.measuring import timed
from tests.bench.rows import OF_PROCESSOR, Row, Size
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    import numpy as np

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem

PEER: Final = "all pairs judged, plans proved"


def rows(chosen: Namespace) -> Iterator[Row]:
    """Seconds in all with so many workers, then those of a processor that one replicate takes."""
    one_thread_here()
    horizon = Horizon(seasons=chosen.seasons, replicates=chosen.replicates)
    before, player = timed(lambda: _player(EXAMPLES / chosen.folder, horizon))
    peer = _by_proof(player)
    reckoned = chosen.peer_replicates
    ours = before + _in_all(player, chosen.replicates, chosen)
    theirs = [before + _in_all(peer, reckoned, chosen)] if reckoned else []
    yield Row(
        task=f"{chosen.replicates} replicates of {chosen.seasons} seasons",
        size=Size(chosen.folder),
        ours=(ours,),
        peer=PEER if reckoned else "",
        theirs=tuple(theirs),
        note=f"{chosen.workers} workers; the peer's reckoned from {reckoned} replicates",
    )
    yield Row(
        task="one season of one replicate",
        size=Size(chosen.folder),
        unit=OF_PROCESSOR,
        ours=(_of_processor(player) / chosen.seasons,),
        peer=PEER if reckoned else "",
        theirs=(_of_processor(peer) / chosen.seasons,) if reckoned else (),
    )


def _in_all(player: Player, replicates: int, chosen: Namespace) -> float:
    """Seconds of all replicates, reckoned from those that are played."""
    start, seconds = _played(player, replicates, chosen.workers)
    scale: float = chosen.replicates / replicates
    return start + seconds * scale


def _player(folder: Path, horizon: Horizon) -> Player:
    table = judge_pairs(study_flock(build_flock(tables_of(folder))))
    pens = plan_season(table).solution.pens
    size = size_of(table, pens)
    return player_of(table, horizon, tuple(policies((PLAN,), table, size, pens)))


def _by_proof(player: Player) -> Player:
    proved = [replace(policy, pens=proved_pens) for policy in player.policies]
    return replace(player, policies=proved)


def proved_pens(
    table: PairTable, _problem: PlanProblem, _rng: np.random.Generator
) -> Sequence[PlannedPen]:
    """The pens of the best plan, all pairs judged; none where there is no plan."""
    problem = pose_problem(judge_pairs(table.study), fresh=True)
    bare = replace(problem, lines=tuple(goal.without_minimums() for goal in problem.lines))
    for one in (problem, bare):
        try:
            return solve_plan(one).pens
        except NoPlanError:
            continue
    return ()


def _played(player: Player, replicates: int, workers: int) -> tuple[float, float]:
    """Seconds until every worker has played once, and those that the replicates then take."""
    begun = time.perf_counter()
    with fanning(player, workers=workers) as fan:
        fan(_tasks(min(workers, player.past.replicates)))
        ready = time.perf_counter()
        fan(_tasks(replicates))
        return ready - begun, time.perf_counter() - ready


def _of_processor(player: Player) -> float:
    """Seconds of a processor that one replicate takes here, the mean of the first few."""
    tasks = _tasks(min(3, player.past.replicates))
    player(tasks[0])  # what is kept from replicate to replicate is there now
    begun = time.process_time()
    for task in tasks:
        player(task)
    return (time.process_time() - begun) / len(tasks)


def _tasks(replicates: int) -> list[Task]:
    return [Task(policy=0, replicate=replicate) for replicate in range(replicates)]


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(name="folder", help="of examples", whole="holm-fen", short="skarn-farm"),
        Option(name="replicates", help="played by ours", whole=40, short=2, full=200),
        Option(name="seasons", help="in each", whole=6, short=1),
        Option(name="workers", help="processes", whole=2),
        Option(name="peer_replicates", help="played by the peer; 0: none", whole=4, short=1),
    ),
)
