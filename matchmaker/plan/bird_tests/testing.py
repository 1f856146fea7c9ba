"""Which birds to test before planning: what each possible test is expected to add to the plan."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from heapq import heapify, heappop, heappush
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.plan.bird_tests.answers import chick_answers, dna_answers
from matchmaker.plan.bird_tests.proving import chick_trial, shows_itself
from matchmaker.plan.bird_tests.weighing import (
    baseline,
    expected_gain,
    moves_after,
    outlook,
    settle_worth,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.bird_tests.answers import Answer
    from matchmaker.plan.bird_tests.proving import ChickTrial
    from matchmaker.plan.bird_tests.weighing import AnswerWorth, Baseline, Outlook

MOST_LISTED = 6
"""Tests listed unless asked otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedTest:
    """One bird at one locus: the gain of a DNA test, and of test chicks where they come in time.

    ``chances`` are P(0, 1, 2 copies) as known now. ``by_chicks`` is empty where no test chicks
    can have answered before the pens are made up: their gain this spring is then 0.
    ``look_first`` where the bird itself shows it and nobody has written down what.
    ``approximate`` where the parentage is too tangled for exact chances: the gains then carry
    the noise of sampling.
    """

    bird: str
    locus: str
    chances: tuple[float, ...]
    by_dna: tuple[AnswerWorth, ...]
    trial: ChickTrial | None
    by_chicks: tuple[AnswerWorth, ...] = ()
    look_first: bool = False
    approximate: bool = False

    @property
    def gain(self) -> float:
        """Expected gain of a DNA test, in wanted chicks."""
        return expected_gain(self.by_dna)

    @property
    def chick_gain(self) -> float:
        """Expected gain of test chicks this spring, in wanted chicks."""
        return expected_gain(self.by_chicks)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """The tests most worth making, best first, of all ``considered``.

    ``value`` is that of the best plan with what is known now; ``conflict`` names what clashes
    where there is none (then every plan that a test makes possible is gain).
    """

    table: PairTable
    value: float
    conflict: tuple[str, ...]
    tests: tuple[RankedTest, ...]
    considered: int

    @property
    def kinship_left_out(self) -> bool:
        """Whether the settings limit or price the kinship of the parents as a group.

        That is left out of account here.
        """
        return self.table.study.flock.settings.limits.minds_the_group


def open_questions(table: PairTable) -> tuple[tuple[str, str], ...]:
    """Every living bird at every locus the season's pairs hang on, where its copies are open."""
    study = table.study
    kept = {locus for crossing in table.crossings for locus in crossing.loci}
    lethal = {symbol for symbol, locus in study.loci.items() if locus.lethal}
    return tuple(
        (bird.band, symbol)
        for bird in study.flock.living
        for symbol in sorted(kept | lethal)
        if np.count_nonzero(study.genotypes[symbol].of(bird.band)) > 1
    )


def rank_tests(table: PairTable, *, birds: int = MOST_LISTED) -> Ranking:
    """Rank the possible tests by what knowing the answer is expected to add to the plan.

    ``birds`` is the number of tests to list, each one bird at one locus.

    Notes
    -----
    The expected value of sample information (Raiffa and Schlaifer 1961, from memory): over the
    possible answers, by their chances, the value of the best plan under that answer less the
    value, *under the same answer*, of the plan that would be made without the test. What today's
    plan is worth as seen today is no fair measure: what a line has beyond its needs counts less,
    so a plan's mean value over the answers is at most its value at the mean. In the plan made
    without the test a pair that turns out to promise too little keeps what it promises; one that
    does harm by the rules (lethal chicks, a bird of a pure line that carries) counts nothing. The
    keeper may always leave the pens as they are, and does where changing them would add less than
    0.05 wanted chicks, which a plan asks of one more pair: no gain is below 0. Plans are compared
    without regard to a standing plan and to the kinship of the parents as a group, and gains of
    several tests do not add up.

    Every test is first given a bound on its gain, then the one with the greatest bound is solved
    for one answer more, until the best are solved whole: the rest cannot come among them.
    """
    base = baseline(table)
    weighed = [
        _Weighed(bird, locus, _outlooks(base, locus, dna_answers(table.study, bird, locus)))
        for bird, locus in open_questions(table)
    ]
    return Ranking(
        table=table,
        value=base.value,
        conflict=base.conflict,
        tests=tuple(_in_full(base, one) for one in islice(_best_first(weighed), birds)),
        considered=len(weighed),
    )


@dataclass(slots=True)
class _Weighed:
    """A possible test with the season after each answer, solved as far as was needed."""

    bird: str
    locus: str
    outlooks: tuple[Outlook, ...]
    settled: dict[int, AnswerWorth] = field(default_factory=dict)

    @property
    def order(self) -> tuple[float, str, str]:
        """The greatest bound on the gain first, then by name."""
        return (-sum(map(self._share, range(len(self.outlooks)))), self.bird, self.locus)

    @property
    def is_settled(self) -> bool:
        return len(self.settled) == len(self.outlooks)

    def settle_next(self) -> None:
        """Solve for the open answer that may add most."""
        left = [at for at in range(len(self.outlooks)) if at not in self.settled]
        at = max(left, key=self._share)
        self.settled[at] = settle_worth(self.outlooks[at])

    def answers(self) -> tuple[AnswerWorth, ...]:
        return tuple(self.settled[at] for at in range(len(self.outlooks)))

    def _share(self, at: int) -> float:
        """What an answer adds to the gain, or a bound on it while it is not solved."""
        seen = self.outlooks[at]
        gain = self.settled[at].gain if at in self.settled else seen.most_gain
        return seen.answer.chance * gain


def _outlooks(base: Baseline, locus: str, answers: Sequence[Answer]) -> tuple[Outlook, ...]:
    return tuple(outlook(base, locus, answer) for answer in answers)


def _best_first(weighed: Sequence[_Weighed]) -> Iterator[_Weighed]:
    """The tests in order of their gains, none solved further than its place calls for."""
    queue = [(one.order, one) for one in weighed]
    heapify(queue)
    while queue:
        _, one = heappop(queue)
        if one.is_settled:
            yield one
        else:
            one.settle_next()
            heappush(queue, (one.order, one))


def _in_full(base: Baseline, one: _Weighed) -> RankedTest:
    """A listed test in full: whom each answer moves, and what test chicks could do instead."""
    study = base.table.study
    trial = chick_trial(base.table, one.bird, one.locus)
    by_chicks: tuple[AnswerWorth, ...] = ()
    if trial is not None and trial.in_time and trial.chicks:
        told = chick_answers(study, one.bird, one.locus, trial.test, trial.chicks)
        outlooks = _outlooks(base, one.locus, told)
        by_chicks = tuple(_with_moves(base, outlooks, map(settle_worth, outlooks)))
    return RankedTest(
        bird=one.bird,
        locus=one.locus,
        chances=tuple(float(chance) for chance in study.genotypes[one.locus].of(one.bird)),
        by_dna=tuple(_with_moves(base, one.outlooks, one.answers())),
        trial=trial,
        by_chicks=by_chicks,
        look_first=shows_itself(base.table, one.bird, one.locus),
        approximate=study.inferred.approximate([one.locus]),
    )


def _with_moves(
    base: Baseline, outlooks: Iterable[Outlook], answers: Iterable[AnswerWorth]
) -> Iterator[AnswerWorth]:
    for seen, worth in zip(outlooks, answers, strict=True):
        yield replace(worth, moves=moves_after(base, seen)) if worth.gain else worth
