"""Cells that contradict other cells of their own row, or the bird they are about."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from matchmaker.tables.records import BirdRecord, Sex, Status
from matchmaker.tables.stays import stays_that_clash

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from matchmaker.errors import Fault
    from matchmaker.tables.findings import Findings
    from matchmaker.tables.folder import FolderTables


def within_rows(tables: FolderTables, found: Findings) -> None:
    """Find days out of order, counts that grow from egg to chick, clashing stays, idle cells."""
    found.faults += _days_out_of_order(tables)
    found.faults += _growing_counts(tables)
    found.faults += _too_few_places(tables)
    found.faults += _before_hatching(tables)
    stays_that_clash(tables, found)
    for bird in tables.birds:
        found.doubts += _idle_cells(tables, bird)


def _days_out_of_order(tables: FolderTables) -> Iterator[Fault]:
    for bird in tables.birds:
        gone = bird.left_on
        if gone is not None and _surely_before(gone, bird):
            yield _out_of_order(tables, "birds", bird.row, ("hatched", "left_on"), gone)
    for move in tables.moves:
        if move.moved_in and move.moved_out and move.moved_out < move.moved_in:
            names = ("moved_in", "moved_out")
            yield _out_of_order(tables, "moves", move.row, names, move.moved_out)
    for pen in tables.pens:
        if pen.first_day and pen.last_day and pen.last_day < pen.first_day:
            yield _out_of_order(tables, "pens", pen.row, ("from", "until"), pen.last_day)
    yield from _egg_days_out_of_order(tables)


def _egg_days_out_of_order(tables: FolderTables) -> Iterator[Fault]:
    for egg in tables.eggs:
        days = {
            "collected_from": egg.collected_from,
            "collected_to": egg.collected_to,
            "set_on": egg.set_on,
        }
        given = [(name, day) for name, day in days.items() if day is not None]
        for (early, day), (late, next_day) in pairwise(given):
            if next_day < day:
                yield _out_of_order(tables, "eggs", egg.row, (early, late), next_day)


def _out_of_order(
    tables: FolderTables, table: str, row: int, names: tuple[str, str], day: dt.date
) -> Fault:
    return tables.fault(
        table,
        row,
        names[1],
        kind="days-out-of-order",
        value=str(day),
        problem=f"{names[1]} is before {names[0]}",
        mend="mend one of the two dates",
    )


def _growing_counts(tables: FolderTables) -> Iterator[Fault]:
    for egg in tables.eggs:
        counts = {
            "eggs": egg.eggs,
            "fertile": egg.fertile,
            "hatched": egg.hatched,
            "raised": egg.raised,
        }
        given = [(name, count) for name, count in counts.items() if count is not None]
        for (before, more), (after, fewer) in pairwise(given):
            if fewer > more:
                yield tables.fault(
                    "eggs",
                    egg.row,
                    after,
                    kind="counts-grow",
                    value=str(fewer),
                    problem=f"{after} is {fewer}, more than {before}, which is {more}",
                    mend="mend one of the two counts",
                )


def _too_few_places(tables: FolderTables) -> Iterator[Fault]:
    for pen in tables.pens:
        if 0 < pen.hens_max < pen.hens_min:
            yield tables.fault(
                "pens",
                pen.row,
                "hens_min",
                kind="too-few-places",
                value=str(pen.hens_min),
                problem=f"hens_min is {pen.hens_min}, but the pen holds {pen.hens_max}",
                mend="lower hens_min or raise hens_max",
            )


def _before_hatching(tables: FolderTables) -> Iterator[Fault]:
    birds = {bird.bird: bird for bird in tables.birds}
    rows = [("seen", s.row, s.bird, s.date) for s in tables.seen]
    rows += [("scores", s.row, s.bird, s.date) for s in tables.scores]
    rows += [("moves", m.row, m.bird, m.moved_in) for m in tables.moves]
    for table, row, band, day in rows:
        if day is not None and band in birds and _surely_before(day, birds[band]):
            yield tables.fault(
                table,
                row,
                "moved_in" if table == "moves" else "date",
                kind="before-hatching",
                value=str(day),
                problem=f"{band} hatched after that, on {birds[band].hatched}",
                mend="mend this date or the hatching date of the bird",
            )


def _surely_before(day: dt.date, bird: BirdRecord) -> bool:
    if bird.hatched is None:
        return False
    return day.year < bird.hatched.year if bird.hatched_is_year else day < bird.hatched


def _idle_cells(tables: FolderTables, bird: BirdRecord) -> Iterator[Fault]:
    """Tell of cells that say something the rest of the row takes away."""
    if bird.left_on is not None and bird.status.alive_here:
        yield _idle(
            tables,
            bird,
            "left_on",
            f"it has left, but its status is {bird.status}",
            "write sold, dead or culled as its status, or empty left_on",
        )
    if bird.release_on is not None and bird.status.alive_here and not _isolated(bird):
        yield _idle(
            tables,
            bird,
            "release_on",
            f"a quarantine ends, but its status is {bird.status}",
            "write quarantine as its status, or empty release_on",
        )
    if bird.hens_max is not None and bird.sex is Sex.HEN:
        yield _idle(tables, bird, "hens_max", "it is a hen", "empty the cell or mend the sex")
    if bird.lay_per_week and bird.sex is Sex.COCK:
        yield _idle(tables, bird, "lay_per_week", "it is a cock", "empty the cell or mend the sex")


def _isolated(bird: BirdRecord) -> bool:
    return bird.status is Status.QUARANTINE


def _idle(tables: FolderTables, bird: BirdRecord, column: str, problem: str, mend: str) -> Fault:
    value = getattr(bird, column)
    return tables.fault(
        "birds",
        bird.row,
        column,
        kind="idle-cell",
        value=f"{value:g}" if isinstance(value, float) else str(value),
        problem=problem,
        mend=mend,
    )
