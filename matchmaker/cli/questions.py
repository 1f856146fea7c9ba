"""The five questions of ``matchmaker new``; what is given as an option is not asked."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, TypeVar

import typer

from matchmaker.cli.streams import note
from matchmaker.errors import ExitCode, UsageError
from matchmaker.start import Answers, find_loci

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from matchmaker.genetics.loci.locus import Locus

_Answer = TypeVar("_Answer")

DATE_ORDERS = ("iso", "day-first", "month-first")

COPIES_HELP = (
    "Copies wanted in the end: 2 breeds true; 1 if only single-copy birds are wanted (two copies "
    "harm or look wrong); 0 to be rid of the gene."
)

OWN_GENE = (
    "a gene that it does not know you put in afterwards: take any here, then write your own in its "
    "place in matchmaker.toml, with a section [loci.NAME]"
)

LINES_HELP = (
    "A line is a family kept going beside the others, so that no chick need come of close kin. "
    "Two or more carry the gene; give your pure birds one of their own, any name."
)


def ask_answers(given: Mapping[str, object]) -> Answers:
    """Ask what the options left open; an answer that makes no sense is asked for again.

    Raises
    ------
    UsageError
        If something is missing and there is nobody to ask, or an option makes no sense.
    """
    missing = [f"--{name}" for name, value in given.items() if value in ("", None)]
    if missing and not sys.stdin.isatty():
        raise UsageError(
            f"nobody is there to ask; give {', '.join(missing)}, or --like NAME, or --from BOOK"
        )
    breed = str(given["breed"]) or until_answered(_asked_breed)
    trait = str(given["trait"])
    locus = named_locus(trait) if trait else until_answered(asked_locus)
    copies = given["copies"]
    if not isinstance(copies, int):
        copies = until_answered(lambda: _asked_copies(locus))
    check_copies(copies, locus)
    lines = str(given["lines"]) or _asked_lines()
    dates = str(given["dates"])
    return Answers(
        breed=breed,
        locus=locus.symbol,
        copies=copies,
        lines=tuple(dict.fromkeys(name.strip() for name in lines.split(",") if name.strip())),
        dates=one_of(dates) if dates else until_answered(_asked_dates),
    )


def ask(question: str, default: str = "") -> str:
    """Ask on standard error; who breaks off there has interrupted the program."""
    try:
        answer: str = typer.prompt(question, default=default, show_default=bool(default), err=True)
    except typer.Abort:
        raise typer.Exit(ExitCode.INTERRUPTED) from None
    return answer.strip()


def _asked_breed() -> str | None:
    breed = ask("1 Which breed shall the flock be in the end")
    if not breed:
        note(
            "A name is needed here, as you write it in your tables. Ctrl-C stops, nothing is made."
        )
    return breed or None


def _asked_lines() -> str:
    note(LINES_HELP)
    return ask("4 Names of your lines, with commas", "Alder, Birch, Cedar")


def until_answered(ask: Callable[[], _Answer | None]) -> _Answer:
    """Ask again until the answer makes sense."""
    while True:
        answer = ask()
        if answer is not None:
            return answer


def named_locus(words: str) -> Locus:
    """The locus an option names: its symbol or name, or words that fit one alone."""
    found = find_loci(words)
    if not found:
        raise UsageError(f"no locus is known for {words!r}; try other words, or its symbol")
    exact = [
        locus
        for locus in found
        if words.casefold() in {locus.symbol.casefold(), locus.name.casefold()}
    ]
    if not exact and len(found) > 1:
        likely = ", ".join(f"{locus.symbol} ({locus.name})" for locus in found[:4])
        raise UsageError(f"{words!r} may mean several loci; give the symbol of one: {likely}")
    taken = (exact or found)[0]
    note(f"Took {words!r} as {taken.name} ({taken.symbol}).")
    return taken


def asked_locus() -> Locus | None:
    """The locus meant by words that are asked for; ``None`` if none was chosen."""
    words = ask("2 Which trait do you bring in (for example: blue eggs, pea comb)")
    found = find_loci(words)[:4]
    if not found:
        note(
            "No gene is known by these words; try others, or its symbol (matchmaker loci lists "
            f"them). {OWN_GENE[0].upper()}{OWN_GENE[1:]}."
        )
        return None
    for number, locus in enumerate(found, start=1):
        note(f"  {number}  {locus.name} ({locus.symbol})")
    choice = ask("  Which of these (0 for none of them)", "1")
    if choice.isdigit() and 0 < int(choice) <= len(found):
        return found[int(choice) - 1]
    note("None taken; try other words.")
    return None


def _asked_copies(locus: Locus) -> int | None:
    note(COPIES_HELP)
    for told in (locus.caution, locus.note):
        if told:
            note(f"{locus.symbol}: {told}.")
    answer = ask("3 Copies", str(locus.copies_proposed))
    if answer in {"0", "1", "2"}:
        return int(answer)
    note(f"Copies are 0, 1 or 2, not {answer!r}.")
    return None


def check_copies(copies: int, locus: Locus) -> None:
    """Refuse copies that no bird has, and warn of copies that harm."""
    if copies not in {0, 1, 2}:
        raise UsageError(f"copies are 0, 1 or 2, not {copies}")
    if copies > locus.safe_copies_max:
        note(
            f"Caution: {copies} copies of {locus.symbol} ({locus.name}): {locus.caution}. "
            "Ask a veterinarian and look at your local rules first."
        )


def _asked_dates() -> str | None:
    answer = ask(f"5 How do you write dates ({', '.join(DATE_ORDERS)})", "iso")
    if answer in DATE_ORDERS:
        return answer
    note("iso is 2027-02-01, day-first 1/2/2027, month-first 2/1/2027.")
    return None


def one_of(answer: str) -> str:
    """Refuse an order of dates that is none."""
    if answer not in DATE_ORDERS:
        raise UsageError(f"--dates is one of {', '.join(DATE_ORDERS)}, not {answer!r}")
    return answer
