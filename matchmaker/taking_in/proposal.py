"""A flock folder from a keeper's own books: what would be written, asked and left; nothing is lost.

The steps: blocks of the book and what they are taken for (``intake``), the cells, the settings, the
draft of a folder, and what the checks say of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.checking import Check, Depth, check_contents
from matchmaker.intake.entry import column_of
from matchmaker.intake.gather import NOTES
from matchmaker.intake.ledger import NO, OPEN, YES
from matchmaker.intake.model import Question, Taken
from matchmaker.intake.pens import hens_of_pens
from matchmaker.intake.take import CellHints, Facts, take
from matchmaker.tables.columns import TABLES
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.write import csv_text
from matchmaker.taking_in.refused import Refused, question_about, refused_cells, without
from matchmaker.taking_in.settings_proposed import (
    Given,
    Settled,
    look_words,
    reads_look,
    settle,
    with_lines,
)
from matchmaker.taking_in.settings_text import settings_text

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.intake.model import BlockGuess

NOT_TAKEN: Final = "not-taken.csv"
"""The file of the folder that lists what no table took."""

TAKEN_AS: Final = "taken-as.csv"
"""The file of the folder that lists what was read otherwise than it stands, or is doubtful."""

ROUNDS_MAX: Final = 12
"""How often a draft is checked anew after cells were left out of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What a folder made from a book would be.

    ``files`` are the texts by name, empty while ``settled`` lacks an answer; ``found`` is what the
    checks say of them. ``questions`` are all that the book leaves open, with what is proposed.
    """

    guesses: tuple[BlockGuess, ...]
    taken: Taken
    facts: Facts
    settled: Settled
    files: Mapping[str, str]
    questions: tuple[Question, ...]
    found: Check | None


def propose(guesses: Sequence[BlockGuess], given: Given, answers: Mapping[str, str]) -> Proposal:
    """Return the folder that a book would make, with what was answered so far."""
    breed = given.breed or answers.get("breed", "")
    if given.settings:
        settled = settle(Taken(tables={}, sources={}), Facts(), given, answers)
        breed = settled.answers.breed if settled.answers else breed
    hints = CellHints(
        dates=given.dates, recurrent=breed, reads_look=reads_look, look_words=look_words
    )
    taken, facts = take(guesses, answers, hints)
    settled = settle(taken, facts, given, answers)
    questions = [*settled.questions, *taken.questions]
    if settled.answers is None:
        return Proposal(
            guesses=tuple(guesses),
            taken=taken,
            facts=facts,
            settled=settled,
            files={},
            questions=tuple(questions),
            found=None,
        )
    taken, settled = _lined(taken, settled, answers, questions)
    taken = _penned(taken, given, answers, questions)

    def settings_of(taken: Taken) -> str:
        return settings_text(settled, given, taken, facts)

    taken, found, about = _mended(taken, settings_of, answers)
    return Proposal(
        guesses=tuple(guesses),
        taken=taken,
        facts=facts,
        settled=settled,
        files=texts_of(taken, settings_of(taken)),
        questions=(*questions, *about),
        found=found,
    )


def _lined(
    taken: Taken, settled: Settled, answers: Mapping[str, str], questions: list[Question]
) -> tuple[Taken, Settled]:
    """Put birds into lines where the book has none, if the keeper agrees."""
    assert settled.answers is not None  # noqa: S101  the caller has looked
    lines = with_lines(taken, settled.answers.breed)
    if not lines:
        return taken, settled
    names = tuple(dict.fromkeys(lines.values()))
    question = Question(
        key="lines",
        text="The book has no lines. Shall pure birds be one line and all others another "
        f"({', '.join(names)})?",
        choices=(YES, NO),
        proposed=YES,
    )
    questions.append(question)
    if answers.get("lines", YES) != YES:
        return taken, settled
    birds = tuple({**row, "line": lines[at]} for at, row in enumerate(taken.tables["birds"]))
    own = settled.answers.lines or names
    return (
        replace(taken, tables={**taken.tables, "birds": birds}),
        replace(settled, answers=replace(settled.answers, lines=own)),
    )


def _penned(
    taken: Taken, given: Given, answers: Mapping[str, str], questions: list[Question]
) -> Taken:
    """Number the pens that the keeper says he has, where the book has none.

    A flock that has its own settings has its own pens by now, and is not asked.
    """
    if taken.tables.get("pens") or (given.settings and "pens" not in answers):
        return taken
    questions.append(
        Question(
            key="pens",
            text="The book has no pens. How many hens does each of yours hold at most? Write one "
            "number for each pen, as 6, 6, 8",
        )
    )
    hens = enumerate(hens_of_pens(answers.get("pens", "")), start=1)
    rows = tuple({"pen": str(pen), "hens_max": str(most)} for pen, most in hens)
    return replace(taken, tables={**taken.tables, "pens": rows})


def _mended(
    taken: Taken, settings_of: Callable[[Taken], str], answers: Mapping[str, str]
) -> tuple[Taken, Check, list[Question]]:
    """Leave out what the checks refuse, as answered or proposed, until nothing more is."""
    asked: dict[str, Question] = {}
    depth = Depth.FAULTS  # the quickest first: what else is doubtful is asked once, at the end
    found = _checked(_draft(taken, settings_of(taken)), depth)
    for _ in range(ROUNDS_MAX):
        cells: list[Refused] = []
        for cell in refused_cells(found.faults, taken):
            question = question_about(cell, taken)
            asked.setdefault(question.key, question)
            if (answers.get(question.key) or question.proposed) == OPEN:
                cells.append(cell)
        if cells:
            taken = without(cells, taken)
        elif depth is Depth.FAULTS and not found.faults:
            depth = Depth.QUICK
        else:
            break
        found = _checked(_draft(taken, settings_of(taken)), depth)
    if not taken.tables.get("pens"):
        found = _checked(texts_of(taken, settings_of(taken)), depth)
    return taken, found, list(asked.values())


def _draft(taken: Taken, settings: str) -> dict[str, str]:
    """The files as they are checked: without any pens the checks would stop before the birds.

    The pens that are named elsewhere then stand for them.
    """
    if not taken.tables.get("pens"):
        named = [row.get("pen", "") for rows in taken.tables.values() for row in rows]
        pens = tuple({"pen": pen, "hens_max": "1"} for pen in dict.fromkeys(named) if pen)
        stand_in = pens or ({"pen": "1", "hens_max": "1"},)
        taken = replace(taken, tables={**taken.tables, "pens": stand_in})
    return texts_of(taken, settings)


def _checked(files: Mapping[str, str], depth: Depth) -> Check:
    return check_contents({name: text.encode() for name, text in files.items()}, depth)


def texts_of(taken: Taken, settings: str) -> dict[str, str]:
    """Return the files of the folder: the settings, each table, and what was not taken."""
    files = {SETTINGS_FILE: settings}
    for name, table in TABLES.items():
        rows = taken.tables.get(name, ())
        if rows or table.required:
            header = columns_of(name, rows)
            lines = [[row.get(column, "") for column in header] for row in rows]
            files[f"{name}.csv"] = csv_text(header, lines)
    files[NOT_TAKEN] = left_text(taken)
    files[TAKEN_AS] = otherwise_text(taken)
    return files


def columns_of(name: str, rows: Sequence[Mapping[str, str]]) -> list[str]:
    """The columns of a table as written: those needed, those filled, loci or traits, notes."""
    table = TABLES[name]
    filled = dict.fromkeys(column for row in rows for column, text in row.items() if text)
    always = {*table.needed, *table.expected}
    declared = [one.name for one in table.columns if one.name in always or one.name in filled]
    others = [one for one in filled if column_of(name, one) is None and one != NOTES]
    return [*declared, *others, *([NOTES] if NOTES in filled else [])]


def left_text(taken: Taken) -> str:
    """What no table took, as a table of its own: where it stands, what it says, and why."""
    header = ["file", "sheet", "row", "column", "what", "why"]
    rows = [(one.file, one.sheet, one.row, one.column, one.text, one.why) for one in taken.left]
    return csv_text(header, rows)


def otherwise_text(taken: Taken) -> str:
    """Every cell that was read otherwise than it stands or is doubtful, with what was taken."""
    doubts: dict[tuple[str, int | None, str], list[Fault]] = {}
    for doubt in taken.doubts:
        doubts.setdefault((doubt.file, doubt.row, doubt.column or ""), []).append(doubt)
    rows: list[tuple[str | int | None, ...]] = []
    for cell, value in dict(taken.otherwise).items():  # what was settled last
        told = doubts.pop((cell.book, cell.row, cell.header), [])
        why = "; ".join(doubt.problem for doubt in told)
        rows.append((cell.book, cell.row, cell.header, cell.text, value, why))
    for (book, row, column), told in doubts.items():
        rows += [(book, row, column, doubt.value, "", doubt.problem) for doubt in told]
    return csv_text(["book", "row", "column", "written", "taken as", "why"], rows)
