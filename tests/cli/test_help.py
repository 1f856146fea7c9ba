"""Help answers at once: it shows an example and loads none of the heavy libraries."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from tests.cli.run import LIMIT, MATCHMAKER, environment, run, run_here

COMMANDS = (
    *("new", "check", "flock", "pairs", "plan", "loci"),
    *("route", "season", "hatch", "grade", "ahead", "report"),
)
HEAVY = {"pandas", "numpy", "pulp", "networkx", "highspy", "rich", "pydantic", "python_calamine"}
HEAVY |= {"jinja2", "pygal", "webbrowser"}


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_shows_an_example(command: str) -> None:
    ran = run_here(command, "--help")
    assert ran.code == 0
    assert re.search(rf"^  Example: matchmaker {command} ", ran.out, re.MULTILINE)


def test_the_program_says_where_to_start_and_names_its_commands() -> None:
    out = run("--help").out
    assert "Start with: matchmaker new my-flock" in out
    assert set(COMMANDS) <= set(re.findall(r"^  (\w+) ", out, re.MULTILINE))


@pytest.mark.parametrize("arguments", [(), *((command,) for command in COMMANDS)])
def test_help_loads_nothing_heavy(arguments: tuple[str, ...]) -> None:
    assert HEAVY & _loaded(*arguments, "--help") == set()


def test_the_watch_on_loading_sees_heavy_libraries(tmp_path: object) -> None:
    assert {"pydantic", "numpy", "rich"} <= _loaded("check", "--in", str(tmp_path))


def _loaded(*arguments: str) -> set[str]:
    """Top-level packages that the command imports, by the interpreter's own account."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", MATCHMAKER, *arguments],
        env=environment(),
        capture_output=True,
        text=True,
        timeout=LIMIT,
        check=False,
    )
    names = re.findall(r"^import time:.*\| +(\S+)$", done.stderr, re.MULTILINE)
    return {name.split(".")[0] for name in names}


def test_the_short_options_work() -> None:
    assert run_here("-h").out == run_here("--help").out
    assert re.fullmatch(r"matchmaker \d+\.\d+\.\d+\n", run_here("-V").out)
