"""A finding with a mend told cell by cell, made up for the tests: lines written in small letters.

``with_spelling`` has ``check`` doubt each bird whose line differs from a commoner one by its
letters' case alone, and mend it; so what is done with mends is tested whatever else finds them.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from matchmaker import checking
from matchmaker.errors import CellMend, Fault

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pytest

    from matchmaker.tables.folder import FolderTables

KIND = "line-spelling"


def spelling_doubts(tables: FolderTables, *, safe: bool = True) -> Iterator[Fault]:
    """Every bird whose line is a commoner one but for large letters."""
    counts = Counter(record.line for record in tables.birds if record.line)
    for record in tables.birds:
        alike = [line for line in counts if line.casefold() == record.line.casefold()]
        usual = max(alike, key=lambda line: (counts[line], line), default="")
        if usual != record.line:
            yield spelled(tables, record.row, record.line, usual, safe=safe)


def spelled(tables: FolderTables, row: int, was: str, becomes: str, *, safe: bool = True) -> Fault:
    """Return the doubt about one line, with its mend."""
    return tables.fault(
        "birds",
        row,
        "line",
        kind=KIND,
        value=was,
        problem=f"the line {was} is written {becomes} elsewhere",
        mend=f"write {becomes}",
        mends=(CellMend(table="birds", row=row, column="line", was=was, becomes=becomes),),
        safe=safe,
    )


def with_spelling(patch: pytest.MonkeyPatch, *, safe: bool = True) -> None:
    """Let every check find the spellings of lines too."""
    usual = checking.check_flock

    def check_flock(tables: FolderTables) -> tuple[tuple[Fault, ...], tuple[Fault, ...]]:
        faults, doubts = usual(tables)
        return faults, (*doubts, *spelling_doubts(tables, safe=safe))

    patch.setattr(checking, "check_flock", check_flock)
