"""What is not known of the parents of a line: every way their genotypes may be, with its chance.

All chicks of a cock that may carry a gene, or may not, share that doubt: a hundred eggs of his do
not make up for his having no copy. So the chance of a number of wanted chicks is the mean over what
the unproven parents may be. They are taken as independent of each other, which is not quite so for
close relatives; what a pair expects on average is kept as it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.genotypes.chicks import chick_distribution
from matchmaker.pairs.certainty import PROVEN
from matchmaker.pairs.chances import chick_table
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.study import Study
    from matchmaker.pairs.chances import ChickTable, Group
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.pair import Pair

    Array = NDArray[np.float64]

MOST_WAYS: Final = 96
"""Up to so many ways are gone through; of more as many are drawn as ``DRAWN``, always the same."""

DRAWN: Final = 400
SEED: Final = 20270201

LEAST: Final = 1e-3
"""A genotype that is less likely than this is left out."""

Variable = tuple[str, tuple[str, ...]]
"""A bird, and the loci that pass on together of which its state is asked."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Doubts:
    """The ways that unproven parents may be.

    ``weights`` are their chances. ``wanted`` holds by pair and sex the chance per chick hatched
    that it is wanted, one for each way; pairs without any doubt are not in it. ``birds`` are the
    unproven ones with the loci in question; ``drawn`` says that ways were drawn at random.
    """

    weights: Array = field(default_factory=lambda: np.ones(1))
    wanted: Mapping[tuple[tuple[str, str, str], Sex], Array] = field(default_factory=dict)
    birds: tuple[Variable, ...] = ()
    drawn: bool = False

    def of(self, pair: Pair, sex: Sex) -> Array:
        """Chance of a wanted chick of this sex of a pair, in each way."""
        known = (pair.wanted_by_sex or {}).get(sex, 0.0)
        found = self.wanted.get((pair.key, sex))
        return np.full(len(self.weights), known) if found is None else found


def line_doubts(study: Study, pairs: Iterable[Pair]) -> Doubts:
    """The doubts about the parents of some pairs."""
    pairs = [pair for pair in pairs if pair.crossing is not None and pair.crossing.tests is None]
    unproven = [pair for pair in pairs if _in_doubt(study, pair)]
    if not unproven:
        return Doubts()
    hens = sorted({pair.hen for pair in unproven})
    cocks = sorted({pair.cock for pair in unproven})
    states = _States(study=study, chicks=chick_table(study, hens, cocks))
    variables = sorted(
        {
            variable
            for pair in unproven
            for sex in Sex
            for part in states.parts(pair, sex)
            for variable in part.variables
            if len(states.possible(variable)) > 1
        }
    )
    ways, weights, drawn = _ways([states.possible(one) for one in variables])
    places = {variable: at for at, variable in enumerate(variables)}
    wanted = {
        (pair.key, sex): states.wanted(pair, sex, ways, weights, places)
        for pair in unproven
        for sex in Sex
    }
    return Doubts(weights=weights, wanted=wanted, birds=tuple(variables), drawn=drawn)


def _in_doubt(study: Study, pair: Pair) -> bool:
    """Whether what hen or cock have at a locus that matters is not proven."""
    loci = () if pair.crossing is None else pair.crossing.loci
    return any(
        study.genotypes[locus].of(bird).max() < PROVEN
        for locus in loci
        for bird in (pair.hen, pair.cock)
    )


def _ways(
    possible: Sequence[Sequence[tuple[int, float]]],
) -> tuple[NDArray[np.int64], Array, bool]:
    """Ways, shape (ways, variables), with their chances: all of them, or some drawn."""
    if math.prod(len(one) for one in possible) <= MOST_WAYS:
        every = list(product(*possible))
        ways = np.array([[state for state, _ in way] for way in every], dtype=np.int64)
        weights = np.array([math.prod(chance for _, chance in way) for way in every])
        return ways.reshape(len(every), len(possible)), weights / weights.sum(), False
    rng = np.random.default_rng(SEED)
    columns = [
        rng.choice([state for state, _ in one], size=DRAWN, p=[chance for _, chance in one])
        for one in possible
    ]
    return np.stack(columns, axis=1).astype(np.int64), np.full(DRAWN, 1.0 / DRAWN), True


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """Loci of a row that pass on together: P(chick counts | state of hen, state of cock)."""

    variables: tuple[Variable, Variable]
    chance: Array


@dataclass(frozen=True, kw_only=True, eq=False)
class _States:
    study: Study
    chicks: ChickTable

    def possible(self, variable: Variable) -> list[tuple[int, float]]:
        """States that a bird may be in, with their chances; one alone if it is proven."""
        bird, loci = variable
        if len(loci) == 2:
            row = self.study.linked[loci[0], loci[1]].posterior.of(bird)
        else:
            row = self.study.genotypes[loci[0]].of(bird)
        if row.max() >= PROVEN:
            return [(int(row.argmax()), 1.0)]
        kept = [(int(at), float(row[at])) for at in np.flatnonzero(row >= LEAST)]
        whole = sum(chance for _, chance in kept)
        return [(at, chance / whole) for at, chance in kept]

    def parts(self, pair: Pair, sex: Sex) -> Iterator[_Part]:
        """The parts of a row, each with what it lets through."""
        crossing = pair.crossing
        if crossing is None or sex not in crossing.sexes:
            return
        for group in self.chicks.groups(crossing, sex):
            yield self._part(pair, sex, crossing, group)

    def _part(self, pair: Pair, sex: Sex, crossing: Crossing, group: Group) -> _Part:
        loci = tuple(locus.symbol for locus in group.loci)
        kept = crossing.keep.get(sex, {})
        named = tuple(symbol for symbol in loci if symbol in kept)
        if len(loci) == 2 and len(named) == 1 and not crossing.by_sight:
            loci = named
            counted: list[tuple[int, ...]] = [(copies,) for copies in kept[named[0]]]
        else:
            at = (self.chicks.hens.index(pair.hen), self.chicks.cocks.index(pair.cock))
            told = group.recognised(by_sight=crossing.by_sight)
            counted = [copies for copies, pairs in told.items() if pairs[at]]
        table = self._by_state(loci, sex)
        by_copies = np.moveaxis(table, (0, 1), (-2, -1))
        chance = np.zeros(table.shape[:2])
        for copies in counted:
            chance += by_copies[copies]
        return _Part(variables=((pair.hen, loci), (pair.cock, loci)), chance=chance)

    def _by_state(self, loci: tuple[str, ...], sex: Sex) -> Array:
        """P(copies of a chick | states of hen and cock)."""
        if len(loci) == 2:
            linked = self.study.linked[loci[0], loci[1]].chicks_by_state()
            return linked.sons if sex is Sex.COCK else linked.daughters
        classes = chick_distribution(np.eye(9).reshape(3, 3, 3, 3), self.study.loci[loci[0]])
        return classes.sons if sex is Sex.COCK else classes.daughters

    def wanted(
        self,
        pair: Pair,
        sex: Sex,
        ways: NDArray[np.int64],
        weights: Array,
        places: Mapping[Variable, int],
    ) -> Array:
        """Chance of a wanted chick in each way, its mean that of the pair."""
        known = (pair.wanted_by_sex or {}).get(sex, 0.0)
        found = np.full(len(weights), 0.5)
        for part in self.parts(pair, sex):
            hen, cock = (
                ways[:, places[one]]
                if one in places
                else np.full(len(weights), self.possible(one)[0][0])
                for one in part.variables
            )
            found = found * part.chance[hen, cock]
        mean = float(weights @ found)
        return found * (known / mean) if mean > 0 else np.full(len(weights), known)
