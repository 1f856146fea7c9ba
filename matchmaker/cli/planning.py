"""The plan command: solve, and print what was asked for; keep it where that was asked too."""

from __future__ import annotations

import json as jsonlib
import time
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.ahead.choosing import BEST
from matchmaker.cli.further import as_chosen, found_further, looking_words
from matchmaker.cli.no_plan import explain_no_plan
from matchmaker.cli.pen_up import Kept, pairs_for, pens_made_up, plan_kept
from matchmaker.cli.streams import note
from matchmaker.cli.watching import watched
from matchmaker.errors import NoPlanError
from matchmaker.looking_further import Kind
from matchmaker.plan.posing.problem_file import problem_to_dict
from matchmaker.report.alternatives import (
    alternative_entries,
    alternatives_sheet,
    kept_entry,
    kept_sentence,
    near_entry,
    near_sentence,
    print_alternatives,
)
from matchmaker.report.by_outcome import by_outcome_entry, print_by_outcome
from matchmaker.report.documents import plan_document, score_document
from matchmaker.report.one_more import one_more_entries, one_more_sheet, print_one_more
from matchmaker.report.pens import KEPT, print_plan, print_score
from matchmaker.report.precautions import robust_entry, robust_sentence
from matchmaker.report.screen import say
from matchmaker.report.sheets import plan_sheet
from matchmaker.tables.flock_folder import as_typed
from matchmaker.tables.write import refuse_target, write_text_atomically

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import Console

    from matchmaker.cli.choices import PlanChoice
    from matchmaker.cli.output import Output
    from matchmaker.looking_further import ByOutcome
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.nearly_best.near import NearEquals
    from matchmaker.plan.nearly_best.near_keep import NearPlan
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.plan.solvers.watch import Watch
    from matchmaker.rebalance.robust import RobustChoice
    from matchmaker.rebalance.spares import Precautions
    from matchmaker.report.documents import Document


CARE: Final = 5.0
"""Seconds for what the loss of each cock would mean; flocks of the usual size need one."""

MOST_COUNTED: Final = 100
"""Under a plan it is only said whether few or many others are nearly as good."""


def run_plan(folder: Path, choice: PlanChoice) -> None:
    """Do what the options ask for.

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules; why, and what would, has been printed.
    """
    choice.check()
    for file in (choice.csv, choice.problem):
        if file is not None:
            refuse_target(file, overwrite=choice.force)
    if choice.score is not None:
        _show_score(folder, choice.score, choice.output)
        return
    table = pairs_for(folder, choice.pen_up)
    try:
        _answer(folder, table, choice)
    except NoPlanError as error:
        explain_no_plan(table, error, json=choice.json, fresh=choice.fresh, matings=choice.matings)
        raise


def _answer(folder: Path, table: PairTable, choice: PlanChoice) -> None:
    if choice.frontier:
        from matchmaker.cli.frontier import run_frontier

        run_frontier(table, choice, _again(folder, replace(choice, frontier=False), "--at N"))
        return
    if choice.near is not None:
        near = verbs.plan_near(table, choice.near, matings=choice.matings)
        note(kept_sentence(near.kept, str(choice.near)))
        _show_plan(folder, near.plan, choice, near.kept)
    elif choice.at is not None:
        from matchmaker.cli.frontier import plan_at

        _show_plan(folder, plan_at(table, choice, choice.at), choice)
    else:
        _answer_with(folder, _best(table, choice), choice)


def _answer_with(folder: Path, best: SeasonPlan, choice: PlanChoice) -> None:
    """What is asked for that begins with the best plan."""
    if choice.robust:
        _show_robust(folder, best, choice)
    elif choice.look_ahead is not None:
        _show_further(folder, best, choice)
    elif choice.one_more:
        _show_one_more(best, choice)
    elif choice.alternatives is not None:
        _show_alternatives(best, choice, choice.alternatives)
    else:
        _show_plan(folder, best, choice)


def _best(table: PairTable, choice: PlanChoice) -> SeasonPlan:
    with watched() as watch:
        return verbs.plan(
            table,
            fresh=choice.fresh,
            matings=choice.matings,
            time_limit=choice.time_limit,
            watch=watch,
        )


def _show_robust(folder: Path, best: SeasonPlan, choice: PlanChoice) -> None:
    note("Some good plans are tried, and in each the loss of every cock: that may take a minute.")
    with watched() as watch:
        found = verbs.robust_plan(best, watch=watch)
    note(robust_sentence(found))
    _show_plan(folder, found.chosen.plan, choice, robust=found)


def _show_further(folder: Path, best: SeasonPlan, choice: PlanChoice) -> None:
    found = found_further(best, choice)
    _show_plan(folder, found.chosen.plan, choice, further=found)


def _show_plan(
    folder: Path,
    plan: SeasonPlan,
    choice: PlanChoice,
    kept: NearPlan | None = None,
    robust: RobustChoice | None = None,
    further: ByOutcome | None = None,
) -> None:
    to_keep = _to_keep(folder, plan, choice)
    if choice.problem is not None:
        text = jsonlib.dumps(problem_to_dict(plan.problem), indent=1, ensure_ascii=False)
        write_text_atomically(choice.problem, text + "\n", overwrite=choice.force)
        note(f"Wrote {choice.problem}.")
    with watched() as watch:  # a plan that is found is not lost to Ctrl-C any more
        near = verbs.near_equals(_measured(plan, further), most=MOST_COUNTED)
        care = _in_time(plan, watch) if robust is None else robust.chosen.precautions
    more: Document = {"near_equals": near_entry(near)}
    if robust is not None:
        more["robust"] = robust_entry(robust)
    if further is not None:
        more["look_ahead"] = by_outcome_entry(further)
    if kept is not None:
        more["near"] = kept_entry(kept, str(choice.near))
    cause = KEPT if robust is None else "to bear the loss of a cock better"
    if further is not None and further.at != BEST:
        cause = "for where this plan leads"
    choice.output.show(
        lambda console: _print_plan(console, plan, (near, care), further, cause),
        lambda: plan_document(plan, care) | more,
        lambda: plan_sheet(plan),
    )
    if to_keep is not None:
        told = "plan --write" if choice.pen_up is None else f"plan --pen-up {choice.pen_up}"
        to_keep.write(plan.table.study.flock.tables, told)
    else:
        again = _again(folder, choice if further is None else as_chosen(choice, further))
        note(f"Nothing was written. To keep this plan: {again} --write")


def _to_keep(folder: Path, plan: SeasonPlan, choice: PlanChoice) -> Kept | None:
    """What is to be written into the folder, settled before anything is printed or written."""
    if choice.pen_up is not None:
        return pens_made_up(folder, plan)
    return plan_kept(folder, plan) if choice.write else None


def _precautions(plan: SeasonPlan) -> Precautions:
    """What the loss of each cock would mean, as far as there is time for it."""
    with watched() as watch:
        return _in_time(plan, watch)


def _in_time(plan: SeasonPlan, watch: Watch) -> Precautions:
    watch.until = time.perf_counter() + CARE
    return verbs.precautions(plan, watch=watch)


def _print_plan(
    console: Console,
    plan: SeasonPlan,
    known: tuple[NearEquals, Precautions],
    further: ByOutcome | None,
    cause: str,
) -> None:
    near, care = known
    if further is not None:
        print_by_outcome(console, further)
        console.print()
    print_plan(console, plan, care, cause)
    if further is None or further.chosen.kind is not Kind.LESS_RELATED:
        say(console, near_sentence(near))


def _measured(plan: SeasonPlan, further: ByOutcome | None) -> SeasonPlan:
    """The plan that others are nearly as good as: the best, where another one is shown."""
    return plan if further is None else further.contenders[BEST].plan


def _again(folder: Path, choice: PlanChoice, *more: str) -> str:
    """The command that makes this plan again; with ``more`` behind it."""
    words = ["matchmaker plan --in", as_typed(folder)]
    words += ["--fresh"] if choice.fresh else []
    words += ["--robust"] if choice.robust else []
    words += looking_words(choice)
    words += ["--near", as_typed(choice.near)] if choice.near is not None else []
    words += ["--at", str(choice.at)] if choice.at is not None else []
    words += ["--matings", str(choice.matings)] if choice.matings is not None else []
    return " ".join([*words, *more])


def _show_alternatives(plan: SeasonPlan, choice: PlanChoice, most: int) -> None:
    near = verbs.near_equals(plan)
    found = verbs.alternatives(plan, most)
    choice.output.show(
        lambda console: print_alternatives(console, plan, near, found),
        lambda: {
            **plan_document(plan, _precautions(plan)),
            "near_equals": near_entry(near),
            "alternatives": alternative_entries(plan, found),
        },
        lambda: alternatives_sheet(plan, found),
    )


def _show_one_more(plan: SeasonPlan, choice: PlanChoice) -> None:
    gains = verbs.one_more(plan)
    choice.output.show(
        lambda console: print_one_more(console, gains),
        lambda: {**plan_document(plan, _precautions(plan)), "one_more": one_more_entries(gains)},
        lambda: one_more_sheet(gains),
    )


def _show_score(folder: Path, file: Path, output: Output) -> None:
    """Score a plan made by hand."""
    table = verbs.pairs(folder)
    score = verbs.score(folder, file)
    best = verbs.plan(table, fresh=True).solution.proof.best_value
    output.show(
        lambda console: print_score(console, score, best),
        lambda: score_document(table, score, best),
    )
