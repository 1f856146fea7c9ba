"""What is shown of a keeper's book: what its columns are taken for, questions, what is written."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Any, Final

from matchmaker import __version__
from matchmaker.report.documents import fault_entry
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.wording import counted
from matchmaker.taking_in.proposal import NOT_TAKEN, TAKEN_AS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from rich.console import Console

    from matchmaker.errors import Fault
    from matchmaker.intake.model import BlockGuess, ColumnGuess, Question
    from matchmaker.taking_in.again import Changed
    from matchmaker.taking_in.joining import Kept
    from matchmaker.taking_in.proposal import Proposal

SAMPLES: Final = 2
SAMPLE_WIDTH: Final = 14
PLACES: Final = 2
WHY_WIDTH: Final = 150
CHANGES: Final = 12
"""How many lines are shown of what would fill pages; the rest is counted."""


def print_guesses(console: Console, guesses: Sequence[BlockGuess]) -> None:
    """What each sheet and each of its columns is taken for; columns are numbered throughout."""
    number = 0
    for guess in guesses:
        say(console, _block_sentence(guess), style="bold")
        rows = []
        for column in guess.columns if guess.table else ():
            number += 1
            rows.append([str(number), column.header or "(no heading)", *_told(guess, column)])
        if rows:
            print_rows(console, _GUESSED, rows)
        console.print()


_GUESSED: Final = (
    Column(heading="no.", number=True),
    Column(heading="column", name=True),
    Column(heading="for example"),
    Column(heading="taken for"),
)


def _block_sentence(guess: BlockGuess) -> str:
    block = guess.block
    where = f"{block.file}, sheet {block.sheet}" if block.sheet else block.file
    if not guess.table:
        return f"{where}: left alone ({guess.why})"
    said = "".join(f"; every row: {column} {value}" for _, column, value in guess.said)
    return f"{where}: {guess.table} ({counted(len(block.rows), 'row')}{said})"


def _told(guess: BlockGuess, column: ColumnGuess) -> tuple[str, str]:
    cells = [row.cells[column.at] for row in guess.block.rows if row.cells[column.at]]
    samples = list(dict.fromkeys(_short(cell) for cell in cells))[:SAMPLES]
    return ", ".join(samples), f"{target_text(guess, column)}{_doubt(column)}"


def _doubt(column: ColumnGuess) -> str:
    """What else a column may be, where that is not sure."""
    if column.sure:
        return ""
    return f" (or {'.'.join(column.others[0])}?)" if column.others else " (not sure)"


def _short(text: str) -> str:
    return text if len(text) <= SAMPLE_WIDTH else f"{text[: SAMPLE_WIDTH - 1]}…"


def target_text(guess: BlockGuess, column: ColumnGuess) -> str:
    """What a column is taken for, in words."""
    if not column.table or column.column == "notes":
        return "notes"
    return column.column if column.table == guess.table else f"{column.table}: {column.column}"


def print_questions(console: Console, questions: Iterable[Question]) -> None:
    """What the book leaves open, each with what would be taken."""
    questions = list(questions)
    if not questions:
        return
    say(console, f"{counted(len(questions), 'question')} that the book leaves open:", style="bold")
    for question in questions:
        say(console, question_text(question), indent=2)
        say(console, f"→ {proposed_text(question)}", indent=6)
    console.print()


def question_text(question: Question) -> str:
    """A question with the first places it is about."""
    if not question.places:
        return question.text
    more = len(question.places) - PLACES
    places = "; ".join(question.places[:PLACES]) + (f"; {more} more" if more > 0 else "")
    return f"{question.text} ({places})"


def proposed_text(question: Question) -> str:
    """What is taken where nobody answers."""
    if question.proposed is None:
        return "nothing is proposed: it stays open, and what it is about is not taken"
    return f"proposed: {question.proposed or 'nothing'}"


def print_proposal(console: Console, proposal: Proposal) -> None:
    """What would be written: rows by table, words read otherwise, what is left, doubts."""
    say(console, "What would be written:", style="bold")
    for name, rows in proposal.taken.tables.items():
        say(console, f"{name}.csv: {counted(len(rows), 'row')}", indent=2)
    _print_changed(console, proposal)
    _print_left(console, proposal)
    print_doubts(console, proposal.taken.doubts)


def print_doubts(console: Console, doubts: Sequence[Fault]) -> None:
    """What is doubtful in the book, with its places there; what is alike once."""
    groups = _alike(doubts)
    if doubts:
        say(console, f"{counted(len(doubts), 'doubt')} about the book:", style="bold")
    for group in groups[:CHANGES]:
        more = f" (and {counted(len(group) - 1, 'place')} more)" if len(group) > 1 else ""
        say(console, f"{_place(group[0])}: {group[0].problem}{more}", indent=2)
        say(console, f"→ {group[0].mend}", indent=6)
    _say_more(console, len(groups), "doubt", "doubts")


def _print_changed(console: Console, proposal: Proposal) -> None:
    changed = sorted(proposal.taken.changed, key=lambda one: -one[-1])
    words = [
        one for one in changed if not _same_day(one[2], one[3]) and not _same_number(*one[2:4])
    ]
    days = sum(one[-1] for one in changed if _same_day(one[2], one[3]))
    numbers = sum(one[-1] for one in changed if _same_number(one[2], one[3]))
    if changed:
        say(console, "Read otherwise than it stands:", style="bold")
    for _, column, written, taken, times in words[:CHANGES]:
        often = f" ({times} times)" if times > 1 else ""
        was = written or "an empty cell"
        say(console, f"{column}: {was} → {taken or 'nothing'}{often}", indent=2)
    _say_more(console, len(words), "word", "words")
    if days:
        say(console, f"{counted(days, 'day')} written as year-month-day", indent=2)
    if numbers:
        say(
            console,
            f"{counted(numbers, 'number')} written with a decimal point and no unit",
            indent=2,
        )


_UNIT: Final = re.compile(r"(?<=\d)\s*[A-Za-z]{1,9}\.?$")


def _same_day(written: str, taken: str) -> bool:
    """Whether only the writing of a day differs."""
    return len(taken) == 10 and taken[4::3] == "--" and any(letter.isdigit() for letter in written)


def _same_number(written: str, taken: str) -> bool:
    """Whether only the decimal sign, the unit, or a figure 0 at the end differs."""
    bare = _UNIT.sub("", written).replace(",", ".")
    return bare != written and (bare.rstrip("0").rstrip(".") if "." in bare else bare) == taken


def _print_left(console: Console, proposal: Proposal) -> None:
    left = proposal.taken.left
    if not left:
        say(console, "Nothing of the book is left out.")
        return
    say(console, f"{counted(len(left), 'cell')} left out, listed in {NOT_TAKEN}:", style="bold")
    for why, times in Counter(one.why for one in left).most_common(CHANGES):
        say(console, f"{times} × {_shortened(why)}", indent=2)
    _say_more(console, len({one.why for one in left}), "reason", "reasons", NOT_TAKEN)


def _shortened(why: str) -> str:
    """A reason as far as it is read at a glance; the file has it whole."""
    return why if len(why) <= WHY_WIDTH else f"{why[:WHY_WIDTH].rsplit(' ', 1)[0]} …"


def _say_more(console: Console, number: int, one: str, many: str, file: str = TAKEN_AS) -> None:
    more = number - CHANGES
    if more > 0:
        say(console, f"and {more} {one if more == 1 else many} more, all in {file}", indent=2)


def _alike(doubts: Iterable[Fault]) -> list[list[Fault]]:
    groups: dict[tuple[str, str, str], list[Fault]] = {}
    for doubt in doubts:
        groups.setdefault((doubt.kind, doubt.problem, doubt.mend), []).append(doubt)
    return list(groups.values())


def _place(doubt: Fault) -> str:
    parts = [doubt.file, f"row {doubt.row}" if doubt.row else "", doubt.column or ""]
    return ", ".join(part for part in parts if part)


def print_kept(console: Console, kept: Sequence[Kept]) -> None:
    """The rows that stay as the folder has them, by table and by what was done to them there."""
    if not kept:
        return
    say(console, "Kept, for it was written in the folder since:", style="bold")
    groups: dict[tuple[str, str], list[str]] = {}
    for one in kept:
        groups.setdefault((one.file, one.how), []).append(one.subject)
    for (file, how), subjects in groups.items():
        more = len(subjects) - SAMPLES
        told = "; ".join(subjects[:SAMPLES]) + (f"; {more} more" if more > 0 else "")
        say(console, f"{file}: {counted(len(subjects), 'row')} {how} ({told})", indent=2)


def print_changes(console: Console, changes: Sequence[Changed]) -> None:
    """What the book would change in the folder, cell by cell."""
    if not changes:
        say(console, "The book says nothing new.")
        return
    say(console, f"{counted(len(changes), 'change')} in the folder:", style="bold")
    rows = [
        [one.file, one.subject, one.column or "whole row", one.was or "-", one.becomes or "-"]
        for one in changes
    ]
    headings = ("file", "row of", "column", "was", "becomes")
    print_rows(console, [Column(heading=heading) for heading in headings], rows)


def book_document(
    proposal: Proposal, inputs: Mapping[str, str], *, written: bool
) -> dict[str, Any]:
    """What ``new --from`` prints as JSON."""
    taken = proposal.taken
    return {
        "schema": "matchmaker/new/1",
        "version": __version__,
        "inputs": dict(sorted(inputs.items())),
        "defaults": [],
        "written": written,
        "columns": [
            {
                "file": guess.block.file,
                "sheet": guess.block.sheet,
                "header_row": guess.block.header_row,
                "header": column.header,
                "table": column.table,
                "column": column.column,
                "sure": column.sure,
                "why": column.why,
            }
            for guess in proposal.guesses
            for column in guess.columns
        ],
        "questions": [question_entry(question) for question in proposal.questions],
        "missing": list(proposal.settled.missing),
        "rows": {name: len(rows) for name, rows in taken.tables.items()},
        "changed": [
            dict(zip(("table", "column", "was", "becomes", "times"), one, strict=True))
            for one in taken.changed
        ],
        "left": [
            {
                "file": one.file,
                "sheet": one.sheet,
                "row": one.row,
                "column": one.column,
                "value": one.text,
                "why": one.why,
            }
            for one in taken.left
        ],
        "doubts": [fault_entry(doubt) for doubt in taken.doubts],
    }


def question_entry(question: Question) -> dict[str, Any]:
    """A question as a program reads it."""
    return {
        "key": question.key,
        "text": question.text,
        "choices": list(question.choices),
        "proposed": question.proposed,
        "places": list(question.places),
    }
