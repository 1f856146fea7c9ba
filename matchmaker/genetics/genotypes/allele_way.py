"""The way an allele came: from which parent a bird most likely has its copy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker.genetics.genotypes.builder import shared_clutch
from matchmaker.genetics.genotypes.handed_down import SideChances, handed_table, source_chances
from matchmaker.genetics.genotypes.network import networks
from matchmaker.genetics.genotypes.posterior import gamete_view
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.exact import marginals, reduced
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    import numpy as np
    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Links
    from matchmaker.genetics.genotypes.builder import Builder
    from matchmaker.genetics.genotypes.genotype import Genotypes

CELLS: Final = 10_000_000
"""Most table cells for exact chances of the way (80 MB); beyond it they are approximate."""

Link: TypeAlias = tuple[str, str]
"""A bird and one of its possible parents."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlleleWay:
    """How likely each bird has a copy of the allele from each parent.

    ``links`` are by bird and parent: P(the bird has a copy that this parent gave it | the bird
    carries it, and everything else known), 0 to 1. Both parents may have given one, so those of a
    bird sum to one plus the chance of two copies; what founders' gametes brought is no link.
    Links of chance 0 are left out. ``exact`` is false where the parentage is too tangled.
    """

    links: Mapping[Link, float]
    exact: bool


def allele_way(genotypes: Genotypes, birds: Collection[str]) -> AlleleWay:
    """From whom each of some birds has the named allele of a locus.

    Exact wherever the network of the pedigree is narrow enough with one more variable for each
    bird that may have it from more than one parent: whose gametes carried it. Else approximate:
    the gametes of sire and dam are taken as independent, each as its parent's own probabilities
    make it, and a parent that is uncertain by its chance.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.

    Examples
    --------
    A carrier of the blue egg out of a carrier and a plain hen, and its brother out of two carriers
    of whom nothing more is known:

    >>> from dataclasses import replace
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.genotype import genotype_probabilities
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> family = pedigree_of(
    ...     "A cock araucana sussex",
    ...     "B hen araucana sussex",
    ...     "C hen sussex sussex",
    ...     "D hen A C",
    ...     "E hen A B",
    ... )
    >>> found = allele_way(genotype_probabilities(family, catalogue()["O"], (), "sussex"), "DE")
    >>> {link: round(chance, 4) for link, chance in found.links.items()}
    {('D', 'A'): 1.0, ('E', 'A'): 0.6667, ('E', 'B'): 0.6667}
    """
    work = _Work.of(genotypes, birds)
    sole, several = work.sorted_out()
    try:
        links = work.worked_out(several)
    except TooTangledError:
        return AlleleWay(links=_in_order(sole | work.estimated(several)), exact=False)
    return AlleleWay(
        links=_in_order(sole | links), exact=genotypes.method == "exact" or not several
    )


def _in_order(links: Mapping[Link, float]) -> dict[Link, float]:
    return {link: links[link] for link in sorted(links) if links[link] > 0}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Work:
    """One locus of a pedigree: ``birds`` by number; ``given`` is each bird's gamete with it."""

    genotypes: Genotypes
    birds: tuple[int, ...]
    given: list[float]
    brought: list[float]
    """The chance of a gamete of each pool."""

    @classmethod
    def of(cls, genotypes: Genotypes, birds: Collection[str]) -> _Work:
        problem, pedigree = genotypes.problem, genotypes.pedigree
        place, named = genotypes.place, problem.stretch.loci[genotypes.place].named
        has = [haplotype[place] == named for haplotype in problem.stretch.haplotypes]
        gametes = genotypes.posterior.states @ gamete_view(problem.stretch)
        return cls(
            genotypes=genotypes,
            birds=tuple(sorted(pedigree.node_of()[one] - pedigree.first_bird for one in birds)),
            given=gametes[:, has].sum(axis=1).tolist(),
            brought=[
                sum(p for p, it in zip(row, has, strict=True) if it)
                for row in problem.frequencies()
            ],
        )

    def sides(self, at: int) -> tuple[Links, Links]:
        """Possible parents of a bird of whom it may have the allele; a hen's Z is her sire's."""
        pedigree = self.genotypes.pedigree
        hen_z = self.genotypes.problem.stretch.z_linked and pedigree.sexes[at] is Sex.HEN
        return pedigree.sires[at], () if hen_z else pedigree.dams[at]

    def gives(self, node: int) -> float:
        """The chance that a gamete of a bird or pool carries the allele."""
        first = self.genotypes.pedigree.first_bird
        return self.brought[node] if node < first else self.given[node - first]

    def sorted_out(self) -> tuple[dict[Link, float], list[int]]:
        """Links of birds that can have it from one parent only, and the birds that are left."""
        pedigree, links, several = self.genotypes.pedigree, {}, []
        for at in self.birds:
            if not self.genotypes.probabilities[at, 1:].any():
                continue
            donors = [node for side in self.sides(at) for node, _ in side if self.gives(node)]
            birds = [node for node in donors if node >= pedigree.first_bird]
            if len(donors) == 1 and birds:
                links[self.link(at, birds[0])] = 1.0
            elif birds:
                several.append(at)
        return links, several

    def link(self, at: int, node: int) -> Link:
        pedigree = self.genotypes.pedigree
        return pedigree.birds[at], pedigree.birds[node - pedigree.first_bird]

    def estimated(self, birds: list[int]) -> dict[Link, float]:
        """Approximate links of some birds: the two gametes taken as independent."""
        links = {}
        for at in birds:
            parts = [
                [(node, share * self.gives(node)) for node, share in side]
                for side in self.sides(at)
            ]
            sums = [sum(part for _, part in side) for side in parts]
            came = source_chances(sums, self.genotypes.probabilities[at].tolist())
            for side, total, chance in zip(parts, sums, came, strict=True):
                for node, part in side:
                    if node >= self.genotypes.pedigree.first_bird and part:
                        links[self.link(at, node)] = chance * part / total
        return links

    def worked_out(self, birds: list[int]) -> dict[Link, float]:
        """Exact links of some birds, out of the narrowest network that has them."""
        if not birds:
            return {}
        refused = TooTangledError(CELLS)
        for builder in self._networks(birds):
            sources = {at: self._source(builder, at) for at in birds}
            try:
                found = marginals(reduced(builder.network, cells_max=CELLS))
            except TooTangledError as error:
                refused = error
                continue
            return {
                link: chance
                for at, (variable, donors) in sources.items()
                for link, chance in self._shared_out(at, found[variable][0], donors)
            }
        raise refused

    def _shared_out(
        self, at: int, chances: NDArray[np.float64], donors: tuple[list[int], list[int]]
    ) -> Iterator[tuple[Link, float]]:
        """Links of one bird, by the chances of who gave it; none if they round to nothing."""
        table = chances.reshape(len(donors[0]) + 1, len(donors[1]) + 1)
        carries = float(table.reshape(-1)[1:].sum())  # one less nobody's may round to nothing
        if not carries:
            return
        for nodes, sums in zip(donors, (table.sum(axis=1), table.sum(axis=0)), strict=True):
            for node, chance in zip(nodes, sums[1:].tolist(), strict=True):
                if node >= self.genotypes.pedigree.first_bird:
                    yield self.link(at, node), chance / carries

    def _networks(self, birds: list[int]) -> Iterator[Builder]:
        """Networks in which each side of a bird is one variable, perhaps through a selector."""
        problem, first = self.genotypes.problem, self.genotypes.pedigree.first_bird
        for builder in networks(problem, [first + at for at in birds]):
            if all(len(side) == 1 for at in birds for side in builder.sides[at]):
                yield builder

    def _source(self, builder: Builder, at: int) -> tuple[int, tuple[list[int], list[int]]]:
        """Add the variable that says whose gametes carried it; who may have, on either side."""
        node = builder.pedigree.first_bird + at
        links = self.sides(at)
        donors = tuple([one for one, _ in side if self.gives(one)] for side in links)
        chances, scope = [], []
        for side, sex in enumerate((Sex.COCK, Sex.HEN)):
            (candidate,) = builder.sides[at][side]
            selector = _selector(builder, at, sex) if links[side] else None
            places = _places(self, links[side], donors[side])
            chances.append(SideChances(candidate.gametes, places, len(donors[side]) + 1))
            scope += [one for one in (candidate.variable, selector) if one is not None]
        table = handed_table(
            builder.stretch, builder.states(node), self.genotypes.place, (chances[0], chances[1])
        )
        variable = builder.network.variable(chances[0].sources * chances[1].sources)
        builder.network.add(table, *scope, builder.variable_of[node], variable)
        return variable, (donors[0], donors[1])


def _selector(builder: Builder, at: int, sex: Sex) -> int | None:
    """The variable that says who the parent of a bird is, ``None`` where it is certain."""
    pedigree = builder.pedigree
    links = (pedigree.sires if sex is Sex.COCK else pedigree.dams)[at]
    clutch = shared_clutch(pedigree, at, links, builder.clutches)
    return builder.selectors.get((at, sex) if clutch is None else (clutch, sex, links))


def _places(work: _Work, links: Links, donors: list[int]) -> tuple[int, ...]:
    """Which source (0: none, then the donors) each choice of a selector is, pools being last."""
    first = work.genotypes.pedigree.first_bird
    birds = [donors.index(node) + 1 if node in donors else 0 for node, _ in links if node >= first]
    pools = [donors.index(node) + 1 for node, _ in links if node < first and node in donors]
    pooled = [pools[0] if pools else 0] if any(node < first for node, _ in links) else []
    return tuple(birds + pooled) or (0,)
