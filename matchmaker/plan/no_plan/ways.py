"""Ways out of a problem without a plan: the fewest rules to loosen, and by how little.

Each way is read off a plan of the elastic program and only then tried: the problem is posed again
with exactly these rules loosened, to the figures as they are said, and solved. What yields no plan
is not offered. Other ways are found by ruling out those found before.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.arithmetic.verify import WrongPlanError, evaluate
from matchmaker.plan.no_plan.elastic_rules import elastic_program
from matchmaker.plan.no_plan.loosen import loosen
from matchmaker.plan.no_plan.loosened import Kind, Loosened, Loosening
from matchmaker.plan.no_plan.reading import read_off
from matchmaker.plan.no_plan.relevant import Relevant, relevant_rules
from matchmaker.plan.program.decode import decode
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.conflict import find_conflict
from matchmaker.plan.searching.dive import plan_to_start_from
from matchmaker.plan.solvers.engine import choose_solver, limits_of, run
from matchmaker.plan.solvers.highs import FEW_SIDE_SEARCHES
from matchmaker.plan.solvers.highs_run import run_highs
from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from matchmaker.plan.no_plan.elastic import Elastic
    from matchmaker.plan.no_plan.loosened import Loosenable
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.solvers.engine import SolverName

MOST_WAYS = 4
"""Most ways out that are offered."""

MOST_TRIES = 10
"""Most solutions of the elastic program looked at."""

TUNING = {"presolve": "on", **FEW_SIDE_SEARCHES}
"""Measured on flocks of 60 hens (``tests.bench``): half the time of any other."""

ALIKE = (Kind.PLACES, Kind.PEN_MINIMUM, Kind.PEN, Kind.HENS_PER_COCK, Kind.ROW, Kind.APART)
"""Kinds of which one rule stands for all: another pen made larger is no other way out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A plan that a way out yields: its value and pairs; ``proved`` if there is none better.

    Unproved it is that of a dive, which falls short of the best by a few thousandths at most
    (measured on the examples and the bench's flocks).
    """

    value: float
    pairs: int
    proved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Rules to loosen, each with its figure, and what the plan then is."""

    loosened: tuple[Loosened, ...]
    trial: Trial

    @property
    def part(self) -> float:
        """How far its rules go in all, each as a part of the furthest it may."""
        return sum(one.part for one in self.loosened)


def ways_out(
    loosenable: Loosenable,
    relevant: Relevant | None = None,
    *,
    most: int = MOST_WAYS,
    tried: Callable[[tuple[Loosened, ...]], Trial | None] | None = None,
    solver: SolverName | None = None,
) -> tuple[Way, ...]:
    """Return ways out of a problem that has no plan: fewest rules first, then those that go least.

    Parameters
    ----------
    loosenable
        The problem, with rejected pairs and spare pens.
    relevant
        The rules that clashes rest on; found out unless given.
    most
        How many ways at most.
    tried
        Poses the problem with some rules loosened and solves it; ``None`` if there is no plan.
        Unless given, the problem is changed as it stands.
    solver
        "highs" or "cbc".
    """
    name = choose_solver(solver)

    def as_it_stands(loosened: tuple[Loosened, ...]) -> Trial | None:
        return trial_of(loosen(loosenable, loosened), some=loosenable.some, solver=name)

    if relevant is None:
        conflict = () if loosenable.some else find_conflict(loosenable.problem, solver=name)
        relevant = relevant_rules(loosenable, conflict, name)
    search = _Search(try_out=tried or as_it_stands, most=most, solver=name)
    search.look(loosenable.narrowed(relevant.rules), relevant.covers)
    if search.found and search.fewest > max(1, len(relevant.covers)):
        search.look(loosenable, (), fewer=True)
    if len(search.found) < most or search.fewest > 1:
        for rule in relevant.rules:
            if rule.kind is Kind.PENS_PER_COCK:
                narrowed = _with_more_pens(loosenable, rule).narrowed(relevant.rules)
                search.look(narrowed, (), (Loosened(rule=rule, to=rule.most),))
    ways = sorted(search.found, key=lambda way: (len(way.loosened), way.part, -way.trial.value))
    return tuple(ways[:most])


def trial_of(
    problem: PlanProblem, *, some: bool = False, solver: SolverName | None = None
) -> Trial | None:
    """A plan of a problem, found in little time; ``None`` if it has none (``some``: no pair).

    Raises
    ------
    WrongPlanError
        If the plan found breaks the problem: a bug.
    """
    name = choose_solver(solver)
    model = build(problem)
    if some:
        model.at_least(model.taken(range(len(model.x))), 1)
    start = plan_to_start_from(model) if name == "highs" else None
    proved = start is None
    if start is not None:
        model.program.values = start
    elif run(model.program, name).outcome is Outcome.NONE:
        return None
    pens = decode(model)
    score = evaluate(problem, pens)
    if score.broken:
        raise WrongPlanError(score.broken)
    return Trial(
        value=score.value,
        pairs=sum(len(pen.pairs) for pen in pens),
        proved=proved,
    )


@dataclass(slots=True, kw_only=True)
class _Search:
    """The ways found so far."""

    try_out: Callable[[tuple[Loosened, ...]], Trial | None]
    most: int
    solver: SolverName
    found: list[Way] = field(default_factory=list)
    seen: list[tuple[Loosening, ...]] = field(default_factory=list)

    @property
    def fewest(self) -> int:
        """The number of rules of the way with the fewest."""
        return min(len(way.loosened) for way in self.found)

    def look(
        self,
        loosenable: Loosenable,
        covers: Sequence[Sequence[Loosening]],
        before: tuple[Loosened, ...] = (),
        *,
        fewer: bool = False,
    ) -> None:
        """Look for ways of a problem, with other rules loosened before; ``fewer`` than found."""
        elastic = elastic_program(loosenable)
        for cover in covers:
            _one_of(elastic, cover)
        for chosen in self.seen:
            _rule_out(elastic, chosen)
        if fewer:
            every = dict.fromkeys(elastic.switches.values(), 1.0)
            elastic.model.at_most(every, self.fewest - 1)
        missing = self.most if before or fewer else self.most - len(self.found)
        for chosen in self._solutions(elastic, len(before)):
            missing -= self._tried((*before, *read_off(elastic, chosen)))
            if not missing:
                break
            for variant in _variants(chosen):
                self.seen.append(variant)
                _rule_out(elastic, variant)

    def _solutions(self, elastic: Elastic, before: int) -> Iterator[tuple[Loosening, ...]]:
        """The rules to loosen, best first, while they are not many more than the fewest."""
        for _ in range(MOST_TRIES):
            if not _solved(elastic, self.solver):
                return
            chosen = elastic.chosen()
            if self.found and before + len(chosen) > self.fewest + 1:
                return
            yield chosen
            if not chosen:
                return

    def _tried(self, loosened: tuple[Loosened, ...]) -> bool:
        """Whether this is a way out; kept if it is."""
        trial = self.try_out(loosened)
        if trial is not None:
            self.found.append(Way(loosened=loosened, trial=trial))
        return trial is not None


def _solved(elastic: Elastic, solver: SolverName) -> bool:
    """Solve the elastic program; whether it has a solution."""
    program = elastic.model.program
    if solver != "highs":
        return run(program, solver).outcome is not Outcome.NONE
    with quiet_stdout():
        return run_highs(program, TUNING | limits_of(None, None)).outcome is not Outcome.NONE


def _one_of(elastic: Elastic, cover: Sequence[Loosening]) -> None:
    """At least one of these rules is loosened."""
    switches = [elastic.switches[rule] for rule in cover if rule in elastic.switches]
    if len(switches) == sum(1 for rule in cover if rule.kind is not Kind.PENS_PER_COCK):
        elastic.model.at_least(dict.fromkeys(switches, 1.0), 1)


def _with_more_pens(loosenable: Loosenable, rule: Loosening) -> Loosenable:
    """The problem with one more pen for each cock that may have the fewest."""
    more = loosen(loosenable, (Loosened(rule=rule, to=rule.most),)).cocks
    return replace(loosenable, problem=replace(loosenable.problem, cocks=more), cocks=())


def _variants(chosen: tuple[Loosening, ...]) -> Iterator[tuple[Loosening, ...]]:
    """What is chosen, and the same with the flock's cap on kinship in place of a line's."""
    yield chosen
    caps = [rule for rule in chosen if rule.kind is Kind.KINSHIP]
    if caps and not any(rule.subject == "" for rule in caps):
        rest = [rule for rule in chosen if rule.kind is not Kind.KINSHIP]
        yield (*rest, Loosening(kind=Kind.KINSHIP))


def _rule_out(elastic: Elastic, chosen: tuple[Loosening, ...]) -> None:
    """Not all of these again, nor others of their kind in their place."""
    used = dict.fromkeys(_family(elastic, rule) for rule in chosen)
    columns = [column for column in used if column is not None]
    if len(columns) == len(used):
        elastic.model.at_most(dict.fromkeys(columns, 1.0), len(columns) - 1)


def _family(elastic: Elastic, rule: Loosening) -> int | None:
    """A column that is 1 if a rule of this one's family is loosened; ``None`` if it has none."""
    family = [
        switch
        for one, switch in elastic.switches.items()
        if one.kind is rule.kind
        and (rule.kind in ALIKE or (one.subject, one.field) == (rule.subject, rule.field))
    ]
    if len(family) < 2:
        return family[0] if family else None
    if rule.kind not in elastic.families:
        elastic.families[rule.kind] = elastic.model.column(0, 1, whole=True)
        for switch in family:
            elastic.model.at_most({switch: 1.0, elastic.families[rule.kind]: -1.0}, 0)
    return elastic.families[rule.kind]
