"""Rejected pairs of a flock as what a loosened rule might let in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.pairs.rules import Rule
from matchmaker.pairs.table import judge_pairs
from matchmaker.plan.no_plan.closed_rows import ClosedRow, assumed_rows, closed_rows
from matchmaker.plan.no_plan.loosened import (
    KINSHIP_MOST,
    Extra,
    Kind,
    Loosenable,
    Loosening,
    Need,
    round_down,
    round_up,
)
from matchmaker.plan.no_plan.repair_edits import NEW_PEN, new_pen_size
from matchmaker.plan.posing.pose import cock_limit, rows_for
from matchmaker.plan.posing.problem import PenKind
from matchmaker.plan.posing.terms import season_terms

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.scheme_settings import MatingSettings

KINSHIP_DIGITS: Final = 3
"""Digits in which a cap on kinship is written."""

PROOF_DIGITS: Final = 2
"""Digits in which a least chance is written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Openings:
    """What might be let in, and for each closed row the rows to write that open it."""

    loosenable: Loosenable
    rows: Mapping[str, tuple[MatingSettings, ...]]


def openings(table: PairTable, problem: PlanProblem) -> Openings:
    """The problem of a flock with its rejected pairs, closed rows and pens to spare.

    Left out is what no loosened rule puts right: birds that are gone, at rest, too young or unfit,
    lethal chicks, pairs without any wanted chick, kinship above that of full sibs.
    """
    closed = closed_rows(table)
    assumed = assumed_rows(table)
    opened = _with_rows(table, assumed, closed)
    by_name = {row.name: row for row in closed}
    extras = tuple(_extras(table, opened, problem, by_name))
    birds = table.study.flock.by_band()
    settings = table.study.flock.settings
    cocks = sorted({extra.candidate.cock for extra in extras})
    return Openings(
        loosenable=Loosenable(
            problem=problem,
            extras=extras,
            pens=tuple(_spare_pens(table, problem)),
            cocks=tuple(cock_limit(birds[cock], settings) for cock in cocks),
            some=not problem.candidates,
        ),
        rows={row.name: (*assumed, row.row) for row in closed},
    )


def _with_rows(
    table: PairTable, assumed: tuple[MatingSettings, ...], closed: tuple[ClosedRow, ...]
) -> PairTable:
    """Every pair judged with all rows open."""
    if not closed:
        return table
    flock = table.study.flock
    matings = (*flock.settings.matings, *assumed, *(row.row for row in closed))
    settings = flock.settings.model_copy(update={"matings": matings})
    return judge_pairs(replace(table.study, flock=replace(flock, settings=settings)))


def _extras(
    table: PairTable, opened: PairTable, problem: PlanProblem, closed: Mapping[str, ClosedRow]
) -> Iterator[Extra]:
    known = {one.key for one in problem.candidates}
    allowed = {
        (pair.hen, pair.cock, pair.crossing and pair.crossing.name) for pair in table.allowed
    }
    terms = season_terms(opened)
    for pair in opened.pairs:
        crossing = pair.crossing
        if crossing is None or crossing.tests is not None:
            continue
        if pair.key in allowed:
            continue
        needs = _needs(table, pair)
        if needs is None:
            continue
        if crossing.name in closed:
            needs = (*needs, (Need(rule=Loosening(kind=Kind.ROW, subject=crossing.name)),))
        apart = any(one.rule is Rule.WISHED_APART for one in pair.broken)
        for turn in terms.turns:
            candidate = terms.candidate(pair, turn, kept=False)
            if candidate.key not in known and needs:
                yield Extra(candidate=candidate, needs=needs, allowable=not apart)


def _needs(table: PairTable, pair: Pair) -> tuple[tuple[Need, ...], ...] | None:
    """What would have to be loosened for a pair; ``None`` if nothing would help."""
    found: list[tuple[Need, ...]] = []
    for broken in pair.broken:
        needs = needs_of(table, pair, broken)
        if not needs:
            return None
        found.append(needs)
    return tuple(dict.fromkeys(found))


def needs_of(table: PairTable, pair: Pair, broken: Broken) -> tuple[Need, ...]:
    """Rules of which one has to be loosened, how far, for a pair to pass; none where none helps."""
    measured, limit = broken.measured or 0.0, broken.limit or 0.0
    if broken.rule is Rule.TOO_RELATED:
        return tuple(_caps(table, pair, limit))
    if broken.rule is Rule.UNPROVEN:
        to = round_down(measured, PROOF_DIGITS)
        return (_least(Kind.PROOF, limit, to),) if to > 0 else ()
    if broken.rule is Rule.NO_WANTED_CHICKS:
        to = _below(measured)
        return (_least(Kind.CHANCE, limit, to),) if to > 0 else ()
    if broken.rule is Rule.WISHED_APART:
        subject = f"{pair.hen} {pair.cock}"
        return (Need(rule=Loosening(kind=Kind.APART, subject=subject)),)
    return ()


def _below(chance: float) -> float:
    """The greatest limit that lies below a chance, in the digits in which limits are written.

    >>> _below(0.0204), _below(0.02)
    (0.02, 0.019)
    """
    to = round_down(chance, KINSHIP_DIGITS)
    return to if to < chance else round(to - 10.0**-KINSHIP_DIGITS, KINSHIP_DIGITS)


def _caps(table: PairTable, pair: Pair, cap: float) -> Iterator[Need]:
    """The cap of the line that the chicks join, or the flock's where the line has none."""
    to = round_up(pair.kinship, KINSHIP_DIGITS)
    if to > KINSHIP_MOST or pair.line is None:
        return
    lines = [pair.line]
    if table.study.flock.settings.line(pair.line).kinship_max is None:
        lines.append("")
    for line in lines:
        rule = Loosening(kind=Kind.KINSHIP, subject=line, now=cap, most=KINSHIP_MOST)
        yield Need(rule=rule, to=to)


def _least(kind: Kind, limit: float, to: float) -> Need:
    return Need(rule=Loosening(kind=kind, now=limit, most=0.0), to=to)


def _spare_pens(table: PairTable, problem: PlanProblem) -> Iterator[PenKind]:
    """Pens that are closed; where none is, one more of the largest size."""
    if len({turn for turns in problem.turns for turn in turns}) > 1:
        return
    ((turn,),) = problem.turns
    pens = table.study.flock.tables.pens
    closed = [pen for pen in pens if not pen.open and not (pen.first_day or pen.last_day)]
    for pen in closed:
        yield PenKind(
            pens=(pen.pen,),
            hens_max=pen.hens_max,
            hens_min=pen.hens_min,
            line=pen.line,
            rows=rows_for(table, pen.use),
            dam_known=pen.dam_known,
            turn=turn,
        )
    if not closed and all(pen.pen != NEW_PEN for pen in pens):
        yield PenKind(
            pens=(NEW_PEN,),
            hens_max=new_pen_size(table),
            hens_min=1,
            line="",
            dam_known=False,
            turn=turn,
        )
