"""A row further down that names columns again: a table that was pasted below another."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.errors import Fault
from matchmaker.tables.schema import plain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.tables.findings import Findings
    from matchmaker.tables.raw import RawRow, RawTable
    from matchmaker.tables.schema import Table


def rows_under(raw: RawTable, at: int, table: Table, findings: Findings) -> tuple[RawRow, ...]:
    """The rows under the header at ``at``, as far as they are of its columns.

    The same header once more is left out, with a doubt. Another one ends the table, with a fault:
    what stands below is of other columns, perhaps of another flock.
    """
    header, rows = raw.rows[at], raw.rows[at + 1 :]
    spelled = table.spellings()
    again = [place for place, row in enumerate(rows) if _names_columns(row, table, spelled)]
    for place in again:
        if _same(rows[place], header):
            findings.doubts.append(_said_twice(raw.file, rows[place]))
        else:
            findings.faults.append(_another_table(raw.file, rows[place], len(rows) - place - 1))
            rows = rows[:place]
            break
    return tuple(row for place, row in enumerate(rows) if place not in set(again))


def _names_columns(row: RawRow, table: Table, spelled: Mapping[str, str]) -> bool:
    """Whether every cell needed, and two at least, are there by name and not by what they say."""
    filled = [cell for cell in row.cells if cell]
    if not filled or plain(filled[0]) not in spelled:  # of most rows no more is looked at
        return False
    named = {spelled.get(plain(cell), "") for cell in filled} - {""}
    return len(named) >= 2 and named.issuperset(table.needed)


def _same(row: RawRow, header: RawRow) -> bool:
    one, other = ([plain(cell) for cell in each.cells if cell] for each in (row, header))
    return one == other


def _said_twice(file: str, row: RawRow) -> Fault:
    return Fault(
        kind="header-again",
        file=file,
        row=row.row,
        problem=f"row {row.row} is the header once more; it is left out",
        mend="delete the row; if a second flock was pasted below, give it a folder of its own",
    )


def _another_table(file: str, row: RawRow, below: int) -> Fault:
    rows = "the row below it is" if below == 1 else f"the {below} rows below it are"
    return Fault(
        kind="second-table",
        file=file,
        row=row.row,
        value=", ".join(cell for cell in row.cells if cell)[:80],
        problem=f"row {row.row} names columns again, and not as the header does: a second table "
        f"seems to be pasted below; {rows} not read",
        mend="give the second table its own file (a second flock its own folder), or bring its "
        "columns into the order of the header and delete this row",
    )
