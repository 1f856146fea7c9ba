"""A flock as a Bayesian network of pgmpy, for checks and for the benchmark beside it."""

from __future__ import annotations

import importlib
import itertools
import logging
import warnings
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from matchmaker.genetics.genotypes.observed import Evidence, Sighting
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.loci.locus import Locus


class Seen(Protocol):
    """A pedigree, its locus and what was seen."""

    @property
    def pedigree(self) -> Pedigree: ...
    @property
    def locus(self) -> Locus: ...
    @property
    def evidence(self) -> Sequence[Evidence]: ...


def pgmpy() -> SimpleNamespace:
    """The parts of pgmpy that are used; its import warns of things to come and it chatters."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        models = importlib.import_module("pgmpy.models")
        factors = importlib.import_module("pgmpy.factors.discrete")
        inference = importlib.import_module("pgmpy.inference")
    logging.getLogger("pgmpy").setLevel(logging.ERROR)
    return SimpleNamespace(
        Network=models.DiscreteBayesianNetwork,
        Table=factors.TabularCPD,
        Elimination=inference.VariableElimination,
    )


class Described:
    """The flock as a Bayesian network of the other library; every dam is certain.

    The network is built from Mendel's first law alone: one variable a bird, one for which of
    several birds is the sire, one for each thing seen.
    """

    def __init__(self, library: SimpleNamespace, flock: Seen) -> None:
        self.library, self.flock = library, flock
        self.first = flock.pedigree.first_bird
        self.model = library.Network()
        self.observed: dict[str, int] = {}
        for at in range(len(flock.pedigree.birds)):
            self.add_bird(at)
        for number, one in enumerate(flock.evidence):
            self.add_sighting(number, one)

    def states(self, at: int) -> int:
        return 2 if self.flock.locus.z_linked and self.flock.pedigree.sexes[at] is Sex.HEN else 3

    def add(self, name: str, table: NDArray[np.float64], parents: dict[str, int]) -> None:
        """``table``: one axis for each parent, the variable's own last."""
        self.model.add_node(name)
        self.model.add_edges_from((parent, name) for parent in parents)
        size = table.shape[-1]
        columns = np.moveaxis(table, -1, 0).reshape(size, -1)
        self.model.add_cpds(
            self.library.Table(
                name,
                size,
                columns,
                evidence=list(parents) or None,
                evidence_card=list(parents.values()) or None,
            )
        )

    def add_bird(self, at: int) -> None:
        pedigree = self.flock.pedigree
        sires, dams = pedigree.sires[at], pedigree.dams[at]
        bred = [node - self.first for node, _ in (*sires, *dams) if node >= self.first]
        parents = {pedigree.birds[parent]: self.states(parent) for parent in bred}
        choice = f"sire of {pedigree.birds[at]}"
        if len(sires) > 1:
            shares = np.array([share for _, share in sires])
            self.add(choice, shares, {})
            parents[choice] = len(sires)
        table = np.zeros((*parents.values(), self.states(at)))
        for cell in itertools.product(*map(range, parents.values())):
            known = dict(zip(parents, cell, strict=True))
            sire = sires[known.get(choice, 0)][0]
            gives = [self.gives(node, known) for node in (sire, dams[0][0])]
            table[cell] = self.born(at, *gives)
        self.add(pedigree.birds[at], table, parents)

    def gives(self, node: int, known: dict[str, int]) -> float:
        """Chance that the gamete of a pool or a bird has the allele."""
        if node < self.first:
            breed = self.flock.pedigree.pools[node].breed
            return self.flock.locus.founder_frequency(breed, "recurrent")
        bird = node - self.first
        return known[self.flock.pedigree.birds[bird]] / (self.states(bird) - 1)

    def born(self, at: int, of_sire: float, of_dam: float) -> list[float]:
        if self.states(at) == 2:
            return [1 - of_sire, of_sire]
        one = of_sire * (1 - of_dam) + (1 - of_sire) * of_dam
        return [(1 - of_sire) * (1 - of_dam), one, of_sire * of_dam]

    def add_sighting(self, number: int, one: Evidence) -> None:
        assert isinstance(one, Sighting)
        at = self.flock.pedigree.birds.index(one.bird)
        cock, hen = one.weights
        fits = np.array(hen if self.flock.pedigree.sexes[at] is Sex.HEN else cock)
        self.add(f"seen {number}", np.stack([1 - fits, fits], -1), {one.bird: self.states(at)})
        self.observed[f"seen {number}"] = 1

    def marginal(self, bird: str) -> NDArray[np.float64]:
        elimination: Any = self.library.Elimination(self.model)
        found = elimination.query([bird], evidence=self.observed, show_progress=False)
        values: NDArray[np.float64] = np.zeros(3)
        values[: len(found.values)] = found.values
        return values
