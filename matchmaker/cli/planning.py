"""The plan command's two ways: solve and print, or score a plan made by hand."""

from __future__ import annotations

import datetime as dt
import json as jsonlib
from typing import TYPE_CHECKING

from matchmaker.cli.output import show
from matchmaker.cli.streams import note, print_document
from matchmaker.errors import NoPlanError, UsageError
from matchmaker.plan.problem_file import problem_to_dict
from matchmaker.plan.season_plan import SeasonPlan, plan_season
from matchmaker.report.documents import as_json, no_plan_document, plan_document, score_document
from matchmaker.report.pens import print_plan, print_score
from matchmaker.report.sheets import plan_records, plan_sheet
from matchmaker.report.wording import conflict_sentences
from matchmaker.tables.write import write_table, write_text_atomically
from matchmaker.verbs import pairs as judge
from matchmaker.verbs import score as score_by_hand

if TYPE_CHECKING:
    from pathlib import Path


def run_plan(
    folder: Path,
    *,
    fresh: bool,
    write: bool,
    problem: Path | None,
    json: bool,
    csv: Path | None,
    force: bool,
) -> None:
    """Solve, print, and write what is asked for."""
    table = judge(folder)
    try:
        plan = plan_season(table, fresh=fresh)
    except NoPlanError as error:
        conflict = conflict_sentences(table, error.conflict)
        if json:
            print_document(as_json(no_plan_document(table, conflict)))
        raise NoPlanError(conflict) from error
    if problem is not None:
        text = jsonlib.dumps(problem_to_dict(plan.problem), indent=1, ensure_ascii=False)
        write_text_atomically(problem, text + "\n", overwrite=force, keep_copy=False)
        note(f"Wrote {problem}.")
    show(
        lambda console: print_plan(console, plan),
        document=(lambda: plan_document(plan)) if json else None,
        sheet=(csv, lambda: plan_sheet(plan)),
        force=force,
    )
    if write:
        _write_plan(folder, plan)
    else:
        note(f"Nothing was written. To keep this plan: matchmaker plan --in {folder} --write")


def _write_plan(folder: Path, plan: SeasonPlan) -> None:
    held = plan.table.study.flock.tables.files.get("plan", "plan.csv")
    if not held.endswith(".csv"):
        raise UsageError(f"the standing plan is in {held}: save it as plan.csv and delete {held}")
    stamp = dt.datetime.now(tz=dt.UTC).strftime("%Y%m%d-%H%M%S")
    kept = write_table(folder / held, "plan", plan_records(plan), overwrite=True, stamp=stamp)
    note(f"Wrote {folder / held}." + (f" The plan before is kept in {kept.name}." if kept else ""))


def run_score(folder: Path, file: Path, *, json: bool) -> None:
    """Score a plan made by hand."""
    table = judge(folder)
    score = score_by_hand(folder, file)
    best = plan_season(table, fresh=True).solution.proof.best_value
    show(
        lambda console: print_score(console, score, best),
        document=(lambda: score_document(table, score, best)) if json else None,
    )
