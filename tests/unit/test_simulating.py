"""How far a long task is: one line on a terminal, nothing anywhere else."""

from __future__ import annotations

import io
import sys
import time

import pytest

from matchmaker.cli.simulating import progress_bar


class Terminal(io.StringIO):
    """Standard error that is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Seconds that the test sets."""
    now = [0.0]
    monkeypatch.setattr(time, "perf_counter", lambda: now[0])
    return now


def terminal(monkeypatch: pytest.MonkeyPatch, columns: int) -> Terminal:
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm")
    return stream


def test_a_line_says_how_many_are_done_and_is_wiped(
    monkeypatch: pytest.MonkeyPatch, clock: list[float]
) -> None:
    stream = terminal(monkeypatch, 80)
    with progress_bar("Simulating") as told:
        for done, clock[0] in ((1, 1.0), (100, 10.0), (101, 10.1), (150, 12.0)):
            told(done, 200)
    shown = stream.getvalue().split("\r")[1:]
    assert [line.rstrip() for line in shown] == [
        "Simulating ━━━━━━━━━━           100 of 200, about 10 s left (Ctrl-C ends)",
        "Simulating ━━━━━━━━━━━━━━━      150 of 200, about 4 s left (Ctrl-C ends)",
        "",
        "",
    ]
    assert [len(line) for line in shown] == [73, 73, 72, 0]


def test_a_narrow_terminal_has_the_numbers_without_the_bar(
    monkeypatch: pytest.MonkeyPatch, clock: list[float]
) -> None:
    stream = terminal(monkeypatch, 60)
    with progress_bar("Simulating") as told:
        clock[0] = 5.0
        told(1, 200)
    assert stream.getvalue().split("\r")[1].rstrip() == (
        "Simulating 1 of 200, about 17 minutes left (Ctrl-C ends)"
    )


def test_no_line_goes_over_the_edge(monkeypatch: pytest.MonkeyPatch, clock: list[float]) -> None:
    stream = terminal(monkeypatch, 30)
    with progress_bar("Simulating") as told:
        clock[0] = 5.0
        told(1, 200)
    assert stream.getvalue().split("\r")[1] == "Simulating 1 of 200, about 17"


def test_a_short_task_says_nothing(monkeypatch: pytest.MonkeyPatch, clock: list[float]) -> None:
    stream = terminal(monkeypatch, 80)
    with progress_bar("Simulating") as told:
        clock[0] = 1.9
        told(200, 200)
    assert stream.getvalue() == ""


def test_nothing_is_written_where_no_terminal_is(
    monkeypatch: pytest.MonkeyPatch, clock: list[float]
) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    with progress_bar("Simulating") as told:
        clock[0] = 60.0
        told(1, 2)
    assert stream.getvalue() == ""
