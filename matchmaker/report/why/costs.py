"""What a pair costs, in words and figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.explain.prices import Cost
    from matchmaker.explain.worth import Worth

NOTHING: Final = 0.005
"""Wanted chicks below which a price is said to be nothing: two decimals are printed."""


def not_worked_out(command: str = "why") -> str:
    """Why there are no costs of all pairs; ``command`` is the one that works out a single cost."""
    return (
        "What each would cost is not worked out where the kinship of the parents as a group has a "
        f"limit or a price ({command} HEN COCK does so for one pair)."
    )


def cost_legend(costs: Iterable[Cost], closer: str = "--exact") -> str:
    """What the column of costs means, and what its ranges do where there are some.

    ``closer`` is what narrows a range.
    """
    ranges = not all(one.known for one in costs)
    return (
        "Would cost: wanted chicks by which the best plan that holds the pair falls short of the "
        "best of all; 0 is a tie."
        f"{f' A range is proved: no less, no more ({closer} narrows it).' if ranges else ''}"
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
    >>> cost_text(Cost(at_least=0.0, at_most=None))
    'not known'
    """
    if cost is None:
        return "–"
    if cost.impossible:
        return "no plan"
    if cost.at_most is None:
        return _least_text(cost.at_least)
    if cost.known:
        return "0" if cost.at_most == 0 else small(cost.at_most)
    return f"{cost.at_least:.2f} to {cost.at_most:.2f}"


def _least_text(amount: float) -> str:
    """What is known of a cost of which no plan has been found."""
    if amount < NOTHING:
        return "more than 0" if amount > 0 else "not known"
    return f"at least {amount:.2f}"


def small(amount: float) -> str:
    """An amount above nothing, with two decimals."""
    return "< 0.01" if amount < NOTHING else f"{amount:.2f}"


def change_text(low: float | None, high: float | None) -> str:
    """A change of the best plan's worth, known or between two bounds, as what the plan does.

    Examples
    --------
    >>> change_text(0.0, 0.0), change_text(0.5, 0.5), change_text(-0.25, -0.25)
    ('is worth as much', 'gains 0.50 wanted chicks', 'loses 0.25 wanted chicks')
    >>> change_text(-0.3, -0.1), change_text(-0.051, -0.049)
    ('loses between 0.10 and 0.30 wanted chicks', 'loses about 0.05 wanted chicks')
    >>> change_text(-0.3, 0.2)
    'loses 0.30 wanted chicks at most, and gains 0.20 at most'
    >>> change_text(None, 0.2), change_text(None, None)
    ('gains 0.20 wanted chicks at most', 'comes to what nobody knows yet')
    """
    if low is None or high is None:
        return "comes to what nobody knows yet" if high is None else f"gains {high:.2f} {AT_MOST}"
    if low == high:
        verb = "gains" if high > 0 else "loses"
        return "is worth as much" if high == 0 else f"{verb} {chicks(high)}"
    return _range_text(low, high)


def _range_text(low: float, high: float) -> str:
    if low < -NOTHING and high > NOTHING:
        return f"loses {-low:.2f} {AT_MOST}, and gains {high:.2f} at most"
    if high > NOTHING:
        return f"gains {between(max(0.0, low), high)}"
    return f"loses {between(max(0.0, -high), -low)}"


AT_MOST: Final = "wanted chicks at most"


def between(low: float, high: float) -> str:
    """A range of wanted chicks.

    Examples
    --------
    >>> between(0.0, 0.2), between(0.049, 0.051)
    ('between 0.00 and 0.20 wanted chicks', 'about 0.05 wanted chicks')
    """
    if f"{low:.2f}" == f"{high:.2f}":
        return f"about {high:.2f} wanted chicks" if high >= NOTHING else chicks(high or NOTHING / 2)
    return f"between {low:.2f} and {high:.2f} wanted chicks"


CLOSES: Final = " (--thorough closes that)"
"""What is said behind a range."""


def loss_text(worth: Worth) -> str:
    """What the plan would be without something, for a sentence that begins "Without it"."""
    if worth.impossible:
        return "no plan would be left"
    if worth.high is None:
        return "the plan has not been found yet (--thorough)"
    if worth.proved:
        if worth.high == 0:
            return "nothing would be lost: others would do as well"
        return f"the best plan loses {chicks(worth.high)}"
    low, high = max(0.0, worth.low), worth.high
    return f"the best plan loses {between(low, high)}{CLOSES}"
