"""Which rules are worth loosening: those that some clash rests on.

A clash is met only by loosening one of its own requirements, or by letting in a pair that one of
them asks for. Rules no clash rests on stay as they are, which keeps the elastic program small.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.plan.no_plan.elastic import LIMITS
from matchmaker.plan.no_plan.loosen import all_the_way
from matchmaker.plan.no_plan.loosened import Extra, Kind, Loosening
from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)
from matchmaker.plan.searching.conflict import (
    COCK_LIMITS,
    PEN_MINIMUMS,
    PLACES,
    Requirement,
    clash,
    has_plan,
    requirements,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.plan.no_plan.loosened import Loosenable
    from matchmaker.plan.posing.problem import Demand
    from matchmaker.plan.solvers.engine import SolverName

SHARED = {
    PLACES: (Kind.PLACES, Kind.PEN, Kind.PEN_LINE, Kind.PEN_USE),
    PEN_MINIMUMS: (Kind.PEN_MINIMUM,),
    COCK_LIMITS: (Kind.HENS_PER_COCK, Kind.PENS_PER_COCK),
}
"""Requirements on all pens or cocks, and the rules behind them."""

OF_MANY = tuple(
    kind for kinds in SHARED.values() for kind in kinds if kind is not Kind.PENS_PER_COCK
)
"""Rules on single pens or cocks behind the requirements on all of them."""

LET_IN = (Kind.KINSHIP, Kind.PROOF, Kind.CHANCE, Kind.APART, Kind.ALLOW, Kind.ROW)
"""Rules that let rejected pairs in."""

ANY_PAIR = ("mean_inbreeding_max", "sire_share_max", "pairs")
"""Figures that any pair more may bring about."""


@dataclass(frozen=True, slots=True)
class Relevant:
    """The rules that clashes rest on, and for each clash those of which one must give way.

    ``clashes`` name each clash: the one given first, then what still clashes without it.
    """

    rules: tuple[Loosening, ...]
    covers: tuple[tuple[Loosening, ...], ...] = ()
    clashes: tuple[tuple[str, ...], ...] = ()


def relevant_rules(loosenable: Loosenable, conflict: Sequence[str], solver: SolverName) -> Relevant:
    """Return the rules that clashes rest on: of the one given, then of what still clashes.

    Without a conflict every rule counts: where no pair is allowed nothing clashes.
    """
    by_name = {one.name: one for one in requirements(loosenable.problem)}
    clashing: Sequence[Requirement] | None = [by_name[name] for name in conflict if name in by_name]
    if not clashing:
        return Relevant(loosenable.rules())
    rules: dict[Loosening, None] = {}
    covers, clashes = [], []
    while clashing is not None:
        clashes.append(tuple(one.name for one in clashing))
        cover = _needed(loosenable, clashing, tuple(_rules_behind(loosenable, clashing)), solver)
        if set(cover) <= set(rules):
            break
        covers.append(cover)
        rules |= dict.fromkeys(cover)
        clashing = clash(all_the_way(loosenable.narrowed(rules), rules), solver)
    return Relevant(tuple(rules), tuple(covers), tuple(clashes))


def _needed(
    loosenable: Loosenable,
    clashing: Sequence[Requirement],
    rules: tuple[Loosening, ...],
    solver: SolverName,
) -> tuple[Loosening, ...]:
    """Those of the rules behind a clash that, loosened, would end it.

    Requirements on all pens and all cocks stand for many rules. A deletion filter again: what is
    loosened to no avail stays loosened while the others are tried.
    """
    idle: tuple[Loosening, ...] = ()
    lets_in = tuple(rule for rule in rules if rule.kind in LET_IN)
    ones = [(rule,) for rule in rules if rule.kind in OF_MANY]
    for group in (*ones, lets_in) if lets_in else ones:
        more = (*idle, *group)
        if not has_plan(all_the_way(loosenable.narrowed(more), more), clashing, solver):
            idle = more
    return tuple(rule for rule in rules if rule not in idle)


def _rules_behind(loosenable: Loosenable, clashing: Sequence[Requirement]) -> dict[Loosening, None]:
    names = {one.name for one in clashing}
    figures = {(one.line, one.field) for one in clashing if one.field}
    kinds = {kind for name in names for kind in SHARED.get(name, ())}
    wanted = [extra for extra in loosenable.extras if _is_wanted(loosenable, clashing, extra)]
    needs = {need.rule for extra in wanted for group in extra.needs for need in group}
    allow = any(extra.allowable for extra in wanted)
    pens = set(_of_named_pens(loosenable, names))
    return {
        rule: None
        for rule in loosenable.rules()
        if rule in needs
        or rule.kind in kinds
        or (rule.kind is Kind.ALLOW and allow)
        or (rule.kind is Kind.WISH and rule.subject in names)
        or (rule.kind, rule.subject) in pens
        or _figure(rule) in figures
    }


def _of_named_pens(loosenable: Loosenable, names: set[str]) -> Iterator[tuple[Kind, str]]:
    """The rules, by kind and subject, that keep birds out of the pens where wishes want them."""
    wanted = {
        demand.pen
        for demand in loosenable.problem.demands
        if isinstance(demand, BirdInPen) and demand.name in names
    }
    for kind in loosenable.kinds:
        if wanted & set(kind.pens):
            yield (Kind.PEN, kind.pens[0])
            yield (Kind.PEN_LINE, kind.pens[0])
            yield (Kind.PEN_USE, kind.pens[0])


def _figure(rule: Loosening) -> tuple[str, str]:
    """The line and field of the figure that a rule is about."""
    if rule.kind is Kind.MINIMUM:
        return (rule.subject, rule.field)
    fields = {kind: field for field, kind in LIMITS.items()}
    return (rule.subject, fields.get(rule.kind, ""))


def _is_wanted(loosenable: Loosenable, clashing: Sequence[Requirement], extra: Extra) -> bool:
    """Whether a requirement that clashes asks for such a pair."""
    names = {one.name for one in clashing}
    one = extra.candidate
    if PEN_MINIMUMS in names or any(
        requirement.field in ANY_PAIR and not requirement.line for requirement in clashing
    ):
        return True
    lines = {requirement.line for requirement in clashing if requirement.line}
    birds = {
        bird
        for demand in loosenable.problem.demands
        if demand.name in names
        for bird in _birds(demand)
    }
    return one.line in lines or one.hen in birds or one.cock in birds


def _birds(demand: Demand) -> tuple[str, ...]:
    """The birds that a wish wants in the plan."""
    match demand:
        case PairTogether():
            return (demand.hen, demand.cock)
        case BirdInPen() | BirdUsed():
            return (demand.bird,)
        case HensTogether() | HensApart():
            return (demand.first, demand.second)
        case _:
            return ()
