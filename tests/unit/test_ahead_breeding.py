"""What a season in the pens brings in simulation, where cocks follow each other in turns."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker.ahead.breeding import _laid, _room
from matchmaker.plan.problem import Candidate
from matchmaker.plan.turns import Turn
from matchmaker.tables.read import read_folder

if TYPE_CHECKING:
    from matchmaker.settings import Settings

PAIR = Candidate(hen="H", cock="C", row="", line="L", value=1, wanted=4, chicks=8, eggs=100)
PEN_UP = dt.date(2027, 2, 1)


def settings() -> Settings:
    """Room for 150 eggs a week and 520 chicks."""
    found = read_folder(Path(__file__).parents[2] / "examples" / "holm-fen").settings
    assert found is not None
    return found


def late() -> Turn:
    """Forty days of eggs, from day 50 on."""
    first = PEN_UP + dt.timedelta(days=43)
    return Turn(
        label="late",
        first=first,
        last=PEN_UP + dt.timedelta(days=89),
        eggs_from=PEN_UP + dt.timedelta(days=50),
        days=40,
        part=0.5,
    )


@pytest.mark.parametrize(
    ("turns", "part"), [((("early",), ("late",)), 1.0), ((("early", "late"),), 0.75)]
)
def test_eggs_of_turns_after_each_other_do_not_share_the_incubator(
    turns: tuple[tuple[str, ...], ...], part: float
) -> None:
    pairs = [replace(PAIR, turn="early"), replace(PAIR, hen="I", turn="late")]
    assert _room(settings(), pairs, turns) == part


@pytest.mark.parametrize(
    ("lost", "part"),
    [
        ({}, 1.0),
        ({"H": 60}, 0.25),  # ten of the forty days of her turn
        ({"H": 20}, 0.0),
        ({"X": 20}, 1.0),
    ],
)
def test_a_hen_lays_for_her_turn_until_she_is_lost(lost: dict[str, int], part: float) -> None:
    assert _laid(settings(), (PAIR, late()), lost) == part
