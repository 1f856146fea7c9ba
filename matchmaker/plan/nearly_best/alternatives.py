"""Other plans nearly as good as the best, as different from it and from each other as can be.

A keeper knows what no table holds. Each plan is the one whose least difference from all plans
before it is greatest (a difference is a hen whose place changes); of several such the one worth
most.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.arithmetic.verify import WrongPlanError, evaluate
from matchmaker.plan.nearly_best.near import NEAR
from matchmaker.plan.nearly_best.near_model import as_solved, least_value, near_model
from matchmaker.plan.searching.stages import Clock, settle_pens
from matchmaker.plan.solvers.engine import choose_solver

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen, Solution
    from matchmaker.plan.nearly_best.near_model import NearModel
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts, Terms

MOST_NODES: Final = 200
"""Nodes of the search for the most different plan; then the most different found stands."""

VALUE_NODES: Final = 20
"""Nodes of the search for the one worth most of several plans so different."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """A plan nearly as good as the best.

    ``loss`` is how much less it is worth, ``moved`` how many hens change their place against the
    best plan, ``apart`` the least such number against it and all alternatives before. ``proved``
    says that no plan so good is further apart; else the search for one was cut short.
    """

    pens: tuple[PlannedPen, ...]
    value: float
    loss: float
    moved: int
    apart: int
    proved: bool


def alternatives(
    problem: PlanProblem,
    solution: Solution,
    most: int,
    *,
    within: float = NEAR,
) -> tuple[Alternative, ...]:
    """Return up to ``most`` plans that lose at most ``within`` (a part of 1) of the best value.

    Fewer where there are no more plans that differ in a hen; none where the plan is the only one.
    Cocks keep their pens' labels where they hold pens of the same kind.
    """
    labels = tuple(sorted({(pen.pen, pen.cock) for pen in solution.pens}))
    problem = replace(as_solved(problem, solution), standing_pens=labels)
    near = near_model(problem, least_value(problem, solution, within), choose_solver(None))
    apart = near.model.column(0, len(near.model.by_hen), whole=True)
    search = _Search(near=near, apart=apart)
    plans = [solution.pens]
    found: list[Alternative] = []
    while len(found) < most and (other := search.furthest_from(plans[-1])) is not None:
        pens, proved = other
        score = evaluate(problem, pens)
        if score.broken:
            raise WrongPlanError(score.broken)
        alternative = Alternative(
            pens=pens,
            value=score.value,
            loss=max(0.0, solution.proof.best_value - score.value),
            moved=len(moved_hens(plans[0], pens)),
            apart=min(len(moved_hens(one, pens)) for one in plans),
            proved=proved,
        )
        found.append(alternative)
        plans.append(pens)
    return tuple(found)


def moved_hens(before: Sequence[PlannedPen], after: Sequence[PlannedPen]) -> tuple[str, ...]:
    """Return the hens whose cock, row or turn differs between two plans, or who are in one only."""
    old, new = _places(before), _places(after)
    return tuple(sorted(hen for hen in old.keys() | new.keys() if old.get(hen) != new.get(hen)))


def _places(pens: Iterable[PlannedPen]) -> dict[str, set[tuple[str, str, str]]]:
    places: dict[str, set[tuple[str, str, str]]] = defaultdict(set)
    for pair in (pair for pen in pens for pair in pen.pairs):
        places[pair.hen].add((pair.cock, pair.row, pair.turn))
    return dict(places)


@dataclass(slots=True)
class _Search:
    """The model of all plans good enough, the least difference counted in the column ``apart``."""

    near: NearModel
    apart: int

    def furthest_from(
        self, plan: Sequence[PlannedPen]
    ) -> tuple[tuple[PlannedPen, ...], bool] | None:
        """The plan furthest from this one and all given before; ``None`` if no other is left."""
        near, program = self.near, self.near.model.program
        _hold_apart(near.model, self.apart, plan)
        program.lower[self.apart] = 0.0
        widest = near.solve({self.apart: 1.0}, start=self._start(), nodes=MOST_NODES)
        if widest is None or round(widest.value) < 1:
            return None
        program.lower[self.apart] = round(widest.value)
        near.solve(near.net, start=program.values, nodes=VALUE_NODES)
        pens = settle_pens(near.model, Clock(near.solver, None))
        return pens, widest.outcome is Outcome.OPTIMAL

    def _start(self) -> Amounts | None:
        """The plan found last: no difference from itself."""
        if self.near.model.program.values is None:
            return None
        values = self.near.model.program.values.copy()
        values[self.apart] = 0.0
        return values


def _hold_apart(model: Model, apart: int, plan: Sequence[PlannedPen]) -> None:
    """Let ``apart`` be at most the number of hens whose place is another than in this plan."""
    places = {key: at for at, key in enumerate(one.key for one in model.layout.candidates)}
    own: dict[str, list[int]] = defaultdict(list)
    for pair in (pair for pen in plan for pair in pen.pairs):
        own[pair.hen].append(places[pair.key])
    counted: Terms = {apart: 1.0}
    most = 0.0
    for hen, all_places in model.by_hen.items():
        stays = model.taken(own[hen])
        comes = model.taken((at for at in all_places if at not in own[hen]), -1.0)
        if len(model.problem.turns) > 1:
            moves = model.column(0, 1, whole=False)
            model.at_most({moves: 1.0} | stays | comes, len(own[hen]))
            counted[moves] = -1.0
        elif own[hen]:
            counted |= stays
            most += 1
        else:
            counted |= comes
    model.at_most(counted, most)
