"""The best response to a loss against trying all of them, on small flocks drawn at random."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from functools import cache
from itertools import product
from typing import TYPE_CHECKING

import pytest

from matchmaker.plan.posing.problem import CockLimit, LineGoal, PenKind, PlanProblem
from matchmaker.rebalance.diary import Diary, Stay
from matchmaker.rebalance.posing import pose_response
from matchmaker.rebalance.responding import Answer, Responder
from matchmaker.rebalance.schedule import are_together
from matchmaker.rebalance.standing import Standing, lose
from tests.oracle.response_calendar import Calendar
from tests.oracle.response_enumeration import PenDays, Yard
from tests.oracle.response_flocks import UP, FlockMaker, SmallFlock, SmallSeason, pair_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.posing.problem import Candidate

CLOSE = 1e-6
BLOCKS = [
    (quiet, range(start, start + 20)) for quiet in (True, False) for start in range(0, 60, 20)
]
ODD = (
    *((seed, True) for seed in (85, 92, 94, 106, 121, 140)),
    *((seed, False) for seed in (82, 86, 124, 126, 140, 183, 197, 211, 217, 235, 280, 283, 307)),
    *((seed, False) for seed in (2, 44, 68, 106, 158, 177, 184, 206, 210, 261, 294, 304, 312, 321)),
)
"""More flocks that are worth a look: hens that move along, or come back, in odd ways."""


@cache
def flock_of(seed: int, *, quiet: bool) -> SmallFlock:
    return FlockMaker(seed, quiet=quiet).make()


def responder_of(flock: SmallFlock, standing: Standing | None = None) -> Responder:
    return Responder(pose_response(flock.season, standing or flock.after).problem)


def compared(seed: int, *, quiet: bool) -> Iterator[tuple[Answer, float]]:
    """Each best response, the last one with as many moves as it takes, with what trying all finds.

    That there is none is compared here.
    """
    flock = flock_of(seed, quiet=quiet)
    yard, responder = Yard(flock.season, flock.after), responder_of(flock)
    for most in (*range(max(yard.best, default=0) + 1), None):
        found, expected = responder.best(most), yard.at_most(most)
        assert (found is None) == (expected is None), (seed, quiet, most)
        if found is not None and expected is not None:
            assert most is None or found.moves <= most
            yield found, expected


@pytest.mark.parametrize(("quiet", "seeds"), BLOCKS, ids=str)
def test_best_response_is_that_of_trying_all(quiet: bool, seeds: range) -> None:  # noqa: FBT001
    for seed in seeds:
        is_the_best_of_all(seed, quiet=quiet)


@pytest.mark.parametrize(("seed", "quiet"), ODD)
def test_so_it_is_in_odd_flocks(seed: int, quiet: bool) -> None:  # noqa: FBT001
    is_the_best_of_all(seed, quiet=quiet)


def is_the_best_of_all(seed: int, *, quiet: bool) -> None:
    """Hold the best responses to the loss in a flock against those of trying all."""
    last = -float("inf")
    for found, expected in compared(seed, quiet=quiet):
        assert found.value == pytest.approx(expected, abs=CLOSE), (seed, quiet, found.moves)
        assert found.value - 1e-9 <= found.bound <= found.value + CLOSE, (seed, quiet)
        assert found.value >= last - CLOSE, "more moves are never worse"
        last = found.value


def test_each_pair_is_worth_the_days_of_the_calendar() -> None:
    """Whether it is chosen or not."""
    met: Counter[str] = Counter()
    for seed, quiet in sorted({*product(range(60), (True, False)), *ODD}):
        met.update(pairs_as_by_calendar(seed, quiet=quiet))
    assert met["stays"] > 100
    assert met["new"] > 1000
    assert met["moves along"] > 40
    assert met["comes back"] > 40


def pairs_as_by_calendar(seed: int, *, quiet: bool) -> list[str]:
    """Hold each pair that is posed against the calendar, and tell what kind of pair it is."""
    flock = flock_of(seed, quiet=quiet)
    calendar = Calendar(flock.season, flock.after)
    kinds = []
    for one in pose_response(flock.season, flock.after).problem.candidates:
        days = PenDays(calendar, one.turn, one.cock, frozenset({one.hen}))
        rows = {pairs[0].row: pairs for pairs in days.pairs_of(one.hen)}
        expected = sum(part.value for part in rows.get(one.row, ()))
        assert one.value == pytest.approx(expected, abs=CLOSE), (seed, quiet, one.key)
        kinds.append(_kind_of_pair(calendar, one))
    return kinds


def _kind_of_pair(calendar: Calendar, one: Candidate) -> str:
    if one.kept:
        return "stays"
    if one.cock not in calendar.days.get(one.hen, ()):
        return "new"
    return "moves along" if calendar.are_together(one.hen, one.cock) else "comes back"


def test_the_flocks_drawn_have_every_kind_of_response() -> None:
    met: Counter[str] = Counter()
    for quiet, seeds in BLOCKS:
        for seed in seeds:
            met.update(kinds_of(flock_of(seed, quiet=quiet)))
    assert len(met) == 9
    assert min(met.values()) >= 4, met


def kinds_of(flock: SmallFlock) -> Iterator[str]:
    """What a flock and its best response have in them."""
    answer = responder_of(flock).best()
    if answer is None:
        yield "none keeps all minimums"
        return
    if any(len(flock.after.homes(cock)) > 1 for cock in flock.after.cocks):
        yield "a cock stands in several pens"
    if flock.closed:
        yield "a pen is closed"
    if not answer.moved:
        yield "nobody is moved"
    yield from {_kind_of(flock, answer, *move) for move in answer.moved}


def _kind_of(flock: SmallFlock, answer: Answer, bird: str, pen: str | None) -> str:
    """What kind of move it is."""
    if bird in flock.before.diary.cocks:
        return "a standing cock takes over" if flock.before.homes(bird) else "a spare comes in"
    if pen is None:
        return "a hen must only leave"
    (cock,) = (one.cock for one in answer.pens if one.pen == pen)
    along = are_together(flock.after, bird, cock)
    return "a hen moves along with her cock" if along else "a hen joins another cock"


@pytest.mark.parametrize("start", range(0, 60, 20))
def test_without_moves_the_old_pens_are_left_without_the_lost_cock(start: int) -> None:
    """What they would have given, less his pen's, and his eggs of the next days."""
    compared_flocks = 0
    for seed in range(start, start + 20):
        flock = flock_of(seed, quiet=True)
        if flock.closed or not flock.lost.keys() <= flock.before.diary.cocks:
            continue
        found = responder_of(flock).best(0)
        if found is not None:
            compared_flocks += 1
            assert found.value == pytest.approx(left_over(flock), abs=CLOSE), seed
    assert compared_flocks > 3


def left_over(flock: SmallFlock) -> float:
    """The value of the pens whose cocks live, what all have laid, and the lost cocks' eggs."""
    before, after = Calendar(flock.season, flock.before), Calendar(flock.season, flock.after)
    parts: list[Candidate] = list(before.had())
    for pen, cock in before.cock_at.items():
        hens = frozenset(before.standing(pen))
        if cock in flock.lost:
            parts += [after.still[hen] for hen in hens if hen in after.still]
        else:
            days = PenDays(before, pen, cock, hens)
            parts += [one for hen in hens for pairs in days.pairs_of(hen) for one in pairs]
            parts += [before.still[hen] for hen in hens if hen in before.still]
    total = 0.0
    for goal in flock.season.problem.lines:
        worth = sum(part.value for part in parts if part.line == goal.line)
        beyond = min(max(worth - goal.chicks_wanted, 0.0), goal.chicks_wanted)
        total += goal.importance * (min(worth, goal.chicks_wanted) + beyond / 4)
    return total


def test_two_losses_of_one_morning_in_any_order_are_one() -> None:
    tried = 0
    for seed in range(60):
        flock = flock_of(seed, quiet=seed % 2 == 0)
        if len(flock.lost) < 2:
            continue
        tried += 1
        (one, when), (other, then), *_ = flock.lost.items()
        both = lose(flock.before, {one: when, other: then})
        last = lose(lose(flock.before, {other: then}), {one: when})
        assert lose(lose(flock.before, {one: when}), {other: then}) == both == last, seed
        values = [
            None if (found := responder_of(flock, after).best()) is None else found.value
            for after in (both, last)
        ]
        assert values[0] == pytest.approx(values[1]), seed
    assert tried > 10


def test_a_loss_and_a_closed_pen_in_any_order_are_one() -> None:
    flock = flock_of(0, quiet=True)
    (bird, pen), *_ = flock.before.pen_of.items()
    lost = {bird: flock.before.day - dt.timedelta(days=3)}
    both = lose(flock.before, lost, frozenset({pen}))
    assert lose(lose(flock.before, {}, frozenset({pen})), lost) == both


def test_a_bound_of_a_search_ended_early_still_holds() -> None:
    for seed in range(30):
        flock = flock_of(seed, quiet=True)
        best, near = responder_of(flock).best(), responder_of(flock).best(close=0.5, nodes=1)
        assert (best is None) == (near is None)
        if best is not None and near is not None:
            assert near.value - CLOSE <= best.value <= near.bound + CLOSE, seed


def test_eggs_of_a_former_pen_count_in_their_own_row() -> None:
    """H1 laid for Alder with C1 from 8 to 21 February; now she is in a pen for Birch only."""
    day = UP + dt.timedelta(days=30)
    kinds = tuple(
        PenKind(pens=(pen,), hens_max=3, hens_min=0, line=line, dam_known=True)
        for pen, line in (("P1", ""), ("P2", "Birch"))
    )
    problem = PlanProblem(
        candidates=(
            pair_of("H1", "C1", "back", "Alder", 6.0),
            pair_of("H1", "C2", "cross", "Birch", 6.0),
        ),
        kinds=kinds,
        cocks=tuple(CockLimit(cock=cock, hens_max=3, pens_max=1) for cock in ("C1", "C2")),
        lines=tuple(
            LineGoal(line=line, importance=1.0, chicks_wanted=9.0) for line in ("Alder", "Birch")
        ),
    )
    last = day + dt.timedelta(days=30)
    first = UP + dt.timedelta(days=7)
    season = SmallSeason(
        problem=problem, first=first, last=last, until=dict.fromkeys(("P1", "P2"), last)
    )
    moved = UP + dt.timedelta(days=20)
    stays = (
        Stay(bird="C1", pen="P1", first=UP),
        Stay(bird="C2", pen="P2", first=UP),
        Stay(bird="H1", pen="P1", first=UP, last=moved),
        Stay(bird="H1", pen="P2", first=moved + dt.timedelta(days=1)),
    )
    diary = Diary(stays=stays, cocks=frozenset({"C1", "C2"}), told_apart=frozenset({"P1", "P2"}))
    standing = Standing(day=day, diary=diary, pen_of={"C1": "P1", "C2": "P2", "H1": "P2"})
    assert diary.credit("H1", season.first, moved) == {"C1": 14.0}
    had = pose_response(season, standing).bank.had
    assert sum(one.value for one in had if one.line == "Alder") >= 1.4
