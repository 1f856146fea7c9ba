"""What holds of every answer to a loss, over folders drawn at random: the steps, what is written.

All birds and dates are invented.
"""

from __future__ import annotations

import datetime as dt
import random
import tempfile
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from matchmaker import verbs
from matchmaker.plan.arithmetic.moved import hens_left
from matchmaker.rebalance.morning import standing_pens
from matchmaker.rebalance.rebalancing import Loss, rebalance
from matchmaker.report.rebalance_moves import moves_amendment
from matchmaker.report.stays import pen_up_amendment, pen_up_moves
from tests.builders import cock, dna, hen, write_flock
from tests.one_table import amend_table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.rebalance.rebalancing import Rebalance
    from tests.builders import Row

NEAR = 1e-6
UP = dt.date(2027, 2, 1)
YEAR = "[year]\npen_up = 2027-02-01\ncollect_from = 2027-02-08\ncollect_until = 2027-04-18\n"
ALDER = "sussex:0.5|araucana:0.5"
QUICK = settings(max_examples=10, deadline=None, derandomize=True)
SEEDS = st.integers(0, 200)


@dataclass(frozen=True)
class Lossy:
    """The tables of a flock in pens, and what happens to it."""

    birds: list[Row]
    pens: list[Row]
    moves: list[Row]
    settings: str
    loss: Loss

    def write(self, path: Path) -> Path:
        """Write the folder."""
        seen = [dna(one["bird"], "O", 1) for one in self.birds if one["line"] == "Alder"]
        return write_flock(
            path, self.birds, self.settings, pens=self.pens, moves=self.moves, seen=seen
        )


def lossy_by_seed(seed: int, *, several: bool = False) -> Lossy:
    """Two to four pens of which two have a cock; some hens came of late, some birds are lost.

    No two pens are alike: see the test of those. A cock stands in one pen; one has two where
    ``several`` is said.
    """
    rng = random.Random(f"folder {seed}")  # noqa: S311
    day = UP + dt.timedelta(days=rng.randint(9, 60))
    cocks = [cock(f"S{n}") for n in range(rng.randint(2, 3))]
    cocks += [cock(f"A{n}", "Alder", ALDER) for n in range(rng.randint(1, 2))]
    hens = [hen(f"H{n}") for n in range(rng.randint(3, 6))]
    hens += [hen(f"K{n}", "Alder", ALDER) for n in range(rng.randint(1, 3))]
    names = ["Yard", "Orchard", "Coop", "Barn"][: rng.randint(2, 4)]
    pens: list[Row] = [
        {
            "pen": pen,
            "hens_max": str(room),
            "dam_known": rng.choice(("yes", "no")),
            "until": rng.choice(("", "", "2027-04-10")),
        }
        for pen, room in zip(names, rng.sample(range(2, 6), len(names)), strict=True)
    ]
    standing = rng.sample([one["bird"] for one in cocks], 2)
    if several and len(names) > 2:
        standing.append(standing[0])
    moves = [_stay(his, pen) for his, pen in zip(standing, names, strict=False)]
    penned = rng.sample([one["bird"] for one in hens], 3)
    for place, one in enumerate(penned):
        moves += _stays_of(rng, one, names[place % len(standing)], names[0], day)
    lost = [rng.choice(standing), *rng.sample(penned, rng.choice((0, 0, 1)))]
    shut = rng.sample(names, rng.choice((0, 0, 0, 1)))
    needs = (
        f"[lines.Pure]\nchicks_wanted = {rng.randint(20, 80)}\nfamilies = 3\n"
        f"hens_min = {rng.choice((0, 0, 2))}\n"
        f"[lines.Alder]\nchicks_wanted = {rng.randint(10, 50)}\nfamilies = 2\n"
        f"[limits]\nclean_out_days = {rng.choice((14, 21, 28))}\n"
        f"pens_per_cock = {2 if several else 1}\n"
    )
    loss = Loss(day=day, lost=tuple(lost), closed=tuple(shut))
    return Lossy([*cocks, *hens], pens, moves, YEAR + needs, loss)


def _stays_of(rng: random.Random, hen: str, pen: str, other: str, day: dt.date) -> list[Row]:
    """A hen's stay, or two: some were moved in the last week."""
    came = day - dt.timedelta(days=rng.randint(1, 8))
    if pen == other or rng.random() < 0.7:
        return [_stay(hen, pen)]
    return [_stay(hen, other, UP, came), _stay(hen, pen, came)]


def _stay(bird: str, pen: str, first: dt.date = UP, last: dt.date | None = None) -> Row:
    ends = {"moved_in": str(first), "moved_out": str(last or "")}
    return {"bird": bird, "pen": pen, **ends}


@cache
def answered(seed: int, *, several: bool = False) -> Rebalance:
    flock = lossy_by_seed(seed, several=several)
    with tempfile.TemporaryDirectory() as name:
        return rebalance(verbs.pairs(flock.write(Path(name))), flock.loss)


def places_after(answer: Rebalance) -> set[tuple[str, str]]:
    """Where everybody stands when all is done, by the response alone."""
    response = answer.response
    moved = {bird for bird, _ in response.moved}
    held = {(pen.cock, pen.pen) for pen in response.pens}
    stay = {at for at in answer.standing.places if at[0] not in moved or at in held}
    return stay | {(bird, pen) for bird, pen in response.moved if pen is not None}


@QUICK
@given(SEEDS)
def test_more_moves_are_worth_more_and_nothing_is_done_before_the_loss(seed: int) -> None:
    answer = answered(seed)
    values = [step.value for step in answer.steps if step.answer is not None]
    moves = [step.moves for step in answer.steps]
    assert all(low <= high + NEAR for low, high in pairwise(values))
    assert moves == sorted(set(moves))
    assert answer.chosen in answer.steps
    assert answer.broken == answer.chosen.broken
    assert answer.best is answer.steps[-1]
    assert all(order.day >= answer.loss.day for order in answer.orders)
    assert {order.bird for order in answer.orders if order.enters} == {
        bird for bird, pen in answer.response.moved if pen
    }
    for order in answer.orders:
        assert order.out_on is None or order.in_on is None or order.out_on <= order.in_on
        assert order.bird not in answer.standing.lost
        assert order.enters not in answer.loss.closed


@QUICK
@given(SEEDS)
def test_what_is_written_is_sound_and_comes_to_the_response(seed: int) -> None:
    answer = answered(seed)
    assume(any(pen.pairs for pen in answer.response.pens))
    assume(not moves_amendment(answer).empty)
    written_is_sound(lossy_by_seed(seed))


@pytest.mark.parametrize("seed", [3, 6, 14])
def test_a_cock_that_takes_a_second_pen_keeps_his_own(seed: int) -> None:
    written_is_sound(lossy_by_seed(seed, several=True))


def test_a_spare_may_take_either_of_two_empty_pens_that_are_alike() -> None:
    """S1 dies; S2 or S3 comes into the Coop or the Barn, in which nobody ever stood."""
    birds = [*(cock(f"S{n}") for n in range(1, 4)), *(hen(f"H{n}") for n in range(1, 10))]
    birds.append(hen("K1", "Alder", ALDER))
    pens: list[Row] = [{"pen": pen, "hens_max": "3"} for pen in ("Yard", "Coop", "Barn")]
    moves = [_stay(one, "Yard") for one in ("S1", "H1")]
    needs = "[lines.Pure]\nchicks_wanted = 200\nfamilies = 4\n"
    loss = Loss(day=dt.date(2027, 3, 1), lost=("S1",))
    written_is_sound(Lossy(birds, pens, moves, YEAR + needs, loss))


def test_what_cannot_be_kept_is_told_in_the_numbers_of_the_keeper() -> None:
    """He asks for 30 chicks, or for 500; of those on their way none are taken off what is told."""
    birds = [*(cock(f"S{n}") for n in range(1, 4)), *(hen(f"H{n}") for n in range(1, 6))]
    birds.append(hen("K1", "Alder", ALDER))
    moves = [_stay(one, "Yard") for one in ("S1", "H1", "H2")]
    loss = Loss(day=dt.date(2027, 3, 10), lost=("S1",))
    for least in (30, 500):
        needs = f"[lines.Pure]\nchicks_wanted = 600\nfamilies = 1\nwanted_min = {least}\n"
        flock = Lossy(birds, [{"pen": "Yard", "hens_max": "5"}], moves, YEAR + needs, loss)
        with tempfile.TemporaryDirectory() as name:
            answer = rebalance(verbs.pairs(flock.write(Path(name))), loss)
        assert answer.broken == answer.chosen.broken
        (goal,) = (one for one in answer.posed.problem.lines if one.line == "Pure")
        assert 0 < goal.wanted_min < least - 10, "some are on their way"
        if least == 30:
            assert answer.broken == ()
        else:
            (words,) = answer.broken
            assert "at least 500" in words
            assert all(step.broken for step in answer.steps)


def test_stays_of_a_later_turn_of_a_pen_stand_as_they_were_written() -> None:
    """Two cocks in succession in the Yard, to 7 March and from then on; that of the Orchard dies.

    Nobody is lost in the Yard: what its two turns say stays to the letter, whoever else moves.
    """
    birds = [*(cock(f"S{n}") for n in range(1, 5)), *(hen(f"H{n}") for n in range(1, 10))]
    pens: list[Row] = [
        {"pen": "Yard", "hens_max": "3", "until": "2027-03-07"},
        {"pen": "Yard", "hens_max": "3", "from": "2027-03-08", "until": "2027-04-10"},
        {"pen": "Orchard", "hens_max": "4"},
    ]
    needs = "[lines.Pure]\nchicks_wanted = 200\nfamilies = 4\ncocks_min = 3\n"
    with tempfile.TemporaryDirectory() as name:
        folder = write_flock(Path(name), birds, YEAR + needs, pens=pens)
        plan = verbs.plan(verbs.pairs(folder))
        written = pen_up_amendment(plan, pen_up_moves(plan))
        amend_table(folder, "moves", written, verbs.check(folder).tables)
        before = verbs.check(folder).tables
        (lost,) = {pen.cock for pen in plan.pens if pen.pen == "Orchard"}
        answer = rebalance(verbs.pairs(folder), Loss(day=dt.date(2027, 2, 20), lost=(lost,)))
        amend_table(folder, "moves", moves_amendment(answer), before)
        after = verbs.check(folder)
    later = [move for move in before.moves if move.moved_in == dt.date(2027, 3, 8)]
    assert {move.pen for move in later} == {"Yard"}
    assert {move.moved_out for move in later} == {dt.date(2027, 4, 10)}
    assert len(later) > 1
    assert answer.standing.undone == ()
    assert answer.orders, "somebody is moved"
    moved = {order.bird for order in answer.orders}
    now = {(m.bird, m.pen, m.moved_in, m.moved_out) for m in after.tables.moves}
    assert after.faults == ()
    for move in before.moves:
        if move in later or move.bird not in moved | {lost}:
            assert (move.bird, move.pen, move.moved_in, move.moved_out) in now


def written_is_sound(flock: Lossy) -> None:
    """Write the answer to a loss; nothing new is doubted, and the pens come to what it says."""
    with tempfile.TemporaryDirectory() as name:
        folder = flock.write(Path(name))
        before = verbs.check(folder)
        answer = rebalance(verbs.pairs(folder), flock.loss)
        amend_table(folder, "moves", moves_amendment(answer), before.tables)
        after = verbs.check(folder)
        table = verbs.pairs(folder)
    assert after.faults == before.faults == ()
    kinds = {doubt.kind for doubt in after.doubts}
    assert not kinds & {"two-pens-at-once", "two-cocks-at-once"}, after.doubts
    older = {"long-unseen"}  # the newest day is later now, and some were last told of two years ago
    assert kinds <= {doubt.kind for doubt in before.doubts} | older
    done = max([flock.loss.day, *_days(answer)]) + dt.timedelta(days=1)
    stand = standing_pens(table.study.flock, done)
    assert set(stand.places) == places_after(answer)
    for pen in answer.response.pens:
        assert stand.cock_in(pen.pen) == pen.cock
        assert set(stand.hens_in(pen.pen)) == {pair.hen for pair in pen.pairs}
    left = hens_left(answer.posed.problem, answer.response.pens)
    assert all(stand.cock_in(stand.pen_of[hen]) is None for hen in left)


def _days(answer: Rebalance) -> Iterator[dt.date]:
    for order in answer.orders:
        yield from (day for day in (order.out_on, order.in_on) if day is not None)
