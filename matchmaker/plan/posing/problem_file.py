"""A planning problem as plain data for a JSON file, for anybody to solve anew."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from matchmaker.plan.posing.layout import ProblemError
from matchmaker.plan.posing.problem import (
    KEEP_BONUS,
    PAIR_COST,
    SECOND_HELPING,
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    Candidate,
    CockLimit,
    GroupKinship,
    HensApart,
    HensTogether,
    LineCarriers,
    LineGoal,
    Moves,
    PairTogether,
    PenKind,
    PlanLimits,
    PlanProblem,
    TestGoal,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.plan.posing.problem import Demand

SCHEMA = "matchmaker/problem/1"

_CONSTANTS = {
    "pair_cost": PAIR_COST,
    "keep_bonus": KEEP_BONUS,
    "second_helping": SECOND_HELPING,
}

_DEMANDS: Mapping[str, type[Demand]] = {
    "pair-together": PairTogether,
    "bird-in-pen": BirdInPen,
    "bird-not-in-pen": BirdNotInPen,
    "hens-together": HensTogether,
    "hens-apart": HensApart,
    "bird-used": BirdUsed,
}


def problem_to_dict(problem: PlanProblem) -> dict[str, Any]:
    """Return all sets, coefficients and bounds of a problem, in an order of their own.

    The value of a plan is the sum over lines of importance times what the line counts, less
    ``pair_cost`` a pair; a line counts its pairs' values in full up to ``chicks_wanted`` and
    ``second_helping`` of what is beyond, up to twice that. Of each tested bird the least of its
    ``pieces`` (slope, start) at the number of its test chicks is added. A line has ``banked``
    before any pair; with ``moves`` the cost is that of each bird moved and not of each pair.
    """
    slugs = {kind: slug for slug, kind in _DEMANDS.items()}
    return {
        "schema": SCHEMA,
        "constants": dict(_CONSTANTS),
        "candidates": [asdict(one) for one in sorted(problem.candidates, key=lambda one: one.key)],
        "kinds": [_lists(asdict(one)) for one in problem.kinds],
        "cocks": [asdict(one) for one in problem.cocks],
        "lines": [asdict(one) for one in problem.lines],
        "demands": [{"demand": slugs[type(one)]} | asdict(one) for one in problem.demands],
        "standing_pens": [list(one) for one in problem.standing_pens],
        "turns": [list(together) for together in problem.turns],
        "limits": asdict(problem.limits),
        "tests": [_lists(asdict(one)) for one in problem.tests],
        "carriers": [_lists(asdict(one)) for one in problem.carriers],
        "group": None if problem.group is None else _lists(asdict(problem.group)),
        "moves": None if problem.moves is None else _lists(asdict(problem.moves)),
    }


def problem_from_dict(data: Mapping[str, Any]) -> PlanProblem:
    """Return the problem written by ``problem_to_dict``.

    Raises
    ------
    ProblemError
        If it is of another schema, made with other constants, or misses a part.
    """
    if data.get("schema") != SCHEMA:
        msg = f"schema {data.get('schema')!r} is not {SCHEMA!r}"
        raise ProblemError(msg)
    if data.get("constants") != _CONSTANTS:
        msg = f"made with other constants: {data.get('constants')!r}, here {_CONSTANTS!r}"
        raise ProblemError(msg)
    try:
        return PlanProblem(
            candidates=tuple(Candidate(**one) for one in data["candidates"]),
            kinds=tuple(PenKind(**_tuples(one)) for one in data["kinds"]),
            cocks=tuple(CockLimit(**one) for one in data["cocks"]),
            lines=tuple(LineGoal(**one) for one in data["lines"]),
            demands=tuple(_demand(one) for one in data["demands"]),
            standing_pens=tuple((pen, cock) for pen, cock in data["standing_pens"]),
            **_later_parts(data),
        )
    except (AttributeError, KeyError, TypeError, ValueError) as fault:
        msg = f"not a planning problem: {fault}"
        raise ProblemError(msg) from fault


def _later_parts(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return the parts that came later: a file written before them has none."""
    group, moves = data.get("group"), data.get("moves")
    return {
        "turns": _tuple(data.get("turns", [[""]])),
        "limits": PlanLimits(**data.get("limits", {})),
        "tests": tuple(TestGoal(**_tuples(one)) for one in data.get("tests", ())),
        "carriers": tuple(LineCarriers(**_tuples(one)) for one in data.get("carriers", ())),
        "group": None if group is None else GroupKinship(**_tuples(group)),
        "moves": None if moves is None else Moves(**_tuples(moves)),
    }


def _demand(data: Mapping[str, Any]) -> Demand:
    fields = {key: value for key, value in data.items() if key != "demand"}
    return _DEMANDS[data["demand"]](**fields)


def _lists(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Tuples as the lists that JSON knows."""
    return {key: _list(value) for key, value in fields.items()}


def _list(value: object) -> object:
    return [_list(one) for one in value] if isinstance(value, tuple) else value


def _tuples(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Lists as the tuples they were."""
    return {key: _tuple(value) for key, value in fields.items()}


def _tuple(value: Any) -> Any:  # noqa: ANN401
    return tuple(_tuple(one) for one in value) if isinstance(value, list) else value
