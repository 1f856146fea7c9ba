"""No chick teaches twice: neither counted again, nor counted and told by its band."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.hatch.parents import parent_cell
from matchmaker.tables.parents import bands_in

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Sequence

    from matchmaker.hatch.parents import Parents
    from matchmaker.hatch.told import Told
    from matchmaker.tables.folder import FolderTables


@dataclass(frozen=True, slots=True, kw_only=True)
class Brood:
    """What is told of one set, with its possible parents and the days that name its chicks."""

    told: Told
    parents: Parents
    set_on: dt.date | None
    hatched_on: dt.date


def check_once(brood: Brood, earlier: Iterable[Brood], tables: FolderTables) -> None:
    """Refuse looks that are in the book, or in another row of the form, already.

    A count is of the whole hatch, those told by their bands among them, unless they are told
    together with it.

    Raises
    ------
    UsageError, InputError
        Naming the row, or the chicks.
    """
    same = _Same(brood, tables)
    for locus in brood.told.loci:
        _check_counts(brood, same, locus, tables)
        if brood.told.not_by_band(locus):
            _check_banded(brood, same, locus, tables)
        for other in earlier:
            if same.chicks(other) and _twice(other.told, brood.told, locus):
                brood.told.refuse(
                    "seen",
                    locus,
                    f"row {other.told.row} tells of these chicks too: they would count twice",
                    "count a hatch for the whole pen, or hen by hen, and bands in the same row",
                )


def _twice(one: Told, other: Told, locus: str) -> bool:
    """Whether a chick of two tellings may be in a count of one and anyhow in the other."""
    counts = one.not_by_band(locus), other.not_by_band(locus)
    return bool((counts[0] and other.whole(locus)) or (counts[1] and one.whole(locus)))


def _check_counts(brood: Brood, same: _Same, locus: str, tables: FolderTables) -> None:
    told, file = brood.told, tables.files.get("seen", "seen.csv")
    for row in tables.seen:
        if (
            not row.bird
            and (row.locus, row.date) == (locus, brood.hatched_on)
            and row.pen in {"", told.pen}
            and same.parents(bands_in(row.hen), bands_in(row.cock))
        ):
            told.refuse(
                "seen",
                locus,
                f"{file} row {row.row} has a count of these chicks of {row.date} already",
                "to change it, or to tell chicks in it by their bands, mend that row first: what "
                "is told here must not be in it",
            )


def _check_banded(brood: Brood, same: _Same, locus: str, tables: FolderTables) -> None:
    told = brood.told
    seen = {row.bird for row in tables.seen if row.locus == locus}
    found = [
        bird.bird
        for bird in tables.birds
        if bird.hatched == brood.hatched_on
        and (bird.bird in seen or locus in bird.seen)
        and same.parents(
            [band for band, _ in bird.dam.candidates], [band for band, _ in bird.sire.candidates]
        )
    ]
    if found:
        hens, cocks = parent_cell(brood.parents.dams), parent_cell(brood.parents.sires)
        told.refuse(
            "seen",
            locus,
            f"of this hatch {', '.join(found)} are in the tables with {locus} already: counted "
            "here they would count twice",
            f"count the others alone, in a row of {tables.files.get('seen', 'seen.csv')} with hen "
            f"= {hens} and cock = {cocks}",
        )


class _Same:
    """Whether chicks may be those of a set: their possible parents are among its own, or round.

    Hens whose eggs have a row of their own are no dams of what the pen's row holds.
    """

    def __init__(self, brood: Brood, tables: FolderTables) -> None:
        self._brood = brood
        self._own = {
            egg.hen
            for egg in tables.eggs
            if egg.hen and egg.pen == brood.told.pen and egg.set_on == brood.set_on
        }
        self._dams = self._of_pen([band for band, _ in brood.parents.dams])
        self._sires = {band for band, _ in brood.parents.sires}

    def _of_pen(self, dams: Sequence[str]) -> set[str]:
        return set(dams) if len(dams) == 1 else set(dams) - self._own

    def parents(self, dams: Sequence[str], sires: Sequence[str]) -> bool:
        return _within(self._of_pen(dams), self._dams) and _within(set(sires), self._sires)

    def chicks(self, other: Brood) -> bool:
        alike = (other.told.pen, other.hatched_on) == (self._brood.told.pen, self._brood.hatched_on)
        named = [[band for band, _ in side] for side in (other.parents.dams, other.parents.sires)]
        return alike and self.parents(*named)


def _within(one: set[str], other: set[str]) -> bool:
    return bool(one & other) and (one <= other or other <= one)
