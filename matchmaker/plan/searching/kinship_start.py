"""Plans under a limit of the group's kinship to start a search from, and better ones near them.

A dive under the limit itself ends where the hens left over cannot keep it. Dives at a price of
kinship do not: one dear enough keeps the limit (the Lagrangian of the limit: Everett 1963, Oper Res
11:399, from memory). What they leave is then sought near them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.plan.program.program import INFINITE
from matchmaker.plan.searching.dive import PLACING, core
from matchmaker.plan.solvers.engine import limits_of
from matchmaker.plan.solvers.highs_run import run_highs
from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.searching.kinship_aim import Aim
    from matchmaker.plan.searching.kinship_search import GroupSearch
    from matchmaker.plan.solvers.live import Live

MOST_PRICES: Final = 4
"""Prices tried for one limit, from twice that of the relaxed program: whole plans ask for more."""

CORE: Final = 40
"""Pairs left open near a plan: with twice as many a search takes three times as long and is seldom
better."""

SEARCHING: Final = PLACING | {"mip_max_nodes": 20, "mip_rel_gap": 1e-3}
"""What a core is searched with: a plan is wanted, no proof."""

MOST_ROUNDS: Final = 2
"""Searches of one core: each may find a plan whose kinship is more than the lines so far say."""


def dive_at_prices(search: GroupSearch, aim: Aim) -> None:
    """Look for plans within the limit of an aim by dives at prices of kinship.

    The search has been relaxed for the aim, and is left so.
    """
    price, cheap, dear = 2 * float(search.added[search.kinship]), 0.0, INFINITE
    for _ in range(MOST_PRICES):
        if search.watch.over or price <= 0 or not search.relax(aim.at_price(search.kinship, price)):
            break
        found = search.dive()
        if found is not None and found[search.kinship] <= aim.kinship_max:
            dear = price
        else:
            cheap = price
        price = 2 * price if dear == INFINITE else (cheap + dear) / 2
    search.relax(aim)


def look_near(group: GroupSearch, live: Live, aim: Aim, plan: Amounts) -> None:
    """Search near a plan, which may pass the limit: most hens stay where it has them.

    The search has been relaxed for the aim, and is left so.
    """
    for _ in range(MOST_ROUNDS):
        if group.watch.over or not _search_core(group, live, plan):
            break
    group.relax(aim)


def _search_core(group: GroupSearch, live: Live, plan: Amounts) -> bool:
    """Search the core near a plan; say whether what it found fell below its true kinship."""
    with quiet_stdout():
        if not live.solve():
            return False
        part, kept, values = core(group.task, live, CORE, plan, pens_open=True)
        options = limits_of(group.watch.left(), None) | SEARCHING
        run_highs(part, options, start=plan[kept], watch=group.watch)
    if part.values is None:
        return False
    found = values.copy()
    found[kept] = part.values[: len(kept)]
    group.meet(found)
    return bool(group.cut(found))
