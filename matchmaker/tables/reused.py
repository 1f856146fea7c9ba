"""A band or a name in several rows: a row written twice, a band used for two birds, or unclear."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend
from matchmaker.tables.findings import MANY, listed
from matchmaker.tables.mentions import Mention, can_stand, mentions

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.header import Sheet
    from matchmaker.tables.records import BirdRecord

PLACES_TOLD: Final = 6
"""So many places that name a bird are told; of more, how many there are."""


def rows_alike(sheet: Sheet) -> dict[int, int]:
    """Return each row that has just what an earlier row has, in every cell, with the first such."""
    first: dict[tuple[str, ...], int] = {}
    found = {}
    for row in sheet.rows:
        filled = len(row.cells)
        while filled and not row.cells[filled - 1]:
            filled -= 1
        earlier = first.setdefault(row.cells[:filled], row.row)
        if earlier != row.row:
            found[row.row] = earlier
    return found


def rows_twice(tables: FolderTables) -> Iterator[Fault]:
    """Doubt rows that are written twice, alike in every cell, where the names may repeat.

    Scores written twice are told with the traits. Chicks and eggs may have been counted alike
    twice, so that such a row is not surely one too many.
    """
    rows = [("moves", move.row, "bird", move.bird, True) for move in tables.moves]
    rows += [("wishes", wish.row, "bird", wish.bird, True) for wish in tables.wishes]
    rows += [("seen", s.row, "bird", s.bird, bool(s.bird and s.date)) for s in tables.seen]
    rows += [("eggs", egg.row, "pen", egg.pen, False) for egg in tables.eggs]
    for table, row, column, name, safe in rows:
        if row in tables.alike.get(table, {}):
            yield row_twice(tables, table, row, column, name, safe=safe)


def row_twice(
    tables: FolderTables, table: str, row: int, column: str, name: str, *, safe: bool = True
) -> Fault:
    """The finding on a row that is written twice, alike to the last cell: one can go."""
    alike, birds = tables.alike[table], (name,) if column == "bird" and name else ()
    problem, deleted = f"row {row} is row {alike[row]} once more", f"delete row {row}"
    if len(alike) > MANY:  # many are told in the same words, so that they are shown together
        first = next(iter(alike))
        problem = (
            f"{len(alike)} rows stand here once more, as row {first} does of row {alike[first]}"
        )
        name, deleted = "", "delete these rows"
    return tables.fault(
        table,
        row,
        column,
        kind="row-twice",
        value=name,
        problem=f"{problem}, alike in every cell",
        mend=deleted + ("" if safe else ", unless it was counted twice and alike"),
        mends=(CellMend(table=table, row=row, column="", was=name, becomes=None),),
        safe=safe,
        birds=birds,
    )


def bands_in_rows(
    tables: FolderTables, by_band: Mapping[str, Sequence[BirdRecord]]
) -> Iterator[Fault]:
    """A fault for each row of a band but the first, told by what seems to have happened."""
    alike = tables.alike.get("birds", {})
    repeated = {band: rows for band, rows in by_band.items() if len(rows) > 1}
    named = _named(tables, repeated)
    for band, rows in repeated.items():
        for bird in rows[1:]:
            if bird.row in alike:
                yield row_twice(tables, "birds", bird.row, "bird", band)
        own = [bird for bird in rows if bird.row not in alike]
        years = {bird.hatched.year for bird in own if bird.hatched is not None}
        if len(own) > 1 and len(years) == len(own):
            yield from _reused(tables, own, named.get(band, ()), by_band)
        else:
            yield from (_unclear(tables, bird, own) for bird in own[1:])


def _named(tables: FolderTables, bands: Iterable[str]) -> dict[str, list[Mention]]:
    wanted, found = set(bands), dict[str, list[Mention]]()
    if wanted:
        for one in mentions(tables):
            if one.band in wanted:
                found.setdefault(one.band, []).append(one)
    return found


def _rows_told(rows: Sequence[BirdRecord]) -> str:
    return ", ".join(str(bird.row) for bird in rows)


def _unclear(tables: FolderTables, bird: BirdRecord, rows: Sequence[BirdRecord]) -> Fault:
    return tables.fault(
        "birds",
        bird.row,
        "bird",
        kind="duplicate-bird",
        value=bird.bird,
        problem=f"{bird.bird} stands in the rows {_rows_told(rows)}; row {rows[0].row} was used",
        mend="delete the rows that are wrong, or write the right band",
        birds=(bird.bird,),
    )


def _reused(
    tables: FolderTables,
    rows: Sequence[BirdRecord],
    named: Sequence[Mention],
    known: Mapping[str, object],
) -> Iterator[Fault]:
    """One band on birds of several years; the rows that name it are shared out by their days."""
    bands = {bird.row: _with_year(bird, known) for bird in rows}
    meant = [(mention, [bird for bird in rows if can_stand(bird, mention)]) for mention in named]
    cells = [_own_cell(bird, bands[bird.row]) for bird in rows]
    cells += [one.mended(bands[fit[0].row]) for one, fit in meant if len(fit) == 1]
    years = " and ".join(str(bird.hatched.year) for bird in rows if bird.hatched)
    for bird in rows[1:]:
        yield tables.fault(
            "birds",
            bird.row,
            "bird",
            kind="band-reused",
            value=bird.bird,
            problem=f"the band {bird.bird} was used again: the rows {_rows_told(rows)} are birds "
            f"hatched in {years}; row {rows[0].row} was used",
            mend=_shared_out(bands, rows, meant),
            mends=tuple(cells) if bird is rows[1] else (),
            birds=(bird.bird,),
        )


def _own_cell(bird: BirdRecord, band: str) -> CellMend:
    return CellMend(table="birds", row=bird.row, column="bird", was=bird.bird, becomes=band)


def _with_year(bird: BirdRecord, known: Mapping[str, object]) -> str:
    assert bird.hatched is not None  # noqa: S101  the caller has looked
    band = f"{bird.bird}-{bird.hatched.year}"
    while band in known:
        band += "-2"
    return band


def _shared_out(
    bands: Mapping[int, str],
    rows: Sequence[BirdRecord],
    meant: Sequence[tuple[Mention, Sequence[BirdRecord]]],
) -> str:
    parts = ["add the year: " + ", ".join(f"row {bird.row} {bands[bird.row]}" for bird in rows)]
    for bird in rows:
        theirs = [one for one, fit in meant if len(fit) == 1 and fit[0] is bird]
        if theirs:
            parts.append(f"by their days {bands[bird.row]} is meant in {_places(theirs)}")
    unclear = [one for one, fit in meant if len(fit) != 1]
    if unclear:
        parts.append(f"which is meant is not clear in {_places(unclear)}")
    return "; ".join(parts)


def _places(named: Sequence[Mention]) -> str:
    return listed([f"{one.place} ({one.column})" for one in named], PLACES_TOLD)
