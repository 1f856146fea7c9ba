"""A finding with a mend told cell by cell, made up for the tests: a defect called "no defect".

``with_no_defects`` has ``check`` doubt each such cell, which keeps the bird out of the pens, and
mend it; so what is done with mends is tested whatever else finds them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.errors import CellMend, Fault
from matchmaker.flock.flock import check_flock

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pytest

    from matchmaker.tables.folder import FolderTables

KIND = "no-defect"
WRITTEN = "no defect"


def no_defects(tables: FolderTables, *, safe: bool = True) -> Iterator[Fault]:
    """Every bird whose defect is that it has none."""
    for record in tables.birds:
        if record.defects == (WRITTEN,):
            mend = CellMend(
                table="birds", row=record.row, column="defects", was=WRITTEN, becomes=""
            )
            yield tables.fault(
                "birds",
                record.row,
                "defects",
                kind=KIND,
                value=WRITTEN,
                problem=f"this is read as a defect of {record.bird}",
                mend="empty the cell",
                mends=(mend,),
                safe=safe,
            )


def with_no_defects(patch: pytest.MonkeyPatch, *, safe: bool = True) -> None:
    """Let every check find them too, after what it finds anyway."""

    def found(tables: FolderTables) -> tuple[tuple[Fault, ...], tuple[Fault, ...]]:
        faults, doubts = check_flock(tables)
        return faults, (*doubts, *no_defects(tables, safe=safe))

    patch.setattr("matchmaker.checking.check_flock", found)
