"""What holds of every response to a loss, over small flocks drawn at random."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from matchmaker.plan.arithmetic.moved import birds_moved
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.rebalance.posing import Posed, pose_response
from matchmaker.rebalance.responding import Answer, Responder
from matchmaker.rebalance.standing import lose
from tests.oracle.response_flocks import FlockMaker, SmallFlock

if TYPE_CHECKING:
    from matchmaker.rebalance.standing import Standing

NEAR = 1e-6
SEEDS = st.integers(0, 220)
"""Few, so that most are drawn: those of flocks that are refused as yet are beyond them."""

QUICK = settings(max_examples=30, deadline=None, derandomize=True)


def quiet_flocks() -> st.SearchStrategy[SmallFlock]:
    """Flocks in which nobody was moved before; a seed is what shrinks."""
    return SEEDS.map(lambda seed: FlockMaker(seed, quiet=True).make())


def without_minimums(flock: SmallFlock) -> SmallFlock:
    """The same flock where a pen may be left and a line may have nothing."""
    problem = flock.season.problem
    free = replace(
        problem,
        lines=tuple(replace(goal, hens_min=0, wanted_min=0.0) for goal in problem.lines),
        kinds=tuple(replace(kind, hens_min=0) for kind in problem.kinds),
    )
    return replace(flock, season=replace(flock.season, problem=free))


@cache
def answered(flock_seed: int, most: int | None = None) -> tuple[SmallFlock, Posed, Answer | None]:
    flock = FlockMaker(flock_seed, quiet=True).make()
    posed = pose_response(flock.season, flock.after)
    return flock, posed, Responder(posed.problem).best(most)


def value_of(flock: SmallFlock, standing: Standing, without: frozenset[str] = frozenset()) -> float:
    found = Responder(pose_response(flock.season, standing).problem).best(without=without)
    assert found is not None, "without minimums there is always a response"
    return found.value


@QUICK
@given(SEEDS)
def test_who_is_lost_and_what_is_closed_is_in_no_response(seed: int) -> None:
    flock, posed, answer = answered(seed)
    named = {bird for one in posed.problem.candidates for bird in (one.hen, one.cock)}
    assert not named & flock.lost.keys()
    assert not {pen for kind in posed.problem.kinds for pen in kind.pens} & flock.closed
    assume(answer is not None)
    assert answer is not None
    birds = {pen.cock for pen in answer.pens} | {p.hen for pen in answer.pens for p in pen.pairs}
    assert not birds & flock.lost.keys()
    assert not {pen.pen for pen in answer.pens} & flock.closed
    assert not {bird for bird, _ in answer.moved} & flock.lost.keys()


@QUICK
@given(SEEDS, st.sampled_from((None, 0, 1, 2)))
def test_moves_are_those_that_plain_arithmetic_counts(seed: int, most: int | None) -> None:
    flock, posed, answer = answered(seed, most)
    assume(answer is not None)
    assert answer is not None
    assert answer.moved == birds_moved(posed.problem, answer.pens)
    assert most is None or answer.moves <= most
    score = evaluate(posed.problem, answer.pens)
    assert score.broken == ()
    assert abs(score.value - answer.value) < NEAR
    assert not set(flock.after.places) & set(answer.moved)
    new = {(pen.cock, pen.pen) for pen in answer.pens} - set(flock.after.places)
    assert new <= set(answer.moved)


@QUICK
@given(SEEDS)
def test_nobody_takes_the_pen_of_a_cock_that_may_stay(seed: int) -> None:
    flock, _, answer = answered(seed)
    assume(answer is not None)
    assert answer is not None
    for pen in answer.pens:
        assert flock.after.cock_in(pen.pen) in (None, pen.cock)


@QUICK
@given(quiet_flocks(), st.data())
def test_a_spare_less_never_helps(flock: SmallFlock, data: st.DataObject) -> None:
    flock = without_minimums(flock)
    standing = flock.after
    spares = sorted({cock for _, cock in flock.season.pairs} - set(standing.cocks))
    assume(spares)
    without = frozenset(data.draw(st.sets(st.sampled_from(spares), min_size=1)))
    assert value_of(flock, standing, without) <= value_of(flock, standing) + NEAR


@QUICK
@given(quiet_flocks())
def test_the_loss_of_a_cock_raises_no_value(flock: SmallFlock) -> None:
    """But for what another cock may win in his pen, which is free for one only when he is lost."""
    flock = without_minimums(flock)
    stand = flock.before.cocks
    assume(stand)
    before = value_of(flock, flock.before)
    for cock in stand:
        problem = pose_response(flock.season, lose(flock.before, {cock: flock.before.day})).problem
        own = flock.before.homes(cock)
        elsewhere = tuple(one for one in problem.candidates if one.turn not in own)
        found = Responder(replace(problem, candidates=elsewhere)).best()
        assert found is not None
        assert found.value <= before + NEAR, cock
