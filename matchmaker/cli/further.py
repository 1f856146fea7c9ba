"""``plan --look-ahead``: the plan of this spring that leads furthest, looked for with progress."""

from __future__ import annotations

import contextlib
import time
from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker import verbs
from matchmaker.ahead.choosing import BEST
from matchmaker.cli.ahead import cluster_at
from matchmaker.cli.interrupt import stopped_gently
from matchmaker.cli.simulating import progress_bar
from matchmaker.cli.streams import note
from matchmaker.looking_further import ALTERNATIVES
from matchmaker.plan.searching.less_related import GIVEN_UP
from matchmaker.plan.solvers.watch import Watch
from matchmaker.tables.amend import text_file

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.cli.choices import PlanChoice
    from matchmaker.looking_further import ByOutcome
    from matchmaker.plan.season.season_plan import SeasonPlan

BEGUN = (
    f"This spring's best plan and up to {ALTERNATIVES + len(GIVEN_UP)} others are looked for, "
    "then the coming seasons are played through under each: that takes minutes."
)


def found_further(best: SeasonPlan, choice: PlanChoice) -> ByOutcome:
    """Look for the plan that leads furthest; Ctrl-C decides by what is known by then.

    Raises
    ------
    UsageError
        If the plan could not be written, or a cluster does not answer: before the work.
    """
    if choice.write:
        text_file("plan", best.table.study.flock.tables)
    note(BEGUN)
    watch = Watch()
    if choice.time_limit is not None:
        proof = best.solution.proof
        spent = proof.build_seconds + proof.solve_seconds
        watch.until = time.perf_counter() + choice.time_limit - spent
    with (
        cluster_at(choice.cluster) as executor,
        stopped_gently(watch.stop),
        contextlib.ExitStack() as bar,
    ):
        return verbs.plan_by_outcome(
            best,
            horizon_of(choice),
            fresh=choice.fresh,
            hands=verbs.Hands(
                workers=choice.workers, executor=executor, told=_shown_from_the_first(bar)
            ),
            watch=watch,
        )


def _shown_from_the_first(bar: contextlib.ExitStack) -> Callable[[int, int], None]:
    """What shows the progress: its clock begins with the first part, not with the search before."""
    shown: list[Callable[[int, int], None]] = []

    def tell(done: int, parts: int) -> None:
        if not shown:
            shown.append(bar.enter_context(progress_bar("Simulating", at_most=True)))
        shown[0](done, parts)

    return tell


def horizon_of(choice: PlanChoice) -> verbs.Horizon:
    """How far and how often to look ahead, as asked for or as usual."""
    usual = verbs.Horizon()
    return verbs.Horizon(
        seasons=choice.look_ahead or usual.seasons,
        replicates=choice.replicates or usual.replicates,
        seed=usual.seed if choice.seed is None else choice.seed,
    )


def looking_words(choice: PlanChoice) -> list[str]:
    """The options that ask for the same again; who does the work makes no difference."""
    asked = {
        "--look-ahead": choice.look_ahead,
        "--replicates": choice.replicates,
        "--seed": choice.seed,
    }
    return [word for name, said in asked.items() if said is not None for word in (name, str(said))]


def as_chosen(choice: PlanChoice, found: ByOutcome) -> PlanChoice:
    """What asks for the plan that was chosen: the best one needs no look ahead."""
    if found.at != BEST:
        return choice
    return replace(choice, look_ahead=None, replicates=None, seed=None)
