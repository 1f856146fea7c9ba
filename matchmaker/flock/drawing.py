"""A whole pedigree laid out in rows: parents above their chicks, with few links crossing.

Rows first, then an order in each row, after Sugiyama, Tagawa and Toda (1981, IEEE Trans SMC 11:109)
and Gansner and others (1993, IEEE Trans Softw Eng 19:214); both from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

import networkx as nx

from matchmaker.flock.drawing_order import Rows, well_ordered
from matchmaker.flock.pedigree import LIKELY

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from matchmaker.flock.pedigree import Pedigree

_Node: TypeAlias = "str | tuple[str, str, int]"
"""A bird, or the bend in a row of the link from parent to chick."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Birds in rows from the oldest down, each from left to right; ``crossings`` of the links.

    ``years`` are those of the rows where all whose year is known have the same, else ``None``.
    """

    rows: tuple[tuple[str, ...], ...]
    years: tuple[int | None, ...]
    crossings: int

    def places(self) -> dict[str, tuple[int, int]]:
        """Row and place in it of each bird, both from 0."""
        return {
            band: (row, at) for row, birds in enumerate(self.rows) for at, band in enumerate(birds)
        }


def drawn(pedigree: Pedigree, birds: Collection[str], years: Mapping[str, int | None]) -> Drawing:
    """Lay out some birds of a pedigree with the links between them.

    A bird stands in the row of its year of hatch, but always below its parents: where years are
    missing or contradict that, the row follows from the parents, a founder's from its first chick.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.

    Examples
    --------
    The dam's brother is put beside her, so that no links cross:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A sussex",
    ...     "D ? B sussex",
    ...     "E ? A sussex",
    ... )
    >>> found = drawn(family, family.birds, {})
    >>> found.rows, found.crossings
    ((('A', 'B'), ('C', 'E', 'D')), 0)
    """
    graph = linked(pedigree, birds)
    row_of = rows_of(graph, years)
    rows = with_bends(graph, row_of)
    ordered = well_ordered(rows)
    real = tuple(tuple(node for node in row if isinstance(node, str)) for row in ordered.rows)
    return Drawing(
        rows=real,
        years=tuple(_year_of(row, years) for row in real),
        crossings=ordered.crossings,
    )


def linked(pedigree: Pedigree, birds: Collection[str]) -> nx.DiGraph[str]:
    """Links between some birds, from parent to chick; of uncertain parents the likely ones.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A:0.9|B:0.1 sussex",
    ... )
    >>> sorted(linked(family, ["A", "B", "C"]).edges)
    [('A', 'C')]
    """
    first, wanted = pedigree.first_bird, set(birds)
    numbers = sorted(pedigree.node_of()[band] - first for band in wanted)
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(pedigree.birds[at] for at in numbers)
    for at in numbers:
        possible = (*pedigree.sires[at], *pedigree.dams[at])
        for parent, _ in pedigree.birds_among(possible, LIKELY):
            if parent in wanted:
                graph.add_edge(parent, pedigree.birds[at])
    return graph


def rows_of(graph: nx.DiGraph[str], years: Mapping[str, int | None]) -> dict[str, int]:
    """Row of each bird, from 0 without gaps: its year, but below all its parents.

    Examples
    --------
    >>> family = nx.DiGraph([("A", "C"), ("B", "D"), ("C", "D")])
    >>> rows_of(family, {"A": 2022, "C": 2023, "D": 2025}) == {"A": 0, "C": 1, "B": 1, "D": 2}
    True
    """
    known = [year for band in graph if (year := years.get(band)) is not None]
    start = min(known, default=0)
    found: dict[str, int] = {}
    order = list(nx.topological_sort(graph))
    for band in order:
        year = years.get(band)
        below = max((found[parent] + 1 for parent in graph.predecessors(band)), default=0)
        found[band] = below if year is None else max(year - start, below)
    dated = {found[band] for band in order if years.get(band) is not None}
    for band in reversed(order):  # nobody knows when it hatched: close above its first chick
        if years.get(band) is None and graph.out_degree(band):
            last = min(found[chick] for chick in graph.successors(band)) - 1
            fitting = [row for row in dated if found[band] <= row <= last]
            found[band] = max(fitting, default=last)
    level = {row: at for at, row in enumerate(sorted(set(found.values())))}
    return {band: level[row] for band, row in found.items()}


def with_bends(graph: nx.DiGraph[str], row_of: Mapping[str, int]) -> Rows:
    """Rows with a bend wherever a link passes through one, and the pieces of the links.

    Examples
    --------
    >>> family = nx.DiGraph([("A", "B"), ("B", "C"), ("A", "C")])
    >>> with_bends(family, {"A": 0, "B": 1, "C": 2}).rows
    [['A'], ['B', ('A', 'C', 1)], ['C']]
    """
    rows: list[list[_Node]] = [[] for _ in range(max(row_of.values(), default=-1) + 1)]
    for band in graph:
        rows[row_of[band]].append(band)
    segments: list[tuple[_Node, _Node]] = []
    for parent, chick in graph.edges:
        way: list[_Node] = [parent]
        for row in range(row_of[parent] + 1, row_of[chick]):
            way.append((parent, chick, row))
            rows[row].append(way[-1])
        segments += pairwise([*way, chick])
    return Rows(rows, segments)


def _year_of(row: Collection[str], years: Mapping[str, int | None]) -> int | None:
    """The year of a row, if all of its birds whose year is known have the same."""
    found = {year for band in row if (year := years.get(band)) is not None}
    return found.pop() if len(found) == 1 else None
