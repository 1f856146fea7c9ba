"""In which order variables are summed out, and the tree of cliques that order makes."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.errors import ExitCode, MatchmakerError
from matchmaker.genetics.inference.bounds import least_cells

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    Neighbours: TypeAlias = dict[int, set[int]]
    Cost: TypeAlias = Callable[[int, Neighbours, Mapping[int, int]], int]
    Step: TypeAlias = tuple[int, list[int]]

CELLS_MAX = 30_000_000
"""Most table cells held at once: 240 MB of floats; beyond it the pedigree is too tangled."""

EASY_CELLS = 500_000
"""Below this an order is good enough and no second one is tried."""


EASY_CLIQUE = 81
"""Cells of a clique (four variables of three states) that any good order would make."""


MANY = 100
"""Where more variables are left than this, it is first asked whether any order can do."""


class TooTangledError(MatchmakerError):
    """Genotype probabilities are out of reach: exact ones need too much memory.

    ``problem`` says why they could not be sampled either, where that was tried.
    ``left`` is how many variables hang together too closely to be summed out one by one, where
    that is known: how large what would have to be sampled is.
    """

    exit_code = ExitCode.FAULTS

    def __init__(self, cells: int, problem: str = "", left: int = 0) -> None:
        self.cells, self.left = cells, left
        super().__init__(
            "uncertain parents are too tangled to work out what each bird carries: over "
            f"{min(cells, CELLS_MAX):,} table cells at once; {problem}name parents, or test the "
            "cocks and hens that many chicks may descend from"
        )


@dataclass(frozen=True, slots=True)
class Clique:
    """One step of the elimination.

    ``scope`` starts with the variable summed out; the rest follows in elimination order.
    ``parent`` is the step that takes the message (-1: none); ``message_shape`` is the message's
    shape among the parent's axes and ``dropped`` the parent's axes it lacks.
    """

    scope: tuple[int, ...]
    shape: tuple[int, ...]
    parent: int
    message_shape: tuple[int, ...]
    dropped: tuple[int, ...]


def clique_tree(
    scopes: Iterable[Sequence[int]], sizes: Mapping[int, int], cells_max: int = CELLS_MAX
) -> list[Clique]:
    """Return the cliques of a cheap elimination order, children before parents.

    First goes what makes small cliques only. For the rest, the cheapest of three greedy orders:
    by the smallest clique, by fewest neighbours joined anew, and by the weight of these new joins
    (minimum fill and weighted minimum fill); the later two are tried only while the best is not
    small. Ties go to the lower number, so equal input gives equal output.

    Raises
    ------
    TooTangledError
        If all cliques together exceed ``cells_max`` cells.

    Examples
    --------
    A chain of three variables is summed out from its ends:

    >>> [clique.scope for clique in clique_tree([(0, 1), (1, 2)], {0: 3, 1: 3, 2: 3})]
    [(0, 1), (1, 2), (2,)]
    """
    near = neighbours(scopes, sizes)
    easy, cells = eliminated(near, sizes, EASY_CLIQUE)
    left, room = len(near), cells_max - cells
    if left > MANY and (least := least_cells(near, sizes, room)) > room:
        raise TooTangledError(cells + least, left=left)
    hard, more = _cheapest(near, sizes, room)
    if more > room:
        raise TooTangledError(cells + more, left=left)
    return tree(easy + hard, sizes)


def neighbours(scopes: Iterable[Sequence[int]], sizes: Mapping[int, int]) -> Neighbours:
    """Return the variables that each variable of ``sizes`` shares a factor with.

    Examples
    --------
    >>> neighbours([(0, 1), (1, 2)], {0: 3, 1: 3, 2: 3})
    {0: {1}, 1: {0, 2}, 2: {1}}
    """
    near: Neighbours = {variable: set() for variable in sizes}
    for scope in scopes:
        for variable in scope:
            near[variable].update(scope)
    for variable, others in near.items():
        others.discard(variable)
    return near


def eliminated(
    near: Neighbours, sizes: Mapping[int, int], clique_max: int
) -> tuple[list[Step], int]:
    """Take out, smallest clique first, what makes none over ``clique_max`` cells.

    ``near`` is left as the graph of the variables that remain. Returns the steps and their cells.

    Examples
    --------
    >>> near = neighbours([(0, 1), (1, 2)], {0: 3, 1: 3, 2: 3})
    >>> eliminated(near, {0: 3, 1: 3, 2: 3}, 9)[0], near
    ([(0, [1]), (1, [2]), (2, [])], {})
    """
    heap = [(clique_cells(variable, near, sizes), variable) for variable in near]
    heapq.heapify(heap)
    steps: list[Step] = []
    total = 0
    while heap and heap[0][0] <= clique_max:
        cells, variable = heapq.heappop(heap)
        if variable not in near or cells != clique_cells(variable, near, sizes):
            continue
        total += cells
        others = join(variable, near)
        steps.append((variable, list(others)))
        for other in others:
            heapq.heappush(heap, (clique_cells(other, near, sizes), other))
    return steps, total


def join(variable: int, near: Neighbours) -> set[int]:
    """Take ``variable`` out of the graph, join its neighbours to each other and return them.

    Examples
    --------
    >>> near = {0: {1, 2}, 1: {0}, 2: {0}}
    >>> join(0, near), near
    ({1, 2}, {1: {2}, 2: {1}})
    """
    others = near.pop(variable)
    for other in others:
        kept = near[other]
        kept |= others
        kept -= {other, variable}
    return others


def clique_cells(variable: int, near: Neighbours, sizes: Mapping[int, int]) -> int:
    """Return the cells of the clique that taking ``variable`` out would make.

    Examples
    --------
    >>> clique_cells(0, {0: {1, 2}, 1: {0}, 2: {0}}, {0: 2, 1: 3, 2: 5})
    30
    """
    cells = sizes[variable]
    for other in near[variable]:
        cells *= sizes[other]
    return cells


def _cheapest(near: Neighbours, sizes: Mapping[int, int], cells_max: int) -> tuple[list[Step], int]:
    """Return the cheapest of three greedy orders; the later ones only where the first is dear."""
    best, cells = _greedy(near, sizes, clique_cells, cells_max)
    for cost in (_fill, _weighted_fill):
        if cells > EASY_CELLS:
            steps, fresh = _greedy(near, sizes, cost, min(cells, cells_max))
            best, cells = (steps, fresh) if fresh < cells else (best, cells)
    return best, cells


def _fill(variable: int, near: Neighbours, sizes: Mapping[int, int]) -> int:  # noqa: ARG001
    others = near[variable]
    return sum(len(others - near[one]) - 1 for one in others)


def _weighted_fill(variable: int, near: Neighbours, sizes: Mapping[int, int]) -> int:
    others = near[variable]
    return sum(sizes[one] * sizes[two] for one in others for two in others - near[one] if one < two)


def _greedy(
    near: Neighbours, sizes: Mapping[int, int], cost: Cost, cells_max: int
) -> tuple[list[Step], int]:
    """Eliminate greedily by ``cost``; return the steps and their cells, ending beyond the cap."""
    near = {variable: set(others) for variable, others in near.items()}
    costs = {variable: cost(variable, near, sizes) for variable in near}
    heap = [(value, variable) for variable, value in costs.items()]
    heapq.heapify(heap)
    steps: list[Step] = []
    cells = 0
    while heap and cells <= cells_max:
        value, variable = heapq.heappop(heap)
        if costs.get(variable) != value:
            continue
        cells += clique_cells(variable, near, sizes)
        steps.append((variable, list(near[variable])))
        for other in _joined(variable, near):
            fresh = cost(other, near, sizes)
            if fresh != costs[other]:
                costs[other] = fresh
                heapq.heappush(heap, (fresh, other))
        del costs[variable]
    return steps, cells


def _joined(variable: int, near: Neighbours) -> set[int]:
    """Take ``variable`` out, join its neighbours, and return all whose cost may have changed."""
    others = near.pop(variable)
    touched = set(others)
    for other in others:
        fresh = others - near[other]
        near[other] |= others
        near[other] -= {other, variable}
        if len(fresh) > 1:
            touched |= near[other]
    return touched


def tree(steps: Sequence[Step], sizes: Mapping[int, int]) -> list[Clique]:
    """Return the cliques of steps; a message to variables never taken out has no parent.

    Examples
    --------
    >>> [clique.parent for clique in tree([(0, [1]), (1, [2])], {0: 3, 1: 3, 2: 3})]
    [1, -1]
    """
    place = {variable: at for at, (variable, _) in enumerate(steps)}
    last = len(place)
    scopes = [
        (variable, *sorted(others, key=lambda other: (place.get(other, last), other)))
        for variable, others in steps
    ]
    return [_clique(scope, scopes, place, sizes) for scope in scopes]


def _clique(
    scope: tuple[int, ...],
    scopes: list[tuple[int, ...]],
    place: Mapping[int, int],
    sizes: Mapping[int, int],
) -> Clique:
    shape = tuple([sizes[variable] for variable in scope])
    parent = place.get(scope[1], -1) if len(scope) > 1 else -1
    if parent < 0:
        return Clique(scope, shape, -1, (), ())
    within = scopes[parent]
    return Clique(
        scope,
        shape,
        parent,
        tuple([sizes[variable] if variable in scope else 1 for variable in within]),
        tuple([axis for axis, variable in enumerate(within) if variable not in scope]),
    )
