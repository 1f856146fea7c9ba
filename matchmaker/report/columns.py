"""What a table is made of, wherever it is shown: headings, and rows of finished text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A heading, and whether its cells are numbers (set to the right) or sentences (wrapped).

    The cells of a ``name`` go over several lines only where the screen is too narrow for them.
    """

    heading: str
    number: bool = False
    sentence: bool = False
    name: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TextTable:
    """Columns, rows of cells, and what the headings mean."""

    columns: Sequence[Column]
    rows: Sequence[Sequence[str]]
    legend: str = ""
