"""How time grows with size: the exponent of a power law through the times of one task."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from itertools import groupby
from statistics import linear_regression, median
from typing import TYPE_CHECKING, Final

from tests.bench.rows import TIMES, Row

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

SIZES_LEAST: Final = 3
"""Sizes that a curve needs: through two points any line goes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """The median time at one size."""

    size: str
    amount: float
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Times of one task at rising sizes, of ours or of a peer (``whose``)."""

    task: str
    whose: str
    unit: str
    points: tuple[Point, ...]

    @property
    def exponent(self) -> float:
        """Least squares of log time on log size: 1 is in proportion, 2 fourfold at twice the size.

        Small sizes, where the time is what any call takes, draw it down: see ``last_step`` too.
        """
        logs = [(math.log(one.amount), math.log(one.seconds)) for one in self.points]
        return linear_regression([one[0] for one in logs], [one[1] for one in logs]).slope

    @property
    def last_step(self) -> float:
        """The exponent between the two largest sizes."""
        one, two = self.points[-2:]
        return math.log(two.seconds / one.seconds) / math.log(two.amount / one.amount)


def curves(rows: Sequence[Row]) -> Iterator[Curve]:
    """The curves of a benchmark's rows, in the order of the rows; none of fewer than three sizes.

    A time that a limit cut off is no time of the peer's: it is left out.
    """
    found: dict[tuple[str, str, str], list[Point]] = defaultdict(list)
    for row in rows:
        if row.size.amount is None or row.unit not in TIMES:
            continue
        for whose, times in (("ours", row.ours), (row.peer, row.theirs)):
            if times and median(times) > 0 and not (row.at_least and whose == row.peer):
                point = Point(size=row.size.words, amount=row.size.amount, seconds=median(times))
                found[row.task, whose, row.unit].append(point)
    for (task, whose, unit), points in found.items():
        rising = tuple(_one_each(points))
        if len(rising) >= SIZES_LEAST:
            yield Curve(task=task, whose=whose, unit=unit, points=rising)


def _one_each(points: Iterable[Point]) -> Iterator[Point]:
    """By size; of several points of one size the quickest."""
    ordered = sorted(points, key=lambda one: (one.amount, one.seconds))
    for _, same in groupby(ordered, key=lambda one: one.amount):
        yield next(same)
