"""The questions about a book, one at a time: Enter takes what is proposed, ? shows the places."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.cli.questions import ask, until_answered
from matchmaker.cli.streams import note
from matchmaker.intake.remembered_text import meant_column
from matchmaker.report.intake import target_text
from matchmaker.start import find_loci
from matchmaker.tables.columns import TABLES
from matchmaker.taking_in.settings_proposed import reads_look

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.intake.model import BlockGuess, Question

PLACES: Final = "?"


def changed_columns(guesses: Sequence[BlockGuess]) -> Iterator[tuple[int, int, tuple[str, str]]]:
    """Ask which columns are taken wrongly; block, place in it and what the column is."""
    numbered = [
        (block, column.at)
        for block, guess in enumerate(guesses)
        if guess.table
        for column in guess.columns
    ]
    while True:
        answer = ask("Number of a column that is taken wrongly (Enter: all are right)", "")
        if not answer:
            return
        if not answer.isdigit() or not 0 < int(answer) <= len(numbered):
            note(f"The columns are numbered from 1 to {len(numbered)}.")
            continue
        block, at = numbered[int(answer) - 1]
        yield block, at, _asked_target(guesses[block], at)


def _asked_target(guess: BlockGuess, at: int) -> tuple[str, str]:
    column = next(one for one in guess.columns if one.at == at)
    names = ", ".join(one.name for one in TABLES[guess.table].columns)
    note(f"Columns of {guess.table}: {names}; others as scores.weight, moves.pen; or notes.")
    return until_answered(lambda: _target(guess, ask(f"What is {column.header}", _now(guess, at))))


def _now(guess: BlockGuess, at: int) -> str:
    return target_text(guess, next(one for one in guess.columns if one.at == at)).replace(": ", ".")


def _target(guess: BlockGuess, answer: str) -> tuple[str, str] | None:
    if answer in {"notes", "aside"}:
        return (guess.table, "notes")
    meant = meant_column(answer if "." in answer else f"{guess.table}.{answer}")
    if meant is None:
        note(f"{answer} is no column. Write one of those above, or notes.")
    return meant


def answered(question: Question, number: str) -> str:
    """The keeper's answer to a question; "" where nothing is to be taken."""
    note("")
    note(f"{number}: {question.text}")
    for at, choice in enumerate(question.choices, start=1):
        note(f"  {at}  {choice}")
    ask_for = _trait if question.key == "trait" else _answer
    return until_answered(lambda: ask_for(question))


def _trait(question: Question) -> str | None:
    """The symbol of a locus, by itself or by words that mean it alone."""
    given = ask("Answer, in words or by its symbol", question.proposed)
    if given == question.proposed:
        return given
    found = find_loci(given)[:4]
    if len(found) == 1 or (found and found[0].symbol == given):
        return found[0].symbol
    known = ", ".join(f"{locus.symbol} ({locus.name})" for locus in found)
    note(f"Write the symbol of one of these: {known}." if found else "No locus is known by that.")
    return None


def _answer(question: Question) -> str | None:
    hint = "Answer (? shows where)" if question.places else "Answer"
    given = ask(hint, question.proposed if question.proposed is not None else "")
    if given == PLACES and question.places:
        for place in question.places:
            note(f"  {place}")
        return None
    return _chosen(question, given) if question.choices else _fitting(question, given)


def _chosen(question: Question, given: str) -> str | None:
    """A choice by itself, its number or its beginning."""
    if not given or given in question.choices:
        return given
    if given.isdecimal() and 0 < int(given) <= len(question.choices):
        return question.choices[int(given) - 1]
    begun = [choice for choice in question.choices if choice.startswith(given.casefold())]
    if len(begun) == 1:
        return begun[0]
    note(f"Answer with one of these or its number: {', '.join(question.choices)}.")
    return None


def _fitting(question: Question, given: str) -> str | None:
    """A free answer, if it can be meant: a year, a number of hens, a word for what was seen."""
    kind, _, rest = question.key.partition(":")
    if kind == "breed" and not given:
        note("This must be known: write the name of the breed as your book has it.")
    elif kind == "season" and not (given.isdecimal() and len(given) == 4):
        note("Write the year with four figures, as 2027.")
    elif kind == "places" and given and not (given.isdecimal() and int(given) > 0):
        note("Write a number of hens.")
    elif kind == "look" and given and not reads_look(rest.partition(":")[0], given):
        note("This is no word for it. Write one of those above, or nothing.")
    else:
        return given
    return None


def shall_write() -> bool:
    """Whether the keeper wants what was shown to be written."""
    while True:
        answer = ask("Shall this be written (yes, no)", "yes").casefold()
        if answer in {"yes", "y", "no", "n"}:
            return answer in {"yes", "y"}
        note("Answer yes or no.")
