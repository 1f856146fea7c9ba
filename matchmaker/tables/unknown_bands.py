"""Bands that no bird has: one slip, many rows that name one, a bird whose own band is mistyped."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend
from matchmaker.tables.mentions import can_stand, mentions, named_elsewhere
from matchmaker.tables.nearness import NAMES_TOLD, Lexicon, Likeness
from matchmaker.tables.odd_signs import clear_name, mend_of_unknown
from matchmaker.tables.strangers import tables_of_others, told_once

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.mentions import Mention
    from matchmaker.tables.nearness import Near
    from matchmaker.tables.records import BirdRecord

OFTEN: Final = 3
"""A band that so many rows name, in two tables at least, is told once for all of them."""

_SLIPS: Final = frozenset({Likeness.SIGNS, Likeness.LETTER})
"""Likenesses of a slip of the pen; a year in front may be left out on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OftenNamed:
    """A band that no bird has and that many rows name; ``near`` are the birds all may mean.

    ``own`` is the bird among them that no row names: its own band is likelier the wrong one.
    """

    band: str
    rows: Sequence[Mention]
    near: Near
    own: BirdRecord | None

    @property
    def places(self) -> str:
        """How many rows of which tables name it."""
        counted = Counter(table for table, _ in {(one.table, one.row) for one in self.rows})
        return ", ".join(f"{count} of {table}" for table, count in sorted(counted.items()))

    @property
    def chicks(self) -> tuple[str, ...]:
        """The birds that name it as a parent."""
        return tuple(one.chick.bird for one in self.rows if one.chick is not None)


def often_named(tables: FolderTables) -> Mapping[str, OftenNamed]:
    """Return the bands that no bird has and that rows of several tables name, told once each.

    Rows that do not all mean one bird are told one by one.
    """
    birds = {bird.bird: bird for bird in tables.birds}
    named: dict[str, list[Mention]] = {}
    for one in mentions(tables):
        named.setdefault(one.band, []).append(one)
    known = Lexicon(birds)
    found = {}
    for band, rows in named.items():
        if band not in birds and len(rows) >= OFTEN and len({one.table for one in rows}) > 1:
            near = known.near(band, partial(_can_all_mean, rows, birds))
            only = clear_name(near)
            if only is None or _can_all_mean(rows, birds, only):
                mistyped = only not in named and near.likeness in _SLIPS
                own = birds[only] if only is not None and mistyped else None
                found[band] = OftenNamed(band=band, rows=rows, near=near, own=own)
    return found


def _can_all_mean(rows: Sequence[Mention], birds: Mapping[str, BirdRecord], band: str) -> bool:
    return all(can_stand(birds[band], one) for one in rows)


def unknown_band_faults(tables: FolderTables) -> Iterator[Fault]:
    """Return a fault for each band that no bird has, one for all rows that often name it.

    A table most of whose rows name such bands is told as another flock's. Parents whose band no
    other table names are told with the pedigree.
    """
    birds = {bird.bird: bird for bird in tables.birds}
    named = tuple(named_elsewhere(tables))
    others = tables_of_others(named, birds)
    yield from told_once(tables, others)
    unknown = [one for one in named if one.band not in birds and one.table not in others]
    known, often = Lexicon(birds), often_named(tables) if unknown else {}
    asked = {one.band for one in unknown}
    for one in often.values():
        if one.band not in asked:
            continue
        yield _own_band(tables, one, one.own) if one.own else _often_named(tables, one, birds)
    for mention in unknown:
        if mention.band not in often:
            yield _named_once(tables, mention, birds, known)


def _own_band(tables: FolderTables, one: OftenNamed, bird: BirdRecord) -> Fault:
    own, band = bird.bird, one.band
    return tables.fault(
        "birds",
        bird.row,
        "bird",
        kind="own-band-mistyped",
        value=own,
        problem=f"no row names {own}, and {len(one.rows)} name {band}, a band that no bird has "
        f"({one.places})",
        mend=f"look at the bird: write {band} here if that is its band; else write the right band "
        f"in those rows, or add a row for {band}",
        mends=(CellMend(table="birds", row=bird.row, column="bird", was=own, becomes=band),),
        birds=tuple(dict.fromkeys([own, *one.chicks])),
    )


def _often_named(tables: FolderTables, one: OftenNamed, birds: Mapping[str, BirdRecord]) -> Fault:
    first, meant = one.rows[0], clear_name(one.near)
    return tables.fault(
        first.table,
        first.row,
        first.column,
        kind="unknown-bird",
        value=one.band,
        problem=f"no bird {one.band} is in the table of birds, and {len(one.rows)} rows name it "
        f"({one.places})",
        mend=_mend(one.band, one.near, birds),
        mends=tuple(row.mended(meant) for row in one.rows) if meant else (),
        safe=one.near.in_writing_only and meant is not None,
        birds=tuple(dict.fromkeys([*one.near.names[:NAMES_TOLD], *one.chicks])),
    )


def _named_once(
    tables: FolderTables, mention: Mention, birds: Mapping[str, BirdRecord], known: Lexicon
) -> Fault:
    """What is meant is looked for among the birds that can stand there."""
    near = known.near(mention.band, lambda other: can_stand(birds[other], mention))
    meant = clear_name(near)
    sure = near.in_writing_only and can_stand(birds[near.names[0]], mention)
    return tables.fault(
        mention.table,
        mention.row,
        mention.column,
        kind="unknown-bird",
        value=mention.band,
        problem=f"no bird {mention.band} is in the table of birds",
        mend=_mend(mention.band, near, birds),
        mends=(mention.mended(meant),) if meant else (),
        safe=sure and meant is not None,
        birds=near.names[:NAMES_TOLD],
    )


def _mend(band: str, near: Near, birds: Mapping[str, BirdRecord]) -> str:
    rows = {name: birds[name].row for name in near.names}
    return mend_of_unknown(near, rows, f"add a row for {band} to the birds")
