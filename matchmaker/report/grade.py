"""What ``grade`` prints: line by line how many to keep, then the birds by verdict with reasons."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.flock.listing import natural
from matchmaker.grade.unseen import Kind
from matchmaker.grade.verdicts import Verdict
from matchmaker.report.days import whole_day
from matchmaker.report.defaults import defaults_of
from matchmaker.report.grade_remarks import assumed_texts, counts_text, head_text, last_texts
from matchmaker.report.grade_words import (
    ages_text,
    ground_text,
    reason_text,
    unseen_texts,
)
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.wording import listed
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from matchmaker.grade.grading import Grade, Grading

HEADINGS = {Verdict.KEEP: "Keep", Verdict.WAIT: "Wait", Verdict.LET_GO: "Let go"}

NAMES = {
    Sex.COCK: ("cock", "cocks"),
    Sex.HEN: ("hen", "hens"),
    None: ("sex not told", "sex not told"),
}

SEXES = {Sex.COCK: "Cocks", Sex.HEN: "Hens", None: "Sex not told"}


def print_grading(console: Console, grading: Grading) -> None:
    """The whole grading."""
    say(console, head_text(grading), style="bold")
    if not grading.grades:
        say(
            console,
            "No young birds are here, too young for the pens before or hatched since.",
        )
        return
    say(console, counts_text(grading))
    for line in sorted({one.bird.line for one in grading.grades}):
        _print_line(console, grading, line)
    console.print()
    _print_legend(console)
    _print_scores(console, grading)
    for sentence in last_texts(grading):
        say(console, sentence)
    console.print()
    say(console, "Taken for granted, the tables not saying otherwise:", style="bold")
    for default in (*assumed_texts(grading), *defaults_of(grading.table)):
        say(console, default, indent=2)


def _print_line(console: Console, grading: Grading, line: str) -> None:
    of_line = [one for one in grading.grades if one.bird.line == line]
    own = sorted(of_line, key=lambda one: natural(one.bird.band))
    console.print()
    say(console, line, style="bold")
    columns = [
        Column(heading=""),
        Column(heading="Young", number=True),
        Column(heading="Keep", number=True),
        Column(heading="Wait", number=True),
        Column(heading="Let go", number=True),
        Column(heading="Penned", number=True),
        Column(heading="Needed", number=True),
        Column(heading="Older", number=True),
    ]
    rows = [
        _row(grading, line, sex, same)
        for sex in SEXES
        if (same := [one for one in own if one.bird.sex is sex])
    ]
    print_rows(console, columns, rows)
    for verdict, heading in HEADINGS.items():
        same = [one for one in own if one.verdict is verdict]
        _print_verdict(console, grading, same, heading)
        if verdict is Verdict.KEEP:
            _print_unseen(console, grading, same)


def _row(grading: Grading, line: str, sex: Sex | None, same: Sequence[Grade]) -> list[str]:
    counts = [str(sum(one.verdict is verdict for one in same)) for verdict in Verdict]
    places = grading.places.get((line, sex)) if sex else None
    numbers = ["", "", ""]
    if places is not None:
        numbers = [str(places.penned), str(places.wanted), str(places.old)]
    return [SEXES[sex], str(len(same)), *counts, *numbers]


def _print_verdict(
    console: Console, grading: Grading, grades: Sequence[Grade], heading: str
) -> None:
    """The birds of a verdict, those with the same reason together."""
    if not grades:
        return
    say(console, heading, indent=2, style="bold")
    together: dict[tuple[str, str], list[Grade]] = {}
    for grade in grades:
        key = (ground_text(grading, grade), str(grade.bird.sex))
        together.setdefault(key, []).append(grade)
    for same in together.values():
        say(console, f"{_named(same)}: {reason_text(grading, same)}", indent=4)


def _named(same: Sequence[Grade]) -> str:
    """Bands of one sex with their ages, and whether a bird has left since."""
    bands = ", ".join(
        f"{one.bird.band} (gone since)" if one.gone_since else one.bird.band for one in same
    )
    name = NAMES[same[0].bird.sex][len(same) > 1]
    return f"{bands} ({name}, {ages_text([one.age for one in same])})"


def _print_unseen(console: Console, grading: Grading, grades: Sequence[Grade]) -> None:
    """What is not seen of birds that are kept; of those that wait the reason tells it."""
    together: dict[str, list[str]] = {}
    for grade in grades:
        rest = [one for one in grade.unseen if one.kind is not Kind.SCORES]
        for sentence in unseen_texts(grading, rest):
            together.setdefault(sentence, []).append(grade.bird.band)
    if together:
        say(console, "Kept, but not seen yet", indent=2, style="bold")
    for sentence, bands in together.items():
        say(console, f"{', '.join(bands)}: {sentence}", indent=4)


def _print_legend(console: Console) -> None:
    say(
        console,
        "Penned: how many birds of the line stand in next spring's pens. Needed: how many to keep "
        "for that, young and older. Older: those fit to breed that were grown before.",
    )


def _print_scores(console: Console, grading: Grading) -> None:
    """Scores to come of birds that are kept or wait, hatch by hatch."""
    told: dict[tuple[str, ...], dict[str, None]] = {}
    for grade in grading.grades:
        if grade.verdict is Verdict.LET_GO or grade.bird.hatched is None:
            continue
        for one in grade.unseen:
            if one.kind is Kind.SCORES:
                when = "due now" if one.since is None else f"from about {whole_day(one.since)}"
                hatch = f"{when} (hatched {whole_day(grade.bird.hatched)})"
                told.setdefault(one.names, {})[hatch] = None
    for names, hatches in told.items():
        say(console, f"Scores to come of {listed(names)}: {', '.join(hatches)}.")
