"""A pedigree and what was seen of it, as a network of factors for one locus."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import lru_cache
from math import prod
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from matchmaker.genetics.elimination import CELLS_MAX, EASY_CELLS, TooTangledError
from matchmaker.genetics.factors import Network, Table
from matchmaker.genetics.inference import reduced
from matchmaker.genetics.observed import ChickCount, birds_of
from matchmaker.genetics.transmission import DIPLOID, Inheritance, chick_table
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.inference import Reduced
    from matchmaker.genetics.loci import Locus
    from matchmaker.genetics.observed import Evidence, Weights

Gametes: TypeAlias = tuple[float, ...]
Chances: TypeAlias = tuple[tuple[Gametes, float], ...]
"""The possible parents of one side, for a table: their gamete chances and probabilities."""

OPEN_STATES_MAX = 3**9
"""Most joint states of possible parents that one factor may span."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One possible parent: a variable, or (None) a pool with its one fixed gamete chance."""

    gametes: Gametes
    share: float
    variable: int | None = None


@dataclass(slots=True, kw_only=True)
class Builder:
    """Turns birds into variables and their descent and evidence into factors.

    With ``wide`` a bird of several possible parents may be joined to all of them by one factor,
    where enough birds share those parents; else it is joined to each through a selector.
    """

    pedigree: Pedigree
    nodes: dict[str, int]
    inheritance: Inheritance
    frequencies: tuple[float, ...]
    sexes: tuple[Sex | None, ...]
    shared: Counter[Links]
    """How many of the birds have these possible parents."""
    wide: bool = True
    network: Network = field(default_factory=Network)
    variable_of: dict[int, int] = field(default_factory=dict)
    """Variable of each bird included, by its node."""

    def add_bird(self, at: int) -> None:
        """Add bird number ``at``, whose possible parents are in already."""
        sex = self.sexes[at]
        variable = self.network.variable(len(self.inheritance.states(sex)))
        self.variable_of[self.pedigree.first_bird + at] = variable
        sires = self._side(self.pedigree.sires[at], Sex.COCK, OPEN_STATES_MAX)
        if self.inheritance.z_linked and sex is Sex.HEN:
            dams = [Candidate((0.0,), 1.0)]
        else:
            room = OPEN_STATES_MAX // prod(len(one.gametes) for one in sires)
            dams = self._side(self.pedigree.dams[at], Sex.HEN, room)
        table = _descent(self.inheritance, sex, _chances(sires), _chances(dams))
        parents = [one.variable for one in (*sires, *dams) if one.variable is not None]
        self.network.add(table, *parents, variable)

    def _side(self, links: Links, sex: Sex, room: int) -> list[Candidate]:
        """Return the possible parents of one side (at most ``room`` states), or a stand-in."""
        candidates = self._candidates(links, self.inheritance.gametes(sex))
        if len(candidates) == 1:
            return candidates
        states = prod(len(one.gametes) for one in candidates)
        worth_it = states <= min(room, len(candidates) ** self.shared[links])
        return candidates if self.wide and worth_it else [self._stand_in(candidates)]

    def _candidates(self, links: Links, gametes: Gametes) -> list[Candidate]:
        """Return the birds of one side, and all pools together as one with their mean chance."""
        first = self.pedigree.first_bird
        birds: dict[int, float] = {}
        from_pools = carrying = 0.0
        for node, share in links:
            if node < first:
                from_pools += share
                carrying += share * self.frequencies[node]
            else:
                variable = self.variable_of[node]
                birds[variable] = birds.get(variable, 0.0) + share
        found = [Candidate(gametes, share, variable) for variable, share in birds.items()]
        if from_pools:
            found.append(Candidate((carrying / from_pools,), from_pools))
        return found

    def _stand_in(self, candidates: list[Candidate]) -> Candidate:
        """Add "whoever the parent is": a selector, and the genotype of the bird it selects.

        The selector meets each possible parent in a factor of its own, so that many of them do
        not make one wide factor. A pool gamete is one more state of the stand-in.
        """
        pool = candidates[-1] if candidates[-1].variable is None else None
        copies = candidates[0].gametes
        gametes = copies + pool.gametes if pool else copies
        selector = self.network.variable(len(candidates))
        stand_in = self.network.variable(len(gametes))
        self.network.add(_prior(tuple(one.share for one in candidates)), selector)
        for place, one in enumerate(candidates):
            if one.variable is not None:
                table = _selection(len(candidates), place, len(copies), len(gametes))
                self.network.add(table, selector, one.variable, stand_in)
        if pool:
            self.network.add(_pool_selection(len(candidates), len(gametes)), selector, stand_in)
        return Candidate(gametes, 1.0, stand_in)

    def states(self, node: int) -> tuple[tuple[Sex, int], ...]:
        """(Sex, copies) of each state of a bird."""
        return self.inheritance.states(self.sexes[node - self.pedigree.first_bird])

    def add_evidence(self, evidence: Evidence) -> None:
        """Add one piece of evidence on birds that are in already."""
        scope = [self.variable_of[self.nodes[bird]] for bird in birds_of(evidence)]
        if isinstance(evidence, ChickCount):
            self.network.add(_count_table(self.inheritance, evidence), *scope)
        else:
            at = self.nodes[evidence.bird] - self.pedigree.first_bird
            states = self.inheritance.states(self.sexes[at])
            # Off the Z the states do not tell the sex, but what was seen may depend on it.
            known = None if self.inheritance.z_linked else self.sexes[at]
            self.network.add(_sight_table(evidence.weights, states, known), *scope)


def build(
    pedigree: Pedigree,
    locus: Locus,
    recurrent: str,
    evidence: Sequence[Evidence],
    queried: Iterable[int],
) -> Iterator[Builder]:
    """Yield networks of the ``queried`` nodes, the birds of the evidence, and all ancestors.

    Every other bird sums to one and is left out. The networks say the same in two forms (possible
    parents joined in one factor or through selectors); which is narrower depends on the flock.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> from matchmaker.genetics.loci import catalogue
    >>> family = Pedigree(
    ...     pools=(Pool("sussex"),),
    ...     bases=((0.0,),),
    ...     birds=("A", "B"),
    ...     sexes=(Sex.COCK, Sex.HEN),
    ...     sires=(((0, 1.0),), ((1, 1.0),)),
    ...     dams=(((0, 1.0),), ((0, 1.0),)),
    ... )
    >>> [
    ...     sorted(builder.variable_of)
    ...     for builder in build(family, catalogue()["O"], "sussex", (), [2])
    ... ]
    [[1, 2]]
    """
    nodes = pedigree.node_of()
    wanted = set(queried) | {nodes[bird] for one in evidence for bird in birds_of(one)}
    included = [
        node - pedigree.first_bird
        for node in pedigree.ancestors(wanted)
        if node >= pedigree.first_bird
    ]
    shared = Counter(side[at] for at in included for side in (pedigree.sires, pedigree.dams))
    mixed = any(len(links) > 1 for links in shared)
    for wide in (True, False) if mixed else (True,):
        builder = Builder(
            pedigree=pedigree,
            nodes=nodes,
            inheritance=locus.inheritance,
            frequencies=tuple(
                locus.founder_frequency(pool.breed, recurrent) for pool in pedigree.pools
            ),
            sexes=sexes_by_role(pedigree),
            shared=shared,
            wide=wide,
        )
        for at in included:
            builder.add_bird(at)
        for one in evidence:
            builder.add_evidence(one)
        yield builder


def reduced_network(
    pedigree: Pedigree,
    locus: Locus,
    recurrent: str,
    evidence: Sequence[Evidence],
    queried: Iterable[int],
) -> tuple[Builder, Reduced]:
    """Return the narrowest form of the network of ``build``, trimmed and ready to be summed.

    Raises
    ------
    ContradictionError
        If trimming alone shows that the evidence is impossible.
    TooTangledError
        If every form needs too many cells.

    Examples
    --------
    A pure bird of the recurrent breed is settled; nothing is left to sum:

    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> from matchmaker.genetics.loci import catalogue
    >>> pure = Pedigree(
    ...     pools=(Pool("sussex"),),
    ...     bases=((0.0,),),
    ...     birds=("A",),
    ...     sexes=(Sex.COCK,),
    ...     sires=(((0, 1.0),),),
    ...     dams=(((0, 1.0),),),
    ... )
    >>> reduced_network(pure, catalogue()["O"], "sussex", (), [1])[1].cells
    0
    """
    best: tuple[Builder, Reduced] | None = None
    refused: TooTangledError | None = None
    for builder in build(pedigree, locus, recurrent, evidence, queried):
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
    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> family = Pedigree(
    ...     pools=(Pool("sussex"),),
    ...     bases=((0.0,),),
    ...     birds=("A", "B", "C"),
    ...     sexes=(None, None, None),
    ...     sires=(((0, 1.0),), ((0, 1.0),), ((1, 1.0),)),
    ...     dams=(((0, 1.0),), ((0, 1.0),), ((2, 1.0),)),
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


def _chances(side: list[Candidate]) -> Chances:
    return tuple((one.gametes, one.share) for one in side)


@lru_cache(maxsize=256)
def _descent(inheritance: Inheritance, sex: Sex | None, sires: Chances, dams: Chances) -> Table:
    """P(chick | all its possible parents): the mean over them; axes sires, dams, chick."""
    sizes = [len(gametes) for gametes, _ in (*sires, *dams)]
    chick = len(inheritance.states(sex))
    table = np.zeros((*sizes, chick))
    for one, (sire, sire_share) in enumerate(sires):
        for two, (dam, dam_share) in enumerate(dams, len(sires)):
            shape = [size if at in {one, two} else 1 for at, size in enumerate(sizes)]
            born = chick_table(inheritance, sex, sire, dam).reshape(*shape, chick)
            table += sire_share * dam_share * born
    pools = tuple(at for at, size in enumerate(sizes) if size == 1)
    return Table.of(table.squeeze(pools))


@lru_cache(maxsize=1024)
def _prior(shares: tuple[float, ...]) -> Table:
    return Table.of(np.array(shares))


@lru_cache(maxsize=4096)
def _selection(choices: int, chosen: int, copies: int, states: int) -> Table:
    """If the selector says ``chosen``, the stand-in is that bird; else the factor says nothing."""
    table = np.ones((choices, copies, states))
    table[chosen] = np.eye(copies, states)
    return Table.of(table)


@lru_cache(maxsize=1024)
def _pool_selection(choices: int, states: int) -> Table:
    table = np.ones((choices, states))
    table[-1] = np.eye(states)[-1]
    return Table.of(table)


@lru_cache(maxsize=4096)
def _sight_table(weights: Weights, states: tuple[tuple[Sex, int], ...], known: Sex | None) -> Table:
    cock, hen = weights
    return Table.of(
        np.array([(hen if (known or sex) is Sex.HEN else cock)[copies] for sex, copies in states])
    )


def _count_table(inheritance: Inheritance, count: ChickCount) -> Table:
    """Chance of the counts by copies of (hen, cock), the number of orders apart (multinomial)."""
    sons, daughters = (
        np.swapaxes(chick_table(inheritance, sex, DIPLOID, inheritance.gametes(Sex.HEN)), 0, 1)
        for sex in (Sex.COCK, Sex.HEN)
    )
    logs = np.zeros(sons.shape[:2])
    for (cock, hen), chicks in count.classes:
        chance = _share(count.sex, sons @ np.array(cock), daughters @ np.array(hen))
        with np.errstate(divide="ignore"):
            logs += chicks * np.log(chance) if chicks else 0.0
    return Table(logs)


def _share(
    sex: Sex | None, sons: NDArray[np.float64], daughters: NDArray[np.float64]
) -> NDArray[np.float64]:
    if sex is None:
        return (sons + daughters) / 2
    return sons if sex is Sex.COCK else daughters
