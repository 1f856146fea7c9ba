"""The best plan by trying every assignment of hens and every way to put them into pens."""

from __future__ import annotations

from itertools import combinations, product
from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.posing.problem import Candidate, Demand, GroupKinship, PenKind, PlanProblem

Pairs = tuple["Candidate", ...]
Place = tuple[str, str]
"""A pen and the turn for which it is free."""

Pens = dict[Place, list["Candidate"]]


def best_by_enumeration(problem: PlanProblem) -> float | None:
    """Return the value of the best plan, or ``None`` where there is none.

    Where kinship has a price the value is less that price.
    """
    seen: dict[object, bool] = {}
    for plan in plans_by_value(problem):
        key: object = (
            plan
            if problem.demands
            else tuple(sorted((p.cock, p.row, p.line, p.turn, p.dams_known) for p in plan))
        )
        if key not in seen:
            seen[key] = next(placements(problem, plan), None) is not None
        if seen[key]:
            return value_of(problem, plan)
    return None


def plans_by_value(problem: PlanProblem) -> list[Pairs]:
    """Return all sets of pairs that keep the rules of birds, lines and limits, best first."""
    hens = sorted({one.hen for one in problem.candidates})
    choices = [_choices(problem, hen) for hen in hens]
    plans = [tuple(one for part in plan for one in part) for plan in product(*choices)]
    plans = [
        plan
        for plan in plans
        if _fits_cocks(problem, plan)
        and _fits_lines(problem, plan)
        and _fits_limits(problem, plan)
        and _keeps_carriers(problem, plan)
    ]
    return sorted(plans, key=lambda plan: -value_of(problem, plan))


def _choices(problem: PlanProblem, hen: str) -> list[Pairs]:
    """Nothing, or pairs of a hen in turns that do not overlap."""
    own = [one for one in problem.candidates if one.hen == hen]
    found: list[Pairs] = []
    for count in range(len({one.turn for one in own}) + 1):
        found += [
            pairs
            for pairs in combinations(own, count)
            if not any(_at_once(problem, a.turn, b.turn) for a, b in combinations(pairs, 2))
        ]
    return found


def _at_once(problem: PlanProblem, first: str, second: str) -> bool:
    return any(first in together and second in together for together in problem.turns)


def value_of(problem: PlanProblem, plan: Pairs) -> float:
    """Return importance times what each line counts, tests, less 0.05 a pair, less kinship."""
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
    for test in problem.tests:
        chicks = sum(pair.test_chicks for pair in plan if pair.tested == test.bird)
        total += min(start + slope * chicks for slope, start in test.pieces)
    if problem.group is not None and problem.group.price is not None:
        total -= 100 * problem.group.price * kinship_of(problem.group, plan)
    return total - 0.05 * len(plan)


def kinship_of(group: GroupKinship, plan: Pairs) -> float:
    """Return the mean kinship of all parents, over the whole matrix, two by two.

    Row by row: a node's kinship with those before it is the mean over its parents, with itself
    the same mean again and its own Mendelian term.
    """
    if not plan:
        return 0.0
    size = len(group.within)
    kinship = [[0.0] * size for _ in range(size)]
    for node in range(size):
        for other in range(node):
            with_other = sum(
                weight * kinship[parent][other] for parent, weight in group.parents[node]
            )
            kinship[node][other] = kinship[other][node] = with_other
        kinship[node][node] = group.within[node] + sum(
            w1 * w2 * kinship[p1][p2]
            for p1, w1 in group.parents[node]
            for p2, w2 in group.parents[node]
        )
    at = dict(group.birds)
    parents = [at[bird] for pair in plan for bird in (pair.hen, pair.cock)]
    return sum(kinship[one][other] for one in parents for other in parents) / len(parents) ** 2


def placements(problem: PlanProblem, plan: Pairs) -> Iterator[Pens]:
    """Yield every way to put the pairs into pens that keeps all rules of pens and demands."""
    kinds = {(pen, kind.turn): kind for kind in problem.kinds for pen in kind.pens}
    pens: Pens = {place: [] for place in kinds}
    yield from _place(problem, list(plan), pens, kinds)


def _place(
    problem: PlanProblem, left: list[Candidate], pens: Pens, kinds: dict[Place, PenKind]
) -> Iterator[Pens]:
    if not left:
        full = all(not held or len(held) >= kinds[pen].hens_min for pen, held in pens.items())
        if full and all(_met(problem, demand, pens) for demand in problem.demands):
            yield {pen: list(held) for pen, held in pens.items()}
        return
    pair, rest = left[0], left[1:]
    for place, held in pens.items():
        if place[1] != pair.turn or not _welcome(pair, held, kinds[place]):
            continue
        held.append(pair)
        if _has_few_pens(problem, pair.cock, pens):
            yield from _place(problem, rest, pens, kinds)
        held.pop()


def _has_few_pens(problem: PlanProblem, cock: str, pens: Pens) -> bool:
    (limit,) = (one for one in problem.cocks if one.cock == cock)
    for together in problem.turns:
        owned = 0
        for (_, turn), held in pens.items():
            if turn in together and held and held[0].cock == cock:
                owned += 1
        if owned > limit.pens_max:
            return False
    return True


def _welcome(pair: Candidate, held: list[Candidate], kind: PenKind) -> bool:
    if len(held) >= kind.hens_max or (kind.line and pair.line != kind.line):
        return False
    if kind.rows and pair.row not in kind.rows:
        return False
    if held and held[0].cock != pair.cock:
        return False
    if kind.dam_known:
        return True
    return not pair.dams_known and all((h.row, h.line) == (pair.row, pair.line) for h in held)


def _fits_cocks(problem: PlanProblem, plan: Pairs) -> bool:
    for limit in problem.cocks:
        for together in problem.turns:
            own = [pair for pair in plan if pair.cock == limit.cock and pair.turn in together]
            if len(own) > limit.hens_max:
                return False
    return True


def _fits_lines(problem: PlanProblem, plan: Pairs) -> bool:
    for goal in problem.lines:
        own = [pair for pair in plan if pair.line == goal.line]
        if len({pair.hen for pair in own}) < goal.hens_min:
            return False
        if len({pair.cock for pair in own}) < goal.cocks_min:
            return False
        sums = (
            (sum(pair.wanted for pair in own), goal.wanted_min),
            (sum(pair.wanted_cocks for pair in own), goal.wanted_cocks_min),
            (sum(pair.wanted_hens for pair in own), goal.wanted_hens_min),
            (sum(pair.sure_cocks for pair in own), goal.sure_cocks_min),
            (sum(pair.sure_hens for pair in own), goal.sure_hens_min),
        )
        if any(amount < least - 1e-6 for amount, least in sums):
            return False
        if not _fits_share(goal.sire_share_max, own):
            return False
    return True


def _fits_share(share: float | None, pairs: list[Candidate]) -> bool:
    if share is None:
        return True
    cocks = [pair.cock for pair in pairs]
    return all(cocks.count(cock) <= share * len(pairs) + 1e-6 for cock in cocks)


def _fits_limits(problem: PlanProblem, plan: Pairs) -> bool:
    limits = problem.limits
    if limits.pairs is not None and len(plan) != limits.pairs:
        return False
    most = limits.mean_inbreeding_max
    if plan and most is not None and sum(p.kinship for p in plan) / len(plan) > most + 1e-7:
        return False
    group = problem.group
    limit = None if group is None else group.limit
    if group is not None and limit is not None and kinship_of(group, plan) > limit + 1e-9:
        return False
    return _fits_rooms(problem, plan) and _fits_share(limits.sire_share_max, list(plan))


def _fits_rooms(problem: PlanProblem, plan: Pairs) -> bool:
    """Chicks over the whole season, eggs of what overlaps."""
    limits = problem.limits
    if limits.chicks_max is not None and sum(p.chicks for p in plan) > limits.chicks_max + 1e-6:
        return False
    if limits.eggs_max is None:
        return True
    for together in problem.turns:
        if sum(p.eggs for p in plan if p.turn in together) > limits.eggs_max + 1e-6:
            return False
    return True


def _keeps_carriers(problem: PlanProblem, plan: Pairs) -> bool:
    for carriers in problem.carriers:
        stays = False
        for bird in carriers.birds:
            lines = {pair.line for pair in plan if bird in (pair.hen, pair.cock)}
            if not lines or carriers.line in lines:
                stays = True
        if not stays:
            return False
    return True


def _met(problem: PlanProblem, demand: Demand, pens: Pens) -> bool:
    def where(bird: str) -> set[Place]:
        return {
            place
            for place, held in pens.items()
            if any(bird in (pair.hen, pair.cock) for pair in held)
        }

    def with_cocks(hen: str, turns: tuple[str, ...]) -> set[str]:
        return {
            p.cock
            for (_, turn), held in pens.items()
            for p in held
            if p.hen == hen and turn in turns
        }

    every = tuple(turn for together in problem.turns for turn in together)
    if isinstance(demand, PairTogether):
        return demand.cock in with_cocks(demand.hen, every)
    if isinstance(demand, BirdInPen | BirdNotInPen):
        inside = demand.pen in {pen for pen, _ in where(demand.bird)}
        return inside == isinstance(demand, BirdInPen)
    if isinstance(demand, HensTogether):
        return where(demand.first) == where(demand.second)
    if isinstance(demand, HensApart):
        return not any(
            with_cocks(demand.first, together) & with_cocks(demand.second, together)
            for together in problem.turns
        )
    assert isinstance(demand, BirdUsed)
    return bool(where(demand.bird))
