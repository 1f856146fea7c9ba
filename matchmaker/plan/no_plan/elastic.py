"""The program of a problem whose rules may be loosened: which, and how far, is what it decides.

It is the model of the problem with every rule as loose as it may get; the rules themselves come
back as rows of their own, each with a switch (1 = loosened) and an amount: an elastic program
(Chinneck and Dravnieks 1991, from memory), its elastic parts grouped by the keeper's rules.

What is minimised is first the number of rules loosened, then how far they go, each as a part of
the furthest it may: so no solution gains by loosening one rule more.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.plan.no_plan.loosened import MINIMUMS, Kind, Loosening, key_of, more
from matchmaker.plan.posing.problem import BirdInPen, BirdNotInPen, HensTogether
from matchmaker.plan.program.model import build
from matchmaker.plan.program.program import INFINITE

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from matchmaker.plan.no_plan.loosened import Loosenable
    from matchmaker.plan.posing.problem import Demand, LineGoal, PenKind, PlanProblem
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Terms


Key: TypeAlias = "tuple[Kind, str, str]"
"""Kind, subject and field of a rule."""

LIMITS = {
    "mean_inbreeding_max": Kind.MEAN_INBREEDING,
    "sire_share_max": Kind.SIRE_SHARE,
    "chicks_max": Kind.CHICKS,
    "eggs_max": Kind.EGGS,
    "pairs": Kind.PAIRS,
}
"""The rule behind each limit of the plan."""

OF_PENS = (Kind.PLACES, Kind.PEN_MINIMUM, Kind.PEN_LINE, Kind.PEN_USE, Kind.PEN)
"""Rules about pens."""

FLOCK_WIDE = 1.001
"""A cap on kinship is raised for the whole flock only where that of one line does not do."""


@dataclass(slots=True)
class Elastic:
    """The loosened model with a switch for each rule, and how far it goes as terms.

    ``steps`` are, for rules with few figures, the switch of each figure; ``excess`` says, for rules
    of pens, by how much each cock's pens pass their figure. ``families`` say of a kind of rule
    whether any of it is loosened.
    """

    loosenable: Loosenable
    model: Model
    switches: dict[Loosening, int] = field(default_factory=dict)
    parts: dict[Loosening, Terms] = field(default_factory=dict)
    steps: dict[Loosening, dict[float, int]] = field(default_factory=dict)
    excess: dict[Loosening, list[tuple[str, int]]] = field(default_factory=dict)
    families: dict[Kind, int] = field(default_factory=dict)

    def switch(self, rule: Loosening) -> int:
        """The switch of a rule, added where it is new; without an amount it goes all the way."""
        if rule not in self.switches:
            self.switches[rule] = self.model.column(0, 1, whole=True)
            self.parts[rule] = {self.switches[rule]: 1.0}
        return self.switches[rule]

    def slack(self, rule: Loosening, most: float) -> int:
        """A column from 0 to ``most`` that is 0 unless the rule is loosened."""
        switch = self.switch(rule)
        column = self.model.column(0, most, whole=False)
        self.model.at_most({column: 1.0, switch: -most}, 0)
        return column

    def amount(self, rule: Loosening, most: float) -> int:
        """As ``slack``, and how far the rule goes is how far this column goes to ``most``."""
        column = self.slack(rule, most)
        self.parts[rule] = {column: 1.0 / most}
        return column

    def ladder(self, rule: Loosening, figures: Iterable[float]) -> dict[float, int]:
        """Switches for figures, the least loose first: each is 1 only if those before it are."""
        rungs: dict[float, int] = {}
        part, before = 0.0, None
        terms: Terms = {}
        for figure in figures:
            rungs[figure] = self.model.column(0, 1, whole=True)
            terms[rungs[figure]] = rule.part(figure) - part
            if before is None:
                self.switches[rule] = rungs[figure]
            else:
                self.model.at_most({rungs[figure]: 1.0, before: -1.0}, 0)
            part, before = rule.part(figure), rungs[figure]
        self.parts[rule] = terms
        self.steps[rule] = rungs
        return rungs

    def row(self, terms: Terms, low: float, high: float, switch: int) -> None:
        """Add low <= terms <= high, which need not hold where the switch is 1."""
        least, greatest = self._range(terms)
        if low > -INFINITE and least < low:
            self.model.at_least(terms | {switch: low - least}, low)
        if high < INFINITE and greatest > high:
            self.model.at_most(terms | {switch: high - greatest}, high)

    def minimise(self) -> None:
        """Set the objective: first how many rules are loosened, then how far."""
        weight = 1.0 + len(self.switches)
        cost: Terms = {}
        for rule, switch in self.switches.items():
            cost[switch] = cost.get(switch, 0.0) - weight
            dear = FLOCK_WIDE if (rule.kind, rule.subject) == (Kind.KINSHIP, "") else 1.0
            for column, part in self.parts[rule].items():
                cost[column] = cost.get(column, 0.0) - dear * part
        self.model.maximise(cost)

    def chosen(self) -> tuple[Loosening, ...]:
        """The rules loosened under the values in hand."""
        value = self.model.program.value_of
        return tuple(rule for rule, switch in self.switches.items() if value(switch) > 0.5)

    def figure(self, rule: Loosening) -> float:
        """The figure of a rule with steps, under the values in hand."""
        value = self.model.program.value_of
        return [figure for figure, rung in self.steps[rule].items() if value(rung) > 0.5][-1]

    def _range(self, terms: Terms) -> tuple[float, float]:
        lower, upper = self.model.program.lower, self.model.program.upper
        ends = [sorted((by * lower[at], by * upper[at])) for at, by in terms.items()]
        return sum(end[0] for end in ends), sum(end[1] for end in ends)


def loosest(loosenable: Loosenable) -> Model:
    """The model of the problem with every rule that may be loosened as loose as it may get."""
    problem = loosenable.problem
    rules = {(rule.kind, rule.subject, rule.field) for rule in loosenable.rules()}
    limits = {field: None for field, kind in LIMITS.items() if (kind, "", "") in rules}
    core: PlanProblem = replace(
        problem,
        candidates=(*problem.candidates, *(extra.candidate for extra in loosenable.extras)),
        kinds=tuple(_loosest_pens(loosenable, rules)),
        cocks=tuple(
            replace(limit, hens_max=limit.hens_max + more(limit.hens_max))
            if (Kind.HENS_PER_COCK, limit.cock, "") in rules
            else limit
            for limit in loosenable.cock_limits
        ),
        lines=tuple(_without_minimums(goal, rules) for goal in problem.lines),
        demands=tuple(_demands(loosenable, rules)),
        limits=replace(problem.limits, **limits),
        group=None,
    )
    return build(core)


def pools(loosenable: Loosenable) -> dict[tuple[str, str], PenKind]:
    """The pens as the problem has them, by label and turn."""
    return {(pen, kind.turn): kind for kind in loosenable.kinds for pen in kind.pens}


def loosens_pens(loosenable: Loosenable) -> bool:
    """Whether any rule that may be loosened is about pens, so that their rows are elastic."""
    return any(rule.kind in OF_PENS for rule in loosenable.rules())


def _loosest_pens(loosenable: Loosenable, rules: Collection[Key]) -> Iterator[PenKind]:
    """Pens that take more hens of anything; their minimums, all void, only keep kinds apart."""
    if not loosens_pens(loosenable):
        yield from loosenable.kinds
        return
    for place, kind in enumerate(loosenable.kinds):
        larger = key_of(Kind.PLACES, kind) in rules
        yield replace(
            kind,
            hens_max=kind.hens_max + (more(kind.hens_max) if larger else 0),
            hens_min=-place,
            line="" if key_of(Kind.PEN_LINE, kind) in rules else kind.line,
            rows=() if key_of(Kind.PEN_USE, kind) in rules else kind.rows,
        )


def _without_minimums(goal: LineGoal, rules: Collection[Key]) -> LineGoal:
    void = {field: 0 for field in MINIMUMS if (Kind.MINIMUM, goal.line, field) in rules}
    if (Kind.SIRE_SHARE, goal.line, "") in rules:
        return replace(goal, **void, sire_share_max=None)  # type: ignore[arg-type]
    return replace(goal, **void)  # type: ignore[arg-type]


def _demands(loosenable: Loosenable, rules: Collection[Key]) -> Iterator[Demand]:
    """The wishes that must be kept; of the others only what makes the model know them."""
    for demand in loosenable.problem.demands:
        if (Kind.WISH, demand.name, "") in rules:
            yield from _seen(loosenable, demand)
        else:
            yield demand


def _seen(loosenable: Loosenable, demand: Demand) -> Iterator[Demand]:
    """Demands that ask nothing, but make the model know the same pens and hens one by one."""
    several = any(limit.pens_max > 1 for limit in loosenable.cock_limits)
    if isinstance(demand, BirdInPen | BirdNotInPen):
        yield BirdNotInPen(name=demand.name, bird=demand.bird, pen="")
        yield BirdNotInPen(name=demand.name, bird="", pen=demand.pen)
    elif isinstance(demand, HensTogether) and several:
        for hen in (demand.first, demand.second):
            yield BirdNotInPen(name=demand.name, bird=hen, pen="")
        for kind in loosenable.kinds:
            for pen in kind.pens:
                yield BirdNotInPen(name=demand.name, bird="", pen=pen)


def wish(name: str) -> Loosening:
    """The rule that a wish is."""
    return Loosening(kind=Kind.WISH, subject=name)
