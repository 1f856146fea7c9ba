"""The peer of the bench: the same problem as a textbook writes it in PuLP, solved by CBC.

Sums with ``lpSum``, one dictionary of variables a set, a row for each pair and each pen it may
live in, pieces of what a line counts; no tightening, no stages. For problems without demands
and with cocks of one pen.
"""

from __future__ import annotations

import warnings
from itertools import product
from typing import TYPE_CHECKING, Any

import pulp

from matchmaker.plan.posing.problem import PAIR_COST, SECOND_HELPING

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import PlanProblem


def textbook(problem: PlanProblem) -> Any:
    """Return the textbook model of a problem."""
    model = pulp.LpProblem("textbook", pulp.LpMaximize)
    pairs = range(len(problem.candidates))
    rows = sorted({one.row for one in problem.candidates})
    cocks = [limit.cock for limit in problem.cocks]
    kinds = range(len(problem.kinds))
    x = model.add_variable_dicts("x", pairs, 0, 1, pulp.LpBinary)
    keys = [(cock, kind, row) for cock, kind, row in product(cocks, kinds, rows)]
    places = {key: place for place, key in enumerate(keys)}
    in_pen = model.add_variable_dicts("h", range(len(keys)), 0, None, pulp.LpInteger)
    holds = model.add_variable_dicts("y", range(len(keys)), 0, 1, pulp.LpBinary)
    y = {key: holds[place] for key, place in places.items()}
    inside = {key: in_pen[place] for key, place in places.items()}
    _add_objective(model, problem, x)
    for hen in sorted({one.hen for one in problem.candidates}):
        model += pulp.lpSum(x[i] for i in pairs if problem.candidates[i].hen == hen) <= 1
    for limit in problem.cocks:
        own = [i for i in pairs if problem.candidates[i].cock == limit.cock]
        model += pulp.lpSum(x[i] for i in own) <= limit.hens_max
        _add_cock(model, problem, limit.cock, (x, y, inside, rows))
    for kind in kinds:
        if problem.kinds[kind].dam_known:
            held = [y[cock, kind, rows[0]] for cock in cocks]
        else:
            held = [y[cock, kind, row] for cock in cocks for row in rows]
        model += pulp.lpSum(held) <= len(problem.kinds[kind].pens)
    _add_minimums(model, problem, x)
    return model


def solve_textbook(model: Any, seconds: float) -> tuple[float, bool]:
    """Solve with CBC to gap 0, at most for so many seconds: the value, and whether it is proved."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        model.solve(
            pulp.PULP_CBC_CMD(msg=False, gapRel=0.0, gapAbs=0.0, threads=1, timeLimit=seconds)
        )
    return float(pulp.value(model.objective)), model.sol_status == pulp.LpSolutionOptimal


def _add_objective(model: Any, problem: PlanProblem, x: dict[int, Any]) -> None:
    terms = [-PAIR_COST * pulp.lpSum(x.values())]
    for place, goal in enumerate(problem.lines):
        full = model.add_variable(f"full_{place}", 0, goal.chicks_wanted)
        more = model.add_variable(f"more_{place}", 0, goal.chicks_wanted)
        model += full + more <= pulp.lpSum(
            one.value * x[i] for i, one in enumerate(problem.candidates) if one.line == goal.line
        )
        terms.append(goal.importance * (full + SECOND_HELPING * more))
    model.setObjective(pulp.lpSum(terms))


def _add_cock(model: Any, problem: PlanProblem, cock: str, columns: tuple[Any, ...]) -> None:
    """A cock's pens: where dams are known one for all rows, else one a row."""
    x, y, inside, rows = columns
    kinds = range(len(problem.kinds))
    for kind, known in ((kind, problem.kinds[kind].dam_known) for kind in kinds):
        pen = problem.kinds[kind]
        held = [rows] if known else [[row] for row in rows]
        for group in held:
            hens = pulp.lpSum(inside[cock, kind, row] for row in group)
            model += hens <= pen.hens_max * y[cock, kind, group[0]]
            model += hens >= max(1, pen.hens_min) * y[cock, kind, group[0]]
    first = [
        y[cock, kind, row]
        for kind in kinds
        for row in (rows[:1] if problem.kinds[kind].dam_known else rows)
    ]
    model += pulp.lpSum(first) <= 1
    for row in rows:
        own = [i for i, one in enumerate(problem.candidates) if (one.cock, one.row) == (cock, row)]
        model += pulp.lpSum(x[i] for i in own) == pulp.lpSum(
            inside[cock, kind, row] for kind in kinds
        )
        for i in own:
            model += x[i] <= pulp.lpSum(
                y[cock, kind, rows[0] if problem.kinds[kind].dam_known else row] for kind in kinds
            )


def _add_minimums(model: Any, problem: PlanProblem, x: dict[int, Any]) -> None:
    for place, goal in enumerate(problem.lines):
        own = [(i, one) for i, one in enumerate(problem.candidates) if one.line == goal.line]
        model += pulp.lpSum(x[i] for i, _ in own) >= goal.hens_min
        serves = []
        for number, cock in enumerate(sorted({one.cock for _, one in own})):
            column = model.add_variable(f"serves_{place}_{number}", 0, 1)
            model += column <= pulp.lpSum(x[i] for i, one in own if one.cock == cock)
            serves.append(column)
        model += pulp.lpSum(serves) >= goal.cocks_min
