"""Policies side by side from the same birds: a table, what each does, what can be said of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.ahead.figures import of_flock
from matchmaker.ahead.paired import paired_chances, paired_difference
from matchmaker.ahead.student import quantile_above
from matchmaker.report.ahead_words import (
    MOST_DIGITS,
    NOTHING,
    chance_number,
    decimal,
    error_digits,
    error_text,
    how_often,
    inbreeding_cell,
    share_cell,
    spread,
)
from matchmaker.report.screen import Column, print_rows, say

if TYPE_CHECKING:
    from rich.console import Console

    from matchmaker.ahead.outlook import Ahead, Outlook
    from matchmaker.ahead.paired import ChanceDifference, Difference

LEVEL: Final = 0.95
"""How sure a difference is to be one before it is called so."""

GOAL_WORDS: Final = (
    "Goal: what a line's birds then count, the mean over lines by importance. One with the whole "
    "target, as good as its line is today and not inbred counts 1, a line that has died out 0."
)

_COLUMNS: Final = (
    Column(heading="Policy", name=True),
    *(
        Column(heading=heading, number=True)
        for heading in (
            *("Goal", "Against\nplan", "All lines\nlive, %", "Against\nplan"),
            *("Share,\n%", "Inbr.", "True,\n%"),
        )
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A difference and the ends between which it is, with the chance ``LEVEL``."""

    mean: float
    low: float
    high: float

    @property
    def sure(self) -> bool:
        """Whether it is told apart from none."""
        return self.low > 0 or self.high < 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Against:
    """How much more one policy gives in the last spring than the plan, from the same birds."""

    goal: Difference
    alive: ChanceDifference


def against(one: Outlook, plan: Outlook) -> Against:
    """The differences of the last spring, replicate by replicate."""
    found, before = of_flock(one), of_flock(plan)
    return Against(
        goal=paired_difference(found["goal"][:, -1], before["goal"][:, -1]),
        alive=paired_chances(found["all_alive"][:, -1], before["all_alive"][:, -1], LEVEL),
    )


def mean_interval(found: Difference) -> Interval:
    """The interval of a mean difference by Student's t; all numbers where one replicate is there.

    Examples
    --------
    >>> from matchmaker.ahead.paired import paired_difference
    >>> found = mean_interval(paired_difference([5.0, 9.0, 8.0], [4.0, 8.0, 6.0]))
    >>> round(found.mean, 2), round(found.low, 2), round(found.high, 2), found.sure
    (1.33, -0.1, 2.77, False)
    """
    if math.isnan(found.se):
        return Interval(mean=found.mean, low=-math.inf, high=math.inf)
    half = quantile_above((1 - LEVEL) / 2, found.replicates - 1) * found.se
    return Interval(mean=found.mean, low=found.mean - half, high=found.mean + half)


def print_comparison(console: Console, ahead: Ahead) -> None:
    """The table of policies, what each does, and the verdict on each."""
    last = ahead.subject.springs[-1]
    console.print()
    say(console, f"Policies side by side, in spring {last}, from the same birds", style="bold")
    digits = error_digits(max(spread(one.tally.goal[:, -1]).se for one in ahead.outlooks))
    print_rows(console, _COLUMNS, [_row(one, ahead.plan, digits) for one in ahead.outlooks])
    say(
        console,
        f"{GOAL_WORDS} Against plan: difference to the plan, ± its standard error, replicate by "
        "replicate (of chances: in 100 replicates). Share: median; inbr.: mean inbreeding of the "
        "young; true: the chance that a line breeds true.",
    )
    for one in ahead.outlooks:
        say(console, f"{one.policy}: {one.sentence}", indent=2)
    for one in ahead.outlooks[1:]:
        say(console, verdict_text(one, ahead.plan))
    say(console, caution_text(len(ahead.outlooks) - 1))


def _row(one: Outlook, plan: Outlook, digits: int) -> list[str]:
    last = {name: values[:, -1] for name, values in of_flock(one).items()}
    goal, alive = NOTHING, NOTHING
    if one is not plan:
        apart = against(one, plan)
        goal = difference_cell(apart.goal.mean, apart.goal.se)
        alive = difference_cell(100 * apart.alive.difference, 100 * apart.alive.se, 0)
    return [
        one.policy,
        decimal(spread(last["goal"]).mean, digits),
        goal,
        chance_number(how_often(last["all_alive"])),
        alive,
        share_cell(spread(last["share"]), ends=False),
        inbreeding_cell(spread(last["inbreeding"]), ends=False),
        chance_number(how_often(last["fixed"])),
    ]


def difference_cell(mean: float, se: float, most: int = MOST_DIGITS) -> str:
    """A difference with its sign and standard error, no more than ``most`` decimals.

    Examples
    --------
    >>> difference_cell(-3.21, 0.84), difference_cell(0.0, 0.0), difference_cell(12.3, 0.6, 0)
    ('−3.2 ± 0.8', 'the same', '+12 ± 1')
    """
    if math.isnan(mean):
        return NOTHING
    if mean == 0 and not se > 0:
        return "the same"
    digits = error_digits(se, most)
    return f"{decimal(mean, digits, sign=True)} ± {error_text(se, digits)}"


def verdict_text(one: Outlook, plan: Outlook) -> str:
    """Better, worse or no difference seen, and by how much at least and at most."""
    apart = against(one, plan)
    goal = mean_interval(apart.goal)
    return f"{one.policy}: {_goal_verdict(goal)}; {_lines_verdict(apart.alive)}."


def _goal_verdict(goal: Interval) -> str:
    if math.isnan(goal.mean):
        return "nothing can be said of the goal"
    if goal.mean == goal.low == goal.high == 0:
        return "the same goal as the plan in every replicate"
    low, high = sorted((goal.low, goal.high), key=abs) if goal.sure else (goal.low, goal.high)
    digits = error_digits((goal.high - goal.low) / 4)
    if not goal.sure:
        ends = " to ".join(decimal(end, digits, sign=True) for end in (low, high))
        return f"no difference seen in the goal ({ends})"
    ends = " to ".join(decimal(abs(end), digits) for end in (low, high))
    word = "better" if goal.mean > 0 else "worse"
    return f"{word} than the plan, its goal {'higher' if goal.mean > 0 else 'lower'} by {ends}"


def _lines_verdict(alive: ChanceDifference) -> str:
    if alive.low <= 0 <= alive.high:
        if not alive.only_first + alive.only_second:
            return "lines lost in the same replicates, if any"
        fewer, more = (f"{100 * abs(end):.0f}" for end in (alive.low, alive.high))
        return (
            f"no difference seen in lines lost (of 100 replicates all live in {fewer} fewer to "
            f"{more} more)"
        )
    word, often = ("more", "more often") if alive.low > 0 else ("fewer", "less often")
    near, far = sorted(100 * abs(end) for end in (alive.low, alive.high))
    least = "under 1" if near < 1 else f"{near:.0f}"
    return f"all lines live {often} (in {least} to {far:.0f} {word} of 100 replicates)"


def caution_text(verdicts: int) -> str:
    """What such verdicts are good for."""
    many = (
        f" Of {verdicts} policies each is judged by itself: among twenty alike one would be called "
        "better or worse by chance."
        if verdicts > 1
        else ""
    )
    return (
        "Ranges hold with 95 %. No difference seen is not none: more replicates see smaller "
        f"ones.{many}"
    )
