"""What a bird adds, against every plan written out: the best with it less the best without it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.grade.rounds import Round, choices, rounds_of, without
from matchmaker.grade.worth import worths
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.solvers.watch import Watch
from tests.builders import chick, cock, dna, hen, judged
from tests.oracle.plan_enumeration import best_by_enumeration
from tests.strategies_plan import solved_problems

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import PlanProblem

BLOCKS = [range(15), range(15, 30)]
EQUAL = 1e-6


def as_round(problem: PlanProblem, best: Solution) -> Round:
    """A solved problem of which every bird in a pen counts as young."""
    used = {band for pen in best.pens for pair in pen.pairs for band in (pair.hen, pair.cock)}
    return Round(
        problem=problem,
        pens=best.pens,
        lines=best.lines,
        value=best.proof.best_value,
        bound=best.proof.bound,
        chosen=frozenset(used),
        minimums=True,
    )


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_worths_are_those_of_all_plans_written_out(seeds: range) -> None:
    told = 0
    for seed, found, _ in solved_problems(seeds):
        problem = replace(found, demands=(), group=None)
        best = solve_plan(problem)
        one = as_round(problem, best)
        near = worths([one], watch=Watch())
        exact = worths([one], watch=Watch(), exact=True)
        assert set(exact) == one.chosen
        for band, worth in exact.items():
            value = best_by_enumeration(without(problem, {band}))
            assert worth.needed == (value is None), (seed, band)
            if value is None:
                continue
            loss = best.proof.best_value - value
            assert worth.at_least == pytest.approx(loss, abs=EQUAL), (seed, band)
            assert worth.at_most == pytest.approx(loss, abs=EQUAL), (seed, band)
            assert near[band].at_least - EQUAL <= loss <= near[band].at_most + EQUAL, (seed, band)
            told += loss > EQUAL
    assert told > 2


@pytest.fixture
def table(tmp_path: Path) -> PairTable:
    birds = (
        cock("S0"),
        cock("S1"),
        hen("P0"),
        cock("AC", "Alder", "sussex:0.5|araucana:0.5"),
        *(chick(f"A{at}", "hen", "AC", "P0", "Alder") for at in range(4)),
    )
    seen = [dna("AC", "O", 1), *(dna(f"A{at}", "O", 1) for at in range(4))]
    settings = "[lines.Alder]\nchicks_wanted = 9\n[lines.Pure]\nchicks_wanted = 3\n"
    pens = [{"pen": "Orchard", "hens_max": "2"}]
    return judged(tmp_path, birds, settings, seen=seen, pens=pens)


def test_each_plan_is_the_best_without_the_birds_chosen_before(table: PairTable) -> None:
    young = {f"A{at}" for at in range(4)}
    rounds = rounds_of(table, young, 3)
    gone: set[str] = set()
    for one in rounds:
        assert not one.chosen & gone
        value = best_by_enumeration(without(rounds[0].problem, gone))
        assert one.value == pytest.approx(value, abs=EQUAL)
        gone |= one.chosen
    assert choices(rounds) == {band: at for at, one in enumerate(rounds, 1) for band in one.chosen}
    assert len(rounds) > 1
    assert len(gone) == 4
