"""States at all loci of a flock and the parents of every bird, drawn together at random.

What is shown of a bird are chances, locus by locus. Here a whole flock is drawn as it may be: one
state for each bird at each locus and one bird for each parent that is not certain, all of which
fit together and everything seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.network import beside, places_among_all
from matchmaker.genetics.genotypes.observed import ChickCount
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.exact import drawn_states, reduced
from matchmaker.genetics.inference.factors import Table
from matchmaker.genetics.inference.sampling import sampled

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.genotypes.builder import Builder, Unsure
    from matchmaker.genetics.genotypes.network import Problem
    from matchmaker.genetics.genotypes.posterior import Method
    from matchmaker.genetics.inference.factors import Network


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WholeFlocks:
    """A flock drawn several times over.

    ``states`` has for each problem the states of all birds, shape (draws, birds), as numbers among
    those of a bird of unknown sex. ``chosen`` says which of the possible parents each unsure parent
    is (shape (draws,)): birds in the order of the links, and after them all pools as one.
    """

    states: tuple[NDArray[np.uint8], ...]
    chosen: Mapping[Unsure, NDArray[np.uint8]]
    method: Method


def draw_flocks(
    problems: Sequence[Problem], streams: Sequence[np.random.Generator], seed: int
) -> WholeFlocks:
    """Draw the flock once with each of the ``streams``, given everything seen.

    All problems are of one pedigree; parents, and the sex of birds of unknown sex, are the same in
    all. Each draw is exact and independent of the others, and hangs on its own stream alone; where
    the pedigree is too tangled for that, chains are run once with ``seed`` and each stream picks
    one of the flocks they came by.

    Raises
    ------
    ContradictionError
        If the evidence cannot all be true.
    TooTangledError
        If the parentage is too tangled even for sampling.

    Examples
    --------
    A carrier cock, and his daughter of whom nothing was seen:

    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> from matchmaker.genetics.genotypes.network import Problem
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> from matchmaker.tables.records import Sex
    >>> family = Pedigree(
    ...     pools=(Pool("araucana"), Pool("sussex")),
    ...     bases=((0.0, 0.0), (0.0, 0.0)),
    ...     birds=("A", "B"),
    ...     sexes=(Sex.COCK, Sex.HEN),
    ...     sires=(((0, 1.0),), ((2, 1.0),)),
    ...     dams=(((1, 1.0),), ((1, 1.0),)),
    ... )
    >>> asked = Problem(
    ...     pedigree=family, recurrent="sussex", loci=(catalogue()["O"],), evidence=((),)
    ... )
    >>> streams = [np.random.default_rng(each) for each in range(4)]
    >>> draw_flocks([asked], streams, 1).states[0].tolist()
    [[1, 0], [1, 1], [1, 0], [1, 0]]
    """
    counted = any(
        isinstance(one, ChickCount) and one.hens
        for problem in problems
        for evidence in problem.evidence
        for one in evidence
    )
    builders: list[Builder] = []
    for summed in (True, False)[: 1 + counted]:
        builders = _builders(problems, summed=summed)
        try:
            net = reduced(builders[0].network)
        except TooTangledError:
            continue
        chances = np.stack([stream.random(len(net.sizes)) for stream in streams], axis=1)
        return _read(builders, drawn_states(net, chances).T, "exact")
    found = sampled(builders[0].network, np.random.default_rng(seed)).samples
    picked = [int(stream.integers(len(found))) for stream in streams]
    return _read(builders, found[picked], "sampled")


def _builders(problems: Sequence[Problem], *, summed: bool) -> list[Builder]:
    """One builder for each problem, all of one network."""
    builders: list[Builder] = []
    sexes: dict[int, int] = {}
    for problem in problems:
        builder = beside(problem, builders[0] if builders else None, summed=summed)
        builders.append(builder)
        if problem.stretch.z_linked:
            _share_sexes(builder, sexes)
    return builders


def _share_sexes(builder: Builder, sexes: dict[int, int]) -> None:
    """Make each bird of unknown sex be of one sex at all loci on the Z; ``sexes`` by its node."""
    network: Network = builder.network
    for node, variable in builder.variable_of.items():
        which = [sex for sex, _ in builder.states(node)]
        kinds = list(dict.fromkeys(which))
        if len(kinds) > 1:
            if node not in sexes:
                sexes[node] = network.variable(len(kinds))
            table = np.array([[float(one is kind) for one in which] for kind in kinds])
            network.add(Table.of(table), sexes[node], variable)


def _read(builders: Sequence[Builder], states: NDArray[np.uint8], method: Method) -> WholeFlocks:
    """What states (draws, variables) of the whole network say."""
    return WholeFlocks(
        states=tuple(_of_birds(builder, states) for builder in builders),
        chosen={whose: states[:, at] for whose, at in builders[0].selectors.items()},
        method=method,
    )


def _of_birds(builder: Builder, states: NDArray[np.uint8]) -> NDArray[np.uint8]:
    found = np.zeros((len(states), len(builder.variable_of)), dtype=np.uint8)
    for node, variable in builder.variable_of.items():
        places = places_among_all(builder, node)
        found[:, node - builder.pedigree.first_bird] = places[states[:, variable]]
    return found
