"""One bird: why it is where it is, or in no pen, and what its other places would cost."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.explain.choosing import what_would_use
from matchmaker.explain.forced import posed
from matchmaker.explain.pair import placed_pairs
from matchmaker.explain.patience import Patience
from matchmaker.explain.prices import pair_costs
from matchmaker.explain.wish_prices import wish_prices
from matchmaker.explain.worth import difference, without_bird
from matchmaker.pairs.rules import nearest_cause
from matchmaker.plan.nearly_best.near_model import minds_kinship

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.explain.choosing import Choosing
    from matchmaker.explain.pair import Placed
    from matchmaker.explain.prices import Cost
    from matchmaker.explain.wish_prices import WishPrice
    from matchmaker.explain.worth import Worth
    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken, Rule
    from matchmaker.pairs.table import Key, PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan, Unused


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place a bird could have, and what it costs, where that can be worked out."""

    pair: Pair
    cost: Cost | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """So many mates that one rule rejects, with the least that was measured and the limit."""

    rule: Rule
    mates: tuple[str, ...]
    nearest: Broken


@dataclass(frozen=True, slots=True, kw_only=True)
class BirdAnswer:
    """All there is to say of one bird this season.

    ``broken`` are the rules that reject it whatever its mate. ``placed`` are its pairs in the plan,
    ``unused`` says why it is in none. ``places`` are its other allowed pairs, the cheapest first;
    ``refused`` are the mates it may not have, by rule. ``worth`` is by how much the best plan is
    worth less without the bird, ``None`` where it is in none, and
    ``choosing`` then says what would have it used. ``worked_out`` is false where costs are not: the
    kinship of the parents as a group has a limit or a price then.
    """

    table: PairTable
    plan: SeasonPlan | None
    bird: Bird
    broken: tuple[Broken, ...]
    placed: tuple[Placed, ...] = ()
    unused: Unused | None = None
    places: tuple[Place, ...] = ()
    refused: tuple[Refused, ...] = ()
    worth: Worth | None = None
    choosing: Choosing | None = None
    worked_out: bool = True
    wishes: tuple[WishPrice, ...] = ()


def why_bird(
    table: PairTable, plan: SeasonPlan | None, band: str, *, patience: Patience | None = None
) -> BirdAnswer:
    """Explain one bird; ``patience`` says how long the searches may take.

    Raises
    ------
    KeyError
        If no bird has this band.
    """
    birds = table.study.flock.by_band()
    own = [
        pair
        for pair in table.pairs
        if band in (pair.hen, pair.cock) and birds[_mate(pair, band)].alive_here
    ]
    answer = BirdAnswer(
        table=table,
        plan=plan,
        bird=birds[band],
        broken=table.of_birds.get(band, ()),
        refused=_refused(band, own),
    )
    return answer if plan is None else _in_plan(answer, plan, own, patience or Patience())


def _in_plan(
    answer: BirdAnswer, plan: SeasonPlan, own: Iterable[Pair], patience: Patience
) -> BirdAnswer:
    band = answer.bird.band
    placed = tuple(one for one in placed_pairs(plan) if band in (one.pair.hen, one.pair.cock))
    taken = {one.pair.key for one in placed}
    others = {pair.key: pair for pair in own if pair.allowed and pair.key not in taken}
    return replace(
        answer,
        placed=placed,
        unused=next((one for one in plan.unused if one.bird == band), None),
        places=_places(plan, others, patience),
        worked_out=not minds_kinship(plan.problem),
        worth=difference(
            plan.problem, plan.solution, without_bird(plan.problem, band), patience, parts=2
        )
        if placed
        else None,
        choosing=what_would_use(posed(plan), band, patience) if others and not placed else None,
        wishes=wish_prices(plan, {band}, patience),
    )


def _places(plan: SeasonPlan, pairs: Mapping[Key, Pair], patience: Patience) -> tuple[Place, ...]:
    costs = pair_costs(plan, pairs.keys(), exact=True, watch=patience.watch()) or {}
    places = [Place(pair=pair, cost=costs.get(key)) for key, pair in pairs.items()]
    return tuple(sorted(places, key=_cheapest_first))


def _cheapest_first(place: Place) -> tuple[float, float, float, Key]:
    """By what it costs at most; the better pair first of those that cost the same."""
    cost = place.cost
    most = float("inf") if cost is None or cost.at_most is None else cost.at_most
    least = cost.at_least if cost else 0.0
    return (most, least, -(place.pair.value or 0.0), place.pair.key)


def _refused(band: str, own: Iterable[Pair]) -> tuple[Refused, ...]:
    """The mates a bird may not have, each under the rules that reject it."""
    mates: dict[tuple[Rule, str], dict[str, Broken]] = defaultdict(dict)
    for pair in own:
        if pair.allowed:
            continue
        mate = _mate(pair, band)
        for broken in nearest_cause(pair.broken):
            if broken.facts.get("bird") != band:
                needs = str(broken.facts.get("needs", ""))
                mates[broken.rule, needs].setdefault(mate, broken)
    return tuple(
        Refused(rule=rule, mates=tuple(sorted(found)), nearest=_nearest(found.values()))
        for (rule, _), found in sorted(mates.items(), key=lambda item: (-len(item[1]), item[0]))
    )


def _mate(pair: Pair, band: str) -> str:
    return pair.cock if band == pair.hen else pair.hen


def _nearest(found: Iterable[Broken]) -> Broken:
    """The one that misses its limit by least."""
    return min(found, key=lambda one: abs((one.measured or 0.0) - (one.limit or 0.0)))
