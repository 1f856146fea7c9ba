"""What a plan's chicks are expected to be, trait by trait, against what any pairs would give."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.scores import SHARE, VIGOUR
from matchmaker.pairs.goals import most_per_pair
from matchmaker.pairs.table import line_averages

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.genetics.traits.prospects import Prospects
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan

LEAST_LOSS: Final = 0.05
"""A trait that loses less than this many genetic SDs is not said to lose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitResponse:
    """One trait among a plan's wanted chicks.

    In the trait's unit: ``level`` is where the chicks are expected, ``change`` how far that is from
    the chicks of average pairs, and ``by_genes``, ``by_breed`` (the breed's share and the vigour
    of a cross) and ``by_inbreeding`` are its parts, which sum up. ``error`` is the standard error
    of ``change``. ``gain`` is what one chick is worth more than that of an average pair as the
    plan counts it, in genetic SDs, more being better.
    """

    aim: TraitAim
    genetic_sd: float
    level: float
    change: float
    by_genes: float
    by_breed: float
    by_inbreeding: float
    error: float
    gain: float

    @property
    def distance(self) -> float | None:
        """How much further from the optimum the chicks are expected, in the trait's unit.

        That of their level, against that of the chicks of average pairs; ``None`` without an
        optimum. The spread of the chicks about their level, which ``gain`` counts too, is left out.
        """
        optimum = self.aim.optimum
        return None if optimum is None else further_off(self.level, self.change, optimum)

    @property
    def change_in_sds(self) -> float:
        """The change in genetic standard deviations."""
        return self.change / self.genetic_sd

    @property
    def toward(self) -> float | None:
        """How far the chicks go the wanted way, in genetic SDs; ``None`` if no way is wanted."""
        if self.distance is not None:
            return -self.distance / self.genetic_sd
        return self.aim.sign * self.change_in_sds if self.aim.sign else None

    @property
    def loses(self) -> bool:
        """Whether the chicks are expected to be worse than those of average pairs."""
        return self.toward is not None and self.toward < -LEAST_LOSS


def further_off(level: float, change: float, optimum: float) -> float:
    """How much further from an optimum a level lies after a change than before it.

    Examples
    --------
    >>> further_off(52.5, 0.5, 50.0), further_off(49.5, 2.0, 50.0)
    (0.5, -2.0)
    """
    return abs(level - optimum) - abs(level - change - optimum)


def plan_response(plan: SeasonPlan) -> tuple[TraitResponse, ...]:
    """The response of every trait that is predicted, in order of their names.

    Notes
    -----
    Each pair counts by its wanted chicks of the turn in which it stands, at most as many as the
    plan's value counts of one pair, and is measured against the mean of all pairs that the rows of
    its chicks' line could have, as in its worth. The difference is a sum of predictions times what
    each bird gives more (or less) than on average; its error is that of this sum and of the slopes
    of breed share and vigour jointly (``Solved.spread``).
    """
    shares = tuple(_shares(plan))
    counted = _counted(plan.table, shares)
    if not counted.any():
        return ()
    against = counted - _average(plan.table, shares)
    prospects = plan.table.study.prospects
    return tuple(
        _response(prospects, trait, counted, against)
        for trait in plan.table.study.forecast.traits
        if trait.genetic_sd > 0
    )


def _shares(plan: SeasonPlan) -> Iterator[tuple[Pair, float]]:
    """Each pair with its part of the plan's wanted chicks; the parts sum to 1, or are all 0."""
    chicks = [
        (pair, min(chosen.wanted, most_per_pair(plan.table.needs, pair.line)))
        for pen in plan.pens
        for pair, chosen in zip(pen.pairs, pen.chosen, strict=True)
    ]
    total = sum(count for _, count in chicks)
    for pair, count in chicks:
        yield pair, count / total if total > 0 else 0.0


def _counted(table: PairTable, shares: Iterable[tuple[Pair, float]]) -> Matrix:
    """What each hen × cock in view adds to the plan's chicks, shape (hens, cocks)."""
    prospects = table.study.prospects
    counted = np.zeros_like(prospects.merit)
    for pair, share in shares:
        counted[prospects.at(pair.hen, pair.cock)] += share
    return counted


def _average(table: PairTable, shares: Iterable[tuple[Pair, float]]) -> Matrix:
    """The same chicks if each line's came from all pairs of its rows alike; sums as high.

    A pair of a line that no row feeds is measured against itself.
    """
    prospects, averages = table.study.prospects, line_averages(table.study, table.scheme)
    found = np.zeros_like(prospects.merit)
    for pair, share in shares:
        average = averages.get(pair.line or "")
        if average is None:
            found[prospects.at(pair.hen, pair.cock)] += share
        else:
            found += share * average
    return found


def _response(
    prospects: Prospects, trait: TraitForecast, counted: Matrix, against: Matrix
) -> TraitResponse:
    matings = prospects.matings
    levels, nothing = matings.levels(trait), np.zeros_like(against)
    breed = trait.chick_level(matings.shares, matings.heterozygosity, nothing, nothing)
    return TraitResponse(
        aim=trait.aim,
        genetic_sd=trait.genetic_sd,
        level=float((counted * levels).sum()),
        change=float((against * levels).sum()),
        by_genes=float((against * matings.middle(trait)).sum()),
        by_breed=float((against * breed).sum()),
        by_inbreeding=trait.depression * float((against * matings.kinship).sum()),
        error=_error(prospects, trait, against),
        gain=float((against * prospects.gains[trait.aim.trait]).sum()),
    )


def _error(prospects: Prospects, trait: TraitForecast, against: Matrix) -> float:
    """Standard error of the change: of the predictions and of the slopes, taken together."""
    if trait.prediction is None:
        return 0.0
    matings = prospects.matings
    given = np.concatenate((against.sum(axis=1), against.sum(axis=0))) / 2
    birds = np.concatenate((matings.hens, matings.cocks))
    of_slopes = {SHARE: matings.shares, VIGOUR: matings.heterozygosity}
    names = trait.scored.records.names
    slopes = np.array([float((against * of_slopes[name]).sum()) for name in names])
    return float(np.sqrt(max(trait.prediction.solved.spread(birds, given, slopes), 0.0)))
