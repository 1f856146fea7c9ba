"""What a planning problem may not say, in words: nonsense that no plan could put right."""

from __future__ import annotations

import math
from dataclasses import fields
from itertools import combinations
from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import HensApart, HensTogether, PlanLimits

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.plan.posing.problem import LineGoal, PlanProblem, TestGoal


def contradictions(problem: PlanProblem) -> Iterator[str]:
    """Yield every contradiction of a problem in words; none for a sound one."""
    yield from _twins("pair", (one.key for one in problem.candidates))
    yield from _twins("cock", (limit.cock for limit in problem.cocks))
    yield from _twins("line", (goal.line for goal in problem.lines))
    yield from _twins("tested bird", (goal.bird for goal in problem.tests))
    yield from _unknown_cocks(problem)
    yield from _pairs(problem)
    yield from _turns(problem)
    yield from _pens(problem)
    for goal in problem.lines:
        yield from _line(goal)
    yield from _limits(problem.limits)
    for test in problem.tests:
        yield from _test(test)
    yield from _carriers(problem)
    yield from _group(problem)
    yield from _moves(problem)
    yield from _demands(problem)


def _twins(what: str, keys: Iterable[object]) -> Iterator[str]:
    seen: set[object] = set()
    for key in keys:
        if key in seen:
            yield f"{what} listed twice: {key}"
        seen.add(key)


def _unknown_cocks(problem: PlanProblem) -> Iterator[str]:
    unlimited = {one.cock for one in problem.candidates} - {one.cock for one in problem.cocks}
    if unlimited:
        yield f"no limits or goals given for cock: {sorted(unlimited)}"
    both = {one.hen for one in problem.candidates} & {one.cock for one in problem.candidates}
    if both:
        yield f"hen and cock at once: {sorted(both)}"


def _pairs(problem: PlanProblem) -> Iterator[str]:
    """A pair raises chicks for a line that has a goal, or tests one of its birds."""
    lines = {goal.line for goal in problem.lines}
    tested = {goal.bird for goal in problem.tests}
    aimless: set[str] = set()
    for one in problem.candidates:
        words = f"{one.hen} with {one.cock} ({one.row})"
        if not one.tested:
            if one.line not in lines:
                aimless.add(one.line)
            continue
        if one.tested not in tested:
            yield f"no worth given for tests of {one.tested}: {words}"
        if one.tested not in (one.hen, one.cock):
            yield f"{words} cannot test {one.tested}, who is neither of them"
        if one.line or one.value:
            yield f"{words} tests {one.tested}, so its chicks join no line and its value is 0"
    if aimless:
        yield f"no limits or goals given for line: {sorted(aimless)}"


def _turns(problem: PlanProblem) -> Iterator[str]:
    known = {turn for together in problem.turns for turn in together}
    used = {one.turn for one in problem.candidates} | {kind.turn for kind in problem.kinds}
    if used - known:
        yield f"turn in no set of overlapping turns: {sorted(used - known)}"
    for together in problem.turns:
        yield from _twins("turn of one set", together)


def _pens(problem: PlanProblem) -> Iterator[str]:
    yield from _twins("pen", ((pen, kind.turn) for kind in problem.kinds for pen in kind.pens))
    overlapping = {
        frozenset(two) for together in problem.turns for two in combinations(together, 2)
    }
    turns: dict[str, set[str]] = {}
    for kind in problem.kinds:
        for pen in kind.pens:
            turns.setdefault(pen, set()).add(kind.turn)
    for pen, of_pen in turns.items():
        for first, second in combinations(sorted(of_pen), 2):
            if frozenset((first, second)) in overlapping:
                yield f"pen {pen} is free for two turns that overlap: {first} and {second}"


def _line(goal: LineGoal) -> Iterator[str]:
    yield from _share(f"line {goal.line}: sire share", goal.sire_share_max)
    for name in ("wanted_min", "wanted_cocks_min", "wanted_hens_min"):
        yield from _amount(f"line {goal.line}: {name}", getattr(goal, name))
    for name in ("sure_cocks_min", "sure_hens_min", "chicks_wanted", "importance", "banked"):
        yield from _amount(f"line {goal.line}: {name}", getattr(goal, name))


def _limits(limits: PlanLimits) -> Iterator[str]:
    yield from _share("sire share", limits.sire_share_max)
    for one in fields(PlanLimits):
        if one.name != "sire_share_max":
            yield from _amount(f"limit {one.name}", getattr(limits, one.name))


def _share(what: str, share: float | None) -> Iterator[str]:
    if share is not None and not 0 < share <= 1:
        yield f"{what} must be above 0 and at most 1: {share}"


def _amount(what: str, amount: float | None) -> Iterator[str]:
    if amount is not None and not 0 <= amount < math.inf:
        yield f"{what} must be a number of at least 0: {amount}"


def _test(goal: TestGoal) -> Iterator[str]:
    if not goal.pieces:
        yield f"no worth given for tests of {goal.bird}: its pieces are empty"
    if not all(math.isfinite(number) for piece in goal.pieces for number in piece):
        yield f"the worth of tests of {goal.bird} is no number: {goal.pieces}"


def _moves(problem: PlanProblem) -> Iterator[str]:
    """Where pens stand each is known by its own turn, and a cock that may stay is not displaced."""
    if problem.moves is None:
        return
    yield from _amount("moves", problem.moves.most)
    pens = {pen for _, pen in problem.moves.places}
    shared = any(len(kind.pens) > 1 and pens & set(kind.pens) for kind in problem.kinds)
    if shared or len(problem.turns) > 1:
        yield "where pens stand each pen has a turn of its own, and all turns overlap"
    yield from _twins("turn of pens", (kind.turn for kind in problem.kinds))
    turn_of = {pen: kind.turn for kind in problem.kinds for pen in kind.pens}
    cocks = {one.cock for one in problem.cocks}
    stays = {turn_of.get(pen): bird for bird, pen in problem.moves.places if bird in cocks}
    for one in problem.candidates:
        if stays.get(one.turn, one.cock) != one.cock:
            yield f"{one.cock} would take the pen of {stays[one.turn]}, who may stay"
            return


def _carriers(problem: PlanProblem) -> Iterator[str]:
    lines = {goal.line for goal in problem.lines}
    yield from _twins("carriers of line", (one.line for one in problem.carriers))
    for one in problem.carriers:
        if one.line not in lines:
            yield f"carriers of a line without goals: {one.line}"
        if not one.birds:
            yield f"line {one.line} has a row for its carriers, but no carrier in it"
        yield from _twins(f"carrier of line {one.line}", one.birds)


def _group(problem: PlanProblem) -> Iterator[str]:
    """Every bird that may be paired stands at a node, and forebears stand first."""
    group = problem.group
    if group is None:
        return
    if len(group.parents) != len(group.within):
        yield "group kinship: as many nodes as Mendelian terms are needed"
        return
    for node, parents in enumerate(group.parents):
        if any(not 0 <= parent < node for parent, _ in parents):
            yield f"group kinship: node {node} has a parent that does not stand before it"
    yield from _twins("bird of the group", (bird for bird, _ in group.birds))
    if any(not 0 <= node < len(group.parents) for _, node in group.birds):
        yield "group kinship: a bird stands at a node that is not there"
    birds = {bird for one in problem.candidates for bird in (one.hen, one.cock)}
    missing = birds - {bird for bird, _ in group.birds}
    if missing:
        yield f"group kinship: no node for {sorted(missing)}"


def _demands(problem: PlanProblem) -> Iterator[str]:
    for one in problem.demands:
        if isinstance(one, HensTogether | HensApart) and one.first == one.second:
            yield f"{one.name}: one hen named twice"
