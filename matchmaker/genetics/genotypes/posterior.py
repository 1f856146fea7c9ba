"""What every bird may be, state by state, and every hen together with every cock."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

import numpy as np

from matchmaker.genetics.genotypes.descent import genotype_places
from matchmaker.genetics.genotypes.draws import Draws, draw_states
from matchmaker.genetics.genotypes.network import narrowest, places_among_all
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


Method: TypeAlias = Literal["exact", "sampled"]

ANY_NUMBER: Final = sys.maxsize
"""However many variables hang together, they are sampled."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """Probabilities of the states of every bird, given everything seen.

    ``states`` is (birds, states), read-only, over the states of a bird of unknown sex: those of a
    cock, and on the Z then those of a hen. ``draws`` are set where they had to be sampled.
    """

    problem: Problem
    states: Array
    rows: Mapping[str, int]
    draws: Draws | None = None
    _pairs: dict[tuple[int, ...], _Given | Draws] = field(default_factory=dict, repr=False)
    """What was worked out for hens and cocks together, by their nodes."""

    @property
    def method(self) -> Method:
        """How the probabilities of single birds were found."""
        return "exact" if self.draws is None else "sampled"

    def of(self, bird: str) -> Array:
        """Return the state probabilities of one bird; ``KeyError`` if there is no such band."""
        row: Array = self.states[self.rows[bird]]
        return row

    def errors_of(self, bird: str) -> Array:
        """Return the standard errors of those probabilities; 0 where they are exact."""
        if self.draws is None:
            return np.zeros(self.states.shape[1])
        found: Array = self.draws.errors[self.rows[bird]]
        return found

    def joint_method(self, hens: Sequence[str], cocks: Sequence[str]) -> Method:
        """How the joint states of these hens and cocks are found."""
        open_hens, open_cocks = self._uncertain(hens), self._uncertain(cocks)
        if not (open_hens and open_cocks):
            return self.method
        names = [hens[at] for at in open_hens], [cocks[at] for at in open_cocks]
        return "sampled" if isinstance(self._of_pairs(*names), Draws) else "exact"

    def joint(self, hens: Sequence[str], cocks: Sequence[str], views: tuple[Array, Array]) -> Array:
        """Return P(what the hen's state gives, what the cock's gives), shape (hens, cocks, ., .).

        ``views`` (of hens, of cocks) have a row for each state, with the chance of each outcome.
        Right also where hen and cock are related or share uncertain ancestors: the hens'
        probabilities are worked out anew for each state an uncertain cock can be in, or, where
        that is out of reach, counted from joint draws (``joint_method``).

        Raises
        ------
        TooTangledError
            If the parentage is too tangled even for sampling.
        """
        hen_rows = self._rows(hens) @ views[0]
        cock_rows = self._rows(cocks) @ views[1]
        table: Array = hen_rows[:, None, :, None] * cock_rows[None, :, None, :]
        open_hens = self._uncertain(hens)
        open_cocks = self._uncertain(cocks)
        if open_hens and open_cocks:
            names = [hens[at] for at in open_hens], [cocks[at] for at in open_cocks]
            found = self._of_pairs(*names)
            grid = np.ix_(open_hens, open_cocks)
            if isinstance(found, Draws):
                table[grid] = self._counted(found, *names, views)
            else:
                table[grid] = found.joint(views)
        return table

    def _rows(self, birds: Sequence[str]) -> Array:
        found: Array = self.states[[self.rows[bird] for bird in birds]]
        return found

    def _uncertain(self, birds: Sequence[str]) -> list[int]:
        possible = np.count_nonzero(self._rows(birds), axis=1)
        return [at for at, states in enumerate(possible.tolist()) if states > 1]

    def _of_pairs(self, hens: Sequence[str], cocks: Sequence[str]) -> _Given | Draws:
        """What is known of uncertain hens and cocks together, worked out once."""
        first = self.problem.pedigree.first_bird
        nodes = [first + self.rows[bird] for bird in (*hens, *cocks)]
        key = (len(hens), *nodes)
        if key not in self._pairs:
            self._pairs[key] = self.draws or self._given(nodes, len(hens), self._rows(cocks))
        return self._pairs[key]

    def _given(self, nodes: list[int], hens: int, weights: Array) -> _Given | Draws:
        try:
            builder, net = narrowest(self.problem, nodes)
        except TooTangledError:
            return draw_states(self.problem)
        cock_at, state = np.nonzero(weights)
        places = {node: places_among_all(builder, node) for node in nodes[hens:]}
        fixed = [
            (builder.variable_of[node], int(held - places[node][0]))
            for node, held in (
                (nodes[hens + at], held) for at, held in zip(cock_at, state, strict=True)
            )
        ]
        found = marginals(net, fixed)
        return _Given(
            hens=np.stack([_spread(builder, node, found) for node in nodes[:hens]]),
            cock_at=cock_at,
            state=state,
            weights=weights[cock_at, state],
        )

    def _counted(
        self, draws: Draws, hens: Sequence[str], cocks: Sequence[str], views: tuple[Array, Array]
    ) -> Array:
        drawn = [
            view[draws.states[:, [self.rows[bird] for bird in birds]]]
            for birds, view in ((hens, views[0]), (cocks, views[1]))
        ]
        return draws.joint(*drawn)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Given:
    """Hens' states for every state an uncertain cock can be in.

    ``hens`` is (hens, cases, states); case k is cock number ``cock_at[k]`` in the state
    ``state[k]``, which has the probability ``weights[k]``.
    """

    hens: Array
    cock_at: NDArray[np.intp]
    state: NDArray[np.intp]
    weights: Array

    def joint(self, views: tuple[Array, Array]) -> Array:
        cocks = views[1][self.state] * self.weights[:, None]
        parts = (self.hens @ views[0])[:, :, :, None] * cocks[None, :, None, :]
        starts = np.searchsorted(self.cock_at, np.arange(self.cock_at[-1] + 1))
        summed: Array = np.add.reduceat(parts, starts, axis=1)
        return summed


def posterior_of(
    problem: Problem, *, sampling: bool = True, left_max: int = ANY_NUMBER
) -> Posterior:
    """Return the state probabilities of every bird: exact, or sampled where that is out of reach.

    Without ``sampling`` what is out of reach is refused, and so is what would have to be sampled
    with over ``left_max`` variables that hang together.

    Raises
    ------
    ContradictionError
        If the evidence cannot all be true.
    TooTangledError
        If the parentage is too tangled even for sampling.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from matchmaker.genetics.genotypes.network import Problem
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> family = pedigree_of("A cock sussex sussex", "B hen A sussex")
    >>> egg = replace(catalogue()["O"], frequency={"sussex": 0.5})
    >>> asked = Problem(pedigree=family, recurrent="sussex", loci=(egg,), evidence=((),))
    >>> posterior_of(asked).of("B").tolist()
    [0.25, 0.5, 0.25]
    """
    pedigree = problem.pedigree
    first = pedigree.first_bird
    nodes = list(range(first, first + len(pedigree.birds)))
    rows = {bird: at for at, bird in enumerate(pedigree.birds)}
    try:
        found = _by_node(problem, nodes, left_max)
    except TooTangledError as error:
        if not sampling or error.left > left_max:
            raise
        draws = draw_states(problem)
        return Posterior(
            problem=problem, states=_read_only(draws.probabilities), rows=rows, draws=draws
        )
    states = np.zeros((len(nodes), len(problem.stretch.states(None))))
    for node, row in found.items():
        states[node - first] = row
    return Posterior(problem=problem, states=_read_only(states), rows=rows)


def _by_node(problem: Problem, nodes: Sequence[int], left_max: int) -> dict[int, Array]:
    """Return the state probabilities of each node, in one run if that is not too wide.

    A bird of which nothing was seen, and its chicks, only matter to itself: if all birds at once
    are too much, halves of them may not be, each with the birds of the evidence.
    """
    try:
        builder, net = narrowest(problem, nodes)
    except TooTangledError as error:
        if error.left > left_max or len(nodes) == 1 or _too_wide(problem):
            raise
        half = len(nodes) // 2
        first, second = (_by_node(problem, part, left_max) for part in (nodes[:half], nodes[half:]))
        return first | second
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
    whole[:, places_among_all(builder, node)] = own
    return whole


@cache
def copies_view(stretch: Stretch, place: int) -> Array:
    """Which number of copies each state has at one of the loci, shape (states, 3).

    Examples
    --------
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
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
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
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
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> gamete_view(Stretch((Inheritance(z_linked=True),))).tolist()
    [[1.0, 0.0], [0.5, 0.5], [0.0, 1.0], [1.0, 0.0], [0.0, 1.0]]
    """
    sexes = (Sex.COCK, Sex.HEN) if stretch.z_linked else (Sex.COCK,)
    return _read_only(np.array([row for sex in sexes for row in stretch.gametes(sex)]))


def _read_only(table: Array) -> Array:
    table.flags.writeable = False
    return table
