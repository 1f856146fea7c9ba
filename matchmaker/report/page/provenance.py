"""Where the page comes from: tables, wishes, proof, what was taken for granted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker import __version__
from matchmaker.report.columns import Column, TextTable
from matchmaker.report.days import whole_day
from matchmaker.report.defaults import defaults_of
from matchmaker.report.own_changes_words import (
    AGREES,
    own_changes_sentences,
    own_changes_table,
)
from matchmaker.report.page.view import View
from matchmaker.report.pens import SOLVERS, proof_line
from matchmaker.report.season_words import source_sentence
from matchmaker.report.wording import counted
from matchmaker.season.standing import Source

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.report.page.view import Further
    from matchmaker.reporting import SeasonReport
    from matchmaker.tables.folder import FolderTables

FINGERPRINT: Final = (
    "Fingerprint: the SHA-256 of the file as it was read. If a file still has it, nothing in it "
    "has changed since."
)


def provenance_view(report: SeasonReport, further: Further) -> View:
    """Which tables, which program and which proof are behind every number of the page."""
    tables = report.table.study.flock.tables
    values = {
        "made": list(_made(report.plan, further)),
        "changed": _changed(report),
        "files": files_table(tables),
        "wishes": wishes_table(tables),
        "proof": proof_line(report.plan, timed=False),
        "doubts": _doubts(tables),
        "defaults": list(defaults_of(report.table)),
    }
    return View(values=values)


def _made(plan: SeasonPlan, further: Further) -> Iterator[str]:
    proof, flock = plan.solution.proof, plan.table.study.flock
    yield (
        f"matchmaker {__version__}; the plan solved by {SOLVERS[proof.solver]} "
        f"{proof.solver_version}."
    )
    yield (
        f"Season {flock.settings.season}; the tables as of {whole_day(flock.today)}, the pens made "
        f"up on {whole_day(flock.settings.pen_up)}. The same tables give the same page."
    )
    if further.frontier is not None:
        yield (
            f"Plans from most progress to least kinship: {len(further.frontier['plans'])}, of "
            f"{further.frontier['pairs']} pairs each (matchmaker plan --frontier)."
        )
    if further.ahead is not None:
        ahead = further.ahead
        yield (
            f"The coming seasons: {ahead['seasons']} seasons, each played {ahead['replicates']} "
            f"times, luck number {ahead['seed']} (matchmaker ahead). {ahead['premise']}"
        )


def _changed(report: SeasonReport) -> dict[str, object]:
    """How the keeper's pens differ from the best plan: sentences, and a table of pairs or none."""
    changed = report.changed
    if changed is None:
        best = report.guide.pens.source is Source.BEST
        return {"sentences": [source_sentence(report.guide) if best else AGREES], "pairs": None}
    pairs = own_changes_table(changed, report.costs)
    return {
        "sentences": list(own_changes_sentences(changed)),
        "pairs": pairs if pairs.rows else None,
    }


def files_table(tables: FolderTables) -> TextTable:
    """A row for each file that was read, with its fingerprint."""
    columns = [Column(heading="File"), Column(heading="Fingerprint")]
    rows = [[file, sha] for file, sha in sorted(tables.inputs.items())]
    return TextTable(columns=columns, rows=rows, legend=FINGERPRINT)


def wishes_table(tables: FolderTables) -> TextTable:
    """The keeper's wishes as he wrote them; every one is kept by the plan."""
    headings = ("Bird", "With", "Wish", "Why", "Row")
    rows = [
        [one.bird, one.partner or "–", one.wish, one.why or "–", str(one.row)]
        for one in tables.wishes
    ]
    columns = [Column(heading=heading, number=heading == "Row") for heading in headings]
    legend = (
        "As written in wishes.csv. The plan keeps them all; what one costs: matchmaker why HEN "
        "COCK, or why BIRD."
    )
    return TextTable(columns=columns, rows=rows, legend=legend)


def _doubts(tables: FolderTables) -> str:
    """How much in the tables is doubtful; "" where nothing is."""
    count = len(tables.doubts)
    if not count:
        return ""
    things = counted(count, "thing")
    return f"{things} in the tables may be wrong: matchmaker check names each with its row."
