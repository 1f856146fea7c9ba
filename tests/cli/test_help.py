"""Help answers at once: it shows an example and loads none of the heavy libraries."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from tests.cli.run import LIMIT, MATCHMAKER, environment, run, run_here

COMMANDS = (
    *("new", "check", "flock", "pairs", "tests", "plan", "why", "rebalance"),
    *("season", "hatch", "grade", "route", "ahead", "report", "loci"),
)
HEAVY = {"pandas", "numpy", "pulp", "networkx", "highspy", "rich", "pydantic", "python_calamine"}
HEAVY |= {"jinja2", "pygal", "webbrowser"}


@pytest.mark.parametrize("command", COMMANDS)
def test_help_ends_in_an_example(command: str) -> None:
    ran = run_here(command, "--help")
    assert ran.code == 0
    assert re.match(rf"  Example: matchmaker {command} ", ran.out.splitlines()[-1])


@pytest.mark.parametrize("command", COMMANDS)
def test_help_has_words_for_signs_and_kinds(command: str) -> None:
    out = run_here(command, "--help").out
    assert not re.search(r"<=|>=|default:|<\w+>|\[\[", out)


def test_the_program_says_where_to_start() -> None:
    assert "Start with: matchmaker new my-flock" in run("--help").out


def test_commands_stand_in_the_order_of_a_season_each_told_in_one_line() -> None:
    _, _, listed = run_here("--help").out.partition("Commands:\n")
    told = [line.split(maxsplit=1) for line in listed.splitlines() if line]
    assert tuple(name for name, _ in told) == COMMANDS
    assert all(words.endswith(".") and not words.endswith("..") for _, words in told)


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


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("plan", "--csv"), "write behind --csv what it is to be"),
        (("plan", "fen"), "too much is written: fen"),
        (("tests", "--birds", "x"), "write a whole number, as in 23"),
        (("plan", "--at", "40"), "11 is the most it can be"),
    ],
)
def test_wrong_usage_is_told_in_plain_words(words: tuple[str, ...], said: str) -> None:
    ran = run_here(*words)
    assert ran.code == 2
    assert said in ran.err
