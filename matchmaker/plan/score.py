"""A plan made by hand: what it is worth beside the best, and what it breaks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.plan.pose import as_candidate, pose_problem
from matchmaker.plan.result import LineTotal, PlannedPen
from matchmaker.plan.verify import evaluate

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.problem import Candidate
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
    """Score the pens written in ``rows``; pairs that no row opens count nothing."""
    pairs = [_entry(table, row) for row in rows]
    pens = tuple(_pens(rows, pairs))
    score = evaluate(pose_problem(table, fresh=True), pens)
    return PlanScore(
        value=score.value,
        lines=score.lines,
        rejected=tuple(pair for pair in pairs if not pair.allowed),
        broken=score.broken,
        hens=len(rows),
    )


def _entry(table: PairTable, row: PlanRecord) -> Pair:
    """The pair in the row whose chicks join the line written, else where it is worth most."""
    entries = table.by_birds[row.hen, row.cock]
    meant = [pair for pair in entries if pair.line == row.line] or list(entries)
    return max(meant, key=lambda pair: (pair.allowed, pair.value or 0.0))


def _pens(rows: Sequence[PlanRecord], pairs: Sequence[Pair]) -> Iterator[PlannedPen]:
    held: dict[tuple[str, str], list[Candidate]] = {}
    for row, pair in zip(rows, pairs, strict=True):
        held.setdefault((row.pen, row.cock), []).append(as_candidate(pair, kept=False))
    for (pen, cock), candidates in sorted(held.items()):
        ordered = tuple(sorted(candidates, key=lambda candidate: candidate.hen))
        yield PlannedPen(pen=pen, cock=cock, pairs=ordered)
