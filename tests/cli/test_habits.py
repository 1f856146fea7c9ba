"""Ten bad habits of users: each is told what it needs, and nothing is lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.cli.habits import HABITS, NEVER, Habit, live
from tests.cli.run import contents

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.slow
@pytest.mark.parametrize("habit", HABITS, ids=lambda habit: habit.name)
def test_a_bad_habit_is_answered_in_words(habit: Habit, tmp_path: Path) -> None:
    for one, answer in zip(habit.tries, live(habit, tmp_path), strict=True):
        said = " ".join(answer.text.split())
        assert answer.code == one.code, (one.words, answer.text)
        assert [words for words in one.says if words not in said] == [], one.words
        assert [words for words in (*one.never, *NEVER) if words in answer.text] == [], one.words


def test_a_killed_command_has_written_all_or_nothing(tmp_path: Path) -> None:
    killed = next(habit for habit in HABITS if habit.name == "killed midway")
    killed.prepare(tmp_path)
    before = contents(tmp_path / "tarn-croft")
    live(Habit(name=killed.name, tries=killed.tries[:1]), tmp_path)
    assert contents(tmp_path / "tarn-croft") == before
