"""Plans for pens that stand, with birds moved counted, against trying every one of them.

Small random problems in which cocks stand, hens stand and some pens are empty; each way to fill the
pens is scored by ``evaluate``, which knows nothing of the program.
"""

from __future__ import annotations

import random
from functools import cache
from itertools import product
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.problem import (
    Candidate,
    CockLimit,
    LineGoal,
    Moves,
    PenKind,
    PlanProblem,
)
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.rebalance.responding import Responder

if TYPE_CHECKING:
    from collections.abc import Iterator

SEEDS = range(24)


class MovesMaker:
    """One problem by its seed; all data are invented."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)  # noqa: S311
        self.hens = [f"H{number}" for number in range(self.rng.randint(2, 4))]
        self.cocks = [f"C{number}" for number in range(self.rng.randint(1, 2))]
        self.pens = [f"P{number}" for number in range(self.rng.randint(1, 2))]
        self.home: dict[str, str] = {}

    def make(self) -> PlanProblem:
        """Return the problem."""
        rng = self.rng
        kinds = (*(self._kind((pen,), pen) for pen in self.pens), *self._empty_pens())
        places = self._places() if rng.random() < 0.8 else ()
        goal = LineGoal(
            line="Alder",
            importance=1.0,
            chicks_wanted=rng.choice((2.0, 20.0)),
            cocks_min=rng.choice((0, 0, 0, 2)),
            hens_min=rng.choice((0, 0, 2)),
            banked=rng.choice((0.0, 1.0)),
        )
        return PlanProblem(
            candidates=tuple(self._candidates(kinds)),
            kinds=kinds,
            cocks=tuple(
                CockLimit(cock=cock, hens_max=rng.randint(1, 5), pens_max=rng.choice((1, 2)))
                for cock in self.cocks
            ),
            lines=(goal,),
            turns=(tuple(kind.turn for kind in kinds),),
            moves=Moves(places=places, most=rng.choice((None, None, 0, 1, 2, 3))),
        )

    def _kind(self, pens: tuple[str, ...], turn: str) -> PenKind:
        return PenKind(
            pens=pens,
            hens_max=self.rng.randint(1, 3),
            hens_min=self.rng.randint(0, 2),
            line="",
            dam_known=self.rng.random() < 0.4,
            turn=turn,
        )

    def _empty_pens(self) -> Iterator[PenKind]:
        """Pens in which nobody stands: alike, so of one kind."""
        if self.rng.random() < 0.7:
            yield self._kind(("N0", "N1")[: self.rng.randint(1, 2)], "N0")

    def _places(self) -> tuple[tuple[str, str], ...]:
        free = self.rng.sample(self.cocks, len(self.cocks))
        for pen in self.pens:
            if free and self.rng.random() < 0.6:
                self.home[pen] = free.pop()
        hens = [(hen, self.rng.choice(self.pens)) for hen in self.hens if self.rng.random() < 0.7]
        return tuple(sorted([*((cock, pen) for pen, cock in self.home.items()), *hens]))

    def _candidates(self, kinds: tuple[PenKind, ...]) -> Iterator[Candidate]:
        """Nobody gets the pen of a cock who may stay."""
        for hen, cock, kind, row in product(self.hens, self.cocks, kinds, ("back", "cross")):
            if self.home.get(kind.turn, cock) == cock and self.rng.random() < 0.6:
                value = self.rng.choice((0.03, 0.05, 1.0, round(self.rng.uniform(0.0, 3.0), 3)))
                yield Candidate(
                    hen=hen,
                    cock=cock,
                    row=row,
                    line="Alder",
                    value=value,
                    wanted=1.0,
                    turn=kind.turn,
                )


@cache
def best_by_trying(seed: int) -> float | None:
    """Return the value of the best plan; ``None`` where there is none."""
    problem = MovesMaker(seed).make()
    values = (evaluate(problem, pens) for pens in every_plan(problem))
    return max((score.value for score in values if not score.broken), default=None)


def every_plan(problem: PlanProblem) -> Iterator[tuple[PlannedPen, ...]]:
    """Yield every way to give pens to cocks and hens to pens."""
    spots = [(pen, kind.turn) for kind in problem.kinds for pen in kind.pens]
    hens = sorted({one.hen for one in problem.candidates})
    for owners in product([None, *(one.cock for one in problem.cocks)], repeat=len(spots)):
        choices = [
            [
                None,
                *(
                    (at, one)
                    for at, (_, turn) in enumerate(spots)
                    for one in problem.candidates
                    if (one.hen, one.cock, one.turn) == (hen, owners[at], turn)
                ),
            ]
            for hen in hens
        ]
        for chosen in product(*choices):
            inside = [
                [one for place in chosen if place and place[0] == at for one in place[1:]]
                for at in range(len(spots))
            ]
            if all(bool(cock) == bool(pairs) for cock, pairs in zip(owners, inside, strict=True)):
                yield tuple(
                    PlannedPen(pen=pen, cock=cock, pairs=tuple(pairs), turn=turn)
                    for (pen, turn), cock, pairs in zip(spots, owners, inside, strict=True)
                    if cock
                )


@pytest.mark.parametrize("seed", SEEDS)
def test_the_best_plan_is_that_of_trying_all(seed: int) -> None:
    problem = MovesMaker(seed).make()
    expected = best_by_trying(seed)
    answer = Responder(problem).best(problem.moves.most if problem.moves else None)
    try:
        found = solve_plan(problem).value
    except NoPlanError:
        found = None
    assert (found is None, answer is None) == (expected is None, expected is None)
    if expected is not None and answer is not None:
        assert found == pytest.approx(expected, abs=1e-6)
        assert answer.value == pytest.approx(expected, abs=1e-6)


def test_some_have_a_plan_and_some_have_none() -> None:
    found = [best_by_trying(seed) for seed in SEEDS]
    assert 3 <= found.count(None) <= len(found) // 2
