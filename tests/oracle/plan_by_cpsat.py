"""The best plan by constraint programming over whole numbers: a second model, pen by labelled pen.

Written from the mathematics alone, for OR-tools' CP-SAT. All amounts are whole: pairs' values in
thousandths, importance in thousandths, kinship in ten-thousandths; so its optimum is exact.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ortools.sat.python import cp_model

from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.posing.problem import Candidate, Demand, LineGoal, PenKind, PlanProblem

UNIT = 4 * 1000 * 1000
"""Parts of a wanted chick that the objective counts in."""

Place = tuple[str, str]
Group = tuple[str, str, bool]


@dataclass
class _Search:
    problem: PlanProblem
    kinds: dict[Place, PenKind]
    model: Any = field(default_factory=cp_model.CpModel)
    x: dict[Candidate, Any] = field(default_factory=dict)
    holds: dict[tuple[Place, str], Any] = field(default_factory=dict)
    hens: dict[tuple[Place, str, Group], Any] = field(default_factory=dict)
    inside: dict[tuple[Place, Candidate], Any] = field(default_factory=dict)
    worth: list[Any] = field(default_factory=list)

    def taken(self, **wanted: object) -> list[Any]:
        return [
            x
            for one, x in self.x.items()
            if all(getattr(one, name) == value for name, value in wanted.items())
        ]

    def sets(self) -> tuple[tuple[str, ...], ...]:
        return self.problem.turns


def best_by_cpsat(
    problem: PlanProblem, *, held: tuple[Candidate, ...] = (), workers: int = 1
) -> float | None:
    """Return the value of the best plan with these pairs, or ``None`` where there is none."""
    search = _Search(
        problem=problem,
        kinds={(pen, kind.turn): kind for kind in problem.kinds for pen in kind.pens},
    )
    search.x = {one: search.model.new_bool_var("") for one in problem.candidates}
    for one in held:
        search.model.add(search.x[one] == 1)
    _birds(search)
    _pens(search)
    for goal in problem.lines:
        _line(search, goal)
    _tests(search)
    _limits(search)
    _carriers(search)
    for demand in problem.demands:
        _demand(search, demand)
    cost = UNIT // 20
    search.model.maximize(sum(search.worth) - cost * sum(search.x.values()))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.linearization_level = 2  # half the time of the default, on these problems
    solver.parameters.cp_model_probing_level = 0
    status = solver.solve(search.model)
    if status == cp_model.INFEASIBLE:
        return None
    assert status == cp_model.OPTIMAL, solver.status_name(status)
    return float(solver.objective_value) / UNIT


def _whole(amount: float, parts: int) -> int:
    """The amount in parts; it must be whole."""
    found = round(amount * parts)
    assert abs(found - amount * parts) < 1e-6, amount
    return found


def _birds(search: _Search) -> None:
    limits = {one.cock: one for one in search.problem.cocks}
    for together in search.sets():
        by_hen: dict[str, list[Any]] = defaultdict(list)
        by_cock: dict[str, list[Any]] = defaultdict(list)
        for one, x in search.x.items():
            if one.turn in together:
                by_hen[one.hen].append(x)
                by_cock[one.cock].append(x)
        for places in by_hen.values():
            search.model.add_at_most_one(places)
        for cock, places in by_cock.items():
            search.model.add(sum(places) <= limits[cock].hens_max)


def _pens(search: _Search) -> None:
    """Each labelled pen in each turn belongs to one cock at most; its hens are counted by group."""
    members: dict[tuple[str, str], dict[Group, list[Candidate]]] = defaultdict(dict)
    for one in search.x:
        group = (one.row, one.line, one.dams_known)
        members[one.cock, one.turn].setdefault(group, []).append(one)
    tracked = _tracked(search.problem)
    for place, kind in search.kinds.items():
        holders = []
        for (cock, turn), groups in members.items():
            if turn == kind.turn:
                holders.append(_pen_of(search, place, cock, groups))
        search.model.add_at_most_one(holders)
    for (cock, _), groups in members.items():
        for group, pairs in groups.items():
            here = {
                place: count
                for (place, holder, held), count in search.hens.items()
                if (holder, held, place[1]) == (cock, group, pairs[0].turn)
            }
            search.model.add(sum(here.values()) == sum(search.x[one] for one in pairs))
            _track(search, [one for one in pairs if one.hen in tracked], here)
    _few_pens(search)


def _few_pens(search: _Search) -> None:
    """No cock has more pens at once than he may."""
    for limit in search.problem.cocks:
        for together in search.sets():
            held = [
                holds
                for (place, cock), holds in search.holds.items()
                if cock == limit.cock and place[1] in together
            ]
            search.model.add(sum(held) <= limit.pens_max)


def _pen_of(search: _Search, place: Place, cock: str, groups: dict[Group, list[Candidate]]) -> Any:
    """Whether a cock holds a pen, and how many hens of each group he has there."""
    model, kind = search.model, search.kinds[place]
    holds = search.holds[place, cock] = model.new_bool_var("")
    counts, kept = [], []
    for group, pairs in groups.items():
        row, line, dams_known = group
        other = line not in (kind.line or line,) or row not in (kind.rows or (row,))
        if other or (dams_known and not kind.dam_known):
            continue
        count = model.new_int_var(0, min(len(pairs), kind.hens_max), "")
        search.hens[place, cock, group] = count
        counts.append(count)
        if not kind.dam_known:
            only = model.new_bool_var("")
            model.add(count <= kind.hens_max * only)
            kept.append(only)
    model.add(sum(counts) <= kind.hens_max * holds)
    model.add(sum(counts) >= max(1, kind.hens_min) * holds)
    if kept:
        model.add_at_most_one(kept)
    return holds


def _tracked(problem: PlanProblem) -> set[str]:
    found: set[str] = set()
    for one in problem.demands:
        if isinstance(one, BirdInPen | BirdNotInPen):
            found.add(one.bird)
        if isinstance(one, HensTogether):
            found |= {one.first, one.second}
    return found


def _track(search: _Search, pairs: list[Candidate], here: dict[Place, Any]) -> None:
    """Say of each of these pairs in which pen it lives."""
    for one in pairs:
        for place in here:
            search.inside[place, one] = search.model.new_bool_var("")
        search.model.add(sum(search.inside[place, one] for place in here) == search.x[one])
    for place, count in here.items():
        search.model.add(sum(search.inside[place, one] for one in pairs) <= count)


def _line(search: _Search, goal: LineGoal) -> None:
    model = search.model
    own = {one: x for one, x in search.x.items() if one.line == goal.line}
    need = _whole(goal.chicks_wanted, 1000)
    first, second = model.new_int_var(0, need, ""), model.new_int_var(0, need, "")
    model.add(first + second <= sum(_whole(one.value, 1000) * x for one, x in own.items()))
    search.worth.append(_whole(goal.importance, 1000) * (4 * first + second))
    _different(search, {one.hen for one in own}, own, "hen", goal.hens_min)
    _different(search, {one.cock for one in own}, own, "cock", goal.cocks_min)
    for name in ("wanted", "wanted_cocks", "wanted_hens", "sure_cocks", "sure_hens"):
        least = _whole(getattr(goal, f"{name}_min"), 100)
        model.add(sum(_whole(getattr(one, name), 100) * x for one, x in own.items()) >= least)
    _share(search, goal.sire_share_max, own)


def _different(
    search: _Search, birds: set[str], own: dict[Candidate, Any], sex: str, least: int
) -> None:
    """At least so many different birds of a sex are in these pairs."""
    used = []
    for bird in sorted(birds):
        seen = search.model.new_bool_var("")
        search.model.add(seen <= sum(x for one, x in own.items() if getattr(one, sex) == bird))
        used.append(seen)
    search.model.add(sum(used) >= least)


def _share(search: _Search, share: float | None, own: dict[Candidate, Any]) -> None:
    if share is None:
        return
    for cock in sorted({one.cock for one in own}):
        his = sum(x for one, x in own.items() if one.cock == cock)
        search.model.add(1000 * his <= _whole(share, 1000) * sum(own.values()))


def _tests(search: _Search) -> None:
    for goal in search.problem.tests:
        worth = search.model.new_int_var(-(10**7), 10**7, "")
        for slope, start in goal.pieces:
            told = sum(
                _whole(slope * one.test_chicks, 1000) * x
                for one, x in search.x.items()
                if one.tested == goal.bird
            )
            search.model.add(worth <= _whole(start, 1000) + told)
        search.worth.append(UNIT // 1000 * worth)


def _limits(search: _Search) -> None:
    limits, model = search.problem.limits, search.model
    if limits.pairs is not None:
        model.add(sum(search.x.values()) == limits.pairs)
    if limits.mean_inbreeding_max is not None:
        most = _whole(limits.mean_inbreeding_max, 10**5)
        model.add(sum((_whole(one.kinship, 10**5) - most) * x for one, x in search.x.items()) <= 0)
    _share(search, limits.sire_share_max, search.x)
    if limits.chicks_max is not None:
        chicks = sum(_whole(one.chicks, 10) * x for one, x in search.x.items())
        model.add(chicks <= _whole(limits.chicks_max, 10))
    if limits.eggs_max is not None:
        for together in search.sets():
            eggs = [_whole(e.eggs, 10) * x for e, x in search.x.items() if e.turn in together]
            model.add(sum(eggs) <= _whole(limits.eggs_max, 10))


def _carriers(search: _Search) -> None:
    """Of each line's carriers one stays: it is in no pair, or in one whose chicks join the line."""
    for carriers in search.problem.carriers:
        stays = []
        for bird in carriers.birds:
            pairs = {one: x for one, x in search.x.items() if bird in (one.hen, one.cock)}
            home = [x for one, x in pairs.items() if one.line == carriers.line]
            unused, at_home = search.model.new_bool_var(""), search.model.new_bool_var("")
            search.model.add(sum(pairs.values()) == 0).only_enforce_if(unused)
            search.model.add(sum(home) >= 1).only_enforce_if(at_home)
            stays += [unused, at_home]
        search.model.add_bool_or(stays)


def _demand(search: _Search, demand: Demand) -> None:
    model = search.model
    if isinstance(demand, PairTogether):
        model.add(sum(search.taken(hen=demand.hen, cock=demand.cock)) >= 1)
    elif isinstance(demand, BirdInPen):
        model.add(sum(_in_pen(search, demand.bird, demand.pen)) >= 1)
    elif isinstance(demand, BirdNotInPen):
        model.add(sum(_in_pen(search, demand.bird, demand.pen)) == 0)
    elif isinstance(demand, HensTogether):
        for place in search.kinds:
            for cock in {limit.cock for limit in search.problem.cocks}:
                ours = _lives(search, demand.first, cock, place)
                model.add(sum(ours) == sum(_lives(search, demand.second, cock, place)))
    elif isinstance(demand, HensApart):
        _apart(search, demand)
    else:
        assert isinstance(demand, BirdUsed)
        used = [*search.taken(hen=demand.bird), *search.taken(cock=demand.bird)]
        model.add(sum(used) >= 1)


def _in_pen(search: _Search, bird: str, pen: str) -> Iterable[Any]:
    for (place, cock), holds in search.holds.items():
        if place[0] == pen and cock == bird:
            yield holds
    for (place, one), inside in search.inside.items():
        if place[0] == pen and one.hen == bird:
            yield inside


def _lives(search: _Search, hen: str, cock: str, place: Place) -> list[Any]:
    return [
        inside
        for (where, one), inside in search.inside.items()
        if (where, one.hen, one.cock) == (place, hen, cock)
    ]


def _apart(search: _Search, demand: HensApart) -> None:
    for together in search.sets():
        for cock in {limit.cock for limit in search.problem.cocks}:
            both = [
                x
                for one, x in search.x.items()
                if one.cock == cock
                and one.turn in together
                and one.hen in (demand.first, demand.second)
            ]
            search.model.add(sum(both) <= 1)
