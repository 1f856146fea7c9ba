"""The best plan by trying every assignment of hens and every way to put them into pens."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

from matchmaker.plan.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.problem import Candidate, Demand, PenKind, PlanProblem

Pairs = tuple["Candidate", ...]
Pens = dict[str, list["Candidate"]]


def best_by_enumeration(problem: PlanProblem) -> float | None:
    """Return the value of the best plan, or ``None`` where there is none."""
    hens = sorted({one.hen for one in problem.candidates})
    choices = [[None, *(one for one in problem.candidates if one.hen == hen)] for hen in hens]
    plans = [tuple(one for one in plan if one is not None) for plan in product(*choices)]
    plans = [plan for plan in plans if _fits_birds_and_lines(problem, plan)]
    plans.sort(key=lambda plan: -value_of(problem, plan))
    seen: dict[object, bool] = {}
    for plan in plans:
        key: object = (
            plan if problem.demands else tuple(sorted((p.cock, p.row, p.line) for p in plan))
        )
        if key not in seen:
            seen[key] = next(placements(problem, plan), None) is not None
        if seen[key]:
            return value_of(problem, plan)
    return None


def value_of(problem: PlanProblem, plan: Pairs) -> float:
    """Return importance times what each line counts, less 0.05 a pair."""
    total = 0.0
    for goal in problem.lines:
        worth = sum(pair.value for pair in plan if pair.line == goal.line)
        need = goal.chicks_wanted
        if worth <= need:
            counted = worth
        elif worth <= 2 * need:
            counted = need + (worth - need) / 4
        else:
            counted = need + need / 4
        total += goal.importance * counted
    return total - 0.05 * len(plan)


def placements(problem: PlanProblem, plan: Pairs) -> Iterator[Pens]:
    """Yield every way to put the pairs into pens that keeps all rules of pens and demands."""
    kinds = {pen: kind for kind in problem.kinds for pen in kind.pens}
    pens_max = {limit.cock: limit.pens_max for limit in problem.cocks}
    pens: Pens = {pen: [] for pen in kinds}
    yield from _place(problem, list(plan), pens, (kinds, pens_max))


def _place(
    problem: PlanProblem,
    left: list[Candidate],
    pens: Pens,
    rules: tuple[dict[str, PenKind], dict[str, int]],
) -> Iterator[Pens]:
    kinds, pens_max = rules
    if not left:
        full = all(not held or len(held) >= kinds[pen].hens_min for pen, held in pens.items())
        if full and all(_met(demand, pens) for demand in problem.demands):
            yield {pen: list(held) for pen, held in pens.items()}
        return
    pair, rest = left[0], left[1:]
    for pen, held in pens.items():
        if not _welcome(pair, held, kinds[pen]):
            continue
        held.append(pair)
        owned = sum(bool(h) and h[0].cock == pair.cock for h in pens.values())
        if owned <= pens_max[pair.cock]:
            yield from _place(problem, rest, pens, rules)
        held.pop()


def _welcome(pair: Candidate, held: list[Candidate], kind: PenKind) -> bool:
    if len(held) >= kind.hens_max or (kind.line and pair.line != kind.line):
        return False
    if held and held[0].cock != pair.cock:
        return False
    return kind.dam_known or all((h.row, h.line) == (pair.row, pair.line) for h in held)


def _fits_birds_and_lines(problem: PlanProblem, plan: Pairs) -> bool:
    for limit in problem.cocks:
        if sum(pair.cock == limit.cock for pair in plan) > limit.hens_max:
            return False
    for goal in problem.lines:
        own = [pair for pair in plan if pair.line == goal.line]
        if len(own) < goal.hens_min or len({pair.cock for pair in own}) < goal.cocks_min:
            return False
        if sum(pair.wanted for pair in own) < goal.wanted_min - 1e-6:
            return False
    return True


def _met(demand: Demand, pens: Pens) -> bool:
    def where(bird: str) -> list[str]:
        return [pen for pen, held in pens.items() for p in held[:1] if p.cock == bird] + [
            pen for pen, held in pens.items() for p in held if p.hen == bird
        ]

    def with_cocks(hen: str) -> set[str]:
        return {p.cock for held in pens.values() for p in held if p.hen == hen}

    if isinstance(demand, PairTogether):
        return demand.cock in with_cocks(demand.hen)
    if isinstance(demand, BirdInPen | BirdNotInPen):
        return (demand.pen in where(demand.bird)) == isinstance(demand, BirdInPen)
    if isinstance(demand, HensTogether):
        return where(demand.first) == where(demand.second)
    if isinstance(demand, HensApart):
        return not with_cocks(demand.first) & with_cocks(demand.second)
    assert isinstance(demand, BirdUsed)
    return bool(where(demand.bird))
