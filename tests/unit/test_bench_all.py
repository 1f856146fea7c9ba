"""All benchmarks in one run: rows are collected, curves fitted, files written, failures told."""

from __future__ import annotations

import functools
import importlib
import json
import subprocess
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from tests.bench.__main__ import BENCHMARKS, main
from tests.bench.collecting import Round, collected
from tests.bench.growth import curves
from tests.bench.measuring import DisagreementError, agreed, in_turn, least, peak_memory
from tests.bench.own_process import in_own_process
from tests.bench.rows import OF_PROCESSOR, Row, Size, line, of_birds
from tests.bench.running import Bench, Option, Scale, chosen, run
from tests.bench.writing import Outcome, markdown, write_down

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

ROWS = tuple(
    Row(
        task="reading",
        size=of_birds(birds),
        ours=(birds**1.5 / 1000,),
        peer="a peer",
        theirs=(birds**2 / 1000,),
        at_least=birds == 4000,
        memory=12.0,
        peer_memory=34.0,
        agreement="results equal",
    )
    for birds in (4000, 1000, 2000)
)
ALONE = Row(task="a|b", size=Size("holm-fen"), unit=OF_PROCESSOR, ours=(0.5, 0.1, 0.2), note="once")
FAILED = Outcome(benchmark="two", about="fails", rows=(), seconds=1.0, failure="exit code 1: no")
OUTCOMES = [Outcome(benchmark="one", about="works", rows=(*ROWS, ALONE), seconds=2.0), FAILED]


def test_a_curve_has_the_exponent_its_times_were_made_with() -> None:
    """The peer's time at 4,000 was cut off: two sizes are left, and through two goes any line."""
    (curve,) = curves(ROWS)
    assert (curve.whose, [point.amount for point in curve.points]) == ("ours", [1000, 2000, 4000])
    assert curve.exponent == pytest.approx(1.5)
    assert curve.last_step == pytest.approx(1.5)


def test_a_constant_of_each_call_draws_the_fit_down_but_less_the_last_step() -> None:
    rows = [
        Row(task="t", size=of_birds(birds), ours=(0.1 + birds / 1000,)) for birds in (10, 100, 1000)
    ]
    (curve,) = curves(rows)
    assert 0 < curve.exponent < curve.last_step < 1


def test_no_curve_of_crossings_nor_of_sizes_without_a_number() -> None:
    crossings = [
        Row(task="t", size=of_birds(birds), unit="crossings", ours=(birds,)) for birds in (1, 2, 3)
    ]
    named = [Row(task="t", size=Size(name), ours=(1.0,)) for name in ("a", "b", "c")]
    assert list(curves([*crossings, *named])) == []


def test_a_ratio_is_of_the_flocks_one_by_one() -> None:
    row = Row(task="t", size=of_birds(9), ours=(1, 10, 1), peer="p", theirs=(2, 30, 100))
    assert row.ratio == 3
    assert "ratio 3.00" in line(row)
    assert ROWS[0].ratio == pytest.approx(4000**0.5)
    assert "ratio ≥ 63.2" in line(ROWS[0])
    with pytest.raises(ValueError, match="9 birds"):
        Row(task="t", size=of_birds(9), ours=(1.0,), peer="p", theirs=(1.0, 2.0))


def test_what_is_written_is_what_was_found(tmp_path: Path) -> None:
    about = {"processor": "slow", "commit": "abc"}
    write_down(tmp_path / "benchmarks.md", about, OUTCOMES)
    told = json.loads((tmp_path / "benchmarks.json").read_text(encoding="utf-8"))
    one, two = told["benchmarks"]
    assert told["machine"] == about
    assert tuple(map(Row.of_json, one["rows"])) == OUTCOMES[0].rows
    assert one["rows"][1]["ratio"] == pytest.approx(1000**0.5)
    assert one["curves"][0]["exponent"] == pytest.approx(1.5)
    assert (two["failure"], two["rows"]) == ("exit code 1: no", [])
    assert (tmp_path / "benchmarks.md").read_text(encoding="utf-8") == markdown(about, OUTCOMES)


def test_the_tables_hold_each_row_once_and_every_line_of_them_the_same_cells() -> None:
    text = markdown({"processor": "slow"}, OUTCOMES)
    sections = dict(part.split("\n", 1) for part in text.split("\n## ")[1:])
    assert list(sections) == ["Beside the peers", "Growth", "Ours alone", "What was run"]
    tables = {
        name: [row.replace("\\|", "").count("|") for row in part.splitlines() if row[:1] == "|"]
        for name, part in sections.items()
    }
    assert {name: len(bars) - 2 for name, bars in tables.items()} == {
        "Beside the peers": 3,
        "Growth": 1,
        "Ours alone": 1,
        "What was run": 2,
    }
    assert all(len(set(bars)) == 1 for bars in tables.values())
    assert "| ≥ 63.2 | 12 / 34 | results equal |" in sections["Beside the peers"]
    assert "| 1.50 | 1.50 |" in sections["Growth"]
    assert "| a\\|b | holm-fen | 200 ms (most 500 ms) of processor |" in sections["Ours alone"]
    assert "FAILED: exit code 1: no" in sections["What was run"]


SCRIPT = """
import sys, time
open(sys.argv[2], "w").write(open(sys.argv[3]).read())
if sys.argv[1] == "bad":
    raise ImportError("the peer is not installed")
if sys.argv[1] == "slow":
    time.sleep(60)
"""


def round_of(place: Path, *names: str, wait: float) -> Round:
    given = place / "given"
    given.write_text(json.dumps(ALONE.as_json()), encoding="utf-8")
    return Round(
        names={name: f"the {name} one" for name in names},
        command_of=lambda name, rows: [sys.executable, "-I", "-c", SCRIPT, name, rows, given],
        wait=wait,
    )


def test_one_that_fails_is_told_and_the_rest_go_on(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    outcomes = list(collected(round_of(tmp_path, "bad", "good", wait=60.0)))
    assert [one.failure for one in outcomes] == [
        "exit code 1: ImportError: the peer is not installed",
        "",
    ]
    assert [one.rows for one in outcomes] == [(ALONE,)] * 2
    printed = capfd.readouterr()
    assert "bad failed: exit code 1" in printed.err
    assert "== good: the good one" in printed.out


def test_one_that_does_not_end_is_ended(tmp_path: Path) -> None:
    (outcome,) = collected(round_of(tmp_path, "slow", wait=0.4))
    assert outcome.failure == "ended after 0.4 s"
    assert outcome.seconds < 30


def test_the_whole_run_tells_failure_by_its_exit_code(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("tests.bench.collecting.collected", lambda _asked: iter(OUTCOMES))
    monkeypatch.setattr("signal.signal", lambda *_: None)
    assert main(["all", "-o", str(tmp_path / "new"), "--short", "--only", "plan,merit"]) == 1
    assert capsys.readouterr().err == "failed: two\n"
    told = json.loads((tmp_path / "new" / "benchmarks.json").read_text(encoding="utf-8"))
    assert told["machine"]["scale"] == "short"
    monkeypatch.setattr("tests.bench.collecting.collected", lambda _asked: iter(OUTCOMES[:1]))
    assert main(["all", "-o", str(tmp_path / "run.md")]) == 0
    assert (tmp_path / "run.json").exists()


class InterruptedWait(subprocess.Popen[str]):
    """A process whose end is not waited for: the keeper of the run stops it before."""

    def wait(self, timeout: float | None = None) -> int:
        if timeout is not None:
            raise KeyboardInterrupt
        return super().wait()


def test_an_interruption_ends_the_benchmark_and_runs_no_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("subprocess.Popen", InterruptedWait)
    outcomes = list(collected(round_of(tmp_path, "slow", "good", wait=60.0)))
    assert [(one.benchmark, one.failure) for one in outcomes] == [("slow", "interrupted")]


def test_a_run_that_is_interrupted_keeps_what_was_measured(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    found = [OUTCOMES[0], replace(FAILED, failure="interrupted")]
    monkeypatch.setattr("tests.bench.collecting.collected", lambda _asked: iter(found))
    monkeypatch.setattr("signal.signal", lambda *_: None)
    assert main(["all", "-o", str(tmp_path)]) == 130
    assert capsys.readouterr().err == "failed: two\n"
    assert "reading" in (tmp_path / "benchmarks.md").read_text(encoding="utf-8")


def test_what_there_is_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    usage = capsys.readouterr().out
    assert all(f"  {name} " in usage for name in BENCHMARKS)
    assert main(["plans"]) == 2
    assert capsys.readouterr().err.startswith("no benchmark is called plans\nusage:")
    with pytest.raises(SystemExit, match="2"):
        main(["all", "--only", "plans"])


@pytest.mark.parametrize("name", BENCHMARKS)
def test_each_benchmark_takes_every_scale(name: str) -> None:
    """What is chosen at a scale can also be typed: both give the same."""
    module = importlib.import_module(f"tests.bench.{name}")
    assert isinstance(module.BENCH, Bench)
    for scale in Scale:
        words = [] if scale is Scale.WHOLE else [f"--{scale}"]
        asked = chosen(name, module.BENCH, words)
        for option in module.BENCH.options:
            value = getattr(asked, option.name)
            typed = ",".join(map(str, value)) if isinstance(value, tuple) else str(value)
            assert isinstance(value, bool) or option.read(typed) == value, (scale, option.name)


def counted(asked: argparse.Namespace) -> list[Row]:
    return [Row(task="t", size=of_birds(one), ours=(1.0,)) for one in asked.birds]


def test_a_benchmark_prints_the_rows_that_it_hands_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bench = Bench(rows=counted, options=(Option(name="birds", help="b", whole=(5, 6), short=(7,)),))
    rows = tmp_path / "rows"
    run("plan", bench, ["--short", "--rows", str(rows)])
    run("plan", bench, ["--birds", "8,9", "--rows", str(rows)])
    told = [Row.of_json(json.loads(one)) for one in rows.read_text(encoding="utf-8").splitlines()]
    assert [row.size.amount for row in told] == [7, 8, 9]
    assert capsys.readouterr().out.splitlines() == [line(row) for row in told]


def test_results_that_differ_end_the_benchmark() -> None:
    assert agreed([0.0, 1e-12], 1e-9) == "results differ by 1e-12 at most"
    for differences in ([1e-3], [0.0, float("nan")]):
        with pytest.raises(DisagreementError):
            agreed(differences, 1e-9)


def test_the_least_of_several_runs_is_taken_in_turn() -> None:
    now = iter([0, 3, 10, 14, 20, 22, 30, 31])
    order: list[str] = []
    works = {name: functools.partial(order.append, name) for name in "ab"}
    seconds, _ = in_turn(works, 2, lambda: float(next(now)))
    assert (seconds, order) == ({"a": 2.0, "b": 1.0}, ["a", "b", "a", "b"])
    long = iter([0, 50, 50, 51])
    assert least(list, 2, lambda: float(next(long))) == (50.0, [])


def test_memory_is_of_the_process_alone() -> None:
    """The peak that a parent leaves to its child is not the child's."""
    large = bytearray(200_000_000)
    here = peak_memory()
    assert here > 190
    assert in_own_process(peak_memory) < min(150, here - 30)
    del large


def test_what_failed_in_a_process_of_its_own_is_said() -> None:
    with pytest.raises(RuntimeError, match=r"measuring.agreed: .*results differ by 2"):
        in_own_process(agreed, [2.0], 1.0)
