"""The fewest moves that mend the pens, on the day something is lost."""

from __future__ import annotations

import contextlib
import time
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from matchmaker.errors import SolverStoppedError, UsageError
from matchmaker.genetics.study import study_flock
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.rebalance.clock import Waits
from matchmaker.rebalance.eggs import PenEggs, SetEggs, eggs_to_come, in_the_incubator
from matchmaker.rebalance.losses import NODES, closeness
from matchmaker.rebalance.morning import in_quarantine, standing_pens, waits_of
from matchmaker.rebalance.orders import Order, orders_of
from matchmaker.rebalance.posing import Posed, pose_response, unmoved
from matchmaker.rebalance.responding import Responder
from matchmaker.rebalance.rows import is_tolerated
from matchmaker.rebalance.season import FlockSeason, judged_on
from matchmaker.rebalance.standing import Standing, lose
from matchmaker.rebalance.steps import Step, nobody_moved, proposed, steps_of, told_breaches
from matchmaker.tables.records import Status

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.verify import Score
    from matchmaker.plan.posing.problem import Candidate, Demand
    from matchmaker.plan.solvers.watch import Watch
    from matchmaker.rebalance.responding import Answer


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """What has happened: birds lost and pens closed on a day, birds that are at hand.

    ``most`` are the most moves wanted. ``set_mixed`` sets eggs of which two cocks may be the sire.
    ``clean_out`` is the wait after a cock in days, if it is not that of the settings.
    """

    day: dt.date
    lost: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()
    added: tuple[str, ...] = ()
    most: int | None = None
    set_mixed: bool = False
    clean_out: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LineAfter:
    """A line before and after: wanted chicks of the whole season, cocks and hens from now on."""

    line: str
    before: float
    after: float
    cocks: int
    hens: int
    had_hens: int

    @property
    def ended(self) -> bool:
        """Whether the line had hens with a cock and has none now."""
        return bool(self.had_hens) and not self.hens

    @property
    def on_one_cock(self) -> bool:
        """Whether all that the line still gets hangs on one cock."""
        return self.hens > 0 and self.cocks == 1


@dataclass(frozen=True, kw_only=True)
class Rebalance:
    """The answer to a loss.

    ``before`` is what the pens would have been worth without it, in wanted chicks of the season.
    ``steps`` tell the value for 0, 1, 2 … moves; ``chosen`` is the one of them that is proposed.
    ``dropped`` are wishes about birds or pens that are gone, ``broken`` what the season asks for
    and no response can keep. ``quarantined`` are birds that were added although their quarantine
    lasts, with its end if that is written. ``seconds`` is what the searches took.
    """

    loss: Loss
    table: PairTable
    season: FlockSeason
    standing: Standing
    whole: Standing
    posed: Posed
    before: float
    steps: tuple[Step, ...]
    chosen: Step
    lines: tuple[LineAfter, ...]
    orders: tuple[Order, ...]
    eggs: tuple[PenEggs, ...]
    incubator: tuple[SetEggs, ...]
    dropped: tuple[Demand, ...]
    broken: tuple[str, ...] = ()
    lost_from: Mapping[str, str] = field(default_factory=dict)
    quarantined: Mapping[str, dt.date | None] = field(default_factory=dict)
    seconds: float = 0.0

    @property
    def tolerated(self) -> tuple[Candidate, ...]:
        """Pairs that stand although a rule rejects them, or that are none for their pen."""
        pairs = (pair for pen in self.response.pens for pair in pen.pairs)
        return tuple(pair for pair in pairs if is_tolerated(self.season, pair))

    @property
    def kinship_left_out(self) -> bool:
        """Whether the settings limit or price the kinship of the parents as a group: not here."""
        return self.table.study.flock.settings.limits.minds_the_group

    @property
    def best(self) -> Step:
        """The best response, with as many moves as it takes."""
        return self.steps[-1]

    @property
    def response(self) -> Answer:
        """The response that is proposed."""
        return self.chosen.answer or nobody_moved(self.posed)

    @property
    def left_open(self) -> float:
        """What a response with as many moves as the proposed one could win more, at most."""
        answer = self.chosen.answer
        return 0.0 if answer is None else max(0.0, answer.bound - answer.value)

    @property
    def proved(self) -> bool:
        """Whether no response with so many moves is better than the proposed one."""
        return self.chosen.answer is None or self.chosen.answer.proved

    @property
    def lost_value(self) -> float:
        """Wanted chicks lost against the old plan, with the moves that are proposed."""
        return max(0.0, self.before - self.chosen.value)


def rebalance(table: PairTable, loss: Loss, *, watch: Watch | None = None) -> Rebalance:
    """The best responses to a loss, by the number of birds moved.

    Raises
    ------
    UsageError
        If a bird or pen is not known, no pens stand, or nothing is left of the season.
    InputError
        If by what is written a bird is in two pens, or two cocks are in one.
    SolverStoppedError
        If a search was stopped before there was a response.
    """
    study = _with_added(table.study, loss.added)
    flock = study.flock
    _check(flock, loss)
    waits = waits_of(flock)
    if loss.clean_out is not None:
        waits = Waits(clean_out=loss.clean_out, eggs_after=waits.eggs_after)
    whole = standing_pens(flock, loss.day, waits=waits)
    missing = {bird: day for bird, day in whole.missing.items() if bird not in loss.added}
    lost = missing | {bird: _last_day(flock, bird, loss.day) for bird in loss.lost}
    standing = lose(whole, lost, frozenset(loss.closed))
    judged = judged_on(_with_birds(study, [*whole.pen_of, *lost]), loss.day)
    season = FlockSeason(table=judged, gone=frozenset([*lost, *standing.quarantined]))
    was = pose_response(season, whole)
    before = _as_planned(was, written_ahead=bool(standing.undone))
    begun = time.perf_counter()
    posed = pose_response(season, standing, set_mixed=loss.set_mixed)
    responder, steps = steps_of(posed, loss.most, watch)
    chosen = _chosen(steps, loss, before.value)
    if chosen.answer is not None and chosen.moves:
        settled = responder.settled(chosen.answer, standing.ordered)
        better = replace(chosen, answer=settled, broken=told_breaches(posed, settled.pens))
        steps = tuple(better if step is chosen else step for step in steps)
        chosen = better
    answer = chosen.answer or nobody_moved(posed)
    return Rebalance(
        loss=loss,
        table=judged,
        season=season,
        standing=standing,
        whole=whole,
        posed=posed,
        before=before.value,
        steps=steps,
        chosen=chosen,
        lines=tuple(_lines(season, (was, before), posed, answer)),
        orders=orders_of(standing, posed, answer),
        eggs=eggs_to_come(standing, posed, answer, (season.first, season.last)),
        incubator=in_the_incubator(flock.tables.eggs, standing, flock.settings.pen_up),
        dropped=posed.dropped,
        broken=chosen.broken,
        quarantined=_in_quarantine(table, loss),
        seconds=time.perf_counter() - begun,
        lost_from={bird: whole.pen_of[bird] for bird in lost if bird in whole.pen_of},
    )


def _chosen(steps: tuple[Step, ...], loss: Loss, before: float) -> Step:
    """As many moves as were asked for, or those proposed; who is at hand now is to be used."""
    if loss.most is not None:
        return steps[-1]
    return proposed(steps, enough=None if loss.added else before)


def _in_quarantine(table: PairTable, loss: Loss) -> dict[str, dt.date | None]:
    """Added birds that should still be kept apart on that day."""
    birds = table.study.flock.by_band()
    records = {band: birds[band].record for band in loss.added}
    return {
        band: record.release_on
        for band, record in records.items()
        if in_quarantine(record, loss.day)
    }


def _last_day(flock: Flock, bird: str, day: dt.date) -> dt.date:
    """A lost bird's last day: as the books have it, if they do, and not later than today."""
    left = flock.by_band()[bird].record.left_on
    return day if left is None else min(left, day)


def _check(flock: Flock, loss: Loss) -> None:
    """Refuse what nobody can act on."""
    pens = [pen.pen for pen in flock.tables.pens]
    for pen in loss.closed:
        if pen not in pens:
            raise UsageError(f"there is no pen {pen} in pens.csv; there are {', '.join(pens)}")
    both = sorted(set(loss.lost) & set(loss.added))
    if both:
        raise UsageError(f"{both[0]} is both lost and added: leave one out")
    if loss.day > flock.settings.collect_until:
        raise UsageError(
            f"no more eggs are kept after {flock.settings.collect_until}, so nothing can be won by "
            "moving birds; if you go on, set collect_until under [year] in matchmaker.toml"
        )


def _with_added(study: Study, added: Iterable[str]) -> Study:
    """The study with birds at hand that the books keep out of the pens.

    Raises
    ------
    UsageError
        If the books say that a bird is gone.
    """
    chosen = frozenset(added)
    birds = study.flock.by_band()
    for band in sorted(chosen):
        if not birds[band].alive_here:
            raise UsageError(
                f"{band} cannot be added: birds.csv says {birds[band].record.status}; if it is at "
                "hand, mend its status there"
            )
    if not chosen:
        return study
    here = tuple(
        replace(bird, record=replace(bird.record, status=Status.BREEDER, release_on=None))
        if bird.band in chosen
        else bird
        for bird in study.flock.birds
    )
    return replace(study, flock=replace(study.flock, birds=here))


def _with_birds(study: Study, birds: Iterable[str]) -> Study:
    """The study with the kinship of birds that are gone, if theirs is not known yet."""
    wanted = set(birds)
    if wanted <= set(study.kinship.birds):
        return study
    return study_flock(study.flock, wanted)


def _as_planned(was: Posed, *, written_ahead: bool) -> Score:
    """What the pens would have been worth without the loss.

    Where moves were written for later, with the best ones: what was written was such.
    """
    stays = evaluate(was.problem, unmoved(was))
    if not written_ahead:
        return stays
    best = None
    with contextlib.suppress(SolverStoppedError):
        best = Responder(was.problem).best(close=closeness(stays.value), nodes=NODES)
    if best is None or best.value < stays.value:
        return stays
    return evaluate(was.problem, best.pens)


def _lines(
    season: FlockSeason, old: tuple[Posed, Score], posed: Posed, answer: Answer
) -> Iterable[LineAfter]:
    was, before = old
    then = {total.line: total for total in before.lines}
    for total in answer.lines:
        line = total.line
        pairs = (pair for pen in answer.pens for pair in pen.pairs if pair.line == line)
        own = [pair for pair in pairs if not is_tolerated(season, pair)]
        yield LineAfter(
            line=line,
            before=then[line].wanted + _banked(was, line),
            after=total.wanted + _banked(posed, line),
            cocks=len({pair.cock for pair in own}),
            hens=len({pair.hen for pair in own}),
            had_hens=then[line].hens,
        )


def _banked(posed: Posed, line: str) -> float:
    return sum(one.wanted for one in posed.bank.pairs if one.line == line)
