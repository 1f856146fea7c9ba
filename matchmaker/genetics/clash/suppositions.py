"""What the books may have wrong at one locus, and the flock with some of it set aside."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.flock.pedigree import Pedigree, Pool
from matchmaker.genetics.genotypes.network import Problem, narrowest
from matchmaker.genetics.genotypes.observed import ChickCount, Evidence, Sighting, birds_of
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.exact import consistent
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from collections.abc import Set as AbstractSet

    from matchmaker.flock.pedigree import Links
    from matchmaker.genetics.loci.locus import Locus

ANYTHING = "(anything)"
"""Breed of the pool that may give any gamete: where a parent comes from once it is doubted."""


@dataclass(frozen=True, slots=True)
class RecordRight:
    """That one record of what was seen, tested or counted is right."""

    record: Evidence

    @property
    def order(self) -> tuple[int, str, str, int]:
        """Sort key: the most easily mistaken first, then by band."""
        place = self.record.place
        return (0, " ".join(birds_of(self.record)), place.file, place.row)


@dataclass(frozen=True, slots=True)
class SexRight:
    """That a bird is of the sex written."""

    bird: str

    @property
    def order(self) -> tuple[int, str, str, int]:
        """Sort key, as for records."""
        return (1, self.bird, "", 0)


@dataclass(frozen=True, slots=True)
class ParentRight:
    """That the parent of one side is among those written (or taken as possible)."""

    bird: str
    role: Sex
    """Cock: the sire; hen: the dam."""
    parents: tuple[str | Pool, ...]

    @property
    def order(self) -> tuple[int, str, str, int]:
        """Sort key, as for records; sire before dam."""
        return (2, self.bird, str(self.role), 0)


@dataclass(frozen=True, slots=True)
class PoolPure:
    """That the founders of a breed and source have only the alleles taken for them."""

    pool: Pool

    @property
    def order(self) -> tuple[int, str, str, int]:
        """Sort key, as for records."""
        return (3, self.pool.breed, self.pool.source, 0)


Supposition: TypeAlias = RecordRight | SexRight | ParentRight | PoolPure


@dataclass(frozen=True, kw_only=True)
class Case:
    """One locus of a flock, of which any supposition can be set aside.

    ``pedigree`` has the pool of anything as the last of its pools; ``locus`` knows that pool.
    """

    pedigree: Pedigree
    locus: Locus
    recurrent: str
    evidence: tuple[Evidence, ...]

    def possible(
        self, records: Iterable[Evidence], doubted: AbstractSet[Supposition] = frozenset()
    ) -> bool:
        """Whether ``records`` can all be true if what is ``doubted`` need not be.

        Raises
        ------
        TooTangledError
            If exact work would need too much memory.
        """
        pedigree = _without(self.pedigree, doubted)
        unsexed = {one.bird for one in doubted if isinstance(one, SexRight)}
        told = tuple(
            one
            for one in records
            if RecordRight(one) not in doubted and not self._says_nothing(one, unsexed)
        )
        problem = Problem(
            pedigree=pedigree, recurrent=self.recurrent, loci=(self.locus,), evidence=(told,)
        )
        try:
            network = narrowest(problem, self._living)[1]
        except ContradictionError:
            return False
        return consistent(network)

    def possibly(
        self, records: Iterable[Evidence], doubted: AbstractSet[Supposition] = frozenset()
    ) -> bool:
        """Whether ``records`` are not known to be impossible: so, or too tangled to be tried."""
        try:
            return self.possible(records, doubted)
        except TooTangledError:
            return True

    def surely(self, doubted: AbstractSet[Supposition] = frozenset()) -> bool:
        """Whether everything seen is shown to be possible; what is too tangled is not shown."""
        try:
            return self.possible(self.evidence, doubted)
        except TooTangledError:
            return False

    @cached_property
    def _living(self) -> Sequence[int]:
        """The birds whose mere life says something: all, where a genotype dies."""
        first = self.pedigree.first_bird
        return range(first, first + len(self.pedigree.birds)) if self.locus.dies else ()

    def _says_nothing(self, record: Evidence, unsexed: AbstractSet[str]) -> bool:
        """Whether a look is of a bird that may be of the sex that cannot show it.

        On the Z the look still counts: there each state of a bird tells its sex.
        """
        return (
            isinstance(record, Sighting)
            and record.bird in unsexed
            and not self.locus.z_linked
            and record.weights[0] != record.weights[1]
        )

    def suppositions(self, records: Iterable[Evidence]) -> list[Supposition]:
        """Everything but records on which a conflict of ``records`` can rest, in order."""
        nodes = self.pedigree.node_of()
        told = {nodes[bird] for one in records for bird in birds_of(one)}
        kin = self.pedigree.ancestors(told | set(self._living))
        first = self.pedigree.first_bird
        places = [node - first for node in kin if node >= first]
        found: list[Supposition] = [
            SexRight(self.pedigree.birds[at]) for at in places if at in self._doubtful_sexes
        ]
        found += [one for at in places for one in self._parents(at)]
        found += [PoolPure(pool) for pool in self._pure_pools(places)]
        return sorted(found, key=lambda one: one.order)

    @cached_property
    def _doubtful_sexes(self) -> frozenset[int]:
        """Birds (by number) whose sex matters here and is vouched for by no chick.

        What only hens show is seen of their eggs, which leaves no doubt of the sex.
        """
        if not (self.locus.z_linked or self.locus.shown_by == "cock"):
            return frozenset()
        pedigree, nodes = self.pedigree, self.pedigree.node_of()
        parents = {node for side in (*pedigree.sires, *pedigree.dams) for node, _ in side}
        for one in self.evidence:
            if isinstance(one, ChickCount):
                parents.update(nodes[bird] for bird in birds_of(one))
        return frozenset(
            at
            for at, sex in enumerate(pedigree.sexes)
            if sex is not None and pedigree.first_bird + at not in parents
        )

    def _parents(self, at: int) -> Iterator[ParentRight]:
        """Both sides of a bird bred from known birds; a founder's breed is its pool's matter."""
        pedigree = self.pedigree
        sides = ((Sex.COCK, pedigree.sires[at]), (Sex.HEN, pedigree.dams[at]))
        if not bred_here(pedigree, at):
            return
        names: tuple[str | Pool, ...] = (*pedigree.pools, *pedigree.birds)
        for role, links in sides:
            yield ParentRight(pedigree.birds[at], role, tuple(names[node] for node, _ in links))

    def _pure_pools(self, places: Sequence[int]) -> list[Pool]:
        """The pools that birds come from and that lack an allele."""
        pedigree, locus = self.pedigree, self.locus
        used = {
            node
            for at in places
            for node, _ in (*pedigree.sires[at], *pedigree.dams[at])
            if node < pedigree.first_bird
        }
        pools = [pedigree.pools[node] for node in sorted(used)]
        return [
            pool for pool in pools if 0.0 in locus.allele_frequencies(pool.breed, self.recurrent)
        ]


def case_of(pedigree: Pedigree, locus: Locus, evidence: Sequence[Evidence], recurrent: str) -> Case:
    """Return the case of one locus, nothing being doubted yet.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> family = pedigree_of(
    ...     "A cock sussex sussex",
    ...     "B hen sussex sussex",
    ...     "C hen A B",
    ... )
    >>> case = case_of(family, catalogue()["O"], (), "sussex")
    >>> case.pedigree.birds, case.pedigree.pools[-1].breed, case.possible(())
    (('A', 'B', 'C'), '(anything)', True)
    """
    every = {allele.symbol: 1.0 / len(locus.series) for allele in locus.series}
    return Case(
        pedigree=_with_pool_of_anything(pedigree),
        locus=replace(locus, frequency={**locus.frequency, ANYTHING: every or 0.5}),
        recurrent=recurrent,
        evidence=tuple(evidence),
    )


def _with_pool_of_anything(pedigree: Pedigree) -> Pedigree:
    first = pedigree.first_bird

    def moved(side: tuple[Links, ...]) -> tuple[Links, ...]:
        return tuple(
            tuple((node + (node >= first), share) for node, share in links) for links in side
        )

    return replace(
        pedigree,
        pools=(*pedigree.pools, Pool(ANYTHING)),
        bases=(*((*row, 0.0) for row in pedigree.bases), (0.0,) * (first + 1)),
        sires=moved(pedigree.sires),
        dams=moved(pedigree.dams),
    )


def bred_here(pedigree: Pedigree, at: int) -> bool:
    """Whether bird number ``at`` has a possible parent among the birds.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of("A cock sussex sussex", "B hen A sussex")
    >>> bred_here(family, 0), bred_here(family, 1)
    (False, True)
    """
    links = (*pedigree.sires[at], *pedigree.dams[at])
    return any(node >= pedigree.first_bird for node, _ in links)


def _without(pedigree: Pedigree, doubted: AbstractSet[Supposition]) -> Pedigree:
    """Return a pedigree in which all that is ``doubted`` may be otherwise.

    A doubted parent may be anything, and its chick no longer counts as one of its clutch. The
    pedigree's last pool must be the one of anything.
    """
    nodes, first = pedigree.node_of(), pedigree.first_bird
    anything: Links = ((first - 1, 1.0),)
    sides = {Sex.COCK: list(pedigree.sires), Sex.HEN: list(pedigree.dams)}
    sexes, clutches = list(pedigree.sexes), list(pedigree.clutches)
    impure = {one.pool for one in doubted if isinstance(one, PoolPure)}
    for one in doubted:
        if isinstance(one, SexRight):
            sexes[nodes[one.bird] - first] = None
        elif isinstance(one, ParentRight):
            sides[one.role][nodes[one.bird] - first] = anything
            if clutches:
                clutches[nodes[one.bird] - first] = None
    return replace(
        pedigree,
        pools=tuple(Pool(ANYTHING) if pool in impure else pool for pool in pedigree.pools),
        sexes=tuple(sexes),
        sires=tuple(sides[Sex.COCK]),
        dams=tuple(sides[Sex.HEN]),
        clutches=tuple(clutches),
    )
