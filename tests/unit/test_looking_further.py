"""The plan that leads furthest, on a small flock: who races, how it is played, how it ends."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from matchmaker import looking_further, verbs
from matchmaker.ahead.choosing import BEST
from matchmaker.ahead.places import size_of
from matchmaker.ahead.playing import Task
from matchmaker.ahead.policies import Policy
from matchmaker.ahead.racing import Ended
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.looking import player_of
from matchmaker.looking_further import Kind
from matchmaker.plan.arithmetic.group_arithmetic import group_kinship_of, matings_of
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.nearly_best.alternatives import moved_hens
from matchmaker.plan.posing.pedigree_terms import kinship_terms
from matchmaker.plan.searching.kinship_plan import KinshipSolver
from matchmaker.plan.searching.less_related import _of, less_related
from matchmaker.plan.solvers.watch import Watch
from tests.ahead_flocks import BIRDS, PENS
from tests.builders import HOME, HOME_SEEN, cock, write_flock
from tests.scored_flocks import FEW_PENS, FOUNDERS, PULLETS, SEEN

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from matchmaker.looking_further import ByOutcome, Contender
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import GroupKinship
    from matchmaker.plan.searching.kinship_plan import Point
    from matchmaker.plan.season.season_plan import SeasonPlan

HORIZON = verbs.Horizon(seasons=1, replicates=2, seed=3)


@pytest.fixture(scope="module")
def best(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    path = tmp_path_factory.mktemp("further") / "flock"
    return verbs.plan(write_flock(path, (*FOUNDERS, *PULLETS), seen=SEEN, pens=FEW_PENS))


@pytest.fixture(scope="module")
def told() -> list[tuple[int, int]]:
    return []


@pytest.fixture(scope="module")
def found(best: SeasonPlan, told: list[tuple[int, int]]) -> ByOutcome:
    hands = verbs.Hands(workers=1, told=lambda done, parts: told.append((done, parts)))
    return verbs.plan_by_outcome(best, HORIZON, hands=hands)


@pytest.fixture(scope="module")
def contenders(found: ByOutcome) -> tuple[Contender, ...]:
    return found.contenders


def test_the_best_plan_comes_first_and_no_plan_twice(
    best: SeasonPlan, contenders: tuple[Contender, ...]
) -> None:
    assert contenders[BEST].plan is best
    assert [one.number for one in contenders] == list(range(1, len(contenders) + 1))
    assert {one.kind for one in contenders} == set(Kind)
    for at, one in enumerate(contenders):
        others = [other.plan.solution.pens for other in contenders[:at]]
        assert all(moved_hens(pens, one.plan.solution.pens) for pens in others)


def test_each_is_a_plan_of_the_same_problem_with_its_price(
    best: SeasonPlan, contenders: tuple[Contender, ...]
) -> None:
    for one in contenders:
        score = evaluate(best.problem, one.plan.solution.pens)
        assert score.broken == ()
        assert one.plan.solution.value == pytest.approx(score.value)
        assert one.given_up == pytest.approx(best.solution.value - score.value)
        most = {Kind.BEST: 0.0, Kind.NEAR: 0.01, Kind.LESS_RELATED: 0.05}[one.kind]
        assert one.given_up <= most * best.solution.value + 1e-6
        assert one.moved == len(moved_hens(best.solution.pens, one.plan.solution.pens))


def test_what_is_compared_is_what_each_leads_to_on_the_same_luck(
    best: SeasonPlan, found: ByOutcome
) -> None:
    """A plan played by itself gives what it gave in the race."""
    assert found.raced is not None
    last = found.contenders[-1]
    policy = Policy(
        name="alone",
        sentence="",
        size=size_of(best.table, best.solution.pens),
        first=last.plan.solution.pens,
    )
    alone = player_of(best.table, HORIZON, [policy])(Task(policy=0, replicate=1))
    assert alone.goal[-1] == found.raced.outlooks[-1].tally.goal[1, -1]
    means = [one.mean for one in found.raced.race.standings]
    goals = [one.tally.goal[:, -1].mean() for one in found.raced.outlooks]
    assert means == pytest.approx(goals)
    assert found.springs == (2027, 2028)


def test_so_few_replicates_prove_nothing_and_the_best_plan_stays(
    found: ByOutcome, told: list[tuple[int, int]]
) -> None:
    assert found.raced is not None
    assert found.raced.race.ended in {Ended.MOST, Ended.ONE_LEFT}
    assert found.chosen is found.contenders[BEST]
    parts = 2 * len(found.contenders)
    assert told == [(done, parts) for done in range(1, parts + 1)]


def test_a_look_ahead_that_is_stopped_keeps_the_best_plan(
    best: SeasonPlan, contenders: tuple[Contender, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped after the first part: no round was ended."""
    watch, told = Watch(), []

    def tell(done: int, _parts: int) -> None:
        told.append(done)
        watch.stop()

    monkeypatch.setattr(looking_further, "contenders_of", lambda *_, **__: contenders)
    hands = verbs.Hands(workers=1, told=tell)
    stopped = verbs.plan_by_outcome(best, HORIZON, hands=hands, watch=watch)
    assert (stopped.raced, stopped.at, told) == (None, BEST, [1])


def test_a_flock_with_one_plan_only_has_nothing_to_compare(tmp_path: Path) -> None:
    path = write_flock(tmp_path / "home", HOME, seen=HOME_SEEN)
    only = verbs.plan_by_outcome(verbs.plan(path), HORIZON, hands=verbs.Hands(workers=1))
    assert (len(only.contenders), only.raced) == (1, None)
    assert only.chosen is only.contenders[BEST]


def kinship(terms: GroupKinship, pens: tuple[PlannedPen, ...]) -> float:
    pairs = [pair for pen in pens for pair in pen.pairs]
    return group_kinship_of(terms, matings_of(pairs), len(pairs))


@pytest.fixture(scope="module")
def terms(best: SeasonPlan) -> GroupKinship:
    birds = sorted({bird for one in best.problem.candidates for bird in (one.hen, one.cock)})
    return kinship_terms(best.table.study, birds)


@pytest.fixture(scope="module")
def related(contenders: tuple[Contender, ...]) -> tuple[tuple[PlannedPen, ...], ...]:
    """Pens of the plans with less related parents."""
    return tuple(one.plan.solution.pens for one in contenders if one.kind is Kind.LESS_RELATED)


def test_parents_are_less_and_less_related_in_as_many_pairs(
    best: SeasonPlan, terms: GroupKinship, related: tuple[tuple[PlannedPen, ...], ...]
) -> None:
    plans = (best.solution.pens, *related)
    kinships = [kinship(terms, pens) for pens in plans]
    assert all(after < before for before, after in pairwise(kinships))
    assert len({sum(len(pen.pairs) for pen in pens) for pens in plans}) == 1


def test_none_is_worth_more_than_is_proved_of_its_kinship(
    best: SeasonPlan, terms: GroupKinship, related: tuple[tuple[PlannedPen, ...], ...]
) -> None:
    pairs = sum(len(pen.pairs) for pen in best.solution.pens)
    fixed = replace(best.problem, limits=replace(best.problem.limits, pairs=pairs))
    most = KinshipSolver(fixed, terms).best(limit=kinship(terms, related[-1]))
    assert evaluate(best.problem, related[-1]).value <= most.value + most.gap + 1e-6


def test_nothing_is_given_up_where_nothing_may_be(best: SeasonPlan, terms: GroupKinship) -> None:
    (free,) = less_related(best.problem, best.solution, terms, given_up=(0.0,))
    assert evaluate(best.problem, free).value >= best.solution.value - 1e-6
    tight = replace(best.problem, group=replace(terms, limit=kinship(terms, free) - 0.001))
    assert less_related(tight, best.solution, terms, given_up=(0.0,)) == ()


def test_a_search_that_is_stopped_gives_what_it_has(best: SeasonPlan, terms: GroupKinship) -> None:
    watch = Watch()
    watch.stop()
    assert less_related(best.problem, best.solution, terms, watch=watch) == ()


def test_a_look_that_finds_no_plan_is_passed_over(best: SeasonPlan, terms: GroupKinship) -> None:
    """No plan, a search that ends without one, or one that was stopped; a bug is none of these."""
    pairs = sum(len(pen.pairs) for pen in best.solution.pens)
    fixed = replace(best.problem, limits=replace(best.problem.limits, pairs=pairs))
    watch = Watch()
    solver = KinshipSolver(fixed, terms, watch=watch)

    def ends(error: BaseException, *, stop: bool = False) -> Callable[[], Point]:
        def look() -> Point:
            watch.stopped = stop
            raise error

        return look

    for error in (NoPlanError(("",)), SolverStoppedError("")):
        assert _of(solver, ends(error)) is None
    with pytest.raises(KeyboardInterrupt):
        _of(solver, ends(KeyboardInterrupt()))
    assert _of(solver, ends(KeyboardInterrupt(), stop=True)) is None


FIRST_CROSS = """
[lines.First]
families = 3
chicks_wanted = 20
[[matings]]
name = "first cross"
hens = "Pure"
cocks = "Donor"
chicks = "First"
purpose = "backcross"
keep = {O = [1]}
"""


def test_a_line_that_is_founded_this_spring_lives_on(tmp_path: Path) -> None:
    pure = (row for row in BIRDS if row["line"] == "Pure")
    birds = (*pure, *(cock(f"D{at}", "Donor", "araucana", O="blue") for at in range(2)))
    plan = verbs.plan(write_flock(tmp_path / "flock", birds, FIRST_CROSS, pens=PENS))
    found = verbs.plan_by_outcome(plan, HORIZON, hands=verbs.Hands(workers=1))
    assert found.raced is not None
    at = found.raced.outlooks[0].subject.lines.index("First")
    assert (found.raced.outlooks[0].tally.carriers[:, -1, at] > 0).all()
