"""Genotype probabilities at one locus, from the pedigree and everything seen or tested."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.naming import genotype_names
from matchmaker.genetics.genotypes.network import Problem
from matchmaker.genetics.genotypes.posterior import (
    ANY_NUMBER,
    Posterior,
    copies_view,
    genotype_view,
    posterior_of,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.genotypes.posterior import Method
    from matchmaker.genetics.loci.locus import Locus


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Genotypes:
    """Probabilities of 0, 1 and 2 copies of every bird at one locus.

    ``probabilities`` is (birds, 3), read-only, in the order of ``birds``; at a Z-linked locus a
    hen's last column is 0. ``place`` is that of the locus among those of the problem: where two
    linked loci were worked out together, what was seen of one speaks of the other too.
    """

    posterior: Posterior
    probabilities: NDArray[np.float64]
    place: int = 0

    @property
    def method(self) -> Method:
        """How the probabilities were found."""
        return self.posterior.method

    def standard_error(self, bird: str) -> float:
        """Largest standard error of a bird's probabilities; 0 where they are exact.

        An upper bound where several states have the same copies.
        """
        view = copies_view(self.problem.stretch, self.place)
        return float((self.posterior.errors_of(bird) @ view).max())

    @property
    def problem(self) -> Problem:
        """What was asked."""
        return self.posterior.problem

    @property
    def pedigree(self) -> Pedigree:
        """The pedigree of the birds."""
        return self.problem.pedigree

    @property
    def locus(self) -> Locus:
        """The locus."""
        return self.problem.loci[self.place]

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        """What was seen or tested at this locus."""
        return self.problem.evidence[self.place]

    @property
    def recurrent(self) -> str:
        """The recurrent breed."""
        return self.problem.recurrent

    @property
    def rows(self) -> Mapping[str, int]:
        """Row of each band."""
        return self.posterior.rows

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

    def carrier_probabilities(self, birds: Sequence[str]) -> list[float]:
        """P(at least one copy) of each of several birds, 0 to 1."""
        rows = [self.rows[bird] for bird in birds]
        chances: list[float] = self.probabilities[rows, 1:].sum(axis=1).tolist()
        return chances

    def alleles(self, bird: str) -> dict[str, float]:
        """Return the probability of each genotype a bird can have, by name ("eWh/eb", "S/W").

        Genotypes with probability 0 are left out; ``KeyError`` if there is no such band.
        """
        stretch = self.problem.stretch
        row = self.posterior.of(bird) @ genotype_view(stretch, self.place)
        names = genotype_names(self.locus)
        return {name: float(p) for name, p in zip(names, row, strict=True) if p > 0}

    def joint(self, hens: Sequence[str], cocks: Sequence[str]) -> NDArray[np.float64]:
        """Return P(hen's copies, cock's copies) of every pair, shape (hens, cocks, 3, 3).

        Right also where hen and cock are related or share uncertain ancestors; exact or sampled
        as ``posterior.joint_method`` says.

        Raises
        ------
        TooTangledError
            If the parentage is too tangled even for sampling.
        """
        view = copies_view(self.problem.stretch, self.place)
        return self.posterior.joint(hens, cocks, (view, view))


def genotype_probabilities(
    pedigree: Pedigree,
    locus: Locus,
    evidence: Sequence[Evidence],
    recurrent: str,
    *,
    left_max: int = ANY_NUMBER,
) -> Genotypes:
    """Return the genotype probabilities of every bird, given all evidence at once.

    Exact wherever that is within reach, else sampled (``Genotypes.method``) with a standard error.

    Founders' gametes carry the alleles with ``locus.allele_frequencies`` of their pool's breed.
    Where several parents are possible, those of each bird are drawn independently of those of
    every other bird, but for the chicks of one clutch, which share theirs. ``evidence`` must name
    birds of the pedigree only. ``left_max`` is that of ``posterior_of``.

    Raises
    ------
    ContradictionError
        If the evidence cannot all be true; ``contradiction`` then names the records.
    TooTangledError
        If the parentage is too tangled even for sampling.

    Notes
    -----
    Variable elimination on the pedigree's factors (Cannings, Thompson and Skolnick 1978, Adv Appl
    Probab 10:26, called peeling there), once up and once down the tree of cliques (Lauritzen and
    Spiegelhalter 1988, J R Stat Soc B 50:157); both references from memory.

    Examples
    --------
    A carrier out of two carriers: one third has two copies.

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> flock = pedigree_of(
    ...     "A cock araucana sussex",
    ...     "B hen araucana sussex",
    ...     "C hen A B",
    ... )
    >>> found = genotype_probabilities(flock, catalogue()["O"], (), "sussex")
    >>> found.of("C").tolist(), found.alleles("C")
    ([0.25, 0.5, 0.25], {'o+/o+': 0.25, 'O/o+': 0.5, 'O/O': 0.25})
    """
    problem = Problem(
        pedigree=pedigree, recurrent=recurrent, loci=(locus,), evidence=(tuple(evidence),)
    )
    return genotypes_of(posterior_of(problem, left_max=left_max))


def genotypes_of(posterior: Posterior, place: int = 0) -> Genotypes:
    """Return what the states of birds say of one locus (0 or 1 of those worked out together).

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> donor = pedigree_of("A ? araucana araucana")
    >>> loci = (catalogue()["O"],)
    >>> asked = Problem(pedigree=donor, recurrent="sussex", loci=loci, evidence=((),))
    >>> genotypes_of(posterior_of(asked)).alleles("A")
    {'O/O': 1.0}
    """
    probabilities = posterior.states @ copies_view(posterior.problem.stretch, place)
    probabilities.flags.writeable = False
    return Genotypes(posterior=posterior, probabilities=probabilities, place=place)
