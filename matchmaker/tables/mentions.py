"""Every place of the tables where a bird's band is written, and what it would take to mend it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.errors import CellMend
from matchmaker.tables.ages import LAST_CHICK_OF_SIRE, could_be_parent, first_possible_day
from matchmaker.tables.parents import bands_in, parent_text
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord, EggRecord, SeenRecord

_SIDES = ((Sex.COCK, "sire"), (Sex.HEN, "dam"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Mention:
    """A band where it is written, ``cell`` being all that stands there.

    ``sex`` is what the column makes of the bird, ``None`` where it may be either. ``first`` and
    ``last`` are the days between which it is said to have been here (of the parents of counted
    chicks only the last: they may have left); ``chick`` is the bird whose parent it is.
    """

    table: str
    row: int
    column: str
    band: str
    cell: str
    sex: Sex | None = None
    first: dt.date | None = None
    last: dt.date | None = None
    chick: BirdRecord | None = None

    def mended(self, band: str) -> CellMend:
        """The mend that writes another band in the place of this one.

        Examples
        --------
        >>> one = Mention(table="seen", row=4, column="hen", band="h1", cell="h1|H2")
        >>> one.mended("H1").becomes
        'H1|H2'
        """
        parts = self.cell.split("|")
        becomes = "|".join(_with_other_band(part, self.band, band) for part in parts)
        return CellMend(
            table=self.table, row=self.row, column=self.column, was=self.cell, becomes=becomes
        )

    @property
    def alone(self) -> bool:
        """Whether no other band stands in the cell."""
        return "|" not in self.cell

    @property
    def place(self) -> str:
        """Table and row in words.

        Examples
        --------
        >>> Mention(table="seen", row=4, column="bird", band="H1", cell="H1").place
        'seen row 4'
        """
        return f"{self.table} row {self.row}"


def _with_other_band(part: str, old: str, new: str) -> str:
    name, colon, weight = part.rpartition(":")
    if colon and name.strip() == old:
        return f"{new}:{weight}"
    return new if part.strip() == old else part


def can_stand(bird: BirdRecord, mention: Mention) -> bool:
    """Whether a bird can be the one that is named: of that sex, and here on that day."""
    if mention.chick is not None and mention.sex is not None:
        return could_be_parent(bird, mention.chick, mention.sex)
    if mention.sex is not None and bird.sex not in {None, mention.sex}:
        return False
    first, last = mention.first, mention.last or mention.first
    if last and bird.hatched and last < first_possible_day(bird):
        return False
    return not (first and bird.left_on) or first - bird.left_on <= LAST_CHICK_OF_SIRE


def mentions(tables: FolderTables) -> Iterator[Mention]:
    """Return every band that is written beside the birds' own, empty cells left out."""
    yield from parents_of_birds(tables)
    yield from named_elsewhere(tables)
    bands = {bird.bird for bird in tables.birds}
    for wish in tables.wishes:
        if wish.partner in bands:
            yield Mention(
                table="wishes", row=wish.row, column="with", band=wish.partner, cell=wish.partner
            )


def parents_of_birds(tables: FolderTables) -> Iterator[Mention]:
    """Return the bands written as sires and dams of birds."""
    for bird in tables.birds:
        for sex, side in _SIDES:
            parentage = bird.sire if sex is Sex.COCK else bird.dam
            cell = parent_text(parentage)
            for band, _ in parentage.candidates:
                yield Mention(
                    table="birds",
                    row=bird.row,
                    column=side,
                    band=band,
                    cell=cell,
                    sex=sex,
                    chick=bird,
                )


def named_elsewhere(tables: FolderTables) -> Iterator[Mention]:
    """Return the bands written in the other tables, those a wish is ``with`` left out."""
    for seen in tables.seen:
        yield from _of_seen(seen)
    for egg in tables.eggs:
        yield from _of_eggs(egg)
    for plan in tables.plan:
        yield from _pair("plan", plan.row, plan.hen, plan.cock)
    yield from (one for one in _one_a_row(tables) if one.band)


def _one_a_row(tables: FolderTables) -> Iterator[Mention]:
    for score in tables.scores:
        yield _alone("scores", score.row, score.bird, score.date, score.date)
    for move in tables.moves:
        yield _alone("moves", move.row, move.bird, move.moved_in, move.moved_out)
    for wish in tables.wishes:
        yield _alone("wishes", wish.row, wish.bird)


def _alone(
    table: str,
    row: int,
    band: str,
    first: dt.date | None = None,
    last: dt.date | None = None,
) -> Mention:
    return Mention(
        table=table, row=row, column="bird", band=band, cell=band, first=first, last=last
    )


def _of_seen(seen: SeenRecord) -> Iterator[Mention]:
    if seen.bird:
        yield _alone("seen", seen.row, seen.bird, seen.date, seen.date)
    for sex, cell in ((Sex.HEN, seen.hen), (Sex.COCK, seen.cock)):
        for band in bands_in(cell):
            yield Mention(
                table="seen",
                row=seen.row,
                column=str(sex),
                band=band,
                cell=cell,
                sex=sex,
                last=seen.date,
            )


def _of_eggs(egg: EggRecord) -> Iterator[Mention]:
    first = egg.collected_from or egg.collected_to or egg.set_on
    for one in _pair("eggs", egg.row, egg.hen, egg.cock):
        yield Mention(
            table="eggs",
            row=one.row,
            column=one.column,
            band=one.band,
            cell=one.cell,
            sex=one.sex,
            first=first,
            last=first,
        )


def _pair(table: str, row: int, hen: str, cock: str) -> Iterator[Mention]:
    for sex, band in ((Sex.HEN, hen), (Sex.COCK, cock)):
        if band:
            yield Mention(table=table, row=row, column=str(sex), band=band, cell=band, sex=sex)
