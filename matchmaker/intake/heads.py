"""Which row of a grid heads a table: by the words keepers use, and by its shape."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.intake.header_words import is_exact_header_word, is_header_word
from matchmaker.intake.shape import UNITS, Shape, has_digit, is_label, shape_of, unit_of
from matchmaker.tables.cells import SEX_WORDS, YES_WORDS
from matchmaker.tables.delimited import HEADER_WITHIN
from matchmaker.tables.schema import plain

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from matchmaker.tables.raw import RawRow

LOOK_BELOW: Final = 12
"""Rows below a row that are looked at to see whether it heads them."""

HEADERS_COMPARED: Final = 60
"""So many cells of a row are compared with the words of headers; no table of a flock has more."""

_DATA: Final = frozenset({Shape.NUMBER, Shape.YEAR, Shape.DATE, Shape.CODE})


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """A header found: its row's place, the place of the row above that it is joined with."""

    at: int
    above: int | None
    headers: tuple[str, ...]

    @property
    def start(self) -> int:
        """The place of the first row that belongs to it."""
        return self.at if self.above is None else self.above


def filled(cells: Sequence[str]) -> list[str]:
    """Return the cells that hold something."""
    return [cell for cell in cells if cell]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scanner:
    """Looks for headers in the rows of a region; ``spans`` are cells merged across columns.

    ``spans`` maps the place of a row and a column to the last column of the merged cell.
    """

    rows: Sequence[RawRow]
    known: Collection[str]
    spans: dict[tuple[int, int], int]

    def first(self) -> Head | None:
        """Return the first header of the region."""
        for at in range(min(len(self.rows), HEADER_WITHIN)):
            if self._may_head(at) and (self._words(at) >= 2 or self._by_shape(at)):
                return self._head(self._better(at))
        alone = self._one_column()
        return None if alone is None else self._head(alone)

    def span(self, head: Head) -> tuple[list[int], Head | None]:
        """Return where the header stands once more below, and the next header of another kind."""
        written = [row.cells for row in self.rows[head.start : head.at + 1]]
        same = {plain(cell) for cells in (head.headers, *written) for cell in cells if cell}
        again: list[int] = []
        for at in range(head.at + 1, len(self.rows)):
            if not self._may_head(at):
                continue
            names = {plain(cell) for cell in filled(self.rows[at].cells)}
            if names <= same:
                again.append(at)
            elif self._heads_anew(at):
                return again, self._head(self._better(at))
        return again, None

    def _heads_anew(self, at: int) -> bool:
        cells = filled(self.rows[at].cells)
        known = sum(is_exact_header_word(cell) or cell in self.known for cell in cells)
        after_gap = self._after_gap(at)
        if known >= 3 and known >= 0.6 * len(cells):
            return True
        if after_gap and known >= 2 and known >= 0.5 * len(cells):
            return True
        return after_gap and known >= 1 and self._by_shape(at)

    def _after_gap(self, at: int) -> bool:
        """Whether a blank row stands above, perhaps with a title between."""
        while at > 0:
            if self.rows[at].row - self.rows[at - 1].row > 1:
                return True
            if len(filled(self.rows[at - 1].cells)) > 1:
                return False
            at -= 1
        return True

    def _may_head(self, at: int) -> bool:
        cells = filled(self.rows[at].cells)
        if len(cells) < 2:
            return False
        labels = sum(is_label(cell) or cell in self.known for cell in cells)
        if 0 < labels < 0.7 * len(cells):
            known = sum(map(is_exact_header_word, cells[:HEADERS_COMPARED]))
            labels = sum(map(_under_group, cells)) if known else 0
        return labels >= 0.7 * len(cells) and len({plain(cell) for cell in cells}) > 1

    def _words(self, at: int) -> int:
        cells = dict.fromkeys(filled(self.rows[at].cells))
        looked = list(cells)[:HEADERS_COMPARED]
        return sum(is_header_word(cell) or cell in self.known for cell in looked)

    def _better(self, at: int) -> int:
        """Return the row itself, or the one below where that names more columns."""
        below = at + 1
        if self._joined(below, at):
            return below
        if below >= len(self.rows) or not self._may_head(below):
            return at
        return below if self._words(below) > self._words(at) else at

    def _by_shape(self, at: int) -> bool:
        """Whether words stand above cells of another kind, in a good part of the columns."""
        below = self._below(at)
        if not below:
            return False
        contrast = columns = 0
        for place, cell in enumerate(self.rows[at].cells):
            cells = [row.cells[place] for row in below if row.cells[place]]
            if not cell or not cells:
                continue
            columns += 1
            contrast += not has_digit(cell) and _other_kind(cells)
        return columns >= 2 and contrast >= max(1, 0.25 * columns)

    def _below(self, at: int) -> list[RawRow]:
        """Return the next rows as far as no blank row parts them."""
        found: list[RawRow] = []
        last = self.rows[at].row
        for row in self.rows[at + 1 : at + 1 + LOOK_BELOW]:
            if row.row - last > 1 and found:
                break
            found.append(row)
            last = row.row
        return found

    def _one_column(self) -> int | None:
        """Return the place of a header above a single column, told by its word alone."""
        for at, row in enumerate(self.rows[:HEADER_WITHIN]):
            cells = filled(row.cells)
            rest = self.rows[at + 1 : at + 1 + LOOK_BELOW]
            narrow = rest and all(len(filled(below.cells)) == 1 for below in rest)
            if len(cells) == 1 and narrow and is_exact_header_word(cells[0]):
                return at
        return None

    def _head(self, at: int) -> Head:
        if at > 0 and self._joined(at, at - 1):
            return Head(at=at, above=at - 1, headers=self._join(at, at - 1))
        if self._has_units_below(at):
            pairs = zip(self.rows[at].cells, self.rows[at + 1].cells, strict=True)
            headers = (f"{name} ({unit.strip('()[]')})" if unit else name for name, unit in pairs)
            return Head(at=at + 1, above=at, headers=tuple(headers))
        return Head(at=at, above=None, headers=self.rows[at].cells)

    def _has_units_below(self, at: int) -> bool:
        """Whether the row below holds nothing but the units of columns that are named."""
        if at + 1 >= len(self.rows) or self.rows[at + 1].row - self.rows[at].row > 1:
            return False
        pairs = zip(self.rows[at].cells, self.rows[at + 1].cells, strict=True)
        units = [(name, unit.strip("()[] ").casefold()) for name, unit in pairs if unit]
        return bool(units) and all(name and unit in UNITS for name, unit in units)

    def _joined(self, at: int, above: int) -> bool:
        """Whether the row above holds names of groups over the columns of this one."""
        if at >= len(self.rows) or self.rows[at].row - self.rows[above].row > 1:
            return False
        upper, lower = self.rows[above].cells, self.rows[at].cells
        if not all(map(is_label, filled(upper))) or not all(map(_under_group, filled(lower))):
            return False
        ends = {place: self._end(above, place) for place, cell in enumerate(upper) if cell}
        groups = [place for place, end in ends.items() if end > place]
        alone = [place for place, end in ends.items() if end == place]
        empty_under = not any(lower[place] for place in alone)
        named_under = all(lower[place] for place in groups)
        return bool(groups) and empty_under and named_under and not self._is_title(above, ends)

    def _is_title(self, above: int, ends: dict[int, int]) -> bool:
        """Whether the row has one name only, at its start, which may stand over all columns."""
        if len(ends) > 1 or 0 not in ends:
            return False
        return (above, 0) not in self.spans or ends[0] >= len(self.rows[above].cells) - 1

    def _end(self, above: int, place: int) -> int:
        """Return the last column that a group's name stands over."""
        merged = self.spans.get((above, place))
        if merged is not None:
            return min(merged, len(self.rows[above].cells) - 1)
        upper, lower = self.rows[above].cells, self.rows[above + 1].cells
        end = place
        if lower[place] and not is_exact_header_word(lower[place]):
            while end + 1 < len(lower) and not upper[end + 1] and _names_part(lower[end + 1]):
                end += 1
        return end

    def _join(self, at: int, above: int) -> tuple[str, ...]:
        upper, lower = self.rows[above].cells, list(self.rows[at].cells)
        for place, group in enumerate(upper):
            if group:
                for under in range(place, self._end(above, place) + 1):
                    lower[under] = " - ".join(filled((group, lower[under])))
        return tuple(lower)


def _under_group(cell: str) -> bool:
    """Whether a cell can stand in the lower row of a header: a label, a year, an age."""
    shape = shape_of(cell)
    return is_label(cell) or shape is Shape.YEAR or (shape is Shape.NUMBER and bool(unit_of(cell)))


def _names_part(cell: str) -> bool:
    return bool(cell) and not is_exact_header_word(cell)


def _other_kind(cells: list[str]) -> bool:
    """Whether most of these cells are no words: figures, dates, bands, signs of sex or yes."""
    other = sum(
        shape_of(cell) in _DATA or cell.casefold() in SEX_WORDS or cell.casefold() in YES_WORDS
        for cell in cells
    )
    return other >= 0.6 * len(cells)
