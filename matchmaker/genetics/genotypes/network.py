"""A pedigree and what was seen of it, as a network of factors."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.builder import Builder, shared_clutch
from matchmaker.genetics.genotypes.choices import refuse_too_many
from matchmaker.genetics.genotypes.counted import add_pen_count
from matchmaker.genetics.genotypes.observed import ChickCount, birds_of
from matchmaker.genetics.genotypes.transmission import Stretch
from matchmaker.genetics.inference.elimination import CELLS_MAX, EASY_CELLS, TooTangledError
from matchmaker.genetics.inference.exact import reduced
from matchmaker.genetics.inference.factors import Network
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.inference.exact import Reduced
    from matchmaker.genetics.loci.locus import Locus


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Problem:
    """What is asked of a pedigree: the genotypes at one locus, or at two linked ones.

    ``evidence`` has what was seen at each of the loci; ``recombination`` (0 to 0.5) is that
    between the two.
    """

    pedigree: Pedigree
    recurrent: str
    loci: tuple[Locus, ...]
    evidence: tuple[tuple[Evidence, ...], ...]
    recombination: float = 0.0

    @property
    def stretch(self) -> Stretch:
        """How the loci pass on."""
        return Stretch(tuple(locus.inheritance for locus in self.loci), self.recombination)

    def frequencies(self) -> tuple[tuple[float, ...], ...]:
        """Haplotype frequencies in the gametes of each pool, alleles combined at random in it."""
        return tuple(
            tuple(
                prod(alleles)
                for alleles in product(
                    *(locus.allele_frequencies(pool.breed, self.recurrent) for locus in self.loci)
                )
            )
            for pool in self.pedigree.pools
        )


def networks(problem: Problem, queried: Iterable[int]) -> Iterator[Builder]:
    """Yield networks of the ``queried`` nodes, the birds of the evidence, and all ancestors.

    Every other bird sums to one and is left out. The networks say the same in several forms:
    possible parents joined in one factor or by selectors, those of counted chicks also summed up.

    Examples
    --------
    Nothing is asked of the chick, so the network has its sire only:

    >>> from dataclasses import replace
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> family = pedigree_of("A cock sussex sussex", "B hen A sussex")
    >>> egg = replace(catalogue()["O"], frequency={"sussex": 0.5})
    >>> asked = Problem(pedigree=family, recurrent="sussex", loci=(egg,), evidence=((),))
    >>> [sorted(builder.variable_of) for builder in networks(asked, [1])]
    [[1]]
    """
    pedigree = problem.pedigree
    nodes = pedigree.node_of()
    told = [one for evidence in problem.evidence for one in evidence]
    wanted = set(queried) | {nodes[bird] for one in told for bird in birds_of(one)}
    first = pedigree.first_bird
    included = [node - first for node in pedigree.ancestors(wanted) if node >= first]
    shared = _drawn_apart(pedigree, included, _clutches_of_several(pedigree))
    mixed = any(len(links) > 1 for links in shared)
    counted = any(isinstance(one, ChickCount) and one.hens for one in told)
    forms = [(True, True)] + [(False, True)] * mixed + [(False, False)] * counted
    for form in forms:
        yield _built(problem, included, shared, form)


def beside(problem: Problem, others: Builder | None, *, summed: bool) -> Builder:
    """Return a network of all birds within ``others``, with the same possible parents in common.

    Examples
    --------
    The sire is the same at both loci: his selector is there once.

    >>> from dataclasses import replace
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> family = pedigree_of(
    ...     "A cock sussex sussex",
    ...     "B cock sussex sussex",
    ...     "C hen A|B sussex",
    ... )
    >>> loci = (catalogue()["O"],)
    >>> one = Problem(pedigree=family, recurrent="sussex", loci=loci, evidence=((),))
    >>> first = beside(one, None, summed=True)
    >>> second = beside(replace(one, loci=(catalogue()["lav"],)), first, summed=True)
    >>> len(first.network.sizes), second.selectors
    (9, {(2, <Sex.COCK: 'cock'>): 3})
    """
    included = list(range(len(problem.pedigree.birds)))
    return _built(problem, included, Counter(), (False, summed), others)


def _built(
    problem: Problem,
    included: list[int],
    shared: Counter[Links],
    form: tuple[bool, bool],
    others: Builder | None = None,
) -> Builder:
    pedigree, clutches = problem.pedigree, _clutches_of_several(problem.pedigree)
    refuse_too_many(pedigree, included, clutches, len(problem.stretch.states(None)))
    builder = Builder(
        pedigree=pedigree,
        nodes=pedigree.node_of(),
        stretch=problem.stretch,
        frequencies=problem.frequencies(),
        sexes=sexes_by_role(pedigree),
        shared=shared,
        clutches=clutches,
        wide=form[0],
        summed=form[1],
        network=others.network if others else Network(),
        selectors=others.selectors if others else {},
    )
    for at in included:
        builder.add_bird(at)
    for place, evidence in enumerate(problem.evidence):
        for one in evidence:
            if isinstance(one, ChickCount) and one.hens:
                add_pen_count(builder, one, place)
            else:
                builder.add_evidence(one, place)
    return builder


def _clutches_of_several(pedigree: Pedigree) -> frozenset[int]:
    chicks = Counter(clutch for clutch in pedigree.clutches if clutch is not None)
    return frozenset(clutch for clutch, count in chicks.items() if count > 1)


def _drawn_apart(
    pedigree: Pedigree, included: list[int], clutches: frozenset[int]
) -> Counter[Links]:
    """How many birds have the same possible parents, each drawn for itself."""
    return Counter(
        side[at]
        for at in included
        for side in (pedigree.sires, pedigree.dams)
        if shared_clutch(pedigree, at, side[at], clutches) is None
    )


def narrowest(problem: Problem, queried: Iterable[int]) -> tuple[Builder, Reduced]:
    """Return the narrowest of the ``networks``, trimmed and ready to be summed.

    Raises
    ------
    ContradictionError
        If trimming alone shows that the evidence is impossible.
    TooTangledError
        If every form needs too many cells.

    Examples
    --------
    A cock and his daughter, three states each, make one clique of nine cells and one of three:

    >>> from dataclasses import replace
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> family = pedigree_of("A cock sussex sussex", "B hen A sussex")
    >>> egg = replace(catalogue()["O"], frequency={"sussex": 0.5})
    >>> asked = Problem(pedigree=family, recurrent="sussex", loci=(egg,), evidence=((),))
    >>> narrowest(asked, [1, 2])[1].cells
    12
    """
    best: tuple[Builder, Reduced] | None = None
    refused: TooTangledError | None = None
    for builder in networks(problem, queried):
        try:
            found = reduced(builder.network, cells_max=best[1].cells if best else CELLS_MAX)
        except TooTangledError as error:
            refused = error
            continue
        best = (builder, found)
        if found.cells <= EASY_CELLS:
            break
    if best is None:
        raise refused or TooTangledError(CELLS_MAX)
    return best


def sexes_by_role(pedigree: Pedigree) -> tuple[Sex | None, ...]:
    """Return the birds' sexes; a possible sire of unknown sex is a cock, a possible dam a hen.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A B",
    ... )
    >>> [str(sex) for sex in sexes_by_role(family)]
    ['cock', 'hen', 'None']
    """
    roles: dict[int, Sex] = {}
    for links, sex in ((pedigree.sires, Sex.COCK), (pedigree.dams, Sex.HEN)):
        for parents in links:
            roles.update(dict.fromkeys((node for node, _ in parents), sex))
    first = pedigree.first_bird
    return tuple(sex or roles.get(first + at) for at, sex in enumerate(pedigree.sexes))


def places_among_all(builder: Builder, node: int) -> NDArray[np.intp]:
    """Return where a bird's own states stand among those of a bird of unknown sex.

    Examples
    --------
    A hen's two states on the Z come after a cock's three:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> one = pedigree_of("A hen sussex sussex")
    >>> asked = Problem(pedigree=one, recurrent="sussex", loci=(catalogue()["S"],), evidence=((),))
    >>> [places_among_all(builder, 1).tolist() for builder in networks(asked, [1])]
    [[3, 4]]
    """
    own = builder.states(node)
    start = 0 if own[0][0] is Sex.COCK else len(builder.stretch.states(Sex.COCK))
    return np.arange(start, start + len(own))
