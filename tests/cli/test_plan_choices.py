"""What ``plan`` does beside the best plan: the frontier, others as good, one more, near a file."""

from __future__ import annotations

import json
import resource
import shutil
import signal
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.builders import write_flock
from tests.cli.run import (
    LIMIT,
    MATCHMAKER,
    Ran,
    edit_text,
    environment,
    example,
    read_rows,
    run,
    run_here,
)
from tests.cli.test_process import wait_until_busy
from tests.scored_flocks import FEW_PENS, FOUNDERS, PULLETS, SEEN


def _flock(path: Path, settings: str = "") -> Path:
    birds = (*FOUNDERS, *PULLETS)
    return write_flock(path / "flock", birds, settings, seen=SEEN, pens=FEW_PENS)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return _flock(tmp_path_factory.mktemp("choices"))


@pytest.fixture(scope="module")
def best(folder: Path) -> dict[str, Any]:
    return run_here("plan", "--in", folder, "--json").document


@pytest.fixture(scope="module")
def frontier(folder: Path) -> dict[str, Any]:
    return run_here("plan", "--in", folder, "--frontier", "--json").document


@pytest.fixture(scope="module")
def others(folder: Path) -> dict[str, Any]:
    return run_here("plan", "--in", folder, "--alternatives", 2, "--json").document


def _pairs(document: dict[str, Any]) -> set[tuple[str, str]]:
    return {(hen["hen"], pen["cock"]) for pen in document["pens"] for hen in pen["hens"]}


def test_the_frontier_begins_with_the_best_plan(
    frontier: dict[str, Any], best: dict[str, Any]
) -> None:
    plans = frontier["plans"]
    assert (frontier["schema"], frontier["stopped"]) == ("matchmaker/frontier/1", None)
    assert [one["plan"] for one in plans] == list(range(1, len(plans) + 1))
    assert len(plans) >= 2
    assert plans[0]["value"] == pytest.approx(best["best_value"])
    assert plans[0]["group_kinship"] <= best["flock"]["group_kinship"] + 1e-9
    assert {len(_pairs(one)) for one in plans} == {frontier["pairs"]} == {len(_pairs(best))}


def test_each_plan_of_the_frontier_can_be_taken(folder: Path, frontier: dict[str, Any]) -> None:
    last = frontier["plans"][-1]
    taken = run_here("plan", "--in", folder, "--at", last["plan"], "--json").document
    assert _pairs(taken) == _pairs(last)
    assert taken["value"] == pytest.approx(last["value"])
    assert taken["flock"]["group_kinship"] == pytest.approx(last["group_kinship"])


def test_a_number_the_frontier_has_not_is_refused(folder: Path, frontier: dict[str, Any]) -> None:
    beyond = len(frontier["plans"]) + 1
    ran = run_here("plan", "--in", folder, "--at", beyond)
    assert (ran.code, ran.out) == (2, "")
    assert f"none numbered {beyond}" in ran.err if beyond <= 11 else "11" in ran.err
    assert run_here("plan", "--in", folder, "--at", 12).code == 2


def test_the_frontier_in_words_and_as_csv(
    folder: Path, frontier: dict[str, Any], tmp_path: Path
) -> None:
    sheet = tmp_path / "frontier.csv"
    shown = run_here("plan", "--in", folder, "--frontier", "--csv", sheet, COLUMNS="80")
    words = " ".join(shown.out.split())
    plans = frontier["plans"]
    for one in plans:
        assert f"{one['value']:.2f} " in words
    assert (
        f"From plan 1 to plan 2: {plans[0]['group_kinship'] - plans[1]['group_kinship']:.4f}"
        in (words)
    )
    assert [int(row["plan"]) for row in read_rows(sheet)] == [one["plan"] for one in plans]


def test_limit_and_price_are_kept_and_shown(frontier: dict[str, Any], tmp_path: Path) -> None:
    """A limit between the ends: the plan keeps it, and the frontier says which others do."""
    plans = frontier["plans"]
    limit = (plans[0]["group_kinship"] + plans[-1]["group_kinship"]) / 2
    settings = f"[limits]\ngroup_kinship_max = {limit}\nkinship_price = 0.5\n"
    limited = _flock(tmp_path, settings)
    plan = run_here("plan", "--in", limited, "--json").document
    assert plan["flock"]["group_kinship"] <= limit + 1e-9
    assert plan["value"] <= plans[0]["value"] + 1e-9
    words = " ".join(run_here("plan", "--in", limited).out.split())
    assert f"limit {limit:g}" in words
    assert "every 0.01 of it costs 0.5 wanted chicks" in words
    first = next(one["plan"] for one in plans if one["group_kinship"] <= limit)
    shown = " ".join(run_here("plan", "--in", limited, "--frontier").out.split())
    assert f"Your limit of {limit:g} (group_kinship_max in matchmaker.toml): " in shown
    assert f"plan{'s' if first < len(plans) else ''} {first} " in shown
    assert "At your price of 0.5 wanted chicks for 0.01 of kinship" in shown


def test_a_limit_below_the_least_kinship_is_refused_with_what_is_possible(
    frontier: dict[str, Any], tmp_path: Path
) -> None:
    limited = _flock(tmp_path, "[limits]\ngroup_kinship_max = 0.001\n")
    ran = run_here("plan", "--in", limited, "--json")
    assert ran.code == 4
    (said,) = ran.document["conflict"]["rows"]
    assert f"the least possible with {frontier['pairs']} pairs is" in said
    least = float(said.rsplit(" ", 1)[1])
    assert least == pytest.approx(frontier["plans"][-1]["group_kinship"], abs=1e-4)


def test_other_plans_and_gains_as_csv(
    folder: Path, others: dict[str, Any], best: dict[str, Any], tmp_path: Path
) -> None:
    plans, gains = tmp_path / "plans.csv", tmp_path / "gains.csv"
    run_here("plan", "--in", folder, "--alternatives", 2, "--csv", plans)
    rows = read_rows(plans)
    for number, document in enumerate((best, *others["alternatives"])):
        own = {(row["hen"], row["cock"]) for row in rows if row["plan"] == str(number)}
        assert own == _pairs(document)
    run_here("plan", "--in", folder, "--one-more", "--csv", gains)
    assert len(read_rows(gains)) >= 4


def test_other_plans_as_good(others: dict[str, Any], best: dict[str, Any]) -> None:
    found = others["alternatives"]
    assert 1 <= len(found) <= 2
    assert others["near_equals"]["count"] > len(found)
    for one in found:
        assert best["best_value"] - one["value"] == pytest.approx(one["loss"])
        assert one["loss"] <= 0.01 * best["best_value"] + 1e-6
        assert _pairs(one) != _pairs(best)
        assert one["sentences"]


def test_what_one_more_would_add(folder: Path) -> None:
    gains = run_here("plan", "--in", folder, "--one-more", "--json").document["one_more"]
    assert len(gains) >= 4
    assert all(one["gain"] >= 0 for one in gains)
    shown = " ".join(run_here("plan", "--in", folder, "--one-more").out.split())
    for one in gains:
        assert one["sentence"]
        if one["gain"] > 0.005:
            assert f"+{one['gain']:.2f} {one['value']:.2f} " in shown


def test_near_a_plan_in_a_file(folder: Path, others: dict[str, Any], tmp_path: Path) -> None:
    """The file holds another plan of the near-equals: it is near enough to be kept whole."""
    other = others["alternatives"][0]
    lines = ["pen,cock,hen"]
    lines += [
        f"{pen['pen']},{pen['cock']},{hen['hen']}" for pen in other["pens"] for hen in pen["hens"]
    ]
    file = tmp_path / "mine.csv"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    ran = run_here("plan", "--in", folder, "--near", file, "--json")
    near = ran.document["near"]
    assert near["pairs_given"] == near["pairs_allowed"] == len(_pairs(other))
    assert other["loss"] <= near["most_loss"]
    assert near["pairs_kept"] == near["pairs_given"]
    assert _pairs(ran.document) == _pairs(other)
    assert near["sentence"] in " ".join(ran.err.split())


@pytest.mark.parametrize(
    ("options", "refused"),
    [
        (("--frontier", "--alternatives", "2"), "--frontier"),
        (("--at", "1", "--fresh"), "--fresh"),
        (("--one-more", "--write"), "--write"),
        (("--near", "plan.csv", "--time-limit", "3"), "--time-limit"),
    ],
)
def test_options_of_which_one_would_do_nothing_are_refused(
    folder: Path, options: tuple[str, ...], refused: str
) -> None:
    ran = run_here("plan", "--in", folder, *options)
    assert (ran.code, ran.out) == (2, "")
    assert refused in ran.err


@dataclass(frozen=True, slots=True)
class Slow:
    """A flock that takes seconds to plan.

    ``searching`` is how long the search takes by the clock, ``half`` how much of the processor the
    command has used when half of it is done.
    """

    folder: Path
    searching: float
    half: float


@pytest.fixture(scope="module")
def slow(tmp_path_factory: pytest.TempPathFactory) -> Slow:
    """The kinship of its parents has a price; a first plan is found in a tenth of the time."""
    fen = example("holm-fen", tmp_path_factory.mktemp("slow") / "fen")
    edit_text(fen / "matchmaker.toml", "[limits]\n", "[limits]\nkinship_price = 5\n")
    begun, before = time.perf_counter(), _used_by_children()
    searching = float(run("plan", "--in", fen, "--json").document["seconds"])
    whole, used = time.perf_counter() - begun, _used_by_children() - before
    run("pairs", "--in", fen, "--json")
    until_search = _used_by_children() - before - used
    return Slow(fen, searching, until_search + used * searching / whole / 2)


def _used_by_children() -> float:
    found = resource.getrusage(resource.RUSAGE_CHILDREN)
    return found.ru_utime + found.ru_stime


def test_time_that_ends_is_said(slow: Slow) -> None:
    limit = f"{slow.searching / 2:.1f}"
    ran = run_here("plan", "--in", slow.folder, "--time-limit", limit)
    assert ran.code == 0
    words = " ".join(ran.out.split())
    assert "Not proved: time ran out. A better plan can be worth " in words


def test_an_interrupt_keeps_the_best_plan_found(slow: Slow) -> None:
    with subprocess.Popen(
        [MATCHMAKER, "plan", "--in", slow.folder, "--json"],
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        wait_until_busy(process.pid, seconds=slow.half)
        process.send_signal(signal.SIGINT)
        out, said = process.communicate(timeout=LIMIT)
    assert process.returncode == 0
    document = json.loads(out)
    assert (document["outcome"], document["stopped"]) == ("feasible", "interrupt")
    assert document["gap"] > 0
    assert b"Stopping: the best plan found so far follows." in said


def test_too_little_time_for_any_plan_is_code_5(slow: Slow, tmp_path: Path) -> None:
    """A limit that only few plans keep, and no time to find one."""
    fen = Path(shutil.copytree(slow.folder, tmp_path / "fen"))
    edit_text(fen / "matchmaker.toml", "kinship_price = 5\n", "group_kinship_max = 0.0658\n")
    ran: Ran = run_here("plan", "--in", fen, "--time-limit", 0.1)
    assert (ran.code, ran.out) == (5, "")
    assert "time ran out before any plan was found: allow more seconds" in ran.err
