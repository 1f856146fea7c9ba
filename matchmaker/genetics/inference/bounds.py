"""How many cells any order of summing out would need at least: a quick no where all is tangled."""

from __future__ import annotations

import heapq
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.genetics.inference.elimination import Neighbours


def least_cells(near: Neighbours, sizes: Mapping[int, int], enough: int) -> int:
    """Return how many cells the largest clique of any order has at least; stops over ``enough``.

    Notes
    -----
    Whichever variable of a graph is summed out first meets all its neighbours there, so the
    smallest such clique is a bound; and a graph in which two neighbours are made one, of the
    smaller size, never needs more than the graph itself. Of all graphs that are met while the
    variable of the smallest clique is joined to the neighbour that shares fewest of its own, the
    largest bound counts (Bodlaender and Koster 2011, Information and Computation 209:1103, on
    lower bounds of treewidth by contraction; from memory).

    Examples
    --------
    In a ring of three states each, whatever is taken out first has two neighbours:

    >>> ring = {at: {(at - 1) % 5, (at + 1) % 5} for at in range(5)}
    >>> least_cells(ring, dict.fromkeys(range(5), 3), 1000)
    27
    """
    graph = {variable: set(others) for variable, others in near.items()}
    size = {variable: sizes[variable] for variable in graph}
    cells = {variable: _cells(variable, graph, size) for variable in graph}
    heap = [(count, variable) for variable, count in cells.items()]
    heapq.heapify(heap)
    best = 0
    while heap and best <= enough:
        count, variable = heapq.heappop(heap)
        if cells.get(variable) != count:
            continue
        best = max(best, count)
        del cells[variable]
        for other in _contracted(variable, graph, size):
            fresh = _cells(other, graph, size)
            if fresh != cells[other]:
                cells[other] = fresh
                heapq.heappush(heap, (fresh, other))
    return best


def _contracted(variable: int, graph: Neighbours, size: dict[int, int]) -> set[int]:
    """Make a variable one with a neighbour; return all whose cliques may be others now."""
    others = graph.pop(variable)
    if not others:
        return set()
    into = min(others, key=lambda one: (len(graph[one] & others), one))
    touched = set(others)
    if size[variable] < size[into]:
        size[into] = size[variable]
        touched |= graph[into] - {variable}
    for other in others:
        graph[other].discard(variable)
        if other != into:
            graph[other].add(into)
            graph[into].add(other)
    return touched


def _cells(variable: int, graph: Neighbours, size: Mapping[int, int]) -> int:
    found = size[variable]
    for other in graph[variable]:
        found *= size[other]
    return found
