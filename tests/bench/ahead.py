"""Measure the coming seasons: ``python -m tests.bench ahead``.

The peer is the same seasons without what makes them quick: every spring all pairs of the flock are
written down, and the plan is proved best. It is played for a few replicates, and what all would
take is reckoned from them.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

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

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem

EXAMPLES = Path(__file__).parents[2] / "examples"


def main(arguments: list[str]) -> None:
    """Print seconds in all and milliseconds a season, of both."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench ahead")
    parser.add_argument("folder", nargs="?", type=Path, default=EXAMPLES / "holm-fen")
    parser.add_argument("--replicates", type=int, default=200)
    parser.add_argument("--seasons", type=int, default=6)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--peer-replicates", type=int, default=4, help="0 leaves the peer out")
    args = parser.parse_args(arguments)
    one_thread_here()
    begun = time.perf_counter()
    player = _player(args.folder, Horizon(seasons=args.seasons, replicates=args.replicates))
    before = time.perf_counter() - begun
    rounds = [("as it is", player, args.replicates)]
    if args.peer_replicates:
        rounds.append(("all pairs, plans proved", _by_proof(player), args.peer_replicates))
    for name, one, replicates in rounds:
        start, seconds = _played(one, replicates, args.workers)
        in_all = before + start + seconds * args.replicates / replicates
        reckoned = f" (reckoned from {replicates})" if replicates != args.replicates else ""
        print(  # noqa: T201
            f"{args.folder.name}, {name}: {args.replicates} replicates of {args.seasons} seasons "
            f"take {in_all:.0f} s with {args.workers} workers{reckoned}, "
            f"{1000 * _of_processor(one) / args.seasons:.0f} ms of a processor a season",
            flush=True,
        )


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
