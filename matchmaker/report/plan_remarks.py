"""What is said of a plan beside its pens: lines, warnings, birds in no pen, changes."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.flock.listing import natural
from matchmaker.pairs.row_faults import pens_without_rows
from matchmaker.plan.posing.terms import plan_certainty
from matchmaker.plan.season.changes import MOST_PRICED, Cause
from matchmaker.report.columns import Column, TextTable
from matchmaker.report.line_sentences import certainty_sentence
from matchmaker.report.numbers import chicks_text, kinship_text
from matchmaker.report.wording import change_sentence, unused_sentence, waived_sentence

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.plan.season.season_plan import SeasonPlan

VALUE_LEGEND: Final = (
    "Value is counted in wanted chicks, weighted by merit, breed share and the importance of their "
    "line. One hen counts at most for one family (a quarter of what her line asks for, unless "
    "set): no line shall hang on one hen."
)

SURPLUS_LEGEND: Final = (
    "What a line gets beyond what it asked for counts a quarter, beyond twice that nothing."
)


def lines_table(plan: SeasonPlan) -> TextTable:
    """A row a line: parents, chicks to raise, wanted ones, what was asked for, inbreeding."""
    goals = {goal.line: goal for goal in plan.problem.lines}
    headings = ("Cocks", "Hens", "Raise", "of them wanted", "asked for", "Chicks' inbreeding")
    rows = [
        [
            total.line,
            str(total.cocks),
            str(total.hens),
            chicks_text(plan.chicks_to_raise(total.line)),
            chicks_text(plan.wanted_of_raised(total.line)),
            chicks_text(goals[total.line].chicks_wanted),
            kinship_text(plan.mean_kinship(total.line)),
        ]
        for total in plan.solution.lines
    ]
    units = "Raise, wanted and asked for are chicks; inbreeding goes from 0 to 1."
    beyond = any(total.worth > goals[total.line].chicks_wanted for total in plan.solution.lines)
    return TextTable(
        columns=[
            Column(heading="Line"),
            *(Column(heading=heading, number=True) for heading in headings),
        ],
        rows=rows,
        legend=" ".join((units, VALUE_LEGEND, *([SURPLUS_LEGEND] if beyond else []))),
    )


def certainty_sentences(plan: SeasonPlan) -> Iterator[str]:
    """How sure the lines that ask for certainty are of their chicks."""
    for certainty in plan_certainty(plan.table, [one for pen in plan.pens for one in pen.chosen]):
        yield certainty_sentence(certainty)


def idle_pen_sentences(plan: SeasonPlan) -> Iterator[str]:
    """Pens kept for matings of which none is open."""
    for pen in pens_without_rows(plan.table.study.flock.tables, plan.table.crossings):
        yield f"{pen.problem[0].upper()}{pen.problem[1:]}."


def warning_sentences(plan: SeasonPlan) -> Iterator[str]:
    """What must not be overlooked: lines that get nothing, what only a wish allows."""
    asked = {goal.line: goal.chicks_wanted for goal in plan.problem.lines}
    for total in plan.solution.lines:
        if not total.hens and asked[total.line]:
            yield (
                f"{total.line} gets no chicks this season. To make sure of it, write hens_min = 1 "
                f"under [lines.{total.line}] in matchmaker.toml."
            )
    for pair in (pair for pen in plan.pens for pair in pen.pairs if pair.waived):
        yield waived_sentence([pair])


def unused_by_reason(plan: SeasonPlan) -> Mapping[str, Sequence[str]]:
    """Why living birds are in no pen, each reason with its birds."""
    by_reason: dict[str, list[str]] = defaultdict(list)
    for unused in sorted(plan.unused, key=lambda one: natural(one.bird)):
        band = rf"(?<![\w-]){re.escape(unused.bird)}(?![\w-])"
        sentence = re.sub(band, "it", unused_sentence(unused))
        by_reason[sentence].append(unused.bird)
    return by_reason


@dataclass(frozen=True, slots=True)
class Told:
    """Sentences, under a heading or by themselves."""

    heading: str
    sentences: Sequence[str]


def change_sentences(plan: SeasonPlan) -> Told:
    """What the plan changes against the standing one; no sentences where none stands."""
    if not plan.table.study.flock.tables.plan:
        return Told("", [])
    if not plan.changes:
        return Told("", ["No changes against the standing plan."])
    if len(plan.changes) > MOST_PRICED:
        return Told("", list(_summed_up(plan)))
    heading = "Changes against the standing plan"
    return Told(heading, [change_sentence(change) for change in plan.changes])


def _summed_up(plan: SeasonPlan) -> Iterator[str]:
    """A new season: how many stay, and what became of those who could have stayed."""
    standing = {row.hen for row in plan.table.study.flock.tables.plan}
    moved = {change.hen for change in plan.changes}
    better = [change.hen for change in plan.changes if change.cause is Cause.BETTER]
    yield (
        f"Of the {len(standing)} hens of the standing plan, {len(standing - moved)} keep their "
        f"cock; {len(moved - standing)} hens are new in the pens. Every change: plan --json."
    )
    if better:
        yield f"Their old cock is still allowed, but the plan is better so: {', '.join(better)}"
