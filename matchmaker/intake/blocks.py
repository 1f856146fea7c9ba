"""A keeper's book cut into its tables: each filled row is a header, a row of one, or outside."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.intake.asides import outside_rows
from matchmaker.intake.grid import Grid, read_grids
from matchmaker.intake.heads import Head, Scanner, filled
from matchmaker.intake.model import Block, Merged, Outside
from matchmaker.intake.sections import sections
from matchmaker.intake.shape import Shape, shape_of
from matchmaker.intake.sides import Region, sides, slices

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator
    from pathlib import Path

    from matchmaker.tables.findings import Findings
    from matchmaker.tables.raw import RawRow

ABOVE: Final = "it stands above the header"
JOINED: Final = "it is joined with the header below it"
AGAIN: Final = "it is the header once more"
NO_TABLE: Final = "no table was found here"


def read_blocks(path: Path, known: Collection[str], findings: Findings) -> tuple[Block, ...]:
    """Return the tables in a file, sheet by sheet.

    ``known`` are words that head columns beside those of the tables: symbols of loci, names of
    traits. What cannot be read at all is a fault in ``findings``; hidden sheets are doubts.
    """
    grids = read_grids(path, known, findings)
    return tuple(block for grid in grids for block in cut(grid, known))


def cut(grid: Grid, known: Collection[str] = ()) -> tuple[Block, ...]:
    """Return the tables of one sheet, from the top down and from left to right."""
    if not grid.rows:
        return ()
    found = _Cutter(grid, known).blocks(Region(rows=grid.rows, left=0))
    return tuple(part for block in found for part in sections(block))


class _Cutter:
    """Cuts the regions of one sheet into blocks."""

    def __init__(self, grid: Grid, known: Collection[str]) -> None:
        self.grid = grid
        self.known = frozenset(known)

    def blocks(self, region: Region) -> Iterator[Block]:
        """Yield the tables of a region."""
        scanner = self._scanner(region)
        head = scanner.first()
        if head is None:
            yield self._without_header(region)
            return
        outside = _outside(region.rows[: head.start], ABOVE)
        while head is not None:
            again, following = scanner.span(head)
            end = len(region.rows) if following is None else following.start
            titles = 0 if following is None else _titles_above(region.rows, head.at + 1, end)
            span = Region(rows=region.rows[head.start : end - titles], left=region.left)
            parts = sides(span, lambda part: self._scanner(part).first())
            if len(parts) > 1:
                found = [block for part in parts for block in self.blocks(part)]
                yield _with_outside(found[0], outside)
                yield from found[1:]
            else:
                rows = region.rows[head.at + 1 : end - titles]
                upper = _outside(region.rows[head.start : head.at], JOINED)
                repeats = [region.rows[at] for at in again]
                numbers = {row.row for row in repeats}
                kept = tuple(row for row in rows if row.row not in numbers)
                more = (*outside, *upper, *_outside(repeats, AGAIN))
                yield self._block(region, head, kept, more)
            outside = _outside(region.rows[end - titles : end], ABOVE)
            head = following

    def _scanner(self, region: Region) -> Scanner:
        places = {row.row: at for at, row in enumerate(region.rows)}
        spans = {
            (places[top + 1], left - region.left): right - region.left
            for (top, left), (_, right) in self.grid.merged
            if right > left >= region.left and top + 1 in places
        }
        return Scanner(rows=region.rows, known=self.known, spans=spans)

    def _without_header(self, region: Region) -> Block:
        """Return cells that no row heads: rows of a table nobody named, or mere text."""
        wide = [row for row in region.rows if len(filled(row.cells)) > 1]
        shapes = [shape_of(cell) for row in wide for cell in row.cells if cell]
        data = sum(shape not in {Shape.WORD, Shape.TEXT} for shape in shapes)
        if len(wide) >= 2 and len(wide) >= 0.6 * len(region.rows) and data >= 0.3 * len(shapes):
            head = Head(at=-1, above=None, headers=("",) * region.width)
            return self._block(region, head, region.rows, ())
        return Block(
            file=self.grid.file,
            sheet=self.grid.sheet,
            header_row=0,
            headers=(),
            rows=(),
            outside=_outside(region.rows, NO_TABLE),
            first_column=region.left,
        )

    def _block(
        self, region: Region, head: Head, rows: tuple[RawRow, ...], outside: tuple[Outside, ...]
    ) -> Block:
        why = outside_rows(rows, sum(map(bool, head.headers)) or region.width)
        none = [row for row in rows if row.row in why]
        kept = [row for row in rows if row.row not in why]
        left, right = _extent((head.headers, *(row.cells for row in kept)))
        block = Block(
            file=self.grid.file,
            sheet=self.grid.sheet,
            header_row=region.rows[head.at].row if head.at >= 0 else 0,
            headers=head.headers[left:right],
            rows=slices(kept, left, right),
            outside=_in_order(
                (*outside, *(o for row in none for o in _outside([row], why[row.row])))
            ),
            merged=(),
            first_column=region.left + left,
        )
        return _with_merged(block, self.grid)


def _outside(rows: Iterable[RawRow], why: str) -> tuple[Outside, ...]:
    return tuple(Outside(row=row.row, text=" ".join(filled(row.cells)), why=why) for row in rows)


def _in_order(outside: Iterable[Outside]) -> tuple[Outside, ...]:
    return tuple(sorted(outside, key=lambda one: one.row))


def _titles_above(rows: tuple[RawRow, ...], start: int, end: int) -> int:
    """Return how many rows right above a header, with a blank row above them, are its titles."""
    count = 0
    while end - count - 1 >= start and len(filled(rows[end - count - 1].cells)) == 1:
        count += 1
        if rows[end - count].row - rows[end - count - 1].row > 1:
            return count
    return 0


def _extent(rows: Iterable[tuple[str, ...]]) -> tuple[int, int]:
    used = [place for cells in rows for place, cell in enumerate(cells) if cell]
    return (min(used), max(used) + 1) if used else (0, 0)


def _with_outside(block: Block, outside: tuple[Outside, ...]) -> Block:
    return replace(block, outside=_in_order((*outside, *block.outside)))


def _with_merged(block: Block, grid: Grid) -> Block:
    """Add the cells merged down a column whose first row is one of the block's."""
    numbers = {row.row for row in block.rows}
    end = block.first_column + len(block.headers)
    merged = tuple(
        Merged(first=top + 1, last=bottom + 1, at=left - block.first_column)
        for (top, left), (bottom, _) in sorted(grid.merged)
        if bottom > top and top + 1 in numbers and block.first_column <= left < end
    )
    return replace(block, merged=merged)
