"""What every picture of the page is made of: drawings, words and the table behind them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markupsafe import Markup


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The numbers behind a picture; the first ``words`` columns are text, the others numbers."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """A line of a legend: what a look stands for. ``kind`` is that of the curve."""

    name: str
    look: int
    kind: str = "line"
    dash: str = ""
    marker: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture: its heading, what to see in words, drawings, legend and tables.

    Where there is nothing to draw, ``sentences`` say why, or how to put it in.
    """

    key: str
    title: str
    sentences: tuple[str, ...]
    drawings: tuple[Markup, ...] = ()
    legend: tuple[Sample, ...] = ()
    tables: tuple[Table, ...] = ()
