"""Which number of moves is proposed, on curves written by hand."""

from __future__ import annotations

import pytest

from matchmaker.rebalance.responding import Answer
from matchmaker.rebalance.steps import Step, proposed


def curve(*values: float, feasible_from: int = 0) -> tuple[Step, ...]:
    """Steps of 0, 1, 2 … moves worth so much; those below ``feasible_from`` break something."""
    return tuple(
        Step(
            moves=moves,
            value=value,
            answer=None
            if moves < feasible_from
            else Answer(pens=(), value=value, bound=value, lines=(), moved=()),
        )
        for moves, value in enumerate(values)
    )


@pytest.mark.parametrize(
    ("values", "moves"),
    [
        ((10.0, 10.4, 10.8), 0),
        ((10.0, 10.6, 10.9), 1),
        ((10.0, 10.5, 11.0), 2),
        ((10.0, 10.2, 11.1), 2),
        ((10.0,), 0),
    ],
)
def test_a_bird_more_must_win_half_a_wanted_chick(values: tuple[float, ...], moves: int) -> None:
    assert proposed(curve(*values)).moves == moves


@pytest.mark.parametrize(("enough", "moves"), [(10.04, 0), (11.0, 1), (11.1, 2), (None, 2)])
def test_what_is_won_back_needs_no_more_moves(enough: float | None, moves: int) -> None:
    assert proposed(curve(10.0, 11.0, 12.0), enough).moves == moves


def test_who_keeps_no_minimum_is_not_proposed() -> None:
    assert proposed(curve(12.0, 11.0, 11.2, feasible_from=1), 10.0).moves == 1
