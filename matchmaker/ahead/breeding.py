"""A season in the pens: eggs set, hatched and raised, pair by pair."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.plan.posing.pose import plan_limits
from matchmaker.plan.posing.turns import overlapping, season_turns

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.flock.flock import Flock
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import Candidate, PlanLimits
    from matchmaker.plan.posing.turns import Turn
    from matchmaker.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """The chicks of one pair in one pen: eggs set, chicks hatched and raised.

    ``mates`` are the hens of which each may be the dam as far as the keeper knows: she alone where
    eggs are told apart by hen or none other in the pen lived to lay.
    """

    pair: Candidate
    pen: str
    mates: tuple[str, ...]
    eggs: int
    hatched: int
    raised: int


def breed(
    flock: Flock, pens: Sequence[PlannedPen], lost: Mapping[str, int], rng: np.random.Generator
) -> tuple[Family, ...]:
    """What the pens of a season bring.

    As many eggs are set of each pair as raise the chicks for which it counts, on average; fewer
    where hen or cock dies before they are laid (a cock's eggs are kept for ``eggs_after_days``
    more; nobody takes his place), and all in proportion where the incubator or the rearing room
    would not hold them. Of the eggs a binomial number hatches and is raised, by the fertility,
    hatch, rearing and depression of the settings.
    """
    settings, birds = flock.settings, flock.by_band()
    turns = {turn.label: turn for turn in season_turns(flock.tables.pens, settings)}
    known = {pen.pen: pen.dam_known for pen in flock.tables.pens}
    chosen = [(pen, pair) for pen in pens for pair in pen.pairs if pair.line]
    laid = {pair.key: _laid(settings, pair, lost, turns[pair.turn]) for _, pair in chosen}
    turns_at_once = overlapping(tuple(turns.values()))
    scale = part_set([pair for _, pair in chosen], turns_at_once, plan_limits(settings))
    found = []
    for pen, pair in sorted(chosen, key=lambda one: one[1].key):
        hatch = _hatch(settings, [birds[pair.hen], birds[pair.cock]], pair.kinship)
        part = scale * laid[pair.key]
        eggs = _about(part * pair.chicks / max(hatch * settings.year.rearing, 1e-9), rng)
        hatched = int(rng.binomial(eggs, hatch))
        beside = (one for one in pen.pairs if one.row == pair.row and laid[one.key] > 0)
        mates = tuple(one.hen for one in beside) or (pair.hen,)
        found.append(
            Family(
                pair=pair,
                pen=pen.pen,
                mates=(pair.hen,) if known.get(pen.pen) else mates,
                eggs=eggs,
                hatched=hatched,
                raised=int(rng.binomial(hatched, settings.year.rearing)),
            )
        )
    return tuple(found)


def _hatch(settings: Settings, parents: Sequence[Bird], kinship: float) -> float:
    """The part of a pair's eggs that hatches: the lower of two written fertilities counts."""
    written = [one for bird in parents if (one := bird.record.fertility) is not None]
    fertility = min(written, default=settings.year.fertility)
    survival = max(1 - settings.year.depression * kinship, 0.0)
    return fertility * settings.year.hatch_of_fertile * survival


def _about(mean: float, rng: np.random.Generator) -> int:
    """The whole number below or above a mean, by chance, so that the mean is kept."""
    return int(mean + rng.random())


def part_set(
    pairs: Sequence[Candidate], turns: Iterable[Container[str]], limits: PlanLimits
) -> float:
    """The part of the pairs' eggs that incubator and rearing room have place for, 0 to 1.

    Whoever fills pens without planning finds out in spring and sets fewer eggs of each. ``turns``
    are sets of turns that overlap, whose eggs may be set in one week, as in the plan.

    Examples
    --------
    >>> from matchmaker.plan.posing.problem import Candidate, PlanLimits
    >>> pair = Candidate(hen="H", cock="C", row="", line="", value=1, wanted=4, chicks=8, eggs=2)
    >>> part_set([pair], [("",)], PlanLimits(chicks_max=6))
    0.75
    """
    needs = [(limits.chicks_max, sum(pair.chicks for pair in pairs))]
    for at_once in turns:
        eggs = sum(pair.eggs for pair in pairs if pair.turn in at_once)
        needs.append((limits.eggs_max, eggs))
    return min(
        (most / need for most, need in needs if most is not None and need > most), default=1.0
    )


def _laid(settings: Settings, pair: Candidate, lost: Mapping[str, int], turn: Turn) -> float:
    """The part of a turn's eggs that is laid, and his, before hen or cock is lost."""
    first = (turn.eggs_from - settings.pen_up).days
    days = max(turn.days, 1)
    ends = [lost[pair.hen]] if pair.hen in lost else []
    if pair.cock in lost:
        ends.append(lost[pair.cock] + settings.limits.eggs_after_days)
    return float(np.clip((min(ends, default=first + days) - first) / days, 0.0, 1.0))
