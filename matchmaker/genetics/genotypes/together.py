"""States at all loci of a flock and the parents of every bird, drawn together at random.

What is shown of a bird are chances, locus by locus. Here a whole flock is drawn as it may be: one
state for each bird at each locus and one bird for each parent that is not certain, all of which
fit together and everything seen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.network import beside, places_among_all, sexes_by_role
from matchmaker.genetics.genotypes.observed import ChickCount
from matchmaker.genetics.inference.elimination import CELLS_MAX, TooTangledError
from matchmaker.genetics.inference.exact import drawn_states, reduced
from matchmaker.genetics.inference.factors import ContradictionError, Table
from matchmaker.genetics.inference.sampling import sampled
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.builder import Builder, Unsure
    from matchmaker.genetics.genotypes.network import Problem
    from matchmaker.genetics.genotypes.posterior import Method
    from matchmaker.genetics.inference.exact import Reduced
    from matchmaker.genetics.inference.factors import Network

CELLS_TOGETHER = 1_000_000
"""Most table cells of several problems in one network; with more, drawing takes too long."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WholeFlocks:
    """A flock drawn several times over.

    ``states`` has for each problem the states of all birds, shape (draws, birds), as numbers among
    those of a bird of unknown sex. ``chosen`` says which of the possible parents each unsure parent
    is (shape (draws,)): birds in the order of the links, and after them all pools as one.
    ``given_parents`` are loci that were too many to be drawn in one with the rest: what was seen
    of them did not help to tell the parents.
    """

    states: tuple[NDArray[np.uint8], ...]
    chosen: Mapping[Unsure, NDArray[np.uint8]]
    method: Method
    given_parents: tuple[str, ...] = ()


def draw_flocks(
    problems: Sequence[Problem], streams: Sequence[np.random.Generator], seed: int
) -> WholeFlocks:
    """Draw the flock once with each of the ``streams``, given everything seen.

    All problems are of one pedigree; parents, and the sex of birds of unknown sex, are the same in
    all. Each draw is exact and independent of the others, and hangs on its own stream alone; where
    the pedigree is too tangled for that, chains are run once with ``seed`` and each stream picks
    one of the flocks they came by. Problems that are too tangled together are drawn one after the
    other, what most was seen of first, the later ones given the parents that were drawn; a draw
    that does not fit them gives way to another.

    Raises
    ------
    ContradictionError
        If the evidence cannot all be true.
    TooTangledError
        If the parentage is too tangled even for sampling.

    Examples
    --------
    A carrier cock, and his daughter of whom nothing was seen:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.network import Problem
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> family = pedigree_of("A cock araucana sussex", "B hen A sussex")
    >>> asked = Problem(
    ...     pedigree=family, recurrent="sussex", loci=(catalogue()["O"],), evidence=((),)
    ... )
    >>> streams = [np.random.default_rng(each) for each in range(4)]
    >>> draw_flocks([asked], streams, 1).states[0].tolist()
    [[1, 0], [1, 1], [1, 0], [1, 0]]
    """
    order = sorted(range(len(problems)), key=lambda at: _rank(problems[at]))
    builders, net = _joined([problems[at] for at in order])
    if net is None:
        samples = sampled(builders[0].network, np.random.default_rng(seed)).samples
        states = samples[[int(stream.integers(len(samples))) for stream in streams]]
    else:
        chances = np.stack([stream.random(len(net.sizes)) for stream in streams], axis=1)
        states = drawn_states(net, chances).T
    found = WholeFlocks(
        states=tuple(_of_birds(builder, states) for builder in builders),
        chosen={whose: states[:, at] for whose, at in builders[0].selectors.items()},
        method="sampled" if net is None else "exact",
    )
    if len(builders) < len(problems):
        found = _with_later(found, [problems[at] for at in order], len(builders), streams)
    back = np.argsort(order)
    return replace(found, states=tuple(found.states[at] for at in back))


def _with_later(
    found: WholeFlocks,
    problems: Sequence[Problem],
    done: int,
    streams: Sequence[np.random.Generator],
) -> WholeFlocks:
    """Flocks of the first problems with the states of the others, given their parents."""
    pedigrees = _known_parents(problems[0].pedigree, found.chosen, len(streams))
    later = _Later(pedigrees=pedigrees, streams=streams)
    states, possible = list(found.states), np.ones(len(streams), dtype=np.bool_)
    for at in range(len(problems)):
        problem = problems[at]
        if at >= done:
            drawn, fits = later.drawn(problem)
            states.append(drawn)
            possible &= fits
        if problem.stretch.z_linked:
            later = later.with_sexes(problem, states[at])
    if not possible.any():
        raise TooTangledError(CELLS_TOGETHER, "no parents drawn for some loci fit the others; ")
    kept = np.flatnonzero(possible)
    draws = [
        draw if fits else int(kept[stream.integers(len(kept))])
        for draw, (fits, stream) in enumerate(zip(possible.tolist(), streams, strict=True))
    ]
    return replace(
        found,
        states=tuple(each[draws] for each in states),
        chosen={whose: which[draws] for whose, which in found.chosen.items()},
        given_parents=tuple(locus.symbol for one in problems[done:] for locus in one.loci),
    )


def _rank(problem: Problem) -> tuple[bool, int]:
    """What shall be drawn first: what tells of both parents, then what most was seen of."""
    return problem.stretch.z_linked, -sum(map(len, problem.evidence))


def _joined(problems: Sequence[Problem]) -> tuple[list[Builder], Reduced | None]:
    """The first of the problems, as many as can be drawn exactly, in one network.

    If not even the first can be, its network alone.
    """
    best: tuple[list[Builder], Reduced | None] = ([], None)
    for count in range(1, len(problems) + 1):
        cells = CELLS_MAX if count == 1 else CELLS_TOGETHER
        builders: list[Builder] = []
        net = None
        for summed in (True, False)[: 1 + any(map(_counted, problems[:count]))]:
            builders = _builders(problems[:count], summed=summed)
            try:
                net = reduced(builders[0].network, cells)
                break
            except TooTangledError:
                continue
        if net is None:
            return best if best[0] else (builders, None)
        best = builders, net
    return best


def _counted(problem: Problem) -> bool:
    """Whether chicks of several possible parents were counted."""
    return any(
        isinstance(one, ChickCount) and bool(one.hens)
        for evidence in problem.evidence
        for one in evidence
    )


def _known_parents(
    pedigree: Pedigree, chosen: Mapping[Unsure, NDArray[np.uint8]], draws: int
) -> list[Pedigree]:
    """The pedigree of each draw, with the parents that were chosen."""
    first = pedigree.first_bird
    found = []
    for draw in range(draws):
        sides = {Sex.COCK: list(pedigree.sires), Sex.HEN: list(pedigree.dams)}
        for whose, numbers in chosen.items():
            for at in _chicks_of(pedigree, whose):
                links = sides[whose[1]][at]
                birds = [node for node, _ in links if node >= first]
                pools = [link for link in links if link[0] < first]
                total = sum(share for _, share in pools)
                which = int(numbers[draw])
                sides[whose[1]][at] = (
                    ((birds[which], 1.0),)
                    if which < len(birds)
                    else tuple((node, share / total) for node, share in pools)
                )
        found.append(replace(pedigree, sires=tuple(sides[Sex.COCK]), dams=tuple(sides[Sex.HEN])))
    return found


def _chicks_of(pedigree: Pedigree, whose: Unsure) -> list[int]:
    """Numbers of the birds that have an unsure parent."""
    if len(whose) == 2:
        return [whose[0]]
    return [
        at
        for at, links in enumerate(pedigree.sires if whose[1] is Sex.COCK else pedigree.dams)
        if pedigree.clutch_of(at) == whose[0] and links == whose[2]
    ]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Later:
    """Problems drawn one after the other, each given the parents and sexes that were drawn."""

    pedigrees: Sequence[Pedigree]
    streams: Sequence[np.random.Generator]

    def drawn(self, problem: Problem) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
        """States (draws, birds), and which draws are possible at all (draws,)."""
        found = np.zeros((len(self.streams), len(problem.pedigree.birds)), dtype=np.uint8)
        possible = np.ones(len(self.streams), dtype=np.bool_)
        for draw, (pedigree, stream) in enumerate(zip(self.pedigrees, self.streams, strict=True)):
            builder = beside(replace(problem, pedigree=pedigree), None, summed=True)
            try:
                net = reduced(builder.network)
                states = drawn_states(net, stream.random((len(net.sizes), 1))).T
            except ContradictionError:
                possible[draw] = False
            else:
                found[draw] = _of_birds(builder, states)[0]
        return found, possible

    def with_sexes(self, problem: Problem, states: NDArray[np.uint8]) -> _Later:
        """The same, with everybody of the sex that states on the Z say."""
        hens = states >= len(problem.stretch.states(Sex.COCK))
        pedigrees = [
            replace(
                one,
                sexes=tuple(
                    sex or (Sex.HEN if hen else Sex.COCK)
                    for sex, hen in zip(sexes_by_role(one), own, strict=True)
                ),
            )
            for one, own in zip(self.pedigrees, hens.tolist(), strict=True)
        ]
        return replace(self, pedigrees=pedigrees)


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


def _of_birds(builder: Builder, states: NDArray[np.uint8]) -> NDArray[np.uint8]:
    found = np.zeros((len(states), len(builder.variable_of)), dtype=np.uint8)
    for node, variable in builder.variable_of.items():
        places = places_among_all(builder, node)
        found[:, node - builder.pedigree.first_bird] = places[states[:, variable]]
    return found
