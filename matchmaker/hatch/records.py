"""The rows of ``birds.csv`` and ``seen.csv`` that a hatch adds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.words import accepted, may_be_unripe, meaning
from matchmaker.hatch.parents import parent_cell
from matchmaker.tables.amend import written_date
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.hatch.parents import Parents
    from matchmaker.hatch.sets import SetRow
    from matchmaker.hatch.told import Told
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables

Row = dict[str, str]


def check_pen(told: Told, tables: FolderTables) -> None:
    """Refuse a pen that the book does not know.

    Raises
    ------
    UsageError, InputError
        Naming the pens there are.
    """
    pens = dict.fromkeys(pen.pen for pen in tables.pens)
    if told.pen not in pens:
        told.refuse(
            "pen",
            told.pen,
            f"no such pen is in {tables.files.get('pens', 'pens.csv')}",
            f"the pens are {', '.join(pens)}",
        )


def check_bands(told: Told, tables: FolderTables) -> None:
    """Refuse a band that the book has already: a band is given once and for ever.

    Raises
    ------
    UsageError, InputError
        Naming the row.
    """
    known = {bird.bird.casefold(): bird for bird in tables.birds}
    file = tables.files.get("birds", "birds.csv")
    for chick in told.chicks:
        bird = known.get(chick.band.casefold())
        if bird is not None:
            told.refuse(
                "bands",
                chick.band,
                f"{file} row {bird.row} has the band {bird.bird} already: a band is given once "
                "and for ever",
                "look at the chick's band again, and begin the range after the last one used",
                row=chick.row,
            )


def check_seen(told: Told, loci: Mapping[str, Locus]) -> None:
    """Refuse loci that the flock has not, words not understood, and what cannot be seen at hatch.

    Raises
    ------
    UsageError, InputError
        Naming the locus and the words.
    """
    for locus_name in told.loci:
        locus = loci.get(locus_name)
        if locus is None:
            known = ", ".join(loci)
            told.refuse(
                "seen",
                locus_name,
                "no such locus is in this flock",
                f"write one of {known}, or name it under [loci] in matchmaker.toml",
            )
        for words in told.whole(locus_name) | told.by_band(locus_name):
            _check_words(told, locus, words)


def _check_words(told: Told, locus: Locus, words: str) -> None:
    meant = meaning(locus, words)
    if meant is None:
        told.refuse(
            "seen",
            f"{locus.symbol}:{words}",
            f"{words} is no word for {locus.name}",
            f"write one of: {accepted(locus)}",
        )
    if locus.shown_by != "both":
        told.refuse(
            "seen",
            f"{locus.symbol}:{words}",
            f"{locus.name} shows in grown {locus.shown_by}s alone",
            "leave it out now, and write it in seen.csv when they are grown",
        )
    if may_be_unripe(meant) and locus.shows_at_days > 1:
        told.refuse(
            "seen",
            f"{locus.symbol}:{words}",
            f"{locus.name} cannot be told at hatch, only from {locus.shows_at_days} days on",
            "leave it out now, and write it in seen.csv when it shows",
        )


def bird_rows(
    told: Told, found: SetRow, parents: Parents, line: str, settings: Settings
) -> Iterator[Row]:
    """One row for each banded chick; its breed follows from its parents."""
    day = written_date(found.hatched_on, settings) if found.hatched_on else ""
    sire, dam = parent_cell(parents.sires), parent_cell(parents.dams)
    for chick in told.chicks:
        yield {
            "bird": chick.band,
            "sex": "" if chick.sex is None else str(Sex(chick.sex)),
            "hatched": day,
            "sire": sire,
            "dam": dam,
            "clutch": told.clutch,
            "line": line,
            "status": str(chick.status),
            "left_on": "" if chick.status.alive_here else day,
        }


def seen_rows(told: Told, parents: Parents, day: dt.date, settings: Settings) -> Iterator[Row]:
    """What was seen: a row for each chick and locus, and one for the chicks counted together.

    Chicks told by their bands are left out of the count, so that none counts twice.
    """
    date = written_date(day, settings)
    for chick in told.chicks:
        for locus, words in chick.seen.items():
            yield {
                "date": date,
                "bird": chick.band,
                "locus": locus,
                "what": " ".join(words.split()),
                "how": "day-old",
            }
    for locus in told.loci:
        left = told.not_by_band(locus)
        if left:
            yield {
                "date": date,
                "hen": parent_cell(parents.dams),
                "cock": parent_cell(parents.sires),
                "locus": locus,
                "what": ", ".join(
                    f"{chicks} {' '.join(words.split())}" for words, chicks in left.items()
                ),
                "how": "day-old",
            }
