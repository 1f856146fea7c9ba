"""What ``season --close`` says: each rule that changed something, and what it changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.closing.change import Step
from matchmaker.report.days import whole_day
from matchmaker.report.documents import document_head
from matchmaker.report.screen import say
from matchmaker.report.wording import counted, listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import Console

    from matchmaker.closing.change import Change, NextSeason
    from matchmaker.flock.flock import Flock
    from matchmaker.report.documents import Document
    from matchmaker.verbs import Check

MOST_NAMED: Final = 60
"""Birds named on the screen for one rule; the document names all."""

_OF_BIRDS: Final = {
    Step.BREEDER: "Young birds that become breeders, old enough for the next pens",
    Step.STILL_YOUNG: "Still young, for on the day of the next pens they are under the age limit",
    Step.WAITS: "Not to breed yet, for your verdict is to wait",
    Step.LET_GO: "Out of the breeding flock by your verdict: status culled, with the day",
    Step.RELEASED: (
        "Out of quarantine, its end being past: status breeder, or young under the age limit"
    ),
    Step.PENS_ENDED: (
        "Taken out of their pens on that day (or when they left), no other being written"
    ),
    Step.NO_SEX: "Their sex is not written, and no pen can take them before it is: see birds.csv",
    Step.NO_LINE: "No line is written and the plan does not tell it: write one in birds.csv",
}
"""What is said before the bands."""


def print_closing(console: Console, season: NextSeason, found: Check, *, written: bool) -> None:
    """Print what was changed from the old folder to the new one, rule by rule."""
    old, new = season.season - 1, season.season
    done = "The folder for" if written else "Nothing is written. The folder for"
    closed = "closed" if written else "if it were closed"
    say(console, f"Season {old}, {closed} on {whole_day(season.closed_on)}", style="bold")
    say(console, f"{done} {new}: {season.into}. The one of {old} stays as it is: {season.folder}.")
    console.print()
    for sentence in sentences(season):
        say(console, sentence, indent=2)
    console.print()
    say(console, _checked(found))
    say(
        console,
        "The steps of the lines ([lines.NAME] step), limits and crossings stay as they were: "
        "matchmaker route says which step comes next.",
    )


def sentences(season: NextSeason) -> Iterator[str]:
    """Yield a sentence for each rule that found something to do."""
    yield from _settings(season)
    for step, words in _OF_BIRDS.items():
        changes = season.by(step)
        if changes:
            yield f"{words} ({len(changes)}): {_named([one.subject for one in changes])}."
    by_line: dict[str, list[str]] = {}
    for change in season.by(Step.LINE):
        by_line.setdefault(change.new, []).append(change.subject)
    for line, birds in sorted(by_line.items()):
        yield f"Line {line}, as the plan says for their parents ({len(birds)}): {_named(birds)}."
    ended = [change.old for change in season.by(Step.WISH_ENDED)]
    if ended:
        yield (
            f"Wishes for one spring, taken out: {'; '.join(ended)}. Those to keep apart and to "
            "allow stay."
        )
    gone = [change.old for change in season.by(Step.WISH_OF_GONE)]
    if gone:
        yield f"Wishes about birds that are gone, taken out: {'; '.join(gone)}."
    for change in season.by(Step.PLAN_KEPT):
        yield f"{change.old} is kept as {change.new}: last season's pens are no standing plan."


def closing_document(season: NextSeason, flock: Flock, found: Check, *, written: bool) -> Document:
    """Every change with file, row, old and new text."""
    return {
        **document_head("closing", flock.tables),
        "season": season.season,
        "closed_on": str(season.closed_on),
        "folder": str(season.into),
        "written": written,
        "changes": [_entry(change) for change in season.changes],
        "doubts": len(found.doubts),
    }


def _entry(change: Change) -> Document:
    return {
        "rule": change.step.value,
        "file": change.file,
        "row": change.row,
        "subject": change.subject,
        "old": change.old,
        "new": change.new,
    }


def _settings(season: NextSeason) -> Iterator[str]:
    moved = [f"{change.subject} {change.new}" for change in season.by(Step.YEAR_ON)]
    if moved:
        yield f"Days moved a year on: {', '.join(moved)}. Look whether they suit you."
    if season.by(Step.TODAY):
        yield (
            "The line “today” is taken out of the settings: without it today is the newest day in "
            "your tables or the calendar's."
        )
    if season.by(Step.ROTATION):
        yield "rotation.open is taken out: it decided for one season."


def _named(bands: Sequence[str]) -> str:
    if len(bands) <= MOST_NAMED:
        return listed(bands)
    return f"{', '.join(bands[:MOST_NAMED])} and {len(bands) - MOST_NAMED} more"


def _checked(found: Check) -> str:
    doubts = len(found.doubts)
    if not doubts:
        return "The new folder was checked: no faults."
    told = counted(doubts, "doubt")
    return f"The new folder was checked: no faults, {told} (matchmaker check tells them)."
