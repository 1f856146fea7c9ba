"""Exact genotype probabilities at one locus, from the pedigree and everything seen or tested."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.elimination import TooTangledError
from matchmaker.genetics.inference import marginals
from matchmaker.genetics.network import reduced_network

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.inference import Reduced
    from matchmaker.genetics.loci import Locus
    from matchmaker.genetics.network import Builder
    from matchmaker.genetics.observed import Evidence


@dataclass(frozen=True, slots=True)
class _Problem:
    pedigree: Pedigree
    locus: Locus
    recurrent: str
    evidence: tuple[Evidence, ...]

    def network(self, nodes: Sequence[int]) -> tuple[Builder, Reduced]:
        return reduced_network(self.pedigree, self.locus, self.recurrent, self.evidence, nodes)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Genotypes:
    """Probabilities of 0, 1 and 2 copies of every bird at one locus.

    ``probabilities`` is (birds, 3), read-only, in the order of ``birds``; at a Z-linked locus a
    hen's last column is 0.
    """

    pedigree: Pedigree
    locus: Locus
    evidence: tuple[Evidence, ...]
    recurrent: str
    probabilities: NDArray[np.float64]
    rows: Mapping[str, int]

    @property
    def birds(self) -> tuple[str, ...]:
        """Bands in the order of the rows."""
        return self.pedigree.birds

    def of(self, bird: str) -> NDArray[np.float64]:
        """Return P(0, 1, 2 copies) of one bird; ``KeyError`` if there is no such band."""
        row: NDArray[np.float64] = self.probabilities[self.rows[bird]]
        return row

    def carrier_probability(self, bird: str) -> float:
        """P(at least one copy), 0 to 1."""
        return float(self.of(bird)[1:].sum())

    def joint(self, hens: Sequence[str], cocks: Sequence[str]) -> NDArray[np.float64]:
        """Return P(hen's copies, cock's copies) of every pair, shape (hens, cocks, 3, 3).

        Exact also where hen and cock are related or share uncertain ancestors: the hens'
        probabilities are worked out anew for each copy number an uncertain cock can have.

        Raises
        ------
        TooTangledError
            If the parentage is too tangled for exact work.
        """
        hen_rows = np.array([self.of(hen) for hen in hens]).reshape(-1, 1, 3, 1)
        cock_rows = np.array([self.of(cock) for cock in cocks]).reshape(1, -1, 1, 3)
        table: NDArray[np.float64] = hen_rows * cock_rows
        open_hens = [at for at, hen in enumerate(hens) if _uncertain(self.of(hen))]
        open_cocks = [at for at, cock in enumerate(cocks) if _uncertain(self.of(cock))]
        if open_hens and open_cocks:
            names = ([hens[at] for at in open_hens], [cocks[at] for at in open_cocks])
            table[np.ix_(open_hens, open_cocks)] = self._uncertain_joint(*names)
        return table

    def _uncertain_joint(self, hens: list[str], cocks: list[str]) -> NDArray[np.float64]:
        first = self.pedigree.first_bird
        nodes = [first + self.rows[bird] for bird in (*hens, *cocks)]
        builder, net = reduced_network(
            self.pedigree, self.locus, self.recurrent, self.evidence, nodes
        )
        cock_at, copies = np.nonzero([self.of(cock) > 0 for cock in cocks])
        cock_nodes = [nodes[len(hens) + at] for at in cock_at]
        fixed = [
            (builder.variable_of[node], int(state))
            for node, state in zip(cock_nodes, copies, strict=True)
        ]
        found = marginals(net, fixed)
        weight = np.array([self.of(cock) for cock in cocks])[cock_at, copies]
        table = np.zeros((len(hens), len(cocks), 3, 3))
        for at, node in enumerate(nodes[: len(hens)]):
            conditional = _by_copies(builder, node, found)
            table[at, cock_at, :, copies] = conditional * weight[:, None]
        return table


def genotype_probabilities(
    pedigree: Pedigree, locus: Locus, evidence: Sequence[Evidence], recurrent: str
) -> Genotypes:
    """Return the exact genotype probabilities of every bird, given all evidence at once.

    Founders' gametes carry the allele with ``locus.founder_frequency`` of their pool's breed.
    The parents of each bird are drawn independently of those of every other bird where several
    are possible. ``evidence`` must name birds of the pedigree only.

    Raises
    ------
    ContradictionError
        If the evidence cannot all be true; ``contradiction`` then names the records.
    TooTangledError
        If exact work would need too much memory.

    Notes
    -----
    Variable elimination on the pedigree's factors (Cannings, Thompson and Skolnick 1978, Adv Appl
    Probab 10:26, called peeling there), once up and once down the tree of cliques (Lauritzen and
    Spiegelhalter 1988, J R Stat Soc B 50:157); both references from memory.

    Examples
    --------
    A carrier out of two carriers: one third has two copies.

    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> from matchmaker.genetics.loci import catalogue
    >>> from matchmaker.tables.records import Sex
    >>> flock = Pedigree(
    ...     pools=(Pool("araucana"), Pool("sussex")),
    ...     bases=((0.0, 0.0), (0.0, 0.0)),
    ...     birds=("A", "B", "C"),
    ...     sexes=(Sex.COCK, Sex.HEN, Sex.HEN),
    ...     sires=(((0, 1.0),), ((0, 1.0),), ((2, 1.0),)),
    ...     dams=(((1, 1.0),), ((1, 1.0),), ((3, 1.0),)),
    ... )
    >>> genotype_probabilities(flock, catalogue()["O"], (), "sussex").of("C").tolist()
    [0.25, 0.5, 0.25]
    """
    first = pedigree.first_bird
    nodes = list(range(first, first + len(pedigree.birds)))
    problem = _Problem(pedigree, locus, recurrent, tuple(evidence))
    probabilities = np.zeros((len(nodes), 3))
    for node, row in _by_node(problem, nodes).items():
        probabilities[node - first] = row
    probabilities.flags.writeable = False
    return Genotypes(
        pedigree=pedigree,
        locus=locus,
        evidence=tuple(evidence),
        recurrent=recurrent,
        probabilities=probabilities,
        rows={bird: at for at, bird in enumerate(pedigree.birds)},
    )


def _by_node(problem: _Problem, nodes: Sequence[int]) -> dict[int, NDArray[np.float64]]:
    """Return P(0, 1, 2 copies) of each node, in one run if that is not too wide.

    A bird of which nothing was seen, and its chicks, only matter to itself: if all birds at once
    are too much, halves of them may not be, each with the birds of the evidence.
    """
    try:
        builder, net = problem.network(nodes)
    except TooTangledError:
        if len(nodes) == 1 or _too_wide(problem):
            raise
        half = len(nodes) // 2
        return _by_node(problem, nodes[:half]) | _by_node(problem, nodes[half:])
    found = marginals(net)
    return {node: _by_copies(builder, node, found)[0] for node in nodes}


def _too_wide(problem: _Problem) -> bool:
    """Whether the birds of the evidence and their ancestors alone are too wide."""
    try:
        problem.network(())
    except TooTangledError:
        return True
    return False


def _by_copies(
    builder: Builder, node: int, found: list[NDArray[np.float64]]
) -> NDArray[np.float64]:
    """Sum a bird's states, shape (batch, states), to its copies, shape (batch, 3)."""
    states = builder.states(node)
    summed = np.zeros((len(found[0]), 3))
    for state, (_, copies) in enumerate(states):
        summed[:, copies] += found[builder.variable_of[node]][:, state]
    return summed


def _uncertain(row: NDArray[np.float64]) -> bool:
    return bool(np.count_nonzero(row) > 1)
