"""Two linked loci worked out together: phase, genotypes and chicks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.genotype import Genotypes, genotypes_of
from matchmaker.genetics.genotypes.naming import haplotype_pair
from matchmaker.genetics.genotypes.network import Problem
from matchmaker.genetics.genotypes.posterior import ANY_NUMBER, Posterior, gamete_view, posterior_of
from matchmaker.genetics.loci.linkage import UNLINKED
from matchmaker.genetics.loci.locus import recombination_between

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.genotypes.transmission import Stretch
    from matchmaker.genetics.loci.locus import Locus

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinkedChicks:
    """P(copies at one locus, copies at the other) among the sons and the daughters of pairs.

    Both are shaped (hens, cocks, 3, 3); each pair sums to 1. They count chicks as conceived: those
    that will die of it are among them.
    """

    sons: Array
    daughters: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinkedGenotypes:
    """Probabilities of what every bird has at two linked loci, phase included."""

    loci: tuple[Locus, Locus]
    recombination: float
    posterior: Posterior

    def of(self, symbol: str) -> Genotypes:
        """Return the genotypes at one of the two loci; ``KeyError`` if it is neither."""
        places = {locus.symbol: place for place, locus in enumerate(self.loci)}
        return genotypes_of(self.posterior, places[symbol])

    def haplotypes(self, bird: str) -> dict[str, float]:
        """Return the probability of each phased genotype of a bird, by name ("O P/o+ p+").

        What has probability 0 is left out; ``KeyError`` if there is no such band.
        """
        stretch = self.posterior.problem.stretch
        row = self.posterior.of(bird)
        return {
            haplotype_pair(self.loci, [stretch.haplotypes[number] for number in held]): float(p)
            for (_, held), p in zip(stretch.states(None), row, strict=True)
            if p > 0
        }

    def chicks(self, hens: Sequence[str], cocks: Sequence[str]) -> LinkedChicks:
        """Return what chicks every hen and cock would have at both loci.

        Exact also where hen and cock are related or their phase is uncertain: from the joint of
        their phased states.

        Raises
        ------
        TooTangledError
            If the parentage is too tangled even for sampling.
        """
        stretch = self.posterior.problem.stretch
        gametes = gamete_view(stretch)
        joint = self.posterior.joint(hens, cocks, (gametes, gametes))
        sons = np.tensordot(joint, _sons(stretch), 2)
        if not stretch.z_linked:
            return LinkedChicks(sons=sons, daughters=sons)
        daughters = np.tensordot(joint.sum(axis=2), _copies(stretch), 1)
        return LinkedChicks(sons=sons, daughters=daughters)

    def chicks_by_state(self) -> LinkedChicks:
        """Return the chicks of a hen in each state with a cock in each, in place of pairs.

        The states, phase included, are those of ``posterior.of``.
        """
        stretch = self.posterior.problem.stretch
        gametes = gamete_view(stretch)
        sons = np.einsum("ai,bj,ijkl->abkl", gametes, gametes, _sons(stretch))
        if not stretch.z_linked:
            return LinkedChicks(sons=sons, daughters=sons)
        daughters = np.einsum("bj,jkl->bkl", gametes, _copies(stretch))
        return LinkedChicks(
            sons=sons, daughters=np.broadcast_to(daughters, (len(gametes), *daughters.shape))
        )


def linked_genotypes(
    pedigree: Pedigree,
    loci: tuple[Locus, Locus],
    evidence: tuple[Sequence[Evidence], Sequence[Evidence]],
    recurrent: str,
    *,
    left_max: int = ANY_NUMBER,
) -> LinkedGenotypes:
    """Return the probabilities at two linked loci of every bird, given all evidence at once.

    The alleles of founders' gametes are combined at random within each breed, so the phase of a
    founder pure at both is known. Cocks and hens recombine alike, but for the Z: a hen passes it
    on whole. ``evidence`` has what was seen at the first and at the second locus. Two loci that are
    not linked have only their parents in common; they are worked out together only if that is
    exact. ``left_max`` is that of ``posterior_of``.

    Raises
    ------
    ContradictionError
        If the evidence cannot all be true.
    TooTangledError
        If the parentage is too tangled even for sampling, or the loci are not linked and it is
        too tangled for exact work.
    ValueError
        If the loci lie on different kinds of chromosomes.

    Examples
    --------
    A first cross of a donor pure at both loci, back to the recurrent breed:

    >>> from dataclasses import replace
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> flock = pedigree_of("A cock araucana sussex", "B hen A sussex")
    >>> egg = replace(catalogue()["O"], linked_to="P", recombination=0.1)
    >>> found = linked_genotypes(flock, (egg, catalogue()["P"]), ((), ()), "sussex")
    >>> for name, chance in found.haplotypes("B").items():
    ...     print(name, chance)
    o+ p+/o+ p+ 0.45
    o+ P/o+ p+ 0.05
    O p+/o+ p+ 0.05
    O P/o+ p+ 0.45
    """
    one, two = loci
    if one.z_linked != two.z_linked:
        msg = f"{one.symbol} and {two.symbol} cannot lie on one chromosome"
        raise ValueError(msg)
    known = recombination_between(one, two)
    recombination = UNLINKED if known is None else min(known, UNLINKED)
    problem = Problem(
        pedigree=pedigree,
        recurrent=recurrent,
        loci=loci,
        evidence=(tuple(evidence[0]), tuple(evidence[1])),
        recombination=recombination,
    )
    posterior = posterior_of(problem, sampling=recombination < UNLINKED, left_max=left_max)
    return LinkedGenotypes(loci=loci, recombination=recombination, posterior=posterior)


@cache
def _copies(stretch: Stretch) -> Array:
    """Which copies (of one, of two) a single haplotype is, shape (haplotypes, 3, 3)."""
    table = np.zeros((len(stretch.haplotypes), 3, 3))
    for number, (one, two) in enumerate(_named(stretch)):
        table[number, one, two] = 1.0
    return table


@cache
def _sons(stretch: Stretch) -> Array:
    """Which copies two gametes make together, shape (haplotypes, haplotypes, 3, 3)."""
    named = _named(stretch)
    table = np.zeros((len(named), len(named), 3, 3))
    for first, (one, two) in enumerate(named):
        for second, (other_one, other_two) in enumerate(named):
            table[first, second, one + other_one, two + other_two] = 1.0
    return table


def _named(stretch: Stretch) -> list[tuple[int, int]]:
    """Copies of the two named alleles on each haplotype."""
    one, two = stretch.loci
    return [
        (int(first == one.named), int(second == two.named)) for first, second in stretch.haplotypes
    ]
