"""What ``hatch`` prints: whose the chicks are, what is written, how they fit, what they teach."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.hatch.bands import RANGE, whole_range
from matchmaker.report.hatch_words import (
    class_rows,
    copies_chances,
    counted_and_banded,
    explanation_sentences,
    fit_verdict,
    learned_reason,
    parents_sentences,
    set_sentence,
    unsure_sentence,
)
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.terminal import print_faults
from matchmaker.tables.records import Status

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from rich.console import Console

    from matchmaker.hatch.fits import LocusFit
    from matchmaker.hatch.hatching import Hatch, Hatching

MOST_LEARNED: Final = 12
"""Birds told one by one on the screen; --json and --csv have all."""

CAUTION: Final = (
    "Cull by your local rules only; where many chicks die or come crippled, ask a veterinarian "
    "before more of such eggs are set."
)


def print_hatch(console: Console, answer: Hatching, *, written: bool) -> None:
    """The whole answer."""
    for at, hatch in enumerate(answer.prepared.hatches):
        if at:
            console.print()
        _print_set(console, hatch)
    _print_writing(console, answer, written=written)
    print_fits(console, answer.prepared.fits)
    _print_chicks(console, answer)
    _print_learned(console, answer)
    if answer.doubts:
        console.print()
        print_faults(console, answer.doubts, "doubt", "look at what is written here")
    if any(_lost(hatch) for hatch in answer.prepared.hatches):
        say(console, CAUTION)


def _lost(hatch: Hatch) -> bool:
    return any(chick.status in {Status.DEAD, Status.CULLED} for chick in hatch.told.chicks)


def _print_set(console: Console, hatch: Hatch) -> None:
    say(console, set_sentence(hatch), style="bold")
    for sentence in parents_sentences(hatch.parents):
        say(console, sentence, indent=2)
    if hatch.line is not None:
        line = f"Line: {hatch.line.line} ({hatch.line.by})." if hatch.line.line else ""
        say(console, line or f"Line: none ({hatch.line.by}).", indent=2)


def _print_writing(console: Console, answer: Hatching, *, written: bool) -> None:
    prepared = answer.prepared
    if not prepared.files:
        return
    console.print()
    say(console, "Written" if written else "To be written", style="bold")
    for table, amendment in prepared.amendments.items():
        if amendment.empty:
            continue
        file = prepared.tables.files.get(table, f"{table}.csv")
        headers = prepared.tables.headers.get(table, {})
        for row in dict.fromkeys(row for row, _ in amendment.cells):
            told = ", ".join(
                f"{headers.get(column, column)} = {text or 'empty'}"
                for (at, column), text in amendment.cells.items()
                if at == row
            )
            say(console, f"{file} row {row}: {told}", indent=2)
        for bands, cells in _alike(amendment.added):
            told = ", ".join(f"{name} = {text}" for name, text in cells.items() if text)
            rows = "a new row" if len(bands) < 2 else f"{len(bands)} new rows"
            whose = f" for {_in_runs(bands)}" if any(bands) else ""
            say(console, f"{file}, {rows}{whose}: {told}", indent=2)
    if any(hatch.egg.unsaid for hatch in prepared.hatches):
        say(
            console,
            "The eggs have room for one run of bands; these are in the birds alone.",
            indent=2,
        )
    for sentence in counted_and_banded(prepared.hatches):
        say(console, sentence, indent=2)


def _alike(rows: Sequence[Mapping[str, str]]) -> list[tuple[list[str], dict[str, str]]]:
    """New rows, those that differ by the bird alone together."""
    found: list[tuple[list[str], dict[str, str]]] = []
    for row in rows:
        rest = {name: text for name, text in row.items() if name != "bird"}
        same = next((bands for bands, cells in found if cells == rest and bands != [""]), None)
        if same is not None and row.get("bird"):
            same.append(row["bird"])
        else:
            found.append(([row.get("bird", "")], rest))
    return found


def print_fits(console: Console, fits: Iterable[LocusFit]) -> None:
    """Each locus: counted beside expected, and what that means."""
    for found in fits:
        console.print()
        say(console, f"{found.locus}, pen {found.told.pen}: counted and expected", style="bold")
        rows = class_rows(found)
        if rows:
            columns = [
                Column(heading="Class"),
                Column(heading="Counted", number=True),
                Column(heading="Expected", number=True),
                Column(heading="A chick", number=True),
            ]
            print_rows(console, columns, rows)
        say(console, " ".join((fit_verdict(found), *unsure_sentence(found))))
        for sentence in explanation_sentences(found):
            say(console, sentence, indent=2)
        if found.expected is not None and found.expected.approximate:
            say(console, "Several parents are not sure: they are taken as independent here.")


def _print_chicks(console: Console, answer: Hatching) -> None:
    if not answer.chicks:
        return
    console.print()
    say(console, "The banded chicks, copies by locus", style="bold")
    columns = [
        Column(heading="Locus"),
        Column(heading="Copies"),
        Column(heading="Chicks", number=True),
        Column(heading="Bands", sentence=True),
    ]
    rows = [
        [one.locus, copies_chances(one.chances), str(len(one.bands)), _in_runs(one.bands)]
        for one in answer.chicks
    ]
    print_rows(console, columns, rows)


def _in_runs(bands: Sequence[str]) -> str:
    """Bands with each run as its two ends."""
    runs: list[list[str]] = []
    for band in bands:
        if runs and whole_range([*runs[-1], band]):
            runs[-1].append(band)
        else:
            runs.append([band])
    return ", ".join(run[0] if len(run) == 1 else f"{run[0]}{RANGE}{run[-1]}" for run in runs)


def _print_learned(console: Console, answer: Hatching) -> None:
    fits = answer.prepared.fits
    if not fits:
        return
    console.print()
    if not answer.learned:
        say(console, "It changes what is known of no living bird by as much as 1 %.")
        return
    say(console, "What it teaches of living birds, copies before → after", style="bold")
    columns = [
        Column(heading="Bird"),
        Column(heading="Locus"),
        Column(heading="Before"),
        Column(heading="After"),
        Column(heading="By", sentence=True),
    ]
    rows = [
        [
            one.bird,
            one.locus,
            copies_chances(one.before),
            copies_chances(one.after),
            learned_reason(one),
        ]
        for one in answer.learned[:MOST_LEARNED]
    ]
    print_rows(console, columns, rows)
    more = len(answer.learned) - MOST_LEARNED
    if more > 0:
        say(console, f"{more} more birds changed less: --json or --csv FILE lists them.")
    if answer.approximate:
        say(console, "These chances are sampled: differences of 1 or 2 % may be chance.")
