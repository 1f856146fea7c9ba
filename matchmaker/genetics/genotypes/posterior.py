"""What every bird may be, state by state, and every hen together with every cock."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.descent import genotype_places
from matchmaker.genetics.genotypes.network import narrowest
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.exact import marginals
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.genotypes.builder import Builder
    from matchmaker.genetics.genotypes.network import Problem
    from matchmaker.genetics.genotypes.transmission import Stretch

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """Probabilities of the states of every bird, given everything seen.

    ``states`` is (birds, states), read-only, over the states of a bird of unknown sex: those of a
    cock, and on the Z then those of a hen.
    """

    problem: Problem
    states: Array
    rows: Mapping[str, int]

    def of(self, bird: str) -> Array:
        """Return the state probabilities of one bird; ``KeyError`` if there is no such band."""
        row: Array = self.states[self.rows[bird]]
        return row

    def joint(self, hens: Sequence[str], cocks: Sequence[str], views: tuple[Array, Array]) -> Array:
        """Return P(what the hen's state gives, what the cock's gives), shape (hens, cocks, ., .).

        ``views`` (of hens, of cocks) have a row for each state, with the chance of each outcome.
        Exact also where hen and cock are related or share uncertain ancestors: the hens'
        probabilities are worked out anew for each state an uncertain cock can be in.

        Raises
        ------
        TooTangledError
            If the parentage is too tangled for exact work.
        """
        hen_rows = self._rows(hens) @ views[0]
        cock_rows = self._rows(cocks) @ views[1]
        table: Array = hen_rows[:, None, :, None] * cock_rows[None, :, None, :]
        open_hens = self._uncertain(hens)
        open_cocks = self._uncertain(cocks)
        if open_hens and open_cocks:
            names = [hens[at] for at in open_hens], [cocks[at] for at in open_cocks]
            table[np.ix_(open_hens, open_cocks)] = self._of_uncertain(*names, views)
        return table

    def _rows(self, birds: Sequence[str]) -> Array:
        found: Array = self.states[[self.rows[bird] for bird in birds]]
        return found

    def _uncertain(self, birds: Sequence[str]) -> list[int]:
        return [at for at, bird in enumerate(birds) if np.count_nonzero(self.of(bird)) > 1]

    def _of_uncertain(
        self, hens: Sequence[str], cocks: Sequence[str], views: tuple[Array, Array]
    ) -> Array:
        first = self.problem.pedigree.first_bird
        nodes = [first + self.rows[bird] for bird in (*hens, *cocks)]
        builder, net = narrowest(self.problem, nodes)
        weights = self._rows(cocks)
        cock_at, state = np.nonzero(weights)
        cock_nodes = [nodes[len(hens) + at] for at in cock_at]
        fixed = [
            (builder.variable_of[node], int(held) - _offset(builder, node))
            for node, held in zip(cock_nodes, state, strict=True)
        ]
        found = marginals(net, fixed)
        given = np.stack([_spread(builder, node, found) for node in nodes[: len(hens)]]) @ views[0]
        given_cock = views[1][state] * weights[cock_at, state, None]
        parts = given[:, :, :, None] * given_cock[None, :, None, :]
        starts = np.searchsorted(cock_at, np.arange(len(cocks)))
        summed: Array = np.add.reduceat(parts, starts, axis=1)
        return summed


def posterior_of(problem: Problem) -> Posterior:
    """Return the exact state probabilities of every bird of the pedigree.

    Raises
    ------
    ContradictionError
        If the evidence cannot all be true.
    TooTangledError
        If exact work would need too much memory.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from matchmaker.genetics.genotypes.network import Problem
    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> family = Pedigree(
    ...     pools=(Pool("sussex"),),
    ...     bases=((0.0,),),
    ...     birds=("A", "B"),
    ...     sexes=(Sex.COCK, Sex.HEN),
    ...     sires=(((0, 1.0),), ((1, 1.0),)),
    ...     dams=(((0, 1.0),), ((0, 1.0),)),
    ... )
    >>> egg = replace(catalogue()["O"], frequency={"sussex": 0.5})
    >>> asked = Problem(pedigree=family, recurrent="sussex", loci=(egg,), evidence=((),))
    >>> posterior_of(asked).of("B").tolist()
    [0.25, 0.5, 0.25]
    """
    pedigree = problem.pedigree
    first = pedigree.first_bird
    nodes = list(range(first, first + len(pedigree.birds)))
    states = np.zeros((len(nodes), len(problem.stretch.states(None))))
    for node, row in _by_node(problem, nodes).items():
        states[node - first] = row
    states.flags.writeable = False
    rows = {bird: at for at, bird in enumerate(pedigree.birds)}
    return Posterior(problem=problem, states=states, rows=rows)


def _by_node(problem: Problem, nodes: Sequence[int]) -> dict[int, Array]:
    """Return the state probabilities of each node, in one run if that is not too wide.

    A bird of which nothing was seen, and its chicks, only matter to itself: if all birds at once
    are too much, halves of them may not be, each with the birds of the evidence.
    """
    try:
        builder, net = narrowest(problem, nodes)
    except TooTangledError:
        if len(nodes) == 1 or _too_wide(problem):
            raise
        half = len(nodes) // 2
        return _by_node(problem, nodes[:half]) | _by_node(problem, nodes[half:])
    found = marginals(net)
    return {node: _spread(builder, node, found)[0] for node in nodes}


def _too_wide(problem: Problem) -> bool:
    """Whether the birds of the evidence and their ancestors alone are too wide."""
    try:
        narrowest(problem, ())
    except TooTangledError:
        return True
    return False


def _spread(builder: Builder, node: int, found: Sequence[Array]) -> Array:
    """A bird's probabilities, shape (batch, ...), over the states of a bird of unknown sex."""
    own = found[builder.variable_of[node]]
    states = len(builder.stretch.states(None))
    if own.shape[1] == states:
        return own
    whole = np.zeros((len(own), states))
    offset = _offset(builder, node)
    whole[:, offset : offset + own.shape[1]] = own
    return whole


def _offset(builder: Builder, node: int) -> int:
    """Where the states of a bird begin among those of a bird of unknown sex."""
    own = builder.states(node)[0]
    return 0 if own[0] is Sex.COCK else len(builder.stretch.states(Sex.COCK))


@cache
def copies_view(stretch: Stretch, place: int) -> Array:
    """Which number of copies each state has at one of the loci, shape (states, 3).

    Examples
    --------
    >>> from matchmaker.genetics.genotypes.transmission import Inheritance, Stretch
    >>> copies_view(Stretch((Inheritance(z_linked=False),)), 0).astype(int).tolist()
    [[1, 0, 0], [0, 1, 0], [0, 0, 1]]
    """
    locus = stretch.loci[place]
    numbers = [locus.copies(stretch.genotype(held, place)) for _, held in stretch.states(None)]
    return _read_only(np.eye(3)[numbers])


@cache
def genotype_view(stretch: Stretch, place: int) -> Array:
    """Which genotype each state has at one of the loci: a cock's genotypes, then a hen's.

    Examples
    --------
    >>> from matchmaker.genetics.genotypes.transmission import Inheritance, Stretch
    >>> genotype_view(Stretch((Inheritance(z_linked=True),)), 0).shape
    (5, 5)
    """
    locus = stretch.loci[place]
    cocks = len(locus.genotypes(Sex.COCK))
    hens = len(locus.genotypes(Sex.HEN)) if stretch.z_linked else 0
    numbers = [
        number + (cocks if stretch.z_linked and sex is Sex.HEN else 0)
        for sex, number in genotype_places(stretch, None, place)
    ]
    return _read_only(np.eye(cocks + hens)[numbers])


@cache
def gamete_view(stretch: Stretch) -> Array:
    """The chance of each haplotype in a gamete (a hen's Z) of each state.

    Examples
    --------
    >>> from matchmaker.genetics.genotypes.transmission import Inheritance, Stretch
    >>> gamete_view(Stretch((Inheritance(z_linked=True),))).tolist()
    [[1.0, 0.0], [0.5, 0.5], [0.0, 1.0], [1.0, 0.0], [0.0, 1.0]]
    """
    sexes = (Sex.COCK, Sex.HEN) if stretch.z_linked else (Sex.COCK,)
    return _read_only(np.array([row for sex in sexes for row in stretch.gametes(sex)]))


def _read_only(table: Array) -> Array:
    table.flags.writeable = False
    return table
