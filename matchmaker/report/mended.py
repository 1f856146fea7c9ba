"""The safe mends of a folder on the screen: each cell as it was and is, what is left, the plan."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any, Final

from matchmaker.report.finding_words import (
    CELLS_MAX,
    ROWS_MAX,
    WHYS,
    becoming,
    cell_text,
    counted_findings,
    effect_text,
    place_text,
)
from matchmaker.report.screen import say
from matchmaker.report.wording import counted

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from rich.console import Console

    from matchmaker.mends.bench import Why, Written
    from matchmaker.mends.effects import Effect
    from matchmaker.mends.mended import Mended
    from matchmaker.mends.reach import Reaches

LEFT_MAX: Final = 10
"""Findings left that are listed for one reason; of more only the number is said."""


def print_mended(console: Console, mended: Mended, left: Reaches, *, everything: bool) -> None:
    """What is written, what is not and why, what ``check`` would find now, what the plan does."""
    if not mended.written:
        say(console, "Nothing here can be mended safely without you.", style="bold")
    else:
        say(console, f"{written_count(mended.written)}:", style="bold")
        for text in diff_texts(mended.written):
            say(console, text, indent=2)
        for table, book in sorted(mended.books.items()):
            say(console, f"{book}: its sheet is {table}.csv in the copy, values alone", indent=2)
    _print_left(console, mended, everything=everything)
    found = counted_findings(left.found) or "nothing is wrong"
    if not mended.written:
        say(console, f"As it stands: {found}.")
    else:
        console.print()
        say(console, f"With this written: {found}.")
        say(console, f"{plan_text(mended.effect)}.")
    console.print()


def written_count(written: Iterable[Written]) -> str:
    """How many cells are written and rows taken out.

    Examples
    --------
    >>> from matchmaker.mends.bench import Written
    >>> row = Written(file="birds.csv", row=8, column="", was="H1, hen", becomes=None)
    >>> cell = Written(file="birds.csv", row=7, column="sex", was="", becomes="hen")
    >>> written_count([row, cell])
    '1 cell written, 1 row taken out'
    """
    gone = [one.becomes is None for one in written]
    told = []
    if len(gone) > sum(gone):
        told.append(f"{counted(len(gone) - sum(gone), 'cell')} written")
    if any(gone):
        told.append(f"{counted(sum(gone), 'row')} taken out")
    return ", ".join(told)


def diff_texts(written: Iterable[Written]) -> list[str]:
    """Each change in a line; cells of one column that change alike are told together."""
    alike: dict[tuple[str, str, str, str | None], list[int]] = defaultdict(list)
    for one in written:
        alike[one.file, one.column, one.was, one.becomes].append(one.row)
    return [
        f"{file}, {_rows(rows)} taken out: {was}"
        if becomes is None
        else f"{file}, {_rows(rows)}, column {column}: {becoming(was, becomes)}"
        for (file, column, was, becomes), rows in alike.items()
    ]


def plan_text(effect: Effect | None) -> str:
    """What the mends do to the plan, as the beginning of a sentence."""
    if effect is None:
        return "The plan was not made again, the time was over (give more with --time-limit)"
    text = effect_text(effect).removeprefix("with this mended ")
    return text[:1].upper() + text[1:]


def mended_document(mended: Mended, place: Path | None) -> dict[str, Any]:
    """What was mended, for ``--json``; ``place`` is the folder it was written to, if any."""
    return {
        "folder": None if place is None else str(place),
        "written": [
            {
                "file": one.file,
                "row": one.row,
                "column": one.column or None,
                "was": one.was,
                "becomes": one.becomes,
            }
            for one in mended.written
        ],
        "books": [
            {"table": table, "book": book, "file": f"{table}.csv"}
            for table, book in sorted(mended.books.items())
        ],
        "left": [
            {
                "kind": one.fault.kind,
                "file": one.fault.file,
                "row": one.fault.row,
                "column": one.fault.column,
                "why": str(one.why),
                "sentence": WHYS[one.why],
            }
            for one in mended.left
        ],
        "effect": effect_entry(mended.effect),
    }


def effect_entry(effect: Effect | None) -> dict[str, Any] | None:
    """The measured effect of a mend; ``None`` where it was not measured."""
    if effect is None:
        return None
    return {
        "faults": effect.faults,
        "pairs": effect.pairs,
        "kept": effect.kept,
        "pairs_after": effect.pairs_after,
        "worth": effect.worth,
        "gain": effect.gain,
        "proved": effect.proved,
        "sentence": effect_text(effect),
    }


def _print_left(console: Console, mended: Mended, *, everything: bool) -> None:
    by_why: dict[Why, list[str]] = defaultdict(list)
    for one in mended.left:
        cells = "; ".join(map(cell_text, one.fault.mends[:CELLS_MAX]))
        by_why[one.why].append(f"{place_text(one.fault)}; it would be: {cells}")
    if by_why:
        console.print()
        say(console, f"{counted(len(mended.left), 'mend')} not written:", style="bold")
    for why, places in by_why.items():
        say(console, f"{WHYS[why]}:", indent=2)
        shown = places if everything else places[:LEFT_MAX]
        for place in shown:
            say(console, place, indent=4)
        if len(places) > len(shown):
            say(console, f"and {len(places) - len(shown)} more (--all lists them)", indent=4)


def _rows(rows: list[int]) -> str:
    if len(rows) == 1:
        return f"row {rows[0]}"
    beyond = f" and {len(rows) - ROWS_MAX} more" if len(rows) > ROWS_MAX else ""
    return f"rows {', '.join(map(str, rows[:ROWS_MAX]))}{beyond}"
