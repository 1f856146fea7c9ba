"""The questions about a book, one at a time: Enter takes what is proposed, ? shows the places."""

from __future__ import annotations

import shutil
import textwrap
from typing import TYPE_CHECKING, Final

from matchmaker.cli.questions import OWN_GENE, ask, until_answered
from matchmaker.cli.streams import note
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.intake.header_words import header_scores, heads_trait
from matchmaker.intake.pens import hens_of_pens
from matchmaker.intake.remembered_text import meant_column
from matchmaker.report.intake import target_text
from matchmaker.start import find_loci
from matchmaker.tables.columns import TABLES
from matchmaker.tables.schema import plain
from matchmaker.taking_in.settings_proposed import reads_look

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.intake.model import BlockGuess, Question

PLACES: Final = "?"

NAMED: Final = 0.9
"""A word for a column holds from this score of a header on: written out, and not mistyped."""

IN_A_LINE: Final = 4
"""So many answers stand in a line."""

_HOW_CHANGED: Final = (
    "Look at the list above. Where what stands behind a column is wrong, write the number before "
    "it; you are then asked what the column is. Enter goes on."
)


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
        if answer == PLACES:
            note(_HOW_CHANGED)
            continue
        if not answer.isdigit() or not 0 < int(answer) <= len(numbered):
            note(f"The columns are numbered from 1 to {len(numbered)}.")
            continue
        block, at = numbered[int(answer) - 1]
        target = _asked_target(guesses[block], at)
        header = next(one.header for one in guesses[block].columns if one.at == at)
        note(f"{header or 'The column'} is now taken for {_in_words(guesses[block], target)}.")
        yield block, at, target


def _asked_target(guess: BlockGuess, at: int) -> tuple[str, str]:
    column = next(one for one in guess.columns if one.at == at)
    names = ", ".join(one.name for one in TABLES[guess.table].columns)
    note(f"Columns of {guess.table}: {names}; others as scores.weight, moves.pen; or notes.")
    if guess.table == "birds":
        note("For what was seen of a gene, its symbol, as P or O.")
    header = column.header or "the column without a heading"
    return until_answered(lambda: _target(guess, ask(f"What is {header}", _now(guess, at))))


def _in_words(guess: BlockGuess, target: tuple[str, str]) -> str:
    """A target as the list of columns has it."""
    table, column = target
    return column if table == guess.table or column == "notes" else f"{table}: {column}"


def _now(guess: BlockGuess, at: int) -> str:
    return target_text(guess, next(one for one in guess.columns if one.at == at)).replace(": ", ".")


def _target(guess: BlockGuess, answer: str) -> tuple[str, str] | None:
    if answer in {"notes", "aside"}:
        return (guess.table, "notes")
    own = answer if "." in answer else f"{guess.table}.{_as_ours(answer, guess.table)}"
    meant = meant_column(own)
    if meant is None or not _is_sure(meant):
        note(f"{answer} is no column. Write one of those above, or notes.")
        return None
    return meant


def _as_ours(answer: str, table: str) -> str:
    """A keeper's own word for a column as our tables have it: ring as bird, father as sire."""
    best = header_scores(answer, table)[:2]
    plainly = best and best[0][1] >= NAMED and (len(best) == 1 or best[1][1] < best[0][1])
    return best[0][0] if plainly else answer


def _is_sure(target: tuple[str, str]) -> bool:
    """Whether a column is one of ours, a gene, or a score that the keeper stands by."""
    table, column = target
    if column in {one.name for one in TABLES[table].columns} | {"notes"}:
        return True
    if not any(letter.isalpha() for letter in column):
        return False
    if table == "birds":
        own = f"Is {column} a gene of your own, which you describe under [loci.{column}] (yes, no)"
        return column in catalogue() or _agreed(own, "no")
    named = heads_trait(column) > 0
    return named or _agreed(f"Is {column} a score of your own (yes, no)", "yes")


def _agreed(question: str, proposed: str) -> bool:
    return ask(question, proposed).casefold() in {"yes", "y"}


def answered(question: Question, number: str) -> str:
    """The keeper's answer to a question; "" where nothing is to be taken."""
    note("")
    width = shutil.get_terminal_size().columns
    note(textwrap.fill(f"{number}: {question.text}", width, break_on_hyphens=False))
    _list_choices(question.choices, width)
    ask_for = {"trait": _trait, "breed": _breed}.get(question.key, _answer)
    return until_answered(lambda: ask_for(question))


def _list_choices(choices: Sequence[str], width: int) -> None:
    """The answers with their numbers, several in a line if they fit; figures need none."""
    if not choices or all(choice.isdecimal() for choice in choices):
        return
    numbered = [f"{at} {choice}" for at, choice in enumerate(choices, start=1)]
    rows = [numbered[at : at + IN_A_LINE] for at in range(0, len(numbered), IN_A_LINE)]
    lines = ["  " + "   ".join(row) for row in rows]
    fits = max(map(len, lines)) <= width
    note("\n".join(lines if fits else [f"  {one}" for one in numbered]))


def _trait(question: Question) -> str | None:
    """The symbol of a locus, by itself or by words that mean it alone."""
    given = ask("Answer, in words or by its symbol", question.proposed or "")
    if given == question.proposed or given in question.choices:
        return given
    if given.isdecimal() and 0 < int(given) <= len(question.choices):
        return question.choices[int(given) - 1]
    found = find_loci(given)[:4]
    if len(found) == 1 or (found and found[0].symbol == given):
        return found[0].symbol
    known = ", ".join(f"{locus.symbol} ({locus.name})" for locus in found)
    note(
        f"Write the symbol of one of these: {known}."
        if found
        else "No gene is known by that. Write what it does (blue eggs, pea comb); to see all that "
        "are known, break off with Ctrl-C and give: matchmaker loci. "
        f"{OWN_GENE[0].upper()}{OWN_GENE[1:]}, and give the book once more with --again."
    )
    return None


def _breed(question: Question) -> str | None:
    """The breed; one that the book does not name is asked for twice, for it is likely a slip."""
    given = ask("Answer", question.proposed or "")
    if not given:
        note("This must be known: write the name of the breed as your book has it.")
        return None
    named = f" {plain(given)} " in f" {' '.join(map(plain, question.text.split()))} "
    if given == question.proposed or named:
        return given
    sure = _agreed(f"Your book has no {given}. Is the name right all the same (yes, no)", "no")
    return given if sure else None


def _answer(question: Question) -> str | None:
    hints = ["? shows where"] if question.places else []
    hints += ["Enter leaves it open"] if question.proposed is None else []
    hint = f"Answer ({', '.join(hints)})" if hints else "Answer"
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
    figures = all(choice.isdecimal() for choice in question.choices)
    of_these = "one of these" if figures else "one of these or its number"
    note(f"Answer with {of_these}: {', '.join(question.choices)}.")
    return None


def _fitting(question: Question, given: str) -> str | None:
    """A free answer, if it can be meant: a year, a number of hens, a word for what was seen."""
    kind, _, rest = question.key.partition(":")
    if kind == "season" and not (given.isdecimal() and len(given) == 4):
        note("Write the year with four figures, as 2027.")
    elif kind == "places" and given and not (given.isdecimal() and int(given) > 0):
        note("Write a number of hens.")
    elif kind == "pens" and given and not hens_of_pens(given):
        note("Write a number of hens for each pen, with commas between, as 6, 6, 8.")
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
