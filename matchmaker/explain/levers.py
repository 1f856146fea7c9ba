"""What a keeper might change so that another pair is chosen: one number at a time.

A lever is a prediction of a bird, a weight, or what a line is given: at each of its settings every
pair has another value, while no rule changes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final, Protocol

from matchmaker.explain.forced import posed_alike
from matchmaker.pairs.table import revalued
from matchmaker.pairs.value import share_weight
from matchmaker.scheme_settings import LineSettings

if TYPE_CHECKING:
    from collections.abc import Callable, Container, Iterator, Sequence

    from matchmaker.explain.forced import Posed
    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.pairs.table import Key, PairTable
    from matchmaker.plan.posing.problem import PlanProblem

PREDICTION_STEP: Final = 0.1
"""Genetic SDs by which a prediction is moved at a time."""

PREDICTION_MOST: Final = 3.0
"""Genetic SDs that a prediction is moved at most: further birds of a flock hardly ever lie."""

WEIGHT_STEP: Final = 0.05
WEIGHT_MOST: Final = 1.0
"""Weights are moved in such steps, up to this, and down to 0."""

IMPORTANCE_STEP: Final = 0.1
IMPORTANCE_MOST: Final = 5.0
"""Importance of a line: steps, and by how much it is raised at most."""

MOST_RIVALS: Final = 2
"""Hens who would leave the plan, whose predictions are tried."""

CHICKS_MOST: Final = 3.0
"""A line is given at most so many times the chicks it wants."""


class LeverKind(StrEnum):
    """What is changed."""

    PREDICTION = "prediction"
    TRAIT_WEIGHT = "trait-weight"
    SHARE_WEIGHT = "share-weight"
    IMPORTANCE = "importance"
    CHICKS_WANTED = "chicks-wanted"
    PLACES = "places"
    HENS_OF_COCK = "hens-of-cock"
    PEN = "pen"


class Lever(Protocol):
    """One number that may be changed, in steps."""

    @property
    def kind(self) -> LeverKind:
        """What it is."""
        ...

    @property
    def now(self) -> float:
        """The number as it is."""
        ...

    @property
    def steps(self) -> int:
        """How many steps there are."""
        ...

    def number(self, step: int) -> float:
        """The number after so many steps."""
        ...

    def problem_at(
        self, season: Posed, step: int, only: Container[Key] | None = None
    ) -> PlanProblem:
        """The season's problem after so many steps; of some pairs alone, if they are named."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueLever:
    """A ``bird``'s prediction of a ``trait``, or a setting that weighs pairs.

    ``now`` is the number as it is; it goes up to ``most`` or down to it, in steps of ``step``
    (below 0: down). A prediction is counted in genetic SDs from where it is, more being better.
    ``study_at`` is the study with the number changed.
    """

    kind: LeverKind
    now: float
    step: float
    most: float
    study_at: Callable[[float], Study]
    bird: str = ""
    trait: str = ""
    line: str = ""

    @property
    def steps(self) -> int:
        """How many steps there are."""
        return max(0, int((self.most - self.now) / self.step + 1e-6))

    def number(self, step: int) -> float:
        """The number after so many steps."""
        return round(self.now + step * self.step, 6)

    def problem_at(
        self, season: Posed, step: int, only: Container[Key] | None = None
    ) -> PlanProblem:
        """The season's problem after so many steps; of some pairs alone, if they are named."""
        table = revalued(season.table, self.study_at(self.number(step)), only)
        return posed_alike(table, season.problem)


def value_levers(
    table: PairTable, birds: Sequence[str], line: str | None, rivals: Rivals
) -> Iterator[ValueLever]:
    """The levers that bear on birds whose chicks join a line.

    The birds predicted better, the hens who would leave the plan for it predicted worse; what its
    line is given, and the lines that lose by it; every weight.
    """
    study = table.study
    heaviest = _heaviest(study)
    if heaviest is not None:
        for bird in birds:
            yield _prediction(study, bird, heaviest)
        for bird in rivals.hens[:MOST_RIVALS]:
            yield _down(_prediction(study, bird, heaviest), -PREDICTION_MOST)
    for other in (one for one in dict.fromkeys((line, *rivals.lines)) if one):
        for lever in (_importance(study, other), _chicks(table, other)):
            yield lever if other == line else _down(lever, lever.step)
    for trait in study.forecast.traits:
        if trait.genetic_sd and trait.aim.weight:
            yield from _both_ways(_trait_weight(study, trait))
    yield from _both_ways(_share_weight(study))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rivals:
    """What stands against a pair: hens who leave the plan for it, lines that have less then."""

    hens: tuple[str, ...]
    lines: tuple[str, ...]


def _down(lever: ValueLever, least: float) -> ValueLever:
    """The same number going down, to this."""
    return replace(lever, step=-lever.step, most=least)


def _both_ways(up: ValueLever) -> Iterator[ValueLever]:
    yield up
    yield _down(up, 0.0)


def _heaviest(study: Study) -> TraitForecast | None:
    """The trait of most weight that has a direction: where the least change of a bird does most."""
    known = [t for t in study.forecast.traits if t.genetic_sd and t.aim.optimum is None]
    return max(
        (one for one in known if one.aim.weight), key=lambda one: one.aim.weight, default=None
    )


def _prediction(study: Study, bird: str, trait: TraitForecast) -> ValueLever:
    return ValueLever(
        kind=LeverKind.PREDICTION,
        now=0.0,
        step=PREDICTION_STEP,
        most=PREDICTION_MOST,
        study_at=lambda by: with_prediction(study, bird, trait.aim.trait, by),
        bird=bird,
        trait=trait.aim.trait,
    )


def with_prediction(study: Study, bird: str, trait: str, by: float) -> Study:
    """The study with one bird predicted better in a trait, by so many genetic SDs."""
    at = study.forecast.position(bird)

    def moved(one: TraitForecast) -> TraitForecast:
        values = one.values.copy()
        values[at] += one.aim.sign * by * one.genetic_sd
        return replace(one, values=values)

    return _with_trait(study, trait, moved)


def _trait_weight(study: Study, trait: TraitForecast) -> ValueLever:
    name = trait.aim.trait
    return ValueLever(
        kind=LeverKind.TRAIT_WEIGHT,
        now=trait.aim.weight,
        step=WEIGHT_STEP,
        most=max(WEIGHT_MOST, trait.aim.weight),
        study_at=lambda weight: with_trait_weight(study, name, weight),
        trait=name,
    )


def with_trait_weight(study: Study, trait: str, weight: float) -> Study:
    """The study with another weight of a trait."""
    return _with_trait(study, trait, lambda one: replace(one, aim=replace(one.aim, weight=weight)))


def _with_trait(
    study: Study, name: str, changed: Callable[[TraitForecast], TraitForecast]
) -> Study:
    traits = tuple(changed(one) if one.aim.trait == name else one for one in study.forecast.traits)
    return replace(
        study,
        forecast=replace(study.forecast, traits=traits),
        prospects=study.prospects.with_traits(traits),
    )


def _share_weight(study: Study) -> ValueLever:
    now = share_weight(study.flock.settings)

    def study_at(weight: float) -> Study:
        settings = study.flock.settings
        weights = settings.weights.model_copy(update={"recurrent_share": weight})
        return _with_settings(study, {"weights": weights})

    return ValueLever(
        kind=LeverKind.SHARE_WEIGHT,
        now=now,
        step=WEIGHT_STEP,
        most=max(WEIGHT_MOST, now),
        study_at=study_at,
    )


def _importance(study: Study, line: str) -> ValueLever:
    now = study.flock.settings.line(line).importance
    return ValueLever(
        kind=LeverKind.IMPORTANCE,
        now=now,
        step=IMPORTANCE_STEP,
        most=now + IMPORTANCE_MOST,
        study_at=lambda number: _with_line(study, line, {"importance": number}),
        line=line,
    )


def _chicks(table: PairTable, line: str) -> ValueLever:
    """Chicks wanted of a line; the other lines keep theirs, written or not."""
    study = table.study
    now = table.needs[line].chicks_wanted
    return ValueLever(
        kind=LeverKind.CHICKS_WANTED,
        now=now,
        step=1.0,
        most=CHICKS_MOST * now,
        study_at=lambda number: _with_line(study, line, {"chicks_wanted": number}),
        line=line,
    )


def _with_line(study: Study, line: str, changed: dict[str, Any]) -> Study:
    settings = study.flock.settings
    own = settings.lines.get(line, LineSettings()).model_copy(update=changed)
    return _with_settings(study, {"lines": {**settings.lines, line: own}})


def _with_settings(study: Study, changed: dict[str, Any]) -> Study:
    flock = study.flock
    settings = flock.settings.model_copy(update=changed)
    tables = replace(flock.tables, settings=settings)
    return replace(study, flock=replace(flock, settings=settings, tables=tables))
