"""What a first look at a book tells for the second: its bands with their sex, and its pens."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.intake.names import bare_name
from matchmaker.intake.profile import Known, base
from matchmaker.tables.cells import SEX_WORDS
from matchmaker.tables.schema import plain

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.intake.model import BlockGuess


def learn(guesses: Sequence[BlockGuess], known: Known) -> Known:
    """Return what is known with the bands and pens of these guesses added."""
    bands: dict[str, str] = {}
    for guess in guesses:
        if guess.table == "birds":
            bands.update(_bands(guess))
    return replace(known, bands=bands, pens=frozenset(_pens(guesses)))


def _bands(guess: BlockGuess) -> Iterator[tuple[str, str]]:
    at, sex_at = place(guess, "birds", "bird"), place(guess, "birds", "sex")
    said = next((value for _, column, value in guess.said if column == "sex"), "")
    if at is None:
        return
    for row in guess.block.rows:
        band = plain(row.cells[at])
        sex = None if sex_at is None else SEX_WORDS.get(base(row.cells[sex_at]))
        if band:
            yield band, sex.value if sex is not None else said


def _pens(guesses: Sequence[BlockGuess]) -> Iterator[str]:
    """Yield the pens of the table of pens, else those of every table that names one."""
    tables = {"pens"} if any(guess.table == "pens" for guess in guesses) else {"moves", "plan"}
    for guess in guesses:
        at = place(guess, guess.table, "pen") if guess.table in tables else None
        if at is not None:
            yield from {bare_name(row.cells[at]) for row in guess.block.rows} - {""}


def place(guess: BlockGuess, table: str, column: str) -> int | None:
    """Return where a declared column stands in a block."""
    places = (c.at for c in guess.columns if (c.table, c.column) == (table, column))
    return next(places, None)


def repeated_share(guesses: Sequence[BlockGuess]) -> tuple[float, ...]:
    """Return for each block the share of its birds that a longer or earlier list holds too."""
    lists = [
        {band for band, _ in _bands(guess)} if guess.table == "birds" else set()
        for guess in guesses
    ]
    found = []
    for at, own in enumerate(lists):
        others = [
            other
            for place, other in enumerate(lists)
            if place != at and (len(other), -place) > (len(own), -at)
        ]
        most = max((len(own & other) for other in others), default=0)
        found.append(most / len(own) if own else 0.0)
    return tuple(found)
