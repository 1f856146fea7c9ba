"""The library has the verbs of the command line, by the same names and no others."""

from __future__ import annotations

import inspect
import re
from typing import TYPE_CHECKING

import pytest

import matchmaker
from matchmaker import verbs
from matchmaker.cli.app import COMMANDS as MODULES
from matchmaker.cli.root import app
from matchmaker.errors import UsageError
from matchmaker.explain.pair import PairAnswer
from matchmaker.explain.pen import PenAnswer

if TYPE_CHECKING:
    from pathlib import Path


def test_the_commands_are_those_of_the_command_line() -> None:
    assert MODULES  # imported, so that they have added themselves
    named = {one.name or one.callback.__name__ for one in app.registered_commands if one.callback}
    assert named == set(matchmaker.COMMANDS)


def test_the_packages_own_words_name_each() -> None:
    assert tuple(re.findall(r"^``(\w+)``", matchmaker.__doc__ or "", re.M)) == matchmaker.COMMANDS


@pytest.mark.parametrize("name", matchmaker.COMMANDS)
def test_each_is_a_function_with_its_errors_named(name: str) -> None:
    verb = getattr(matchmaker.verbs, name)
    assert name in verbs.__all__
    assert "Raises" in (inspect.getdoc(verb) or "")


def test_what_is_no_verb_is_missed() -> None:
    with pytest.raises(AttributeError, match="no attribute 'crow'"):
        _ = matchmaker.crow


def test_why_is_asked_about_one_thing(tmp_path: Path) -> None:
    verbs.new(tmp_path / "flock", like="tarn-croft")
    plan = verbs.plan(tmp_path / "flock")
    cock, hen = plan.pens[0].cock, plan.pens[0].pairs[0].hen
    assert isinstance(verbs.why(plan, cock, hen), PairAnswer)
    assert isinstance(verbs.why(plan, pen=plan.pens[0].pen), PenAnswer)
    with pytest.raises(UsageError):
        verbs.why(plan, cock, pen=plan.pens[0].pen)


def test_a_new_flock_is_begun_in_one_way(tmp_path: Path) -> None:
    with pytest.raises(UsageError):
        verbs.new(tmp_path / "flock")
