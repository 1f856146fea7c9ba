"""Tables that stand side by side on one sheet, parted by an empty column."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.intake.header_words import names_column, names_key
from matchmaker.intake.heads import Head, filled
from matchmaker.tables.raw import RawRow
from matchmaker.tables.schema import plain

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

GROUPS_MAX: Final = 8
"""More groups of columns than this are one table with many blank columns."""

APART: Final = 0.3
"""Share of the rows that only one side must fill, where no header tells the two apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A part of a sheet: its filled rows, cut to its columns; ``left`` is its first column."""

    rows: tuple[RawRow, ...]
    left: int

    @property
    def width(self) -> int:
        """How many columns it has."""
        return len(self.rows[0].cells) if self.rows else 0

    def columns(self, start: int, end: int) -> Region:
        """Return the columns from ``start`` up to ``end``, with the rows that are filled there."""
        rows = (RawRow(row=row.row, cells=row.cells[start:end]) for row in self.rows)
        return Region(rows=tuple(row for row in rows if any(row.cells)), left=self.left + start)


def sides(region: Region, find: Callable[[Region], Head | None]) -> tuple[Region, ...]:
    """Return the tables side by side in a region, or the region itself where it is only one."""
    starts = _starts(region)
    if not 1 < len(starts) <= GROUPS_MAX:
        return (region,)
    ends = [*starts[1:], region.width]
    parts = [region.columns(starts[0], ends[0])]
    first = starts[0]
    begins = [first]
    for start, end in zip(starts[1:], ends[1:], strict=True):
        right = region.columns(start, end)
        if _apart(parts[-1], right, find):
            parts.append(right)
            begins.append(start)
        else:
            parts[-1] = region.columns(begins[-1], end)
    return tuple(parts) if len(parts) > 1 else (region,)


def _starts(region: Region) -> list[int]:
    """Return where groups of columns begin; a lone cell of a row bridges no empty column."""
    used = {
        place
        for row in region.rows
        if len(filled(row.cells)) > 1
        for place, cell in enumerate(row.cells)
        if cell
    }
    starts = sorted(place for place in used if place - 1 not in used)
    return [0, *starts[1:]]


def _apart(left: Region, right: Region, find: Callable[[Region], Head | None]) -> bool:
    """Whether two sides are tables of their own.

    They are where no word on the right is one of ours, or where the right has bands or pens of
    its own and both name the same thing or one ends well before the other.
    """
    heads = (find(left), find(right))
    if heads[0] is None or heads[1] is None:
        return False
    names = [filled(head.headers) for head in heads if head]
    if min(map(len, names)) < 2:
        return False
    if not any(map(names_column, names[1])):
        return True
    words = [{plain(name) for name in side} for side in names]
    keys = {plain(name) for name in names[1] if names_key(name)}
    return bool(keys & words[0]) or (bool(keys) and _ends_apart(left, right))


def _ends_apart(left: Region, right: Region) -> bool:
    """Whether one side ends well before the other, without a gap until there."""
    sets = sorted(({row.row for row in side.rows} for side in (left, right)), key=len)
    short, long = sets
    only = (short | long) - (short & long)
    if len(only) < APART * len(short | long):
        return False
    within = [row for row in long if min(short) <= row <= max(short)]
    return len(short & set(within)) >= 0.9 * len(within)


def slices(rows: Sequence[RawRow], start: int, end: int) -> tuple[RawRow, ...]:
    """Return rows cut to the columns from ``start`` up to ``end``."""
    return tuple(RawRow(row=row.row, cells=row.cells[start:end]) for row in rows)
