"""The settings of a flock whose books are taken in: what they show is proposed, the rest asked."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import InputError
from matchmaker.genetics.genotypes.words import meaning
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.intake.model import Question
from matchmaker.start import Answers, spring_after
from matchmaker.tables.configuration import read_configuration

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.intake.model import Taken
    from matchmaker.intake.take import Facts

MAIN_LINE: Final = "project"
"""The line that birds are put in where the book has none: all that are not purely recurrent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What was given by options; "" or ``None`` where it was not.

    ``settings`` is the text of a flock's own ``matchmaker.toml``, which is then left as it is.
    """

    breed: str = ""
    locus: str = ""
    copies: int | None = None
    lines: tuple[str, ...] = ()
    dates: str = ""
    settings: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """The answers of the five questions as far as they are known, and what was asked for them."""

    answers: Answers | None
    season: int
    questions: tuple[Question, ...]
    missing: tuple[str, ...]


def reads_look(symbol: str, text: str) -> bool:
    """Whether a word says what a locus of the catalogue shows.

    Examples
    --------
    >>> reads_look("P", "pea"), reads_look("P", "nice")
    (True, False)
    """
    locus = catalogue().get(symbol)
    return locus is None or meaning(locus, text) is not None


def look_words(symbol: str) -> tuple[str, ...]:
    """The words that the catalogue has for what a locus shows.

    Examples
    --------
    >>> "pea" in look_words("P")
    True
    """
    locus = catalogue().get(symbol)
    if locus is None:
        return ()
    own = (*locus.shown_words, *locus.one_copy_words, *locus.either_words, *locus.hidden_words)
    return (*own, *(word for allele in locus.series for word in allele.words))


def settle(taken: Taken, facts: Facts, given: Given, answers: Mapping[str, str]) -> Settled:
    """Return the settings as given, answered or proposed, and the questions about them."""
    if given.settings:
        return _as_they_are(given)
    breed, about_breed = _breed(facts, given, answers)
    locus, about_locus = _locus(taken, facts, breed, given, answers)
    season, about_season = _season(taken, answers)
    copies, about_copies = _copies(locus, given, answers)
    missing = [name for name, value in (("--breed", breed), ("--trait", locus)) if not value]
    settled = None
    if not missing and copies is not None:
        settled = Answers(
            breed=breed,
            locus=locus,
            copies=copies,
            lines=given.lines or facts.lines,
            dates="iso",
        )
    return Settled(
        answers=settled,
        season=season,
        questions=tuple(
            one for one in (about_breed, about_locus, about_copies, about_season) if one
        ),
        missing=tuple(missing),
    )


def _breed(facts: Facts, given: Given, answers: Mapping[str, str]) -> tuple[str, Question | None]:
    if given.breed:
        near = [name for name in facts.pure if name.casefold() == given.breed.casefold()]
        return (near[0] if near else given.breed), None
    proposed = max(facts.pure, key=lambda name: facts.pure[name], default=None)
    told = ", ".join(f"{name} ({count} pure)" for name, count in facts.pure.items())
    question = Question(
        key="breed",
        text="Which breed shall the flock be in the end?"
        + (f" In the book: {told}" if told else ""),
        proposed=proposed,
    )
    return answers.get("breed") or proposed or "", question


def _locus(
    taken: Taken, facts: Facts, breed: str, given: Given, answers: Mapping[str, str]
) -> tuple[str, Question | None]:
    if given.locus:
        return given.locus, None
    known = catalogue()
    seen = [known[symbol] for symbol in facts.loci if symbol in known]
    brought = [locus.symbol for locus in seen if _brought_in(locus, breed, taken)]
    proposed = brought[0] if len(brought) == 1 else None
    told = ", ".join(f"{locus.symbol} ({locus.name})" for locus in seen)
    question = Question(
        key="trait",
        text="Which gene do you bring in?" + (f" The book has {told}" if told else ""),
        choices=tuple(locus.symbol for locus in seen),
        proposed=proposed,
    )
    answer = answers.get("trait", "")
    return (answer if answer in known else proposed or ""), question


def _copies(
    locus: str, given: Given, answers: Mapping[str, str]
) -> tuple[int | None, Question | None]:
    if given.copies is not None or locus not in catalogue():
        return given.copies, None
    known = catalogue()[locus]
    proposed = str(known.copies_proposed)
    question = Question(
        key="copies",
        text=f"How many copies of {locus} ({known.name}) shall a bird have in the end? 2 breeds "
        "true, 1 if two copies harm or look wrong, 0 to be rid of the gene",
        choices=("0", "1", "2"),
        proposed=proposed,
    )
    answer = answers.get("copies", "")
    return int(answer if answer in question.choices else proposed), question


def _as_they_are(given: Given) -> Settled:
    """The answers as a flock's own settings have them."""
    read = read_configuration(given.settings.encode())
    if read.settings is None:
        raise InputError(tuple(read.faults))
    locus, copies = next(iter(read.settings.target.items()))
    answers = Answers(
        breed=read.settings.recurrent,
        locus=locus,
        copies=copies,
        lines=tuple(read.settings.lines),
        dates=read.settings.dates,
    )
    return Settled(answers=answers, season=read.settings.season, questions=(), missing=())


def _brought_in(locus: Locus, breed: str, taken: Taken) -> bool:
    """Whether birds show a locus, and no pure bird of the recurrent breed does."""
    shown = [
        row for row in taken.tables.get("birds", ()) if shows(locus, row.get(locus.symbol, ""))
    ]
    return bool(shown) and not any(row.get("breed", "") == breed for row in shown)


def shows(locus: Locus, text: str) -> bool:
    """Whether what was seen of a bird says that it shows a locus."""
    meant = set[object](meaning(locus, text) or ()) if text else set()
    hidden = set[object](meaning(locus, "no") or ()) | {0, (0, 0)}
    return bool(meant) and not meant & hidden


def _season(taken: Taken, answers: Mapping[str, str]) -> tuple[int, Question]:
    """The spring to be planned: the next one, by today's calendar or by the newest day written."""
    now = dt.datetime.now(tz=dt.UTC).date()
    days = [dt.date.fromisoformat(day) for day in _days(taken)]
    proposed = max(spring_after(day) for day in (now, *days))
    question = Question(
        key="season", text="Which spring do you plan? Write the year", proposed=str(proposed)
    )
    answer = answers.get("season", "")
    return (int(answer) if answer.isdecimal() and len(answer) == 4 else proposed), question


_DAYS: Final = {
    "birds": ("hatched", "left_on"),
    "scores": ("date",),
    "seen": ("date",),
    "moves": ("moved_in", "moved_out"),
    "eggs": ("collected_from", "collected_to", "set_on"),
}


def _days(taken: Taken) -> Iterable[str]:
    for table, columns in _DAYS.items():
        for row in taken.tables.get(table, ()):
            yield from (
                day for name in columns if len(day := row.get(name, "")) == len("2026-03-17")
            )


def with_lines(taken: Taken, breed: str) -> Mapping[int, str]:
    """The line of each bird where the book has no lines at all: by row, pure birds on their own.

    A bird whose breed is not written is pure if both parents are.

    Examples
    --------
    >>> from matchmaker.intake.model import Taken
    >>> birds = ({"bird": "C1", "breed": "Sussex"}, {"bird": "C2", "breed": "Araucana"})
    >>> with_lines(Taken(tables={"birds": birds}, sources={}), "Sussex")
    {0: 'Sussex', 1: 'project'}
    """
    birds = taken.tables.get("birds", ())
    if any(row.get("line") for row in birds):
        return {}
    pure = {row["bird"] for row in birds if row.get("breed") == breed}
    unsaid = [row for row in birds if not row.get("breed")]
    while (
        more := {row["bird"] for row in unsaid if {row.get("sire"), row.get("dam")} <= pure} - pure
    ):
        pure |= more  # whose parents are listed below it is found in a later round
    return {at: breed if row["bird"] in pure else MAIN_LINE for at, row in enumerate(birds)}
