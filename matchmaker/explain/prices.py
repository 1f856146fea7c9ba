"""What each pair costs: by how much the best plan that holds it falls short of the best of all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.plan.each_pair.regret import price_pairs
from matchmaker.plan.each_pair.regret_search import MOST_DIVES
from matchmaker.plan.nearly_best.near_model import minds_kinship

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from matchmaker.pairs.table import Key
    from matchmaker.plan.each_pair.regret import Price
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.plan.solvers.watch import Watch


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Proved bounds on what a pair costs, in wanted chicks.

    ``at_most`` is ``None`` where no plan with the pair is known, ``impossible`` says that there is
    none. A pair of several turns may stand in the cheapest of them.
    """

    at_least: float
    at_most: float | None
    impossible: bool = False

    @property
    def known(self) -> bool:
        """Whether the cost is known exactly."""
        return self.impossible or (
            self.at_most is not None and self.at_most - self.at_least <= tolerance.OBJECTIVE
        )


def pair_costs(
    plan: SeasonPlan,
    pairs: Collection[Key] | None = None,
    *,
    exact: bool = False,
    dives: int = MOST_DIVES,
    watch: Watch | None = None,
) -> Mapping[Key, Cost] | None:
    """The cost of each allowed pair, or of ``pairs``; ``None`` where it cannot be worked out.

    That is so where the kinship of the parents as a group has a limit or a price: all pairs hang
    together then. ``exact`` searches until each cost is known, ``dives`` says how many plans are
    looked for at most where it does not; ``watch`` may end either early.
    """
    if minds_kinship(plan.problem):
        return None
    wanted = [
        one
        for one in plan.problem.candidates
        if pairs is None or (one.hen, one.cock, one.row) in pairs
    ]
    if not wanted:
        return {}
    prices = price_pairs(plan.problem, plan.solution, wanted, exact=exact, dives=dives, watch=watch)
    by_pair: dict[Key, list[Price]] = {}
    for price in prices:
        one = price.candidate
        by_pair.setdefault((one.hen, one.cock, one.row), []).append(price)
    return {key: _cheapest(found) for key, found in by_pair.items()}


def _cheapest(prices: Iterable[Price]) -> Cost:
    """The cost of a pair that may stand in any of several turns."""
    possible = [one for one in prices if not one.impossible]
    if not possible:
        return Cost(at_least=float("inf"), at_most=None, impossible=True)
    known = [one.at_most for one in possible if one.at_most is not None]
    return Cost(
        at_least=min(one.at_least for one in possible), at_most=min(known) if known else None
    )
