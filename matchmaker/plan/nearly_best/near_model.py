"""The model of all plans that are worth enough: what near-equals are searched in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker import tolerance
from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arithmetic.group_arithmetic import group_kinship_of, matings_of
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.program.kinship_cuts import add_kinship
from matchmaker.plan.program.model import build
from matchmaker.plan.solvers.engine import run

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen, Solution
    from matchmaker.plan.posing.problem import GroupKinship, PlanProblem
    from matchmaker.plan.program.kinship_cuts import KinshipCuts
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts, Terms
    from matchmaker.plan.solvers.engine import Run, SolverName

MOST_ROUNDS: Final = 100
"""So often a program is solved again with more lines below the squares of kinship; a few do."""


@dataclass(slots=True)
class NearModel:
    """A model that holds only plans worth enough; ``net`` is the value less the price of kinship.

    ``cuts`` hold the kinship of the group, where that has a limit or a price.
    """

    model: Model
    solver: SolverName
    net: Terms
    cuts: KinshipCuts | None

    def solve(
        self, terms: Terms, *, start: Amounts | None = None, nodes: int | None = None
    ) -> Run | None:
        """Maximise terms and say how it ended; ``None`` where no plan was found in time.

        The plan is left in the program; where none is found, what was there stays.
        """
        before = self.model.program.values
        self.model.maximise(terms)
        for _ in range(MOST_ROUNDS):
            end = self._run(start, nodes)
            if end is None or end.outcome is Outcome.NONE:
                self.model.program.values = before
                return end
            values = self.model.program.values
            if self.cuts is None or values is None or not self.cuts.cut(values):
                return end
            start = None
        self.model.program.values = before
        return None

    def start_at(self, pens: Sequence[PlannedPen]) -> Amounts | None:
        """Return a plan known to be good enough as values by column, to start a search from."""
        model, program = self.model, self.model.program
        taken = {pair.key for pen in pens for pair in pen.pairs}
        before = program.values
        bounds = [(program.lower[column], program.upper[column]) for column in model.x]
        for one, column in zip(model.layout.candidates, model.x, strict=True):
            program.lower[column] = program.upper[column] = float(one.key in taken)
        end = self.solve(self.net)
        values, program.values = program.values, before
        for column, (low, high) in zip(model.x, bounds, strict=True):
            program.lower[column], program.upper[column] = low, high
        return None if end is None or end.outcome is Outcome.NONE else values

    def _run(self, start: Amounts | None, nodes: int | None) -> Run | None:
        try:
            return run(self.model.program, self.solver, start=start, node_limit=nodes)
        except SolverStoppedError:
            return None


def near_model(problem: PlanProblem, least: float | None, solver: SolverName) -> NearModel:
    """Return the model of all plans worth at least ``least``, the price of kinship taken off.

    ``None`` lets in all plans: where the value is maximised in any case, such a row only slows the
    search (four times, measured on the examples).

    A problem whose group of parents has a limit or a price must say how many pairs there are.
    """
    model = build(problem)
    net, cuts, group = dict(model.value), None, problem.group
    if group is not None and minds_kinship(problem):
        cuts = add_kinship(model, group)
        net |= _hold_kinship(model, group, cuts)
    if least is not None:
        model.at_least(net, least - tolerance.OBJECTIVE)
    return NearModel(model=model, solver=solver, net=net, cuts=cuts)


def _hold_kinship(model: Model, group: GroupKinship, cuts: KinshipCuts) -> Terms:
    """Keep the limit of a group's kinship; return what its price adds to the value, as terms."""
    pairs = model.problem.limits.pairs or 0
    if group.limit is not None:
        model.at_most(dict(cuts.total), 4 * pairs**2 * group.limit)
    whole = model.column(0, float("inf"), whole=False)
    model.exactly({whole: -1.0} | cuts.total, 0)
    price = 0.0 if group.price is None or not pairs else 100 * group.price / (4 * pairs**2)
    return {whole: -price}


def minds_kinship(problem: PlanProblem) -> bool:
    """Return whether the kinship of the group of parents has a limit or a price."""
    group = problem.group
    return group is not None and (group.limit is not None or group.price is not None)


def as_solved(problem: PlanProblem, solution: Solution) -> PlanProblem:
    """Return the problem with the number of pairs of its plan, where kinship is minded."""
    if not minds_kinship(problem):
        return problem
    pairs = sum(len(pen.pairs) for pen in solution.pens)
    return replace(problem, limits=replace(problem.limits, pairs=pairs))


def net_value(problem: PlanProblem, pens: Sequence[PlannedPen]) -> float:
    """Return the value of a plan, less the price of its parents' kinship where there is one."""
    value = evaluate(problem, pens).value
    group = problem.group
    if group is None or group.price is None:
        return value
    pairs = [pair for pen in pens for pair in pen.pairs]
    return value - 100 * group.price * group_kinship_of(group, matings_of(pairs), len(pairs))


def least_value(problem: PlanProblem, solution: Solution, within: float) -> float:
    """Return the net value of a plan that loses just so large a part (0 to 1) of the best."""
    best = solution.proof.best_value
    priced = net_value(problem, solution.pens) - evaluate(problem, solution.pens).value
    return best + priced - within * abs(best)
