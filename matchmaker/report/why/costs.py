"""What a pair costs, in words and figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from matchmaker.explain.prices import Cost

NOTHING: Final = 0.005
"""Wanted chicks below which a price is said to be nothing: two decimals are printed."""

COST_LEGEND: Final = (
    "Would cost: wanted chicks by which the best plan that holds the pair falls short of the best "
    "of all; 0 is a tie. A range is proved: no less, no more (--exact narrows it to one figure)."
)


def chicks(number: float) -> str:
    """An amount of wanted chicks, with two decimals.

    Examples
    --------
    >>> chicks(0.4231), chicks(1.0), chicks(0.001)
    ('0.42 wanted chicks', '1.00 wanted chicks', 'less than 0.01 wanted chicks')
    """
    if 0 < abs(number) < NOTHING:
        return "less than 0.01 wanted chicks"
    return f"{abs(number):.2f} wanted chicks"


def cost_text(cost: Cost | None) -> str:
    """What a pair costs, in wanted chicks.

    Examples
    --------
    >>> from matchmaker.explain.prices import Cost
    >>> cost_text(Cost(at_least=0.1, at_most=0.1)), cost_text(Cost(at_least=0.0, at_most=0.0))
    ('0.10', '0')
    >>> cost_text(Cost(at_least=0.004, at_most=0.2)), cost_text(Cost(at_least=0.3, at_most=None))
    ('0.00 to 0.20', 'at least 0.30')
    """
    if cost is None:
        return "–"
    if cost.impossible:
        return "no plan"
    if cost.at_most is None:
        return f"at least {cost.at_least:.2f}"
    if cost.known:
        return "0" if cost.at_most == 0 else small(cost.at_most)
    return f"{cost.at_least:.2f} to {cost.at_most:.2f}"


def small(amount: float) -> str:
    """An amount above nothing, with two decimals."""
    return "< 0.01" if amount < NOTHING else f"{amount:.2f}"
