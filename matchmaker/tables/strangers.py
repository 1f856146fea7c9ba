"""Tables that speak of other birds: another flock's table, told once and not row by row."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.mentions import Mention

FEWEST: Final = 10
"""So many rows with unknown bands may still be slips, each with its own mend."""

KIND: Final = "other-birds"


def tables_of_others(mentions: Iterable[Mention], birds: Collection[str]) -> dict[str, list[int]]:
    """The rows with unknown bands, by table, where they are more than half of those with bands."""
    named: dict[str, set[int]] = defaultdict(set)
    unknown: dict[str, set[int]] = defaultdict(set)
    for mention in mentions:
        named[mention.table].add(mention.row)
        if mention.band not in birds:
            unknown[mention.table].add(mention.row)
    return {
        table: sorted(rows)
        for table, rows in unknown.items()
        if table != "birds" and len(rows) > FEWEST and 2 * len(rows) > len(named[table])
    }


def told_once(tables: FolderTables, others: dict[str, list[int]]) -> Iterator[Fault]:
    """One fault for each table of other birds."""
    for table, rows in others.items():
        yield tables.fault(
            table,
            None,
            None,
            kind=KIND,
            problem=f"{len(rows)} rows, the first of them row {rows[0]}, name birds that are not "
            "in the table of birds: this table or that one may be another flock's",
            mend="put the table of this flock in its place; a second flock wants its own folder",
        )
