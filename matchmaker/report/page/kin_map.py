"""Maps of kinship: birds against birds, ordered by line, every cell its shade and its number."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from markupsafe import Markup, escape

from matchmaker.report.page.kin_steps import STEPS, TRACE, short_text, step_of, thousandths

if TYPE_CHECKING:
    from collections.abc import Container, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.kin.kinship import KinshipMatrix

TABLE_MOST: Final = 60
"""Up to so many rows and columns a map is a table with numbers; above it is a drawing."""

OVER: Final = 1 << 13
PAIRED: Final = 1 << 14
SAME: Final = 1 << 15
"""Marks beside step (from bit 10) and thousandths (the ten lowest bits) of a cell."""

Couple = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The birds of one line along an edge of a map."""

    line: str
    birds: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A row of a map: the bird and its cells as markup of our own letters and digits."""

    bird: str
    cells: Markup


@dataclass(frozen=True, slots=True, kw_only=True)
class KinMap:
    """A map: ``rows`` against ``columns``; ``over`` and ``paired`` are marked couples.

    ``row_word`` and ``column_word`` say what stands along its edges ("hen", "cock", "bird").
    """

    key: str
    rows: tuple[Group, ...]
    columns: tuple[Group, ...]
    row_word: str
    column_word: str
    kinship: KinshipMatrix
    over: Container[Couple] = ()
    paired: Container[Couple] = ()

    @property
    def row_birds(self) -> tuple[str, ...]:
        """All birds down the map."""
        return tuple(bird for group in self.rows for bird in group.birds)

    @property
    def column_birds(self) -> tuple[str, ...]:
        """All birds along the map."""
        return tuple(bird for group in self.columns for bird in group.birds)

    @property
    def as_table(self) -> bool:
        """Whether it is small enough for a table with numbers."""
        return max(len(self.row_birds), len(self.column_birds)) <= TABLE_MOST

    @property
    def steps(self) -> tuple[tuple[int, str, str], ...]:
        """The steps of the legend: number, bounds, who is so related."""
        return tuple((at, step.words, step.kin) for at, step in enumerate(STEPS))

    def bodies(self) -> list[tuple[str, list[Band]]]:
        """The rows of the table, line by line."""
        return [
            (group.line, [Band(bird=bird, cells=self._cells(bird)) for bird in group.birds])
            for group in self.rows
        ]

    def _cells(self, row: str) -> Markup:
        found = (self._cell(row, column) for column in self.column_birds)
        return Markup("").join(found)

    def _cell(self, row: str, column: str) -> Markup:
        if row == column:
            return Markup("<td class=self>–")
        kinship = self.kinship.between(row, column)
        marks, sign, words = f"k{step_of(kinship)}", "", ""
        if (row, column) in self.over:
            marks, sign = f"{marks} over", "✕"
        if (row, column) in self.paired:
            marks, words = (
                f"{marks} paired",
                "<span class=visually-hidden> paired this season</span>",
            )
        quotes = '"' if " " in marks else ""
        text = escape(short_text(kinship))
        return Markup(f"<td class={quotes}{marks}{quotes}>{text}{sign}{words}")  # noqa: S704 -- our own letters

    def data(self) -> dict[str, Any]:
        """What scripts read: the birds along both edges and the packed cells."""
        return {
            "rows": [[group.line, list(group.birds)] for group in self.rows],
            "columns": [[group.line, list(group.birds)] for group in self.columns],
            "words": [self.row_word, self.column_word],
            "trace": TRACE,
            "cells": self._packed(),
        }

    def _packed(self) -> str:
        """Two bytes a cell, the lower first: thousandths, step and marks, row by row."""
        cells = [
            self._number(row, column) for row in self.row_birds for column in self.column_birds
        ]
        return base64.b64encode(np.array(cells, dtype="<u2").tobytes()).decode()

    def _number(self, row: str, column: str) -> int:
        if row == column:
            return SAME
        kinship = self.kinship.between(row, column)
        number = thousandths(kinship) + (step_of(kinship) << 10)
        if (row, column) in self.over:
            number += OVER
        return number + PAIRED if (row, column) in self.paired else number


def by_line(birds: Sequence[Bird]) -> tuple[Group, ...]:
    """Birds in groups by their lines, lines by their names, birds by their bands."""
    ordered = sorted(birds, key=lambda bird: (bird.line, bird.band))
    return tuple(
        Group(line=line, birds=tuple(bird.band for bird in group))
        for line, group in groupby(ordered, key=lambda bird: bird.line)
    )
