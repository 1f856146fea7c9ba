"""A plan made by hand: what it is worth beside the best, and what it breaks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.pairs.rules import Rule
from matchmaker.plan.arithmetic.result import LineTotal, PlannedPen
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.pedigree_terms import group_kinship
from matchmaker.plan.posing.pose import cock_limit, pose_problem
from matchmaker.plan.posing.terms import season_terms

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from matchmaker.plan.posing.terms import SeasonTerms
    from matchmaker.plan.posing.turns import Turn
    from matchmaker.tables.records import PlanRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanScore:
    """Value in wanted chicks, totals per line, the pairs that rules reject, and other breaches."""

    value: float
    lines: tuple[LineTotal, ...]
    rejected: tuple[Pair, ...]
    broken: tuple[str, ...]
    hens: int


def score_plan(table: PairTable, rows: Sequence[PlanRecord]) -> PlanScore:
    """Score the pens written in ``rows``.

    Pairs that no row opens, and pairs of birds that are gone, count nothing.
    """
    pairs = [_entry(table, row) for row in rows]
    pens = tuple(_pens(table, rows, pairs))
    score = evaluate(_problem(table, pens), pens)
    return PlanScore(
        value=score.value,
        lines=score.lines,
        rejected=tuple(pair for pair in pairs if not pair.allowed),
        broken=score.broken,
        hens=len(rows),
    )


def _problem(table: PairTable, pens: Sequence[PlannedPen]) -> PlanProblem:
    """The season's problem with the written pairs let in: why they are rejected is told apart."""
    problem = pose_problem(table, fresh=True)
    flock = table.study.flock
    birds = flock.by_band()
    limited = {limit.cock for limit in problem.cocks}
    extra = sorted({pen.cock for pen in pens} - limited)
    limits = tuple(cock_limit(birds[cock], flock.settings) for cock in extra)
    candidates = (*problem.candidates, *(pair for pen in pens for pair in pen.pairs))
    parents = {bird for pair in candidates for bird in (pair.hen, pair.cock)}
    return replace(
        problem,
        candidates=candidates,
        cocks=(*problem.cocks, *limits),
        group=group_kinship(table.study, sorted(parents)) if parents else None,
    )


def _entry(table: PairTable, row: PlanRecord) -> Pair:
    """The pair in the row whose chicks join the line written, else where it is worth most."""
    entries = table.by_birds[row.hen, row.cock]
    meant = [pair for pair in entries if pair.line == row.line] or list(entries)
    return max(meant, key=lambda pair: (pair.allowed, pair.value or 0.0))


def _candidate(terms: SeasonTerms, pair: Pair, turn: Turn) -> Candidate:
    """The pair as it counts: birds that are gone raise no chicks."""
    gone = any(broken.final and broken.rule is Rule.NOT_AVAILABLE for broken in pair.broken)
    return terms.candidate(replace(pair, chicks=0.0) if gone else pair, turn, kept=False)


def _pens(
    table: PairTable, rows: Sequence[PlanRecord], pairs: Sequence[Pair]
) -> Iterator[PlannedPen]:
    """The pens as written; of a pen with several turns its first is meant."""
    terms = season_terms(table)
    turns = {pen: turn for turn in reversed(terms.turns) for pen in terms.pens_of(turn)}
    held: dict[tuple[str, str], list[Candidate]] = {}
    for row, pair in zip(rows, pairs, strict=True):
        turn = turns.get(row.pen, terms.turns[0])
        held.setdefault((row.pen, row.cock), []).append(_candidate(terms, pair, turn))
    for (pen, cock), candidates in sorted(held.items()):
        ordered = tuple(sorted(candidates, key=lambda candidate: candidate.hen))
        yield PlannedPen(pen=pen, cock=cock, pairs=ordered, turn=ordered[0].turn)
