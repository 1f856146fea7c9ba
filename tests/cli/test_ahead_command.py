"""``matchmaker ahead``: what it asks the library for, what it refuses, how it ends."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import pytest

import matchmaker.cli.ahead as command
from matchmaker import verbs
from matchmaker.looking import Horizon
from tests.builders import HOME, HOME_SEEN, write_flock
from tests.cli.run import LIMIT, environment, read_rows, run_here
from tests.outlooks import OTHERS, ahead

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.ahead.outlook import Ahead
    from matchmaker.looking import Hands

NAMES = ("plan", *(name for name, _, _ in OTHERS))

SLOW = f"""
import time
import matchmaker.cli.ahead
from matchmaker import verbs
from matchmaker.cli.entry import run
def look_ahead(table, horizon, *, compare, hands):
    hands.told(12, 200)
    print("begun", flush=True)
    time.sleep({LIMIT})
verbs.ahead = look_ahead
run()
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_flock(tmp_path_factory.mktemp("ahead") / "flock", HOME, seen=HOME_SEEN)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """What the library is asked for, made-up outlooks being its answer."""
    calls: list[dict[str, Any]] = []

    def look_ahead(
        _table: object, horizon: Horizon, *, compare: Sequence[str], hands: Hands
    ) -> Ahead:
        calls.append({"horizon": horizon, "compare": compare, "hands": hands})
        assert hands.told is not None
        hands.told(1, 2)
        others = [one for one in OTHERS if one[0] in compare]
        return ahead(*others, replicates=horizon.replicates)

    monkeypatch.setattr(verbs, "look_ahead", look_ahead, raising=False)
    monkeypatch.setattr(command, "NAMES", NAMES)
    return calls


def test_it_asks_as_it_was_asked(folder: Path, asked: list[dict[str, Any]]) -> None:
    ran = run_here("ahead", "--in", folder)
    assert ran.code == 0, ran.err
    assert ran.out.startswith("Six seasons ahead, spring 2027 to 2033, played through 200 times")
    assert "Nothing is written to your tables" in ran.err
    (call,) = asked
    assert call["horizon"] == Horizon(seasons=6, replicates=200, seed=1, ready=0.96)
    assert (call["compare"], call["hands"].workers, call["hands"].executor) == ((), None, None)
    run_here(
        *("ahead", "--in", folder, "--seasons", 3, "--replicates", 9, "--seed", 4),
        *("--workers", 2, "--ready-share", 0.9),
    )
    call = asked[1]
    assert call["horizon"] == Horizon(seasons=3, replicates=9, seed=4, ready=0.9)
    assert call["hands"].workers == 2


def test_policies_by_name_or_all(folder: Path, asked: list[dict[str, Any]]) -> None:
    run_here("ahead", "--in", folder, "--replicates", 5, "--compare")
    run_here(
        *("ahead", "--in", folder, "--replicates", 5, "--policy", "best-to-best"),
        *("--policy", "plan", "--policy", "rotation", "--policy", "rotation"),
    )
    assert [call["compare"] for call in asked] == [NAMES[1:], ("best-to-best", "rotation")]
    run_here("ahead", "--in", folder, "--compare")
    assert asked[2]["horizon"].replicates == 50


def test_document_and_rows(folder: Path, asked: list[dict[str, Any]], tmp_path: Path) -> None:
    file = tmp_path / "ahead.csv"
    arguments = ("ahead", "--in", folder, "--replicates", 5, "--csv", file)
    ran = run_here(*arguments, "--json", "--policy", "rotation")
    assert ran.code == 0, ran.err
    assert ran.document["schema"] == "matchmaker/ahead/1"
    assert {row["policy"] for row in read_rows(file)} == {"plan", "rotation"}
    before = file.read_bytes()
    refused = run_here(*arguments)
    assert refused.code == 6
    assert "--force" in refused.err
    assert (len(asked), file.read_bytes()) == (1, before), "refused before the work"
    assert run_here(*arguments, "--force").code == 0
    assert {row["policy"] for row in read_rows(file)} == {"plan"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--policy", "rotaton"), "no policy 'rotaton'. Did you mean rotation? --policy takes"),
        (("--policy", "zz"), "takes one of: plan, rotation, best-to-best, lower-kinship"),
        (("--seasons", "0"), "'--seasons': 1 is the least"),
        (("--seasons", "21"), "'--seasons': 20 is the most"),
        (("--replicates", "1"), "'--replicates': 2 is the least"),
        (("--workers", "0"), "'--workers': 1 is the least"),
        (("--seed", "-1"), "'--seed': 0 is the least"),
        (("--cluster", "tcp://here:1", "--workers", "2"), "--cluster takes no --workers"),
        (("--csv", "nowhere/file.csv"), "there is no folder"),
        (("--csv", "."), "it is a folder; name a file in it"),
    ],
)
def test_wrong_usage_is_told_before_the_work(
    folder: Path,
    asked: list[dict[str, Any]],
    arguments: tuple[str, ...],
    words: str,
    tmp_path: Path,
) -> None:
    ran = run_here("ahead", "--in", folder, *arguments, cwd=tmp_path)
    assert ran.code == 2
    assert words in ran.err
    assert (ran.out, asked) == ("", [])


def test_a_cluster_works_in_place_of_processes(
    folder: Path, asked: list[dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    import contextlib

    from matchmaker.ahead import cluster

    addresses: list[str] = []

    @contextlib.contextmanager
    def executor(address: str) -> Any:
        addresses.append(address)
        yield "executor"

    monkeypatch.setattr(cluster, "cluster_executor", executor)
    run_here("ahead", "--in", folder, "--replicates", 5, "--cluster", "tcp://barn:8786")
    assert addresses == ["tcp://barn:8786"]
    assert asked[0]["hands"].executor == "executor"


def test_an_interrupt_within_the_process_says_how_far_it_was(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def look_ahead(_table: object, _horizon: Horizon, *, hands: Hands, **_asked: Any) -> Ahead:
        assert hands.told is not None
        hands.told(3, 200)
        raise KeyboardInterrupt

    monkeypatch.setattr(verbs, "look_ahead", look_ahead, raising=False)
    ran = run_here("ahead", "--in", folder)
    assert ran.code == 130
    assert "3 of 200 parts of the simulation were done; nothing is kept of it." in ran.err


def test_before_any_part_it_had_only_begun() -> None:
    assert command.Reached(lambda _done, _parts: None)() == (
        "The simulation had only begun; nothing is kept of it."
    )


def test_ctrl_c_ends_a_process_at_once_and_says_how_far_it_was(folder: Path) -> None:
    ours, terminal = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-c", SLOW, "ahead", "--in", folder],
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=terminal,
    ) as process:
        os.close(terminal)
        assert process.stdout is not None
        assert process.stdout.readline() == b"begun\n"
        process.send_signal(signal.SIGINT)
        out, _ = process.communicate(timeout=LIMIT)
    said = os.read(ours, 4096).replace(b"\r\n", b"\n")
    os.close(ours)
    assert process.returncode == 130
    assert out == b""
    assert said == (
        b"\n12 of 200 parts of the simulation were done; nothing is kept of it.\nInterrupted.\n"
    )


def test_a_policy_that_the_flock_cannot_have_is_named_to_the_asker(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(verbs, "look_ahead", lambda *_a, **_k: ahead(replicates=5), raising=False)
    monkeypatch.setattr(command, "NAMES", NAMES)
    ran = run_here("ahead", "--in", folder, "--policy", "rotation")
    assert ran.code == 0
    assert "Left out, as this flock has no such plan to begin with: rotation." in ran.err
