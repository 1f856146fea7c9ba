"""The season's plan: the solved pens with everything people ask of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from statistics import fmean
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.errors import NoPlanError
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.best import best_plan
from matchmaker.plan.season.changes import Change, changes_from

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.genetics.kin.kinship import KinshipMatrix
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from matchmaker.plan.solvers.watch import Watch


NO_PAIR = "no pair is allowed in any open crossing (matchmaker pairs says why, check what is open)"


class Idle(StrEnum):
    """Why a living bird is in no pen."""

    SEX_UNKNOWN = "sex-unknown"
    REJECTED = "rejected"
    NO_PAIR = "no-pair"
    NO_PLACE = "no-place"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unused:
    """A living bird in no pen: the reason, and the rules behind it where there are some."""

    bird: str
    reason: Idle
    broken: tuple[Broken, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledPen:
    """A pen with its cock and his pairs, hens in order of their bands.

    ``chosen`` are the same pairs as the program counted them; ``turn`` is the part of the season
    for which the pen is his, "" for all of it.
    """

    pen: str
    cock: str
    pairs: tuple[Pair, ...]
    chosen: tuple[Candidate, ...]
    turn: str = ""

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines that the chicks of this pen join."""
        return tuple(sorted({pair.line or "" for pair in self.pairs} - {""}))

    def wanted_of_raised(self, line: str | None = None) -> float:
        """Wanted chicks expected among those to be raised here (for one line, if it is given)."""
        return sum(
            chosen.chicks * (pair.wanted_chance or 0.0)
            for pair, chosen in zip(self.pairs, self.chosen, strict=True)
            if not chosen.tested and line in (None, pair.line)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FlockFigures:
    """What the pairs, counted equally, mean for the next generation.

    ``group_kinship`` is cᵀKc over the parents used, each mating giving half to each parent;
    ``effective_size`` is 4 Nm Nf / (Nm + Nf) with the effective numbers of cocks and hens,
    1 / Σ share² (Wright 1931, Genetics 16:97, from memory; the formula is in FAO 2010).
    """

    mean_inbreeding: float
    group_kinship: float
    effective_size: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonNeeds:
    """What has to be raised and set for all that the plan counts.

    ``chicks`` have to be raised in the season, ``wanted`` of them are expected to be wanted;
    ``eggs`` are set a week, in the busiest part of the season. The limits are ``None`` where none
    is given.
    """

    chicks: float
    wanted: float
    eggs: float
    chicks_max: float | None
    eggs_max: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPlan:
    """The plan with its problem, proof, unused birds and changes."""

    table: PairTable
    problem: PlanProblem
    solution: Solution
    pens: tuple[FilledPen, ...]
    unused: tuple[Unused, ...]
    figures: FlockFigures
    needs: SeasonNeeds
    changes: tuple[Change, ...]

    def chicks_to_raise(self, line: str) -> float:
        """Chicks to be raised for all that a line's pairs count."""
        return sum(one.chicks for pen in self.pens for one in pen.chosen if one.line == line)

    def wanted_of_raised(self, line: str) -> float:
        """Wanted chicks expected among those to be raised for a line."""
        return sum(pen.wanted_of_raised(line) for pen in self.pens)

    def mean_kinship(self, line: str) -> float:
        """Mean kinship of hen and cock over a line's pairs: the mean inbreeding of its chicks."""
        kinships = [p.kinship for pen in self.pens for p in pen.pairs if p.line == line]
        return fmean(kinships) if kinships else 0.0


def plan_season(
    table: PairTable,
    *,
    fresh: bool = False,
    matings: int | None = None,
    time_limit: float | None = None,
    watch: Watch | None = None,
) -> SeasonPlan:
    """Solve the season's plan.

    Parameters
    ----------
    table
        All pairs, judged.
    fresh
        Whether to forget the standing plan.
    matings
        The exact number of pairs, if it is given.
    time_limit
        Seconds after which to stop with the best plan found.
    watch
        Told how far the search is; may stop it.

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules and wishes.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    problem = pose_allowed(table, fresh=fresh, matings=matings)
    solution = best_plan(problem, time_limit=time_limit, watch=watch)
    return season_plan_of(table, problem, solution, fresh=fresh)


def pose_season(
    table: PairTable, *, fresh: bool = False, matings: int | None = None
) -> PlanProblem:
    """The problem of the season, for a number of pairs if one is given."""
    problem = pose_problem(table, fresh=fresh)
    if matings is None:
        return problem
    return replace(problem, limits=replace(problem.limits, pairs=matings))


def pose_allowed(
    table: PairTable, *, fresh: bool = False, matings: int | None = None
) -> PlanProblem:
    """The problem of the season, if any pair is allowed.

    Raises
    ------
    NoPlanError
        If none is.
    """
    problem = pose_season(table, fresh=fresh, matings=matings)
    if not problem.candidates:
        raise NoPlanError((NO_PAIR,))
    return problem


def season_plan_of(
    table: PairTable, problem: PlanProblem, solution: Solution, *, fresh: bool = False
) -> SeasonPlan:
    """A solved problem with everything people ask of a plan."""
    pens = fill_pens(table, solution)
    pairs = [pair for pen in pens for pair in pen.pairs]
    return SeasonPlan(
        table=table,
        problem=problem,
        solution=solution,
        pens=pens,
        unused=tuple(unused_birds(table, pairs)),
        figures=flock_figures(pairs, table.study.kinship),
        needs=season_needs(problem, pens),
        changes=() if fresh else changes_from(table, problem, solution),
    )


def fill_pens(table: PairTable, solution: Solution) -> tuple[FilledPen, ...]:
    """The solved pens with the full pairs in place of the program's candidates."""
    by_key = {pair.key: pair for pair in table.pairs}
    return tuple(
        FilledPen(
            pen=pen.pen,
            cock=pen.cock,
            pairs=tuple(by_key[chosen.hen, chosen.cock, chosen.row] for chosen in pen.pairs),
            chosen=pen.pairs,
            turn=pen.turn,
        )
        for pen in solution.pens
    )


def season_needs(problem: PlanProblem, pens: Sequence[FilledPen]) -> SeasonNeeds:
    """Chicks to raise and eggs to set a week for what the plan counts, with their limits."""
    chosen = [one for pen in pens for one in pen.chosen]
    at_once = [sum(one.eggs for one in chosen if one.turn in turns) for turns in problem.turns]
    return SeasonNeeds(
        chicks=sum(one.chicks for one in chosen),
        wanted=sum(pen.wanted_of_raised() for pen in pens),
        eggs=max(at_once, default=0.0),
        chicks_max=problem.limits.chicks_max,
        eggs_max=problem.limits.eggs_max,
    )


def flock_figures(pairs: Sequence[Pair], kinship: KinshipMatrix) -> FlockFigures:
    """Mean inbreeding of the chicks, group kinship and effective size of the parents; else 0."""
    if not pairs:
        return FlockFigures(mean_inbreeding=0.0, group_kinship=0.0, effective_size=0.0)
    hens = _shares([pair.hen for pair in pairs])
    cocks = _shares([pair.cock for pair in pairs])
    males, females = (1 / sum(share**2 for share in part.values()) for part in (cocks, hens))
    return FlockFigures(
        mean_inbreeding=fmean(pair.kinship for pair in pairs),
        group_kinship=_group_kinship(hens, cocks, kinship),
        effective_size=4 * males * females / (males + females),
    )


def _shares(birds: Sequence[str]) -> dict[str, float]:
    return {bird: birds.count(bird) / len(birds) for bird in sorted(set(birds))}


def _group_kinship(
    hens: Mapping[str, float], cocks: Mapping[str, float], kinship: KinshipMatrix
) -> float:
    contributions = {**hens, **cocks}
    place = {bird: at for at, bird in enumerate(kinship.birds)}
    at = [place[bird] for bird in contributions]
    weights = np.array(list(contributions.values())) / 2
    return float(weights @ kinship.values[np.ix_(at, at)] @ weights)


def unused_birds(table: PairTable, pairs: Sequence[Pair]) -> Iterator[Unused]:
    """The living birds in no pair, each with the reason."""
    used = {bird for pair in pairs for bird in (pair.hen, pair.cock)}
    choosable = {bird for pair in table.allowed for bird in (pair.hen, pair.cock)}
    for bird in table.study.flock.living:
        if bird.band in used:
            continue
        if bird.sex is None:
            yield Unused(bird=bird.band, reason=Idle.SEX_UNKNOWN)
        elif bird.band in choosable:
            yield Unused(bird=bird.band, reason=Idle.NO_PLACE)
        elif table.of_birds[bird.band]:
            yield Unused(bird=bird.band, reason=Idle.REJECTED, broken=table.of_birds[bird.band])
        else:
            yield Unused(bird=bird.band, reason=Idle.NO_PAIR, broken=_commonest(table, bird.band))


def _commonest(table: PairTable, bird: str) -> tuple[Broken, ...]:
    """The rules of the bird's least rejected pair: what stands most nearly in the way."""
    own = [pair for pair in table.pairs if bird in (pair.hen, pair.cock)]
    if not own:
        return ()
    return min(own, key=lambda pair: (pair.crossing is None, len(pair.broken), pair.key)).broken
