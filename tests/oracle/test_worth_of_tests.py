"""The worth of tests by brute force: every answer written into the tables, every plan tried."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.plan.bird_tests.testing import rank_tests
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.solve import solve_plan
from tests.builders import chick, cock, dna, hen
from tests.oracle.plan_enumeration import best_by_enumeration, value_of
from tests.testing_flocks import (
    CARRIERS,
    DOUBTFUL,
    FEW_PENS,
    GONE,
    HALF_BRED,
    PURE,
    SCARCE,
    SEEN,
    SIRE,
    doubtful,
)

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import Candidate
    from tests.builders import Row

MORE = (
    SIRE,
    *PURE[:4],
    *(hen(f"S{n}", **GONE) for n in range(3)),
    *CARRIERS,
    chick("A4", "hen", "AC", "S2", "Alder"),
    cock("U", "Alder", HALF_BRED, **GONE),
    chick("A5", "cock", "U", "S0", "Alder"),
)
"""Two more of Alder: one whose sire may be no carrier either."""

RICH = "[lines.Alder]\nchicks_wanted = 5\n[lines.Pure]\nchicks_wanted = 3\n"
"""Lines that soon have all they want: what a plan is worth is far from linear in its pairs."""

FLOCKS = {
    "scarce": (DOUBTFUL, SEEN, SCARCE),
    "rich": (DOUBTFUL, SEEN, RICH),
    "relatives": (MORE, (*SEEN, dna("U", "O", 1)), SCARCE),
    "known-mate": (DOUBTFUL, (*SEEN, dna("A3", "O", 1)), SCARCE),
    "mostly-not": (DOUBTFUL, SEEN, SCARCE + "[limits]\nproof_min = 0.6\n"),
}


def told(path: Path, flock: str, *rows: Row) -> PairTable:
    """Return the pair table of a flock with more rows of what was seen."""
    birds, seen, settings = FLOCKS[flock]
    return doubtful(path, settings, birds, (*seen, *rows), FEW_PENS)


def plan_without(table: PairTable) -> list[Candidate]:
    """Return the pairs of the plan made without any test."""
    problem = pose_problem(table, fresh=True)
    if best_by_enumeration(problem) in {None, 0.0}:
        return []
    return [pair for pen in solve_plan(problem).pens for pair in pen.pairs]


def worth_after(table: PairTable, pairs: list[Candidate]) -> float:
    """Value of pairs chosen earlier, as they count now, rejected or not; none here does harm."""
    held = {pair.key: pair for pair in table.pairs}
    now = tuple(replace(one, value=held[one.hen, one.cock, one.row].value or 0.0) for one in pairs)
    return value_of(pose_problem(table, fresh=True), now)


@pytest.mark.parametrize("flock", FLOCKS)
def test_gains_against_every_answer_and_every_plan(tmp_path: Path, flock: str) -> None:
    table = told(tmp_path / "now", flock)
    ranking = rank_tests(table, birds=99)
    without = plan_without(table)
    assert ranking.tests
    for test in ranking.tests:
        expected = 0.0
        for copies, chance in enumerate(test.chances):
            if chance:
                after = told(tmp_path / "then", flock, dna(test.bird, test.locus, copies))
                stays = worth_after(after, without)
                best = best_by_enumeration(pose_problem(after, fresh=True))
                gain = (best or 0.0) - stays
                expected += chance * gain if gain > 0.049999 else 0.0
        assert test.gain == pytest.approx(expected, abs=1e-6)
    gains = [test.gain for test in ranking.tests]
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > 0


def test_a_clean_row_of_test_chicks_against_chicks_written_down(tmp_path: Path) -> None:
    """Pea comb shows at once, and the pens are made up in a good month."""
    top = 'season = 2027\ntoday = 2026-11-20\nrecurrent = "sussex"\ntarget = {P = 2}\n'
    seen = [dna("AC", "P", 1), dna("S0", "P", 0), dna("S1", "P", 0)]
    table = doubtful(tmp_path / "now", seen=seen, top=top)
    (test,) = (one for one in rank_tests(table, birds=9).tests if one.bird == "A1")
    assert test.trial is not None
    assert (test.trial.in_time, test.trial.chicks) == (True, 5)
    clean, _ = test.by_chicks
    assert clean.answer.clean
    counted = {"hen": test.trial.mates[0], "cock": "A1", "locus": "P", "what": "5 single"}
    after = doubtful(tmp_path / "then", seen=[*seen, {**counted, "how": "day-old"}], top=top)
    problem = pose_problem(after, fresh=True)
    assert clean.best == pytest.approx(best_by_enumeration(problem), abs=1e-6)
    assert clean.unchanged == pytest.approx(worth_after(after, plan_without(table)), abs=1e-6)
