"""One pen: what it is, why its cock and hens are in it, and what else it could hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.explain.forced import posed, without_pair
from matchmaker.explain.patience import Patience
from matchmaker.explain.prices import pair_costs
from matchmaker.explain.worth import difference, without_bird

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.explain.forced import Forced
    from matchmaker.explain.prices import Cost
    from matchmaker.explain.worth import Worth
    from matchmaker.pairs.pair import Pair
    from matchmaker.plan.posing.problem import PenKind
    from matchmaker.plan.season.season_plan import FilledPen, SeasonPlan
    from matchmaker.tables.records import PenRecord

MOST_NEXT = 3
"""Hens named that could join a pen, or take a place in it, at the least price."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A hen in a pen, and the best plan if she might not be with its cock."""

    pair: Pair
    if_banned: Forced


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """A hen who is not in the pen, and what it would cost to put her to its cock."""

    pair: Pair
    cost: Cost


@dataclass(frozen=True, slots=True, kw_only=True)
class Stint:
    """A pen in one part of the season: its cock, each of his hens, and who would come next.

    ``cock_worth`` is by how much the best plan is worth less without him; ``places`` is how many
    hens he may have here, ``pen_places`` how many the pen holds.
    """

    filled: FilledPen
    places: int
    pen_places: int
    cock_worth: Worth
    kept: tuple[Kept, ...]
    next_hens: tuple[Next, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PenAnswer:
    """One pen of the season: its row in the tables, and what stands in it in each part.

    ``stints`` are empty where nothing is in it; ``kinds`` are what it is to the program, none where
    it is closed or no row is open for its use.
    """

    plan: SeasonPlan
    record: PenRecord
    kinds: tuple[PenKind, ...]
    stints: tuple[Stint, ...]


def why_pen(plan: SeasonPlan, label: str, *, patience: Patience | None = None) -> PenAnswer:
    """Explain one pen; ``patience`` says how long the searches may take.

    Raises
    ------
    UsageError
        If there is no such pen; all are named.
    """
    records = plan.table.study.flock.tables.pens
    own = [one for one in records if one.pen.casefold() == label.casefold()]
    if not own:
        named = ", ".join(dict.fromkeys(one.pen for one in records))
        raise UsageError(f"there is no pen {label}; the pens are {named}")
    pen = own[0].pen
    return PenAnswer(
        plan=plan,
        record=own[0],
        kinds=tuple(kind for kind in plan.problem.kinds if pen in kind.pens),
        stints=tuple(
            _stint(plan, filled, patience or Patience())
            for filled in plan.pens
            if filled.pen == pen
        ),
    )


def _stint(plan: SeasonPlan, filled: FilledPen, patience: Patience) -> Stint:
    season = posed(plan)
    kind = next(
        one for one in plan.problem.kinds if filled.pen in one.pens and one.turn == filled.turn
    )
    limit = next(one for one in plan.problem.cocks if one.cock == filled.cock)
    left = len(filled.pairs) + 2  # searches: one a hen, one for the cock, one for who comes next
    without = without_bird(plan.problem, filled.cock)
    worth = difference(plan.problem, plan.solution, without, patience, parts=left)
    kept = []
    for pair in filled.pairs:
        left -= 1
        kept.append(Kept(pair=pair, if_banned=without_pair(season, pair, patience, parts=left)))
    return Stint(
        filled=filled,
        places=min(kind.hens_max, limit.hens_max),
        pen_places=kind.hens_max,
        cock_worth=worth,
        kept=tuple(kept),
        next_hens=tuple(_next_hens(plan, filled, patience)),
    )


def _next_hens(plan: SeasonPlan, filled: FilledPen, patience: Patience) -> Iterator[Next]:
    """The hens of the cock's rows here who are with him at the least price."""
    rows = {chosen.row for chosen in filled.chosen}
    inside = {chosen.hen for chosen in filled.chosen}
    others = {
        (one.hen, one.cock, one.row)
        for one in plan.problem.candidates
        if one.cock == filled.cock and one.row in rows and one.hen not in inside
    }
    by_key = {pair.key: pair for pair in plan.table.pairs}
    costs = pair_costs(plan, others, exact=True, watch=patience.watch()) or {}
    for key in sorted(costs, key=lambda key: (costs[key].at_least, key))[:MOST_NEXT]:
        yield Next(pair=by_key[key], cost=costs[key])
