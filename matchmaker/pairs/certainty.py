"""How sure it is that a number of wanted chicks will be reached.

Chicks are independent yes-or-no trials once their parents' genotypes are known. Where a parent is
not proven it is taken at the worst it may be, so that parents shared by many pairs do no harm.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import product
from math import comb, exp, prod
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.genotypes.chicks import chick_distribution
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from matchmaker.genetics.study import Study
    from matchmaker.pairs.chances import ChickTable, Group
    from matchmaker.pairs.crossings import Crossing

PROVEN: Final = 0.999
"""A parent counts as proven at a row's loci if one genotype has at least this probability."""

POSSIBLE: Final = 1e-6
"""A genotype with a smaller probability than this is left out of account."""


def poisson_mean(count: int, chance: float) -> float:
    """The mean at which a number of chicks reaches ``count`` with this chance, at least ``count``.

    The number of successes among independent trials of whatever chances, with this mean or more,
    is below ``count`` at most as often as a Poisson number of this mean (Hoeffding 1956, Ann Math
    Stat 27:713; Anderson and Samuels 1967, Berkeley Symp 1:1; from memory). That holds from a mean
    of ``count`` on, hence the lower bound.

    Examples
    --------
    >>> round(poisson_mean(2, 0.95), 3), round(poisson_mean(1, 0.99), 3), poisson_mean(2, 0.5)
    (4.744, 4.605, 2.0)
    """
    low, high = float(count), count + 1.0
    if count == 0 or _fewer(count, low) <= 1.0 - chance:
        return low
    while _fewer(count, high) > 1.0 - chance:
        low, high = high, 2 * high
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _fewer(count, middle) > 1.0 - chance else (low, middle)
    return high


def _fewer(count: int, mean: float) -> float:
    """P(a Poisson number of this mean is below ``count``)."""
    term = total = exp(-mean)
    for at in range(1, count):
        term *= mean / at
        total += term
    return total


def chance_of_reaching(count: int, parts: Iterable[tuple[float, float]]) -> float:
    """Chance of at least so many successes in several runs of independent trials.

    ``parts`` are (trials, mean number of successes); of a broken number of trials the rest is one
    more trial with that part of a chance.

    Examples
    --------
    >>> chance_of_reaching(1, [(2, 1.0)]), chance_of_reaching(2, [(1, 0.5), (1.5, 0.75)])
    (0.75, 0.375)
    """
    if count <= 0:
        return 1.0
    fewer = np.zeros(count)
    fewer[0] = 1.0
    for trials, mean in parts:
        if trials > 0:
            whole, chance = int(trials), min(mean / trials, 1.0)
            for number, each in ((whole, chance), (1, (trials - whole) * chance)):
                fewer = np.convolve(fewer, _binomial(number, each, count))[: len(fewer)]
    return 1.0 - float(fewer.sum())


def _binomial(trials: int, chance: float, below: int) -> NDArray[np.float64]:
    few = range(min(trials, below - 1) + 1)
    return np.array([comb(trials, k) * chance**k * (1.0 - chance) ** (trials - k) for k in few])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LeastChances:
    """The chances of wanted chicks in one row if every unproven parent carries the worst it may.

    Of each group of loci that pass on together, a hen and a cock may be in any state that has a
    probability of at least ``POSSIBLE`` (one alone, if it has ``PROVEN``); the chance is that in
    the pair of states with the fewest wanted chicks. Whatever the parents are, all chicks of a
    plan are then independent trials with at least these chances, so their number is at least as
    likely to reach any goal: also where one unproven bird is a parent in many pairs. Where the
    row's chances are not exact the least is taken as 0.
    """

    study: Study
    chicks: ChickTable
    crossing: Crossing
    _known: dict[tuple[object, ...], float] = field(default_factory=dict, repr=False)

    def at(self, hen_at: int, cock_at: int) -> dict[Sex, float]:
        """Least chance per chick hatched of a wanted son and of a wanted daughter."""
        return {
            sex: self._least(sex, hen_at, cock_at)
            if sex in self.crossing.sexes and self._exact
            else 0.0
            for sex in Sex
        }

    @property
    def _exact(self) -> bool:
        kept = set(self.crossing.loci)
        inferred = self.study.inferred
        sampled = any(self.study.genotypes[symbol].method != "exact" for symbol in kept)
        apart = any(kept.issuperset(pair) for pair in inferred.apart)
        return not (sampled or apart or self.chicks.sampled & kept)

    def _least(self, sex: Sex, hen_at: int, cock_at: int) -> float:
        groups = self.chicks.groups(self.crossing, sex)
        return 0.5 * prod(self._of_group(group, sex, hen_at, cock_at) for group in groups)

    def _of_group(self, group: Group, sex: Sex, hen_at: int, cock_at: int) -> float:
        symbols = tuple(locus.symbol for locus in group.loci)
        told = group.recognised(by_sight=self.crossing.by_sight)
        counted = tuple(copies for copies, pairs in told.items() if pairs[hen_at, cock_at])
        hen = self._states(symbols, self.chicks.hens[hen_at])
        cock = self._states(symbols, self.chicks.cocks[cock_at])
        key = (symbols, sex, counted, hen, cock)
        if key not in self._known:
            table = self._by_state(symbols, sex)
            self._known[key] = min(
                sum(float(table[(*states, *copies)]) for copies in counted)
                for states in product(hen, cock)
            )
        return self._known[key]

    def _states(self, symbols: tuple[str, ...], bird: str) -> tuple[int, ...]:
        """The states that must be reckoned with."""
        if len(symbols) == 2:
            row = self.study.linked[symbols[0], symbols[1]].posterior.of(bird)
        else:
            row = self.study.genotypes[symbols[0]].of(bird)
        if row.max() >= PROVEN:
            return (int(row.argmax()),)
        return tuple(int(at) for at in np.flatnonzero(row >= POSSIBLE))

    def _by_state(self, symbols: tuple[str, ...], sex: Sex) -> NDArray[np.float64]:
        """P(copies of a chick | states of hen and cock), hens' states first."""
        if len(symbols) == 2:
            linked = self.study.linked[symbols[0], symbols[1]].chicks_by_state()
            return linked.sons if sex is Sex.COCK else linked.daughters
        pure = np.eye(9).reshape(3, 3, 3, 3)
        classes = chick_distribution(pure, self.study.loci[symbols[0]])
        return classes.sons if sex is Sex.COCK else classes.daughters


def least_of_rows(
    study: Study, chicks: ChickTable, crossings: Iterable[Crossing]
) -> Mapping[str, LeastChances]:
    """The least chances of the rows that feed a line which asks for certainty, by row."""
    lines = study.flock.settings.lines
    return {
        row.name: LeastChances(study=study, chicks=chicks, crossing=row)
        for row in crossings
        if row.chicks in lines and lines[row.chicks].certainty is not None
    }
