"""A bird whose own band is likelier mistyped than every row that names it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend
from matchmaker.tables.mentions import can_stand, mentions, named_elsewhere
from matchmaker.tables.nearness import Lexicon, Likeness
from matchmaker.tables.odd_signs import clear_name
from matchmaker.tables.voices import OUTVOTED_BY

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.mentions import Mention
    from matchmaker.tables.records import BirdRecord

_SLIPS: Final = frozenset({Likeness.SIGNS, Likeness.LETTER})
"""Likenesses of a slip of the pen; a year in front may be left out on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnBand:
    """A bird that no row names, and the rows that name another band in its place."""

    bird: BirdRecord
    band: str
    rows: Sequence[Mention]


def mistyped_own_bands(tables: FolderTables) -> Mapping[str, OwnBand]:
    """Return the bands that no bird has and that one bird is meant by, as its own is mistyped.

    So many rows must name the band as outvote a sex, in two tables at least, and the nearest bird
    must be one that all of them can mean and that no row names as it is written.
    """
    birds = {bird.bird: bird for bird in tables.birds}
    if all(one.band in birds for one in named_elsewhere(tables)):
        return {}
    named: dict[str, list[Mention]] = {}
    for one in mentions(tables):
        named.setdefault(one.band, []).append(one)
    known = Lexicon(birds)
    unknown = {band: rows for band, rows in named.items() if band not in birds and _many(rows)}
    found = (_own_band(birds, known, band, rows) for band, rows in unknown.items())
    return {one.band: one for one in found if one is not None and one.bird.bird not in named}


def _many(rows: Sequence[Mention]) -> bool:
    return len(rows) >= OUTVOTED_BY and len({one.table for one in rows}) > 1


def _own_band(
    birds: Mapping[str, BirdRecord], known: Lexicon, band: str, rows: Sequence[Mention]
) -> OwnBand | None:
    """The bird that all rows can mean by a band, if its own is one slip away from it."""

    def fits(other: str) -> bool:
        return all(can_stand(birds[other], one) for one in rows)

    near = known.near(band, fits)
    own = clear_name(near)
    if own is None or near.likeness not in _SLIPS or not fits(own):
        return None
    return OwnBand(bird=birds[own], band=band, rows=rows)


def own_band_faults(tables: FolderTables, found: Mapping[str, OwnBand]) -> Iterator[Fault]:
    """One fault for each mistyped band of a bird, in place of one a row that names it."""
    for one in found.values():
        own, band = one.bird.bird, one.band
        counted = Counter(table for table, _ in {(row.table, row.row) for row in one.rows})
        places = ", ".join(f"{count} of {table}" for table, count in sorted(counted.items()))
        mend = CellMend(table="birds", row=one.bird.row, column="bird", was=own, becomes=band)
        chicks = (row.chick.bird for row in one.rows if row.chick is not None)
        yield tables.fault(
            "birds",
            one.bird.row,
            "bird",
            kind="own-band-mistyped",
            value=own,
            problem=f"no row names {own}, and {counted.total()} rows name {band}, a band that no "
            f"bird has ({places})",
            mend=f"look at the bird: write {band} here if that is its band; else write the right "
            f"band in those rows, or add a row for {band}",
            mends=(mend,),
            birds=tuple(dict.fromkeys([own, *chicks])),
        )
