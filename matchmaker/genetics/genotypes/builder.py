"""Birds as variables, their descent and what was seen of them as factors."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import prod
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.genetics.genotypes.descent import (
    count_table,
    descent_table,
    founder_chances,
    pool_table,
    prior_table,
    selection_table,
    sight_table,
)
from matchmaker.genetics.genotypes.observed import ChickCount, birds_of
from matchmaker.genetics.inference.factors import Network
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Mapping

    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.genotypes.descent import Chances
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.genotypes.transmission import Gametes, State, Stretch

    Household: TypeAlias = tuple[int, Sex, Links]
    Unsure: TypeAlias = Household | tuple[int, Sex]
    """The unknown parent of a clutch, or that of one bird."""

OPEN_STATES_MAX = 3**9
"""Most joint states of possible parents that one factor may span."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One possible parent: a variable, or (None) all pools together with their mean gamete."""

    gametes: Gametes
    share: float
    variable: int | None = None


@dataclass(slots=True, kw_only=True)
class Builder:
    """Turns birds into variables and their descent and evidence into factors.

    With ``wide`` a bird of several possible parents may be joined to all of them by one factor,
    where enough birds share those parents; else it is joined to each through a selector. Chicks
    of one clutch always have their unknown parent in common, through one selector. With ``summed``
    the possible parents of counted chicks are summed up where one factor would be too wide; that
    is narrow to sum but hard to sample, for a sum follows from its parts.
    """

    pedigree: Pedigree
    nodes: Mapping[str, int]
    stretch: Stretch
    frequencies: tuple[tuple[float, ...], ...]
    """Of each haplotype in the gametes of each pool."""
    sexes: tuple[Sex | None, ...]
    shared: Counter[Links]
    """How many of the birds have these possible parents, each drawn for itself."""
    clutches: frozenset[int]
    """Clutches of more than one chick."""
    wide: bool = True
    summed: bool = True
    network: Network = field(default_factory=Network)
    variable_of: dict[int, int] = field(default_factory=dict)
    """Variable of each bird included, by its node."""
    sides: dict[int, tuple[list[Candidate], list[Candidate]]] = field(default_factory=dict)
    """Its sire's and its dam's side as its factor has them, by its number."""
    households: dict[Household, Candidate] = field(default_factory=dict)
    """The unknown parent of a clutch, by clutch, sex of the parent and who it may be."""
    genotypes: dict[tuple[int, int], int] = field(default_factory=dict)
    """Variables for genotypes at one of two loci, by the bird's variable and the locus."""
    sums: dict[tuple[tuple[int | None, float], ...], Candidate | None] = field(default_factory=dict)
    """Possible parents of counted chicks as one, by their variables and shares."""
    selectors: dict[Unsure, int] = field(default_factory=dict)
    """Variables that say who the parent is, by whose parent it is.

    Builders that share them, and ``network``, speak of the same parents at several loci.
    """
    _gametes: dict[Sex, Gametes] = field(init=False)
    _sizes: dict[Sex | None, int] = field(init=False)

    def __post_init__(self) -> None:
        self._gametes = {sex: self.stretch.gametes(sex) for sex in Sex}
        self._sizes = {sex: len(self.stretch.states(sex)) for sex in (None, *Sex)}

    def add_bird(self, at: int) -> None:
        """Add bird number ``at``, whose possible parents are in already."""
        sex = self.sexes[at]
        sires = self._side(at, Sex.COCK, OPEN_STATES_MAX)
        if self.stretch.z_linked and sex is Sex.HEN:
            dams = [Candidate((self.frequencies[0],), 1.0)]  # whoever she is, she gave the W
        else:
            room = OPEN_STATES_MAX // prod(len(one.gametes) for one in sires)
            dams = self._side(at, Sex.HEN, room)
        self.sides[at] = (sires, dams)
        variable = self.network.variable(self._sizes[sex])
        self.variable_of[self.pedigree.first_bird + at] = variable
        table = descent_table(self.stretch, sex, chances_of(sires), chances_of(dams))
        parents = [one.variable for one in (*sires, *dams) if one.variable is not None]
        self.network.add(table, *parents, variable)

    def _side(self, at: int, sex: Sex, room: int) -> list[Candidate]:
        """Return the possible parents of one side (at most ``room`` states), or a stand-in."""
        links = (self.pedigree.sires if sex is Sex.COCK else self.pedigree.dams)[at]
        clutch = shared_clutch(self.pedigree, at, links, self.clutches)
        if clutch is not None:
            return [self._of_clutch((clutch, sex, links))]
        candidates = self._candidates(links, self._gametes[sex])
        if len(candidates) == 1:
            return candidates
        states = prod(len(one.gametes) for one in candidates)
        worth_it = states <= min(room, len(candidates) ** self.shared[links])
        return candidates if self.wide and worth_it else [self.stand_in(candidates, (at, sex))]

    def _candidates(self, links: Links, gametes: Gametes) -> list[Candidate]:
        """Return the birds of one side, and all pools together as one with their mean gamete."""
        birds: dict[int, float] = {}
        for node, share in links:
            if node >= self.pedigree.first_bird:
                variable = self.variable_of[node]
                birds[variable] = birds.get(variable, 0.0) + share
        found = [Candidate(gametes, share, variable) for variable, share in birds.items()]
        pools = self._pools(links)
        if pools:
            total = sum(share for _, share in pools)
            columns = zip(*(gamete for gamete, _ in pools), strict=True)
            shares = [share / total for _, share in pools]
            mean = tuple(
                sum(p * share for p, share in zip(column, shares, strict=True))
                for column in columns
            )
            found.append(Candidate((mean,), total))
        return found

    def _pools(self, links: Links) -> tuple[tuple[tuple[float, ...], float], ...]:
        """Haplotype frequencies and probability of each pool a parent may come from."""
        first = self.pedigree.first_bird
        return tuple((self.frequencies[node], share) for node, share in links if node < first)

    def stand_in(self, candidates: list[Candidate], whose: Unsure | None = None) -> Candidate:
        """Add "whoever the parent is": a selector, and the genotype of the bird it selects.

        The selector meets each possible parent in a factor of its own, so that many of them do
        not make one wide factor. A pool gamete is one more state of the stand-in.
        """
        pool = candidates[-1] if candidates[-1].variable is None else None
        held = candidates[0].gametes
        gametes = held + pool.gametes if pool else held
        pooled = (0.0,) * len(held) + (1.0,) if pool else None
        return Candidate(gametes, 1.0, self._selected(candidates, len(gametes), pooled, whose))

    def _of_clutch(self, household: Household) -> Candidate:
        """Return the one unknown parent of a clutch, added with its first chick.

        It is a bird, so a pool stands for a bird out of the pool and not for a gamete.
        """
        if household not in self.households:
            _, sex, links = household
            gametes = self._gametes[sex]
            candidates = self._candidates(links, gametes)
            pools = self._pools(links)
            pooled = founder_chances(self.stretch, sex, pools) if pools else None
            variable = self._selected(candidates, len(gametes), pooled, household)
            self.households[household] = Candidate(gametes, 1.0, variable)
        return self.households[household]

    def _selected(
        self,
        candidates: list[Candidate],
        states: int,
        pooled: tuple[float, ...] | None,
        whose: Unsure | None,
    ) -> int:
        """Add a variable that is whichever candidate is the parent; ``pooled`` if it is none."""
        stand_in = self.network.variable(states)
        if len(candidates) == 1 and pooled:
            self.network.add(prior_table(pooled), stand_in)
            return stand_in
        choices = len(candidates)
        selector = self._selector(tuple(one.share for one in candidates), whose)
        for place, one in enumerate(candidates):
            if one.variable is not None:
                table = selection_table(choices, place, len(one.gametes), states)
                self.network.add(table, selector, one.variable, stand_in)
        if pooled:
            self.network.add(pool_table(choices, pooled), selector, stand_in)
        return stand_in

    def _selector(self, shares: tuple[float, ...], whose: Unsure | None) -> int:
        """Return the variable that says which candidate it is, added unless it is there."""
        if whose in self.selectors:
            return self.selectors[whose]
        selector = self.network.variable(len(shares))
        self.network.add(prior_table(shares), selector)
        if whose is not None:
            self.selectors[whose] = selector
        return selector

    def states(self, node: int) -> tuple[State, ...]:
        """The states of a bird."""
        return self.stretch.states(self.sexes[node - self.pedigree.first_bird])

    def copies(self, node: int, place: int = 0) -> tuple[int, ...]:
        """Copies of the named allele of one of the loci, in each state of a bird."""
        locus = self.stretch.loci[place]
        return tuple(
            locus.copies(self.stretch.genotype(held, place)) for _, held in self.states(node)
        )

    def add_evidence(self, evidence: Evidence, place: int = 0) -> None:
        """Add one piece of evidence on birds that are in already; ``place`` of its locus.

        Counts of chicks of several possible parents are added by ``counted.add_pen_count``.
        """
        nodes = [self.nodes[bird] for bird in birds_of(evidence)]
        scope = [self.variable_of[node] for node in nodes]
        sexes = [self.sexes[node - self.pedigree.first_bird] for node in nodes]
        if isinstance(evidence, ChickCount):
            hen, cock = sexes
            table = count_table(self.stretch, place, evidence, (hen, cock))
        else:
            table = sight_table(evidence.weights, self.stretch, sexes[0], place)
        self.network.add(table, *scope)


def shared_clutch(
    pedigree: Pedigree, at: int, links: Links, clutches: frozenset[int]
) -> int | None:
    """Return the clutch whose unknown parent a bird shares on a side with these links.

    ``None`` if it has no clutch mates, or its parent on that side is certain.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> pair = pedigree_of("A ? sussex sussex 7", "B ? sussex sussex 7")
    >>> shared_clutch(pair, 1, pair.sires[1], frozenset({7}))
    7
    """
    clutch = pedigree.clutch_of(at)
    certain = len(links) == 1 and links[0][0] >= pedigree.first_bird
    return None if certain or clutch not in clutches else clutch


def chances_of(side: list[Candidate]) -> Chances:
    """The gametes and shares of the possible parents of one side, as the tables take them.

    Examples
    --------
    >>> chances_of([Candidate(((1.0, 0.0),), 0.25), Candidate(((0.5, 0.5),), 0.75)])
    ((((1.0, 0.0),), 0.25), (((0.5, 0.5),), 0.75))
    """
    return tuple((one.gametes, one.share) for one in side)
