"""Which birds each row of the tables is about, and with what part where it is one of several."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.flock.suspects import sexes_of
from matchmaker.tables.ages import LAST_CHICK_OF_SIRE
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import MoveRecord

Days: TypeAlias = "tuple[dt.date | None, dt.date | None]"
"""First and last day of a spell; an end that is not written is open."""

Parts: TypeAlias = dict[str, float]
"""Bands with a part of 0 to 1."""

HATCHED_OF_LATE = "day-old"
"""How chicks were seen whose parents were in the pen not long before."""


class About:
    """The birds of each row; of unbanded chicks and of eggs those that can be the parents.

    A row that names a pen instead of birds is about those that were in it then, the cocks one of
    them and the hens one of them, each as likely as the next. A cock's stay is also about the
    birds that were in the pen with him.
    """

    def __init__(self, tables: FolderTables) -> None:
        self._tables = tables
        self._moves: dict[str, list[MoveRecord]] = {}
        for move in tables.moves:
            self._moves.setdefault(move.pen, []).append(move)

    def row(self, table: str, row: int) -> Parts | None:
        """The birds of a row, or ``None`` where the table has no such record."""
        return self._rows.get(table, {}).get(row)

    def first_row(self, table: str) -> int:
        """The first row with a record, 0 where there is none: what stands above is no record."""
        return min(self._rows.get(table, {}), default=0)

    def whole(self, table: str) -> Parts:
        """Every bird that a row of the table is about."""
        return {band: 1.0 for named in self._rows.get(table, {}).values() for band in named}

    @cached_property
    def _rows(self) -> Mapping[str, Mapping[int, Parts]]:
        tables = self._tables
        return {
            "birds": {one.row: {one.bird: 1.0} for one in tables.birds},
            "scores": {one.row: {one.bird: 1.0} for one in tables.scores},
            "seen": {
                one.row: _named(one.bird, one.hen, one.cock)
                or self._parents(one.pen, _laid(one.date, one.how))
                for one in tables.seen
            },
            "moves": {one.row: self._stay(one) for one in tables.moves},
            "eggs": {
                one.row: _named(one.hen, one.cock)
                or self._parents(one.pen, (one.collected_from, one.collected_to or one.set_on))
                for one in tables.eggs
            },
            "wishes": {
                one.row: _certain([one.bird, one.partner, *self._in_pen(one.partner)])
                for one in tables.wishes
            },
            "plan": {one.row: {one.hen: 1.0, one.cock: 1.0} for one in tables.plan},
        }

    @cached_property
    def _sexes(self) -> Mapping[str, Sex | None]:
        return sexes_of(self._tables)

    def _parents(self, pen: str, days: Days) -> Parts:
        """Those that can be the parents of chicks out of a pen, each with its chance."""
        found: Parts = {}
        here = self._in_pen(pen, days)
        for sex in Sex:
            possible = [band for band in here if self._sexes.get(band) is sex]
            found |= {band: 1 / len(possible) for band in possible}
        return found

    def _stay(self, stay: MoveRecord) -> Parts:
        if self._sexes.get(stay.bird) is not Sex.COCK:
            return {stay.bird: 1.0}
        return _certain([stay.bird, *self._in_pen(stay.pen, _days(stay))])

    def _in_pen(self, pen: str, days: Days = (None, None)) -> list[str]:
        """The birds that were in a pen on one of these days."""
        stays = self._moves.get(pen, ())
        return list(dict.fromkeys(one.bird for one in stays if _meet(days, _days(one))))


def _certain(bands: Iterable[str]) -> Parts:
    return dict.fromkeys(bands, 1.0)


def _named(*cells: str) -> Parts:
    """The bands of cells that may each name several, taken as equally likely."""
    found: Parts = {}
    for cell in filter(None, cells):
        pieces = [piece.partition(":")[0].strip() for piece in cell.split("|")]
        found |= {band: 1 / len(pieces) for band in pieces}
    return found


def _laid(seen: dt.date | None, how: str) -> Days:
    """The days on which the parents of chicks may have been together."""
    of_late = seen is not None and how == HATCHED_OF_LATE
    return (seen - LAST_CHICK_OF_SIRE if seen and of_late else None, seen)


def _days(stay: MoveRecord) -> Days:
    return (stay.moved_in, stay.moved_out)


def _meet(one: Days, two: Days) -> bool:
    """Whether two spells share a day."""
    return all(
        start is None or end is None or start <= end
        for start, end in ((one[0], two[1]), (two[0], one[1]))
    )
