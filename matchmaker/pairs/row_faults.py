"""Faults of written rows and of a rotation, and doubts on what opens nothing this season."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.pairs.crossings import is_open, rotation_rows, row_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.errors import Fault
    from matchmaker.pairs.crossings import Crossing, Steps
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables


def crossing_faults(tables: FolderTables) -> list[Fault]:
    """Rows that cannot be read as meant: a turn without a start, two rows of one name."""
    if tables.settings is None:
        return []
    faults = []
    rotation = tables.settings.rotation
    names = {row for row, _, _ in rotation_rows(rotation.order)} if rotation else set()
    for at, row in enumerate(tables.settings.matings):
        where = f"matings.{at}"
        if row.every > 1 and row.start is None:
            faults.append(
                tables.setting_fault(
                    f"{where}.every",
                    kind="turn-without-start",
                    value=str(row.every),
                    problem="a row open every few seasons must say from which season on",
                    mend=f"add from = {tables.settings.season} (a season in which it is open)",
                )
            )
        name = row_name(row, at)
        if name in names:
            faults.append(
                tables.setting_fault(
                    f"{where}.name",
                    kind="duplicate-row",
                    value=name,
                    problem=f"two rows of matings are called {name!r}",
                    mend="give each row a name of its own",
                )
            )
        names.add(name)
    return faults


def row_doubts(tables: FolderTables, steps: Steps) -> list[Fault]:
    """Doubts on what opens nothing: a turn that is not now, lines without mates, idle keys."""
    settings = tables.settings
    if settings is None:
        return []
    return [
        *_closed_rows(tables, settings),
        *_chicks_of_tests(tables, settings),
        *_no_chicks_kept(tables, settings, steps),
    ]


def _closed_rows(tables: FolderTables, settings: Settings) -> Iterator[Fault]:
    """Rows whose turn it is not this season."""
    return (
        tables.setting_fault(
            f"matings.{at}",
            kind="row-closed",
            value=row_name(row, at),
            problem=f"this row is not open in {settings.season}",
            mend="nothing needs doing if that is meant",
        )
        for at, row in enumerate(settings.matings)
        if not is_open(row, settings)
    )


def _chicks_of_tests(tables: FolderTables, settings: Settings) -> Iterator[Fault]:
    for at, row in enumerate(settings.matings):
        if row.purpose == "test" and row.chicks:
            yield tables.setting_fault(
                f"matings.{at}.chicks",
                kind="idle-setting",
                value=row.chicks,
                problem="the chicks of a test mating join no line: none of them is kept",
                mend="delete chicks from this row",
            )


def _no_chicks_kept(tables: FolderTables, settings: Settings, steps: Steps) -> Iterator[Fault]:
    """All rows are tests, or none is open since no line is pure."""
    if settings.matings and all(row.purpose == "test" for row in settings.matings):
        yield tables.setting_fault(
            "matings",
            kind="tests-alone",
            value="",
            problem="written rows take the place of the derived ones, and these are all test "
            "matings: no chick of this season is kept",
            mend="write the rows for the chicks you want beside them ([[matings]] again)",
        )
    if not settings.matings and steps.backcross and not steps.hold:
        yield tables.setting_fault(
            "recurrent",
            kind="no-recurrent-line",
            value=settings.recurrent,
            problem=f"no line consists of pure {settings.recurrent} birds, so no backcross is open",
            mend="check breed and line of the pure birds, or write [[matings]] rows",
        )


def pens_without_rows(tables: FolderTables, crossings: Iterable[Crossing]) -> list[Fault]:
    """A doubt for each open pen that is kept for a purpose of which no row is open."""
    purposes = {str(crossing.purpose) for crossing in crossings}
    return [
        tables.fault(
            "pens",
            pen.row,
            "use",
            kind="no-row-for-pen",
            value=pen.use,
            problem=f"pen {pen.pen} is kept for {pen.use} matings and none are open this season: "
            "it stays empty",
            mend="empty the cell if the pen may be used for others",
        )
        for pen in tables.pens
        if pen.open and pen.use and pen.use not in purposes
    ]
