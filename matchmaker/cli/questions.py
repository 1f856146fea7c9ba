"""The five questions of ``matchmaker new``; what is given as an option is not asked."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import typer

from matchmaker.cli.streams import note
from matchmaker.errors import UsageError
from matchmaker.start import Answers, find_loci

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from matchmaker.genetics.loci import Locus

DATE_ORDERS = ("iso", "day-first", "month-first")

COPIES_HELP = (
    "Copies wanted in the end: 2 breeds true; 1 if only single-copy birds are wanted (two copies "
    "harm or look wrong); 0 to be rid of the gene."
)


def ask_answers(given: Mapping[str, object]) -> Answers:
    """Ask what the options left open.

    Raises
    ------
    UsageError
        If something is missing and there is nobody to ask, or an option makes no sense.
    """
    missing = [f"--{name}" for name, value in given.items() if value in ("", None)]
    if missing and not sys.stdin.isatty():
        raise UsageError(f"nobody is there to ask; give {', '.join(missing)}, or --like NAME")
    breed = str(given["breed"]) or _ask("Which breed shall the flock be in the end")
    locus = _locus(str(given["trait"]))
    copies = given["copies"] if isinstance(given["copies"], int) else _ask_copies(locus)
    _check_copies(copies, locus)
    lines = str(given["lines"]) or _ask("Names of your lines, with commas", "Alder, Birch, Cedar")
    dates = str(given["dates"]) or _ask(f"How do you write dates ({', '.join(DATE_ORDERS)})", "iso")
    return Answers(
        breed=breed,
        locus=locus.symbol,
        copies=copies,
        lines=tuple(dict.fromkeys(name.strip() for name in lines.split(",") if name.strip())),
        dates=_one_of(dates, DATE_ORDERS, "--dates"),
    )


def _ask(question: str, default: str | None = None) -> str:
    answer: str = typer.prompt(question, default=default, err=True)
    return answer.strip()


def _locus(words: str) -> Locus:
    if words:
        found = find_loci(words)
        if not found:
            raise UsageError(f"no locus is known for {words!r}; try other words, or its symbol")
        return found[0]
    return _ask_until(_locus_asked)


def _locus_asked() -> Locus | None:
    words = _ask("Which trait do you bring in (for example: blue eggs, pea comb)")
    found = find_loci(words)[:3]
    for number, locus in enumerate(found, start=1):
        note(f"  {number}  {locus.name} ({locus.symbol})")
    if not found:
        note("No locus is known by these words; try others.")
        return None
    choice = _ask("Which of these (0 for none)", "1")
    if choice.isdigit() and 0 < int(choice) <= len(found):
        return found[int(choice) - 1]
    return None


def _ask_until(ask: Callable[[], Locus | None]) -> Locus:
    while True:
        answer = ask()
        if answer is not None:
            return answer


def _ask_copies(locus: Locus) -> int:
    note(COPIES_HELP)
    if locus.caution:
        note(
            f"Caution with {locus.symbol}: {locus.caution}. A veterinarian and local rules decide."
        )
    answer: int = typer.prompt("Copies", default=locus.safe_copies_max, type=int, err=True)
    return answer


def _check_copies(copies: int, locus: Locus) -> None:
    if copies not in {0, 1, 2}:
        raise UsageError(f"copies are 0, 1 or 2, not {copies}")
    if copies > locus.safe_copies_max:
        note(
            f"Caution: {copies} copies of {locus.symbol} ({locus.name}): {locus.caution}. "
            "Ask a veterinarian and look at your local rules first."
        )


def _one_of(answer: str, allowed: tuple[str, ...], option: str) -> str:
    if answer not in allowed:
        raise UsageError(f"{option} is one of {', '.join(allowed)}, not {answer!r}")
    return answer
