"""In which order variables are summed out, and the tree of cliques that order makes."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from math import prod
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.errors import ExitCode, MatchmakerError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    Neighbours: TypeAlias = dict[int, set[int]]
    Cost: TypeAlias = Callable[[int, Neighbours, Mapping[int, int]], int]
    Step: TypeAlias = tuple[int, list[int]]

CELLS_MAX = 30_000_000
"""Most table cells held at once: 240 MB of floats; beyond it the pedigree is too tangled."""

EASY_CELLS = 500_000
"""Below this an order is good enough and no second one is tried."""


class TooTangledError(MatchmakerError):
    """Exact genotype probabilities would need more memory than allowed; nothing is approximated."""

    exit_code = ExitCode.FAULTS

    def __init__(self, cells: int) -> None:
        self.cells = cells
        super().__init__(
            f"the uncertain parentage is too tangled for exact genotype probabilities: over "
            f"{min(cells, CELLS_MAX):,} table cells; name parents, or test the cocks and hens that "
            "many chicks may descend from"
        )


@dataclass(frozen=True, slots=True)
class Clique:
    """One step of the elimination.

    ``scope`` starts with the variable summed out; the rest follows in elimination order.
    ``parent`` is the step that takes the message (-1: none); ``message_shape`` is the message's
    shape among the parent's axes and ``dropped`` the parent's axes it lacks (batch axis first).
    """

    scope: tuple[int, ...]
    shape: tuple[int, ...]
    parent: int
    message_shape: tuple[int, ...]
    dropped: tuple[int, ...]


def clique_tree(
    scopes: Iterable[Sequence[int]], sizes: Mapping[int, int], cells_max: int = CELLS_MAX
) -> list[Clique]:
    """Return the cliques of the cheapest of three greedy orders, children before parents.

    The orders take the variable whose clique is smallest, whose elimination joins fewest
    neighbours anew, and whose new joins weigh least (minimum fill and weighted minimum fill);
    ties go to the lower number, so equal input gives equal output. The later orders are tried
    only while the best is not small.

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
    near: Neighbours = {variable: set() for variable in sizes}
    for scope in scopes:
        for variable in scope:
            near[variable].update(scope)
    for variable, others in near.items():
        others.discard(variable)
    best, cells = _eliminated(near, sizes, _clique_cells, cells_max)
    for cost in (_fill, _weighted_fill):
        if cells > EASY_CELLS:
            steps, fresh = _eliminated(near, sizes, cost, min(cells, cells_max))
            best, cells = (steps, fresh) if fresh < cells else (best, cells)
    if cells > cells_max:
        raise TooTangledError(cells)
    return _tree(best, sizes)


def _clique_cells(variable: int, near: Neighbours, sizes: Mapping[int, int]) -> int:
    return sizes[variable] * prod(sizes[other] for other in near[variable])


def _fill(variable: int, near: Neighbours, sizes: Mapping[int, int]) -> int:  # noqa: ARG001
    others = near[variable]
    return sum(len(others - near[one]) - 1 for one in others)


def _weighted_fill(variable: int, near: Neighbours, sizes: Mapping[int, int]) -> int:
    others = near[variable]
    return sum(sizes[one] * sizes[two] for one in others for two in others - near[one] if one < two)


def _eliminated(
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
        cells += _clique_cells(variable, near, sizes)
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


def _tree(steps: list[Step], sizes: Mapping[int, int]) -> list[Clique]:
    place = {variable: at for at, (variable, _) in enumerate(steps)}
    scopes = [(variable, *sorted(others, key=place.__getitem__)) for variable, others in steps]
    return [_clique(scope, scopes, place, sizes) for scope in scopes]


def _clique(
    scope: tuple[int, ...],
    scopes: list[tuple[int, ...]],
    place: Mapping[int, int],
    sizes: Mapping[int, int],
) -> Clique:
    shape = tuple(sizes[variable] for variable in scope)
    if len(scope) == 1:
        return Clique(scope, shape, -1, (), ())
    parent = place[scope[1]]
    held = set(scope)
    within = scopes[parent]
    return Clique(
        scope,
        shape,
        parent,
        tuple(sizes[variable] if variable in held else 1 for variable in within),
        tuple(axis for axis, variable in enumerate(within, 1) if variable not in held),
    )
