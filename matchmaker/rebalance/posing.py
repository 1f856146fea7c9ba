"""The planning problem of a day on which pens stand already and something is lost."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.flock.listing import natural
from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.posing.problem import Candidate, Moves, PlanProblem
from matchmaker.rebalance.banked import Bank, bank, still_laid
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.left import limits_left, tests_left, wishes_left, with_banked
from matchmaker.rebalance.rows import Rows
from matchmaker.rebalance.schedule import Entry, Opening, are_together, entry, opening

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.plan.posing.problem import CockLimit, Demand, LineGoal, PenKind
    from matchmaker.rebalance.season import Season
    from matchmaker.rebalance.standing import Standing


NET: Final = (
    "value",
    "wanted",
    "wanted_cocks",
    "wanted_hens",
    "sure_cocks",
    "sure_hens",
    "chicks",
    "test_chicks",
)
"""Of a pair, what sums up over its days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Posed:
    """The problem, what is banked, when each (hen, cock, turn) begins, and the wishes left out.

    ``asked`` are the lines' goals for the whole season, as the keeper has them.
    """

    problem: PlanProblem
    bank: Bank
    entries: Mapping[tuple[str, str, str], Entry]
    dropped: tuple[Demand, ...]
    asked: tuple[LineGoal, ...] = ()


def pose_response(season: Season, standing: Standing, *, set_mixed: bool = False) -> Posed:
    """Pose the problem of today's pens: who stays, who moves where, for the days that are left.

    A cock that stands in a pen stays there or takes over one that has lost its cock; one in no pen
    may take any that is free; nobody takes the pen of one who may stay. ``set_mixed`` sets eggs of
    which two cocks may be the sire.
    """
    pens = {
        pen: found for pen, found in season.pens(standing.day).items() if pen not in standing.closed
    }
    rows = Rows(season, standing, {pen: kind for pen, (kind, _) in pens.items()})
    kinds = tuple(_kinds(standing, pens))
    until = {pen: last for pen, (_, last) in pens.items()}
    banked = bank(season, standing, rows, until)
    poser = _Poser(season, standing, banked, (kinds, until), rows, set_mixed=set_mixed)
    candidates = tuple(poser.candidates())
    base = season.problem
    cocks = sorted({one.cock for one in candidates} | set(standing.cocks))
    kept, dropped = wishes_left(base, standing, candidates, banked)
    problem = PlanProblem(
        candidates=candidates,
        kinds=kinds,
        cocks=tuple(_limit_as_it_stands(season, standing, cock) for cock in cocks),
        lines=tuple(with_banked(goal, banked) for goal in base.lines),
        demands=kept,
        turns=(tuple(kind.turn for kind in kinds),),
        limits=limits_left(base.limits, standing, banked),
        tests=tuple(tests_left(base, candidates, banked)),
        carriers=base.carriers,
        moves=Moves(places=tuple(at for at in standing.places if at[1] in until)),
    )
    return Posed(
        problem=problem, bank=banked, entries=poser.entries, dropped=dropped, asked=base.lines
    )


def _kinds(standing: Standing, pens: Mapping[str, tuple[PenKind, dt.date]]) -> Iterator[PenKind]:
    """Each pen by itself, but those alike together in which nobody stands or stood of late."""
    stood = {stay.pen for stay in standing.diary.stays}
    alike: dict[tuple[object, ...], list[PenKind]] = {}
    for pen, (kind, last) in sorted(pens.items(), key=lambda item: natural(item[0])):
        today = _as_it_stands(standing, kind, pen)
        nature = replace(today, pens=(), turn=""), last, pen if pen in stood else ""
        alike.setdefault(nature, []).append(today)
    for same in alike.values():
        yield replace(same[0], pens=tuple(kind.pens[0] for kind in same))


def _as_it_stands(standing: Standing, kind: PenKind, pen: str) -> PenKind:
    """A pen with the number of hens that is in it allowed, be they too few or too many by now.

    Nobody is to be moved for a limit that the pens outgrew: that is no loss of today.
    """
    hens = len(standing.hens_in(pen))
    if standing.cock_in(pen) is None or not hens:
        return kind
    return replace(kind, hens_min=min(kind.hens_min, hens), hens_max=max(kind.hens_max, hens))


def _limit_as_it_stands(season: Season, standing: Standing, cock: str) -> CockLimit:
    """A cock's limit, but at least the hens and pens that he has."""
    limit, homes = season.limit(cock), standing.homes(cock)
    hens = sum(len(standing.hens_in(pen)) for pen in homes)
    return replace(
        limit, hens_max=max(limit.hens_max, hens), pens_max=max(limit.pens_max, len(homes))
    )


class _Poser:
    """Makes the candidates of a response, and notes when each would begin."""

    def __init__(
        self,
        season: Season,
        standing: Standing,
        banked: Bank,
        pens: tuple[Sequence[PenKind], Mapping[str, dt.date]],
        rows: Rows,
        *,
        set_mixed: bool,
    ) -> None:
        self.season, self.standing, self.banked = season, standing, banked
        kinds, self.until = pens
        self.set_mixed = set_mixed
        self.entries: dict[tuple[str, str, str], Entry] = {}
        self.rows = rows
        self._mixes: dict[tuple[str, str], bool] = {}
        self._opened: dict[tuple[str, str, bool], Opening] = {}
        self._free = [kind.turn for kind in kinds if standing.cock_in(kind.turn) is None]
        self._orphaned = [pen for pen in self._free if standing.left_by_cock(pen) is not None]

    def candidates(self) -> Iterator[Candidate]:
        """Every pair in every pen in which it may live."""
        standing = self.standing
        for (hen, cock), rows in self.season.pairs.items():
            if not {hen, cock} & (standing.lost.keys() | standing.apart):
                for pen in self._pens_for(hen, cock):
                    yield from self._joining(rows, pen)
        for hen, pen in standing.pen_of.items():
            here = None if hen in standing.diary.cocks else standing.cock_in(pen)
            if here is not None and pen in self.until:
                yield from self._staying(hen, here, pen)

    def _pens_for(self, hen: str, cock: str) -> Iterator[str]:
        """The pens in which a hen may join a cock: his, or one that he may get."""
        homes = self.standing.homes(cock)
        own = self.standing.pen_of.get(hen)
        for pen in (*homes, *(self._orphaned if homes else self._free)):
            together = pen in homes and pen == own
            if pen in self.until and not together and pen not in self.standing.infected:
                yield pen

    def _staying(self, hen: str, cock: str, pen: str) -> Iterator[Candidate]:
        """A hen that goes on with her cock, in the row that counts."""
        season, standing = self.season, self.standing
        one = self.rows.of(hen, cock)
        if one is None:
            return
        start = max(standing.day, season.first)
        amount = standing.diary.credit(hen, start, self.until[pen]).get(cock, 0.0)
        had = self.banked.before.get((hen, one.line), 0.0)
        yield self._net(season.part(one, amount, counted=had, pen=pen, kept=True))

    def _net(self, part: Candidate) -> Candidate:
        """A pair without what is banked of the same hen by the same cock in any case."""
        still = self.banked.still.get(part.hen)
        if still is None or (still.cock, still.line) != (part.cock, part.line):
            return part
        return replace(
            part, **{name: round(getattr(part, name) - getattr(still, name), 9) for name in NET}
        )

    def _joining(self, rows: Sequence[Candidate], pen: str) -> Iterator[Candidate]:
        """The rows of a pair that would begin in a pen, for the days that are then left."""
        hen, cock = rows[0].hen, rows[0].cock
        own = self.standing.pen_of.get(hen) == pen
        begins = self._entry(hen, cock, pen, at_once=own and self._at_once(cock, pen))
        for one in rows:
            part = self._part(one, pen, begins)
            if part.value > 0 or part.test_chicks > 0:
                self.entries[hen, cock, pen] = begins
                yield part

    def _entry(self, hen: str, cock: str, pen: str, *, at_once: bool) -> Entry:
        key = cock, pen, at_once
        if key not in self._opened:
            found = opening(self.standing, cock, pen, at_once=at_once)
            self._opened[key] = replace(found, closes=self.until[pen])
        return entry(self.standing, hen, cock, pen, at_once=at_once, opened=self._opened[key])

    def _part(self, one: Candidate, pen: str, begins: Entry) -> Candidate:
        """What a pair gives that begins so in a pen, beyond what is banked in any case."""
        still = self.banked.still.get(one.hen)
        first = max(begins.eggs_from, begins.hen_in, self.season.first)
        before = begins.mixed[1]
        together = are_together(self.standing, one.hen, one.cock)
        if together and self._is_doubtful(one, begins.hen_in):
            first = max(first, begins.hen_in + days(1))
        if together or (still is not None and still.cock == one.cock):
            if self._line_so_far(one) == one.line:
                before += self._before(one.hen, one.cock, begins)
            elif still is not None:
                kept = days(self.standing.diary.waits.kept + 1)
                first = max(first, self.standing.day + kept)  # till then they are for the old line
        amount = float(max(0, (self.until[pen] - first).days + 1)) + before
        if any(begins.mixed) and still is not None:
            return self._mixed(one, pen, amount, still, begins)
        return self._net(self.season.part(one, amount, counted=self._counted(one), pen=pen))

    def _is_doubtful(self, one: Candidate, day: dt.date) -> bool:
        """Whether an egg laid in the pen that a pair leaves on this day may be another cock's."""
        return one.cock not in self.standing.diary.credit(one.hen, day, day)

    def _line_so_far(self, one: Candidate) -> str | None:
        """The line for which eggs of a hen by a cock that she was with already are kept."""
        row = self.rows.of(one.hen, one.cock)
        return None if row is None else row.line

    def _before(self, hen: str, cock: str, begins: Entry) -> float:
        """Days before on which eggs of a hen that comes back, or along, are his anyway."""
        standing = self.standing
        first = max(standing.day, self.season.first)
        last = min(begins.hen_in - days(1), begins.eggs_from - days(1), self.season.last)
        if are_together(standing, hen, cock) and hen not in standing.evicted:
            last = begins.hen_in - days(1)
            old = standing.pen_of[hen]
            last = min(last, self.until.get(old, last))
            return standing.diary.credit(hen, first, last).get(cock, 0.0)
        return still_laid(standing, hen, cock, (first, last))

    def _at_once(self, cock: str, pen: str) -> bool:
        """Whether a cock joins a lost one's hens at once, their eggs being set as either's.

        Only where the chicks of either join one line, and where that is better for every hen than
        to wait until all eggs are one cock's.
        """
        if not self.set_mixed or self.standing.left_by_cock(pen) is None:
            return False
        if (cock, pen) not in self._mixes:
            self._mixes[cock, pen] = all(
                self._gains(one, pen)
                for hen in self.standing.hens_in(pen)
                for one in self.season.pairs.get((hen, cock), ())
            )
        return self._mixes[cock, pen]

    def _gains(self, one: Candidate, pen: str) -> bool:
        before = self.banked.still.get(one.hen)
        if before is None or before.line != one.line:
            return False
        at_once, later = (
            self._part(one, pen, self._entry(one.hen, one.cock, pen, at_once=now))
            for now in (True, False)
        )
        return at_once.value >= later.value

    def _mixed(
        self, one: Candidate, pen: str, amount: float, still: Candidate, begins: Entry
    ) -> Candidate:
        """What a pair gives whose eggs may be the former cock's for a while, by either of them.

        Those that would surely have been his are taken off: they are among the banked ones.
        """
        had = self.banked.before.get((one.hen, one.line), 0.0)
        former = self.season.part(still, begins.mixed[0], counted=had)
        own = self.season.part(one, amount, counted=had + former.wanted, pen=pen)
        return replace(
            own,
            **{
                name: round(getattr(own, name) + getattr(former, name) - getattr(still, name), 9)
                for name in NET
            },
        )

    def _counted(self, one: Candidate) -> float:
        """Wanted chicks that the hen has for the line already; where by this cock, so far only."""
        still = self.banked.still.get(one.hen)
        same = still is not None and still.cock == one.cock
        source = self.banked.before if same else self.banked.counted
        return source.get((one.hen, one.line), 0.0)


def unmoved(posed: Posed) -> tuple[PlannedPen, ...]:
    """The pens if nobody is moved: who stays with whom; those that broke up are left out.

    Of several rows open to a pair the best counts; where eggs are not told apart, of those that
    the hens of the pen can share.
    """
    told = {pen for kind in posed.problem.kinds if kind.dam_known for pen in kind.pens}
    staying: dict[tuple[str, str], list[Candidate]] = {}
    for one in posed.problem.candidates:
        if one.kept:
            staying.setdefault((one.turn, one.cock), []).append(one)
    found = []
    for (pen, cock), pairs in sorted(staying.items(), key=lambda item: natural(item[0][0])):
        groups: dict[tuple[str, str], list[Candidate]] = {}
        for one in pairs:
            groups.setdefault(("", "") if pen in told else (one.row, one.line), []).append(one)
        chosen = max(map(_best_rows, groups.values()), key=lambda own: sum(p.value for p in own))
        found.append(PlannedPen(pen=pen, cock=cock, pairs=chosen, turn=pen))
    return tuple(found)


def _best_rows(pairs: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """The best row of each hen, hens in order of their bands."""
    best: dict[str, Candidate] = {}
    for one in pairs:
        if one.hen not in best or one.value > best[one.hen].value:
            best[one.hen] = one
    return tuple(best[hen] for hen in sorted(best, key=natural))
