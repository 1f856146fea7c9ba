"""All that the page shows, worked out at the same time: the same as one after another."""

from __future__ import annotations

import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import reporting, verbs
from matchmaker.errors import NoPlanError
from matchmaker.explain.prices import Cost, pair_costs
from matchmaker.plan.season import season_plan
from matchmaker.plan.solvers.watch import Watch
from matchmaker.rebalance.spares import precautions
from matchmaker.reporting import DIVES, Awaited, season_report
from matchmaker.season.own_changes import own_changes
from tests.builders import HOME, HOME_SEEN, judged
from tests.season_flocks import small_flock

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.pairs.table import Key, PairTable
    from matchmaker.reporting import SeasonReport

EXAMPLES = Path(__file__).parents[2] / "examples"
WAIT = 20.0
"""Seconds after which a thread counts as hung."""

KEY = ("H1", "C1", "back")
COST = Cost(at_least=0.5, at_most=1.5)


@pytest.fixture(scope="module")
def table() -> PairTable:
    return verbs.pairs(EXAMPLES / "tarn-croft")


@pytest.fixture(scope="module")
def report(table: PairTable) -> SeasonReport:
    return season_report(table, dives=6)


def test_each_part_is_what_it_is_by_itself(table: PairTable, report: SeasonReport) -> None:
    plan = verbs.plan(table)
    assert report.table is table
    assert report.plan.solution.pens == plan.solution.pens
    assert report.guide.sets == verbs.season(table).sets
    losses = {one.cock: one.loss for one in report.care.losses}
    assert losses == {one.cock: one.loss for one in precautions(plan).losses}
    assert report.care.left_out == ()
    assert report.changed == own_changes(report.guide.pens, report.plan)
    assert report.costs is not None
    assert dict(report.costs) == dict(pair_costs(plan, dives=6) or {})


def test_a_plan_is_known_with_every_pair_that_has_one() -> None:
    """The dives of the page are enough for the flock that it is measured by."""
    costs = pair_costs(verbs.plan(EXAMPLES / "holm-fen"), dives=DIVES) or {}
    assert len(costs) > 400
    assert all(one.at_most is not None or one.impossible for one in costs.values())


def test_more_dives_find_no_worse_plans(table: PairTable) -> None:
    plan = verbs.plan(table)
    few, many = (pair_costs(plan, dives=dives) or {} for dives in (0, 12))
    unknown = [sum(one.at_most is None for one in costs.values()) for costs in (few, many)]
    assert unknown[0] > unknown[1]
    for key, one in few.items():
        assert one.at_least <= (many[key].at_most or one.at_least) + 1e-9


def test_the_plan_is_not_solved_a_second_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table = verbs.pairs(small_flock(tmp_path, plan=[]))
    solved: list[object] = []
    once = season_plan.plan_season

    def counted(*arguments: Any, **more: Any) -> Any:
        solved.append(arguments)
        return once(*arguments, **more)

    for module in ("matchmaker.reporting", "matchmaker.season.standing"):
        monkeypatch.setattr(f"{module}.plan_season", counted)
    assert season_report(table).guide.pens.source == "best"
    assert len(solved) == 1
    verbs.season(table)
    assert len(solved) == 2, "without a plan at hand the season makes one"


def test_with_a_price_on_kinship_there_are_no_costs(tmp_path: Path) -> None:
    settings = "[limits]\ngroup_kinship_max = 0.5\n"
    table = judged(tmp_path, HOME, settings, seen=HOME_SEEN)
    assert season_report(table).costs is None


def test_a_stopped_watch_leaves_out_what_is_not_worked_out(table: PairTable) -> None:
    """As after Ctrl-C once the plan is there: what is told then is true, if less."""
    watch = Watch()
    plan = verbs.plan(table)
    watch.stop()
    costs = pair_costs(plan, watch=watch)
    assert costs is not None
    exact = pair_costs(plan) or {}
    assert len(costs) == len(exact)
    for key, one in costs.items():
        least = exact[key].at_most
        assert one.impossible or least is None or one.at_least <= least + 1e-9
    care = precautions(plan, watch=watch)
    assert set(care.left_out) == {pen.cock for pen in plan.pens}


def test_time_that_runs_out_ends_it_all(table: PairTable) -> None:
    begun = time.perf_counter()
    plan_takes = verbs.plan(table).solution.proof
    needed = plan_takes.build_seconds + plan_takes.solve_seconds
    watch = Watch(until=time.perf_counter() + 4 * needed + 0.5)
    found = season_report(table, dives=10_000, watch=watch)
    assert found.costs is not None
    assert len(found.costs) > 100
    assert time.perf_counter() - begun < WAIT


def test_no_plan_is_no_report(tmp_path: Path) -> None:
    folder = small_flock(tmp_path, plan=[], settings="[limits]\nage_min_days = 2000\n")
    with pytest.raises(NoPlanError):
        season_report(verbs.pairs(folder))


class TestBeside:
    """Costs that are worked out in a thread."""

    def test_they_are_waited_for_where_they_are_looked_into(self) -> None:
        go = threading.Event()

        def work() -> Mapping[Key, Cost]:
            assert go.wait(WAIT)
            return {KEY: COST}

        costs = Awaited(work, Watch())
        threading.Timer(0.05, go.set).start()
        assert costs[KEY] == COST
        assert list(costs) == [KEY]
        assert len(costs) == 1
        assert costs == {KEY: COST}
        assert costs.get(("H1", "C2", "back")) is None

    def test_what_goes_wrong_there_is_raised_here(self) -> None:
        def work() -> Mapping[Key, Cost]:
            raise ZeroDivisionError

        costs = Awaited(work, Watch())
        for _ in range(2):
            with pytest.raises(ZeroDivisionError):
                len(costs)

    def test_a_failure_there_is_one_of_the_report(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fails(*_arguments: object, **_more: object) -> None:
            raise ZeroDivisionError

        monkeypatch.setattr(reporting, "pair_costs", fails)
        table = verbs.pairs(small_flock(tmp_path, plan=[]))
        with pytest.raises(ZeroDivisionError):
            season_report(table)
        costs = season_report(table, wait=False).costs
        assert costs is not None
        with pytest.raises(ZeroDivisionError):
            dict(costs)

    def test_a_failure_of_the_rest_stops_it(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fails(*_arguments: object, **_more: object) -> None:
            raise ZeroDivisionError

        monkeypatch.setattr(reporting, "precautions", fails)
        table, watch = verbs.pairs(small_flock(tmp_path, plan=[])), Watch()
        with pytest.raises(ZeroDivisionError):
            season_report(table, watch=watch)
        assert watch.stopped

    def test_an_interrupt_of_who_waits_stops_it(self, monkeypatch: pytest.MonkeyPatch) -> None:
        watch = Watch()

        def work() -> Mapping[Key, Cost]:
            begun = time.perf_counter()
            while not watch.over and time.perf_counter() - begun < WAIT:
                time.sleep(0.01)
            return {}

        costs = Awaited(work, watch)

        def interrupted() -> None:
            raise KeyboardInterrupt

        with monkeypatch.context() as patch:
            patch.setattr(costs._thread, "join", interrupted)
            with pytest.raises(KeyboardInterrupt):
                len(costs)
        assert watch.stopped
        assert len(costs) == 0
