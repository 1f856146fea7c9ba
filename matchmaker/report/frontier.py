"""The frontier of value and kinship: a table, what each step buys and costs, JSON and CSV."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

from matchmaker.report.documents import Document, document_head, planned_pens_entry
from matchmaker.report.numbers import kinship_digits, percent, without_dust
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.sheets import Cell, Sheet
from matchmaker.tolerance import LIMIT

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import Console

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import GroupKinship
    from matchmaker.plan.searching.frontier import Frontier, FrontierPoint

HEADER: Final = (
    "plan",
    "value",
    "given_up",
    "group_kinship",
    "mean_inbreeding",
    "pairs",
    "gap",
    "gap_in",
    "price_low",
    "price_high",
)
"""Columns of the sheet, and keys of each plan in the document."""

TO_TAKE: Final = "matchmaker plan --at N"

MEANING: Final = (
    "Kinship: of the parents as a group, the chance that two genes drawn from all the parents "
    "chosen, a parent with several mates so many times, are copies of one gene of a forebear. "
    "What they share all their chicks share: the less, the longer a closed flock can go on. "
    "Inbreeding: of their chicks, 0 to 1, on average. Value: in wanted chicks. Given up: part of "
    "the best value."
)


def print_frontier(
    console: Console, plans: Frontier, group: GroupKinship | None = None, to_take: str = TO_TAKE
) -> None:
    """Print a row a plan, the steps between them, and how one is taken.

    ``group`` holds the limit and the price that the settings state, if they do; ``to_take`` is the
    command that takes plan N.
    """
    title = f"From the best value to the least kinship of the parents, {plans.pairs} pairs each"
    say(console, title, style="bold")
    heads = ("Plan", "Value", "Given up", "Kinship", "Inbreeding")
    open_gaps = any(point.gap for point in plans.points)
    columns = [Column(heading=head, number=True) for head in heads]
    if open_gaps:
        columns.append(Column(heading="Gap", number=True))
    rows = [_row(plans, point)[: len(columns)] for point in plans.points]
    print_rows(console, columns, rows)
    for sentence in (*steps(plans), *_in_force(plans, group), *_doubts(plans)):
        say(console, sentence)
    say(console, MEANING)
    say(console, f"To take one, name its number: {to_take}.")


def _in_force(plans: Frontier, group: GroupKinship | None) -> Iterator[str]:
    """Where the limit and the price of the settings lie on the frontier."""
    if group is not None and group.limit is not None:
        within = [one.number for one in plans.points if one.kinship <= group.limit + LIMIT]
        keeps = _numbers(within, len(plans.points)) if within else "none of these plans keeps it"
        yield f"Your limit of {group.limit:g} (group_kinship_max in matchmaker.toml): {keeps}."
    if group is not None and group.price is not None:
        best = [one.number for one in plans.points if _is_best_at(one, group.price)]
        if best:
            yield (
                f"At your price of {group.price:g} wanted chicks for 0.01 of kinship "
                f"(kinship_price) plan {best[-1]} is the best."
            )


def _numbers(within: Sequence[int], last: int) -> str:
    first = within[0]
    if first == last:
        return f"only plan {last} keeps it"
    return f"plans {first} to {last} keep it" if first > 1 else "all these plans keep it"


def _is_best_at(point: FrontierPoint, price: float) -> bool:
    if point.price_low is None:
        return False
    return point.price_low <= price and (point.price_high is None or price <= point.price_high)


def _doubts(plans: Frontier) -> Iterator[str]:
    """What is not proved, and whether the search came to its end."""
    if any(point.gap for point in plans.points):
        yield (
            "A plan with a gap is not proved best: one of no more kinship could be worth so much "
            "more."
        )
    if plans.kinship_gap:
        less = kinship_digits(plans.kinship_gap)
        yield f"Plan {len(plans.points)} has the least kinship found; {less} less may be possible."
    if plans.stopped:
        why = "you stopped the search" if plans.stopped == "interrupt" else "time ran out"
        yield f"There may be more plans between these: {why}."


def steps(plans: Frontier) -> Iterator[str]:
    """Say of each plan and the next what the step buys and what it costs."""
    if len(plans.points) == 1 and not plans.kinship_gap:
        yield "This plan has the best value and the least kinship of the parents at once."
    for one, other in pairwise(plans.points):
        less = kinship_digits(one.kinship - other.kinship)
        cost = _chicks(one.value - other.value)
        yield f"From plan {one.number} to plan {other.number}: {less} less kinship for {cost}."


def frontier_document(table: PairTable, found: Frontier) -> Document:
    """The frontier as ``matchmaker/frontier/1``; shares and kinships as numbers from 0 to 1."""
    return {
        **document_head("frontier", table.study.flock.tables),
        "pairs": found.pairs,
        "kinship_gap": found.kinship_gap,
        "stopped": found.stopped or None,
        "seconds": round(found.seconds, 3),
        "plans": [
            _entry(found, point) | {"pens": planned_pens_entry(point.solution.pens)}
            for point in found.points
        ],
    }


def frontier_sheet(found: Frontier) -> Sheet:
    """One plan a row."""
    entries = [_entry(found, point) for point in found.points]
    rows = tuple(tuple(entry[name] for name in HEADER) for entry in entries)
    return Sheet(header=HEADER, rows=rows)


def _given_up(plans: Frontier, point: FrontierPoint) -> float:
    """Part of the best value that a plan gives up; 0 where the best is worth nothing."""
    best = plans.points[0].value
    return without_dust((best - point.value) / best) if best > 0 else 0.0


def _row(plans: Frontier, point: FrontierPoint) -> list[str]:
    return [
        str(point.number),
        f"{point.value:.2f}",
        percent(_given_up(plans, point), 1),
        kinship_digits(point.kinship),
        kinship_digits(point.mean_inbreeding),
        _gap(point),
    ]


def _gap(point: FrontierPoint) -> str:
    if point.gap == 0:
        return "none"
    return _chicks(point.gap)


def _chicks(amount: float) -> str:
    """An amount of wanted chicks with the digits it deserves.

    Examples
    --------
    >>> _chicks(3.14), _chicks(0.063), _chicks(0.001)
    ('3.1 wanted chicks', '0.06 wanted chicks', 'less than 0.01 wanted chicks')
    """
    if amount < 0.005:
        return "less than 0.01 wanted chicks"
    return f"{amount:.2f} wanted chicks" if amount < 1 else f"{amount:.1f} wanted chicks"


def _entry(plans: Frontier, point: FrontierPoint) -> dict[str, Cell]:
    return {
        "plan": point.number,
        "value": point.value,
        "given_up": _given_up(plans, point),
        "group_kinship": point.kinship,
        "mean_inbreeding": point.mean_inbreeding,
        "pairs": plans.pairs,
        "gap": point.gap,
        "gap_in": "wanted chicks",
        "price_low": point.price_low,
        "price_high": point.price_high,
    }
