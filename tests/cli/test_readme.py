"""The README says what happens: its console blocks are run, its two commands are CI's own."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

import pytest

import matchmaker
from tests.cli.readme import README, ROOT, Console, consoles, run_all, timeless, trimmed
from tests.cli.run import run_here

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize("console", consoles(), ids=lambda console: console.command)
def test_the_readme_prints_what_the_command_prints(console: Console) -> None:
    assert timeless(run_all(console.commands, answer)) == timeless(console.output)


def answer(command: str, folder: Path) -> str:
    """What the command prints, answered in this process: ``test_process`` runs it alone."""
    program, *words = shlex.split(command)
    assert program == "matchmaker"
    ran = run_here(*words, cwd=folder, COLUMNS="80")
    assert ran.code == 0, ran.err
    return trimmed(ran.out)


def test_there_is_something_to_compare() -> None:
    assert len(consoles()) >= 2


def test_ci_runs_both_commands_of_the_readme() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    shell = [
        line
        for line in README.read_text(encoding="utf-8").splitlines()
        if line.startswith("python3")
    ]
    assert len(shell) == 2
    for phrase, line in zip(
        ("matchmaker plan --in examples/holm-fen", "coverage run -m pytest"), shell, strict=True
    ):
        assert phrase in line
        assert phrase in script


@pytest.mark.parametrize("command", matchmaker.COMMANDS)
def test_every_command_stands_in_the_readme(command: str) -> None:
    assert f"`matchmaker {command}" in README.read_text(encoding="utf-8")
