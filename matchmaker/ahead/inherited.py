"""Who got which allele from whom: states and parents drawn, as alleles on strands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.ahead.birds import NO_ALLELE
from matchmaker.genetics.genotypes.builder import shared_clutch
from matchmaker.genetics.genotypes.network import sexes_by_role
from matchmaker.genetics.genotypes.posterior import gamete_view
from matchmaker.genetics.inference.arithmetic import drawn
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.ahead.birds import Alleles, Flags, Matrix, Numbers
    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.genotypes.builder import Unsure
    from matchmaker.genetics.genotypes.network import Problem
    from matchmaker.genetics.genotypes.together import WholeFlocks
    from matchmaker.genetics.genotypes.transmission import Stretch

SIDES = (Sex.COCK, Sex.HEN)
"""Whose strand 0 and whose strand 1 is."""

SOME_POOL = -1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inherited:
    """What every bird of the pedigree has of whom, replicate by replicate.

    ``parents`` (replicates, birds, 2) are the numbers of sires and dams, pool g standing as −1 − g.
    ``alleles`` (replicates, birds, 2, loci) are those of each strand at the loci of all problems,
    one after the other; ``hens`` (replicates, birds) says who is a hen.
    """

    parents: Numbers
    alleles: Alleles
    hens: Flags


def inherited(
    problems: Sequence[Problem], flocks: WholeFlocks, streams: Sequence[np.random.Generator]
) -> Inherited:
    """Draw what states leave open: which allele came from which parent, and out of which pool.

    Notes
    -----
    Given the states of a bird and of its parents, which of its two haplotypes came from the sire
    does not hang on any other bird; each way has a chance in proportion to that of the two gametes.
    Out of several pools the gamete came from each in proportion to its share and to the frequency
    of its haplotypes there.
    """
    pedigree = problems[0].pedigree
    birds = len(pedigree.birds)
    given = np.stack([stream.random((5 + len(problems), birds)) for stream in streams], axis=1)
    parents = np.stack(
        [_parents(pedigree, flocks, side, given[side]) for side in range(len(SIDES))], axis=2
    )
    hens = _hens(problems, flocks, given[2])
    sorts = [
        _Sort(problem=problem, states=states.astype(np.intp), parents=parents)
        for problem, states in zip(problems, flocks.states, strict=True)
    ]
    haplotypes = [sort.by_side(chance) for sort, chance in zip(sorts, given[5:], strict=True)]
    alleles = [sort.alleles(each) for sort, each in zip(sorts, haplotypes, strict=True)]
    return Inherited(
        parents=_out_of_pools(problems, parents, haplotypes, given[3:5]),
        alleles=np.concatenate(alleles, axis=3),
        hens=hens,
    )


def _parents(pedigree: Pedigree, flocks: WholeFlocks, side: int, given: Matrix) -> Numbers:
    """Numbers of the sires or the dams (replicates, birds), ``SOME_POOL`` for a pool."""
    links_of = (pedigree.sires, pedigree.dams)[side]
    found = np.empty(given.shape, dtype=np.int64)
    known: dict[Unsure, Numbers] = {}
    for at, links in enumerate(links_of):
        numbers, shares = _candidates(links, pedigree.first_bird)
        whose = unsure_parent(pedigree, at, SIDES[side])
        if len(numbers) == 1:
            found[:, at] = numbers[0]
            continue
        if whose not in known:
            if whose in flocks.chosen:
                known[whose] = numbers[flocks.chosen[whose]]
            else:  # nothing that was seen hangs on who it is
                bounds = np.cumsum(shares)[:-1]
                known[whose] = numbers[np.searchsorted(bounds, given[:, at], side="right")]
        found[:, at] = known[whose]
    return found


def unsure_parent(pedigree: Pedigree, at: int, sex: Sex) -> Unsure:
    """By what name a drawing of flocks knows the parent of bird number ``at``."""
    links = (pedigree.sires if sex is Sex.COCK else pedigree.dams)[at]
    clutch = pedigree.clutch_of(at)
    mates = sum(other == clutch for other in pedigree.clutches) if clutch is not None else 0
    several = frozenset({clutch} if clutch is not None and mates > 1 else ())
    shared = shared_clutch(pedigree, at, links, several)
    return (at, sex) if shared is None else (shared, sex, links)


def _candidates(links: Links, first: int) -> tuple[Numbers, Matrix]:
    """Possible parents as a drawing numbers them, birds before all pools as one; their shares."""
    shares: dict[int, float] = {}
    for node, share in sorted(links, key=lambda link: link[0] < first):
        number = node - first if node >= first else SOME_POOL
        shares[number] = shares.get(number, 0.0) + share
    return np.array(list(shares)), np.array(list(shares.values()))


def _hens(problems: Sequence[Problem], flocks: WholeFlocks, given: Matrix) -> Flags:
    """Who is a hen; of unknown sex as on the Z, if anything was followed there, else by chance."""
    found: Flags = given < 0.5
    for problem, states in zip(problems, flocks.states, strict=True):
        if problem.stretch.z_linked:
            found = states >= len(problem.stretch.states(Sex.COCK))
    for at, sex in enumerate(sexes_by_role(problems[0].pedigree)):
        if sex is not None:
            found[:, at] = sex is Sex.HEN
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sort:
    """States (replicates, birds) of one problem, to be sorted by the parent they came from."""

    problem: Problem
    states: NDArray[np.intp]
    parents: Numbers

    def by_side(self, given: Matrix) -> NDArray[np.intp]:
        """Haplotypes of strands 0 and 1 (replicates, birds, 2); −1 for none."""
        held = held_haplotypes(self.problem.stretch)[self.states]
        one, two = held[..., 0], held[..., 1]
        straight = self._chance(0, one) * self._chance(1, two)
        turned = self._chance(0, two) * self._chance(1, one)
        swapped = (two >= 0) & (given * (straight + turned) < turned)
        return np.where(swapped[..., None], held[..., ::-1], held)

    def _chance(self, side: int, haplotypes: NDArray[np.intp]) -> Matrix:
        """Chance that the parent on one side passes a haplotype on, shape (replicates, birds)."""
        parents = self.parents[..., side]
        states = np.take_along_axis(self.states, np.maximum(parents, 0), axis=1)
        of_birds = gamete_view(self.problem.stretch)[states, haplotypes]
        birds = np.arange(parents.shape[1])
        of_pools = self._pool_gametes(side)[birds, haplotypes]
        return np.where(parents == SOME_POOL, of_pools, of_birds)

    def _pool_gametes(self, side: int) -> Matrix:
        """Mean gamete out of a bird's pools on one side, shape (birds, haplotypes)."""
        pedigree = self.problem.pedigree
        frequencies = np.array(self.problem.frequencies())
        found = np.zeros((len(pedigree.birds), frequencies.shape[1]))
        for at, links in enumerate((pedigree.sires, pedigree.dams)[side]):
            for node, share in links:
                if node < pedigree.first_bird:
                    found[at] += share * frequencies[node]
        return found

    def alleles(self, haplotypes: NDArray[np.intp]) -> Alleles:
        """Alleles of each strand (replicates, birds, 2, loci) from their haplotypes."""
        table = np.array(self.problem.stretch.haplotypes, dtype=np.int8)
        return np.where(haplotypes[..., None] < 0, np.int8(NO_ALLELE), table[haplotypes])


def held_haplotypes(stretch: Stretch) -> NDArray[np.intp]:
    """The two haplotypes of each state of a bird of unknown sex, −1 for none, shape (states, 2).

    Examples
    --------
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> held_haplotypes(Stretch((Inheritance(z_linked=True),))).tolist()
    [[0, 0], [0, 1], [1, 1], [0, -1], [1, -1]]
    """
    return np.array([(*held, -1)[:2] for _, held in stretch.states(None)], dtype=np.intp)


def _out_of_pools(
    problems: Sequence[Problem],
    parents: Numbers,
    haplotypes: Sequence[NDArray[np.intp]],
    given: Matrix,
) -> Numbers:
    """The parents (replicates, birds, 2) with each ``SOME_POOL`` made the pool it is.

    ``given`` are uniform numbers, shape (2, replicates, birds).
    """
    pedigree = problems[0].pedigree
    found = parents.copy()
    for side, links_of in enumerate((pedigree.sires, pedigree.dams)):
        for at, links in enumerate(links_of):
            pools = [(node, share) for node, share in links if node < pedigree.first_bird]
            if pools:
                nodes, shares = (np.array(column) for column in zip(*pools, strict=True))
                passed = [each[:, at, side] for each in haplotypes]
                chances = _chances_of_pools(problems, nodes, shares, passed)
                out = found[:, at, side] == SOME_POOL
                which = drawn(chances, given[side, :, at])
                found[out, at, side] = (-1 - nodes)[which[out]]
    return found


def _chances_of_pools(
    problems: Sequence[Problem],
    nodes: Numbers,
    shares: Matrix,
    passed: Sequence[NDArray[np.intp]],
) -> Matrix:
    """In proportion to what is said how likely each pool is, shape (pools, replicates).

    Where no pool has all the haplotypes, the gamete being of a crossbred, each locus counts alone.
    """
    frequencies = [
        np.where(each < 0, 1.0, np.array(problem.frequencies())[nodes][:, each])
        for problem, each in zip(problems, passed, strict=True)
    ]
    whole = shares[:, None] * np.prod(frequencies, axis=0)
    apart = shares[:, None] * np.sum(frequencies, axis=0)
    return np.where(whole.sum(axis=0) > 0, whole, apart)
