"""The pairs command: every hen with every cock, and what each allowed pair would cost the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker import verbs
from matchmaker.cli.options import refuse_without
from matchmaker.cli.streams import note
from matchmaker.cli.watching import watched
from matchmaker.report.documents import pairs_document
from matchmaker.report.sheets import pairs_sheet
from matchmaker.report.terminal import print_pairs

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from matchmaker.cli.output import Output
    from matchmaker.explain.prices import Cost
    from matchmaker.pairs.table import Key, PairTable

NO_PRICES = (
    "The kinship of the parents as a group has a limit or a price in your settings: all pairs hang "
    "together then, and their prices are not worked out one by one (matchmaker why HEN COCK tells "
    "that of one pair)."
)


def run_pairs(folder: Path, output: Output, *, prices: bool, exact: bool) -> None:
    """Show every pair.

    Raises
    ------
    UsageError
        If ``exact`` is given without ``prices``.
    NoPlanError
        If prices are asked for and there is no plan.
    """
    if not prices:
        refuse_without("--prices", {"--exact": exact})
    table = verbs.pairs(folder)
    costs = _costs(table, exact=exact) if prices else None
    output.show(
        lambda console: print_pairs(console, table, costs),
        lambda: pairs_document(table, costs),
        lambda: pairs_sheet(table, costs),
    )


def _costs(table: PairTable, *, exact: bool) -> Mapping[Key, Cost] | None:
    with watched() as watch:
        plan = verbs.plan(table, watch=watch)
    if exact:
        note("Each price is proved by itself; Ctrl-C stops with what is sure by then.")
    with watched() as watch:
        costs = verbs.pair_costs(plan, exact=exact, watch=watch)
    if costs is None:
        note(NO_PRICES)
    elif exact and not all(cost.known for cost in costs.values()):
        note("Stopped: some prices are still ranges.")
    return costs
