"""Rows among those of a table that are none of its rows: totals, headings, notes below."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.intake.header_words import tokens_of
from matchmaker.intake.heads import filled
from matchmaker.intake.said import naming
from matchmaker.intake.shape import LONG, Shape, has_digit, shape_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.tables.raw import RawRow

_TOTALS: Final = frozenset(
    (
        *(
            "total",
            "totals",
            "sum",
            "sums",
            "average",
            "averages",
            "mean",
            "subtotal",
            "altogether",
        ),
        *("count", "in all", "all together", "grand total", "sub total"),
    )
)

_SUMS: Final = frozenset({"total", "totals", "sum", "subtotal", "average", "grand total"})
"""Those that mean nothing else, in whatever column they stand."""

TOTAL: Final = "it is a total, no row of its own"
NOTE: Final = "it is a note, no row of the table"
HEADING: Final = "it is a heading among the rows; check whether it says something of those below"
HEADS: Final = "it is a heading among the rows; what it says is taken for those below"


def outside_rows(rows: Sequence[RawRow], width: int) -> dict[int, str]:
    """Return which of these rows (by number) are none of the table, each with the reason.

    Examples
    --------
    >>> from matchmaker.tables.raw import RawRow
    >>> cells = [("C01", "m", "2,1"), ("C02", "f", "1,9"), ("Total", "", "4,0")]
    >>> outside_rows([RawRow(row=at, cells=row) for at, row in enumerate(cells, 2)], 3)
    {4: 'it is a total, no row of its own'}
    """
    if width < 2:
        return {}
    spaced = _spaced_columns(rows)
    found: dict[int, str] = {}
    for row in rows:
        why = _why_outside(row, width, spaced)
        if why:
            found[row.row] = why
    return found


def _spaced_columns(rows: Sequence[RawRow]) -> frozenset[int]:
    """Return the columns in which cells of several words are nothing strange."""
    seen: dict[int, int] = {}
    spaced: dict[int, int] = {}
    for row in rows:
        cells = filled(row.cells)
        if len(cells) < 2:
            continue
        for place, cell in enumerate(row.cells):
            seen[place] = seen.get(place, 0) + bool(cell)
            spaced[place] = spaced.get(place, 0) + (" " in cell)
    return frozenset(place for place, count in spaced.items() if count > max(1, 0.2 * seen[place]))


def _why_outside(row: RawRow, width: int, spaced: frozenset[int]) -> str:
    place, first = next((place, cell) for place, cell in enumerate(row.cells) if cell)
    cells = filled(row.cells)
    if _is_total(first, cells):
        return TOTAL
    if len(cells) == 1 and naming(first) is not None:
        return HEADING
    if len(cells) == 1 and width >= 3:
        return _lone(first, place, spaced)
    if len(cells) == 2 and width >= 4 and len(first) > 1:
        strange = len(first.split()) > 1 and place not in spaced and _figure(cells[1])
        return NOTE if first.endswith(":") or strange else ""
    return ""


def _figure(cell: str) -> bool:
    return shape_of(cell) is Shape.NUMBER


def _is_total(first: str, cells: list[str]) -> bool:
    """Whether a row gives sums: one of their words, and beside it figures or nothing."""
    tokens = tokens_of(first)
    begins = bool(tokens) and (tokens[0] in _TOTALS or " ".join(tokens[:2]) in _TOTALS)
    word = first if begins and not has_digit(tokens[0]) else _sum_word(cells)
    others = [cell for cell in cells if cell != word]
    figures = sum(shape_of(cell) is Shape.NUMBER for cell in others)
    return bool(word) and figures >= 0.5 * len(others)


def _sum_word(cells: list[str]) -> str:
    """Return the cell that is nothing but a word for sums, wherever it stands."""
    return next((cell for cell in cells if cell.strip(" :.").casefold() in _SUMS), "")


def _lone(cell: str, place: int, spaced: frozenset[int]) -> str:
    """Return why a row with one cell is none of the table; a band alone is a row."""
    words = len(cell.split())
    if words >= 4 or len(cell) > LONG or cell.startswith(("*", "!")):
        return NOTE
    if words > 1 and place not in spaced:
        return HEADING
    if cell.endswith(":"):
        return HEADING
    return ""
