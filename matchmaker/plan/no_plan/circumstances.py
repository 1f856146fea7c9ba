"""The numbers around a clash: who could be paired in which row, what is rejected by how much."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.pairs.rules import Rule
from matchmaker.plan.posing.problem import NO_ROWS, BirdInPen

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import PlanProblem


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejected:
    """So many pairs rejected by one rule, with the range of what was measured and the limit."""

    rule: Rule
    pairs: int
    low: float | None
    high: float | None
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RowNumbers:
    """One row of a line: its birds that could breed, its pairs, and what rejects how many.

    ``away`` are the birds that a rule rejects whatever their mate, by rule. ``pairs`` are those
    of the birds that could breed.
    """

    row: str
    line: str
    hens: tuple[str, ...]
    cocks: tuple[str, ...]
    away: tuple[tuple[Rule, int], ...]
    pairs: int
    allowed: int
    rejected: tuple[Rejected, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """The rows of the lines concerned, the pens that wishes name, and all pens with their places.

    ``idle`` of the pens are kept for matings of which no row is open. ``named`` are (pen, most
    hens, least hens). ``unrowed`` are pairs of birds that could breed between whose lines no row is
    open.
    """

    rows: tuple[RowNumbers, ...]
    pens: int
    idle: int
    places: int
    cocks: int
    hens: int
    named: tuple[tuple[str, int, int], ...]
    unrowed: int


def circumstances(table: PairTable, problem: PlanProblem, conflict: Sequence[str]) -> Circumstances:
    """The numbers around what clashes: of the lines it names, of all where no pair is allowed."""
    lines = {goal.line for goal in problem.lines if any(_names(goal.line, one) for one in conflict)}
    everything = not problem.candidates
    by_row: dict[str, list[Pair]] = defaultdict(list)
    unrowed = 0
    for pair in table.pairs:
        if pair.crossing is None:
            unrowed += not _away(table, pair)
        elif pair.crossing.tests is None and (everything or pair.line in lines):
            by_row[pair.crossing.name].append(pair)
    return Circumstances(
        rows=tuple(_row(table, row, pairs) for row, pairs in sorted(by_row.items())),
        pens=sum(len(kind.pens) for kind in problem.kinds),
        idle=sum(len(kind.pens) for kind in problem.kinds if kind.rows == NO_ROWS),
        places=sum(len(kind.pens) * kind.hens_max for kind in problem.kinds),
        cocks=len({pair.cock for pair in table.allowed}),
        hens=len({pair.hen for pair in table.allowed}),
        named=tuple(_named_pens(problem, conflict)),
        unrowed=unrowed if by_row else 0,
    )


def _named_pens(problem: PlanProblem, conflict: Sequence[str]) -> Iterator[tuple[str, int, int]]:
    pens = {
        demand.pen
        for demand in problem.demands
        if isinstance(demand, BirdInPen) and demand.name in conflict
    }
    for kind in problem.kinds:
        for pen in kind.pens:
            if pen in pens:
                yield (pen, kind.hens_max, max(1, kind.hens_min))


def _names(line: str, requirement: str) -> bool:
    """Whether a requirement is about a line: its name starts with it, a word long."""
    return requirement.startswith((f"line {line}:", f"line {line} "))


def _away(table: PairTable, pair: Pair) -> bool:
    return bool(table.of_birds.get(pair.hen) or table.of_birds.get(pair.cock))


def _row(table: PairTable, row: str, pairs: list[Pair]) -> RowNumbers:
    there = [pair for pair in pairs if not _away(table, pair)]
    birds = {bird for pair in pairs for bird in (pair.hen, pair.cock)}
    away: dict[Rule, int] = defaultdict(int)
    for bird in birds:
        for rule in {broken.rule for broken in table.of_birds.get(bird, ())}:
            away[rule] += 1
    return RowNumbers(
        row=row,
        line=pairs[0].line or "",
        hens=tuple(sorted({pair.hen for pair in there})),
        cocks=tuple(sorted({pair.cock for pair in there})),
        away=tuple(sorted(away.items())),
        pairs=len(there),
        allowed=sum(pair.allowed for pair in there),
        rejected=tuple(_rejected(there)),
    )


def _rejected(pairs: list[Pair]) -> Iterator[Rejected]:
    """What rejects how many of these pairs, the rule that rejects most first."""
    by_rule: dict[Rule, list[Broken]] = defaultdict(list)
    for pair in pairs:
        if pair.allowed:
            continue
        rules = dict.fromkeys(broken.rule for broken in pair.broken)
        if Rule.UNPROVEN in rules:
            rules.pop(Rule.NO_WANTED_CHICKS, None)  # follows from it
        for rule in rules:
            of_rule = [broken for broken in pair.broken if broken.rule is rule]
            by_rule[rule].append(max(of_rule, key=lambda one: abs(one.measured or 0.0)))
    for rule, found in sorted(by_rule.items(), key=lambda item: (-len(item[1]), item[0])):
        measured = [one.measured for one in found if one.measured is not None]
        yield Rejected(
            rule=rule,
            pairs=len(found),
            low=min(measured, default=None),
            high=max(measured, default=None),
            limit=found[0].limit,
        )
