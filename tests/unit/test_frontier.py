"""The frontier of value and kinship: its order, its refusals, and how it is shown."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO
from itertools import pairwise

import pytest

from matchmaker.plan.searching.frontier import Frontier, frontier
from matchmaker.plan.searching.kinship_plan import KinshipSolver, with_pairs_fixed
from matchmaker.report.frontier import frontier_sheet, print_frontier, steps
from matchmaker.report.screen import console_for
from tests.bench.kin_flocks import kin_problem


@pytest.fixture(scope="module")
def found() -> Frontier:
    """Five plans of an invented flock."""
    return frontier(kin_problem(24, 5, 2), points=5)


def test_each_step_gives_up_value_for_kinship(found: Frontier) -> None:
    """Values and kinships both fall, strictly, and prices rise."""
    points = found.points
    assert 2 <= len(points) <= 5
    for one, other in pairwise(points):
        assert one.value > other.value
        assert one.kinship > other.kinship
    lows = [point.price_low for point in points if point.price_low is not None]
    assert lows == sorted(lows)
    assert [point.number for point in points] == list(range(1, len(points) + 1))


def test_all_plans_have_the_same_number_of_pairs(found: Frontier) -> None:
    """Otherwise kinship could be had by breeding from fewer or more birds."""
    for point in found.points:
        assert sum(len(pen.pairs) for pen in point.solution.pens) == found.pairs


def test_terms_are_needed() -> None:
    """Without terms of kinship, or with one point, there is no frontier."""
    problem = kin_problem(12, 3, 1)
    with pytest.raises(ValueError, match="terms of kinship"):
        frontier(replace(problem, group=None))
    with pytest.raises(ValueError, match="two ends"):
        frontier(problem, points=1)


def test_it_is_shown_with_its_steps(found: Frontier) -> None:
    """Every plan has a row, and every step a sentence."""
    stream = StringIO()
    print_frontier(console_for(stream), found)
    shown = " ".join(stream.getvalue().split())
    assert "To take one, name its number: matchmaker plan --at N." in shown
    sentences = list(steps(found))
    assert len(sentences) == max(1, len(found.points) - 1)
    assert all(sentence in shown for sentence in sentences)
    for point in found.points:
        assert f"{point.value:.2f}" in shown


def test_the_sheet_has_a_row_a_plan(found: Frontier) -> None:
    """Given up is in parts of the best value."""
    sheet = frontier_sheet(found)
    rows = [dict(zip(sheet.header, row, strict=True)) for row in sheet.rows]
    assert [row["plan"] for row in rows] == [point.number for point in found.points]
    assert rows[0]["given_up"] == 0
    assert float(rows[-1]["given_up"] or 0) == pytest.approx(
        1 - found.points[-1].value / found.points[0].value
    )


@pytest.mark.parametrize(("hens", "cocks", "seed"), [(30, 6, 50001), (24, 5, 50281)])
@pytest.mark.parametrize("points", [2, 4])
def test_no_plan_is_better_at_a_price_stated(hens: int, cocks: int, seed: int, points: int) -> None:
    """Also where the search for points ended with some steps between them unsearched."""
    problem = kin_problem(hens, cocks, seed)
    assert problem.group is not None
    solver = KinshipSolver(with_pairs_fixed(replace(problem, group=None)), problem.group)
    for point in frontier(problem, points=points).points:
        for price in {point.price_low, point.price_high} - {None}:
            assert price is not None
            best = solver.best(price)
            most = best.value - 100 * price * best.kinship + best.gap
            assert point.value - 100 * price * point.kinship >= most - 1e-4


def test_an_end_not_proved_is_said(found: Frontier) -> None:
    """One plan alone is both ends only if no plan has less kinship."""
    alone = replace(found, points=found.points[:1], kinship_gap=0.01)
    assert list(steps(alone)) == []
    stream = StringIO()
    print_frontier(console_for(stream), alone)
    assert "Plan 1 has the least kinship found; 0.0100 less may be possible." in " ".join(
        stream.getvalue().split()
    )
